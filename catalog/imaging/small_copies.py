"""A scan made small in one pass over its rows: the averages of squares of pixels, in the depth it has."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalog.imaging.open_pixels import OpenPicture, guarded, open_picture

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from catalog.imaging._film_layout import Area


@dataclass(frozen=True, slots=True)
class SmallCopy:
    """A small copy held in memory, not turned: ``image`` for the engine, a pixel of it ``factor`` wide in the scan."""

    picture: OpenPicture
    image: Any
    factor: int

    def values(self) -> NDArray[Any]:
        """Return its values, rows x columns x channels."""
        return values_of(self.image)


def values_of(image: Any) -> NDArray[Any]:
    """Return an image's values, rows x columns x channels; the engine leaves out what is 1 at the end of these."""
    values: NDArray[Any] = image.numpy().reshape(image.height, image.width, image.bands)
    return values


def small_copy(path: Path, *, long_side_px: int) -> SmallCopy:
    """
    Return a copy whose longer side has at least ``long_side_px`` pixels (or all there are), less than twice as many.

    Of a strip so narrow that nothing would be left of its other side, it has more.

    Raises:
        PictureError: as ``open_picture``; and what is found wrong when all of its pixels are read.
    """
    picture = open_picture(path)
    wide, narrow = max(picture.width, picture.height), min(picture.width, picture.height)
    factor = max(1, min(wide // long_side_px, narrow))
    with guarded(path):
        small = (picture.image.shrink(factor, factor) if factor > 1 else picture.image).copy_memory()
    return SmallCopy(picture, small, factor)


def count_values(path: Path, area: Area) -> NDArray[np.int64]:
    """
    Return how many pixels of an area of a scan have each value: a row a channel, a column a value.

    Raises:
        PictureError: as ``small_copy``.
    """
    import numpy as np

    picture = open_picture(path)
    with guarded(path):
        counts = values_of(picture.image.crop(area.left, area.top, area.width, area.height).hist_find())[0]
    # The engine leaves out the values above the highest it met.
    found = np.zeros((picture.channels, 1 << picture.bits), np.int64)
    found[:, : len(counts)] = counts.T
    return found
