"""Make a positive of a scan: propose its tone steps, write it at full size, or show it small."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pyvips  # type: ignore[import-untyped]

from catalog.errors import PictureWriteError, ToneStepError
from catalog.imaging._positive_file import (
    NOT_WRITTEN,
    PASSING_SUFFIX,
    Progress,
    cannot_be_written,
    refuse_taken,
    write_tiff,
)
from catalog.imaging._tone_table import as_row, default_profile, output_profile, tone_tables
from catalog.imaging._turning import keeps_rows, lay_down, oriented, take_up, turned
from catalog.imaging.icc_profiles import icc_profile
from catalog.imaging.open_pixels import OpenPicture, guarded, open_picture
from catalog.imaging.scan_reading import READING_PX, ScanReading, reading_of_copy
from catalog.imaging.small_copies import SmallCopy, small_copy, values_of
from catalog.imaging.tone_steps import ToneStep, check_steps, tone_step, with_step

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["WrittenPicture", "propose_steps", "size_after", "small_picture", "small_positive", "write_positive"]

SOFTWARE: Final = "Tiebeam"


@dataclass(frozen=True, slots=True)
class WrittenPicture:
    """What was written: the picture's sides in pixels, its depth and profile, and the file's digest."""

    path: Path
    width: int
    height: int
    bits: int
    channels: int
    profile: str
    ppi: float | None
    size_bytes: int
    sha256: str


def propose_steps(
    reading: ScanReading,
    *,
    low_percent: float = 0.1,
    high_percent: float = 99.9,
    grade: float | None = None,
    profile: str | None = None,
) -> tuple[ToneStep, ...]:
    """
    Return the steps that make a positive of a scan by what was read of it, every number resolved.

    The points are the densities below which ``low_percent`` and ``high_percent`` of the picture area lie. A scan
    known to be reversed is mirrored; one whose polarity is not known is taken as the positive it may be. Without
    ``grade`` a negative is printed on grade 2, and a positive keeps its own contrast.

    Raises:
        ToneStepError: the percentages or the grade are out of bounds.
    """
    steps: list[ToneStep] = []
    if reading.orientation != 1:
        steps.append(tone_step("orient", orientation=reading.orientation))
    if reading.is_reversed:
        steps.append(tone_step("mirror"))
    steps.append(tone_step("coding", values=reading.assumed_coding))
    is_negative = reading.polarity == "negative"
    if is_negative:
        steps.append(tone_step("invert"))
        if reading.base is not None:
            steps.append(tone_step("base", density=[round(one, 4) for one in reading.base]))
    low, high = reading.points(low_percent, high_percent)
    neutral = reading.neutral(low_percent, high_percent) if is_negative else None
    if neutral is not None:
        steps.append(tone_step("neutral", density=neutral[0], slope=neutral[1]))
    black, white = (low, high) if is_negative else (high, low)
    steps.append(tone_step("points", black_d=round(black, 4), white_d=round(white, 4)))
    steps.append(
        tone_step("curve", gamma=1.0)
        if grade is None and not is_negative
        else tone_step("curve", grade=2 if grade is None else grade)
    )
    steps.append(tone_step("output", profile=profile or default_profile(reading.channels)))
    return check_steps(steps)


def write_positive(
    scan: Path, steps: Sequence[ToneStep], target: Path, *, progress: Progress | None = None
) -> WrittenPicture:
    """
    Write the positive that the steps make of a scan: a TIFF of 16 bits with its profile, the resolution kept.

    The scan is only read. ``progress`` is told the bytes done and the bytes there are. The target is there whole
    or not at all; while it is made, a passing file ending in ``.tiebeam-part`` stands beside it.

    Raises:
        ToneStepError: the steps cannot be followed on this scan.
        PictureWriteError: something is at ``target`` already, or it cannot be written there.
        PictureError: the scan cannot be opened, or not be read to its end.
    """
    steps = check_steps(steps)
    refuse_taken(target)
    picture = open_picture(scan)
    name = output_profile(steps, picture.channels)
    with _turned_whole(picture, steps, target) as image:
        image = toned(image, steps, name)
        ppi = picture.facts.recorded_ppi
        sha256, size_bytes = write_tiff(
            image, target, source=scan, profile=icc_profile(name), ppi=ppi, software=SOFTWARE, progress=progress
        )
        return WrittenPicture(
            path=target,
            width=image.width,
            height=image.height,
            bits=16,
            channels=image.bands,
            profile=name,
            ppi=ppi,
            size_bytes=size_bytes,
            sha256=sha256,
        )


def size_after(steps: Sequence[ToneStep], *, width: int, height: int) -> tuple[int, int]:
    """
    Return the sides, in pixels, of the picture that the steps make of a scan of these sides; no pixel is looked at.

    Raises:
        ToneStepError: a crop reaches beyond the picture.
    """
    image = turned(pyvips.Image.black(width, height), steps)
    return image.width, image.height


@contextmanager
def _turned_whole(picture: OpenPicture, steps: Sequence[ToneStep], target: Path) -> Iterator[Any]:
    """Give the picture turned; if rows cannot stay in their order, by way of a passing file of tiles."""
    if keeps_rows(steps):
        yield turned(picture.image, steps)
        return
    passing = target.with_name(f".{target.name}.{os.getpid()}.pixels{PASSING_SUFFIX}")
    try:
        with cannot_be_written(target), passing.open("xb"):
            pass
        with guarded(picture.path):
            _lay_down(picture, passing, target)
        yield turned(take_up(passing, picture.image.interpretation), steps)
    finally:
        with suppress(OSError):
            passing.unlink(missing_ok=True)


def _lay_down(picture: OpenPicture, passing: Path, target: Path) -> None:
    try:
        lay_down(picture.image, passing)
    except pyvips.Error as exc:
        # One word of the engine for two ends: what it says of writing is not the scan's fault.
        if not any(word in str(exc.detail) for word in (passing.name, "vips2tiff", "wbuffer_write")):
            raise
        raise PictureWriteError(target, NOT_WRITTEN.format("there may be no room for it")) from exc


def toned(image: Any, steps: Sequence[ToneStep], profile: str) -> Any:
    """Return an image of 8 or 16 bits as the positive of 16 bits its steps make, in a profile's colour."""
    refuse_grey_of_colour(profile, image.bands)
    bits = 8 if image.format == "uchar" else 16
    table = pyvips.Image.new_from_array(as_row(tone_tables(steps, channels=image.bands, bits=bits)))
    image = image.maplut(table.cast("ushort"))
    if image.bands == 1 and profile != "grey gamma 2.2":
        image = image.bandjoin([image, image])
    return image.copy(interpretation="grey16" if image.bands == 1 else "rgb16")


