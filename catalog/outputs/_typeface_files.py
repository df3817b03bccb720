"""
A stranger's typeface looked over before the drawing library reads it.

The library believes every count that it reads: 16 bytes may claim four thousand million letters. What is checked
here keeps the memory it takes within a small multiple of the file.
"""

from __future__ import annotations

import struct
from itertools import pairwise
from typing import Final

_MAX_TABLES: Final = 100
_LAST_LETTER: Final = 0x10FFFF  # The Unicode Standard 15 §2.4
_Tables = dict[bytes, tuple[int, int]]


def check_typeface(content: bytes) -> None:
    """
    Raise if ``content`` is no TrueType file that may be embedded; of a collection the first typeface is looked at.

    Raises:
        PermissionError: its maker does not allow embedding.
        NotImplementedError: its outlines are not TrueType.
        ValueError, struct.error: a table is absent, leaves the file, or claims more than there can be.
    """
    tables = _read_tables(content)
    _check_licence(content, tables)
    _check_letters(content, tables[b"cmap"])
    _check_drawings(content, tables)


def _read_tables(content: bytes) -> _Tables:
    start = 0
    if content[:4] == b"ttcf":  # OpenType 1.9, "Font Collections": the offsets of the typefaces begin at byte 12
        (start,) = struct.unpack_from(">L", content, 12)
    if content[start : start + 4] == b"OTTO":
        raise NotImplementedError
    if content[start : start + 4] not in (b"\x00\x01\x00\x00", b"true"):
        raise ValueError("not TrueType")
    (count,) = struct.unpack_from(">H", content, start + 4)
    tables: _Tables = {}
    for number in range(_at_most(count, _MAX_TABLES)):
        tag, _, offset, length = struct.unpack_from(">4sLLL", content, start + 12 + 16 * number)
        _at_most(offset + length, len(content))
        tables[tag] = (offset, length)
    if missing := {b"cmap", b"glyf", b"head", b"hhea", b"hmtx", b"loca", b"maxp", b"name", b"post"} - set(tables):
        raise ValueError(f"no table {min(missing)!r}")
    return tables


def _check_licence(content: bytes, tables: _Tables) -> None:
    if b"OS/2" not in tables:
        return
    # OpenType 1.9, OS/2, fsType: 0x0002 restricted, 0x0100 no subsetting, 0x0200 bitmaps only.
    (allowed,) = struct.unpack_from(">H", content, tables[b"OS/2"][0] + 8)
    if allowed & 0x000F == 2 or allowed & 0x0300:
        raise PermissionError


def _check_letters(content: bytes, table: tuple[int, int]) -> None:
    offset, length = table
    (count,) = struct.unpack_from(">H", content, offset + 2)
    for number in range(_at_most(count, _MAX_TABLES)):
        (at,) = struct.unpack_from(">L", content, offset + 4 + 8 * number + 4)
        _at_most(at + 4, length)
        _check_ranges(content, offset + at)


def _check_ranges(content: bytes, at: int) -> None:
    # OpenType 1.9, cmap: in formats 4, 12 and 13 the ranges are sorted and do not overlap.
    (layout,) = struct.unpack_from(">H", content, at)
    if layout == 4:
        count = struct.unpack_from(">H", content, at + 6)[0] // 2
        ends = struct.unpack_from(f">{count}H", content, at + 14)
        starts = struct.unpack_from(f">{count}H", content, at + 16 + 2 * count)
        ranges = list(zip(starts, ends, strict=True))
    elif layout in (12, 13):
        (count,) = struct.unpack_from(">L", content, at + 12)
        found = struct.unpack_from(f">{3 * _at_most(count, len(content) // 12)}L", content, at + 16)
        ranges = list(zip(found[::3], found[1::3], strict=True))
    else:
        if layout == 10:
            _at_most(struct.unpack_from(">L", content, at + 16)[0], len(content) // 2)
        return
    before = -1
    for start, end in ranges:
        if start <= before or end < start or end > _LAST_LETTER:
            raise ValueError("ranges of letters that overlap")
        before = end


def _check_drawings(content: bytes, tables: _Tables) -> None:
    (count,) = struct.unpack_from(">H", content, tables[b"maxp"][0] + 4)
    (is_long,) = struct.unpack_from(">H", content, tables[b"head"][0] + 50)
    offset, length = tables[b"loca"]
    _at_most((count + 1) * (4 if is_long else 2), length)
    starts = struct.unpack_from(f">{count + 1}{'L' if is_long else 'H'}", content, offset)
    # Drawings that overlap would be copied whole for each letter.
    if any(one > other for one, other in pairwise(starts)):
        raise ValueError("drawings that overlap")
    _at_most(starts[-1] * (1 if is_long else 2), tables[b"glyf"][1])


def _at_most(found: int, limit: int) -> int:
    if found > limit:
        raise ValueError(f"{found} where at most {limit} can be")
    return found
