"""How large a picture can be printed, and how fine its scan saw the film."""

from __future__ import annotations

from dataclasses import dataclass

MM_PER_INCH = 25.4
PRINT_PPI = (240, 300, 360)
"""The pixels to the inch of paper that prints are commonly made at."""


@dataclass(frozen=True, slots=True)
class PrintSize:
    """The sides of a print in which no pixel is made up: across and down, in millimetres."""

    ppi: int
    width_mm: float
    height_mm: float

    @property
    def width_in(self) -> float:
        """Across, in inches."""
        return self.width_mm / MM_PER_INCH

    @property
    def height_in(self) -> float:
        """Down, in inches."""
        return self.height_mm / MM_PER_INCH


def print_sizes(width_px: int, height_px: int) -> tuple[PrintSize, ...]:
    """
    Return the size of a print of so many pixels at each of ``PRINT_PPI``.

    >>> [round(size.height_in, 2) for size in print_sizes(9600, 12000)]
    [50.0, 40.0, 33.33]
    """
    return tuple(PrintSize(ppi, width_px / ppi * MM_PER_INCH, height_px / ppi * MM_PER_INCH) for ppi in PRINT_PPI)


@dataclass(frozen=True, slots=True)
class FilmResolution:
    """How fine the film was sampled. What the lens and the scanner resolved may be less, never more."""

    ppi: float
    is_worked_out: bool
    """From the pixels and the size of the film, because the file records nothing."""

    @property
    def pixels_per_mm(self) -> float:
        """Pixels to the millimetre of film."""
        return self.ppi / MM_PER_INCH

    @property
    def line_pairs_per_mm(self) -> float:
        """The finest line pairs to the millimetre that so many pixels can hold: two pixels a pair (Nyquist)."""
        return self.pixels_per_mm / 2


def film_resolution(recorded_ppi: float | None, worked_out_ppi: float | None) -> FilmResolution | None:
    """
    Return how fine a scan saw the film: by what its file records, else by the film's size; ``None`` if neither says.

    >>> round(film_resolution(2400, None).line_pairs_per_mm, 1)
    47.2
    """
    if recorded_ppi:
        return FilmResolution(recorded_ppi, is_worked_out=False)
    return FilmResolution(worked_out_ppi, is_worked_out=True) if worked_out_ppi else None
