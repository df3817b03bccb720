"""The TIFF directory reader against the worked example of TIFF 6.0, tifffile, and files that mean harm."""

from __future__ import annotations

import io
import struct
import time

import pytest
import tifffile

from catalog.standards.tiff import (
    MAX_DIRECTORIES,
    MAX_SUB_DIRECTORIES,
    MAX_TEXT_BYTES,
    TiffReader,
    is_tiff,
)
from tests.picture_files import (
    ASCII,
    IFD,
    LONG,
    LONG8,
    RATIONAL,
    SHORT,
    UNDEFINED,
    a_directory,
    a_header,
    a_tiff,
)
from tests.reference_samples import PICTURES, sample


def read(content: bytes) -> TiffReader:
    return TiffReader(io.BytesIO(content), len(content))


# TIFF 6.0 (3 June 1992), Section 3, "A Sample Bilevel TIFF File": the directory at 14h, byte for byte.
WORKED_EXAMPLE = (
    bytes.fromhex("4D4D 002A 00000014").ljust(0x14, b"\0")
    + bytes.fromhex(
        "000C"
        "00FE 0004 00000001 00000000"
        "0100 0004 00000001 000007D0"
        "0101 0004 00000001 00000BB8"
        "0103 0003 00000001 80050000"
        "0106 0003 00000001 00010000"
        "0111 0004 000000BC 000000B6"
        "0116 0004 00000001 00000010"
        "0117 0003 000000BC 000003A6"
        "011A 0005 00000001 00000696"
        "011B 0005 00000001 0000069E"
        "0131 0002 0000000E 000006A6"
        "0132 0002 00000014 000006B6"
        "00000000"
    )
).ljust(0xB6, b"\0") + (
    struct.pack(">188I", *range(0x700, 0x700 + 188))
    + struct.pack(">188H", *range(1, 189)).ljust(0x696 - 0x3A6, b"\0")
    + bytes.fromhex("0000012C 00000001 0000012C 00000001")
    + b"PageMaker 4.0\0".ljust(0x10, b"\0")
    + b"1988:02:18 13:59:59\0"
)


def test_the_worked_example_of_the_standard_is_read_as_printed():
    reader = read(WORKED_EXAMPLE)

    (directory,) = reader.directories
    assert reader.byte_order == ">"
    assert reader.faults == []
    assert (reader.integer(directory, 256), reader.integer(directory, 257)) == (2000, 3000)
    assert reader.integer(directory, 259) == 32773
    assert list(reader.integers(directory, 273, at_most=1000)) == list(range(0x700, 0x700 + 188))
    assert list(reader.integers(directory, 279, at_most=1000)) == list(range(1, 189))
    assert list(reader.numbers(directory, 282)) == [300.0]
    assert reader.text(directory, 305) == "PageMaker 4.0"
    assert reader.text(directory, 306) == "1988:02:18 13:59:59"


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("big", [False, True])
def test_either_byte_order_and_either_size_of_offset_gives_the_same_values(order, big):
    entries = [(270, ASCII, b"Osk Mill, east\0"), (282, RATIONAL, [2400, 1]), (330, LONG, [])]

    reader = read(a_tiff(entries, width=9600, height=12000, picture=b"", order=order, big=big))

    (directory,) = reader.directories
    assert reader.is_big is big
    assert (reader.integer(directory, 256), reader.integer(directory, 257)) == (9600, 12000)
    assert reader.number(directory, 282) == 2400
    assert reader.text(directory, 270) == "Osk Mill, east"


@pytest.mark.parametrize("name", [name for name in PICTURES if "tif" in name])
def test_a_real_file_has_the_directories_and_tags_that_tifffile_finds(name):
    path = sample(name)

    reader = read(path.read_bytes())

    with tifffile.TiffFile(path) as theirs:
        assert [d.offset for d in reader.directories] == [page.offset for page in theirs.pages]
        for ours, page in zip(reader.directories, theirs.pages, strict=True):
            assert sorted(ours.fields) == sorted({tag.code for tag in page.tags})
            for tag in page.tags:
                field = ours.fields[tag.code]
                assert (field.type, field.count) == (tag.dtype, tag.count)
                # tifffile gives where the directory is that Exif (34665), GPS (34853) and their like name.
                assert tag.code in (34665, 34853, 40965) or field.offset == tag.valueoffset
    assert reader.faults == []


@pytest.mark.parametrize("tag", [700, 33723, 34377])
def test_the_blocks_of_other_standards_come_out_whole(tag):
    path = sample("latin1_iim.tif")

    reader = read(path.read_bytes())

    with tifffile.TiffFile(path) as theirs:
        field = theirs.pages[0].tags[tag]
        expected = path.read_bytes()[field.valueoffset : field.valueoffset + field.valuebytecount]
    assert len(expected) > 10
    assert reader.raw(reader.directories[0], tag, at_most=1 << 20) == expected


def test_directories_that_hang_from_another_are_found_after_it():
    inner = a_directory([(256, SHORT, [7]), (257, SHORT, [5])], at=8)
    outer_at = 8 + len(inner)
    outer = a_directory([(256, SHORT, [3]), (257, SHORT, [2]), (330, IFD, [8])], at=outer_at)

    reader = read(a_header(outer_at) + inner + outer)

    assert [(d.offset, d.parent) for d in reader.directories] == [(outer_at, None), (8, outer_at)]


