"""Exif by exifread and by our own reader: against each other, exiv2, and what scanners leave."""

from __future__ import annotations

import io
import logging
import struct

import exiv2
import pytest
from PIL import Image

from catalog.standards.exif import Exif, exif_date_to_edtf, exif_of_tiff, read_exif
from catalog.standards.tiff import TiffReader
from tests.picture_files import ASCII, LONG, RATIONAL, SHORT, a_directory, a_header, a_tiff
from tests.reference_samples import PICTURES, sample


def by_our_reader(block: bytes) -> Exif:
    reader = TiffReader(io.BytesIO(block), len(block))
    return exif_of_tiff(reader, reader.directories[0])


def exif_block(name: str) -> bytes | None:
    with Image.open(sample(name)) as image:
        block = image.info.get("exif")
    return block.removeprefix(b"Exif\0\0") if block else None


def the_words_of(exif: Exif) -> dict[str, str | None]:
    return {
        "Exif.Image.Make": exif.make,
        "Exif.Image.Model": exif.model,
        "Exif.Image.Software": exif.software,
        "Exif.Image.DateTime": exif.date_time,
        "Exif.Photo.DateTimeOriginal": exif.date_time_original,
        "Exif.Photo.DateTimeDigitized": exif.date_time_digitized,
        "Exif.Photo.LensModel": exif.lens_model,
        "Exif.Image.Artist": exif.artist,
    }


# exiv2 (0.17 and later) is the outside reader; it does not open the BigTIFF.
@pytest.mark.parametrize("name", [name for name in PICTURES if name != "BigTIFF.tif"])
def test_a_real_file_says_what_exiv2_reads(name):
    path = sample(name)
    content = path.read_bytes()
    block = content if "tif" in name else exif_block(name)

    found = (by_our_reader(block) if "tif" in name else read_exif(block)) if block else Exif()

    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    theirs = image.exifData()
    for key, ours in the_words_of(found).items():
        place = theirs.findKey(exiv2.ExifKey(key))
        expected = place.toString().strip() if place != theirs.end() else ""
        assert (ours or "") == expected, key


@pytest.mark.parametrize("name", [name for name in PICTURES if name.endswith(".jpg")])
def test_exifread_and_our_own_reader_agree(name):
    block = exif_block(name)
    if block is None:
        assert name in ("utf8_iim_structs.jpg", "iim_190_latin1.jpg", "photoshop_3.jpg")
        return

    assert read_exif(block) == by_our_reader(block)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2010:01:05 14:30:00", "2010-01-05"),  # Exif 2.32 §4.6.5 F, the form of the standard
        ("2010-01-05 14:30:00", "2010-01-05"),
        ("2010/01/05", "2010-01-05"),
        ("2007-07-13T21:23:44+01:00", "2007-07-13"),
        ("1931:07:  :  :  :  ", "1931-07"),  # unknown parts are blanks
        ("1931:  :  ", "1931"),
        ("1931:07:00 00:00:00", "1931-07"),
        ("1931:00:00 00:00:00", "1931"),
        ("0000:00:00 00:00:00", None),  # case D02
        ("    :  :     :  :  ", None),
        ("", None),
        (None, None),
        ("2010:02:31 00:00:00", None),
        ("2010:13:01 00:00:00", None),
        ("yesterday", None),
    ],
)
def test_a_date_names_a_day_as_far_as_it_is_filled_in(text, day):
    assert exif_date_to_edtf(text) == day


def test_letters_beyond_ascii_come_through_exifread():
    block = a_header(8) + a_directory([(271, ASCII, b"Caf\xe9\0"), (272, ASCII, "Präzision\0".encode())], at=8)

    found = read_exif(block)

    assert (found.make, found.model) == ("Café", "Präzision")


def test_resolutions_and_orientation_are_numbers():
    entries = [(282, RATIONAL, [6000, 5]), (283, RATIONAL, [1, 0]), (296, SHORT, [2]), (274, SHORT, [6])]

    found = read_exif(a_header(8) + a_directory(entries, at=8))

    assert (found.x_resolution, found.resolution_unit, found.orientation) == (1200.0, 2, 6)
    assert found.y_resolution is None


def test_a_directory_within_itself_is_read_by_the_reader_that_bears_it():
    # Interoperability (40965) pointing back at its own directory sends a simple reader round for ever.
    exif_at = 60
    outer = a_directory([(271, ASCII, b"abc\0"), (34665, LONG, [exif_at])], at=8)
    inner = a_directory([(40965, LONG, [exif_at]), (36867, ASCII, b"2010:01:05 10:00:00\0")], at=exif_at)
    block = (a_header(8) + outer).ljust(exif_at, b"\0") + inner

    found = read_exif(block)

    assert (found.make, found.date_time_original) == ("abc", "2010:01:05 10:00:00")


@pytest.mark.parametrize(
    "block", [b"", b"II", b"II*\0", b"II*\0\xff\xff\xff\x7f", b"MM\0*\0\0\0\x08\xff\xff", b"nonsense"]
)
def test_a_broken_block_says_nothing_and_raises_nothing(block):
    assert read_exif(block) == Exif()


def test_a_big_tiff_block_is_not_given_to_exifread():
    # engines.md: BigTIFF comes out of it as garbage.
    found = read_exif(a_tiff([(271, ASCII, b"Drum scanner works\0")], big=True))

    assert found.make == "Drum scanner works"


def test_nothing_is_printed_about_a_damaged_block(capfd):
    logging.getLogger("exifread").setLevel(logging.NOTSET)
    block = a_header(8) + struct.pack("<HHHII", 900, 33434, 12, 5, 8) + bytes(range(256)) * 20

    read_exif(block)

    assert capfd.readouterr() == ("", "")
