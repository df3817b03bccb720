"""Exif field by field: against the published mapping, exiv2, exifread, and what writers leave in the fields."""

from __future__ import annotations

import csv
import io

import exifread
import exiv2
import pytest

from catalog.standards.exif_values import FIELDS, exif_values_of_block, exif_values_of_tiff
from catalog.standards.packets import find_packets
from catalog.standards.tiff import TiffReader
from catalog.standards.xmp import Text, lang_alt, name, seq
from tests.picture_files import ASCII, LONG, RATIONAL, SHORT, UNDEFINED, a_directory, a_header, a_tiff
from tests.reference_samples import PICTURES, sample
from tests.standards.xmp_oracles import REFERENCE

BYTE = 1


def a_block(ifd0=(), exif=(), gps=(), *, order: str = "<", big: bool = False) -> bytes:
    """Return an Exif block of three directories."""
    start = 16 if big else 8
    length = len(a_directory([*ifd0, (34665, LONG, [0]), (34853, LONG, [0])], at=start, order=order, big=big))
    exif_at = start + length
    gps_at = exif_at + len(a_directory(exif, at=0, order=order, big=big))
    entries = [*ifd0, (34665, LONG, [exif_at]), (34853, LONG, [gps_at])]
    return (
        a_header(start, order=order, big=big)
        + a_directory(entries, at=start, order=order, big=big)
        + a_directory(exif, at=exif_at, order=order, big=big)
        + a_directory(gps, at=gps_at, order=order, big=big)
    )


def fact(tag, kind, given, ifd="exif"):
    """Return what one field says, or None."""
    return exif_values_of_block(a_block(**{ifd: [(tag, kind, given)]})).get(tag)


@pytest.mark.skipif(not REFERENCE.is_dir(), reason="the reference tables are not here (../shared/reference)")
def test_every_field_is_mapped_as_published():
    # XMP part 3 and IPTC PMD 2025.1, as tabulated in the reference.
    with (REFERENCE / "exif_mapping.csv").open(encoding="utf-8", newline="") as rows:
        published = {int(row["exif_tag"]): row for row in csv.DictReader(rows)}
    # Blocks and directories are no fields; sub-seconds and zones are parts of their dates.
    places = {700, 33723, 34377, 34665, 34853}

    assert set(published) - places <= set(FIELDS)
    for tag in set(published) - places:
        ours, row = FIELDS[tag], published[tag]
        assert (ours.title, ours.ifd) == (row["name"], row["ifd"])
        assert (ours.xmp_id or "") == row["xmp"].split("[")[0]
        assert ours.is_written_back == (row["write_back_from_xmp"] == "yes")


# ---- dates


@pytest.mark.parametrize(
    ("written", "fraction", "zone", "edtf", "xmp"),
    [
        # Exif 2.32 §4.6.5; XMP part 1 §8.2.1.1: never a zone that was not said.
        ("2010:01:05 14:30:00", "", "", "2010-01-05", "2010-01-05T14:30:00"),
        ("2010:01:05 14:30:00", "25", "", "2010-01-05", "2010-01-05T14:30:00.25"),
        ("2010:01:05 14:30:00", "", "+01:00", "2010-01-05", "2010-01-05T14:30:00+01:00"),
        ("2010:01:05 14:30:00", "890", "-05:30", "2010-01-05", "2010-01-05T14:30:00.890-05:30"),
        ("2010:01:05 14:30:00", "   ", "   :  ", "2010-01-05", "2010-01-05T14:30:00"),
        ("2010:01:05 14:30:00", "x5", "0100", "2010-01-05", "2010-01-05T14:30:00"),
        ("2010:01:05 14:30:  ", "", "", "2010-01-05", "2010-01-05T14:30"),
        ("2010:01:05   :  :  ", "25", "+01:00", "2010-01-05", "2010-01-05"),
        ("1931:07:  :  :  :  ", "", "", "1931-07", "1931-07"),
        ("1931:  :     :  :  ", "", "", "1931", "1931"),
        ("1931:07:00 00:00:00", "", "", "1931-07", "1931-07"),
        ("2007-07-13T21:23:44Z", "", "", "2007-07-13", "2007-07-13T21:23:44Z"),
        ("2007-07-13T21:23:44+01:00", "", "", "2007-07-13", "2007-07-13T21:23:44+01:00"),
        ("2010:01:05 29:30:00", "", "", "2010-01-05", "2010-01-05"),
    ],
)
@pytest.mark.parametrize(
    ("tag", "part_tag", "zone_tag"), [(36867, 37521, 36881), (36868, 37522, 36882), (306, 37520, 36880)]
)
def test_a_date_is_as_exact_as_it_was_written(tag, part_tag, zone_tag, written, fraction, zone, edtf, xmp):
    date = (tag, ASCII, written.encode() + b"\0")
    parts = [(part_tag, ASCII, fraction.encode() + b"\0"), (zone_tag, ASCII, zone.encode() + b"\0")]
    block = a_block([date], parts) if tag == 306 else a_block([], [date, *parts])

    found = exif_values_of_block(block)

    assert (found.get(tag).edtf, found.get(tag).value) == (edtf, Text(xmp))
    assert found.faults == ()


