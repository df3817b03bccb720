"""
Read the directories of a TIFF or BigTIFF: which fields there are, and their values.

Nothing here trusts the file. Work and memory are bounded whatever its counts
and offsets say, a loop of directories ends, and what cannot be read is named in
``faults`` rather than raised.

Source: TIFF Revision 6.0 (3 June 1992); the BigTIFF design (magic 43, 64-bit
offsets); Adobe Technical Note "TIFF Trees" for SubIFDs. See docs/standards/tiff.md.
"""

from __future__ import annotations

import struct
import sys
from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from catalog.standards._text import decode_text

MAX_DIRECTORIES = 512
MAX_ENTRIES = 65_535  # of all directories together; TIFF 6.0 §2 lets one directory have as many
MAX_SUB_DIRECTORIES = 64  # of one directory
MAX_TEXT_BYTES = 1 << 16

# TIFF 6.0 §2, "Types": bytes a value takes. 13 is from TIFF Trees, 16 to 18 from BigTIFF.
TYPE_BYTES = {
    1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8,
}  # fmt: skip
_ARRAY_CODES = {
    1: "B", 3: "H", 4: "I", 6: "b", 7: "B", 8: "h", 9: "i", 11: "f", 12: "d", 13: "I",
    16: "Q", 17: "q", 18: "Q",
}  # fmt: skip
_RATIONAL_CODES = {5: "I", 10: "i"}

_SUB_IFDS = 330


class SeekableFile(Protocol):
    """A file that is open for reading at any place."""

    def seek(self, offset: int, /) -> int: ...

    def read(self, size: int, /) -> bytes | None: ...


@dataclass(frozen=True, slots=True)
class TiffField:
    """One entry of a directory. ``offset`` is where its value begins, be it in the entry itself."""

    tag: int
    type: int
    count: int
    offset: int

    @property
    def length(self) -> int:
        """Return the bytes of the whole value; 0 for a type this reader does not know."""
        return self.count * TYPE_BYTES.get(self.type, 0)


@dataclass(frozen=True, slots=True)
class TiffDirectory:
    """One image file directory: ``parent`` is the offset of the directory whose SubIFDs name it."""

    offset: int
    fields: Mapping[int, TiffField]
    parent: int | None = None


