"""Index pictures of every kind of scan file: scaled, upright, positive. b02 and its like are known cases."""

from __future__ import annotations

import io
import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from catalog.errors import PictureDamagedError, PictureKindError
from catalog.imaging.index_pictures import render_index_picture
from tests.picture_files import LONG, SHORT, a_directory, a_header, written

LONG_SIDE = 300


def a_picture(height: int = 240, width: int = 320) -> np.ndarray:
    """Return 16 bits of RGB: a façade of tones, soft and hard edges, every corner different."""
    y, x = np.mgrid[0:height, 0:width].astype(np.float64)
    grey = 0.15 + 0.6 * x / width + 0.1 * np.sin(y / 9)
    grey[40:120, 60:140] = 0.9
    grey[150:220, 200:300] = 0.1
    rgb = np.stack([grey, grey * 0.9 + 0.03, grey * 0.8 + 0.08], axis=-1)
    rgb[:30, :30] = (0.9, 0.1, 0.1)
    return (rgb.clip(0, 1) * 65535).round().astype(np.uint16)


COLOUR = a_picture()
GREY = COLOUR[..., 1].copy()


def a_file(folder: Path, pixels: np.ndarray, name: str = "78-014.tif", **options: Any) -> Path:
    path = folder / name
    tifffile.imwrite(path, pixels, **options)
    return path


def shown(path: Path, **options: Any) -> np.ndarray:
    """Return an index picture as Pillow, another reader, sees it."""
    with Image.open(io.BytesIO(render_index_picture(path, long_side_px=LONG_SIDE, **options))) as picture:
        assert picture.mode == "RGB"
        assert picture.format == "JPEG"
        return np.asarray(picture).astype(int)


def difference(one: np.ndarray, other: np.ndarray) -> tuple[float, float]:
    """Return the difference of two pictures in levels of 255: the mean, and what 99 in 100 values keep below."""
    assert one.shape == other.shape
    return float(np.abs(one - other).mean()), float(np.percentile(np.abs(one - other), 99))


# -- one picture, every flavour ---------------------------------------------------------------------------

FLAVOURS: dict[str, dict[str, Any]] = {
    "one strip": {"rowsperstrip": 100_000},
    "strips of 3": {"rowsperstrip": 3},
    "tiles": {"tile": (64, 64)},
    "LZW": {"compression": "lzw"},
    "LZW, predictor": {"compression": "lzw", "predictor": True},
    "deflate": {"compression": "zlib", "predictor": True},
    "PackBits": {"compression": "packbits"},
    "BigTIFF": {"bigtiff": True},
    "big-endian": {"byteorder": ">"},
    "big-endian BigTIFF tiles": {"byteorder": ">", "bigtiff": True, "tile": (32, 48)},
}


@pytest.mark.parametrize("flavour", FLAVOURS)
@pytest.mark.parametrize("polarity", ["positive", "negative"])
def test_the_same_grey_picture_through_every_flavour_gives_the_same_index_picture(tmp_path, flavour, polarity):
    plain = shown(a_file(tmp_path, GREY), polarity=polarity)

    found = shown(a_file(tmp_path, GREY, "b.tif", **FLAVOURS[flavour]), polarity=polarity)

    assert np.array_equal(found, plain)


@pytest.mark.parametrize("flavour", [*FLAVOURS, "planes"])
@pytest.mark.parametrize("polarity", ["positive", "negative"])
def test_the_same_colour_picture_through_every_flavour_gives_the_same_index_picture(tmp_path, flavour, polarity):
    plain = shown(a_file(tmp_path, COLOUR, photometric="rgb"), polarity=polarity)

    if flavour == "planes":
        path = a_file(tmp_path, np.moveaxis(COLOUR, -1, 0), "b.tif", photometric="rgb", planarconfig="separate")
    else:
        path = a_file(tmp_path, COLOUR, "b.tif", photometric="rgb", **FLAVOURS[flavour])

    assert np.array_equal(shown(path, polarity=polarity), plain)