@pytest.mark.parametrize("written", ["0000:00:00 00:00:00", "    :  :     :  :  ", "", "\0" * 20, "0000-00-00"])
def test_d02_a_zero_date_says_nothing(written):
    found = exif_values_of_block(a_block([], [(36867, ASCII, written.encode() + b"\0")]))

    assert found.get(36867) is None
    assert found.faults == ()


@pytest.mark.parametrize("written", ["2010:02:31 00:00:00", "2010:13:01 00:00:00", "yesterday", "0000:05:01 00:00:00"])
def test_a_date_that_is_none_is_kept_as_text_and_named(written):
    found = exif_values_of_block(a_block([], [(36867, ASCII, written.encode() + b"\0")]))

    assert (found.get(36867).text, found.get(36867).edtf, found.get(36867).value) == (written, None, None)
    assert found.faults == (f"Exif DateTimeOriginal is no date: {written!r}",)


# ---- texts


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        # Exif 2.32 §4.6.5, UserComment: eight bytes name the characters.
        (b"UNICODE\0" + "Église – Osk".encode("utf-16-le"), "Église – Osk"),
        (b"UNICODE\0" + "Église – Osk".encode("utf-16-be"), "Église – Osk"),
        (b"UNICODE\0" + "Église".encode("utf-16"), "Église"),
        (b"UNICODE\0" + "水車小屋".encode("utf-16-le"), "水車小屋"),
        (b"UNICODE\0" + "Mill".encode("utf-16-le") + b"\0\0\0", "Mill"),
        (b"ASCII\0\0\0Osk Mill\0\0\0", "Osk Mill"),
        (b"ASCII\0\0\0\xc9glise", "Église"),  # ASCII that is none
        (b"JIS\0\0\0\0\0" + "水車".encode("iso2022_jp"), "水車"),
        (b"\0\0\0\0\0\0\0\0" + "Église".encode(), "Église"),
        (b"no header at all", "no header at all"),
        (b"UNICODE\0" + "a\x1b[2Jb".encode("utf-16-le"), "a [2Jb"),
    ],
)
def test_a_comment_is_read_in_the_characters_it_names(raw, text):
    found = fact(37510, UNDEFINED, raw)

    assert (found.text, found.value) == (text, lang_alt(text))


@pytest.mark.parametrize("raw", [b"", b"ASCI", b"ASCII\0\0\0", b"UNICODE\0", bytes(64), b"ASCII\0\0\0" + b" " * 40])
def test_a_blank_comment_says_nothing(raw):
    assert fact(37510, UNDEFINED, raw) is None


@pytest.mark.parametrize("order", ["<", ">"])
def test_a_comment_of_far_off_letters_is_taken_in_the_byte_order_of_the_file(order):
    raw = b"UNICODE\0" + "水車小屋".encode("utf-16-le" if order == "<" else "utf-16-be")

    found = exif_values_of_block(a_block([], [(37510, UNDEFINED, raw)], order=order))

    assert found.get(37510).text == "水車小屋"


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        # Exif 2.32 §4.6.4, Copyright: photographer, NUL, editor, NUL; XMP part 3: the NUL becomes U+000A.
        (b"Ida Thornwick\0", "Ida Thornwick"),
        (b"Ida Thornwick\0Wenn Press\0", "Ida Thornwick\nWenn Press"),
        (b" \0Wenn Press\0", "\nWenn Press"),
        ("© Ida Thornwick\0".encode(), "© Ida Thornwick"),
        (b"\xa9 Ida Thornwick\0", "© Ida Thornwick"),
    ],
)
def test_a_copyright_keeps_photographer_and_editor_apart(raw, text):
    found = fact(33432, ASCII, raw, "ifd0")

    assert (found.text, found.value) == (text, lang_alt(text))


@pytest.mark.parametrize(
    ("written", "names"),
    [
        ("Ida Thornwick", ["Ida Thornwick"]),
        ("Ida Thornwick; Tom Reed;", ["Ida Thornwick", "Tom Reed"]),
        ("Ida Thornwick;Tom Reed", ["Ida Thornwick", "Tom Reed"]),
        ('"Reed; Sons"; Ida', ["Reed; Sons", "Ida"]),
        ('"The ""Mill"" Club"', ['The "Mill" Club']),
        ('Ida "Tilly" Thornwick', ['Ida "Tilly" Thornwick']),
    ],
)
def test_several_artists_are_a_list(written, names):
    assert fact(315, ASCII, written.encode() + b"\0", "ifd0").value == seq(names)


