"""Pixels of every flavour of file that is registered: the same picture, or a refusal in words."""

from __future__ import annotations

import io
import random
import struct
import time

import numpy as np
import pytest
import tifffile
from PIL import Image

from catalog.errors import PictureDamagedError, PictureError, PictureKindError
from catalog.imaging.open_pixels import guarded, open_picture
from catalog.imaging.positives import small_picture
from tests.imaging.test_fuzz_scan_files import mutated, seeds
from tests.picture_files import LONG, SHORT, a_directory, a_header, a_tiff, written
from tests.reference_samples import PICTURES, sample

GREY = np.linspace(0, 65_535, 64 * 80).astype(np.uint16).reshape(64, 80)
COLOUR = np.dstack([GREY, GREY[::-1], GREY[:, ::-1]]).copy()
EIGHT = (GREY >> 8).astype(np.uint8)
EIGHT_COLOUR = (COLOUR >> 8).astype(np.uint8)


def pixels_of(path, **options):
    picture = open_picture(path, **options)
    with guarded(path):
        return picture.image.numpy()


def a_scan(folder, pixels, **options):
    path = folder / "78-014.tif"
    tifffile.imwrite(path, pixels, **options)
    return path


# -- one picture, many flavours ------------------------------------------------------------------------------

GREY_FLAVOURS = {
    "strips": {}, "one strip": {"rowsperstrip": 64}, "tiles": {"tile": (16, 16)}, "big-endian": {"byteorder": ">"},
    "BigTIFF": {"bigtiff": True}, "LZW": {"compression": "lzw"},
    "LZW, differences": {"compression": "lzw", "predictor": True},
    "deflate": {"compression": "zlib"}, "PackBits": {"compression": "packbits"},
    "Zstandard": {"compression": "zstd"}, "LZMA": {"compression": "lzma"}, "JPEG 2000": {"compression": "jpeg2000"},
}  # fmt: skip


@pytest.mark.parametrize("flavour", GREY_FLAVOURS)
def test_a_grey_picture_is_the_same_in_every_flavour(tmp_path, flavour):
    assert (pixels_of(a_scan(tmp_path, GREY, **GREY_FLAVOURS[flavour])) == GREY).all()


@pytest.mark.parametrize(
    "options",
    [{}, {"compression": "lzw"}, {"tile": (16, 16)}, {"compression": "zlib", "predictor": True}, {"bigtiff": True}],
    ids=str,
)
@pytest.mark.parametrize("is_apart", [False, True])
def test_a_colour_picture_is_the_same_in_every_flavour(tmp_path, options, is_apart):
    pixels = np.moveaxis(COLOUR, 2, 0) if is_apart else COLOUR
    layout = {"planarconfig": "separate" if is_apart else "contig"}

    found = pixels_of(a_scan(tmp_path, pixels, photometric="rgb", **layout, **options))

    assert (found == COLOUR).all()


def test_b01_a_colour_scan_of_16_bits_keeps_them(tmp_path):
    path = a_scan(tmp_path, COLOUR, photometric="rgb")
    before = path.read_bytes(), path.stat().st_mtime_ns

    picture = open_picture(path)

    assert (picture.bits, picture.channels) == (16, 3)
    assert (pixels_of(path) == COLOUR).all()
    assert small_picture(path, 80).shape == (64, 80, 3)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_b02_a_small_picture_of_16_bits_is_scaled_and_not_clipped(tmp_path):
    small = small_picture(a_scan(tmp_path, GREY), 80)

    assert (small == np.rint(GREY / 257)).all()
    assert (small == 255).mean() < 0.01


@pytest.mark.parametrize("options", [{}, {"compression": "lzw"}, {"tile": (16, 16)}], ids=str)
def test_b03_white_is_zero_means_the_same_in_8_and_in_16_bits(tmp_path, options):
    deep = small_picture(a_scan(tmp_path, GREY, photometric="miniswhite", **options), 80)
    flat = small_picture(a_scan(tmp_path, EIGHT, photometric="miniswhite", **options), 80)

    assert (np.abs(deep.astype(int) - flat) <= 1).all()
    assert deep[0, 0] == flat[0, 0] == 255


