"""Where the encoded picture of a TIFF lies, and whether all of it is there."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.imaging._tiff_pages import Page
from catalog.standards.tiff import TiffReader

MAX_SEGMENTS = 1 << 20
MAX_SHARED = 4
"""Strips may lie upon each other: their lengths together are at most this many times the file."""

_ROWS_PER_STRIP, _TILE_WIDTH, _TILE_LENGTH = 278, 322, 323
_STRIPS, _TILES = (273, 279), (324, 325)  # offsets and byte counts: TIFF 6.0 §8 and §15
_INTERCHANGE = (513, 514)  # a whole JPEG stream in their place, offset and length: TIFF 6.0 §22
_OLD_JPEG, _YCBCR, _PLANAR = 6, 6, 2


@dataclass(frozen=True, slots=True)
class PictureBytes:
    """
    The runs of bytes (start, length) that are the picture, in the order of its own table.

    ``runs`` is None when there is no picture to digest: ``damage`` says that the
    file is at fault, ``note`` that the way it is written is.
    """

    runs: list[tuple[int, int]] | None = None
    damage: str | None = None
    note: str | None = None


def layout_of(page: Page) -> str:
    """Return ``strips`` or ``tiles``."""
    return "tiles" if _TILES[0] in page.directory.fields else "strips"


def picture_bytes(reader: TiffReader, page: Page) -> PictureBytes:
    """Return where a page's encoded picture lies. Work is bounded whatever its table claims."""
    tags = _tags(reader, page)
    offsets, counts = (reader.integers(page.directory, tag, at_most=MAX_SEGMENTS + 1) for tag in tags)
    if len(offsets) > MAX_SEGMENTS:
        return PictureBytes(damage=f"damaged: it claims more than {MAX_SEGMENTS} strips or tiles")
    if offsets and not counts:
        counts = _implied_counts(reader, page, len(offsets))
    damage = _damage(reader, page, tags, offsets, counts)
    if damage:
        return PictureBytes(damage=damage)
    if not counts:
        return PictureBytes(note="its table does not say how long its strips are: no picture digest")
    if sum(counts) > MAX_SHARED * reader.size_bytes:
        return PictureBytes(note="its strips lie upon each other many times: no picture digest")
    return PictureBytes(_joined(offsets, counts))


def _tags(reader: TiffReader, page: Page) -> tuple[int, int]:
    fields = page.directory.fields
    if _TILES[0] in fields:
        return _TILES
    if _STRIPS[0] not in fields and reader.integer(page.directory, 259) == _OLD_JPEG:
        return _INTERCHANGE
    return _STRIPS


def _damage(
    reader: TiffReader, page: Page, tags: tuple[int, int], offsets: Sequence[int], counts: Sequence[int]
) -> str | None:
    """Return what is wrong with the table of strips, or between it and the file."""
    listed = min(len(offsets), len(counts) or len(offsets))
    needed = 1 if tags == _INTERCHANGE else _expected_segments(reader, page)
    if listed < needed:
        return (
            _cut_table(reader, page, tags)
            or (f"damaged: its table lists {listed} strips or tiles of {needed}" if listed else None)
            or "damaged: it does not say where its picture lies"
        )
    # The header stands at byte 0; a decoder would show what has no bytes as black.
    missing = sum(not offset for offset in offsets[:needed])
    missing = max(missing, sum(not count for count in counts[:needed]))
    if missing:
        return f"damaged: {missing} of its {needed} strips or tiles are missing"
    if min(offsets) < 0 or (counts and min(counts) < 0):
        return "damaged: a strip lies before the file begins"
    end = max(map(int.__add__, offsets, counts), default=max(offsets))
    if end > reader.size_bytes:
        return _shorter(end, reader.size_bytes)
    expected = _expected_bytes(reader, page)
    if expected and counts and sum(counts) < expected:
        return f"damaged: its strips hold {sum(counts)} bytes, its picture has {expected}"
    return None


def _cut_table(reader: TiffReader, page: Page, tags: tuple[int, int]) -> str | None:
    """Say so if the file ends before the table of strips does."""
    fields = [field for tag in tags if (field := page.directory.fields.get(tag))]
    end = max((field.offset + field.length for field in fields), default=0)
    return _shorter(end, reader.size_bytes) if end > reader.size_bytes else None


def _shorter(needed: int, had: int) -> str:
    return f"damaged: shorter than its own table says (needs {needed} bytes, has {had})"


def _implied_counts(reader: TiffReader, page: Page, strips: int) -> Sequence[int]:
    """Return the length of a lone uncompressed strip whose length was left out, as some writers do."""
    expected = _expected_bytes(reader, page)
    return array("Q", [expected] if strips == 1 and expected and expected < 1 << 63 else [])


def _expected_segments(reader: TiffReader, page: Page) -> int:
    """Return how many strips (TIFF 6.0 §8, StripsPerImage) or tiles (§15, TilesPerImage) the picture has."""
    directory = page.directory
    planes = reader.integer(directory, 277, 1) or 1 if reader.integer(directory, 284) == _PLANAR else 1
    if layout_of(page) == "tiles":
        across = reader.integer(directory, _TILE_WIDTH) or page.width
        down = reader.integer(directory, _TILE_LENGTH) or page.height
        return -(-page.width // max(across, 1)) * -(-page.height // max(down, 1)) * planes
    rows = reader.integer(directory, _ROWS_PER_STRIP) or page.height
    return -(-page.height // min(max(rows, 1), page.height)) * planes


def _expected_bytes(reader: TiffReader, page: Page) -> int | None:
    """Return the bytes that uncompressed strips must have (TIFF 6.0 §8); None for any other encoding."""
    directory = page.directory
    is_plain = reader.integer(directory, 259, 1) == 1 and layout_of(page) == "strips"
    if not is_plain or page.photometric == _YCBCR:  # its chroma may be sampled more coarsely
        return None
    samples = reader.integer(directory, 277, 1) or 1
    listed = list(reader.integers(directory, 258)) or [1]
    of_pixel = sum(listed) if len(listed) == samples else listed[0] * samples
    if reader.integer(directory, 284) == _PLANAR:  # each channel's rows begin on a byte of their own
        return -(-page.width * of_pixel // samples // 8) * samples * page.height
    return -(-page.width * of_pixel // 8) * page.height


def _joined(offsets: Sequence[int], counts: Sequence[int]) -> list[tuple[int, int]]:
    """Return the strips as runs of start and length, those that touch joined into one."""
    runs = []
    start = end = 0
    for offset, count in zip(offsets, counts, strict=False):
        if count and offset != end:
            if end > start:
                runs.append((start, end - start))
            start = offset
        if count:
            end = offset + count
    return [*runs, (start, end - start)] if end > start else runs
