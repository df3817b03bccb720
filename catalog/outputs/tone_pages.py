"""The page of a picture's tones: what was read, on which paper, how large it prints, how fine the film was seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from catalog.rules.papers import Paper
from catalog.rules.print_sizes import FilmResolution, PrintSize, film_resolution, print_sizes
from catalog.rules.references import format_reference
from catalog.store.files import shown_path

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
    """The tone steps that stand between the file and these tones, in words; ``steps_json`` holds them as data."""
    steps_json: str | None
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

    @property
    def file_name(self) -> str:
        """The file's name alone, bytes that are not text as escapes."""
        return shown_path(self.path.name)


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
    from catalog.imaging.tone_steps import format_steps, words_of_steps

    read = _Read.of(picture)
    steps = read.steps
    count, coding, (width, height) = count_tones(picture.path, steps, within=read.within, progress=progress)
    white_l, black_l = (paper.white_l, paper.black_l) if paper else (100.0, 0.0)
    resolution, other = _resolution(picture)
    return TonePage(
        reference=picture.reference,
        made=read.made,
        path=picture.path,
        sheets=tuple((format_reference("sheet", sheet), words) for sheet, words in picture.sheets),
        others=picture.others,
        replaced_by=picture.replaced_by,
        steps=words_of_steps(steps) if steps else None,
        steps_json=format_steps(steps) if steps else None,
        coding=coding.name,
        coding_is_assumed=coding.is_assumed and not steps,
        paper=paper,
        tones=report_tones(count, white_l=white_l, black_l=black_l),
        width_px=width,
        height_px=height,
        sizes=print_sizes(width, height),
        resolution=resolution,
        other_ppi=other,
        film=read.film,
    )


@dataclass(frozen=True, slots=True)
class _Read:
    """How a picture's file is to be counted: by which steps, within what area, and what the tones then are."""

    made: str
    steps: tuple[ToneStep, ...] = ()
    within: tuple[int, int, int, int] | None = None
    film: FilmTones | None = None

    @classmethod
    def of(cls, picture: TonePicture) -> _Read:
        from catalog.imaging.tone_steps import parse_steps

        version = picture.version
        if version is None:
            return cls._of_scan(picture)
        if picture.steps is None:
            return cls._of_file(picture, version.steps)
        steps = parse_steps(picture.steps)
        reading = _reading(picture.path, picture.polarity)
        absent = "its steps followed on the scan, its own file not being at hand" if version.path else None
        return cls(absent or "its steps, followed on the scan", steps, _area(reading), _film(reading))

    @classmethod
    def _of_scan(cls, picture: TonePicture) -> _Read:
        from catalog.imaging.positives import propose_steps

        reading = _reading(picture.path, picture.polarity)
        if reading.polarity == "negative":
            made, steps = "a negative; the tones of the positive proposed for it", propose_steps(reading)
            return cls(made, steps, _area(reading), _film(reading))
        known = ", a positive" if reading.polarity == "positive" else "; whether it is a negative is not known"
        return cls(f"as it was scanned{known}", (), _area(reading), _film(reading))

    @classmethod
    def _of_file(cls, picture: TonePicture, steps: str | None) -> _Read:
        from catalog.imaging.tone_steps import find_step, parse_steps

        if steps is None or find_step(parse_steps(steps), "crop") is not None:
            return cls("all of its file")
        # Made here and not cropped: the rebate came along, and would be told as the deepest black.
        reading = _reading(picture.path, "positive")
        return cls("its file, within the picture area", (), _area(reading))


def _reading(path: Path, polarity: str | None) -> ScanReading:
    from catalog.imaging.scan_reading import READING_PX, reading_of_copy
    from catalog.imaging.small_copies import small_copy

    return reading_of_copy(small_copy(path, long_side_px=READING_PX), polarity=polarity)


def _area(reading: ScanReading) -> tuple[int, int, int, int]:
    return reading.picture.left, reading.picture.top, reading.picture.width, reading.picture.height


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