def test_b04_a_bigtiff_opens_like_any_other(tmp_path):
    assert pixels_of(sample("BigTIFF.tif")).shape == (64, 64, 3)
    assert (pixels_of(a_scan(tmp_path, GREY, bigtiff=True)) == GREY).all()


@pytest.mark.parametrize("is_flagged", [False, True])
def test_b05_the_picture_is_shown_and_not_its_preview(tmp_path, is_flagged):
    path = tmp_path / "78-014.tif"
    with tifffile.TiffWriter(path) as out:
        out.write(EIGHT[:12, :15], subfiletype=int(is_flagged), metadata=None)
        out.write(COLOUR, photometric="rgb", metadata=None)

    assert (pixels_of(path) == COLOUR).all()


def test_b05_the_picture_may_lie_below_its_preview(tmp_path):
    path = tmp_path / "78-014.dng"
    with tifffile.TiffWriter(path) as out:
        dng = [(50706, "B", 4, (1, 4, 0, 0), True)]
        out.write(EIGHT_COLOUR[:12, :15], photometric="rgb", subfiletype=1, subifds=2, extratags=dng, metadata=None)
        out.write(EIGHT_COLOUR[:30, :40], photometric="rgb", subfiletype=1, metadata=None)
        out.write(COLOUR, photometric=34892, metadata=None)

    picture = open_picture(path)

    assert (picture.facts.kind, picture.facts.colour) == ("DNG", "linear raw")
    assert (pixels_of(path) == COLOUR).all()


def test_a_mosaic_is_no_picture_and_says_so(tmp_path):
    path = a_scan(tmp_path, GREY, photometric="cfa")

    with pytest.raises(PictureKindError, match="a mosaic of the sensor"):
        open_picture(path)


@pytest.mark.parametrize("subsampling", [(1, 1), (2, 2)])
def test_b07_a_jpeg_in_a_tiff_is_neither_pink_nor_green(tmp_path, subsampling):
    # Smooth colours: what the compression loses is small, what wrong channels lose is not.
    smooth = np.dstack([np.tile(np.linspace(40, 200, 80), (64, 1)), np.full((64, 80), 120), np.full((64, 80), 60)])
    smooth = smooth.astype(np.uint8)

    path = a_scan(tmp_path, smooth, photometric="rgb", compression="jpeg", subsampling=subsampling)
    found = small_picture(path, 80)

    assert open_picture(path).facts.colour == "YCbCr"
    assert np.abs(found.astype(int) - smooth).max() < 8


def test_b07_an_old_style_jpeg_is_shown_right_or_refused(tmp_path):
    smooth = np.dstack([np.tile(np.linspace(40, 200, 80), (64, 1)), np.full((64, 80), 120), np.full((64, 80), 60)])
    smooth = smooth.astype(np.uint8)
    stream = io.BytesIO()
    Image.fromarray(smooth).save(stream, "JPEG", quality=95, subsampling=0)
    jpeg = stream.getvalue()
    path = written(
        tmp_path / "78-014.tif",
        a_tiff(
            [(258, SHORT, [8, 8, 8]), (259, SHORT, [6]), (262, SHORT, [6]), (277, SHORT, [3]), (530, SHORT, [1, 1]),
             (512, SHORT, [1]), (513, 4, [8]), (514, 4, [len(jpeg)])],
            width=80, height=64, picture=jpeg,
        ),
    )  # fmt: skip

    try:
        found = small_picture(path, 80)
    except PictureError as refused:
        assert str(refused).startswith("78-014.tif: ")  # noqa: PT017  either end is right; a wrong picture is not
    else:
        assert np.abs(found.astype(int) - smooth).max() < 8


@pytest.mark.parametrize(
    "options",
    [{}, {"compression": "lzw"}, {"tile": (16, 16)}, {"byteorder": ">"}, {"byteorder": ">", "tile": (16, 16)}],
    ids=str,
)
@pytest.mark.parametrize("is_apart", [False, True])
def test_b14_of_grey_and_infrared_the_grey_is_shown(tmp_path, options, is_apart):
    infrared = np.full_like(GREY, 9)
    pixels = np.stack([GREY, infrared]) if is_apart else np.dstack([GREY, infrared])
    layout = {"planarconfig": "separate" if is_apart else "contig"}

    path = a_scan(tmp_path, pixels, photometric="minisblack", extrasamples=[0], **layout, **options)

    facts = open_picture(path).facts
    assert (facts.colour, facts.extra_channels) == ("grey", 1)
    assert (pixels_of(path) == GREY).all()


