"""
Find the metadata chunks of a PNG; the picture is passed over unread.

Source: PNG (Second Edition, 2003) §5, §11.3.4.5; Third Edition (2025) for eXIf; XMP part 3 (January 2020), "PNG".
"""

from __future__ import annotations

import io
import zlib
from typing import Final

from catalog.standards._embedded import MAX_BLOCK_BYTES, Block, Collected
from catalog.standards.exif_values import exif_values_of_block
from catalog.standards.png import MAX_CHUNKS, SIGNATURE

_KEYWORD: Final = b"XML:com.adobe.xmp\0"


def collect_png(stream: io.BufferedReader, size_bytes: int) -> Collected:
    """Return the metadata of a PNG that begins at the stream's place."""
    found = Collected("PNG")
    stream.seek(len(SIGNATURE))
    for _ in range(MAX_CHUNKS):
        at = stream.tell()
        head = stream.read(8)
        length, kind = int.from_bytes(head[:4]), head[4:]
        if len(head) < 8 or not kind.isalpha() or length >= 1 << 31:
            found.faults.append(f"PNG: no chunk begins at byte {at}" if len(head) == 8 else "PNG: cut short")
            break
        if kind == b"IEND":
            break
        if kind in (b"iTXt", b"eXIf"):
            _keep_chunk(found, stream, kind, length, at)
        if at + 12 + length > size_bytes:
            found.faults.append("PNG: cut short")
            break
        stream.seek(at + 12 + length)
    return found


def _keep_chunk(found: Collected, stream: io.BufferedReader, kind: bytes, length: int, at: int) -> None:
    where = f"PNG {kind.decode()} at byte {at}"
    # What begins otherwise is some other text, and none of ours however long.
    keyword = stream.read(min(length, len(_KEYWORD))) if kind == b"iTXt" else b""
    if (kind == b"iTXt" and keyword != _KEYWORD) or not found.may_keep(where, length):
        return
    payload = stream.read(length - len(keyword))
    stated = int.from_bytes(stream.read(4))
    if len(payload) + len(keyword) < length:
        found.faults.append(f"{where}: cut short")
    elif zlib.crc32(payload, zlib.crc32(kind + keyword)) != stated:
        found.faults.append(f"{where}: fails its own check sum")
    if kind == b"eXIf":
        if not found.exif.facts:
            found.exif = exif_values_of_block(payload, where)
        return
    data = _text_of(found, where, payload)
    if data:
        found.keep(found.xmp, Block(where, at + 8, data), whole=len(data))


def _text_of(found: Collected, where: str, rest: bytes) -> bytes | None:
    """Return the text of an iTXt chunk past its keyword, unpacked if need be; None if it cannot be had."""
    # PNG §11.3.4.5: compression flag and method, language, NUL, translated keyword, NUL, text.
    parts = rest[2:].split(b"\0", 2)
    if len(parts) < 3 or rest[0] > 1 or (rest[0] == 1 and rest[1] != 0):
        found.faults.append(f"{where}: its text is not of the form of the standard")
        return None
    if rest[0] == 0:
        return parts[2]
    room = min(MAX_BLOCK_BYTES, found.bytes_left)
    unpacker = zlib.decompressobj()
    try:
        data = unpacker.decompress(parts[2], room)
    except zlib.error:
        found.faults.append(f"{where}: its text cannot be unpacked")
        return None
    if not unpacker.eof:
        packs = f"unpacks to more than {room:,} bytes" if len(data) >= room else "is packed and cut short"
        found.faults.append(f"{where}: its text {packs}; not read")
        return None
    found.bytes_left -= len(data)
    return data
