"""JPEG in one pass: against Pillow, against a plain second reading of the segments, and against harm."""

from __future__ import annotations

import hashlib
import io
import struct

import pytest
from PIL import Image

from catalog.standards.byte_stream import ByteStream
from catalog.standards.jpeg import MAX_SEGMENTS, JpegFile, is_jpeg, read_jpeg
from tests.picture_files import with_segment
from tests.reference_samples import PICTURES, sample

JPEGS = [name for name in PICTURES if name.endswith(".jpg")]


def read(content: bytes, chunk_bytes: int = 1 << 20) -> tuple[JpegFile, str]:
    digest, picture = hashlib.sha256(), hashlib.sha256()
    found = read_jpeg(ByteStream(io.BytesIO(content), digest=digest, chunk_bytes=chunk_bytes), picture)
    assert digest.hexdigest() == hashlib.sha256(content).hexdigest()
    return found, picture.hexdigest()


def a_jpeg(mode: str = "RGB", size: tuple[int, int] = (60, 40), **options: object) -> bytes:
    out = io.BytesIO()
    noise = Image.effect_noise(size, 80)
    noise.convert(mode).save(out, "JPEG", **options)
    return out.getvalue()


def picture_of(content: bytes) -> bytes:
    """Return a JPEG up to its end without APPn and COM, by slicing; none may stand after the scan."""
    kept, at = content[:2], 2
    while content[at + 1] != 0xDA:
        length = 2 + struct.unpack(">H", content[at + 2 : at + 4])[0]
        if not (0xE0 <= content[at + 1] <= 0xEF or content[at + 1] == 0xFE):
            kept += content[at : at + length]
        at += length
    return kept + content[at : content.index(b"\xff\xd9", at) + 2]


@pytest.mark.parametrize("name", JPEGS)
def test_a_real_file_has_the_size_that_pillow_finds(name):
    path = sample(name)

    found, _ = read(path.read_bytes())

    with Image.open(path) as theirs:
        assert (found.width, found.height, len(found.components)) == (*theirs.size, len(theirs.getbands()))
        assert found.profile == theirs.info.get("icc_profile")
        assert (found.exif is not None) == ("exif" in theirs.info)
    assert found.bits == 8
    assert found.damage is None


@pytest.mark.parametrize("name", JPEGS)
def test_the_picture_is_the_file_without_app_and_com_segments(name):
    content = sample(name).read_bytes()

    _, digest = read(content)

    assert digest == hashlib.sha256(picture_of(content)).hexdigest()


@pytest.mark.parametrize("chunk_bytes", [1, 2, 3, 7, 64, 1000])
@pytest.mark.parametrize("options", [{}, {"progressive": True}, {"restart_marker_blocks": 1}])
def test_the_size_of_the_chunks_changes_nothing(chunk_bytes, options):
    content = with_segment(a_jpeg(**options), 0xE1, b"Exif\0\0II*\0")

    assert read(content, chunk_bytes) == read(content)


def test_a_caption_a_profile_and_a_comment_leave_the_picture_as_it_was():
    plain = a_jpeg()
    dressed = plain
    for code, payload in (
        (0xFE, b"Osk Mill"),
        (0xE1, b"Exif\0\0MM\0*"),
        (0xED, b"Photoshop 3.0\0"),
        (0xE2, b"ICC_PROFILE\0\1\1abc"),
    ):
        dressed = with_segment(dressed, code, payload)

    _, before = read(plain)
    found, after = read(dressed)

    assert after == before
    assert found.profile == b"abc"