def test_of_colour_and_infrared_the_colour_is_shown(tmp_path):
    path = a_scan(tmp_path, np.dstack([COLOUR, GREY]), photometric="rgb", extrasamples=[0])

    assert (pixels_of(path) == COLOUR).all()


def test_b15_a_picture_without_a_profile_says_so_and_one_with_it_keeps_it(tmp_path):
    from catalog.imaging.icc_profiles import icc_profile

    without = open_picture(a_scan(tmp_path, GREY, compression="lzw"))
    carrying = a_scan(tmp_path, GREY, compression="lzw", iccprofile=icc_profile("grey gamma 2.2"))

    assert (without.profile, without.facts.profile) == (None, None)
    assert open_picture(carrying).profile == icc_profile("grey gamma 2.2")


def test_inks_become_colours(tmp_path):
    inks = np.zeros((8, 8, 4), np.uint8)
    inks[:, :4, 1:3] = 255  # magenta and yellow: red

    found = pixels_of(a_scan(tmp_path, inks, photometric="separated"))

    assert (found[:, 4:] > 240).all()
    assert (found[:, :4, 0] > 180).all()
    assert (found[:, :4, 1:] < 80).all()


@pytest.mark.parametrize("deep", [np.uint8, np.uint16])
def test_inks_become_the_same_colours_in_every_flavour(tmp_path, deep):
    top = np.iinfo(deep).max
    inks = np.zeros((64, 80, 4), deep)
    inks[..., 0], inks[..., 1], inks[..., 3] = np.linspace(0, top, 80).astype(deep), top // 4, top // 10
    apart = np.moveaxis(inks, 2, 0)

    plain = pixels_of(a_scan(tmp_path, inks, photometric="separated"))
    lzma = pixels_of(a_scan(tmp_path, inks, photometric="separated", compression="lzma"))
    tiles = pixels_of(a_scan(tmp_path, apart, photometric="separated", planarconfig="separate", tile=(16, 16)))

    assert (lzma == plain).all()
    assert (tiles == plain).all()


PALETTE = np.stack([np.arange(256) * 257, np.arange(256)[::-1] * 257, np.full(256, 257 * 7)]).astype(np.uint16)


def test_a_palette_gives_its_colours(tmp_path):
    found = pixels_of(a_scan(tmp_path, EIGHT, photometric="palette", colormap=PALETTE))

    assert (found[..., 0] == EIGHT).all()
    assert (found[..., 1] == 255 - EIGHT).all()


@pytest.mark.parametrize(
    ("pixels", "options"),
    [
        (EIGHT, {"photometric": "palette", "colormap": PALETTE, "compression": "lzma"}),
        (EIGHT_COLOUR, {"photometric": "ycbcr"}),
        (EIGHT_COLOUR, {"photometric": "ycbcr", "compression": "jpeg2000"}),
        (np.moveaxis(EIGHT_COLOUR, 2, 0), {"photometric": "ycbcr", "planarconfig": "separate", "tile": (16, 16)}),
    ],
)
def test_b07_colours_that_would_come_out_wrong_are_refused_in_words(tmp_path, pixels, options):
    with pytest.raises(PictureKindError, match=r"its colours.*save it as a TIFF"):
        open_picture(a_scan(tmp_path, pixels, **options))


@pytest.mark.parametrize("compression", [None, "zlib"])
@pytest.mark.parametrize("byteorder", ["<", ">"])
def test_channels_apart_in_large_strips_do_not_go_to_the_engine_which_would_hold_all(
    tmp_path, monkeypatch, compression, byteorder
):
    monkeypatch.setattr("catalog.imaging._slow_pixels.MAX_STRIP_BYTES", 64 * 80 * 2 - 1)
    monkeypatch.setattr("catalog.imaging.open_pixels._load", lambda *_, **__: pytest.fail("the engine was asked"))
    layout = {"planarconfig": "separate", "rowsperstrip": 64, "byteorder": byteorder, "compression": compression}

    path = a_scan(tmp_path, np.moveaxis(COLOUR, 2, 0), photometric="rgb", **layout)

    assert (pixels_of(path) == COLOUR).all()


