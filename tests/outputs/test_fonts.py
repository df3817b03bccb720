"""Letters that can be set, and those that are refused by name."""

from __future__ import annotations

import random
import struct
from contextlib import suppress
from pathlib import Path

import pytest

from catalog.errors import FontError, LettersError
from catalog.outputs.fonts import Face, check_letters, load_fonts, missing_letters

TYPEFACES = Path(__file__).parents[2] / "catalog" / "outputs" / "typefaces"


@pytest.mark.parametrize("face", Face)
@pytest.mark.parametrize("name", ["Церковь", "Łódź", "Žďár nad Sázavou", "Αθήνα", "½ × 40 €", "“Oske”"])
def test_the_letters_of_europe_are_there(face: Face, name: str):
    assert missing_letters(name, load_fonts(), face) == ()


def test_letters_that_are_not_there_are_refused_by_name():  # case I01
    with pytest.raises(LettersError) as refused:
        check_letters("the buyer's name", "教会", load_fonts())

    assert refused.value.letters == ("教", "会")
    assert "the buyer's name: DejaVu Serif has no letter for 教 (U+6559) 会 (U+4F1A)" in str(refused.value)


@pytest.mark.parametrize(
    ("text", "script"),
    [("كنيسة", "Arabic"), ("כנסייה", "Hebrew"), ("गिरजाघर", "Devanagari"), ("โบสถ์", "Thai")],
)
@pytest.mark.parametrize("face", [Face.SANS, Face.SERIF])  # the first has drawings for Arabic and Hebrew
def test_a_script_that_needs_shaping_is_refused_by_its_name(face: Face, text: str, script: str):
    with pytest.raises(LettersError, match=f"{script} letters need shaping"):
        check_letters("the title", text, load_fonts(), face)


def test_a_mark_typed_after_its_letter_is_joined_to_it():
    drawn = check_letters("the place", "Ło\u0301dz\u0301", load_fonts())

    assert drawn == "Łódź"


def test_what_turns_the_direction_of_writing_is_refused():
    with pytest.raises(LettersError, match=r"U\+202E"):
        check_letters("the buyer's name", "Ida\u202ekciwnrohT", load_fonts())


def test_what_is_never_seen_is_left_out():
    assert check_letters("the note", "mill\u00adrace\u200b\tat\r\nOsk", load_fonts()) == "millrace at\nOsk"


def test_the_licence_lies_beside_the_typefaces():
    licence = (TYPEFACES / "LICENSE.txt").read_text("utf-8")

    assert "Bitstream Vera" in licence
    assert "Permission is hereby granted, free of charge" in licence
    assert sorted(path.stem for path in TYPEFACES.glob("*.ttf")) == sorted(face.value for face in Face)


def test_a_typeface_of_ones_own_is_used_for_every_face(tmp_path: Path):
    own = tmp_path / "own.ttf"
    own.write_bytes((TYPEFACES / "DejaVuSerif-Italic.ttf").read_bytes())

    fonts = load_fonts(own)

    assert {fonts.name(face) for face in Face} == {fonts.name(Face.SANS)}
    assert fonts.title(Face.SANS) == "DejaVu Serif"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is damaged, or no TrueType file"),
        (b"%PDF-1.4 no typeface", "is damaged, or no TrueType file"),
        (b"OTTO" + bytes(200), "only TrueType outlines can be embedded"),
        (b"\x00\x01\x00\x00\xff\xff" + bytes(64), "is damaged, or no TrueType file"),
    ],
)
def test_what_is_no_typeface_is_named(tmp_path: Path, content: bytes, says: str):
    path = tmp_path / "mine.ttf"
    path.write_bytes(content)

    with pytest.raises(FontError, match=rf"mine\.ttf: .*{says}"):
        load_fonts(path)


def test_a_typeface_that_is_not_there_is_named(tmp_path: Path):
    with pytest.raises(FontError, match=r"mine\.ttf: is not there"):
        load_fonts(tmp_path / "mine.ttf")


def test_a_typeface_that_may_not_be_embedded_is_refused(tmp_path: Path):
    # OpenType 1.9, OS/2 fsType: value 2 is "Restricted License embedding".
    content = bytearray((TYPEFACES / "DejaVuSerif.ttf").read_bytes())
    os2 = content.index(b"OS/2")
    (offset,) = struct.unpack_from(">L", content, os2 + 8)
    struct.pack_into(">H", content, offset + 8, 2)
    path = tmp_path / "closed.ttf"
    path.write_bytes(content)

    with pytest.raises(FontError, match="does not allow it to be embedded"):
        load_fonts(path)


def test_a_typeface_that_claims_more_letters_than_there_are_is_refused(tmp_path: Path):
    # A group of OpenType's cmap format 12 may say 0 to 2**32 - 1; believed, it would fill the machine's memory.
    content = bytearray((TYPEFACES / "DejaVuSans.ttf").read_bytes())
    cmap = content.index(b"cmap")
    (offset,) = struct.unpack_from(">L", content, cmap + 8)
    group = content.index(struct.pack(">HH", 12, 0), offset) + 16
    struct.pack_into(">LL", content, group, 0, 0xFFFFFFFF)
    path = tmp_path / "endless.ttf"
    path.write_bytes(content)

    with pytest.raises(FontError, match="is damaged"):
        load_fonts(path)


def test_a_damaged_typeface_ends_in_words(tmp_path: Path):
    whole = (TYPEFACES / "DejaVuSerif-Italic.ttf").read_bytes()
    chance = random.Random(5)

    for turn in range(60):
        damaged = bytearray(whole[: chance.randrange(len(whole))] if turn % 3 == 0 else whole)
        for _ in range(8):
            damaged[chance.randrange(min(len(damaged), 600))] = chance.randrange(256)
        path = tmp_path / f"{turn}.ttf"
        path.write_bytes(damaged)

        with suppress(FontError):  # anything else is a fault; damage that changes no drawing is none
            assert load_fonts(path).name(Face.SERIF).startswith("Own-")
