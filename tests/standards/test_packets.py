"""Finding XMP, IIM and Exif in files: where the standards put them, and where they are damaged or too much."""

from __future__ import annotations

import hashlib
import io
import os
import random
import re
import struct
import zlib

import pytest
from PIL import Image

from catalog.errors import FileFormatError
from catalog.standards.iim import format_iim
from catalog.standards.packets import embedded_iim, embedded_packet, find_packets, is_iim_changed
from catalog.standards.photoshop_resources import parse_resources
from catalog.standards.xmp import Packet, Text, bag, format_packet, lang_alt, name, texts
from tests.picture_files import (
    ASCII,
    LONG,
    SHORT,
    UNDEFINED,
    a_directory,
    a_header,
    a_png_chunk,
    a_tiff,
    with_segment,
    written,
)

XMP_SEGMENT = b"http://ns.adobe.com/xap/1.0/\0"
EXTENSION_SEGMENT = b"http://ns.adobe.com/xmp/extension/\0"
BYTE = 1


def a_packet(**properties) -> bytes:
    return format_packet(Packet(tuple((name(key.replace("__", ":")), value) for key, value in properties.items())))


TITLED = a_packet(dc__title=lang_alt("Osk Mill"))
IIM = format_iim([("1:90", b"\x1b%G"), ("2:05", b"Osk Mill"), ("2:120", "Église".encode())])


def a_resource(number: int, data: bytes, label: bytes = b"") -> bytes:
    """Return one Photoshop resource, name and data padded to even lengths."""
    named = bytes((len(label),)) + label
    named += b"\0" * (len(named) % 2)
    return b"8BIM" + struct.pack(">H", number) + named + struct.pack(">I", len(data)) + data + b"\0" * (len(data) % 2)


def a_jpeg(*segments: tuple[int, bytes]) -> bytes:
    """Return a small JPEG with these segments after its first marker, in order."""
    stream = io.BytesIO()
    Image.new("L", (8, 8)).save(stream, "JPEG")
    jpeg = stream.getvalue()
    for code, payload in reversed(segments):
        jpeg = with_segment(jpeg, code, payload)
    return jpeg


def a_png(*chunks: tuple[bytes, bytes]) -> bytes:
    """Return a small PNG with these chunks before its end."""
    stream = io.BytesIO()
    Image.new("L", (8, 8)).save(stream, "PNG")
    png = stream.getvalue()
    return png[:-12] + b"".join(a_png_chunk(kind, data) for kind, data in chunks) + png[-12:]


def title_of(embedded) -> str:
    packet, faults = embedded_packet(embedded)
    assert packet is not None, faults
    return texts(packet.get(name("dc:title")))[0]


# ---- TIFF


