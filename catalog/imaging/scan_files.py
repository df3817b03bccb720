"""Read one scan file: its facts and both digests, in one pass over its bytes. It is never written to."""

from __future__ import annotations

import hashlib
import io
import stat
from dataclasses import replace
from pathlib import Path

from catalog.errors import FileFormatError
from catalog.imaging._jpeg_scans import jpeg_facts
from catalog.imaging._png_scans import png_facts
from catalog.imaging._tiff_scans import read_tiff_scan
from catalog.imaging.digests import CHUNK_BYTES, Digests, pass_runs
from catalog.imaging.scan_file import ScanFile, kind_by_name
from catalog.standards.byte_stream import ByteStream
from catalog.standards.jpeg import is_jpeg, read_jpeg
from catalog.standards.png import is_png, read_png
from catalog.standards.tiff import TiffReader, is_tiff

_FEWEST_BYTES = 8  # a TIFF's header; neither of the others is recognised in fewer


def read_scan_file(path: Path, *, chunk_bytes: int = CHUNK_BYTES) -> ScanFile:
    """
    Return the facts and digests of one file, which is opened for reading only.

    A damaged file gives what could be read, its digest, and the reason in
    ``damage``. Memory stays at a few chunks whatever the file's size, and
    threads that read different files run side by side.

    Raises:
        FileFormatError: the file is no picture of a kind this program reads, cannot be read, or changes
            while it is read.
    """
    try:
        _refuse_other_than_file(path)
        with path.open("rb", buffering=0) as raw:
            return _read(path, raw, chunk_bytes)
    except OSError as exc:
        raise FileFormatError(path, f"cannot be read ({exc.strerror or exc}); try another copy") from exc


def read_digests(path: Path, *, chunk_bytes: int = CHUNK_BYTES) -> Digests:
    """
    Return both digests of a file, for a later check against those recorded.

    Raises:
        FileFormatError: as ``read_scan_file``.
    """
    scan = read_scan_file(path, chunk_bytes=chunk_bytes)
    return Digests(scan.file_sha256, scan.picture_sha256)


def holds_registered_picture(path: Path, *, size_bytes: int, modified_ns: int, picture_sha256: str | None) -> bool:
    """
    Return True if a file still holds the picture that was registered.

    By its size and time it is taken at its word. Where these differ the picture itself is digested: a caption written
    by another program, a copied file's new date, or a clock an hour off (FAT) leaves the picture what it was.

    Raises:
        FileFormatError: as ``read_scan_file``.
        OSError: it is not there.
    """
    status = path.stat()
    if (status.st_size, status.st_mtime_ns) == (size_bytes, modified_ns):
        return True
    return picture_sha256 is not None and picture_digest(path) == picture_sha256


def picture_digest(path: Path) -> str | None:
    """
    Return the SHA-256 of a file's encoded picture alone; None if it has none that can be read.

    Raises:
        FileFormatError: as ``read_scan_file``.
    """
    return read_digests(path).picture_sha256


def _refuse_other_than_file(path: Path) -> None:
    # Opening a pipe would wait for ever.
    if not stat.S_ISREG(path.stat().st_mode):
        raise FileFormatError(path, "not a file that can be read as a scan (a folder, pipe or device)")


def _read(path: Path, raw: io.FileIO, chunk_bytes: int) -> ScanFile:
    size_bytes = raw.seek(0, io.SEEK_END)
    raw.seek(0)
    first_bytes = raw.read(16) or b""
    raw.seek(0)
    digest, picture = hashlib.sha256(), hashlib.sha256()
    stream = ByteStream(raw, digest=digest, chunk_bytes=chunk_bytes)
    has_picture = True
    if is_tiff(first_bytes) and size_bytes >= _FEWEST_BYTES:
        scan = read_tiff_scan(TiffReader(raw, size_bytes))
        raw.seek(0)
        has_picture = scan.runs is not None
        picture.update(scan.tables)
        pass_runs(raw, stream, scan.runs or [], picture)
        facts = scan.facts
    elif is_jpeg(first_bytes):
        facts = jpeg_facts(read_jpeg(stream, picture), size_bytes)
    elif is_png(first_bytes):
        facts = png_facts(read_png(stream, picture), size_bytes)
    else:
        facts = _without_content(path, first_bytes, size_bytes)
        stream.drain()
    if stream.position != size_bytes:
        raise FileFormatError(path, "changed while it was read; read it again when nothing writes to it")
    is_whole = has_picture and facts.damage is None
    return replace(facts, file_sha256=digest.hexdigest(), picture_sha256=picture.hexdigest() if is_whole else None)


def _without_content(path: Path, first_bytes: bytes, size_bytes: int) -> ScanFile:
    """Return what a failed copy left under a scan's name; refuse everything else."""
    kind, damage = kind_by_name(path.name), None
    if size_bytes == 0:
        damage = "empty file"
    elif size_bytes < _FEWEST_BYTES:
        damage = f"damaged: only {size_bytes} bytes, too few for a picture"
    elif not any(first_bytes):
        damage = "damaged: begins with zeros, as a failed copy does"
    if kind and damage:
        return ScanFile(kind=kind, size_bytes=size_bytes, damage=damage)
    begins = f"begins with {first_bytes[:4].hex(' ')}, which is" if first_bytes else "empty, and"
    raise FileFormatError(path, f"not a picture: {begins} no TIFF, JPEG or PNG")
