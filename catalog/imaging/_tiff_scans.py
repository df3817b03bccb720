"""TIFF, BigTIFF and DNG as scans: which page is the picture, its facts, and where its encoded data lie."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from catalog.imaging._exif_facts import exif_facts
from catalog.imaging.resolution import recorded_ppi
from catalog.imaging.scan_file import ScanFile, ScanPage
from catalog.standards.exif import exif_of_tiff
from catalog.standards.icc import profile_description
from catalog.standards.tiff import TiffDirectory, TiffReader

MAX_SEGMENTS = 1 << 20
MAX_PROFILE_BYTES = 8 << 20
MAX_SHARED = 4
"""Strips may lie upon each other: their lengths together are at most this many times the file."""

# TIFF 6.0 §8, the Adobe Photoshop TIFF Technical Notes (2002), DNG 1.6, and common practice.
COMPRESSIONS = {
    1: "none", 2: "fax 1-D", 3: "fax group 3", 4: "fax group 4", 5: "LZW", 6: "JPEG (old style)", 7: "JPEG", 8: "deflate",
    9: "JBIG", 10: "JBIG", 32766: "NeXT", 32773: "PackBits", 32809: "ThunderScan", 32946: "deflate", 33003: "JPEG 2000",
    33005: "JPEG 2000", 34661: "JBIG", 34712: "JPEG 2000", 34892: "JPEG (lossy DNG)", 34925: "LZMA", 50000: "Zstandard",
    50001: "WebP", 50002: "JPEG XL", 52546: "JPEG XL",
}  # fmt: skip
# TIFF 6.0, PhotometricInterpretation (262); 32803 is TIFF/EP's, 34892 DNG's. Words, and how many channels they take.
COLOURS = {
    0: ("grey", 1), 1: ("grey", 1), 2: ("RGB", 3), 3: ("palette", 1), 4: ("mask", 1), 5: ("CMYK", 4), 6: ("YCbCr", 3),
    8: ("Lab", 3), 9: ("Lab", 3), 10: ("Lab", 3), 32803: ("mosaic", 1), 34892: ("linear raw", 3),
}  # fmt: skip
SAMPLE_FORMATS = {
    1: "unsigned integer",
    2: "signed integer",
    3: "floating point",
    5: "complex integer",
    6: "complex",
}
_MASK, _MOSAIC, _LINEAR_RAW = 4, 32803, 34892


@dataclass(frozen=True, slots=True)
class TiffScan:
    """
    A TIFF's facts, and its encoded picture: coding tables, then runs of bytes (start, length) in order.

    ``runs`` is None if there is no picture to digest.
    """

    facts: ScanFile
    runs: list[tuple[int, int]] | None = None
    tables: bytes = b""


@dataclass(frozen=True, slots=True)
class _Page:
    directory: TiffDirectory
    width: int
    height: int
    photometric: int | None
    role: str


def read_tiff_scan(reader: TiffReader) -> TiffScan:
    """Return the facts of a TIFF and where its picture lies."""
    pages = [page for page in (_page(reader, directory) for directory in reader.directories) if page]
    is_dng = any(50706 in directory.fields for directory in reader.directories)
    kind = "DNG" if is_dng else "BigTIFF" if reader.is_big else "TIFF"
    facts = ScanFile(kind=kind, size_bytes=reader.size_bytes)
    if not pages:
        return TiffScan(replace(facts, damage=_no_page(reader), notes=_faults(reader)))
    main = _main_page(pages)
    facts = _facts(reader, main, facts, pages)
    runs, damage, note = _picture_runs(reader, main)
    if main.role == "mosaic":
        runs, note = None, "a mosaic of the sensor, not a picture: no picture digest"
    facts = replace(facts, damage=damage, notes=(*facts.notes, *([note] if note else []), *_faults(reader)))
    # Technical Note 2 to TIFF 6.0: strips of compression 7 share tables (347) that are part of the coded picture.
    return TiffScan(facts, None if damage else runs, reader.raw(main.directory, 347))


def _no_page(reader: TiffReader) -> str:
    """Say why a TIFF has no page with a width and a height."""
    if reader.directories:
        return "not a picture: no directory of it has a width and a height"
    return f"damaged: shorter than its own table says ({reader.faults[0]}; it has {reader.size_bytes})"


def _faults(reader: TiffReader) -> tuple[str, ...]:
    return tuple(dict.fromkeys(reader.faults))[:5]


# -- pages ------------------------------------------------------------------------------------------------------


def _page(reader: TiffReader, directory: TiffDirectory) -> _Page | None:
    width, height = reader.integer(directory, 256), reader.integer(directory, 257)
    if not width or not height or width < 0 or height < 0:
        return None
    photometric = reader.integer(directory, 262)
    # TIFF 6.0 §8, NewSubfileType (254): bit 0 reduced, bit 2 mask (DNG 1.5: bit 3 depth); the older SubfileType (255): 2 reduced.
    flags = reader.integer(directory, 254, 0) or 0
    is_reduced = bool(flags & 1) or reader.integer(directory, 255) == 2
    role = "mask" if flags & 12 or photometric == _MASK else "preview" if is_reduced else "picture"
    if role == "picture" and photometric == _MOSAIC:
        role = "mosaic"
    return _Page(directory, width, height, photometric, role)


def _main_page(pages: list[_Page]) -> _Page:
    """Return the page that is the picture: the largest that is no preview and no mask, the first of its size."""
    ranks = {"picture": 2, "mosaic": 2, "preview": 1, "mask": 0}
    # Design §10: of a DNG the largest linear image, if it has one, before any rendering or mosaic beside it.
    return max(
        pages, key=lambda page: (ranks[page.role], page.photometric == _LINEAR_RAW, page.width * page.height)
    )


def _scan_pages(pages: list[_Page], main: _Page) -> tuple[ScanPage, ...]:
    area = main.width * main.height
    return tuple(
        ScanPage(
            width=page.width,
            height=page.height,
            # A page without the flag that is far smaller than the picture is a preview all the same.
            role="preview" if page.role == "picture" and 16 * page.width * page.height < area else page.role,
            is_main=page is main,
        )
        for page in pages
    )


# -- facts ------------------------------------------------------------------------------------------------------


def _facts(reader: TiffReader, main: _Page, facts: ScanFile, pages: list[_Page]) -> ScanFile:
    directory = main.directory
    samples = reader.integer(directory, 277, 1) or 1
    bits = list(reader.integers(directory, 258)) or [1]  # TIFF 6.0, tag 258: the default is one bit
    colour, own_channels = _colour(reader, main, samples)
    compression = reader.integer(directory, 259, 1)
    sample_format = reader.integer(directory, 339, 1) or 1
    # A preview may stand before the picture and carry its texts, so the first page is asked as well.
    described = exif_of_tiff(
        reader, *{page.directory.offset: page.directory for page in (main, pages[0])}.values()
    )
    profile = reader.raw(directory, 34675, at_most=MAX_PROFILE_BYTES)
    words = COMPRESSIONS.get(compression or 1, f"unknown ({compression})")
    facts = replace(
        facts,
        width=main.width,
        height=main.height,
        bits=max(bits),
        channels=samples,
        extra_channels=max(samples - own_channels, 0),
        colour=colour,
        sample_format=SAMPLE_FORMATS.get(sample_format, "undefined"),
        white_is_zero=main.photometric == 0,
        compression=words,
        layout="tiles" if 324 in directory.fields else "strips",
        recorded_ppi=recorded_ppi(reader.number(directory, 282), reader.integer(directory, 296)),
        profile=(profile_description(profile) or "unnamed profile") if profile else None,
        pages=_scan_pages(pages, main),
        notes=tuple(_remarks(reader, main, pages, bits)),
    )
    return exif_facts(facts, described)


def _colour(reader: TiffReader, main: _Page, samples: int) -> tuple[str, int]:
    """Return the colour in words and how many channels it takes."""
    if main.photometric is None:
        return ("RGB", 3) if samples >= 3 else ("grey", 1)
    words, channels = COLOURS.get(main.photometric, (f"unknown ({main.photometric})", samples))
    if main.photometric == 5:  # TIFF 6.0 §16: separated into as many inks as NumberOfInks (334) says
        inks = reader.integer(main.directory, 334, 4) or 4
        return ("CMYK" if inks == 4 else f"{inks} inks"), inks
    if main.photometric == _LINEAR_RAW or words == "Lab":
        return words, 1 if samples < 3 else 3
    return words, channels


def _remarks(reader: TiffReader, main: _Page, pages: list[_Page], bits: list[int]) -> Iterable[str]:
    directory = main.directory
    if main.photometric is None:
        yield "its table does not say how values are to be seen (tag 262)"
    if len(set(bits)) > 1:
        yield f"channels of different depth: {', '.join(map(str, bits))} bits"
    if reader.integer(directory, 284) == 2:
        yield "channels stored one after the other"
    across, down = reader.number(directory, 282), reader.number(directory, 283)
    if across and down and abs(across - down) > 0.01 * across:
        yield f"resolution differs across and down: {across:g}, {down:g}"
    if main.role in ("preview", "mask"):
        yield f"every page is marked as a preview or a mask; the largest was taken ({main.role})"
    if others := sum(page.role == "picture" for page in pages if page is not main):
        yield f"{others} more page{'s' if others > 1 else ''} beside the picture"


# -- where the picture lies -------------------------------------------------------------------------------------


def _picture_runs(
    reader: TiffReader, main: _Page
) -> tuple[list[tuple[int, int]] | None, str | None, str | None]:
    """
    Return the runs of bytes that are the picture, in the order of its own table; then damage; then a note.

    Strips that touch are joined into one run. Old-style JPEG may have a
    single stream (tags 513, 514) in their place.
    """
    directory = main.directory
    offset_tag, count_tag = (324, 325) if 324 in directory.fields else (273, 279)
    offsets = reader.integers(directory, offset_tag, at_most=MAX_SEGMENTS + 1)
    counts = reader.integers(directory, count_tag, at_most=MAX_SEGMENTS + 1)
    if not offsets and 513 in directory.fields:  # TIFF 6.0 §22, JPEGInterchangeFormat and its length
        offsets, counts = reader.integers(directory, 513), reader.integers(directory, 514)
    if not offsets:
        return (
            None,
            _cut_table(reader, directory, offset_tag) or "damaged: it does not say where its picture lies",
            None,
        )
    if len(offsets) > MAX_SEGMENTS:
        return None, f"damaged: it claims more than {MAX_SEGMENTS} strips", None
    counts = counts or _implied_counts(reader, main, len(offsets))
    if min(offsets) < 0 or (counts and min(counts) < 0):
        return None, "damaged: a strip lies before the file begins", None
    if damage := _missing_strips(reader, main, offsets, counts) or _too_short(reader, main, offsets, counts):
        return None, damage, None
    if not counts:
        return None, None, "its table does not say how long its strips are: no picture digest"
    if sum(counts) > MAX_SHARED * reader.size_bytes:
        return None, None, "its strips lie upon each other many times: no picture digest"
    return _joined(offsets, counts), None, None


def _cut_table(reader: TiffReader, directory: TiffDirectory, tag: int) -> str | None:
    field = directory.fields.get(tag)
    if field and field.offset + field.length > reader.size_bytes:
        return _shorter(field.offset + field.length, reader.size_bytes)
    return None


def _shorter(needed: int, had: int) -> str:
    return f"damaged: shorter than its own table says (needs {needed} bytes, has {had})"


def _implied_counts(reader: TiffReader, main: _Page, strips: int) -> Sequence[int]:
    """Return the length of a lone uncompressed strip whose length was left out, as some writers do."""
    expected = _expected_bytes(reader, main)
    return array("Q", [expected] if strips == 1 and expected and expected < 1 << 63 else [])


def _missing_strips(
    reader: TiffReader, main: _Page, offsets: Sequence[int], counts: Sequence[int]
) -> str | None:
    needed = _expected_segments(reader, main)
    listed = min(len(offsets), len(counts) or len(offsets))
    if 513 in main.directory.fields or listed >= needed:
        return None
    tag = 324 if 324 in main.directory.fields else 273
    cut = _cut_table(reader, main.directory, tag) or _cut_table(
        reader, main.directory, tag + (1 if tag == 324 else 6)
    )
    return cut or f"damaged: its table lists {listed} strips or tiles of {needed}"


def _expected_segments(reader: TiffReader, main: _Page) -> int:
    """Return how many strips (TIFF 6.0 §8, StripsPerImage) or tiles (§15, TilesPerImage) the picture has."""
    directory = main.directory
    planes = (reader.integer(directory, 277, 1) or 1) if reader.integer(directory, 284) == 2 else 1
    if 324 in directory.fields:
        across, down = (
            reader.integer(directory, 322) or main.width,
            reader.integer(directory, 323) or main.height,
        )
        return -(-main.width // max(across, 1)) * -(-main.height // max(down, 1)) * planes
    rows = reader.integer(directory, 278) or main.height
    return -(-main.height // min(max(rows, 1), main.height)) * planes


def _expected_bytes(reader: TiffReader, main: _Page) -> int | None:
    """Return how many bytes the uncompressed strips of the picture must have; None if that is not so simple."""
    directory = main.directory
    is_simple = (
        reader.integer(directory, 259, 1) == 1
        and 324 not in directory.fields
        and main.photometric != 6  # chroma may be sampled more coarsely
    )
    if not is_simple:
        return None
    samples = reader.integer(directory, 277, 1) or 1
    listed = list(reader.integers(directory, 258)) or [1]
    bits = listed if len(listed) == samples else [listed[0]] * min(samples, 1 << 16)
    is_planar = reader.integer(directory, 284) == 2
    row_bits = [main.width * depth for depth in bits] if is_planar else [main.width * sum(bits)]
    return sum(-(-bits_of_row // 8) for bits_of_row in row_bits) * main.height


def _too_short(reader: TiffReader, main: _Page, offsets: Sequence[int], counts: Sequence[int]) -> str | None:
    needed = max(map(int.__add__, offsets, counts), default=0)
    if needed > reader.size_bytes:
        return _shorter(needed, reader.size_bytes)
    expected = _expected_bytes(reader, main)
    if expected and counts and sum(counts) < expected:
        return f"damaged: its strips hold {sum(counts)} bytes, its picture has {expected}"
    return None


def _joined(offsets: Sequence[int], counts: Sequence[int]) -> list[tuple[int, int]]:
    """Return the strips as runs of start and length, those that touch joined into one."""
    runs = []
    start = end = -1
    for offset, count in zip(offsets, counts, strict=False):
        if not count:
            continue
        if offset != end:
            if end > start:
                runs.append((start, end - start))
            start = offset
        end = offset + count
    if end > start:
        runs.append((start, end - start))
    return runs
