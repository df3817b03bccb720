"""What is written can be read back, by us and by others, and is the same bytes for the same content."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.errors import XmpError
from catalog.standards.xmp import (
    NAMESPACES,
    TIEBEAM,
    Array,
    Name,
    Packet,
    Struct,
    Text,
    Uri,
    bag,
    clean_text,
    fingerprint,
    format_packet,
    join_pieces,
    lang_alt,
    name,
    parse_packet,
    seq,
    struct,
    texts,
    write_piece,
)
from catalog.standards.xmp_tiebeam import MEMBERS, PROPERTIES
from tests.standards.xmp_oracles import (
    exempi_forms,
    exempi_leaves,
    exiv2_values,
    needs_exempi,
    our_forms,
    our_leaves,
)

EX = "http://example.org/valley/"


def ex(local: str) -> Name:
    return Name(EX, local)


# ---- any packet we can build


NAMES = st.builds(
    Name,
    st.sampled_from([*NAMESPACES.values(), EX, "urn:example:odd&'ns'#", "a"]),
    st.sampled_from(["mill", "Bays", "_1", "église", "a-b.c", "li", "value", "lang"]),
)
# Surrogates too: a file name that is no UTF-8 brings them in.
WORDS = st.text(st.characters(exclude_categories=()), max_size=12)
LANGUAGES = st.none() | st.sampled_from(["x-default", "en", "EN-gb", 'odd"&\n'])


@st.composite
def pairs(draw: st.DrawFn, values: st.SearchStrategy, max_size: int = 3) -> tuple:
    return tuple((named, draw(values)) for named in draw(st.lists(NAMES, max_size=max_size, unique=True)))


def with_qualifiers(make: object, *parts: st.SearchStrategy, values: st.SearchStrategy) -> st.SearchStrategy:
    return st.builds(make, *parts, language=LANGUAGES, qualifiers=st.just(()) | pairs(values, 2))


SIMPLE = st.builds(Text, WORDS, language=LANGUAGES) | st.builds(Uri, WORDS, language=LANGUAGES)
VALUES = st.recursive(
    SIMPLE,
    lambda inner: st.one_of(
        with_qualifiers(Text, WORDS, values=inner),
        with_qualifiers(Uri, WORDS, values=inner),
        with_qualifiers(Struct, pairs(inner), values=inner),
        with_qualifiers(
            Array,
            st.sampled_from(["Bag", "Seq", "Alt"]),
            st.lists(inner, max_size=3).map(tuple),
            values=inner,
        ),
    ),
    max_leaves=8,
)
PREFIXES = st.lists(st.tuples(st.sampled_from([EX, "a"]), st.sampled_from(["ex", "dc", "xml1", "rdf", ""])), max_size=2)
PACKETS = st.builds(Packet, pairs(VALUES, 5), WORDS, PREFIXES.map(tuple))


@settings(max_examples=300, deadline=None)
@given(PACKETS)
def test_any_packet_survives_writing_and_reading_byte_for_byte(packet):
    data = format_packet(packet)

    back = parse_packet(data)

    assert back == packet
    assert format_packet(back) == data


@settings(max_examples=100, deadline=None)
@given(PACKETS)
def test_a_packet_written_in_pieces_has_the_same_bytes(packet):
    pieces = {named: piece for named, value in packet if (piece := write_piece(named, value)) is not None}

    assert format_packet(packet, pieces) == format_packet(packet)
    known = Packet(tuple((named, value) for named, value in packet if named in pieces))
    assert join_pieces(pieces.values()) == format_packet(known)


def test_a_namespace_without_a_prefix_of_its_own_is_written_only_with_its_packet():
    foreign = Name("http://example.org/valley/", "Drawer")

    assert write_piece(foreign, Text("7")) is None
    assert write_piece(name("dc:title"), struct({foreign: "7"})) is None
    assert write_piece(name("dc:title"), Text("7", qualifiers=((foreign, Text("7")),))) is None


@given(PACKETS, st.randoms())
def test_the_order_of_properties_makes_no_difference(packet, random):
    shuffled = list(packet.properties)
    random.shuffle(shuffled)

    assert format_packet(Packet(tuple(shuffled), packet.about, packet.prefixes)) == format_packet(packet)


# XML 1.0 (fifth edition) [2]: the characters a document may hold, written out independently of the program.
def is_xml_character(letter: str) -> bool:
    code = ord(letter)
    return code in (9, 10, 13) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or 0x10000 <= code <= 0x10FFFF


@given(st.text(st.characters(exclude_categories=())))
def test_cleaned_text_holds_only_what_xml_allows(words):
    cleaned = clean_text(words)

    assert all(map(is_xml_character, cleaned))
    assert clean_text(cleaned) == cleaned


@given(st.text(st.characters(exclude_categories=()).filter(is_xml_character)))
def test_text_that_xml_allows_is_not_touched(words):
    assert clean_text(words) == words


# cases.md C05: a soft return from an old database's export.
@pytest.mark.parametrize(
    ("noted", "kept"),
    [
        ("moved\x0bto new site", "moved\nto new site"),
        ("page one\x0cpage two", "page one\npage two"),
        ("a\x1db\x1ec", "a\nb\nc"),
        ("bell\x07 and null\x00", "bell[U+0007] and null[U+0000]"),
        ("name \udcc9glise", "name [U+DCC9]glise"),
        ("tab\tand\r\nreturn", "tab\tand\r\nreturn"),
    ],
)
def test_control_characters_become_line_breaks_or_are_named(noted, kept):
    packet = Packet(((name("dc:description"), lang_alt(noted)), (ex("uri"), Uri(noted))))

    back = parse_packet(format_packet(packet))

    assert texts(back.get(name("dc:description"))) == (kept,)
    assert texts(back.get(ex("uri"))) == (kept,)


# ---- names


def test_our_namespace_is_fixed_for_ever():
    assert TIEBEAM == "urn:uuid:bc96d705-db8b-49d1-aac0-9649c9219683#"
    assert NAMESPACES["tiebeam"] == TIEBEAM


@pytest.mark.parametrize(
    "wrong",
    [
        Name(EX, "two words"),
        Name(EX, ""),
        Name(EX, "1st"),
        Name("", "mill"),
        Name("a\x00b", "mill"),
        Name("http://example.org/my valley/", "mill"),
        Name("http://example.org/vallée/", "mill"),
        Name("http://www.w3.org/1999/02/22-rdf-syntax-ns#", "li"),
        Name("http://www.w3.org/XML/1998/namespace", "lang"),
    ],
)
def test_a_name_that_xmp_cannot_hold_is_refused(wrong):
    with pytest.raises(XmpError):
        Packet(((wrong, Text("Osk")),))
    with pytest.raises(XmpError):
        Struct(((wrong, Text("Osk")),))


def test_a_prefix_we_do_not_know_is_refused():
    with pytest.raises(XmpError, match="no prefix that this program knows"):
        name("mystery:thing")


# ---- the form; XMP part 1 §7, part 3 "External storage of metadata"


def test_a_sidecar_is_a_complete_document_with_a_declaration():
    data = format_packet(Packet(((name("dc:title"), lang_alt("Osk & Son")),)))

    assert data.startswith(b'<?xml version="1.0" encoding="UTF-8"?>\n<x:xmpmeta ')
    assert data.endswith(b"</x:xmpmeta>\n")
    # XMP part 1 §7.4, §7.9.2: rdf:about is written, and none of the forms a writer must not use.
    assert b'rdf:about=""' in data
    assert all(form not in data for form in (b"Literal", b"rdf:_1", b"rdf:ID", b"rdf:nodeID"))


def test_the_default_language_comes_first_and_stands_again_under_its_own():
    value = lang_alt("Osk Mill", "en")

    assert [(item.language, item.value) for item in value.items] == [
        ("x-default", "Osk Mill"),
        ("en", "Osk Mill"),
    ]


@given(VALUES, VALUES)
@settings(deadline=None)
def test_values_have_the_same_fingerprint_when_they_are_equal_and_only_then(one, other):
    assert (fingerprint(one) == fingerprint(other)) == (one == other)


def test_fingerprints_stay_the_same_through_versions():
    # Sidecars hold these; they were worked out by the first version and must never change.
    assert fingerprint(Text("Osk Mill")) == "18feb86cb8c7"
    assert fingerprint(bag(["mill", "wheel"])) == "fa68251858ac"


# ---- other readers


ALL_FORMS = Packet(
    (
        (
            name("dc:title"),
            Array(
                "Alt",
                (
                    Text("Osk Mill", language="x-default"),
                    Text("Osk Mill", language="en"),
                    Text("Moulin", language="fr"),
                ),
            ),
        ),
        (name("dc:creator"), seq(["Ida Thornwick", "Second, Name; with punctuation"])),
        (name("dc:subject"), bag(["Hill, East", "mill", "Église"])),
        (name("photoshop:DateCreated"), Text("1978-08")),
        (
            name("Iptc4xmpExt:DigitalSourceType"),
            Uri("http://cv.iptc.org/newscodes/digitalsourcetype/negativeFilm"),
        ),
        (name("xmp:Identifier"), bag([Text("78-14", qualifiers=((name("xmpidq:Scheme"), Text("sleeve")),))])),
        (ex("plain"), Text('a < b & c > "d"\n\tnext\rline')),
        (ex("empty"), Text("")),
        (ex("alt"), Array("Alt", (Text("one"), Text("two")))),
        (
            ex("building"),
            Struct(((ex("name"), lang_alt("Osk Mill")), (ex("site"), Struct(((ex("place"), Text("Osk")),))))),
        ),
        (ex("several"), bag([Struct(((ex("bays"), Text("4")),)), Struct(((ex("bays"), Text("5")),))])),
        (Name(TIEBEAM, "Exposed"), Struct(((Name(TIEBEAM, "Edtf"), Text("1978-08~")),))),
    ),
    prefixes=((EX, "valley"),),
)


@needs_exempi
def test_exempi_reads_every_form_with_its_value_and_type():
    data = format_packet(ALL_FORMS)

    assert exempi_leaves(data) == our_leaves(ALL_FORMS)
    assert exempi_forms(data) == our_forms(ALL_FORMS)


def test_exiv2_reads_every_form_with_its_value_and_type(tmp_path):
    path = tmp_path / "all.xmp"
    path.write_bytes(format_packet(ALL_FORMS))

    found = exiv2_values(path)

    # exiv2 lists the other languages in an order of its own.
    assert found["Xmp.dc.title"] == (
        "LangAlt",
        'lang="x-default" Osk Mill, lang="fr" Moulin, lang="en" Osk Mill',
    )
    assert found["Xmp.dc.creator"] == ("XmpSeq", "Ida Thornwick, Second, Name; with punctuation")
    assert found["Xmp.dc.subject"] == ("XmpBag", "Hill, East, mill, Église")
    assert found["Xmp.photoshop.DateCreated"][1] == "1978-08"
    assert found["Xmp.iptcExt.DigitalSourceType"][1].endswith("/negativeFilm")
    assert found["Xmp.valley.plain"][1] == 'a < b & c > "d"\n\tnext\rline'
    assert found["Xmp.valley.alt"] == ("XmpAlt", "one, two")
    assert found["Xmp.valley.building/valley:site/valley:place"][1] == "Osk"
    assert found["Xmp.valley.several[2]/valley:bays"][1] == "5"
    assert found["Xmp.tiebeam.Exposed/tiebeam:Edtf"][1] == "1978-08~"


# ---- our namespace, for other programs to read


def test_the_page_on_our_namespace_has_every_row_of_its_table():
    page = (Path(__file__).parents[2] / "docs" / "standards" / "tiebeam-namespace.md").read_text("utf-8")

    rows = [f"| `{local}` | `{kind}` | {meaning} |" for local, kind, meaning in PROPERTIES]
    for holder, members in MEMBERS.items():
        rows.append(f"### {holder}")
        rows += [f"| `{local}` | `{kind}` | {meaning} |" for local, kind, meaning in members]
    found = [line for line in page.splitlines() if line.startswith(("| `", "### "))]

    assert found == rows
    assert TIEBEAM in page


# The page's own description of a check sum, followed by hand.
def test_a_check_sum_is_what_the_page_says_it_is():
    spelled = "=en\x010\x00Text\x00Osk Mill"

    assert fingerprint(Text("Osk Mill", language="en")) == sha256(spelled.encode()).hexdigest()[:12]
