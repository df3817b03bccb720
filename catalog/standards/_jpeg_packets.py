"""
Find the metadata segments of a JPEG. Only what stands before the coded picture is read.

Source: ITU-T T.81 Annex B for segments; XMP part 3 (January 2020), "JPEG".
"""

from __future__ import annotations

import io
from typing import Final

from catalog.standards._embedded import MAX_BLOCK_BYTES, MAX_CHUNKS, Block, Collected
from catalog.standards.exif_values import exif_values_of_block
from catalog.standards.jpeg import EOI, MAX_SEGMENTS, SOS

_XMP: Final = b"http://ns.adobe.com/xap/1.0/\0"
_EXTENDED: Final = b"http://ns.adobe.com/xmp/extension/\0"
_PHOTOSHOP: Final = b"Photoshop 3.0\0"
_EXIF: Final = b"Exif\0"
_ALONE: Final = frozenset((0x01, *range(0xD0, 0xD9)))  # T.81 Table B.1: markers that no length follows


def collect_jpeg(stream: io.BufferedReader, size_bytes: int) -> Collected:
    """Return the metadata of a JPEG that begins at the stream's place."""
    found = Collected("JPEG")
    resources: list[tuple[int, bytes]] = []
    stream.seek(2)
    for _ in range(MAX_SEGMENTS):
        code = _next_code(stream)
        if code is None:
            if stream.tell() < size_bytes:
                found.faults.append(f"JPEG: no segment begins at byte {stream.tell()}")
            else:
                found.faults.append("JPEG: cut short before its picture")
            break
        if code in (SOS, EOI):
            break
        if code in _ALONE:
            continue
        at = stream.tell() + 2
        length = int.from_bytes(stream.read(2)) - 2
        if code not in (0xE1, 0xED):
            stream.seek(max(length, 0), io.SEEK_CUR)
            continue
        payload = stream.read(max(length, 0))
        if len(payload) < length:
            found.faults.append(f"JPEG: the segment at byte {at - 4} is cut short")
        _keep_segment(found, resources, code, at, payload)
    # XMP part 3, "JPEG": resources longer than a segment go on in the next, so they are read as one.
    if resources:
        where = "JPEG APP13" if len(resources) == 1 else f"JPEG APP13, {len(resources)} segments"
        found.keep_resources(b"".join(piece for _, piece in resources), where, resources[0][0])
    return found


def _next_code(stream: io.BufferedReader) -> int | None:
    """Return the code of the marker that must stand here, past fill bytes; None if none does."""
    if stream.read(1) != b"\xff":
        return None
    while (code := stream.read(1)) == b"\xff":
        pass
    return code[0] if code and code != b"\0" else None


def _keep_segment(found: Collected, resources: list[tuple[int, bytes]], code: int, at: int, payload: bytes) -> None:
    where = f"JPEG APP{code - 0xE0} at byte {at - 4}"
    ours = (_PHOTOSHOP,) if code == 0xED else (_XMP, _EXTENDED, _EXIF)
    if not payload.startswith(ours) or not found.may_keep(where, len(payload)):
        return
    if code == 0xED and payload.startswith(_PHOTOSHOP):
        resources.append((at + len(_PHOTOSHOP), payload[len(_PHOTOSHOP) :]))
    elif code == 0xE1 and payload.startswith(_XMP):
        data = payload[len(_XMP) :]
        found.keep(found.xmp, Block(where, at + len(_XMP), data), whole=len(data))
    elif code == 0xE1 and payload.startswith(_EXTENDED):
        _keep_chunk(found, where, payload[len(_EXTENDED) :])
    elif code == 0xE1 and payload.startswith(_EXIF) and not found.exif.facts:
        found.exif = exif_values_of_block(payload[6:], where)


def _keep_chunk(found: Collected, where: str, payload: bytes) -> None:
    """Keep one chunk of extended XMP: GUID in 32 digits, the whole length, this chunk's place, its bytes."""
    guid = payload[:32].decode("ascii", "replace").upper()
    whole, at = int.from_bytes(payload[32:36]), int.from_bytes(payload[36:40])
    if len(payload) < 40 or not all(digit in "0123456789ABCDEF" for digit in guid):
        found.faults.append(f"{where}: a piece of extended XMP without its name and place")
    elif whole > MAX_BLOCK_BYTES:
        found.faults.append(f"{where}: extended XMP of {whole:,} bytes is more than is read of one file")
    elif sum(map(len, found.chunks.values())) == MAX_CHUNKS:
        found.faults.append(f"{where}: more than {MAX_CHUNKS:,} pieces of extended XMP; not read")
    else:
        found.chunks.setdefault(guid, []).append((whole, at, payload[40:]))