# From 16 bits to 8 a value is rounded once, by half a level at most; the JPEG of the index picture adds its own.
@pytest.mark.parametrize("suffix", [".tif", ".png"])
@pytest.mark.parametrize("pixels", [GREY, COLOUR], ids=["grey", "colour"])
def test_the_same_picture_in_8_bits_gives_nearly_the_same_index_picture(tmp_path, suffix, pixels):
    plain = shown(a_file(tmp_path, pixels), polarity="positive")
    eight = ((pixels.astype(np.uint32) * 255 + 32767) // 65535).astype(np.uint8)
    path = tmp_path / f"b{suffix}"
    Image.fromarray(eight).save(path)

    mean, most = difference(shown(path, polarity="positive"), plain)

    assert mean < 0.5
    assert most <= 3


def test_the_same_picture_as_a_png_of_16_bits_gives_the_same_index_picture(tmp_path):
    plain = shown(a_file(tmp_path, GREY), polarity="positive")
    Image.fromarray(GREY).save(tmp_path / "b.png")

    assert np.array_equal(shown(tmp_path / "b.png", polarity="positive"), plain)


# A JPEG of high quality differs from its original by a level or two; at edges of colour by more.
@pytest.mark.parametrize("name", ["b.jpg", "b.tif"])
def test_b07_the_same_picture_as_a_jpeg_or_a_jpeg_in_a_tiff_is_neither_pink_nor_green(tmp_path, name):
    plain = shown(a_file(tmp_path, COLOUR, photometric="rgb"), polarity="positive")
    eight = Image.fromarray((COLOUR >> 8).astype(np.uint8))
    if name == "b.jpg":
        eight.save(tmp_path / name, quality=97, subsampling=0)
    else:
        eight.save(tmp_path / name, compression="jpeg", quality=97)

    found = shown(tmp_path / name, polarity="positive")

    assert difference(found, plain)[0] < 1.5
    assert np.abs((found - plain).reshape(-1, 3).mean(axis=0)).max() < 1.0


def test_b07_an_old_style_jpeg_in_a_tiff_has_no_picture_and_says_so(tmp_path):
    stream = io.BytesIO()
    Image.fromarray((COLOUR >> 8).astype(np.uint8)).save(stream, "JPEG", quality=95, subsampling=0)
    jpeg, (height, width) = stream.getvalue(), COLOUR.shape[:2]
    # TIFF 6.0 §22: compression 6, the whole stream at JPEGInterchangeFormat (513), its length in 514.
    entries = [
        (256, LONG, [width]), (257, LONG, [height]), (258, SHORT, [8, 8, 8]), (259, SHORT, [6]), (262, SHORT, [6]),
        (273, LONG, [8]), (277, SHORT, [3]), (278, LONG, [height]), (279, LONG, [len(jpeg)]),
        (512, SHORT, [1]), (513, LONG, [8]), (514, LONG, [len(jpeg)]), (530, SHORT, [1, 1]),
    ]  # fmt: skip
    at = 8 + len(jpeg) + len(jpeg) % 2
    path = written(tmp_path / "proof.tif", (a_header(at) + jpeg).ljust(at, b"\0") + a_directory(entries, at=at))

    with pytest.raises(PictureKindError, match="cannot be decoded here"):
        render_index_picture(path, long_side_px=LONG_SIDE)


# -- the cases --------------------------------------------------------------------------------------------


def test_b01_a_16_bit_colour_scan_keeps_its_colours(tmp_path):
    path = a_file(tmp_path, COLOUR, photometric="rgb")
    before = (path.read_bytes(), path.stat().st_mtime_ns)

    found = shown(path, polarity="positive")

    red = found[3:20, 3:20].reshape(-1, 3).mean(axis=0)
    assert np.abs(red - np.array([0.9, 0.1, 0.1]) * 255).max() < 8
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


@pytest.mark.parametrize("polarity", [None, "positive"])
def test_b02_a_16_bit_ramp_is_scaled_and_not_clipped(tmp_path, polarity):
    ramp = np.tile(np.linspace(0, 65535, 256).astype(np.uint16), (64, 1))

    found = shown(a_file(tmp_path, ramp), polarity=polarity)[..., 1]

    assert found.shape == (64, 256)
    assert np.abs(found.mean(axis=0) - np.arange(256)).max() < 2.5
    assert (found.mean(axis=0) > 250).sum() <= 8


@pytest.mark.parametrize("polarity", ["positive", "negative"])
def test_b03_white_is_zero_looks_the_same_in_8_and_in_16_bits(tmp_path, polarity):
    eight = (GREY >> 8).astype(np.uint8)
    wide = eight.astype(np.uint16) * 257
    pictures = [
        shown(a_file(tmp_path, pixels, f"{name}.tif", photometric=photometric), polarity=polarity)
        for name, pixels, photometric in (
            ("a", eight, "minisblack"), ("b", 255 - eight, "miniswhite"),
            ("c", wide, "minisblack"), ("d", 65535 - wide, "miniswhite"),
        )
    ]  # fmt: skip

    assert all(difference(pictures[0], other)[1] <= 5 for other in pictures[1:])
    assert difference(pictures[0], 255 - pictures[0])[0] > 40, "the picture tells negative from positive"


def test_b04_a_bigtiff_is_shown(tmp_path):
    path = a_file(tmp_path, GREY, bigtiff=True)

    assert struct.unpack_from("<H", path.read_bytes(), 2) == (43,)
    assert shown(path).shape == (225, 300, 3)


def test_b05_the_picture_is_shown_and_not_the_preview_before_it(tmp_path):
    path = tmp_path / "78-014.tif"
    with tifffile.TiffWriter(path) as tiff:
        tiff.write(np.full((12, 15), 65535, np.uint16), subfiletype=1)
        tiff.write(GREY)

    assert np.array_equal(shown(path, polarity="positive"), shown(a_file(tmp_path, GREY, "b.tif"), polarity="positive"))


def test_b13_a_scan_larger_than_a_library_guard_is_shown(tmp_path):
    # 4x5 inches at 3200 ppi are 204.8 million pixels; Pillow's guard is at 178.96. Equal rows compress to little.
    path = a_file(
        tmp_path, np.broadcast_to(np.linspace(0, 255, 12800).astype(np.uint8), (16000, 12800)), compression="zlib",
        rowsperstrip=256,
    )  # fmt: skip

    found = shown(path, polarity="positive")

    assert found.shape == (300, 240, 3)
    assert found[150, :, 0].max() - found[150, :, 0].min() > 240


@pytest.mark.parametrize("pixels", [GREY, COLOUR], ids=["grey", "colour"])
def test_b14_a_channel_of_infrared_leaves_the_picture_what_it_is(tmp_path, pixels):
    infrared = np.full((*pixels.shape[:2], 1), 60000, np.uint16)
    photometric = "minisblack" if pixels.ndim == 2 else "rgb"
    with_it = np.concatenate([pixels.reshape(*pixels.shape[:2], -1), infrared], axis=-1)
    path = a_file(tmp_path, with_it, photometric=photometric, planarconfig="contig", extrasamples=[0])

    found = shown(path, polarity="positive")

    assert np.array_equal(found, shown(a_file(tmp_path, pixels, "b.tif"), polarity="positive"))


@pytest.mark.parametrize("share", [0.5, 0.97])
def test_b09_a_half_copied_scan_is_refused_by_name_and_not_half_black(tmp_path, share):
    path = a_file(tmp_path, GREY, rowsperstrip=16)
    content = path.read_bytes()
    written(path, content[: int(len(content) * share)])

    with pytest.raises(PictureDamagedError, match="damaged"):
        render_index_picture(path, long_side_px=LONG_SIDE)


def test_a_strip_that_decayed_is_refused_by_name(tmp_path):
    path = a_file(tmp_path, GREY, compression="zlib", rowsperstrip=16)
    content = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as tiff:
        start = tiff.pages[0].dataoffsets[7]
    content[start + 20 : start + 40] = bytes(20)
    written(path, bytes(content))

    with pytest.raises(PictureDamagedError, match="damaged"):
        render_index_picture(path, long_side_px=LONG_SIDE)


# -- turning ----------------------------------------------------------------------------------------------


# TIFF 6.0, tag 274: what the row and the column that lie first in the file are of the picture. 1 top left,
# 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left bottom.
_LAID = {
    1: lambda a: a, 2: lambda a: a[:, ::-1], 3: lambda a: a[::-1, ::-1], 4: lambda a: a[::-1],
    5: lambda a: a.T, 6: lambda a: np.rot90(a), 7: lambda a: np.rot90(a, 2).T, 8: lambda a: np.rot90(a, -1),
}  # fmt: skip


@pytest.mark.parametrize("polarity", ["positive", "negative"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_an_orientation_tag_is_followed_once(tmp_path, orientation, polarity):
    lying = np.ascontiguousarray(_LAID[orientation](GREY))
    path = a_file(tmp_path, lying, extratags=[(274, 3, 1, orientation, True)])

    mean, _ = difference(shown(path, polarity=polarity), shown(a_file(tmp_path, GREY, "b.tif"), polarity=polarity))

    assert mean < 1.5  # the small copy averages other squares where a side is no whole number of them


@pytest.mark.parametrize("polarity", ["positive", "negative"])
@pytest.mark.parametrize("orientation", [1, 6])
def test_j16_a_scan_said_to_be_reversed_is_shown_mirrored(tmp_path, polarity, orientation):
    tag = [(274, 3, 1, orientation, True)]
    reversed_scan = a_file(tmp_path, np.ascontiguousarray(_LAID[orientation](GREY[:, ::-1])), extratags=tag)
    right = a_file(tmp_path, np.ascontiguousarray(_LAID[orientation](GREY)), "b.tif", extratags=tag)

    found = shown(reversed_scan, polarity=polarity, is_reversed=True)

    assert difference(found, shown(right, polarity=polarity, is_reversed=False))[0] < 1.5


def test_a_small_scan_is_not_enlarged(tmp_path):
    assert shown(a_file(tmp_path, GREY[:40, :50])).shape == (40, 50, 3)


def test_tone_steps_of_a_version_are_followed(tmp_path):
    steps = '[{"kind": "crop", "left": 0, "top": 0, "width": 160, "height": 120}]'

    assert shown(a_file(tmp_path, GREY), steps=steps).shape == (120, 160, 3)


def test_a_profile_of_srgb_is_in_every_index_picture(tmp_path):
    data = render_index_picture(a_file(tmp_path, GREY), long_side_px=LONG_SIDE)

    with Image.open(io.BytesIO(data)) as picture:
        assert b"sRGB" in picture.info["icc_profile"]