# -- files that mean harm, or were harmed ---------------------------------------------------------------


def test_a_directory_that_names_itself_as_the_next_is_read_once():
    reader = read(a_header(8) + a_directory([(256, SHORT, [7])], at=8, following=8))

    assert len(reader.directories) == 1
    assert reader.faults == ["its directories run in a loop at byte 8"]


def test_a_loop_through_sub_directories_ends():
    reader = read(a_header(8) + a_directory([(256, SHORT, [7]), (330, LONG, [8])], at=8))

    assert len(reader.directories) == 1
    assert "loop" in reader.faults[0]


def test_a_chain_without_end_is_cut():
    one = len(a_directory([(256, SHORT, [7])], at=0))
    chain = b"".join(a_directory([(256, SHORT, [7])], at=0, following=8 + one * (n + 1)) for n in range(2000))

    reader = read(a_header(8) + chain)

    assert len(reader.directories) == MAX_DIRECTORIES
    assert "the rest were not read" in reader.faults[-1]


def test_a_thousand_sub_directories_are_not_followed():
    content = a_header(8) + a_directory([(330, LONG, list(range(9000, 10000)))], at=8)

    reader = read(content.ljust(12_000, b"\1"))

    assert len(reader.directories) <= 1 + MAX_SUB_DIRECTORIES


def test_a_header_that_names_a_place_past_the_end_says_so():
    reader = read(a_header(5000))

    assert reader.directories == ()
    assert reader.faults == ["a directory at byte 5000 needs 5006 bytes"]


def test_a_directory_that_the_file_cuts_short_gives_the_entries_that_are_there():
    whole = a_header(8) + a_directory([(256, SHORT, [7]), (257, SHORT, [5]), (258, SHORT, [16])], at=8)

    reader = read(whole[: 8 + 2 + 12 + 12 + 5])

    assert sorted(reader.directories[0].fields) == [256, 257]
    assert "a directory at byte 8" in reader.faults[0]


@pytest.mark.parametrize("count", [1 << 31, (1 << 32) - 1])
def test_a_field_that_claims_gigabytes_gives_what_the_file_has(count):
    content = a_header(8) + struct.pack("<HHHIII", 1, 273, LONG, count, 8, 0)

    reader = read(content)

    assert len(reader.integers(reader.directories[0], 273, at_most=1 << 20)) <= len(content) // 4


def test_a_big_tiff_of_absurd_counts_is_read_in_no_time():
    begun = time.perf_counter()
    reader = read(a_header(16, big=True) + struct.pack("<Q", (1 << 64) - 1) + bytes(range(200)) * 20)

    assert len(reader.directories) == 1
    assert time.perf_counter() - begun < 1


def test_a_big_tiff_with_other_offsets_is_refused_in_words():
    reader = read(b"II+\0\4\0\0\0" + bytes(8))

    assert reader.directories == ()
    assert "BigTIFF" in reader.faults[0]


def test_an_unknown_type_has_no_value():
    reader = read(a_header(8) + struct.pack("<HHHII", 1, 999, 77, 1000, 8) + bytes(4))

    (directory,) = reader.directories
    assert reader.raw(directory, 999) == b""
    assert list(reader.numbers(directory, 999)) == []
    assert reader.text(directory, 999) is None


def test_a_rational_over_zero_is_no_number():
    reader = read(a_tiff([(282, RATIONAL, [300, 0])]))

    value = reader.number(reader.directories[0], 282)
    assert value is not None
    assert value != value


def test_a_width_given_as_a_fraction_is_no_whole_number():
    reader = read(a_tiff([(256, RATIONAL, [300, 1])]))

    assert reader.integer(reader.directories[0], 256) is None


def test_eight_byte_integers_are_read_in_a_classic_file_too():
    reader = read(a_tiff([(256, LONG8, [12345])]))

    assert reader.integer(reader.directories[0], 256) == 12345


# -- text -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (b"\xc9glise\0", "Église"),  # case A03: Latin-1
        (b"\xea\0", "ê"),  # case A03: a lone letter
        ("Église".encode() + b"\0", "Église"),
        (b"St John\x92s\0", "St John’s"),
        (b"two\0texts\0", "two\ntexts"),
        (b"red\x1b[31m bell\x07\0", "red [31m bell"),
        (b"a line\r\nand another\0", "a line\nand another"),
        (b"\0\0\0\0", None),
        (b"    \0", None),
    ],
)
@pytest.mark.parametrize("kind", [ASCII, UNDEFINED])
def test_text_that_should_be_ascii_is_read_whatever_it_is(raw, text, kind):
    reader = read(a_tiff([(270, kind, raw)]))

    assert reader.text(reader.directories[0], 270) == text


def test_a_text_of_megabytes_is_cut():
    reader = read(a_tiff([(270, ASCII, b"x" * 3_000_000)]))

    assert reader.text(reader.directories[0], 270) == "x" * MAX_TEXT_BYTES


@pytest.mark.parametrize("first", [b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"])
def test_a_tiff_is_known_by_its_first_bytes(first):
    assert is_tiff(first + bytes(4))


@pytest.mark.parametrize("first", [b"", b"II", b"IIRO", b"MM*\0", b"\x89PNG", b"\0\5\x16\7"])
def test_nothing_else_is_taken_for_a_tiff(first):
    assert not is_tiff(first)
