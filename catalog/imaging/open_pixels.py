"""
Open a scan's pixels for reading, as grey or RGB of 8 or 16 bits, whatever flavour of file they are in.

Pixels come as a stream from the top row down, in bounded memory. Only the loaders for TIFF, JPEG and PNG are
let in, each chosen by the file's content; a file whose pixels are not all there ends in a named refusal when
they are asked for, never in a picture that is black from the middle down: ask within ``guarded``.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import pyvips  # type: ignore[import-untyped]

from catalog.errors import FileFormatError, PictureDamagedError, PictureError, PictureKindError
from catalog.imaging._slow_pixels import decoded_slowly, is_slow
from catalog.imaging._tiff_pages import MOSAIC, Page, main_page, pages_of
from catalog.imaging._tiff_scans import read_tiff_scan
from catalog.imaging.scan_file import ScanFile
from catalog.imaging.scan_files import read_scan_file
from catalog.standards.tiff import MAX_SUB_DIRECTORIES, TiffReader, is_tiff

MAX_PIXELS: Final = 4_000_000_000
"""More than any sheet: 11 x 14 inches at 4800 ppi are 3.5 thousand million."""
MAX_WHOLE_PIXELS: Final = 200_000_000
"""A file that can only be decoded as a whole (an interlaced PNG, a progressive JPEG) is held in memory."""
_LOSS_WORDS: Final = ("tiff2vips: ", "premature end", "bad huffman code", "bad arithmetic code", "instead of rst")
"""Words by which the decoders tell of lost pixels. That of JPEG has others, of bytes too many, which lose none."""
_LOADERS: Final = ("VipsForeignLoadTiff", "VipsForeignLoadJpeg", "VipsForeignLoadPng")
_OTHERWISE: Final = "save it as a TIFF of grey or RGB, 8 or 16 bits"
_JPEGS: Final = ("JPEG", "JPEG (old style)", "JPEG (lossy DNG)")
_SUB_IFDS: Final = 330  # TIFF Technical Note 1: the directories below one
_NOT_COLOUR: Final = ("multiband", "b-w", "grey16", "histogram")
# Words of the decoders that speak of the kind of a file, not of its state.
_KIND_WORDS: Final = (
    "not configured",
    "not implemented",
    "unsupported",
    "not supported",
    "unknown compression",
    "whole number of bytes",
)


@dataclass(frozen=True, slots=True)
class OpenPicture:
    """
    A scan's picture, ready to be read: grey (1 band) or RGB (3), 8 or 16 bits, black is 0 in all of them.

    ``image`` reads the file when pixels are asked of it, once and downwards if it was opened ``sequential``.
    ``facts`` are what the file's tables say (without digests for a TIFF); nothing is turned yet.
    """

    path: Path
    image: Any
    facts: ScanFile
    profile: bytes | None = None

    @property
    def width(self) -> int:
        """Return its pixels across, as they lie in the file."""
        return int(self.image.width)

    @property
    def height(self) -> int:
        """Return its pixels down, as they lie in the file."""
        return int(self.image.height)

    @property
    def bits(self) -> int:
        """Return the bits of one sample: 8 or 16."""
        return 8 if self.image.format == "uchar" else 16

    @property
    def channels(self) -> int:
        """Return 1 for grey, 3 for RGB."""
        return int(self.image.bands)

    @property
    def orientation(self) -> int:
        """Return how it is to be turned, as TIFF 6.0 numbers it; 1 where the file does not say."""
        return self.facts.orientation or 1


def open_picture(path: Path, *, sequential: bool = True) -> OpenPicture:
    """
    Open the picture of a scan file: the main page of a TIFF, the first channels if there are more than its colour.

    With ``sequential`` its rows can be read once, downwards, in little memory; without, anywhere and more than
    once, in as much memory as the decoded picture takes.

    Raises:
        PictureDamagedError: the file is empty, cut short or otherwise not as it was written.
        PictureKindError: it is a picture this program can register but not decode.
        PictureError: it cannot be read, is no picture, or is too large.
    """
    _hold_engine()
    try:
        with path.open("rb", buffering=0) as raw:
            first_bytes = raw.read(16) or b""
            if is_tiff(first_bytes):
                return _open_tiff(path, raw, sequential=sequential)
        facts = read_scan_file(path)
    except FileFormatError as exc:
        raise PictureError(path, exc.reason) from exc
    except OSError as exc:
        raise PictureError(path, f"cannot be read ({exc.strerror or exc}); try another copy") from exc
    return _open_other(path, facts, sequential=sequential)


@contextmanager
def guarded(path: Path) -> Iterator[None]:
    """
    Turn what goes wrong while a picture's pixels are read into a refusal that names the file.

    Reading them is the last thing that is asked of the engine within: another file opened there would make it forget.

    Raises:
        PictureDamagedError: its pixels cannot all be decoded.
        PictureKindError: this program cannot decode its kind.
    """
    pyvips.vips_lib.vips_error_clear()
    with _opening(path):
        yield
    # A tile it cannot decode, or the rest of a JPEG that breaks off, the engine leaves black, says so, and goes on.
    said = pyvips.ffi.string(pyvips.vips_lib.vips_error_buffer()).decode("utf-8", "replace")
    if any(word in said.lower() for word in _LOSS_WORDS):
        raise _refusal(path, said)


@contextmanager
def _opening(path: Path) -> Iterator[None]:
    """As ``guarded``, for a file's tables alone: there the engine complains of things that do no harm."""
    try:
        yield
    except pyvips.Error as exc:
        raise _refusal(path, str(exc.detail or exc.message)) from exc


