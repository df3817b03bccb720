"""
An index picture is made of a scan's pixels, in one pass over them: upright, a positive, small, sRGB, a JPEG.

JPEG and not PNG: grain does not compress without loss (a sheet's picture is 1.2 MB as PNG, 0.2 MB so), and a PDF
takes a JPEG in as it is. Three channels in any case, so that every reader sees the same sRGB.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pyvips  # type: ignore[import-untyped]

from catalog.imaging.icc_profiles import icc_profile
from catalog.imaging.positives import as_it_is, positive_of_copy, propose_steps
from catalog.imaging.scan_reading import READING_PX, reading_of_copy
from catalog.imaging.small_copies import small_copy
from catalog.imaging.tone_steps import parse_steps

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["QUALITY", "render_index_picture"]

QUALITY: Final = 88
"""Of 100: at the size of a 4x5 sheet no block is seen in a sky, and the file is a fifth of a PNG's."""


def render_index_picture(
    path: Path,
    *,
    long_side_px: int,
    polarity: str | None = None,
    is_reversed: bool | None = None,
    steps: str | None = None,
) -> bytes:
    """
    Return the index picture of a scan as a JPEG: 8-bit sRGB with its profile, no side longer than ``long_side_px``.

    With tone ``steps`` (as JSON), those. Else a negative is made a positive, and so is a transparency whose film is
    seen around it, its white put where the film is clearest; any other scan is shown as it is, all its tones
    scaled. It is turned as its orientation tag says, and mirrored when it was scanned wrong side up. ``polarity``
    and ``is_reversed`` are taken at their word where given. Nothing is enlarged.

    Raises:
        PictureError: the file cannot be opened, or its pixels not be read to the end.
        ToneStepError: the steps cannot be followed on this scan.
    """
    copy = small_copy(path, long_side_px=max(long_side_px, READING_PX))
    if steps is not None:
        return _jpeg(positive_of_copy(copy, parse_steps(steps), long_side_px))
    reading = reading_of_copy(copy, polarity=polarity)
    if is_reversed is not None:
        reading = replace(reading, is_reversed=is_reversed)
    if reading.polarity == "negative" or (reading.polarity == "positive" and reading.has_rebate):
        return _jpeg(positive_of_copy(copy, propose_steps(reading), long_side_px))
    values = as_it_is(copy, long_side_px)
    return _jpeg(values[:, ::-1] if reading.is_reversed else values)


def _jpeg(values: NDArray[np.uint8]) -> bytes:
    import numpy as np

    image: Any = pyvips.Image.new_from_array(np.ascontiguousarray(values), interpretation="srgb")
    if image.bands == 1:
        image = image.bandjoin([image, image]).copy(interpretation="srgb")
    image.set_type(pyvips.GValue.blob_type, "icc-profile-data", icc_profile("sRGB"))
    data: bytes = image.jpegsave_buffer(Q=QUALITY, optimize_coding=True, keep="icc")
    return data
