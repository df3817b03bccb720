"""The page of a picture's tones: what was read, on which paper, how large it prints, how fine the film was seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from catalog.rules.papers import Paper
from catalog.rules.print_sizes import FilmResolution, PrintSize, film_resolution, print_sizes
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.imaging.scan_reading import ScanReading
    from catalog.imaging.tone_report import ToneReport
    from catalog.imaging.tone_steps import ToneStep
    from catalog.store.tone_pictures import TonePicture

__all__ = ["FilmTones", "TonePage", "read_tone_page"]

Progress = Callable[[int, int], None]
_FAR_APART = 1.15


@dataclass(frozen=True, slots=True)
class FilmTones:
    """What was read of the film itself, in a scan. Densities are above nothing; the range is above base and fog."""

    polarity: str
    why: str
    base: tuple[float, ...] | None
    density_range: float


@dataclass(frozen=True, slots=True)
class TonePage:
    """Everything the page says. ``paper`` is ``None`` for the bare scale: white L* 100, black L* 0."""

    reference: str
    made: str
    """What the tones are those of, in words."""
    path: Path
    sheets: tuple[tuple[str, str], ...]
    others: tuple[str, ...]
    replaced_by: tuple[str, ...]
    steps: str | None
    coding: str
    coding_is_assumed: bool
    paper: Paper | None
    tones: ToneReport
    width_px: int
    height_px: int
    sizes: tuple[PrintSize, ...]
    resolution: FilmResolution | None
    other_ppi: float | None
    """What the film's size gives, where the file records something else."""
    film: FilmTones | None


def read_tone_page(picture: TonePicture, paper: Paper | None, progress: Progress | None = None) -> TonePage:
    """
    Return the page of a picture's tones on a paper; its file is read, once or twice, and nothing is written.

    The scan of a negative is told as the positive that would be proposed for it, within its picture area.

    Raises:
        PictureError: the file cannot be opened, or its pixels not be read to the end.
        ToneStepError: the version's steps cannot be followed.
    """
    from catalog.imaging.tone_counts import count_tones
    from catalog.imaging.tone_report import report_tones
    from catalog.imaging.tone_steps import parse_steps, words_of_steps

    steps: tuple[ToneStep, ...] = parse_steps(picture.steps) if picture.steps else ()
    reading, within = None, None
    if picture.version is None or steps:
        reading = _reading(picture)
        within = (reading.picture.left, reading.picture.top, reading.picture.width, reading.picture.height)
    made = "as its file has it"
    if picture.version is not None and steps:
        made = "its steps followed on the scan, its own file not being at hand" if picture.version.path else "its steps"
    elif reading is not None:
        steps, made = _proposed(reading)
    count, coding, (width, height) = count_tones(picture.path, steps, within=within, progress=progress)
    white_l, black_l = (paper.white_l, paper.black_l) if paper else (100.0, 0.0)
    resolution, other = _resolution(picture)
    return TonePage(
        reference=picture.reference,
        made=made,
        path=picture.path,
        sheets=tuple((format_reference("sheet", sheet), words) for sheet, words in picture.sheets),
        others=picture.others,
        replaced_by=picture.replaced_by,
        steps=words_of_steps(steps) if steps else None,
        coding=coding.name,
        coding_is_assumed=coding.is_assumed and not steps,
        paper=paper,
        tones=report_tones(count, white_l=white_l, black_l=black_l),
        width_px=width,
        height_px=height,
        sizes=print_sizes(width, height),
        resolution=resolution,
        other_ppi=other,
        film=_film(reading) if reading is not None else None,
    )


def _reading(picture: TonePicture) -> ScanReading:
    from catalog.imaging.scan_reading import READING_PX, reading_of_copy
    from catalog.imaging.small_copies import small_copy

    return reading_of_copy(small_copy(picture.path, long_side_px=READING_PX), polarity=picture.polarity)


def _proposed(reading: ScanReading) -> tuple[tuple[ToneStep, ...], str]:
    """Return the steps that make a picture of a scan, and what the tones are then those of."""
    from catalog.imaging.positives import propose_steps

    if reading.polarity == "unknown":
        return (), "as it was scanned; whether it is a negative is not known"
    if reading.polarity != "negative":
        return (), "as it was scanned, a positive"
    return propose_steps(reading), "a negative; the tones of the positive proposed for it"


def _film(reading: ScanReading) -> FilmTones:
    return FilmTones(reading.polarity, reading.polarity_reason, reading.base, reading.density_range)


def _resolution(picture: TonePicture) -> tuple[FilmResolution | None, float | None]:
    """Return how fine the film was seen, by the scan; several scans tell it only if they agree."""
    found = {film_resolution(scan.recorded_ppi, scan.worked_out_ppi) for scan in picture.scans}
    if len(found) != 1:
        return None, None
    (resolution,) = found
    others = {scan.worked_out_ppi for scan in picture.scans if scan.worked_out_ppi}
    if resolution is None or resolution.is_worked_out or len(others) != 1:
        return resolution, None
    (other,) = others
    apart = max(other, resolution.ppi) / min(other, resolution.ppi)
    return resolution, other if apart > _FAR_APART else None
