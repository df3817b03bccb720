"""Writing our properties into a packet that others wrote: theirs stay, in value and in structure."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.standards.xmp import (
    TIEBEAM,
    Array,
    Name,
    Packet,
    Struct,
    Text,
    Uri,
    bag,
    fingerprint,
    format_packet,
    lang_alt,
    merge,
    name,
    parse_packet,
    seq,
    texts,
)
from catalog.standards.xmp_merge import _kept_digest
from tests.standards.test_xmp_writing import PACKETS, VALUES
from tests.standards.xmp_oracles import exempi_leaves, needs_exempi

TITLE, SUBJECT, CREATED = name("dc:title"), name("dc:subject"), name("photoshop:DateCreated")
STRANGE = Name("http://example.org/unknown/1.0/", "note")


# cases.md C01: a sidecar with tiff:, exif: and an unknown namespace; one title is added.
def test_adding_a_title_takes_nothing_from_others():
    foreign = Packet(
        (
            (name("tiff:Make"), Text("Scanner works")),
            (name("exif:UserComment"), Array("Alt", (Text("two passes", language="x-default"),))),
            (STRANGE, Struct(((STRANGE, Text("kept", qualifiers=((STRANGE, Uri("urn:example:q")),))),))),
        )
    )

    merged = merge(foreign, {TITLE: lang_alt("Osk Mill")})

    assert merged.get(TITLE) == lang_alt("Osk Mill")
    assert {named: value for named, value in merged if named != TITLE} == dict(foreign)


# cases.md C03: a title in two languages; a keyword with a comma.
def test_other_languages_and_keywords_with_commas_stay():
    foreign = Packet(
        (
            (TITLE, Array("Alt", (Text("Mill", language="x-default"), Text("Moulin", language="fr")))),
            (SUBJECT, bag(["Hill, East"])),
        )
    )

    merged = merge(foreign, {TITLE: lang_alt("Osk Mill", "en"), SUBJECT: bag(["mill"])})

    assert [(item.language, item.value) for item in merged.get(TITLE).items] == [
        ("x-default", "Osk Mill"),
        ("en", "Osk Mill"),
        ("fr", "Moulin"),
    ]
    assert texts(merged.get(SUBJECT)) == ("Hill, East", "mill")


# XMP part 1 §8.2.2.4: the default stands again under its real language, so that one follows.
def test_the_repetition_of_the_default_follows_it():
    foreign = Packet(((TITLE, lang_alt("Mill", "en-GB")),))

    merged = merge(foreign, {TITLE: lang_alt("Osk Mill")})

    assert merged.get(TITLE) == lang_alt("Osk Mill", "en-GB")


def test_languages_are_compared_without_case():
    foreign = Packet(((TITLE, Array("Alt", (Text("Mill", language="X-Default"), Text("Moulin", language="FR")))),))

    merged = merge(foreign, {TITLE: lang_alt("Osk Mill", "fr")})

    assert merged.get(TITLE) == lang_alt("Osk Mill", "fr")


@needs_exempi
def test_a_lone_other_language_is_read_by_exempi_as_it_was():
    # Measured on exempi 2.6.3: of two items it copies the default over the other. So the default is repeated.
    foreign = Packet(((TITLE, Array("Alt", (Text("Moulin", language="fr"),))),))

    data = format_packet(merge(foreign, {TITLE: lang_alt("Osk Mill")}))

    assert "Moulin" in exempi_leaves(data).values()


def test_a_single_value_where_a_bag_belongs_is_kept_as_one_item():
    merged = merge(Packet(((SUBJECT, Text("Hill, East")),)), {SUBJECT: bag(["mill"])})

    assert merged.get(SUBJECT) == bag(["Hill, East", "mill"])


def test_what_others_hold_in_order_is_replaced_by_ours():
    merged = merge(Packet(((name("dc:creator"), seq(["Lab"])),)), {name("dc:creator"): seq(["Ida Thornwick"])})

    assert merged.get(name("dc:creator")) == seq(["Ida Thornwick"])


def test_our_own_earlier_words_go_when_we_no_longer_say_them():
    before = Packet(((CREATED, Text("1978")), (SUBJECT, bag(["mill", "by another", "wheel"]))))
    ours = {(CREATED, Text("1978")), (SUBJECT, Text("mill")), (SUBJECT, Text("wheel"))}

    merged = merge(before, {SUBJECT: bag(["wheel"])}, lambda named, value: (named, value) in ours)

    assert merged == Packet(((SUBJECT, bag(["by another", "wheel"])),))


def test_our_earlier_words_stay_when_somebody_changed_them_since():
    before = Packet(((CREATED, Text("1978-08")),))

    merged = merge(before, {}, lambda _, value: value == Text("1978"))

    assert merged == before


OURS = {
    TITLE: lang_alt("Osk Mill"),
    SUBJECT: bag(["mill"]),
    CREATED: Text("1978"),
    Name(TIEBEAM, "Sheet"): Text("S412"),
}


@settings(max_examples=200, deadline=None)
@given(PACKETS)
def test_a_foreign_packet_keeps_everything_that_is_not_ours(packet):
    merged = merge(packet, OURS)

    back = parse_packet(format_packet(merged))

    assert back.about == packet.about
    assert {named: value for named, value in back if named not in OURS} == {
        named: value for named, value in packet if named not in OURS
    }
    assert set(OURS) <= {named for named, _ in back}


@settings(max_examples=200, deadline=None)
@given(st.sampled_from([TITLE, SUBJECT]), st.lists(VALUES, max_size=4), PACKETS)
def test_merging_twice_changes_nothing_more(named, items, packet):
    foreign = packet.with_properties(dict(packet) | {named: Array("Bag", tuple(items))})

    once = merge(foreign, OURS)

    assert merge(once, OURS) == once
    kept = once.get(SUBJECT)
    if named == SUBJECT:
        assert kept.items[: len(items)] == tuple(items)


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(st.sampled_from(["fr", "de", "en-GB", "cy"]), st.text("abc", max_size=3), max_size=4))
def test_every_other_language_keeps_its_words(spoken):
    items = tuple(Text(words, language=language) for language, words in spoken.items())
    foreign = Packet(((TITLE, Array("Alt", (Text("default", language="x-default"), *items))),))

    merged = merge(foreign, OURS).get(TITLE)

    kept = {item.language: item.value for item in merged.items}
    assert {language: kept[language] for language in spoken} == spoken
    assert replace(merged, items=merged.items[:1]) == OURS[TITLE]


def test_long_values_of_strangers_are_not_kept_in_memory():
    before = _kept_digest.cache_info().currsize

    told = {fingerprint(Text("m" * 100_000 + str(n))) for n in range(20)}
    told |= {fingerprint(bag([str(n)] * 100)) for n in range(20)}

    assert len(told) == 40
    assert _kept_digest.cache_info().currsize == before