def test_a_long_text_is_read_whole():
    # engines.md: a value of a thousand elements and more comes back empty from other readers.
    words = "Osk Mill from the east bank. " * 400

    for kind in (ASCII, UNDEFINED, BYTE):
        assert fact(270, kind, words.encode(), "ifd0").text == words.strip()
    assert fact(37510, UNDEFINED, b"UNICODE\0" + words.encode("utf-16-le")).text == words.strip()


def test_latin_1_in_a_field_that_should_be_ascii_is_read():
    assert fact(270, ASCII, b"\xc9glise d'Osk\0", "ifd0").value == lang_alt("Église d'Osk")


# ---- numbers and places


def test_numbers_are_numbers_and_rationals_keep_their_spelling():
    found = exif_values_of_block(
        a_block(
            [(282, RATIONAL, [6000, 5]), (283, RATIONAL, [1, 0]), (296, SHORT, [2]), (274, SHORT, [6])],
            [
                (37386, RATIONAL, [1500, 10]),
                (42034, RATIONAL, [90, 1, 90, 1, 0, 0, 0, 0]),
                (41728, UNDEFINED, b"\1"),
            ],
        )
    )

    assert {fact.title: (fact.text, fact.number) for fact in found.facts} == {
        "XResolution": ("1200", 1200.0),
        "ResolutionUnit": ("2", 2),
        "Orientation": ("6", 6),
        "FocalLength": ("150", 150.0),
        "LensSpecification": ("90, 90, ?, ?", None),
        "FileSource": ("1", 1),
    }
    assert found.get(42034).value == seq(["90/1", "90/1", "0/0", "0/0"])
    assert found.get(37386).value == Text("1500/10")


@pytest.mark.parametrize(
    ("latitude", "longitude", "degrees", "xmp"),
    [
        # XMP part 2, GPSCoordinate: DDD,MM,SSk where all parts are whole, else DDD,MM.mmk.
        (([52, 1, 4, 1, 30, 1], b"N\0"), ([2, 1, 51, 1, 0, 1], b"W\0"), (52.075, -2.85), ("52,4,30N", "2,51,0W")),
        (([52, 1, 45, 10, 0, 1], b"S\0"), ([2, 1, 0, 1, 0, 1], b"E\0"), (-52.075, 2.0), ("52,4.5S", "2,0,0E")),
        (([52075, 1000, 0, 1, 0, 1], b"N\0"), ([285, 100], b"E\0"), (52.075, 2.85), ("52,4.5N", "2,51.0E")),
        (([51, 1, 59, 1, 3599999999, 60000000], b"N\0"), ([0, 1], b"E\0"),
         (52.0, 0.0), ("52,0.0N", "0,0,0E")),
    ],
)  # fmt: skip
def test_a_position_is_degrees_and_as_xmp_spells_it(latitude, longitude, degrees, xmp):
    gps = [(1, ASCII, latitude[1]), (2, RATIONAL, latitude[0]), (3, ASCII, longitude[1]), (4, RATIONAL, longitude[0])]

    found = exif_values_of_block(a_block(gps=gps))

    north, east = found.get_named("GPSLatitude"), found.get_named("GPSLongitude")
    assert (north.number, east.number) == pytest.approx(degrees, abs=1e-6)
    assert (north.value, east.value) == (Text(xmp[0]), Text(xmp[1]))
    assert found.faults == ()


@pytest.mark.parametrize(
    "gps",
    [
        [(2, RATIONAL, [52, 1, 4, 1, 30, 1])],  # no letter: north or south is not known
        [(1, ASCII, b"N\0"), (2, RATIONAL, [91, 1, 0, 1, 0, 1])],
        [(1, ASCII, b"E\0"), (2, RATIONAL, [52, 1, 0, 1, 0, 1])],
        [(1, ASCII, b"N\0"), (2, 10, [-52, 1, 0, 1, 0, 1])],
    ],
)
def test_a_position_that_is_none_is_named(gps):
    found = exif_values_of_block(a_block(gps=gps))

    assert found.facts == ()
    assert "Exif GPSLatitude is no angle" in found.faults[0]


def test_a_position_of_zeros_over_zeros_is_not_known():
    gps = [(1, ASCII, b"N\0"), (2, RATIONAL, [0, 0] * 3), (6, RATIONAL, [0, 0])]

    assert exif_values_of_block(a_block(gps=gps)).facts == ()


