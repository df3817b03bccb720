"""Scan files as scanners, copies and other programs leave them. b05 and its like are known cases."""

from __future__ import annotations

import hashlib
import io
import os
import struct
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from catalog.errors import FileFormatError
from catalog.imaging import ScanFile, read_scan_file
from tests.picture_files import (
    ASCII,
    IFD,
    LONG,
    RATIONAL,
    SHORT,
    UNDEFINED,
    a_directory,
    a_header,
    a_tiff,
    with_segment,
    written,
)
from tests.reference_samples import PICTURES, manifest, sample

SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def noise(*shape: int, dtype: str = "uint16") -> np.ndarray:
    return np.random.default_rng(7814).integers(0, 200, shape).astype(dtype)


def a_scan(folder: Path, pixels: np.ndarray, name: str = "78-014.tif", **options: object) -> Path:
    path = folder / name
    tifffile.imwrite(path, pixels, **options)
    return path


def read_tiff(folder: Path, *args: object, **options: object) -> ScanFile:
    return read_scan_file(written(folder / "78-014.tif", a_tiff(*args, **options)))


# -- files not made here --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", PICTURES)
def test_a_real_file_is_read_as_its_list_pillow_and_tifffile_say(name):
    path, row = sample(name), manifest()[name]
    before = (path.read_bytes(), path.stat().st_mtime_ns)

    scan = read_scan_file(path)

    assert (scan.size_bytes, scan.file_sha256) == (int(row["bytes"]), row["sha256"])
    with Image.open(path) as theirs:
        assert (scan.width, scan.height, scan.channels) == (*theirs.size, len(theirs.getbands()))
    if "tif" in name:
        with tifffile.TiffFile(path) as opened:
            page = opened.pages[0]
            assert (scan.bits, scan.channels) == (page.bitspersample, page.samplesperpixel)
    assert scan.damage is None
    assert scan.picture_sha256
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


@pytest.mark.parametrize("name", [name for name in PICTURES if "tif" in name])
def test_the_picture_digest_is_that_of_the_strips_tifffile_finds(name):
    path = sample(name)
    content = path.read_bytes()
    with tifffile.TiffFile(path) as opened:
        page = opened.pages[0]
        strips = [content[at : at + n] for at, n in zip(page.dataoffsets, page.databytecounts, strict=True)]

    scan = read_scan_file(path)

    assert scan.picture_sha256 == hashlib.sha256(b"".join(strips)).hexdigest()


def test_a_film_scanner_is_named_with_its_resolution():
    # MANIFEST.csv, as exiv2 reads it: Make Epson, Model PerfectionV800, XResolution 1066/1.
    scan = read_scan_file(sample("Epson_PerfectionV800.tiff"))

    assert (scan.make, scan.model, scan.recorded_ppi) == ("Epson", "PerfectionV800", 1066.0)
    assert scan.scanned_on is None


def test_the_doubtful_date_of_the_made_file_is_kept_as_written():
    # MANIFEST.csv: DateTimeOriginal=1931:07:  :  :  :  ; Make Example Scanners, Model Drum 1, 2400/1.
    scan = read_scan_file(sample("made_16bit_grey_iim_xmp_exif.tif"))

    assert (scan.make, scan.model, scan.recorded_ppi, scan.bits) == ("Example Scanners", "Drum 1", 2400.0, 16)
    assert scan.date_time_original.startswith("1931:07:")
    assert scan.scanned_on == "2024-05-06"


