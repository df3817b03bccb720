"""A scan made small in one pass over its rows: the averages of squares of pixels, in the depth it has."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalog.imaging.open_pixels import OpenPicture, guarded, open_picture

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class SmallCopy:
    """
    A small copy held in memory, not turned: ``image`` for the engine, each of its pixels ``factor`` of the scan's wide.

    ``ends`` is the share of pixels at the lowest and the highest value that went into each pixel of the copy,
    over all channels; None if it was not asked for.
    """

    picture: OpenPicture
    image: Any
    factor: int
    ends: NDArray[np.float32] | None = None

    def values(self) -> NDArray[Any]:
        """Return its values, rows x columns x channels."""
        found = self.image.numpy()
        return found[..., None] if found.ndim == 2 else found  # type: ignore[no-any-return]


def small_copy(path: Path, *, long_side_px: int, with_ends: bool = False) -> SmallCopy:
    """
    Return a copy whose longer side has at least ``long_side_px`` pixels (or all there are), less than twice as many.

    Raises:
        PictureError: as ``open_picture``; and what is found wrong when all of its pixels are read.
    """
    import numpy as np

    picture = open_picture(path)
    factor = max(1, max(picture.width, picture.height) // long_side_px)
    image, bands = picture.image, picture.channels
    if with_ends:
        # Both marks ride along as further channels, so that the file is read once.
        top = 255 if picture.bits == 8 else 65_535
        marks = [(image == 0).bandor(), (image == top).bandor()]
        image = image.bandjoin([mark.cast(image.format) for mark in marks])
    with guarded(path):
        small = (image.shrink(factor, factor) if factor > 1 else image).copy_memory()
    if not with_ends:
        return SmallCopy(picture, small, factor)
    ends = small.extract_band(bands, n=2).numpy().astype(np.float32) / 255.0
    shown = small.extract_band(0, n=bands).copy(interpretation=picture.image.interpretation).copy_memory()
    return SmallCopy(picture, shown, factor, ends)