def refuse_grey_of_colour(profile: str | None, channels: int) -> None:
    """
    Refuse a profile of grey for a scan in colour.

    Raises:
        ToneStepError: it is one.
    """
    if channels == 3 and profile == "grey gamma 2.2":
        raise ToneStepError("output: a colour scan cannot be written as grey; name sRGB or Adobe RGB (1998)")


def small_positive(scan: Path, steps: Sequence[ToneStep] | None, long_side_px: int) -> NDArray[np.uint8]:
    """
    Return the positive of a scan made small, in sRGB: rows x columns, and three channels if it is in colour.

    Without steps they are proposed; a scan that may be either is shown as it is. No side is enlarged.

    Raises:
        ToneStepError: the steps cannot be followed on this scan.
        PictureError: the scan cannot be opened, or not be read to its end.
    """
    copy = small_copy(scan, long_side_px=max(long_side_px, READING_PX if steps is None else 1))
    if steps is None:
        reading = reading_of_copy(copy)
        if reading.polarity == "unknown":
            return as_it_is(copy, long_side_px)
        steps = propose_steps(reading)
    return positive_of_copy(copy, steps, long_side_px)


def positive_of_copy(copy: SmallCopy, steps: Sequence[ToneStep], long_side_px: int) -> NDArray[np.uint8]:
    """Return the positive of a small copy as ``small_positive`` does, where the copy is there already."""
    steps = check_steps(steps)
    size_after(steps, width=copy.picture.width, height=copy.picture.height)
    with guarded(copy.picture.path):
        image = copy.image
        for step in steps:
            image = turned(image, [_scaled(step, copy.factor, image)])
        image = _fitted(image, long_side_px)
        profile = output_profile(steps, image.bands)
        if image.bands == 1:  # grey has the same light in every profile, so it is coded for the screen at once
            return _eight_bits(toned(image, with_step(steps, tone_step("output", profile="sRGB")), "sRGB"))
        return _eight_bits(_as_srgb(toned(image, steps, profile), icc_profile(profile)))


def small_picture(scan: Path, long_side_px: int) -> NDArray[np.uint8]:
    """
    Return a scan made small as it is, scaled to 8 bits and never clipped, turned as its tag says, in sRGB.

    Raises:
        PictureError: the scan cannot be opened, or not be read to its end.
    """
    return as_it_is(small_copy(scan, long_side_px=long_side_px), long_side_px)


def as_it_is(copy: SmallCopy, long_side_px: int) -> NDArray[np.uint8]:
    """Return a small copy as ``small_picture`` does."""
    with guarded(copy.picture.path):
        image = _fitted(oriented(copy.image, copy.picture.orientation), long_side_px)
        if copy.picture.profile:
            image = _as_srgb(image, copy.picture.profile)
        return _eight_bits(image)


def _scaled(step: ToneStep, factor: int, image: Any) -> ToneStep:
    """Return a step for an image ``factor`` times smaller, which may have lost a last row or column on the way."""
    if step.kind != "crop" or factor == 1:
        return step
    left, top = min(step["left"] // factor, image.width - 1), min(step["top"] // factor, image.height - 1)
    right, bottom = (step["left"] + step["width"]) // factor, (step["top"] + step["height"]) // factor
    return tone_step(
        "crop",
        left=left,
        top=top,
        width=max(1, min(right, image.width) - left),
        height=max(1, min(bottom, image.height) - top),
    )


def _fitted(image: Any, long_side_px: int) -> Any:
    scale = long_side_px / max(image.width, image.height)
    return image.resize(scale, kernel="lanczos2").copy_memory() if scale < 1 else image


def _as_srgb(image: Any, profile: bytes) -> Any:
    """Return an image of a profile in sRGB; as it is, if the profile is not fit for it."""
    named = image.copy()
    named.set_type(pyvips.GValue.blob_type, "icc-profile-data", profile)
    try:
        return named.icc_transform("srgb", embedded=True, intent="relative", depth=16).copy_memory()
    except pyvips.Error:
        return image


def _eight_bits(image: Any) -> NDArray[np.uint8]:
    """Return values of 8 bits, scaled; rows x columns, and three channels if it is in colour."""
    values = values_of(image)
    if values.dtype == np.uint16:
        values = ((values.astype(np.uint32) * 255 + 32_767) // 65_535).astype(np.uint8)
    if values.shape[2] == 1 or _is_grey(values):
        values = values[..., 0]
    return np.ascontiguousarray(values)


def _is_grey(values: NDArray[np.uint8]) -> bool:
    return bool((values[..., 0] == values[..., 1]).all() and (values[..., 0] == values[..., 2]).all())
