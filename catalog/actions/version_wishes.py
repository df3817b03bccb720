"""What a person wants of a positive, and the tone steps that come of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalog.imaging.scan_reading import ScanReading
    from catalog.imaging.tone_steps import ToneStep


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneWishes:
    """
    How a positive is to be; what is ``None`` is proposed from what was measured.

    Densities are above base and fog. ``curve`` is the tone step of that kind. ``crop`` is left, top, width and height
    in pixels of the picture after it was turned, mirrored and straightened; ``crops_to_picture`` cuts the film's rebate
    and what lies beyond it off, where it was found.
    """

    low_percent: float = 0.1
    high_percent: float = 99.9
    black_d: float | None = None
    white_d: float | None = None
    curve: ToneStep | None = None
    neutral: tuple[float, ...] | None = None
    crop: tuple[int, int, int, int] | None = None
    crops_to_picture: bool = False
    straighten_deg: float | None = None
    mirror: bool | None = None
    profile: str | None = None


PLAINLY = ToneWishes()


def wished_steps(reading: ScanReading, wishes: ToneWishes) -> tuple[ToneStep, ...]:
    """
    Return the steps that make the positive a person wants.

    Raises:
        ToneStepError: the wishes are out of bounds, or contradict each other or the scan.
    """
    from catalog.imaging.positives import propose_steps, refuse_grey_of_colour, size_after
    from catalog.imaging.tone_steps import TURNING, check_steps, find_step, tone_step, with_step

    refuse_grey_of_colour(wishes.profile, reading.channels)
    steps = propose_steps(
        reading, low_percent=wishes.low_percent, high_percent=wishes.high_percent, profile=wishes.profile
    )
    points = find_step(steps, "points")
    if points is not None and (wishes.black_d is not None or wishes.white_d is not None):
        black = points["black_d"] if wishes.black_d is None else wishes.black_d
        white = points["white_d"] if wishes.white_d is None else wishes.white_d
        steps = with_step(steps, tone_step("points", black_d=black, white_d=white))
    if wishes.neutral is not None:
        steps = with_step(steps, tone_step("neutral", density=list(wishes.neutral)))
    if wishes.curve is not None:
        steps = with_step(steps, wishes.curve)
    turning = [step for step in steps if step.kind in TURNING and (step.kind != "mirror" or wishes.mirror is not False)]
    if wishes.crops_to_picture:
        area = reading.picture  # in pixels of the file as it lies, so it is cut before anything turns
        turning.insert(0, tone_step("crop", left=area.left, top=area.top, width=area.width, height=area.height))
    if wishes.mirror and find_step(turning, "mirror") is None:
        turning.append(tone_step("mirror"))
    if wishes.straighten_deg is not None:
        turning.append(tone_step("straighten", angle_deg=wishes.straighten_deg))
    if wishes.crop is not None:
        left, top, width, height = wishes.crop
        turning.append(tone_step("crop", left=left, top=top, width=width, height=height))
    steps = check_steps((*turning, *(step for step in steps if step.kind not in TURNING)))
    size_after(steps, width=reading.width, height=reading.height)
    return steps
