"""Three-way: what we say, what we last said, what a sidecar says now."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from catalog.outputs.sidecar_merge import Base, FieldMerge, ThreeWay, digits_of, merge_three, read_base
from catalog.outputs.sidecar_pieces import record_of
from catalog.rules.three_way import Change
from catalog.standards.xmp import Array, Name, Packet, Struct, Text, Uri, Value, bag, format_packet, name, parse_packet
from catalog.standards.xmp_tiebeam import tiebeam

TITLE, WORDS, KEYWORDS = name("dc:title"), name("dc:description"), name("dc:subject")
CREATOR, SHUTTER, WHERE = name("dc:creator"), name("exif:ExposureTime"), name("Iptc4xmpExt:LocationShown")
STRANGER = Name("http://example.org/ns/darkroom#", "Drawer")


def in_languages(**said: str) -> Array:
    return Array("Alt", tuple(Text(words, language=each.replace("_", "-")) for each, words in said.items()))


def a_title(words: str) -> Array:
    return in_languages(x_default=words)


def merged(base: dict[Name, Value], ours: dict[Name, Value], theirs: dict[Name, Value]) -> ThreeWay:
    return merge_three(Base(base), ours, Packet(tuple(theirs.items())))


def field_of(found: ThreeWay, named: Name) -> FieldMerge:
    return next(one for one in found.fields if one.name == named)


def test_what_only_they_changed_stays_and_is_shown():
    found = merged({TITLE: a_title("Osk Mill")}, {TITLE: a_title("Osk Mill")}, {TITLE: a_title("The mill")})

    assert found.properties[TITLE] == a_title("The mill")
    assert field_of(found, TITLE).is_theirs


def test_what_only_we_changed_is_written():
    found = merged({TITLE: a_title("Osk Mill")}, {TITLE: a_title("The mill")}, {TITLE: a_title("Osk Mill")})

    assert found.properties[TITLE] == a_title("The mill")


def test_a_field_that_both_changed_keeps_theirs_and_is_held_ever_after():
    ours = {TITLE: a_title("Osk Mill, east")}
    found = merged({TITLE: a_title("Osk Mill")}, ours, {TITLE: a_title("The mill")})

    again = merge_three(found.base, ours, Packet(tuple(found.properties.items())))

    assert field_of(found, TITLE).is_held
    assert field_of(again, TITLE).is_held
    assert again.properties == {TITLE: a_title("The mill")}


def test_a_sidecar_of_others_that_says_something_else_is_held_at_the_first_meeting():
    found = merged({}, {TITLE: a_title("Osk Mill")}, {TITLE: a_title("The mill")})

    assert field_of(found, TITLE).is_held
    assert found.properties[TITLE] == a_title("The mill")


def test_what_they_took_away_stays_away_and_is_shown():
    ours = {TITLE: a_title("Osk Mill"), KEYWORDS: bag(["mill", "snow"])}

    found = merged(ours, ours, {KEYWORDS: bag(["mill"])})

    assert TITLE not in found.properties
    assert found.properties[KEYWORDS] == bag(["mill"])
    assert field_of(found, TITLE).is_theirs
    assert field_of(found, KEYWORDS).is_theirs


def test_keywords_of_both_sides_are_joined():
    found = merged({KEYWORDS: bag(["mill", "weir"])}, {KEYWORDS: bag(["mill", "snow"])},
                   {KEYWORDS: bag(["Hill, East", "mill", "weir"])})  # fmt: skip

    assert found.properties[KEYWORDS] == bag(["Hill, East", "mill", "snow"])


def test_a_place_that_both_sides_rewrote_is_a_conflict_not_two_places():
    def osk(**more: str) -> Array:
        fields = {name("Iptc4xmpExt:City"): Text("Osk")} | {name(f"Iptc4xmpExt:{k}"): Text(v) for k, v in more.items()}
        return bag([Struct(tuple(fields.items()))])

    found = merged({WHERE: osk()}, {WHERE: osk(ProvinceState="Wennshire")}, {WHERE: osk(CountryName="Arlen")})

    assert field_of(found, WHERE).is_held
    assert found.properties[WHERE] == osk(CountryName="Arlen")


def test_languages_are_merged_one_by_one():
    base = {TITLE: in_languages(x_default="Osk Mill", en="Osk Mill")}
    theirs = {TITLE: in_languages(x_default="Osk Mill", en="Osk Mill", fr="Le moulin")}
    ours = {TITLE: in_languages(x_default="Osk Mill, east", en="Osk Mill, east")}

    found = merged(base, ours, theirs)

    assert found.properties[TITLE] == in_languages(x_default="Osk Mill, east", en="Osk Mill, east", fr="Le moulin")
    assert field_of(found, TITLE).change is Change.OURS


def test_our_words_go_when_we_say_nothing_more_and_other_languages_stay():
    theirs = {TITLE: in_languages(x_default="Osk Mill", fr="Le moulin")}

    found = merged({TITLE: a_title("Osk Mill")}, {}, theirs)

    assert found.properties[TITLE] == in_languages(fr="Le moulin")


def test_another_spelling_of_the_same_is_no_change():
    # XMP part 1 §8.2.1.1: a day may go on with its time; part 2: a Rational need not be in lowest terms.
    ours = {SHUTTER: Text("1/2"), name("xmp:CreateDate"): Text("2010-01-05"), WORDS: Uri("urn:x")}
    theirs = {SHUTTER: Text("5/10"), name("xmp:CreateDate"): Text("2010-01-05T14:30:00"), WORDS: Text("urn:x")}

    found = merged(ours, ours, theirs)

    assert {one.change for one in found.fields} == {Change.SAME}
    assert found.properties == theirs


def test_a_settled_value_stays_and_is_no_longer_shown_until_either_side_changes():
    theirs = {TITLE: a_title("The mill")}
    ours = {TITLE: a_title("Osk Mill")}
    base = Base(ours, {TITLE: digits_of(theirs[TITLE])})
    kept = read_base(base.to_bytes(), Packet())

    quiet = merge_three(kept, ours, Packet(tuple(theirs.items())))
    they_change = merge_three(kept, ours, Packet(((TITLE, a_title("The old mill")),)))
    we_change = merge_three(kept, {TITLE: a_title("Osk Mill, east")}, Packet(tuple(theirs.items())))

    assert quiet.properties == theirs
    assert not field_of(quiet, TITLE).is_theirs
    assert quiet.base.settled == base.settled
    assert field_of(they_change, TITLE).is_theirs
    assert field_of(we_change, TITLE).is_held


def test_without_the_catalogue_the_sidecars_own_record_says_what_was_ours():
    said = {TITLE: a_title("Osk Mill"), KEYWORDS: bag(["mill"])}
    there = {**said, KEYWORDS: bag(["Osk", "mill"]), STRANGER: Text("3")}
    packet = Packet(tuple({**there, tiebeam("Written"): record_of(said)}.items()))

    assert read_base(None, packet).said == said


# ---- whatever both sides do

SOME_TEXT = st.sampled_from(["Osk Mill", "The mill", "Hill, East", "Église", "moved\nto new site", "a"])
SIMPLE = SOME_TEXT.map(Text)
LISTS = st.lists(SOME_TEXT, unique=True, min_size=1, max_size=4)
ALTERNATIVES = st.dictionaries(st.sampled_from(["x_default", "en", "fr"]), SOME_TEXT, min_size=1).map(
    lambda said: in_languages(**said)
)
PLACES = st.lists(
    st.dictionaries(st.sampled_from(["City", "CountryName"]), SOME_TEXT, min_size=1), min_size=1, max_size=2
).map(lambda found: bag([Struct(tuple((name(f"Iptc4xmpExt:{k}"), Text(v)) for k, v in p.items())) for p in found]))
KINDS: dict[Name, st.SearchStrategy[Value]] = {
    TITLE: ALTERNATIVES,
    WORDS: ALTERNATIVES,
    KEYWORDS: LISTS.map(bag),
    CREATOR: LISTS.map(lambda words: Array("Seq", tuple(map(Text, words)))),
    SHUTTER: SIMPLE,
    WHERE: PLACES,
    tiebeam("Film"): SIMPLE,
}
A_SIDE = st.fixed_dictionaries({}, optional=KINDS)
FOREIGN = st.fixed_dictionaries({}, optional={STRANGER: PLACES, name("xmp:Rating"): SIMPLE})


def parts(value: Value | None) -> set[Value]:
    return set() if value is None else set(value.items) if isinstance(value, Array) else {value}


@given(base=A_SIDE, ours=A_SIDE, theirs=A_SIDE, foreign=FOREIGN)
def test_nothing_that_they_changed_since_is_lost(base, ours, theirs, foreign):
    found = merged(base, ours, {**theirs, **foreign})

    assert {named: found.properties[named] for named in foreign} == foreign
    for named, value in theirs.items():
        assert parts(value) - parts(base.get(named)) <= parts(found.properties.get(named)), named


@given(base=A_SIDE, ours=A_SIDE, theirs=A_SIDE)
def test_what_we_changed_is_written_or_named(base, ours, theirs):
    found = merged(base, ours, theirs)

    for named, value in ours.items():
        new = parts(value) - parts(base.get(named))
        one = field_of(found, named)
        assert one.is_held or new <= parts(found.properties.get(named)), named
    for named in {*base, *ours}:
        one = field_of(found, named)
        if found.properties.get(named) != ours.get(named) and not (one.is_held or one.is_theirs):
            assert parts(ours.get(named)) <= parts(found.properties.get(named)), named


@given(base=A_SIDE, ours=A_SIDE, theirs=A_SIDE, foreign=FOREIGN)
def test_writing_twice_writes_the_same_and_forgets_no_finding(base, ours, theirs, foreign):
    first = merged(base, ours, {**theirs, **foreign})
    kept = read_base(first.base.to_bytes(), Packet())
    there = parse_packet(format_packet(Packet(tuple(first.properties.items()))))

    second = merge_three(kept, ours, there)

    assert second.properties == dict(there)
    assert {one.name for one in second.fields if one.is_held} == {one.name for one in first.fields if one.is_held}
    # Where we say nothing any more, what is there is simply theirs.
    shown = {one.name for one in first.fields if one.is_theirs and one.name in ours}
    assert {one.name for one in second.fields if one.is_theirs and one.name in ours} == shown
    assert not second.is_base_behind