@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("kind", [BYTE, UNDEFINED, LONG])
def test_a_tiff_gives_its_packet_its_iim_and_their_places(tmp_path, big, order, kind):
    padded = IIM.ljust(-(-len(IIM) // 4) * 4, b"\0")
    # Of type LONG the octets are still in plain order, whatever the order of the file (XMP part 3, "TIFF").
    words = struct.unpack(f"{order}{len(padded) // 4}I", padded)
    entries = [(700, BYTE if kind == BYTE else UNDEFINED, TITLED), (33723, kind, words if kind == LONG else padded)]
    content = a_tiff(entries, order=order, big=big)

    found = find_packets(written(tmp_path / "1.tif", content))

    assert found.kind == ("BigTIFF" if big else "TIFF")
    assert title_of(found) == "Osk Mill"
    assert embedded_iim(found).text("2:120") == "Église"
    assert embedded_iim(found).faults == ()
    assert [block.where for block in (*found.xmp, *found.iim)] == ["TIFF tag 700", "TIFF tag 33723"]
    assert content[found.xmp[0].offset :].startswith(TITLED)
    assert content[found.iim[0].offset :].startswith(IIM)
    assert found.faults == ()


def test_iim_whose_words_were_turned_round_is_read_the_right_way_and_said(tmp_path):
    padded = IIM.ljust(-(-len(IIM) // 4) * 4, b"\0")
    turned = struct.unpack(f">{len(padded) // 4}I", padded)  # as numbers of the other byte order

    found = find_packets(written(tmp_path / "1.tif", a_tiff([(33723, LONG, turned)])))

    assert embedded_iim(found).text("2:05") == "Osk Mill"
    assert found.faults == ("TIFF tag 33723: its bytes are stored in turned words; read the right way round",)


def test_the_tag_of_a_tiff_speaks_before_the_copy_in_its_photoshop_resources(tmp_path):
    other = format_iim([("2:05", b"Brome Hall")])
    resources = a_resource(1028, other) + a_resource(1061, hashlib.md5(other).digest())

    found = find_packets(written(tmp_path / "1.tif", a_tiff([(33723, UNDEFINED, IIM), (34377, UNDEFINED, resources)])))

    assert embedded_iim(found).text("2:05") == "Osk Mill"
    assert [block.where for block in found.iim] == ["TIFF tag 33723", "TIFF tag 34377, Photoshop resource 1028"]
    assert "2 blocks of IIM that differ" in found.faults[0]


def test_a_later_directory_speaks_where_the_first_is_silent(tmp_path):
    first = a_directory([(256, SHORT, [8]), (257, SHORT, [4])], at=8, following=0)
    at = 8 + len(first)
    first = a_directory([(256, SHORT, [8]), (257, SHORT, [4])], at=8, following=at)
    content = a_header(8) + first + a_directory([(700, UNDEFINED, TITLED)], at=at)

    found = find_packets(written(tmp_path / "1.tif", content))

    assert title_of(found) == "Osk Mill"
    assert found.xmp[0].where == "TIFF tag 700 of directory 2"


def test_a_packet_in_utf_16_or_padded_with_zeros_is_read(tmp_path):
    wide = TITLED.decode().removeprefix('<?xml version="1.0" encoding="UTF-8"?>').encode("utf-16")

    for place, packet in enumerate((wide, TITLED + b"\0" * 999, b"\xef\xbb\xbf" + TITLED + b" " * 2000)):
        found = find_packets(written(tmp_path / f"{place}.tif", a_tiff([(700, UNDEFINED, packet)])))
        assert title_of(found) == "Osk Mill"


# ---- JPEG


def test_a_jpeg_gives_its_packet_its_iim_and_its_exif(tmp_path):
    exif = a_header(8) + a_directory([(271, ASCII, b"Scanner works\0")], at=8)
    content = a_jpeg(
        (0xE1, b"Exif\0\0" + exif), (0xE1, XMP_SEGMENT + TITLED), (0xED, b"Photoshop 3.0\0" + a_resource(1028, IIM))
    )

    found = find_packets(written(tmp_path / "1.jpg", content))

    assert found.kind == "JPEG"
    assert title_of(found) == "Osk Mill"
    assert embedded_iim(found).text("2:120") == "Église"
    assert found.exif.get(271).text == "Scanner works"
    assert content[found.xmp[0].offset :].startswith(TITLED)
    assert content[found.iim[0].offset :].startswith(IIM)
    assert found.faults == ()


def test_resources_split_over_segments_are_read_as_one(tmp_path):
    long = format_iim([("2:25", b"keyword %d" % n) for n in range(9000)])
    resources = (
        a_resource(1000, b"x" * 99, b"odd") + a_resource(1028, long) + a_resource(1061, hashlib.md5(long).digest())
    )
    pieces = [resources[at : at + 65_000] for at in range(0, len(resources), 65_000)]
    assert len(pieces) > 2

    found = find_packets(written(tmp_path / "1.jpg", a_jpeg(*((0xED, b"Photoshop 3.0\0" + piece) for piece in pieces))))

    assert embedded_iim(found).texts("2:25")[-1] == "keyword 8999"
    assert found.iim[0].where == f"JPEG APP13, {len(pieces)} segments, Photoshop resource 1028"
    assert is_iim_changed(found) is False
    assert found.faults == ()


def an_extension(packet: bytes, *, size: int = 400, guid: str | None = None) -> list[tuple[int, bytes]]:
    """Return the APP1 segments of extended XMP (XMP part 3, extended XMP in JPEG)."""
    guid = guid or hashlib.md5(packet).hexdigest().upper()
    return [
        (0xE1, EXTENSION_SEGMENT + guid.encode() + struct.pack(">II", len(packet), at) + packet[at : at + size])
        for at in range(0, len(packet), size)
    ]


EXTENSION = a_packet(dc__subject=bag([f"keyword {n}" for n in range(100)]), dc__title=lang_alt("not this"))
NAMED = hashlib.md5(EXTENSION).hexdigest().upper()
MAIN = a_packet(dc__title=lang_alt("Osk Mill"), xmpNote__HasExtendedXMP=Text(NAMED))


@pytest.mark.parametrize("seed", range(3))
def test_extended_xmp_is_put_together_in_whatever_order_it_stands(tmp_path, seed):
    segments = an_extension(EXTENSION)
    random.Random(seed).shuffle(segments)

    found = find_packets(written(tmp_path / "1.jpg", a_jpeg((0xE1, XMP_SEGMENT + MAIN), *segments, segments[0])))

    packet, faults = embedded_packet(found)
    assert len(texts(packet.get(name("dc:subject")))) == 100
    assert texts(packet.get(name("dc:title"))) == ("Osk Mill",)
    assert packet.get(name("xmpNote:HasExtendedXMP")) is None
    assert found.extended[0].is_sound
    assert faults == found.faults == ()


def test_the_extension_of_an_earlier_writing_is_no_part_of_the_packet(tmp_path):
    leftover = an_extension(a_packet(dc__source=Text("78-14")))

    found = find_packets(
        written(tmp_path / "1.jpg", a_jpeg((0xE1, XMP_SEGMENT + MAIN), *leftover, *an_extension(EXTENSION)))
    )

    packet, _ = embedded_packet(found)
    assert packet.get(name("dc:source")) is None
    assert packet.get(name("dc:subject")) is not None
    assert len(found.extended) == 2


def test_an_extension_that_is_not_all_there_is_said_and_the_packet_kept(tmp_path):
    for place, segments in enumerate((an_extension(EXTENSION)[:-1], an_extension(EXTENSION)[1:], [])):
        found = find_packets(written(tmp_path / f"{place}.jpg", a_jpeg((0xE1, XMP_SEGMENT + MAIN), *segments)))

        assert title_of(found) == "Osk Mill"
        assert "is not in the file, or not all of it" in embedded_packet(found)[1][0]
        assert bool(found.faults) == bool(segments)


def test_an_extension_whose_digest_is_wrong_is_read_and_said(tmp_path):
    guid = "0" * 32
    main = a_packet(xmpNote__HasExtendedXMP=Text(guid))

    found = find_packets(
        written(tmp_path / "1.jpg", a_jpeg((0xE1, XMP_SEGMENT + main), *an_extension(EXTENSION, guid=guid)))
    )

    assert not found.extended[0].is_sound
    assert "no longer have the digest" in found.faults[0]
    assert title_of(found) == "not this"


def test_an_extension_that_claims_gigabytes_costs_none(tmp_path):
    claims = (0xE1, EXTENSION_SEGMENT + b"A" * 32 + struct.pack(">II", 0xFFFFFFFF, 0) + b"x" * 100)

    found = find_packets(written(tmp_path / "1.jpg", a_jpeg(claims)))

    assert found.extended == ()
    assert "more than is read of one file" in found.faults[0]


def test_a_jpeg_cut_within_a_segment_keeps_what_stands_before(tmp_path):
    content = a_jpeg((0xE1, XMP_SEGMENT + TITLED), (0xED, b"Photoshop 3.0\0" + a_resource(1028, IIM)))
    cut_at = content.index(b"Photoshop") + 60

    found = find_packets(written(tmp_path / "1.jpg", content[:cut_at]))

    assert title_of(found) == "Osk Mill"
    assert embedded_iim(found).text("2:05") == "Osk Mill"
    assert any("cut short" in fault for fault in found.faults)


# ---- PNG


@pytest.mark.parametrize("packed", [False, True])
def test_a_png_gives_its_packet_packed_or_not_and_its_exif(tmp_path, packed):
    text = zlib.compress(TITLED) if packed else TITLED
    chunk = b"XML:com.adobe.xmp\0" + bytes((packed, 0)) + b"\0\0" + text
    exif = a_header(8) + a_directory([(271, ASCII, b"Scanner works\0")], at=8)

    found = find_packets(written(tmp_path / "1.png", a_png((b"iTXt", chunk), (b"eXIf", exif))))

    assert title_of(found) == "Osk Mill"
    assert found.exif.get(271).text == "Scanner works"
    assert found.faults == ()


def test_a_png_whose_text_unpacks_without_end_is_refused_in_bounded_memory(tmp_path):
    packer = zlib.compressobj(9)
    bomb = b"".join([packer.compress(bytes(1 << 20)) for _ in range(64)]) + packer.flush()
    chunk = b"XML:com.adobe.xmp\0\1\0\0\0" + bomb

    found = find_packets(written(tmp_path / "1.png", a_png((b"iTXt", chunk))))

    assert found.xmp == ()
    assert "unpacks to more than 16,777,216 bytes" in found.faults[0]


@pytest.mark.parametrize(
    ("rest", "fault"),
    [
        (b"\1\0\0\0nonsense", "cannot be unpacked"),
        (b"\1\0\0\0" + zlib.compress(TITLED)[:-30], "packed and cut short"),
        (b"\1\5\0\0" + TITLED, "not of the form of the standard"),
        (b"\7\0\0\0" + TITLED, "not of the form of the standard"),
        (b"\0\0", "not of the form of the standard"),
        (b"", "not of the form of the standard"),
    ],
)
def test_a_png_text_that_cannot_be_read_is_named(tmp_path, rest, fault):
    found = find_packets(written(tmp_path / "1.png", a_png((b"iTXt", b"XML:com.adobe.xmp\0" + rest))))

    assert found.xmp == ()
    assert any(fault in one for one in found.faults)


def test_a_png_chunk_that_fails_its_check_sum_is_said(tmp_path):
    content = a_png((b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + TITLED)).replace(b"Osk Mill", b"Osk Hill")

    found = find_packets(written(tmp_path / "1.png", content))

    assert title_of(found) == "Osk Hill"
    assert "fails its own check sum" in found.faults[0]


def a_raw_profile(chunk: bytes, kind: str, data: bytes, stated: int | None = None) -> tuple[bytes, bytes]:
    """Return a raw profile as programs write it: name, length, digits in lines of 72, in a text chunk of that kind."""
    digits = data.hex().encode()
    lines = b"\n".join(digits[at : at + 72] for at in range(0, len(digits), 72))
    text = b"\n%s\n%8d\n%s\n" % (kind.encode(), len(data) if stated is None else stated, lines)
    keyword = f"Raw profile type {kind}".encode() + b"\0"
    rest = {b"tEXt": text, b"zTXt": b"\0" + zlib.compress(text), b"iTXt": b"\0\0\0\0" + text}[chunk]
    return chunk, keyword + rest


EXIF = a_header(8) + a_directory([(271, ASCII, b"Scanner works\0")], at=8)


@pytest.mark.parametrize("chunk", [b"tEXt", b"zTXt", b"iTXt"])
def test_a_png_gives_the_packet_the_iim_and_the_exif_of_its_raw_profiles(tmp_path, chunk):
    chunks = (
        a_raw_profile(chunk, "xmp", TITLED),
        a_raw_profile(chunk, "iptc", a_resource(1028, IIM)),
        a_raw_profile(chunk, "exif", b"Exif\0\0" + EXIF),
    )

    found = find_packets(written(tmp_path / "1.png", a_png(*chunks)))

    assert title_of(found) == "Osk Mill"
    assert embedded_iim(found).text("2:120") == "Église"
    assert found.exif.get(271).text == "Scanner works"
    assert found.faults == ()
    (block,) = found.xmp
    assert re.fullmatch(f"PNG {chunk.decode()} at byte [0-9]+, raw profile xmp", block.where)


@pytest.mark.parametrize(
    ("kind", "data"),
    [("iptc", IIM), ("8bim", a_resource(1028, IIM)), ("APP1", XMP_SEGMENT + TITLED), ("APP1", b"Exif\0\0" + EXIF)],
)
def test_a_raw_profile_is_known_by_what_it_holds(tmp_path, kind, data):
    found = find_packets(written(tmp_path / "1.png", a_png(a_raw_profile(b"zTXt", kind, data))))

    has = (bool(found.xmp), bool(found.iim), bool(found.exif.facts))
    assert has == (b"Mill" in data and data.startswith(b"http"), kind != "APP1", data.startswith(b"Exif"))


def test_a_chunk_of_its_own_kind_speaks_before_a_raw_profile(tmp_path):
    old = a_packet(dc__title=lang_alt("Osk Hill"))
    chunks = (
        a_raw_profile(b"zTXt", "xmp", old),
        a_raw_profile(b"zTXt", "exif", EXIF.replace(b"Scanner", b"Printer")),
        (b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + TITLED),
        (b"eXIf", EXIF),
    )

    found = find_packets(written(tmp_path / "1.png", a_png(*chunks)))

    assert title_of(found) == "Osk Mill"
    assert len(found.xmp) == 2
    assert found.exif.get(271).text == "Scanner works"


def test_a_raw_profile_that_unpacks_without_end_is_refused_in_bounded_memory(tmp_path):
    packer = zlib.compressobj(9)
    bomb = b"".join([packer.compress(b"0" * (1 << 20)) for _ in range(64)]) + packer.flush()

    found = find_packets(written(tmp_path / "1.png", a_png((b"zTXt", b"Raw profile type iptc\0\0" + bomb))))

    assert found.iim == ()
    assert "unpacks to more than 16,777,216 bytes" in found.faults[0]


@pytest.mark.parametrize(
    ("rest", "fault"),
    [
        (b"\niptc\n     999\n1c02\n", "has 2 bytes where it says 999"),
        (b"\niptc\n       2\n1c0\n", "its digits are damaged"),
        (b"\niptc\n       2\n1c\xc3\xa9\n", "its digits are damaged"),
        (b"\niptc\nmany\n1c02\n", "does not begin with its length"),
        (b"", "does not begin with its length"),
    ],
)
def test_a_raw_profile_that_cannot_be_read_is_named(tmp_path, rest, fault):
    found = find_packets(written(tmp_path / "1.png", a_png((b"tEXt", b"Raw profile type iptc\0" + (rest or b"\n")))))

    assert fault in found.faults[0]


@pytest.mark.parametrize("keyword", [b"Comment", b"Raw profile type icc", b"raw", b"x" * 200])
def test_other_texts_of_a_png_are_none_of_ours(tmp_path, keyword):
    found = find_packets(written(tmp_path / "1.png", a_png((b"tEXt", keyword + b"\0Osk Mill"), (b"zTXt", keyword))))

    assert (found.xmp, found.iim, found.faults) == ((), (), ())


# ---- resources and their digest


def test_resources_are_read_by_their_numbers():
    block = a_resource(1005, b"odd", b"name") + a_resource(1028, IIM) + b"\0\0"

    found = parse_resources(block)

    assert found.first(1028) == IIM
    assert [(one.number, block[one.offset : one.offset + len(one.data)]) for one in found.resources] == [
        (1005, b"odd"),
        (1028, IIM),
    ]
    assert found.faults == ()


@pytest.mark.parametrize(
    ("block", "fault"),
    [
        (b"8BIM\4", "cut short at byte 0"),
        (b"8BIM\4\4\0\0\0\0\xff\xffabc", "should have 65535 bytes, has 3"),
        (b"9BIM" + bytes(20), "none begins at byte 0"),
        (a_resource(1028, b"ab") * 5001, "more than 5,000"),
    ],
)
def test_resources_that_cannot_be_read_are_named(block, fault):
    assert fault in parse_resources(block).faults[0]


@pytest.mark.parametrize(
    ("digest", "changed"),
    [
        (hashlib.md5(IIM).digest(), False),
        (hashlib.md5(b"as it was").digest(), True),
        (None, None),
        (b"short", None),
    ],
)
def test_the_digest_says_whether_the_iim_was_changed_since(tmp_path, digest, changed):
    # XMP part 3 §2.1: resource 1061 is the MD5 of resource 1028.
    resources = a_resource(1028, IIM) + (a_resource(1061, digest) if digest else b"")

    found = find_packets(written(tmp_path / "1.jpg", a_jpeg((0xED, b"Photoshop 3.0\0" + resources))))

    assert is_iim_changed(found) is changed


def test_the_padding_of_iim_stored_as_words_is_no_change(tmp_path):
    padded = IIM.ljust(-(-len(IIM) // 4) * 4 + 4, b"\0")
    resources = a_resource(1061, hashlib.md5(IIM).digest())

    found = find_packets(
        written(tmp_path / "1.tif", a_tiff([(33723, UNDEFINED, padded), (34377, UNDEFINED, resources)]))
    )

    assert is_iim_changed(found) is False


# ---- what an independent writer puts in, and files that are none


@pytest.mark.parametrize("kind", ["JPEG", "TIFF", "PNG"])
def test_what_exiv2_writes_is_found(tmp_path, kind):
    import exiv2

    path = tmp_path / f"1.{kind.lower()}"
    Image.new("L", (8, 8)).save(path, kind)
    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    image.xmpData()["Xmp.dc.title"] = "lang=x-default Osk Mill"
    image.iptcData()["Iptc.Application2.Caption"] = "Église"
    image.iptcData()["Iptc.Envelope.CharacterSet"] = "\x1b%G"
    image.exifData()["Exif.Image.Make"] = "Scanner works"
    image.writeMetadata()

    found = find_packets(path)

    assert title_of(found) == "Osk Mill"
    assert found.exif.get(271).text == "Scanner works"
    assert embedded_iim(found).text("2:120") == "Église"  # in a PNG in a raw profile


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "it is empty"),
        (b"\0" * 99, "begins like no TIFF"),
        (b"II*\0", "begins like no TIFF"),
        (b"GIF89a..", "no TIFF"),
    ],
)
def test_what_is_no_picture_is_refused_by_name(tmp_path, content, reason):
    with pytest.raises(FileFormatError, match=f"1.tif: not a picture: .*{reason}"):
        find_packets(written(tmp_path / "1.tif", content))


def test_what_cannot_be_opened_is_refused_by_name(tmp_path):
    with pytest.raises(FileFormatError, match="cannot be read"):
        find_packets(tmp_path / "gone.tif")
    with pytest.raises(FileFormatError, match="a folder, pipe or device"):
        find_packets(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.tif")

    with pytest.raises(FileFormatError, match="a folder, pipe or device"):
        find_packets(tmp_path / "pipe.tif")


def test_reading_alters_no_file(tmp_path):
    path = written(tmp_path / "1.tif", a_tiff([(700, UNDEFINED, TITLED)]))
    before = (path.read_bytes(), path.stat().st_mtime_ns)

    find_packets(path)

    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_one_file_cannot_make_us_hold_more_than_the_limit(tmp_path):
    # Sixty directories that each name the same ten megabytes as their packet; each takes 18 bytes.
    body = b" " * (10 << 20)
    at = 8 + len(body)
    content = a_header(at) + body
    for place in range(1, 61):
        following = at + 18 * place if place < 60 else 0
        content += struct.pack("<HHHIII", 1, 700, UNDEFINED, len(body), 8, following)

    found = find_packets(written(tmp_path / "1.tif", content))

    assert sum(len(block.data) for block in found.xmp) <= 40 << 20
    assert "more than is read of one file" in found.faults[0]
