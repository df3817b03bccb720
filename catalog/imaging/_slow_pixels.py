"""
Decode the few TIFF flavours that the engine reads wrongly or not at all, with the library tifffile.

It decodes the page whole, into a passing file that goes with the last reader, so memory stays small here too.
Which compressions it knows depends on what is installed beside it; the rest are refused in words.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any, Final

import pyvips  # type: ignore[import-untyped]

from catalog.errors import PictureDamagedError, PictureKindError
from catalog.imaging.scan_file import ScanFile

NOT_BY_ENGINE: Final = frozenset(("Zstandard", "LZMA", "JPEG 2000", "JPEG XL"))
APART: Final = "channels stored one after the other"
_COLOURS: Final = frozenset(("grey", "RGB", "linear raw", "CMYK"))
"""Colours whose values need no turning into others when they are decoded."""
MAX_STRIP_BYTES: Final = 16 << 20
"""Of channels stored apart the engine holds a strip or tile of each at once: larger ones are decoded here."""


def is_slow(facts: ScanFile, *, rows_per_strip: int) -> bool:
    """Return True for a flavour that is decoded here."""
    if facts.compression in NOT_BY_ENGINE:
        return True
    if APART not in facts.notes:
        return False
    # The engine takes the strips of grey and of infrared for one picture, and knows no tiles of single channels.
    is_grey = (facts.channels or 1) - (facts.extra_channels or 0) == 1
    rows = min(rows_per_strip, facts.height or 0)
    strip_bytes = rows * (facts.width or 0) * (facts.bits or 8) // 8
    return facts.layout == "tiles" or (is_grey and bool(facts.extra_channels)) or strip_bytes > MAX_STRIP_BYTES


def decoded_slowly(path: Path, facts: ScanFile, *, offset: int) -> Any:
    """
    Return a page's own channels, decoded; ``offset`` is that of its directory. White is 0 stays as it is stored.

    Raises:
        PictureKindError: its compression is not known here, or its colours are not in such a file.
        PictureDamagedError: it cannot be decoded.
    """
    import tifffile

    if facts.colour not in _COLOURS:
        raise PictureKindError(
            path, f"its colours ({facts.colour}) cannot be read from a file of this layout; save it as a TIFF of RGB"
        )

    try:
        with warnings.catch_warnings(), tifffile.TiffFile(path) as opened:
            warnings.simplefilter("ignore")
            opened.filehandle.seek(offset)
            # One strip at a time: a channel may be all one strip.
            pixels = tifffile.TiffPage(opened, index=0).asarray(out="memmap", squeeze=False, maxworkers=1)
    except Exception as exc:  # decoders of foreign files raise whatever they meet
        if isinstance(exc, ImportError | NotImplementedError) or "imagecodecs" in str(exc):
            raise PictureKindError(path, unknown_compression(facts)) from exc
        raise PictureDamagedError(path, f"damaged: its picture cannot be decoded ({exc}); try another copy") from exc
    own_channels = (facts.channels or 1) - (facts.extra_channels or 0)
    image = _as_image(pixels, own_channels, is_apart=APART in facts.notes)
    if facts.colour == "CMYK":
        return image.copy(interpretation="cmyk")
    return image.invert() if facts.white_is_zero else image


def unknown_compression(facts: ScanFile) -> str:
    """Return why a file is refused whose compression no decoder here knows."""
    return f"compressed as {facts.compression}, which cannot be decoded here; save it as a TIFF without compression"


def _as_image(pixels: Any, own_channels: int, *, is_apart: bool) -> Any:
    """Return decoded pixels (in tifffile's order: planes, depth, rows, columns, samples) as an image."""
    height, width = pixels.shape[2:4]
    form = "ushort" if pixels.dtype.itemsize == 2 else "uchar"
    planes = [pixels[plane, 0, :, :, 0] for plane in range(own_channels)] if is_apart else [pixels[0, 0]]
    bands = 1 if is_apart else pixels.shape[4]
    images = [pyvips.Image.new_from_memory(memoryview(plane).cast("B"), width, height, bands, form) for plane in planes]
    if not pixels.dtype.isnative:  # pixels without compression are those of the file, in the order of its bytes
        images = [image.byteswap() for image in images]
    joined = images[0].bandjoin(images[1:]) if len(images) > 1 else images[0]
    kind = ("rgb16", "grey16") if form == "ushort" else ("srgb", "b-w")
    return joined.copy(interpretation=kind[0] if own_channels >= 3 else kind[1])