def is_tiff(first_bytes: bytes) -> bool:
    """Return True if a file that begins so says it is a TIFF or a BigTIFF, of either byte order."""
    # TIFF 6.0 §2, "Image File Header": "II" or "MM", then 42 in that byte order; BigTIFF: 43.
    return first_bytes[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")


class TiffReader:
    """
    The directories of one file, and its values when asked for.

    ``stream`` is read in small pieces at the places the file names; nothing is
    kept but the directories. ``faults`` says in words what could not be read.
    """

    def __init__(self, stream: SeekableFile, size_bytes: int) -> None:
        self._stream, self.size_bytes = stream, size_bytes
        self.faults: list[str] = []
        self._entries_left = MAX_ENTRIES
        header = self._read(0, 16)
        self.byte_order = ">" if header[:1] == b"M" else "<"
        self.is_big = header[2:4] in (b"+\0", b"\0+")
        self.directories: tuple[TiffDirectory, ...] = tuple(self._walk(self._first_offset(header)))

    # -- values -----------------------------------------------------------------------------------------

    def raw(self, directory: TiffDirectory, tag: int, *, at_most: int = MAX_TEXT_BYTES) -> bytes:
        """Return the bytes of a value, at most ``at_most`` of them; empty when there is no such field."""
        field = directory.fields.get(tag)
        return self._read(field.offset, min(field.length, at_most)) if field else b""

    def numbers(self, directory: TiffDirectory, tag: int, *, at_most: int = 64) -> Sequence[float]:
        """
        Return the first ``at_most`` numbers of a field; fewer if the file ends before.

        Rationals come as floats, one with a zero denominator as ``nan``. Text and
        unknown types give nothing.
        """
        field = directory.fields.get(tag)
        if field is None:
            return ()
        if field.type in _RATIONAL_CODES:
            parts = self._array(field, _RATIONAL_CODES[field.type], 2 * at_most)
            pairs = zip(parts[::2], parts[1::2], strict=False)
            return [over / under if under else float("nan") for over, under in pairs]
        code = _ARRAY_CODES.get(field.type)
        return self._array(field, code, at_most) if code else ()

    def integers(self, directory: TiffDirectory, tag: int, *, at_most: int = 64) -> Sequence[int]:
        """Return ``numbers`` of a field that holds whole numbers; nothing if it is of another type."""
        field = directory.fields.get(tag)
        if field is None or _ARRAY_CODES.get(field.type, "d") in "fd":
            return ()
        return self._array(field, _ARRAY_CODES[field.type], at_most)

    def integer(self, directory: TiffDirectory, tag: int, default: int | None = None) -> int | None:
        """Return the first whole number of a field, ``default`` if there is none."""
        return next(iter(self.integers(directory, tag, at_most=1)), default)

    def number(self, directory: TiffDirectory, tag: int) -> float | None:
        """Return the first number of a field, None if there is none."""
        return next(iter(self.numbers(directory, tag, at_most=1)), None)

    def text(self, directory: TiffDirectory, tag: int) -> str | None:
        """Return a field as text, decoded leniently; None if it is absent or blank."""
        field = directory.fields.get(tag)
        # TIFF 6.0 says ASCII; writers also store text as BYTE (1) and UNDEFINED (7), and in other encodings.
        if field is None or field.type not in (1, 2, 7):
            return None
        return decode_text(self.raw(directory, tag)) or None

    def directory_at(self, offset: int) -> TiffDirectory | None:
        """Return a directory that a field names (Exif's, for one); None if there is none to read."""
        return self._directory(offset, None)[0]

    # -- structure --------------------------------------------------------------------------------------

    def _read(self, offset: int, length: int) -> bytes:
        if offset < 0 or offset >= self.size_bytes or length <= 0:
            return b""
        self._stream.seek(offset)
        return self._stream.read(min(length, self.size_bytes - offset)) or b""

    def _array(self, field: TiffField, code: str, at_most: int) -> array[int]:
        numbers = array(code)
        raw = self._read(field.offset, min(field.length, at_most * numbers.itemsize))
        numbers.frombytes(raw[: len(raw) - len(raw) % numbers.itemsize])
        if (self.byte_order == "<") != (sys.byteorder == "little"):
            numbers.byteswap()
        return numbers

    def _first_offset(self, header: bytes) -> int:
        if self.is_big:
            sizes = header[4:8]
            if sizes != struct.pack(self.byte_order + "HH", 8, 0):
                self.faults.append("its BigTIFF header is not one of 8-byte offsets")
                return 0
            return self._unpack("Q", header[8:16])
        return self._unpack("I", header[4:8])

    def _unpack(self, code: str, raw: bytes) -> int:
        if len(raw) < struct.calcsize("=" + code):
            return 0
        return int(struct.unpack(self.byte_order + code, raw)[0])

    def _walk(self, first: int) -> Iterator[TiffDirectory]:
        """Yield the chain of directories, each followed by those its SubIFDs name, none twice."""
        if first == 0:
            self.faults.append("it names no directory")
        waiting: list[tuple[int, int | None]] = [(first, None)] if first else []
        seen: set[int] = set()
        while waiting:
            offset, parent = waiting.pop()
            if offset in seen:
                self.faults.append(f"its directories run in a loop at byte {offset}")
                continue
            if len(seen) == MAX_DIRECTORIES:
                self.faults.append(f"it names over {MAX_DIRECTORIES} directories; the rest were not read")
                return
            seen.add(offset)
            directory, following = self._directory(offset, parent)
            if following:
                waiting.append((following, parent))
            if directory is not None:
                yield directory
                below = self.integers(directory, _SUB_IFDS, at_most=MAX_SUB_DIRECTORIES)
                waiting += [(sub, offset) for sub in reversed(below) if sub]

    def _directory(self, offset: int, parent: int | None) -> tuple[TiffDirectory | None, int]:
        """Return the directory at ``offset`` and where the next one is (0: there is none)."""
        count_code, entry_bytes, value_bytes = ("Q", 20, 8) if self.is_big else ("H", 12, 4)
        counted = self._read(offset, struct.calcsize("=" + count_code))
        count = self._unpack(count_code, counted)
        start = offset + struct.calcsize("=" + count_code)
        end = start + count * entry_bytes + value_bytes
        if not counted or end > self.size_bytes:
            self.faults.append(f"a directory at byte {offset} needs {max(end, offset + 2)} bytes")
        if count == 0:
            return None, 0
        if count > self._entries_left:
            self.faults.append(f"its directories have more than {MAX_ENTRIES} entries; not all were read")
        wanted = min(count, self._entries_left)
        self._entries_left -= wanted
        raw = self._read(start, wanted * entry_bytes)
        fields = self._fields(raw, start, entry_bytes, value_bytes)
        following = self._unpack("Q" if self.is_big else "I", self._read(end - value_bytes, value_bytes))
        return TiffDirectory(offset, fields, parent), following if wanted == count else 0

    def _fields(self, raw: bytes, start: int, entry_bytes: int, value_bytes: int) -> dict[int, TiffField]:
        layout = self.byte_order + ("HHQQ" if self.is_big else "HHII")
        fields: dict[int, TiffField] = {}
        for at in range(0, len(raw) - len(raw) % entry_bytes, entry_bytes):
            tag, kind, count, value = struct.unpack_from(layout, raw, at)
            # TIFF 6.0 §2: a value of no more than four bytes (BigTIFF: eight) stands in the entry itself.
            fits = count * TYPE_BYTES.get(kind, 0) <= value_bytes
            place = start + at + entry_bytes - value_bytes if fits else value
            fields.setdefault(tag, TiffField(tag, kind, count, place))
        return fields
