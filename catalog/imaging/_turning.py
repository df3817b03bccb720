"""
Turn and cut a picture as its steps say: orient, mirror, crop, straighten, in their order.

A stream runs downwards. What keeps rows in their order is done in the stream; what does not is first laid
down as tiles in a passing file, which can be read from anywhere in little memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import pyvips  # type: ignore[import-untyped]

from catalog.errors import ToneStepError
from catalog.imaging.tone_steps import ToneStep

# TIFF 6.0, tag 274: what brings the picture as stored to how it is seen; the turn first, then the mirroring.
TURNS: Final = {
    1: (None, None), 2: (None, "horizontal"), 3: ("d180", None), 4: (None, "vertical"),
    5: ("d90", "horizontal"), 6: ("d90", None), 7: ("d270", "horizontal"), 8: ("d270", None),
}  # fmt: skip

TILE_PX: Final = 256


def turned(image: Any, steps: Sequence[ToneStep]) -> Any:
    """
    Return an image with its turning steps done.

    Raises:
        ToneStepError: a crop reaches beyond the picture.
    """
    for step in steps:
        if step.kind == "orient":
            image = oriented(image, step["orientation"])
        elif step.kind == "mirror":
            image = image.flip("horizontal")
        elif step.kind == "crop":
            image = _cropped(image, step)
        elif step.kind == "straighten":
            image = straightened(image, step["angle_deg"])
    return image


def oriented(image: Any, orientation: int) -> Any:
    """Return an image as its orientation (1 to 8, TIFF 6.0) asks it to be seen."""
    turn, mirrored = TURNS[orientation]
    image = image.rot(turn) if turn else image
    return image.flip(mirrored) if mirrored else image


def keeps_rows(steps: Sequence[ToneStep]) -> bool:
    """Return True if the turning steps can be done in a stream of rows from the top down."""
    return not any(
        (step.kind == "orient" and step["orientation"] > 2) or (step.kind == "straighten" and step["angle_deg"])
        for step in steps
    )


def straightened(image: Any, angle_deg: float) -> Any:
    """Return an image turned to the right about its middle and cut to the largest upright rectangle in it."""
    if not angle_deg:
        return image
    # The corners would show what is outside of the picture, so they are cut off.
    width, height = inner_rectangle(image.width, image.height, angle_deg)
    whole = image.similarity(angle=angle_deg, interpolate=pyvips.Interpolate.new("bicubic"))
    return whole.crop((whole.width - width) // 2, (whole.height - height) // 2, width, height)


def inner_rectangle(width: int, height: int, angle_deg: float) -> tuple[int, int]:
    """Return the sides of the largest upright rectangle within one that was turned about its middle."""
    from math import cos, radians, sin

    sine, cosine = abs(sin(radians(angle_deg))), abs(cos(radians(angle_deg)))
    long, short = max(width, height), min(width, height)
    if short <= 2.0 * sine * cosine * long or abs(sine - cosine) < 1e-10:
        half = 0.5 * short  # two of its corners touch the longer side
        sides = (half / sine, half / cosine) if width >= height else (half / cosine, half / sine)
    else:
        turned_by = cosine * cosine - sine * sine
        sides = ((width * cosine - height * sine) / turned_by, (height * cosine - width * sine) / turned_by)
    # The corners keep two pixels away from what is outside: interpolation would mix it in.
    return max(1, int(sides[0]) - 4), max(1, int(sides[1]) - 4)


def _cropped(image: Any, step: ToneStep) -> Any:
    left, top, width, height = step["left"], step["top"], step["width"], step["height"]
    if left + width > image.width or top + height > image.height:
        raise ToneStepError(
            f"crop: {width}x{height} px at {left}, {top} reach beyond the picture of {image.width}x{image.height}"
        )
    return image.crop(left, top, width, height)


def lay_down(image: Any, passing: Path) -> None:
    """Write an image into a passing file of tiles; ask for it within ``guarded``, and for nothing else there."""
    image.tiffsave(str(passing), tile=True, tile_width=TILE_PX, tile_height=TILE_PX, bigtiff=True, keep="none")


def take_up(passing: Path, interpretation: str) -> Any:
    """Return what was laid down as an image that can be read from anywhere."""
    # Only tiles are read where they are asked for; strips, and plain pixels, would be held as a whole.
    tiles = pyvips.Image.tiffload(str(passing), access="random", fail_on="error")
    return tiles.copy(interpretation=interpretation)