# -- flavours -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("bigtiff", [False, True])
@pytest.mark.parametrize("options", [{}, {"tile": (32, 32)}, {"rowsperstrip": 7}])
@pytest.mark.parametrize("dtype", ["uint8", "uint16", "float32"])
def test_any_byte_order_offset_size_layout_and_depth_is_read(tmp_path, order, bigtiff, options, dtype):
    path = a_scan(tmp_path, noise(50, 70, dtype=dtype), byteorder=order, bigtiff=bigtiff, **options)

    scan = read_scan_file(path)

    assert (scan.kind, scan.width, scan.height) == ("BigTIFF" if bigtiff else "TIFF", 70, 50)
    assert scan.bits == np.dtype(dtype).itemsize * 8
    assert scan.sample_format == ("floating point" if dtype == "float32" else "unsigned integer")
    assert scan.layout == ("tiles" if "tile" in options else "strips")
    assert (scan.colour, scan.channels, scan.extra_channels) == ("grey", 1, 0)
    assert scan.damage is None
    assert scan.picture_sha256 == digest_of_segments(path)


@pytest.mark.parametrize(
    ("compression", "words"),
    [
        ("lzw", "LZW"),
        ("adobe_deflate", "deflate"),
        ("packbits", "PackBits"),
        ("jpeg", "JPEG"),
        ("zstd", "Zstandard"),
    ],
)
def test_a_compressed_scan_is_read_without_unpacking_it(tmp_path, compression, words):
    path = a_scan(tmp_path, noise(64, 64, 3, dtype="uint8"), photometric="rgb", compression=compression)

    scan = read_scan_file(path)

    assert (scan.compression, scan.damage) == (words, None)
    assert scan.picture_sha256


def test_channels_stored_one_after_the_other_are_read_in_the_order_of_the_table(tmp_path):
    path = a_scan(tmp_path, noise(3, 40, 60), photometric="rgb", planarconfig="separate")

    scan = read_scan_file(path)

    assert (scan.colour, scan.channels, scan.bits, scan.damage) == ("RGB", 3, 16, None)
    assert "channels stored one after the other" in scan.notes
    assert scan.picture_sha256 == digest_of_segments(path)


def digest_of_segments(path: Path) -> str:
    content = path.read_bytes()
    with tifffile.TiffFile(path) as opened:
        page = opened.pages[0]
        pieces = [content[at : at + n] for at, n in zip(page.dataoffsets, page.databytecounts, strict=True)]
    return hashlib.sha256(b"".join(pieces)).hexdigest()


@pytest.mark.parametrize(
    ("photometric", "samples", "colour", "extra"),
    [
        (0, 1, "grey", 0),
        (1, 1, "grey", 0),
        (2, 3, "RGB", 0),
        (2, 4, "RGB", 1),
        (3, 1, "palette", 0),
        (5, 4, "CMYK", 0),
        (6, 3, "YCbCr", 0),
        (8, 3, "Lab", 0),
        (8, 1, "Lab", 0),
        (34892, 3, "linear raw", 0),
        (34892, 1, "linear raw", 0),
        (31999, 2, "unknown (31999)", 0),
    ],
)
def test_colour_follows_the_interpretation_the_table_states(tmp_path, photometric, samples, colour, extra):
    entries = [(262, SHORT, [photometric]), (277, SHORT, [samples]), (258, SHORT, [8] * samples)]

    scan = read_tiff(tmp_path, entries, width=6, height=6, picture=bytes(36 * samples))

    assert (scan.colour, scan.channels, scan.extra_channels, scan.damage) == (colour, samples, extra, None)


# -- group B --------------------------------------------------------------------------------------------


def test_b01_a_16_bit_colour_scan_is_recorded_as_16_bit(tmp_path):
    scan = read_scan_file(a_scan(tmp_path, noise(64, 64, 3), photometric="rgb"))

    assert (scan.bits, scan.channels, scan.colour) == (16, 3, "RGB")


@pytest.mark.parametrize("bits", [8, 16])
def test_b03_white_is_zero_is_said_of_8_and_of_16_bits(tmp_path, bits):
    path = a_scan(tmp_path, noise(8, 8, dtype=f"uint{bits}"), photometric="miniswhite")

    scan = read_scan_file(path)

    assert (scan.white_is_zero, scan.colour, scan.bits) == (True, "grey", bits)
    assert not read_scan_file(a_scan(tmp_path, noise(8, 8), photometric="minisblack")).white_is_zero