def test_a_picture_too_deep_in_its_tables_is_refused_in_words(tmp_path):
    small = [(254, LONG, [1]), (256, LONG, [4]), (257, LONG, [4])]
    first, second, third = 8, 200, 400
    head = a_header(first) + a_directory([*small, (330, LONG, [second])], at=first)
    between = a_directory([*small, (330, LONG, [third])], at=second)
    content = head.ljust(second, b"\0") + between
    usual = [(258, SHORT, [8]), (259, SHORT, [1]), (262, SHORT, [1]), (277, SHORT, [1]), (278, LONG, [50])]
    sides = [(256, LONG, [50]), (257, LONG, [50]), (273, LONG, [800]), (279, LONG, [2500])]
    content = content.ljust(third, b"\0") + a_directory([*usual, *sides], at=third)
    path = written(tmp_path / "78-014.tif", content.ljust(800, b"\0") + bytes(2500))

    with pytest.raises(PictureKindError, match="deeper in its tables"):
        open_picture(path)


@pytest.mark.parametrize("shape", [(1, 1), (1, 20_000), (20_000, 3), (5, 3, 3)])
def test_a_strip_of_hardly_any_pixels_is_a_picture_too(tmp_path, shape):
    path = a_scan(tmp_path, np.full(shape, 30_000, np.uint16), photometric="rgb" if len(shape) == 3 else "minisblack")

    small = small_picture(path, 400)

    assert max(small.shape[:2]) == min(max(shape[:2]), 400)
    assert (small == 117).all()


@pytest.mark.parametrize(
    ("pixels", "options", "says"),
    [
        (GREY.astype(np.float32), {}, "floating point"),
        (GREY.astype(np.uint32), {}, "32 bits"),
        (GREY.astype(np.int16), {}, "signed"),
        (EIGHT_COLOUR, {"photometric": "cielab"}, "Lab"),
        (np.dstack([EIGHT] * 5), {"photometric": "separated", "extratags": [(334, "H", 1, 5, True)]}, "5 inks"),
    ],
)
def test_a_kind_that_cannot_be_shown_is_refused_in_words(tmp_path, pixels, options, says):
    with pytest.raises(PictureKindError, match=says) as refused:
        open_picture(a_scan(tmp_path, pixels, **options))

    assert "save it as a TIFF" in str(refused.value)


@pytest.mark.parametrize("name", PICTURES)
def test_every_reference_picture_opens_with_the_sides_its_table_says(name):
    picture = open_picture(sample(name))

    with Image.open(sample(name)) as theirs:
        assert (picture.width, picture.height) == theirs.size
        if picture.bits == 8 and theirs.mode in ("L", "RGB"):
            # Another decoder of JPEG may round otherwise, by a little.
            apart = pixels_of(sample(name)).astype(int) - np.asarray(theirs).astype(int)
            assert np.abs(apart).max() <= 4


def test_a_picture_opened_for_any_place_can_be_read_twice(tmp_path):
    path = a_scan(tmp_path, GREY)
    picture = open_picture(path, sequential=False)

    assert (picture.image.crop(0, 32, 80, 32).numpy() == GREY[32:]).all()
    assert (picture.image.crop(0, 0, 80, 32).numpy() == GREY[:32]).all()