@pytest.mark.parametrize(("below", "metres"), [(0, 12.5), (1, -12.5)])
def test_a_height_may_be_below_the_sea(below, metres):
    found = exif_values_of_block(a_block(gps=[(5, BYTE, bytes([below])), (6, RATIONAL, [25, 2])]))

    assert found.get_named("GPSAltitude").number == metres
    assert found.properties() == {name("exif:GPSAltitude"): Text("25/2"), name("exif:GPSAltitudeRef"): Text(str(below))}


# ---- against other readers, and damage


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("big", [False, True])
def test_a_bigtiff_says_what_a_tiff_says(order, big):
    entries = [(271, ASCII, b"Scanner works\0"), (282, RATIONAL, [2400, 1]), (306, ASCII, b"2010:01:05 10:20:30\0")]
    content = a_tiff(entries, order=order, big=big)
    reader = TiffReader(io.BytesIO(content), len(content))

    found = exif_values_of_tiff(reader, *reader.directories)

    assert [(fact.title, fact.text) for fact in found.facts] == [
        ("Make", "Scanner works"),
        ("XResolution", "2400"),
        ("DateTime", "2010:01:05 10:20:30"),
    ]


def theirs(path) -> dict[str, str]:
    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    return {datum.key(): datum.toString() for datum in image.exifData()}


# exiv2 0.19.2 (its C++ library 0.28); it does not open the BigTIFF.
@pytest.mark.parametrize("file_name", [file_name for file_name in PICTURES if file_name != "BigTIFF.tif"])
def test_every_field_of_a_real_file_is_as_exiv2_reads_it(file_name):
    found = find_packets(sample(file_name)).exif
    by_exiv2 = theirs(sample(file_name))
    group = {"IFD0": "Image", "Exif": "Photo", "GPS": "GPSInfo"}

    for one in found.facts:
        stated = by_exiv2[f"Exif.{group[one.ifd]}.{one.title}"]
        if one.ifd == "GPS" and one.title.endswith("itude") and one.title != "GPSAltitude":
            parts = [int(over) / int(under) for over, under in (part.split("/") for part in stated.split())]
            assert abs(one.number) == pytest.approx(parts[0] + parts[1] / 60 + parts[2] / 3600, abs=1e-9)
        elif one.title in ("XResolution", "YResolution", "FocalLength", "GPSAltitude"):
            assert one.value == Text(stated)
        elif one.title == "LensSpecification":
            assert one.value == seq(stated.split())
        else:
            assert one.text == stated.strip().rstrip("\0"), one.title
    # Nothing that it reads and we map is passed over, but for blanks, and a comment whose eight bytes are cut.
    by_exiv2 = {key: text for key, text in by_exiv2.items() if "InvalidCharsetId" not in text}
    ours = {f"Exif.{group[one.ifd]}.{one.title}" for one in found.facts}
    mapped = {f"Exif.{group[field.ifd]}.{field.title}" for field in FIELDS.values()}
    assert {key for key in mapped & set(by_exiv2) if by_exiv2[key].strip(" \0:0")} <= ours


@pytest.mark.parametrize("file_name", [file_name for file_name in PICTURES if file_name != "BigTIFF.tif"])
def test_every_text_of_a_real_file_is_as_exifread_reads_it(file_name):
    found = find_packets(sample(file_name)).exif
    with sample(file_name).open("rb") as stream:
        tags = exifread.process_file(stream, details=False, extract_thumbnail=False)

    group = {"IFD0": "Image", "Exif": "EXIF"}
    for one in found.facts:
        tag = tags.get(f"{group.get(one.ifd, '')} {one.title}")
        # exifread spells letters beyond ASCII as bytes; test_exif.py looks at those.
        if tag is not None and isinstance(tag.values, str) and one.text.isascii() and "\n" not in one.text:
            assert one.text == tag.values.strip(), one.title


@pytest.mark.parametrize(
    "block", [b"", b"II", b"II*\0", b"II*\0\xff\xff\xff\x7f", b"MM\0*\0\0\0\x08\xff\xff", b"nonsense", bytes(99)]
)
def test_a_broken_block_says_nothing_and_why(block):
    found = exif_values_of_block(block, "JPEG APP1 at byte 2")

    assert found.facts == ()
    assert found.faults
    assert all(fault.startswith("JPEG APP1 at byte 2") for fault in found.faults)


def test_a_block_with_its_name_before_it_twice_is_read():
    block = a_block([(271, ASCII, b"Scanner works\0")])

    assert exif_values_of_block(b"Exif\0\0" + block).get(271).text == "Scanner works"
