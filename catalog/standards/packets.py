"""
Find the metadata embedded in a picture file: XMP packets, IIM blocks, their digest, Exif.

The file is opened for reading only, and only its directories or segments are read: memory and work are bounded
whatever it says. What cannot be read is named in ``faults`` rather than raised.

Source: XMP part 3 (January 2020), "JPEG", "PNG", "TIFF". See docs/standards/embedded.md.
"""

from __future__ import annotations

import hashlib
import io
import stat
from pathlib import Path

from catalog.errors import FileFormatError, XmpError
from catalog.standards._embedded import Block, Embedded, ExtendedXmp
from catalog.standards._jpeg_packets import collect_jpeg
from catalog.standards._png_packets import collect_png
from catalog.standards._tiff_packets import collect_tiff
from catalog.standards.iim import Iim, parse_iim
from catalog.standards.jpeg import is_jpeg
from catalog.standards.png import is_png
from catalog.standards.tiff import is_tiff
from catalog.standards.xmp import Name, Packet, Value, name, parse_packet, texts

__all__ = ["Block", "Embedded", "ExtendedXmp", "embedded_iim", "embedded_packet", "find_packets", "is_iim_changed"]

_HAS_EXTENDED = name("xmpNote:HasExtendedXMP")


def find_packets(path: Path) -> Embedded:
    """
    Return the metadata blocks of one TIFF, BigTIFF, DNG, JPEG or PNG, as bytes and where each was found.

    Raises:
        FileFormatError: the file is none of these, or cannot be read.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise FileFormatError(path, "not a file that can be read as a scan (a folder, pipe or device)")
        with path.open("rb") as stream:
            return _found(path, stream)
    except OSError as exc:
        raise FileFormatError(path, f"cannot be read ({exc.strerror or exc}); try another copy") from exc


def embedded_packet(embedded: Embedded) -> tuple[Packet | None, tuple[str, ...]]:
    """
    Return the XMP packet of a file, its extension joined to it, and what was wrong; None if none can be read.

    Where a file has several packets, the first that can be read speaks for it.
    """
    faults: list[str] = []
    for block in embedded.xmp:
        try:
            packet = parse_packet(block.data)
        except XmpError as exc:
            faults.append(f"{block.where}: {exc}")
            continue
        return _with_extension(packet, embedded.extended, faults), tuple(faults)
    return None, tuple(faults)


def embedded_iim(embedded: Embedded) -> Iim | None:
    """Return the first IIM block of a file as it reads; None if there is none."""
    return parse_iim(embedded.iim[0].data) if embedded.iim else None


def is_iim_changed(embedded: Embedded) -> bool | None:
    """
    Return True if the IIM was changed after the XMP was last put in step with it, None if nothing says so.

    Resource 1061 is the MD5 of the IIM at that time (XMP part 3 §2.1).
    """
    if embedded.iim_digest is None or not embedded.iim:
        return None
    # Which block, and whether with its padding, was digested differs from writer to writer; any that fits
    # is unchanged.
    bodies = [body for block in embedded.iim for body in (block.data, block.data.rstrip(b"\0"))]
    return all(hashlib.md5(body, usedforsecurity=False).digest() != embedded.iim_digest for body in bodies)


def _found(path: Path, stream: io.BufferedReader) -> Embedded:
    size_bytes = stream.seek(0, io.SEEK_END)
    stream.seek(0)
    first_bytes = stream.read(16)
    stream.seek(0)
    if is_tiff(first_bytes) and size_bytes >= 8:
        collected = collect_tiff(stream, size_bytes)
    elif is_jpeg(first_bytes):
        collected = collect_jpeg(stream, size_bytes)
    elif is_png(first_bytes):
        collected = collect_png(stream, size_bytes)
    else:
        why = "it is empty" if not size_bytes else "it begins like no TIFF, JPEG or PNG"
        raise FileFormatError(path, f"not a picture: {why}")
    return collected.as_embedded(path)


def _with_extension(packet: Packet, extended: tuple[ExtendedXmp, ...], faults: list[str]) -> Packet:
    """Return the packet with the properties of the extension it names; its own speak before those."""
    named = next(iter(texts(packet.get(_HAS_EXTENDED))), "").strip().upper()
    if not named:
        return packet
    # XMP part 3, extended XMP in JPEG: chunks of another GUID are leftovers of an earlier writing, and no part of it.
    block = next((one for one in extended if one.guid == named), None)
    if block is None:
        faults.append(f"XMP: its extension {named[:8]}... is not in the file, or not all of it")
        return packet
    try:
        extension = parse_packet(block.data)
    except XmpError as exc:
        faults.append(f"{block.where}: {exc}")
        return packet
    joined: dict[Name, Value] = dict(extension.properties) | dict(packet.properties)
    del joined[_HAS_EXTENDED]
    return Packet(tuple(joined.items()), packet.about, packet.prefixes + extension.prefixes)