# -- damage ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["none", "lzw", "zlib", "tiles"])
def test_b09_a_half_copied_scan_is_refused_and_not_half_black(tmp_path, kind):
    options = {"tile": (16, 16)} if kind == "tiles" else {"compression": None if kind == "none" else kind}
    path = a_scan(tmp_path, np.random.default_rng(7).integers(0, 65_535, (64, 80)).astype(np.uint16), **options)
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2])

    with pytest.raises(PictureDamagedError, match=r"^78-014\.tif: damaged: shorter than its own table says"):
        small_picture(path, 80)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_b09_a_half_copied_jpeg_or_png_is_refused(tmp_path, kind):
    out = io.BytesIO()
    Image.effect_noise((200, 150), 50).save(out, kind)
    path = written(tmp_path / f"78-014.{kind.lower()}", out.getvalue()[: len(out.getvalue()) // 2])

    with pytest.raises(PictureDamagedError, match="damaged"):
        small_picture(path, 80)


def test_b09_strips_whose_bytes_were_lost_are_refused_though_the_file_is_long_enough(tmp_path):
    noise = np.random.default_rng(7).integers(0, 65_535, (64, 80)).astype(np.uint16)
    path = a_scan(tmp_path, noise, compression="lzw", rowsperstrip=16)
    with tifffile.TiffFile(path) as opened:
        start, length = opened.pages[0].dataoffsets[2], opened.pages[0].databytecounts[2]
    content = bytearray(path.read_bytes())
    content[start : start + length] = bytes(length)
    path.write_bytes(content)

    with pytest.raises(PictureDamagedError, match="cannot be read to the end"):
        small_picture(path, 80)


@pytest.mark.parametrize("compression", ["lzw", "zlib", "packbits", "lzma"])
@pytest.mark.parametrize("lost", ["all", "half"])
def test_b09_a_tile_that_decayed_is_refused_and_not_black(tmp_path, compression, lost):
    noise = np.random.default_rng(7).integers(0, 65_535, (64, 80)).astype(np.uint16)
    path = a_scan(tmp_path, noise, compression=compression, tile=(16, 16))
    with tifffile.TiffFile(path) as opened:
        start, length = opened.pages[0].dataoffsets[7], opened.pages[0].databytecounts[7]
    content = bytearray(path.read_bytes())
    kept = 0 if lost == "all" else length // 2
    content[start + kept : start + length] = bytes(length - kept)
    path.write_bytes(content)

    with pytest.raises(PictureDamagedError, match=r"damaged: its picture cannot be (read to the end|decoded)"):
        small_picture(path, 80)


@pytest.mark.parametrize("tag", [324, 325], ids=["place", "length"])
@pytest.mark.parametrize("compression", [None, "lzw", "zlib", "zstd"])
def test_b09_a_tile_that_the_table_does_not_name_is_refused_and_not_black(tmp_path, compression, tag):
    path = a_scan(tmp_path, GREY, compression=compression, tile=(16, 16))
    with tifffile.TiffFile(path) as opened:
        field = opened.pages[0].tags[tag]
    wide = struct.calcsize({3: "H", 4: "I"}[int(field.dtype)])
    content = bytearray(path.read_bytes())
    content[field.valueoffset + 7 * wide : field.valueoffset + 8 * wide] = bytes(wide)
    path.write_bytes(content)

    with pytest.raises(PictureDamagedError, match="1 of its 20 strips or tiles are missing"):
        small_picture(path, 80)


def test_b09_a_jpeg_within_a_tiff_that_breaks_off_is_refused(tmp_path):
    smooth = np.tile(np.linspace(0, 255, 800).astype(np.uint8), (640, 1))
    path = a_scan(tmp_path, smooth, compression="jpeg", tile=(128, 128))
    with tifffile.TiffFile(path) as opened:
        start, length = opened.pages[0].dataoffsets[7], opened.pages[0].databytecounts[7]
    content = bytearray(path.read_bytes())
    content[start + length // 2 : start + length] = bytes(length - length // 2)
    path.write_bytes(content)

    with pytest.raises(PictureDamagedError, match="premature end"):
        small_picture(path, 800)
    assert small_picture(a_scan(tmp_path, smooth, compression="jpeg", tile=(128, 128)), 800).shape == (640, 800)


@pytest.mark.parametrize("lost", ["bytes", "count"])
def test_b09_a_strip_lost_in_a_flavour_decoded_slowly_is_refused(tmp_path, lost):
    noise = np.random.default_rng(7).integers(0, 65_535, (64, 80)).astype(np.uint16)
    path = a_scan(tmp_path, noise, compression="lzma", rowsperstrip=16)
    with tifffile.TiffFile(path) as opened:
        page = opened.pages[0]
        start, length = page.dataoffsets[2], page.databytecounts[2]
        counts_at = page.tags[279].valueoffset
        wide = struct.calcsize("<" + {3: "H", 4: "I"}[int(page.tags[279].dtype)])
    content = bytearray(path.read_bytes())
    at, size = (start, length) if lost == "bytes" else (counts_at + 2 * wide, wide)
    content[at : at + size] = bytes(size)
    path.write_bytes(content)

    with pytest.raises(PictureDamagedError, match="damaged"):
        small_picture(path, 80)


def test_b12_an_empty_scan_is_named_and_its_neighbours_are_read(tmp_path):
    empty = written(tmp_path / "78-014-3.tif", b"")

    with pytest.raises(PictureDamagedError, match=r"78-014-3\.tif: empty file"):
        open_picture(empty)
    assert small_picture(a_scan(tmp_path, GREY), 40).shape == (32, 40)


@pytest.mark.parametrize("content", [b"%PDF-1.4\n" + bytes(100), b"GIF89a" + bytes(50), b"P5 2 2 255\nabcd"])
def test_other_kinds_of_file_reach_no_decoder(tmp_path, content):
    with pytest.raises(PictureError, match="not a picture"):
        open_picture(written(tmp_path / "78-014.tif", content))


def test_a_missing_file_and_a_folder_are_refused_in_words(tmp_path):
    with pytest.raises(PictureError, match="cannot be read"):
        open_picture(tmp_path / "gone.tif")
    with pytest.raises(PictureError, match="cannot be read"):
        open_picture(tmp_path)


def test_sides_without_measure_are_refused_before_anything_is_read(tmp_path):
    path = written(tmp_path / "78-014.tif", a_tiff([(259, SHORT, [5])], width=60_000, height=70_000, picture=b"x" * 99))

    with pytest.raises(PictureError) as refused:
        open_picture(path)

    assert "more than any sheet" in str(refused.value) or "damaged" in str(refused.value)


@pytest.mark.slow
def test_b13_a_scan_beyond_the_guards_of_small_picture_libraries_opens(tmp_path):
    # 4x5 inches at 3200 ppi: 12,800 x 16,000 = 204.8 million pixels; Pillow refuses beyond 178.9.
    path = tmp_path / "78-014.tif"
    tifffile.imwrite(path, np.broadcast_to(np.uint16(40_000), (16_000, 12_800)), rowsperstrip=256, compression="zlib")

    small = small_picture(path, 400)

    assert small.shape == (400, 320)
    assert (small == round(40_000 / 257)).all()


def more_seeds() -> list[bytes]:
    noise = np.random.default_rng(1).integers(0, 65_535, (60, 80)).astype(np.uint16)
    found = []
    for compression in ("lzw", "zlib", "packbits", None):
        out = io.BytesIO()
        tifffile.imwrite(out, noise, compression=compression, rowsperstrip=7)
        found.append(out.getvalue())
    out = io.BytesIO()
    tifffile.imwrite(out, EIGHT_COLOUR, photometric="ycbcr", compression="jpeg")
    return [*found, out.getvalue()]


def hold_against_mutations(folder, *, rounds: int, seed: int) -> None:
    chance, files, path = random.Random(seed), [*seeds(), *more_seeds()], folder / "78-014.tif"
    outcomes, slowest = {"shown": 0, "refused": 0}, 0.0
    for _ in range(rounds):
        path.write_bytes(mutated(chance, chance.choice(files)))
        begun = time.perf_counter()
        try:
            small = small_picture(path, 100)
        except PictureError as refused:
            assert str(refused).startswith("78-014.tif: ")  # noqa: PT017
            assert "\n" not in str(refused)  # noqa: PT017
            outcomes["refused"] += 1
        else:
            assert small.dtype == np.uint8
            assert 1 <= max(small.shape[:2]) <= 100
            outcomes["shown"] += 1
        slowest = max(slowest, time.perf_counter() - begun)
    assert slowest < 5.0
    assert outcomes["refused"] > rounds // 10
    assert outcomes["shown"] > rounds // 10


def test_hundreds_of_changed_files_end_in_a_picture_or_in_words(tmp_path):
    hold_against_mutations(tmp_path, rounds=400, seed=7814)


@pytest.mark.slow
def test_ten_thousand_changed_files_end_in_a_picture_or_in_words(tmp_path):
    hold_against_mutations(tmp_path, rounds=10_000, seed=1974)
