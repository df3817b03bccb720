"""Small picture files as tests need them: TIFF directories laid out by hand, and what others cannot write."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from pathlib import Path
from zlib import crc32

SHORT, LONG, RATIONAL, ASCII, UNDEFINED, IFD, LONG8 = 3, 4, 5, 2, 7, 13, 16
_CODES = {1: "B", 2: "s", 3: "H", 4: "I", 7: "s", 8: "h", 9: "i", 13: "I", 16: "Q", 18: "Q"}

Entry = tuple[int, int, Sequence[int] | bytes]
"""Tag, type, and numbers (rationals: over, under, over, ...) or bytes."""


def a_directory(entries: Sequence[Entry], *, at: int, order: str = "<", big: bool = False, following: int = 0) -> bytes:
    """Return the bytes of a directory that stands at ``at``, its longer values behind it."""
    entry_bytes, room, count_code, place = (20, 8, "Q", "Q") if big else (12, 4, "H", "I")
    values_at = at + struct.calcsize("=" + count_code) + entry_bytes * len(entries) + room
    rows, values = [struct.pack(order + count_code, len(entries))], b""
    for tag, kind, given in sorted(entries, key=lambda entry: entry[0]):
        raw, count = _packed(kind, given, order)
        stands = raw.ljust(room, b"\0") if len(raw) <= room else struct.pack(order + place, values_at + len(values))
        rows.append(struct.pack(order + "HH" + place, tag, kind, count) + stands)
        if len(raw) > room:
            values += raw + b"\0" * (len(raw) % 2)
    return b"".join(rows) + struct.pack(order + place, following) + values


def _packed(kind: int, given: Sequence[int] | bytes, order: str) -> tuple[bytes, int]:
    if isinstance(given, bytes):
        return given, len(given)
    code = "I" if kind == RATIONAL else "i" if kind == 10 else _CODES[kind]
    raw = struct.pack(f"{order}{len(given)}{code}", *given)
    return raw, len(given) // 2 if kind in (RATIONAL, 10) else len(given)


def a_header(first: int, *, order: str = "<", big: bool = False) -> bytes:
    """Return the header of a TIFF whose first directory stands at ``first``."""
    mark = b"II" if order == "<" else b"MM"
    return mark + (struct.pack(order + "HHHQ", 43, 8, 0, first) if big else struct.pack(order + "HI", 42, first))


def a_tiff(
    entries: Sequence[Entry] = (),
    *,
    width: int = 8,
    height: int = 4,
    bits: int = 16,
    picture: bytes | None = None,
    order: str = "<",
    big: bool = False,
    without: Sequence[int] = (),
) -> bytes:
    """Return a grey TIFF of one strip, ``entries`` in place of or beside the usual ones, ``without`` some."""
    start = 16 if big else 8
    data = bytes(range(256)) * (width * height * bits // 8 // 256 + 1) if picture is None else picture
    data = data[: width * height * bits // 8] if picture is None else data
    usual: dict[int, Entry] = {
        256: (256, LONG, [width]),
        257: (257, LONG, [height]),
        258: (258, SHORT, [bits]),
        259: (259, SHORT, [1]),
        262: (262, SHORT, [1]),
        273: (273, LONG, [start]),
        277: (277, SHORT, [1]),
        278: (278, LONG, [height]),
        279: (279, LONG, [len(data)]),
    }
    usual |= {entry[0]: entry for entry in entries}
    kept = [entry for tag, entry in usual.items() if tag not in without]
    at = start + len(data) + len(data) % 2
    return (a_header(at, order=order, big=big) + data).ljust(at, b"\0") + a_directory(kept, at=at, order=order, big=big)


def a_png_chunk(kind: bytes, data: bytes) -> bytes:
    """Return one chunk of a PNG."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", crc32(kind + data))


def with_segment(jpeg: bytes, code: int, payload: bytes, *, at: int = 2) -> bytes:
    """Return a JPEG with one more segment, after its first marker or elsewhere."""
    return jpeg[:at] + bytes((0xFF, code)) + struct.pack(">H", len(payload) + 2) + payload + jpeg[at:]


def written(path: Path, content: bytes) -> Path:
    """Write a file, and return where."""
    path.write_bytes(content)
    return path