def test_b04_a_big_tiff_gives_its_size_and_date(tmp_path):
    scan = read_scan_file(a_scan(tmp_path, noise(50, 70), bigtiff=True, datetime="2010:01:05 14:30:00"))

    assert (scan.kind, scan.width, scan.height, scan.scanned_on) == ("BigTIFF", 70, 50, "2010-01-05")


@pytest.mark.parametrize("subfiletype", [0, 1])
def test_b05_a_small_preview_page_before_the_picture_is_not_the_picture(tmp_path, subfiletype):
    path = tmp_path / "78-014.tif"
    with tifffile.TiffWriter(path) as out:
        out.write(noise(12, 15), subfiletype=subfiletype, description="Osk Mill", metadata=None)
        out.write(noise(400, 500), metadata=None)

    scan = read_scan_file(path)

    assert (scan.width, scan.height) == (500, 400)
    assert [(p.width, p.role, p.is_main) for p in scan.pages] == [
        (15, "preview", False),
        (500, "picture", True),
    ]
    assert scan.description == "Osk Mill"


def test_b05_a_reduced_picture_larger_than_its_flagless_neighbour_is_still_a_preview(tmp_path):
    path = tmp_path / "78-014.tif"
    with tifffile.TiffWriter(path) as out:
        out.write(noise(40, 50), subfiletype=1, metadata=None)
        out.write(noise(30, 40), metadata=None)

    assert read_scan_file(path).width == 40


def test_b05_a_mask_beside_the_picture_is_not_the_picture(tmp_path):
    path = tmp_path / "78-014.tif"
    with tifffile.TiffWriter(path) as out:
        out.write(noise(30, 40), metadata=None)
        out.write(noise(300, 400) > 100, subfiletype=4, metadata=None)

    scan = read_scan_file(path)

    assert scan.width == 40
    assert [page.role for page in scan.pages] == ["picture", "mask"]


def test_two_pictures_in_one_file_are_counted(tmp_path):
    path = tmp_path / "78-014.tif"
    with tifffile.TiffWriter(path) as out:
        out.write(noise(30, 40), metadata=None)
        out.write(noise(30, 40), metadata=None)

    scan = read_scan_file(path)

    assert "1 more page beside the picture" in scan.notes
    assert scan.pages[0].is_main


def test_b07_an_old_style_jpeg_in_a_tiff_is_registered(tmp_path):
    # TIFF 6.0 §22: compression 6, the whole stream at JPEGInterchangeFormat (513), its length in 514.
    stream = io.BytesIO()
    Image.effect_noise((64, 48), 60).convert("RGB").save(stream, "JPEG")
    length = len(stream.getvalue())
    entries = [
        (259, SHORT, [6]),
        (262, SHORT, [6]),
        (277, SHORT, [3]),
        (258, SHORT, [8, 8, 8]),
        (513, LONG, [8]),
        (514, LONG, [length]),
    ]
    without = (273, 278, 279)

    scan = read_tiff(tmp_path, entries, width=64, height=48, picture=stream.getvalue(), without=without)

    assert (scan.compression, scan.colour, scan.damage) == ("JPEG (old style)", "YCbCr", None)
    assert scan.picture_sha256 == hashlib.sha256(stream.getvalue()).hexdigest()


def test_b07_the_tables_that_jpeg_strips_share_are_part_of_the_picture(tmp_path):
    entries = [(259, SHORT, [7]), (347, UNDEFINED, b"tables of the coding")]
    other = [(259, SHORT, [7]), (347, UNDEFINED, b"tables of decayed ing")]

    first = read_tiff(tmp_path, entries)
    second = read_tiff(tmp_path, other)

    assert first.picture_sha256 != second.picture_sha256