def _refusal(path: Path, words: str) -> PictureError:
    # The engine's words pile up: the last are of what has just failed.
    said = [line.strip() for line in words.splitlines() if line.strip()]
    reason = said[-1].split(": ", 1)[-1] if said else "no reason is given"
    # "Unknown compression method" is what deflate says of bytes that are not its own.
    if any(word in reason.lower().replace("compression method", "") for word in _KIND_WORDS):
        return PictureKindError(
            path, f"its pixels cannot be decoded here ({reason}); save it as a TIFF without compression"
        )
    return PictureDamagedError(path, f"damaged: its picture cannot be read to the end ({reason}); try another copy")


@lru_cache(maxsize=1)
def _hold_engine() -> None:
    """Let the engine read strangers' files with three loaders only, and keep nothing of what it read."""
    pyvips.cache_set_max(0)
    pyvips.block_untrusted_set(True)
    pyvips.operation_block_set("VipsForeignLoad", True)
    for loader in _LOADERS:
        pyvips.operation_block_set(loader, False)


def _open_tiff(path: Path, raw: Any, *, sequential: bool) -> OpenPicture:
    reader = TiffReader(raw, os.fstat(raw.fileno()).st_size)
    facts = read_tiff_scan(reader).facts
    _refuse_damaged(path, facts)
    pages = pages_of(reader)
    main = main_page(pages)
    if main.photometric == MOSAIC:
        raise PictureKindError(path, "a mosaic of the sensor, not a picture; make a linear DNG or a TIFF of it")
    _refuse_size(path, main.width, main.height)
    if facts.sample_format != "unsigned integer" or (facts.bits or 1) > 16:
        raise PictureKindError(path, f"its values are {facts.sample_format} of {facts.bits} bits; {_OTHERWISE}")
    # Of YCbCr the engine makes RGB only where it takes it out of a JPEG: else a picture would come out pink and green.
    colour = facts.colour or "unknown"
    is_bare_ycbcr = colour == "YCbCr" and facts.compression not in _JPEGS
    if is_bare_ycbcr or colour == "Lab" or colour.startswith("unknown") or colour.endswith("inks"):
        raise PictureKindError(path, f"its colours are {colour}; {_OTHERWISE}")
    profile = reader.raw(main.directory, 34675, at_most=8 << 20) or None
    if is_slow(facts, rows_per_strip=reader.integer(main.directory, 278) or main.height):
        image = decoded_slowly(path, facts, offset=main.directory.offset)
    else:
        image = _load(path, "tiffload_source", sequential=sequential, **_place(path, reader, main), unlimited=True)
    return _as_picture(path, image, facts, profile, (main.width, main.height))


