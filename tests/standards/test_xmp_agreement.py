"""
Random packets, written by us and read by others: exempi and exiv2 find the same values in the same places.

What they cannot take, or change on purpose, is left out of the strategy, with the reason beside it.
"""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.standards.xmp import Array, Name, Packet, Struct, Text, Uri, format_packet, merge, name, parse_packet
from catalog.standards.xmp_names import RDF
from tests.standards.test_xmp_merging import OURS
from tests.standards.test_xmp_writing import PACKETS, VALUES
from tests.standards.xmp_oracles import exempi_forms, exempi_leaves, exiv2_values, needs_exempi, our_forms, our_leaves

# Namespaces of this file alone, each always with one prefix: both libraries keep the first they meet.
ONE, TWO = "http://example.org/agreement/one/", "http://example.org/agreement/two/"
PREFIXES = ((ONE, "one"), (TWO, "two"))

NAMES = st.builds(Name, st.sampled_from([ONE, TWO]), st.sampled_from(["mill", "Bays", "a-b.c", "li", "value"]))
# exempi takes no letters beyond its own table in names, drops controls, and its toolkit ends a text at a NUL.
WORDS = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Cn"), include_characters="\n\t&<>\"'"), min_size=1, max_size=10
)
# exempi respells languages (en-gb becomes en-GB) and moves x-default; both are tried in test_xmp_merging.
LANGUAGES = st.none() | st.sampled_from(["en", "fr", "de-AT"])


@st.composite
def pairs(draw: st.DrawFn, values: st.SearchStrategy, min_size: int = 0, max_size: int = 3) -> tuple:
    named = draw(st.lists(NAMES, min_size=min_size, max_size=max_size, unique=True))
    return tuple((one, draw(values)) for one in named)


def qualified(make: object, *parts: st.SearchStrategy, values: st.SearchStrategy) -> st.SearchStrategy:
    return st.builds(make, *parts, language=LANGUAGES, qualifiers=st.just(()) | pairs(values, max_size=2))


SIMPLE = st.builds(Text, WORDS, language=LANGUAGES) | st.builds(Uri, WORDS, language=LANGUAGES)
# An Alt whose items have languages is one in which exempi makes languages unique and fills in missing ones.
PLAIN = st.builds(Text, WORDS)
ANY = st.recursive(
    SIMPLE,
    lambda inner: st.one_of(
        qualified(Text, WORDS, values=inner),
        qualified(Uri, WORDS, values=inner),
        qualified(Struct, pairs(inner, min_size=1), values=inner),
        qualified(
            Array, st.sampled_from(["Bag", "Seq"]), st.lists(inner, min_size=1, max_size=3).map(tuple), values=inner
        ),
        st.builds(Array, st.just("Alt"), st.lists(PLAIN, min_size=1, max_size=3).map(tuple)),
    ),
    max_leaves=8,
)


@needs_exempi
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(pairs(ANY, max_size=4))
def test_exempi_finds_every_value_and_form_that_we_write(properties):
    packet = Packet(properties, prefixes=PREFIXES)

    data = format_packet(packet)

    assert exempi_leaves(data) == our_leaves(packet)
    assert exempi_forms(data) == our_forms(packet)


# exiv2 gives a datum for each simple value and each array of simple values; qualifiers have keys of their own.
FLAT = st.builds(Text, WORDS) | st.builds(Uri, WORDS)
LISTS = st.builds(Array, st.sampled_from(["Bag", "Seq", "Alt"]), st.lists(PLAIN, min_size=1, max_size=3).map(tuple))
FIELDS = st.builds(Struct, pairs(FLAT, min_size=1))
KINDS = {"Bag": "XmpBag", "Seq": "XmpSeq", "Alt": "XmpAlt"}


def spelled(named: Name, parted_by: str) -> str:
    return f"{dict(PREFIXES)[named.uri]}{parted_by}{named.local}"


def expected_of_exiv2(packet: Packet) -> dict[str, tuple[str, str]]:
    found = {}
    for named, value in packet:
        key = f"Xmp.{spelled(named, '.')}"
        if isinstance(value, Array):
            found[key] = KINDS[value.kind], ", ".join(item.value for item in value.items)
        elif isinstance(value, Struct):
            found[key] = "XmpText", 'type="Struct"'
            found |= {f"{key}/{spelled(one, ':')}": ("XmpText", field.value) for one, field in value.fields}
        else:
            found[key] = "XmpText", value.value
    return found


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(pairs(FLAT | LISTS | FIELDS, min_size=1, max_size=4))
def test_exiv2_finds_every_value_and_type_that_we_write(tmp_path, properties):
    packet = Packet(properties, prefixes=PREFIXES)
    path = tmp_path / "any.xmp"

    path.write_bytes(format_packet(packet))

    assert exiv2_values(path) == expected_of_exiv2(packet)


# ---- foreign packets through a merge of ours


def everything_said(value: object) -> list[object]:
    """Return what a value says, part by part in order: kinds, languages, names of qualifiers and fields, texts."""
    said: list[object] = [type(value).__name__, value.language]
    for named, inner in (*value.qualifiers, *getattr(value, "fields", ())):
        said += [named, *everything_said(inner)]
    for item in getattr(value, "items", ()):
        said += everything_said(item)
    return [*said, getattr(value, "value", None), getattr(value, "kind", None)]


@settings(max_examples=200, deadline=None)
@given(PACKETS)
def test_a_merge_of_ours_leaves_every_foreign_value_in_order_and_structure(packet):
    back = parse_packet(format_packet(merge(packet, OURS)))

    for named, value in packet:
        if named not in OURS:
            assert everything_said(back.get(named)) == everything_said(value)


@settings(max_examples=100, deadline=None)
@given(st.lists(VALUES, max_size=5), st.sampled_from(["Bag", "Seq", "Alt"]))
def test_foreign_items_keep_their_order_before_ours(items, kind):
    subject = name("dc:subject")
    packet = Packet(((subject, Array(kind, tuple(items))),))

    merged = parse_packet(format_packet(merge(packet, OURS))).get(subject)

    assert merged.items[: len(items)] == tuple(items)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["x-default", "fr", "FR-be", "de", "cy"]),
            st.text("abc", max_size=3),
            st.just(()) | pairs(PLAIN, min_size=1, max_size=1),
        ),
        max_size=4,
        unique_by=lambda item: item[0],
    )
)
def test_other_languages_keep_words_order_and_qualifiers(spoken):
    title = name("dc:title")
    items = tuple(Text(words, language=language, qualifiers=said) for language, words, said in spoken)
    before = next((item.value for item in items if item.language == "x-default"), None)

    merged = parse_packet(format_packet(merge(Packet(((title, Array("Alt", items)),)), OURS))).get(title)

    others = [item for item in items if item.language != "x-default"]
    kept = [item for item in merged.items if item.language not in ("x-default", "und")]
    assert [item.language for item in kept] == [item.language for item in others]
    assert [item.qualifiers for item in kept] == [item.qualifiers for item in others]
    # XMP part 1 §8.2.2.4: what repeated the old default repeats the new one.
    assert [item.value for item in kept] == ["Osk Mill" if i.value == before else i.value for i in others]


def test_names_that_rdf_keeps_for_itself_are_not_in_these_strategies():
    assert all(uri != RDF for uri, _ in PREFIXES)