@pytest.mark.parametrize(
    ("entries", "ppi"),
    [
        ([(282, RATIONAL, [2400, 1]), (296, SHORT, [2])], 2400.0),
        ([(282, RATIONAL, [9448819, 10000]), (296, SHORT, [3])], 2400.0),
        ([(282, RATIONAL, [2400, 1])], None),  # no unit
        ([(282, RATIONAL, [1, 1]), (296, SHORT, [1])], None),
        ([(282, RATIONAL, [1, 1]), (296, SHORT, [2])], None),
        ([(282, RATIONAL, [0, 1]), (296, SHORT, [2])], None),
        ([(282, RATIONAL, [300, 0]), (296, SHORT, [2])], None),
        ([(296, SHORT, [2])], None),
    ],
)
def test_b08_a_resolution_without_sense_is_not_recorded(tmp_path, entries, ppi):
    assert read_tiff(tmp_path, entries).recorded_ppi == ppi


def test_b08_what_tifffile_writes_when_nobody_told_it_is_no_resolution(tmp_path):
    assert read_scan_file(a_scan(tmp_path, noise(8, 8))).recorded_ppi is None


def test_a_resolution_that_differs_across_and_down_is_noted(tmp_path):
    scan = read_tiff(tmp_path, [(282, RATIONAL, [2400, 1]), (283, RATIONAL, [1200, 1]), (296, SHORT, [2])])

    assert "resolution differs across and down: 2400, 1200" in scan.notes


