"""
Read what Exif says of a picture: when, with what, and in words.

Source: Exif 2.32 (CIPA DC-008-2019) §4.6; the TIFF tags it builds on from TIFF 6.0.
See docs/standards/exif.md for which reader is used where, and why.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Any

from catalog.standards._text import decode_text
from catalog.standards.tiff import TiffDirectory, TiffReader

EXIF_IFD = 34665
MAX_READS = 20_000

# The field, its tag, and exifread's name for it.
# Exif 2.32 §4.6.4 Table 3 (TIFF tags), §4.6.5 Tables 7 and 8 (Exif tags).
_TEXTS = {
    "description": (270, "Image ImageDescription"),
    "make": (271, "Image Make"),
    "model": (272, "Image Model"),
    "software": (305, "Image Software"),
    "date_time": (306, "Image DateTime"),
    "artist": (315, "Image Artist"),
    "copyright": (33432, "Image Copyright"),
    "date_time_original": (36867, "EXIF DateTimeOriginal"),
    "date_time_digitized": (36868, "EXIF DateTimeDigitized"),
    "lens_model": (42036, "EXIF LensModel"),
}
_NUMBERS = {
    "orientation": (274, "Image Orientation"),
    "x_resolution": (282, "Image XResolution"),
    "y_resolution": (283, "Image YResolution"),
    "resolution_unit": (296, "Image ResolutionUnit"),
}


@dataclass(frozen=True, slots=True)
class Exif:
    """What was read; None is not recorded. Dates are the field's own text, blank and zero dates included."""

    description: str | None = None
    make: str | None = None
    model: str | None = None
    software: str | None = None
    artist: str | None = None
    copyright: str | None = None
    date_time: str | None = None
    date_time_original: str | None = None
    date_time_digitized: str | None = None
    lens_model: str | None = None
    orientation: int | None = None
    x_resolution: float | None = None
    y_resolution: float | None = None
    resolution_unit: int | None = None


def read_exif(block: bytes) -> Exif:
    """
    Return what an Exif block says, as JPEG and PNG carry it: a small TIFF, from its header on.

    exifread reads it; what exifread cannot bear is read by this program's own
    TIFF reader, which passes over what is damaged.
    """
    tags = _exifread_tags(block)
    if tags:
        return _built(
            text=lambda _, name: _text_of(tags.get(name)),
            number=lambda _, name: _number_of(tags.get(name)),
        )
    reader = TiffReader(io.BytesIO(block), len(block))
    return exif_of_tiff(reader, reader.directories[0]) if reader.directories else Exif()


def exif_of_tiff(reader: TiffReader, *directories: TiffDirectory) -> Exif:
    """Return what the directories of a TIFF say, the first that has a field speaking for the rest."""
    places = list(directories)
    for directory in directories:
        below = reader.integer(directory, EXIF_IFD)
        exif_directory = reader.directory_at(below) if below else None
        places += [exif_directory] if exif_directory else []

    def text(tag: int, _: str) -> str | None:
        return next(filter(None, (reader.text(place, tag) for place in places)), None)

    def number(tag: int, _: str) -> float | None:
        return next((n for place in places if (n := reader.number(place, tag)) is not None), None)

    return _built(text=text, number=number)


def exif_date_to_edtf(text: str | None) -> str | None:
    """
    Return the day an Exif date names, as EDTF, as far as it is filled in; None if it names none.

    >>> exif_date_to_edtf("2010:01:05 14:30:00")
    '2010-01-05'
    >>> exif_date_to_edtf("1931:07:  :  :  :  ")
    '1931-07'

    A date of zeros or blanks, or one that no calendar has, names no day.
    """
    # Exif 2.32 §4.6.5 F: "YYYY:MM:DD HH:MM:SS"; unknown parts are blanks, the colons stay.
    found = re.match(r"\s*(\d{4})[:/.-](\d\d|  |)[:/.-]?(\d\d|  |)", text or "")
    if found is None or int(found[1]) == 0:
        return None
    year, month, day = found[1], found[2].strip("0 "), found[3].strip("0 ")
    if not month:
        return year
    if not 1 <= int(found[2]) <= 12:
        return None
    if not day:
        return f"{year}-{found[2]}"
    try:
        return date(int(year), int(found[2]), int(found[3])).isoformat()
    except ValueError:
        return None


def _built(*, text: Callable[[int, str], str | None], number: Callable[[int, str], float | None]) -> Exif:
    texts = {name: text(tag, key) for name, (tag, key) in _TEXTS.items()}
    numbers = {name: number(tag, key) for name, (tag, key) in _NUMBERS.items()}
    return Exif(
        **texts,
        orientation=_whole(numbers["orientation"]),
        x_resolution=numbers["x_resolution"],
        y_resolution=numbers["y_resolution"],
        resolution_unit=_whole(numbers["resolution_unit"]),
    )


def _whole(number: float | None) -> int | None:
    return int(number) if number is not None and isfinite(number) else None


class _Guarded(io.BytesIO):
    """A block in memory that stops a reader which goes round in circles."""

    reads_left = MAX_READS

    def read(self, size: int | None = -1, /) -> bytes:
        self.reads_left -= 1
        if self.reads_left < 0:
            raise _TooManyReadsError
        return super().read(size)


class _TooManyReadsError(Exception):
    """A reader took more pieces of a block than an honest block has."""


def _exifread_tags(block: bytes) -> dict[str, Any]:
    """Return exifread's tags of a block; none if it cannot bear the block."""
    import logging

    import exifread  # 30 ms to import, and most scans are TIFFs, which need none of it

    # It warns through logging, which would print on the person's screen in the middle of a progress bar.
    quiet = logging.getLogger("exifread")
    quiet.setLevel(logging.CRITICAL + 1)
    # It guesses a kind from any first bytes; only a classic TIFF goes to it (BigTIFF comes out as garbage).
    if block[:4] not in (b"II*\0", b"MM\0*"):
        return {}
    try:
        return dict(exifread.process_file(_Guarded(block), details=False, extract_thumbnail=False))
    except Exception:  # noqa: BLE001  whatever a stranger's bytes bring it to raise, our own reader is asked next
        return {}


def _text_of(tag: Any) -> str | None:
    values = getattr(tag, "values", None)
    if isinstance(values, str):
        values = values.encode("utf-8", "replace")
    return (decode_text(values) or None) if isinstance(values, bytes) else None


def _number_of(tag: Any) -> float | None:
    values = getattr(tag, "values", None)
    first = values[0] if isinstance(values, list) and values else None
    if first is None:
        return None
    if hasattr(first, "den"):
        return float(first.num) / float(first.den) if first.den else None
    return float(first) if isinstance(first, int | float) else None
