"""
Find the metadata chunks of a PNG; the picture is passed over unread.

Source: PNG (Second Edition, 2003) §5, §11.3.4; Third Edition (2025) for eXIf; XMP part 3 (January 2020), "PNG". The
texts under ``Raw profile type ...`` are in no standard: programs put Photoshop resources, IIM, Exif and XMP there, in
hexadecimal digits below a line with their length.
"""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from catalog.standards._embedded import MAX_BLOCK_BYTES, Block, Collected
from catalog.standards.exif_values import exif_values_of_block
from catalog.standards.png import MAX_CHUNKS, SIGNATURE

_XMP_KEYWORD: Final = b"XML:com.adobe.xmp"
_RAW_KEYWORD: Final = b"raw profile type "
_MAX_KEYWORD: Final = 79  # PNG §11.3.4.2
_TEXTS: Final = (b"iTXt", b"tEXt", b"zTXt")
_IN_APP1: Final = b"http://ns.adobe.com/xap/1.0/\0"  # XMP part 3, "JPEG": what an APP1 segment with XMP begins with


@dataclass(slots=True)
class _Raw:
    """What raw profiles hold; a chunk of its own kind speaks before it."""

    xmp: list[Block] = field(default_factory=list)
    exif: list[Block] = field(default_factory=list)


def collect_png(stream: io.BufferedReader, size_bytes: int) -> Collected:
    """Return the metadata of a PNG that begins at the stream's place."""
    found, raw = Collected("PNG"), _Raw()
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
        if kind == b"eXIf":
            _keep_exif(found, stream, length, at)
        elif kind in _TEXTS:
            _keep_text(found, raw, stream, kind, length, at)
        if at + 12 + length > size_bytes:
            found.faults.append("PNG: cut short")
            break
        stream.seek(at + 12 + length)
    _join_raw(found, raw)
    return found


def _join_raw(found: Collected, raw: _Raw) -> None:
    for block in raw.xmp:
        found.keep(found.xmp, block, whole=len(block.data))
    for block in raw.exif:
        if not found.exif.facts:
            found.exif = exif_values_of_block(block.data, block.where)


def _keep_exif(found: Collected, stream: io.BufferedReader, length: int, at: int) -> None:
    where = f"PNG eXIf at byte {at}"
    if found.may_keep(where, length):
        payload = _payload(found, stream, where, b"eXIf", b"", length)
        if not found.exif.facts:
            found.exif = exif_values_of_block(payload, where)


def _keep_text(found: Collected, raw: _Raw, stream: io.BufferedReader, kind: bytes, length: int, at: int) -> None:
    """Keep what a text chunk holds of ours; what has another keyword is none of ours however long."""
    where = f"PNG {kind.decode()} at byte {at}"
    begins = stream.read(min(length, _MAX_KEYWORD + 1))
    keyword, nul, _ = begins.partition(b"\0")
    is_raw = keyword.lower().startswith(_RAW_KEYWORD)
    if not nul or not (is_raw or (keyword == _XMP_KEYWORD and kind == b"iTXt")) or not found.may_keep(where, length):
        return
    payload = _payload(found, stream, where, kind, begins, length)
    data = _UNPACKED[kind](found, where, payload[len(keyword) + 1 :])
    if not data:
        return
    if is_raw:
        _keep_raw(found, raw, where, at, keyword[len(_RAW_KEYWORD) :].strip().lower(), data)
    else:
        found.keep(found.xmp, Block(where, at + 8, data), whole=len(data))


def _payload(found: Collected, stream: io.BufferedReader, where: str, kind: bytes, begins: bytes, length: int) -> bytes:
    """Return a chunk's data, of which ``begins`` has been read; say if it is cut short or fails its check sum."""
    payload = begins + stream.read(length - len(begins))
    stated = int.from_bytes(stream.read(4))
    if len(payload) < length:
        found.faults.append(f"{where}: cut short")
    elif zlib.crc32(payload, zlib.crc32(kind)) != stated:
        found.faults.append(f"{where}: fails its own check sum")
    return payload


# ---- raw profiles


_LENGTH: Final = re.compile(rb"\s*[^\n]{0,79}\n\s*([0-9]{1,10})\s")


def _keep_raw(found: Collected, raw: _Raw, where: str, at: int, kind: bytes, text: bytes) -> None:
    if kind not in (b"iptc", b"8bim", b"exif", b"app1", b"xmp"):
        return
    place = f"{where}, raw profile {kind.decode()}"
    data = _from_digits(found, place, text)
    if not data:
        return
    if data.startswith(b"8BIM"):
        found.keep_resources(data, place, at + 8)
    elif kind in (b"iptc", b"8bim"):
        found.keep(found.iim, Block(place, at + 8, data), whole=len(data))
    elif kind == b"xmp" or data.startswith(_IN_APP1):
        raw.xmp.append(Block(place, at + 8, data.removeprefix(_IN_APP1)))
    else:
        raw.exif.append(Block(place, at + 8, data))


def _from_digits(found: Collected, where: str, text: bytes) -> bytes | None:
    """Return the bytes that a raw profile spells: a name, a line with their number, then two digits each."""
    stated = _LENGTH.match(text)
    if stated is None:
        found.faults.append(f"{where}: it does not begin with its length; not read")
        return None
    try:
        # Blanks and line ends between the digits mean nothing; anything else that is no digit is damage.
        data = bytes.fromhex(text[stated.end() :].decode("ascii"))
    except ValueError:  # also of characters that are not ASCII
        found.faults.append(f"{where}: its digits are damaged; not read")
        return None
    if len(data) != int(stated[1]):
        found.faults.append(f"{where}: it has {len(data):,} bytes where it says {int(stated[1]):,}")
    return data


# ---- texts


def _plain(_found: Collected, _where: str, rest: bytes) -> bytes:
    """Return the text of a tEXt chunk past its keyword (PNG §11.3.4.3)."""
    return rest


def _packed(found: Collected, where: str, rest: bytes) -> bytes | None:
    """Return the text of a zTXt chunk past its keyword, unpacked (PNG §11.3.4.4: method, then the packed text)."""
    if rest[:1] != b"\0":
        found.faults.append(f"{where}: its text is not of the form of the standard")
        return None
    return _unpack(found, where, rest[1:])


def _international(found: Collected, where: str, rest: bytes) -> bytes | None:
    """Return the text of an iTXt chunk past its keyword, unpacked if need be; None if it cannot be had."""
    # PNG §11.3.4.5: compression flag and method, language, NUL, translated keyword, NUL, text.
    parts = rest[2:].split(b"\0", 2)
    if len(parts) < 3 or rest[0] > 1 or (rest[0] == 1 and rest[1] != 0):
        found.faults.append(f"{where}: its text is not of the form of the standard")
        return None
    if rest[0] == 0:
        return parts[2]
    return _unpack(found, where, parts[2])


def _unpack(found: Collected, where: str, packed: bytes) -> bytes | None:
    room = min(MAX_BLOCK_BYTES, found.bytes_left)
    unpacker = zlib.decompressobj()
    try:
        data = unpacker.decompress(packed, room)
    except zlib.error:
        found.faults.append(f"{where}: its text cannot be unpacked")
        return None
    if not unpacker.eof:
        packs = f"unpacks to more than {room:,} bytes" if len(data) >= room else "is packed and cut short"
        found.faults.append(f"{where}: its text {packs}; not read")
        return None
    found.bytes_left -= len(data)
    return data


_UNPACKED: Final[dict[bytes, Callable[[Collected, str, bytes], bytes | None]]] = {
    b"iTXt": _international,
    b"tEXt": _plain,
    b"zTXt": _packed,
}