def test_b09_a_half_copied_scan_names_what_it_needs_and_what_it_has(tmp_path):
    whole = a_scan(tmp_path, noise(400, 500)).read_bytes()
    half = written(tmp_path / "half.tif", whole[: len(whole) // 2])

    scan = read_scan_file(half)

    needs = 400 * 500 * 2 + whole.index(noise(400, 500).tobytes())
    assert scan.damage == f"damaged: shorter than its own table says (needs {needs} bytes, has {len(whole) // 2})"
    assert (scan.width, scan.height, scan.picture_sha256) == (500, 400, None)
    assert scan.file_sha256 == hashlib.sha256(half.read_bytes()).hexdigest()


def test_b09_a_half_copied_scan_whose_table_stood_at_its_end_is_named_too(tmp_path):
    whole = a_tiff(width=400, height=300)

    scan = read_scan_file(written(tmp_path / "78-014.tif", whole[: len(whole) // 2]))

    assert scan.damage.startswith("damaged: shorter than its own table says")
    assert f"it has {len(whole) // 2}" in scan.damage
    assert scan.width is None


@pytest.mark.parametrize("share", [0.001, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99, 0.9999])
@pytest.mark.parametrize(
    "options", [{}, {"tile": (32, 32)}, {"compression": "lzw"}, {"bigtiff": True}, {"rowsperstrip": 3}]
)
def test_b09_wherever_the_copy_stopped_the_scan_is_damaged(tmp_path, share, options):
    whole = a_scan(tmp_path, noise(100, 120), **options).read_bytes()
    cut = written(tmp_path / "cut.tif", whole[: max(int(len(whole) * share), 1)])

    scan = read_scan_file(cut)

    assert scan.damage
    assert scan.picture_sha256 is None
    assert scan.file_sha256 == hashlib.sha256(cut.read_bytes()).hexdigest()


@pytest.mark.parametrize(
    ("name", "kind"), [("78-014-3.tif", "TIFF"), ("a.JPG", "JPEG"), ("b.png", "PNG"), ("c.dng", "DNG")]
)
def test_b12_an_empty_file_is_named_as_empty(tmp_path, name, kind):
    (tmp_path / name).touch()

    scan = read_scan_file(tmp_path / name)

    assert (scan.kind, scan.damage, scan.size_bytes) == (kind, "empty file", 0)
    assert scan.file_sha256 == hashlib.sha256().hexdigest()


def test_b12_a_copy_that_left_only_zeros_is_named(tmp_path):
    scan = read_scan_file(written(tmp_path / "78-014.tif", bytes(5000)))

    assert scan.damage == "damaged: begins with zeros, as a failed copy does"


def test_b13_a_scan_of_204_megapixels_is_catalogued_from_its_header(tmp_path):
    # 4x5 inches at 3,200 to the inch: 12,800 x 16,000, beyond the 178,956,970 pixels Pillow refuses.
    path = tmp_path / "78-014.tif"
    pixels = a_tiff(width=12_800, height=16_000, bits=16, picture=b"")
    path.write_bytes(
        pixels.replace(struct.pack("<HHII", 279, LONG, 1, 0), struct.pack("<HHII", 279, LONG, 1, 409_600_000))
    )
    with path.open("r+b") as file:  # a hole, where the system can make one
        file.truncate(409_600_008)

    scan = read_scan_file(path)

    assert (scan.width, scan.height, scan.bits, scan.damage) == (12_800, 16_000, 16, None)


def test_b14_grey_and_infrared_is_grey_and_one_extra_channel(tmp_path):
    scan = read_scan_file(
        a_scan(
            tmp_path,
            noise(40, 60, 2),
            photometric="minisblack",
            planarconfig="contig",
            extrasamples=["unspecified"],
        )
    )

    assert (scan.colour, scan.extra_channels, scan.channels, scan.bits, scan.damage) == (
        "grey",
        1,
        2,
        16,
        None,
    )
    assert scan.picture_sha256


@pytest.mark.parametrize("compression", [None, "lzw"])
def test_b15_a_profile_is_named_and_none_is_none(tmp_path, compression):
    with_profile = a_scan(tmp_path, noise(8, 8, 3), photometric="rgb", iccprofile=SRGB, compression=compression)
    without = a_scan(tmp_path, noise(8, 8, 3), name="b.tif", photometric="rgb", compression=compression)

    assert read_scan_file(with_profile).profile == "sRGB built-in"
    assert read_scan_file(without).profile is None


def test_b15_a_profile_that_cannot_be_read_is_still_a_profile(tmp_path):
    assert read_tiff(tmp_path, [(34675, UNDEFINED, b"not a profile")]).profile == "unnamed profile"


def test_b16_a_scan_keeps_its_bytes_and_its_times(tmp_path):
    path = a_scan(tmp_path, noise(40, 50), description="a private note", extratags=[(65000, "s", 0, "private", True)])
    os.utime(path, ns=(1_000_000_000, 1_234_567_890_123_456_789))
    path.chmod(0o444)
    before = path.read_bytes()

    read_scan_file(path)

    assert path.read_bytes() == before
    assert path.stat().st_mtime_ns == 1_234_567_890_123_456_789


# -- A03, D01, D02 --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("raw", "text"), [(b"\xc9glise\0", "Église"), (b"\xea\0", "ê")])
def test_a03_a_description_in_latin_1_is_readable(tmp_path, raw, text):
    scan = read_tiff(tmp_path, [(270, ASCII, raw)])

    assert (scan.description, scan.damage) == (text, None)


def test_d01_the_date_of_the_file_is_the_date_of_scanning(tmp_path):
    scan = read_tiff(tmp_path, [(306, ASCII, b"2010:01:05 14:30:00\0")])

    assert (scan.scanned_on, scan.scanned_as_written) == ("2010-01-05", "2010:01:05 14:30:00")
    assert scan.date_time_original is None


def with_exif(entries: list, top: list) -> bytes:
    """Return a TIFF whose Exif directory stands behind its own."""
    plain = a_tiff([*top, (34665, LONG, [0])])
    at = len(plain) + len(plain) % 2
    return a_tiff([*top, (34665, LONG, [at])]).ljust(at, b"\0") + a_directory(entries, at=at)


def test_d01_the_date_of_digitising_goes_before_that_of_the_file(tmp_path):
    content = with_exif(
        [(36868, ASCII, b"2009:12:31 10:00:00\0"), (36867, ASCII, b"1979:06:02 11:00:00\0")],
        [(306, ASCII, b"2010:01:05 14:30:00\0")],
    )

    scan = read_scan_file(written(tmp_path / "78-014.tif", content))

    assert scan.scanned_on == "2009-12-31"
    assert scan.date_time_original == "1979:06:02 11:00:00"


@pytest.mark.parametrize("zero", [b"0000:00:00 00:00:00\0", b"    :  :     :  :  \0", b"\0" * 20])
def test_d02_a_zero_date_is_no_date(tmp_path, zero):
    content = with_exif([(36867, ASCII, zero), (36868, ASCII, zero)], [(306, ASCII, zero)])

    scan = read_scan_file(written(tmp_path / "78-014.tif", content))

    assert (scan.scanned_on, scan.scanned_as_written, scan.date_time_original) == (None, None, None)
    assert scan.notes == ()


def test_a_date_that_no_calendar_has_is_noted(tmp_path):
    scan = read_tiff(tmp_path, [(306, ASCII, b"2010:02:31 14:30:00\0")])

    assert scan.scanned_on is None
    assert scan.notes == ("its file date is no date: '2010:02:31 14:30:00'",)


# -- DNG ------------------------------------------------------------------------------------------------


def a_dng(photometric: int, *, samples: int) -> tuple[bytes, bytes]:
    """Return a DNG whose first page is a preview and whose picture hangs from it, and the picture."""
    preview, picture = bytes(range(48)), bytes(range(200)) * 18
    picture_at, inner_at = 8 + len(preview), 8 + len(preview) + len(picture)
    shape = [
        (258, SHORT, [16] * samples),
        (259, SHORT, [1]),
        (277, SHORT, [samples]),
        (262, SHORT, [photometric]),
    ]
    inner = a_directory(
        [(254, LONG, [0]), (256, LONG, [600 // samples]), (257, LONG, [3]), (273, LONG, [picture_at]),
         (278, LONG, [3]), (279, LONG, [len(picture)]), *shape], at=inner_at
    )  # fmt: skip
    outer_at = inner_at + len(inner)
    outer = a_directory(
        [(254, LONG, [1]), (256, LONG, [4]), (257, LONG, [4]), (258, SHORT, [8] * 3), (259, SHORT, [1]),
         (262, SHORT, [2]), (271, ASCII, b"Halding Optical\0"), (273, LONG, [8]), (277, SHORT, [3]),
         (278, LONG, [4]), (279, LONG, [48]), (330, IFD, [inner_at]), (50706, 1, [1, 4, 0, 0])], at=outer_at
    )  # fmt: skip
    return a_header(outer_at) + preview + picture + inner + outer, picture


def test_the_picture_of_a_linear_dng_is_the_one_that_hangs_from_its_preview(tmp_path):
    content, picture = a_dng(34892, samples=3)

    scan = read_scan_file(written(tmp_path / "78-014.dng", content))

    assert (scan.kind, scan.width, scan.colour, scan.make) == ("DNG", 200, "linear raw", "Halding Optical")
    assert scan.picture_sha256 == hashlib.sha256(picture).hexdigest()
    assert [page.role for page in scan.pages] == ["preview", "picture"]


def test_a_mosaic_dng_has_no_picture_and_says_so(tmp_path):
    content, _ = a_dng(32803, samples=1)

    scan = read_scan_file(written(tmp_path / "78-014.dng", content))

    assert (scan.width, scan.colour, scan.picture_sha256, scan.damage) == (600, "mosaic", None, None)
    assert "a mosaic of the sensor, not a picture: no picture digest" in scan.notes


# -- JPEG and PNG ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("mode", "colour"), [("L", "grey"), ("RGB", "YCbCr"), ("CMYK", "CMYK")])
def test_a_jpeg_says_its_colour_resolution_and_profile(tmp_path, mode, colour):
    path = tmp_path / "78-014.jpg"
    Image.effect_noise((60, 40), 50).convert(mode).save(path, dpi=(600, 600), icc_profile=SRGB)

    scan = read_scan_file(path)

    assert (scan.kind, scan.width, scan.height, scan.bits, scan.colour) == ("JPEG", 60, 40, 8, colour)
    assert (scan.recorded_ppi, scan.profile) == (600.0, "sRGB built-in")


def test_a_jpeg_without_the_adobe_word_is_rgb_if_its_components_say_so(tmp_path):
    path = tmp_path / "78-014.jpg"
    Image.effect_noise((60, 40), 50).convert("RGB").save(path, keep_rgb=True)

    assert read_scan_file(path).colour == "RGB"


def test_a_jpeg_says_when_and_with_what_it_was_scanned(tmp_path):
    exif = Image.Exif()
    exif[271], exif[272], exif[306], exif[274] = "Halding Optical", "Flat 4", "2011:03:04 05:06:07", 6
    path = tmp_path / "78-014.jpg"
    Image.effect_noise((60, 40), 50).save(path, exif=exif)

    scan = read_scan_file(path)

    assert (scan.make, scan.model, scan.scanned_on, scan.orientation) == (
        "Halding Optical",
        "Flat 4",
        "2011-03-04",
        6,
    )


def test_a_png_says_its_depth_resolution_and_profile(tmp_path):
    path = tmp_path / "78-014.png"
    Image.fromarray(noise(40, 60)).save(path, dpi=(300, 300), icc_profile=SRGB)

    scan = read_scan_file(path)

    assert (scan.kind, scan.width, scan.height, scan.bits, scan.colour) == ("PNG", 60, 40, 16, "grey")
    assert (scan.recorded_ppi, scan.profile) == (300.0, "sRGB built-in")


@pytest.mark.parametrize("suffix", [".jpg", ".png"])
def test_a_jpeg_or_png_that_is_cut_short_is_damaged_and_still_digested(tmp_path, suffix):
    path = tmp_path / f"78-014{suffix}"
    Image.effect_noise((300, 200), 50).save(path)
    cut = path.read_bytes()[:-20]
    path.write_bytes(cut)

    scan = read_scan_file(path)

    assert "cut short" in scan.damage
    assert (scan.width, scan.picture_sha256) == (300, None)
    assert scan.file_sha256 == hashlib.sha256(cut).hexdigest()


def test_the_content_says_the_kind_and_the_name_does_not(tmp_path):
    path = tmp_path / "78-014.tif"
    Image.effect_noise((60, 40), 50).save(path, "JPEG")

    assert read_scan_file(path).kind == "JPEG"


# -- what is refused ------------------------------------------------------------------------------------


@pytest.mark.parametrize("content", [b"\0\5\x16\7\0\2\0\0" * 8, b"%PDF-1.4 and so on", b"some notes about Osk Mill"])
def test_what_is_no_picture_is_refused_in_one_line(tmp_path, content):
    path = written(tmp_path / "78-014.tif", content)

    with pytest.raises(FileFormatError, match=r"78-014\.tif: not a picture: begins with") as refused:
        read_scan_file(path)

    assert "\n" not in str(refused.value)


def test_a_tiff_without_any_picture_is_named(tmp_path):
    content = a_header(8) + a_directory([(270, ASCII, b"only words here\0")], at=8)

    assert read_scan_file(written(tmp_path / "a.tif", content)).damage.startswith("not a picture")


def test_a_folder_and_a_pipe_are_refused_without_waiting(tmp_path):
    (tmp_path / "folder.tif").mkdir()
    os.mkfifo(tmp_path / "pipe.tif")

    for name in ("folder.tif", "pipe.tif"):
        with pytest.raises(FileFormatError, match="not a file"):
            read_scan_file(tmp_path / name)


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(FileFormatError, match="cannot be read"):
        read_scan_file(tmp_path / "gone.tif")


class FailingDrive(io.FileIO):
    """A file on a drive that gives out when it is read for good."""

    def readinto(self, buffer):
        raise OSError(5, "Input/output error")


class ShrinkingFile(io.FileIO):
    """A file that somebody cuts while it is read."""

    def readinto(self, buffer):
        os.truncate(self.name, 20)
        return super().readinto(buffer)


@pytest.mark.parametrize(
    ("kind", "words"),
    [(FailingDrive, r"Input/output error\); try another copy"), (ShrinkingFile, "changed while it was read")],
)
def test_a_drive_that_fails_or_a_file_in_motion_is_refused_in_one_line(tmp_path, monkeypatch, kind, words):
    path = written(tmp_path / "78-014.tif", a_tiff())
    monkeypatch.setattr(Path, "open", lambda self, *_, **__: kind(self))

    with pytest.raises(FileFormatError, match=words):
        read_scan_file(path)


def test_f03_a_name_that_is_not_utf_8_is_read(tmp_path):
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xc9glise.tif"))
    try:
        path.write_bytes(a_tiff())
    except OSError:
        pytest.skip("this file system takes UTF-8 names only")

    assert read_scan_file(path).width == 8


# -- tables that lie ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ([(279, LONG, [4])], "its strips hold 4 bytes, its picture has 64"),
        ([(273, LONG, [8, 16]), (278, LONG, [1]), (279, LONG, [16, 16])], "lists 2 strips or tiles of 4"),
        ([(273, LONG, [1 << 31])], "shorter than its own table says"),
        ([(256, LONG, [100_000])], "its strips hold 64 bytes, its picture has 800000"),
        ([(257, LONG, [100_000])], "lists 1 strips or tiles of 25000"),
        ([(278, LONG, [1])], "lists 1 strips or tiles of 4"),
        ([(273, 9, [-5])], "before the file begins"),
        ([(258, SHORT, [65535])], "its strips hold"),
        ([(256, LONG, [0])], "not a picture"),
    ],
)
def test_a_table_that_contradicts_itself_or_the_file_is_named(tmp_path, entries, words):
    scan = read_tiff(tmp_path, entries)

    assert words in scan.damage
    assert scan.picture_sha256 is None


def test_a_picture_that_lies_nowhere_is_named(tmp_path):
    assert read_tiff(tmp_path, without=(273, 279)).damage == "damaged: it does not say where its picture lies"


def test_a_lone_strip_without_its_length_is_measured_by_its_picture(tmp_path):
    scan = read_tiff(tmp_path, without=(279,))

    assert scan.damage is None
    assert scan.picture_sha256 == read_tiff(tmp_path).picture_sha256


def test_a_packed_strip_without_its_length_has_no_picture_digest(tmp_path):
    scan = read_tiff(tmp_path, [(259, SHORT, [5])], without=(279,))

    assert (scan.damage, scan.picture_sha256) == (None, None)
    assert "its table does not say how long its strips are: no picture digest" in scan.notes


def test_a_million_strips_upon_each_other_are_not_read_over_and_over(tmp_path):
    content = a_tiff(
        [(259, SHORT, [5]), (273, LONG, [8] * 5000), (278, LONG, [1]), (279, LONG, [60_000] * 5000)],
        height=5000, picture=bytes(60_000)
    )  # fmt: skip

    scan = read_scan_file(written(tmp_path / "78-014.tif", content))

    assert (scan.damage, scan.picture_sha256) == (None, None)
    assert "its strips lie upon each other many times: no picture digest" in scan.notes


def test_a_jpeg_inside_a_segment_is_not_the_picture(tmp_path):
    inner, outer = io.BytesIO(), io.BytesIO()
    Image.effect_noise((16, 12), 50).save(inner, "JPEG")
    Image.effect_noise((60, 40), 50).save(outer, "JPEG")

    content = with_segment(outer.getvalue(), 0xE1, b"Exif\0\0" + inner.getvalue())

    assert read_scan_file(written(tmp_path / "a.jpg", content)).width == 60