def test_one_bit_of_the_coded_picture_changes_the_digest():
    content = bytearray(a_jpeg(size=(200, 200)))
    _, before = read(bytes(content))
    at = next(
        at for at in range(len(content) // 2, len(content)) if 0x10 < content[at] < 0xF0 and content[at - 1] != 0xFF
    )
    content[at] ^= 1

    _, after = read(bytes(content))

    assert after != before


def test_a_comment_between_the_scans_of_a_progressive_picture_is_left_out():
    plain = a_jpeg(progressive=True)
    second_scan = plain.index(b"\xff\xda", plain.index(b"\xff\xda") + 2)

    _, before = read(plain)
    found, after = read(with_segment(plain, 0xFE, b"a note", at=second_scan))

    assert found.process == "progressive"
    assert after == before


def test_fill_bytes_before_a_marker_are_no_damage():
    plain = a_jpeg()

    found, digest = read(plain[:2] + b"\xff" * 5 + plain[2:])

    assert found.damage is None
    assert digest == read(plain)[1]


def test_what_stands_after_the_end_is_counted_and_is_no_picture():
    plain = a_jpeg()

    found, digest = read(plain + b"a second picture")

    assert found.bytes_after == 16
    assert digest == read(plain)[1]


def test_pieces_of_a_profile_are_put_in_order():
    content = a_jpeg()
    for number, piece in ((1, b"one "), (3, b"three"), (2, b"two ")):
        content = with_segment(content, 0xE2, b"ICC_PROFILE\0" + bytes((number, 3)) + piece)

    assert read(content)[0].profile == b"one two three"


def test_a_height_that_comes_after_the_scan_is_found():
    # T.81 B.2.5: a frame of 0 lines, and a DNL segment after the first scan.
    content = bytearray(a_jpeg(size=(60, 40)))
    frame = content.index(b"\xff\xc0")
    content[frame + 5 : frame + 7] = b"\0\0"
    content = content[:-2] + b"\xff\xdc\0\4\0\x28" + content[-2:]

    found, _ = read(bytes(content))

    assert (found.width, found.height) == (60, 40)


@pytest.mark.parametrize("mode", ["L", "RGB", "CMYK"])
def test_the_components_are_counted(mode):
    found, _ = read(a_jpeg(mode))

    assert len(found.components) == {"L": 1, "RGB": 3, "CMYK": 4}[mode]


# -- harm -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.02, 0.2, 0.5, 0.9, 0.999])
def test_a_jpeg_that_is_cut_short_says_so(share):
    whole = a_jpeg(size=(200, 200))
    cut = whole[: int(len(whole) * share)]

    found, _ = read(cut)

    assert "cut short" in found.damage
    assert f"has {len(cut)})" in found.damage


def test_a_segment_past_the_end_says_how_long_the_file_should_be():
    whole = a_jpeg()

    found, _ = read(whole[:2] + b"\xff\xe1\xff\xff" + b"Exif\0\0")

    assert "needs at least 65539 bytes, has 12" in found.damage


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\xff\xd8\xff\xe0\0\1", "a segment of 1 bytes"),
        (b"\xff\xd8\xff\xe0\0\4abXX", "no marker"),
        (b"\xff\xd8\xff\x00", "no marker"),
        (b"\xff\xd8\xff", "cut short"),
        (b"\xff\xd8\xff\xff\xff\xff", "cut short"),
        (b"\xff\xd8\xff\xd9", "no frame"),
        (b"\xff\xd8\xff\xc0\0\4ab\xff\xd9", "no frame"),
    ],
)
def test_what_is_no_sound_jpeg_is_named(content, words):
    found, _ = read(content)

    assert words in found.damage
    assert found.width is None


def test_a_file_of_nothing_but_segments_is_given_up():
    found, _ = read(b"\xff\xd8" + b"\xff\xfe\0\2" * (MAX_SEGMENTS + 10))

    assert "segments" in found.damage


def test_a_file_of_ff_only_ends():
    found, _ = read(b"\xff\xd8" + b"\xff" * 3_000_000)

    assert "cut short" in found.damage


def test_a_jpeg_is_known_by_its_first_bytes():
    assert is_jpeg(b"\xff\xd8\xff\xe0")
    assert not is_jpeg(b"\xff\xd8")
    assert not is_jpeg(b"\xff\xd9\xff")
