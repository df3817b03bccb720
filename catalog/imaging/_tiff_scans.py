"""TIFF, BigTIFF and DNG as scans: their facts, and where their encoded picture lies."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from catalog.imaging._exif_facts import exif_facts
from catalog.imaging._tiff_layout import layout_of, picture_bytes
from catalog.imaging._tiff_pages import LINEAR_RAW, Page, main_page, pages_of, scan_pages
from catalog.imaging.resolution import recorded_ppi
from catalog.imaging.scan_file import ScanFile
from catalog.standards.exif import exif_of_tiff
from catalog.standards.icc import profile_description
from catalog.standards.tiff import TiffReader

MAX_PROFILE_BYTES = 8 << 20
_DNG_VERSION, _JPEG_TABLES, _PROFILE = 50706, 347, 34675
_SEPARATED = 5

# TIFF 6.0 §8, the Adobe Photoshop TIFF Technical Notes (2002), DNG 1.6, and common practice.
COMPRESSIONS = {
    1: "none", 2: "fax 1-D", 3: "fax group 3", 4: "fax group 4", 5: "LZW", 6: "JPEG (old style)", 7: "JPEG",
    8: "deflate", 9: "JBIG", 10: "JBIG", 32766: "NeXT", 32773: "PackBits", 32809: "ThunderScan",
    32946: "deflate",
    33003: "JPEG 2000", 33005: "JPEG 2000", 34661: "JBIG", 34712: "JPEG 2000", 34892: "JPEG (lossy DNG)",
    34925: "LZMA", 50000: "Zstandard", 50001: "WebP", 50002: "JPEG XL", 52546: "JPEG XL",
}  # fmt: skip
# TIFF 6.0, PhotometricInterpretation (262); 32803 is TIFF/EP's, 34892 DNG's. Words, and their channels.
COLOURS = {
    0: ("grey", 1), 1: ("grey", 1), 2: ("RGB", 3), 3: ("palette", 1), 4: ("mask", 1), 5: ("CMYK", 4),
    6: ("YCbCr", 3), 8: ("Lab", 3), 9: ("Lab", 3), 10: ("Lab", 3), 32803: ("mosaic", 1),
    34892: ("linear raw", 3),
}  # fmt: skip
# TIFF 6.0 §19, SampleFormat (339); 5 and 6 are common practice.
SAMPLE_FORMATS = {
    1: "unsigned integer", 2: "signed integer", 3: "floating point", 5: "complex integer", 6: "complex",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class TiffScan:
    """
    A TIFF's facts and its encoded picture: coding tables, then runs of bytes (start, length) in order.

    ``runs`` is None if there is no picture to digest.
    """

    facts: ScanFile
    runs: list[tuple[int, int]] | None = None
    tables: bytes = b""


def read_tiff_scan(reader: TiffReader) -> TiffScan:
    """Return the facts of a TIFF and where its picture lies."""
    is_dng = any(_DNG_VERSION in directory.fields for directory in reader.directories)
    kind = "DNG" if is_dng else "BigTIFF" if reader.is_big else "TIFF"
    facts = ScanFile(kind=kind, size_bytes=reader.size_bytes)
    pages = pages_of(reader)
    if not pages:
        return TiffScan(replace(facts, damage=_no_page(reader), notes=_faults(reader)))
    main = main_page(pages)
    facts = _facts(reader, main, facts, pages)
    found = picture_bytes(reader, main)
    runs, note = found.runs, found.note
    if main.role == "mosaic":
        runs, note = None, "a mosaic of the sensor, not a picture: no picture digest"
    notes = (*facts.notes, *([note] if note else []), *_faults(reader))
    # Technical Note 2 to TIFF 6.0: the strips of compression 7 share tables that are part of the picture.
    tables = reader.raw(main.directory, _JPEG_TABLES)
    return TiffScan(replace(facts, damage=found.damage, notes=notes), runs, tables)


def _no_page(reader: TiffReader) -> str:
    """Say why a TIFF has no page with a width and a height."""
    if reader.directories or not reader.faults:
        return "not a picture: no directory of it has a width and a height"
    return f"damaged: shorter than its own table says ({reader.faults[0]}; it has {reader.size_bytes})"


def _faults(reader: TiffReader) -> tuple[str, ...]:
    return tuple(dict.fromkeys(reader.faults))[:5]


def _facts(reader: TiffReader, main: Page, facts: ScanFile, pages: list[Page]) -> ScanFile:
    directory = main.directory
    samples = _short(reader.integer(directory, 277, 1))
    # TIFF 6.0, tag 258: one bit when it is absent.
    bits = [_short(depth) for depth in reader.integers(directory, 258)] or [1]
    colour, own_channels = _colour(reader, main, samples)
    compression = reader.integer(directory, 259, 1) or 1
    profile = reader.raw(directory, _PROFILE, at_most=MAX_PROFILE_BYTES)
    facts = replace(
        facts,
        width=main.width,
        height=main.height,
        bits=max(bits),
        channels=samples,
        extra_channels=max(samples - own_channels, 0),
        colour=colour,
        sample_format=SAMPLE_FORMATS.get(reader.integer(directory, 339, 1) or 1, "undefined"),
        white_is_zero=main.photometric == 0,
        compression=COMPRESSIONS.get(compression, f"unknown ({compression})"),
        layout=layout_of(main),
        recorded_ppi=recorded_ppi(reader.number(directory, 282), reader.integer(directory, 296)),
        profile=(profile_description(profile) or "unnamed profile") if profile else None,
        pages=scan_pages(pages, main),
        notes=tuple(_remarks(reader, main, pages, bits)),
    )
    # A preview may stand before the picture and carry its texts, so the first page is asked as well.
    described = [directory] if pages[0] is main else [directory, pages[0].directory]
    return exif_facts(facts, exif_of_tiff(reader, *described))


def _short(number: int | None) -> int:
    """Return a number that TIFF counts in 16 bits, whatever a damaged table makes of it."""
    return min(max(number or 1, 1), 0xFFFF)


def _colour(reader: TiffReader, main: Page, samples: int) -> tuple[str, int]:
    """Return the colour in words and how many channels it takes."""
    if main.photometric is None:
        return ("RGB", 3) if samples >= 3 else ("grey", 1)
    if main.photometric == _SEPARATED:  # TIFF 6.0 §16: as many inks as NumberOfInks (334) says
        inks = reader.integer(main.directory, 334, 4) or 4
        return ("CMYK" if inks == 4 else f"{inks} inks"), inks
    words, channels = COLOURS.get(main.photometric, (f"unknown ({main.photometric})", samples))
    if main.photometric == LINEAR_RAW or words == "Lab":
        channels = 1 if samples < 3 else 3
    return words, channels


def _remarks(reader: TiffReader, main: Page, pages: list[Page], bits: list[int]) -> Iterable[str]:
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
    if others := sum(page.role == "picture" and not page.is_main for page in scan_pages(pages, main)):
        yield f"{others} more page{'s' if others > 1 else ''} beside the picture"
