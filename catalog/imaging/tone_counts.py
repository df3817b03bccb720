"""Count the tones of a picture, as it is or as its tone steps make it, in one pass over its rows."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyvips  # type: ignore[import-untyped]
from numpy.typing import NDArray

from catalog.errors import ToneStepError
from catalog.imaging._tone_table import output_profile, tone_tables
from catalog.imaging._turning import TURNS, lay_down, take_up, turned
from catalog.imaging.icc_profiles import icc_profile
from catalog.imaging.open_pixels import OpenPicture, guarded, open_picture
from catalog.imaging.picture_coding import PictureCoding, coding_of_picture
from catalog.imaging.tone_report import ToneCount
from catalog.imaging.tone_scales import lightness_of_luminance
from catalog.imaging.tone_steps import ToneStep

TOP: Final = 65_535
Box = tuple[int, int, int, int]
"""Left, top, width and height in pixels of the file as it lies."""
Progress = Callable[[int, int], None]


def count_tones(
    path: Path,
    steps: Sequence[ToneStep] = (),
    *,
    within: Box | None = None,
    progress: Progress | None = None,
) -> tuple[ToneCount, PictureCoding, tuple[int, int]]:
    """
    Return how many pixels of a file have each lightness, how its values were read, and the sides as they are seen.

    With ``steps`` the tones are those of the positive that they make, without making it; the coding is then the
    positive's. ``within`` is where the picture lies in the file, for steps that do not crop. ``progress`` is told
    the pixels done and the pixels there are.

    Raises:
        PictureError: the file cannot be opened, or its pixels cannot be read to the end.
        ToneStepError: a crop reaches beyond the picture.
    """
    if any(step.kind == "straighten" and step["angle_deg"] for step in steps):
        with tempfile.TemporaryDirectory(prefix="tiebeam-") as folder:
            picture, passing = open_picture(path), Path(folder) / "plain"
            with guarded(path):
                lay_down(picture.image, passing)
            image = take_up(passing, picture.image.interpretation)
            if within is not None and not any(step.kind == "crop" for step in steps):
                image = image.crop(*within)
            with guarded(path):
                return _counted(picture, turned(image, steps), steps, progress)
    picture = open_picture(path)
    box = box_of_steps(picture.width, picture.height, steps)
    if within is not None and not any(step.kind == "crop" for step in steps):
        box = within
    turns = [step["orientation"] for step in steps if step.kind == "orient"] if steps else [picture.orientation]
    with guarded(path):
        count, coding, (width, height) = _counted(picture, picture.image.crop(*box), steps, progress)
    # Orientations 5 to 8 lay the picture on its side (TIFF 6.0, tag 274).
    is_on_side = sum(turn >= 5 for turn in turns) % 2 == 1
    return count, coding, (height, width) if is_on_side else (width, height)


def box_of_steps(width: int, height: int, steps: Iterable[ToneStep]) -> Box:
    """
    Return where in the file lies what its steps turn and crop. Counting asks for no more: it needs no turning.

    Raises:
        ToneStepError: a crop reaches beyond the picture.
    """
    view = _View(width, height)
    for step in steps:
        if step.kind == "orient":
            view = view.oriented(step["orientation"])
        elif step.kind == "mirror":
            view = view.flipped("horizontal")
        elif step.kind == "crop":
            view = view.cropped(step["left"], step["top"], step["width"], step["height"])
    one, other = view.to_file(0, 0), view.to_file(view.width - 1, view.height - 1)
    left, top = min(one[0], other[0]), min(one[1], other[1])
    return left, top, abs(one[0] - other[0]) + 1, abs(one[1] - other[1]) + 1


@dataclass(frozen=True, slots=True)
class _View:
    """A picture as seen after some turning: its sides, and where in the file each of its pixels lies."""

    width: int
    height: int
    to_file: Callable[[int, int], tuple[int, int]] = lambda x, y: (x, y)

    def oriented(self, orientation: int) -> _View:
        turn, mirrored = TURNS[orientation]
        wide, high, inner = self.width - 1, self.height - 1, self.to_file
        view = self
        if turn == "d90":  # to the right: what was the bottom of a column is now the left of a row
            view = _View(self.height, self.width, lambda x, y: inner(y, high - x))
        elif turn == "d180":
            view = _View(self.width, self.height, lambda x, y: inner(wide - x, high - y))
        elif turn == "d270":
            view = _View(self.height, self.width, lambda x, y: inner(wide - y, x))
        return view.flipped(mirrored) if mirrored else view

    def flipped(self, direction: str) -> _View:
        wide, high, inner = self.width - 1, self.height - 1, self.to_file
        if direction == "horizontal":
            return _View(self.width, self.height, lambda x, y: inner(wide - x, y))
        return _View(self.width, self.height, lambda x, y: inner(x, high - y))

    def cropped(self, left: int, top: int, width: int, height: int) -> _View:
        if left + width > self.width or top + height > self.height:
            raise ToneStepError(
                f"crop: {width}x{height} px at {left}, {top} reach beyond the picture of {self.width}x{self.height}"
            )
        inner = self.to_file
        return _View(width, height, lambda x, y: inner(x + left, y + top))


def _counted(
    picture: OpenPicture, image: Any, steps: Sequence[ToneStep], progress: Progress | None
) -> tuple[ToneCount, PictureCoding, tuple[int, int]]:
    if progress is not None:
        _tell(image, progress)
    channels = picture.channels
    if steps:
        tables = tone_tables(steps, channels=channels, bits=picture.bits)
        profile = icc_profile(output_profile(steps, channels))
        coding = coding_of_picture(profile, channels=channels, bits=16)
    else:
        coding = coding_of_picture(picture.profile, channels=channels, bits=picture.bits)
        tables = np.stack([np.arange(1 << picture.bits, dtype=np.uint16)] * channels)
    count = _grey(image, tables, coding) if channels == 1 else _colour(image, tables, coding)
    if progress is not None:
        progress(image.width * image.height, image.width * image.height)
    return count, coding, (int(image.width), int(image.height))


def _tell(image: Any, progress: Progress) -> None:
    total = image.width * image.height

    def tell(_image: Any, at: Any) -> None:
        if at.tpels == total:  # the engine also tells of its own small tables
            progress(int(at.npels), total)

    image.set_progress(True)
    image.signal_connect("eval", tell)


def _grey(image: Any, tables: NDArray[np.uint16], coding: PictureCoding) -> ToneCount:
    top = len(coding.light[0]) - 1
    in_file = _histogram(image, len(tables[0]))
    of_code = np.bincount(tables[0], weights=in_file, minlength=top + 1).astype(np.int64)
    lightness = lightness_of_luminance(coding.light[0])
    order = np.argsort(lightness, kind="stable")
    return ToneCount(
        lightness[order], of_code[order], int(of_code[0]), int(of_code[top]), int(in_file[0]), int(in_file[-1])
    )


def _colour(image: Any, tables: NDArray[np.uint16], coding: PictureCoding) -> ToneCount:
    """Count luminance in steps of 1/65535, finer than 0.014 L* everywhere; channels at an end are marked beside."""
    top = coding.light.shape[1] - 1
    codes = image.maplut(_row(tables))
    light = np.stack([row[table] for row, table in zip(coding.light, tables, strict=True)]).astype(np.float32)
    luminance = (image.maplut(_row(light * TOP)).recomb([list(coding.weights)]) + 0.5).cast("ushort")
    last = len(tables[0]) - 1
    marks = [(codes, 0), (codes, top), (image, 0), (image, last)]
    ends = sum((where == value).bandor() & (1 << place) for place, (where, value) in enumerate(marks))
    both = luminance.bandjoin(ends.cast("ushort")).hist_find()
    found = np.zeros((TOP + 1, 2), dtype=np.int64)
    counted = both.numpy().reshape(-1, 2)
    found[: len(counted)] = counted
    black, white, lowest, highest = (int(found[:16, 1][np.arange(16) >> place & 1 > 0].sum()) for place in range(4))
    lightness = lightness_of_luminance(np.arange(TOP + 1) / TOP)
    return ToneCount(lightness, found[:, 0], black, white, lowest, highest, has_levels=False)


def _histogram(image: Any, size: int) -> NDArray[np.int64]:
    found = np.zeros(size, dtype=np.int64)
    counted = image.hist_find().numpy().reshape(-1)  # the engine ends at the highest value that occurs
    found[: len(counted)] = counted
    return found


def _row(tables: NDArray[Any]) -> Any:
    """Return tables as one row of pixels, a band a channel, as the engine wants it."""
    return pyvips.Image.new_from_array(np.ascontiguousarray(tables.T[None, :, :]))
