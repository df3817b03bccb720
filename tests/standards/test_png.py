"""PNG in one pass: against Pillow, and against harm."""

from __future__ import annotations

import hashlib
import io
import struct
import zlib

import pytest
from PIL import Image, ImageCms, PngImagePlugin

from catalog.standards.byte_stream import ByteStream
from catalog.standards.png import SIGNATURE, PngFile, is_png, read_png
from tests.picture_files import a_png_chunk


def read(content: bytes, chunk_bytes: int = 1 << 20) -> tuple[PngFile, str]:
    digest, picture = hashlib.sha256(), hashlib.sha256()
    found = read_png(ByteStream(io.BytesIO(content), digest=digest, chunk_bytes=chunk_bytes), picture)
    assert digest.hexdigest() == hashlib.sha256(content).hexdigest()
    return found, picture.hexdigest()


def a_png(mode: str = "L", size: tuple[int, int] = (60, 40), **options: object) -> bytes:
    out = io.BytesIO()
    noise = Image.effect_noise(size, 80)
    (noise if mode == "L" else noise.convert(mode)).save(out, "PNG", **options)
    return out.getvalue()


def by_hand(*chunks: tuple[bytes, bytes]) -> bytes:
    return SIGNATURE + b"".join(a_png_chunk(kind, data) for kind, data in chunks)


HEADER = (b"IHDR", struct.pack(">IIBBBBB", 4, 2, 8, 0, 0, 0, 0))
PIXELS = (b"IDAT", zlib.compress(bytes(10)))
END = (b"IEND", b"")


@pytest.mark.parametrize("mode", ["1", "L", "LA", "I;16", "P", "RGB", "RGBA"])
def test_a_file_has_the_size_depth_and_kind_that_was_saved(mode):
    content = a_png(mode, dpi=(300, 300))

    found, _ = read(content)

    # PNG §11.2.2, Table 11.1.
    bits, colour_type = {
        "1": (1, 0),
        "L": (8, 0),
        "LA": (8, 4),
        "I;16": (16, 0),
        "P": (8, 3),
        "RGB": (8, 2),
        "RGBA": (8, 6),
    }[mode]
    assert (found.width, found.height, found.bits, found.colour_type) == (60, 40, bits, colour_type)
    assert found.pixels_per_metre == (11811, 11811)
    assert found.damage is None


def test_the_picture_is_the_data_of_its_idat_chunks():
    found, digest = read(by_hand(HEADER, (b"IDAT", b"abc"), (b"IDAT", b"defg"), END))

    assert found.damage is None
    assert digest == hashlib.sha256(b"abcdefg").hexdigest()


def test_texts_profile_and_resolution_leave_the_picture_as_it_was():
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Description", "Priors Lode, the granary")
    texts.add_itxt("Title", "Żuraw", lang="pl")
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    image = Image.effect_noise((60, 40), 80)
    plain, dressed = io.BytesIO(), io.BytesIO()
    image.save(plain, "PNG")
    image.save(dressed, "PNG", pnginfo=texts, icc_profile=profile, dpi=(600, 600))

    found, digest = read(dressed.getvalue())

    assert digest == read(plain.getvalue())[1]
    assert dict(found.texts) == {"Description": "Priors Lode, the granary", "Title": "Żuraw"}
    assert found.profile == profile


@pytest.mark.parametrize("chunk_bytes", [1, 5, 100])
def test_the_size_of_the_chunks_changes_nothing(chunk_bytes):
    content = a_png("RGB")

    assert read(content, chunk_bytes) == read(content)


@pytest.mark.parametrize("kind", [b"IHDR", b"IDAT", b"IEND"])
def test_a_flipped_bit_fails_the_check_sum_of_its_chunk(kind):
    content = bytearray(a_png())
    content[content.index(kind) + len(kind) + (0 if kind == b"IEND" else 2)] ^= 1

    found, _ = read(bytes(content))

    assert found.damage.startswith(f"damaged: the chunk {kind.decode()} ")
    assert "check sum" in found.damage


@pytest.mark.parametrize("share", [0.1, 0.5, 0.99])
def test_a_png_that_is_cut_short_says_so(share):
    whole = a_png(size=(200, 200))
    cut = whole[: int(len(whole) * share)]

    found, _ = read(cut)

    assert "cut short" in found.damage
    assert found.damage.endswith(f"has {len(cut)})")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (SIGNATURE, "cut short"),
        (by_hand(HEADER, PIXELS), "cut short"),
        (by_hand(HEADER, END), "no picture data"),
        (by_hand(PIXELS, END), "no header"),
        (by_hand((b"IHDR", bytes(13)), PIXELS, END), "no width"),
        (by_hand((b"IHDR", bytes(5)), PIXELS, END), "no header"),
        (by_hand(HEADER) + b"\xff\xff\xff\xffIDAT", "no chunk"),
        (by_hand(HEADER) + b"\0\0\0\0\1\2\3\4", "no chunk"),
    ],
)
def test_what_is_no_sound_png_is_named(content, words):
    assert words in read(content)[0].damage


def test_a_profile_that_unpacks_to_gigabytes_is_cut():
    bomb = zlib.compress(bytes(200 << 20))

    found, _ = read(by_hand(HEADER, (b"iCCP", b"bomb\0\0" + bomb), PIXELS, END))

    assert len(found.profile) == 8 << 20


def test_a_profile_that_does_not_unpack_is_none():
    found, _ = read(by_hand(HEADER, (b"iCCP", b"broken\0\0zzzz"), PIXELS, END))

    assert (found.profile_name, found.profile, found.damage) == ("broken", None, None)


def test_texts_beyond_the_room_for_them_are_passed_over():
    huge = (b"tEXt", b"Comment\0" + b"x" * (9 << 20))

    found, digest = read(by_hand(HEADER, huge, PIXELS, END))

    assert found.texts == ()
    assert digest == read(by_hand(HEADER, PIXELS, END))[1]


def test_a_png_is_known_by_its_first_bytes():
    assert is_png(SIGNATURE + b"more")
    assert not is_png(b"\x89PNG\n\n\x1a\n")
