"""Pixels to the inch: as a file records them, and as the size of the film gives them."""

from __future__ import annotations

from math import isfinite

MM_PER_INCH = 25.4
HIGHEST_PPI = 100_000
PART_OF_SHEET = 1.15
"""A scan whose shape differs more than this from its film's does not show the whole sheet, or shows more."""

_INCHES = {2: 1.0, 3: 2.54}  # TIFF 6.0, tag 296: 1 no unit, 2 inch, 3 centimetre


def recorded_ppi(resolution: float | None, unit: int | None) -> float | None:
    """
    Return a recorded resolution in pixels to the inch; None if it says nothing.

    ``unit`` is 2 for the inch, 3 for the centimetre. One pixel to the inch or
    less, no unit, zero or nonsense is what software writes when nobody told it.
    """
    if resolution is None or not isfinite(resolution):
        return None
    # Departs: TIFF 6.0 takes a missing unit for the inch; a writer that left it out knew no inch either.
    ppi = resolution * _INCHES.get(unit or 0, 0.0)
    # Two decimals: 11811 pixels to the metre are 300 to the inch, written in whole numbers.
    return round(ppi, 2) if 1 < ppi <= HIGHEST_PPI else None


def worked_out_ppi(width_px: int, height_px: int, film_mm: tuple[float, float]) -> float | None:
    """
    Return pixels to the inch of a scan that shows a whole sheet of ``film_mm`` (two sides, either order).

    The long sides are compared, whichever way up the scan lies. None if its
    shape is not the film's, so that it cannot be a scan of the whole sheet.

    >>> worked_out_ppi(9600, 12000, (101.6, 127.0))
    2400.0
    """
    if min(width_px, height_px, *film_mm) <= 0:
        return None
    long_ppi = max(width_px, height_px) / max(film_mm) * MM_PER_INCH
    short_ppi = min(width_px, height_px) / min(film_mm) * MM_PER_INCH
    if max(long_ppi, short_ppi) > PART_OF_SHEET * min(long_ppi, short_ppi):
        return None
    return round(long_ppi, 1)
