"""
Decode the few TIFF flavours that the engine reads wrongly or not at all, with the library tifffile.

It decodes the page whole, into a passing file that goes with the last reader, so memory stays small here too.
Which compressions it knows depends on what is installed beside it; the rest are refused in words.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyvips  # type: ignore[import-untyped]

from catalog.errors import PictureDamagedError, PictureKindError
from catalog.imaging.scan_file import ScanFile

NOT_BY_ENGINE: Final = frozenset(("Zstandard", "LZMA", "JPEG 2000", "JPEG XL"))
APART: Final = "channels stored one after the other"


def is_slow(facts: ScanFile) -> bool:
    """Return True for a flavour that is decoded here."""
    if facts.compression in NOT_BY_ENGINE:
        return True
    # The engine takes the strips of grey and of infrared for one picture, and knows no tiles of single channels.
    is_grey = (facts.channels or 1) - (facts.extra_channels or 0) == 1
    return APART in facts.notes and (facts.layout == "tiles" or (is_grey and bool(facts.extra_channels)))


def decoded_slowly(path: Path, facts: ScanFile, *, offset: int) -> Any:
    """
    Return a page's own channels, decoded; ``offset`` is that of its directory. White is 0 stays as it is stored.

    Raises:
        PictureKindError: its compression is not known here.
        PictureDamagedError: it cannot be decoded.
    """
    import tifffile

    try:
        with warnings.catch_warnings(), tifffile.TiffFile(path) as opened:
            warnings.simplefilter("ignore")
            opened.filehandle.seek(offset)
            pixels = tifffile.TiffPage(opened, index=0).asarray(out="memmap", squeeze=False, maxworkers=2)
    except Exception as exc:  # decoders of foreign files raise whatever they meet
        if isinstance(exc, ImportError | NotImplementedError) or "imagecodecs" in str(exc):
            raise PictureKindError(path, unknown_compression(facts)) from exc
        raise PictureDamagedError(path, f"damaged: its picture cannot be decoded ({exc}); try another copy") from exc
    image = _as_image(pixels, (facts.channels or 1) - (facts.extra_channels or 0), is_apart=APART in facts.notes)
    return image.invert() if facts.white_is_zero else image


def unknown_compression(facts: ScanFile) -> str:
    """Return why a file is refused whose compression no decoder here knows."""
    return f"compressed as {facts.compression}, which cannot be decoded here; save it as a TIFF without compression"


def _as_image(pixels: Any, own_channels: int, *, is_apart: bool) -> Any:
    """Return decoded pixels (in tifffile's order: planes, depth, rows, columns, samples) as an image."""
    height, width = pixels.shape[2:4]
    form = "ushort" if pixels.dtype == np.uint16 else "uchar"
    planes = [pixels[plane, 0, :, :, 0] for plane in range(own_channels)] if is_apart else [pixels[0, 0]]
    bands = 1 if is_apart else pixels.shape[4]
    images = [pyvips.Image.new_from_memory(memoryview(plane).cast("B"), width, height, bands, form) for plane in planes]
    joined = images[0].bandjoin(images[1:]) if len(images) > 1 else images[0]
    kind = ("rgb16", "grey16") if form == "ushort" else ("srgb", "b-w")
    return joined.copy(interpretation=kind[0] if own_channels >= 3 else kind[1])