def _place(path: Path, reader: TiffReader, page: Page) -> dict[str, int]:
    """Return where the decoder finds a page: its place in the chain, or among its parent's SubIFDs."""
    chain = [directory for directory in reader.directories if directory.parent is None]
    offsets = [directory.offset for directory in chain]
    if page.directory.parent is None:
        return {"page": offsets.index(page.directory.offset)}
    parent = next((one for one in chain if one.offset == page.directory.parent), None)
    below = [] if parent is None else list(reader.integers(parent, _SUB_IFDS, at_most=MAX_SUB_DIRECTORIES))
    if parent is None or page.directory.offset not in below:
        raise PictureKindError(path, f"its picture lies deeper in its tables than can be decoded here; {_OTHERWISE}")
    return {"page": offsets.index(parent.offset), "subifd": below.index(page.directory.offset)}


def _open_other(path: Path, facts: ScanFile, *, sequential: bool) -> OpenPicture:
    _refuse_damaged(path, facts)
    _refuse_size(path, facts.width or 0, facts.height or 0)
    is_whole = "interlaced" in facts.notes or "progressive" in (facts.compression or "")
    if is_whole and (facts.width or 0) * (facts.height or 0) > MAX_WHOLE_PIXELS:
        raise PictureError(path, "too large to be decoded as a whole, as its kind asks; save it as a TIFF")
    loader = "jpegload_source" if facts.kind == "JPEG" else "pngload_source"
    image = _load(path, loader, sequential=sequential, unlimited=True)
    with _opening(path):
        profile = bytes(image.get("icc-profile-data")) if image.get_typeof("icc-profile-data") else None
    return _as_picture(path, image, facts, profile, (facts.width, facts.height))


def _load(path: Path, loader: str, *, sequential: bool, **options: Any) -> Any:
    access = "sequential" if sequential else "random"
    with _opening(path), path.open("rb", buffering=0) as raw:
        # The source keeps a handle of its own, which was opened for reading only.
        source = pyvips.Source.new_from_descriptor(raw.fileno())
        return getattr(pyvips.Image, loader)(source, access=access, fail_on="error", **options)


def _as_picture(path: Path, image: Any, facts: ScanFile, profile: bytes | None, size: tuple[Any, Any]) -> OpenPicture:
    if (image.width, image.height) != size:
        raise PictureDamagedError(path, f"damaged: its tables say {size[0]}x{size[1]}, its picture has other sides")
    if image.format not in ("uchar", "ushort"):
        raise PictureKindError(path, f"its values are of kind {image.format}; {_OTHERWISE}")
    with _opening(path):
        shown = _grey_or_rgb(image, own_channels=(facts.channels or 1) - (facts.extra_channels or 0))
    return OpenPicture(path, shown, replace(facts, damage=None), profile)


def _grey_or_rgb(image: Any, *, own_channels: int) -> Any:
    """Return one band or three: extra channels are left out, inks turned into RGB."""
    if image.interpretation == "cmyk":
        image = image.colourspace("rgb16" if image.format == "ushort" else "srgb")
    elif image.interpretation in _NOT_COLOUR and own_channels < 3:
        return image if image.bands == 1 else image.extract_band(0)
    if image.bands < 3:
        return image if image.bands == 1 else image.extract_band(0)
    image = image if image.bands == 3 else image.extract_band(0, n=3)
    return image.copy(interpretation="rgb16" if image.format == "ushort" else "srgb")


def _refuse_damaged(path: Path, facts: ScanFile) -> None:
    if facts.damage:
        raise PictureDamagedError(path, facts.damage)


def _refuse_size(path: Path, width: int, height: int) -> None:
    if not 0 < width * height <= MAX_PIXELS:
        raise PictureError(path, f"{width}x{height} pixels are more than any sheet of film has; nothing was read")
