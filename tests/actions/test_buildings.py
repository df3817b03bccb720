"""Buildings by hand."""

import pytest

from catalog.actions.buildings import (
    add_building,
    add_building_name,
    add_building_site,
    add_chronicle_entry,
    add_elevation,
    correct_building,
    correct_building_name,
    correct_building_site,
    correct_chronicle_entry,
    correct_elevation,
)
from catalog.actions.persons import add_person
from catalog.actions.sources import add_source
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.doubt import parse_doubt
from catalog.store.find import Question, find_frames
from tests.builders import a_mill, a_sheet, a_village, dated, rows


def test_a_building_is_kept_with_where_it_stands_and_since_when(archive):
    osk = a_village(archive)

    mill = add_building(archive, name="Osk Mill", kind="water mill", place_id=osk, from_=dated("c. 1790"))

    assert rows(archive, "SELECT name, kind FROM building WHERE id = ?", mill) == [("Osk Mill", "water mill")]
    assert rows(archive, "SELECT building_id, place_id, from_edtf, from_words FROM building_site") == [
        (mill, osk, "1790~", "c. 1790")
    ]
    assert rows(archive, "SELECT words FROM deed ORDER BY id DESC LIMIT 1") == [
        "added Osk Mill, water mill, at Osk, from c. 1790 (B1)"
    ]


def test_facts_of_a_site_without_its_place_are_refused(archive):
    with pytest.raises(RefusedError, match="Name the place too"):
        add_building(archive, name="Osk Mill", from_=dated("c. 1790"))


def test_a_building_that_was_moved_has_two_sites(archive):
    halding, low = a_village(archive, "Halding"), a_village(archive, "Low Halding")
    house = add_building(archive, name="Weigh-house", place_id=low, from_=dated("1722"), until=dated("June 1979"))

    add_building_site(archive, house, place_id=halding, from_=dated("June 1979"), words="museum yard")

    assert rows(archive, "SELECT place_id, from_edtf, until_edtf, words FROM building_site ORDER BY id") == [
        (low, "1722", "1979-06", None),
        (halding, "1979-06", None, "museum yard"),
    ]


def test_a_site_in_doubt_makes_its_frames_only_possible_until_it_is_settled(archive):
    osk = a_village(archive)
    halt = add_building(archive, name="Halt", place_id=osk, wordings={"site": parse_doubt("Osk?")})
    a_sheet(archive, date="1978", shows=halt)

    def verdicts():
        with archive.reading() as connection:
            return [str(frame.certainty) for frame in find_frames(connection, Question(place_id=osk)).frames]

    assert verdicts() == ["possibly"]
    correct_building_site(archive, halt, rows(archive, "SELECT id FROM building_site")[0], place_id=osk)
    assert verdicts() == ["certainly"]


def test_an_elevation_says_while_when_it_faced_so(archive):
    hall = a_mill(archive, "Brome Hall")

    add_elevation(archive, hall, compass="N", name="front", until=dated("1903"))
    east = add_elevation(archive, hall, compass="E", name="front", from_=dated("1903"))
    correct_elevation(archive, hall, east, bearing_deg=92.5)

    assert rows(archive, "SELECT compass, name, from_edtf, until_edtf, bearing_deg FROM elevation ORDER BY id") == [
        ("N", "front", None, "1903", None),
        ("E", "front", "1903", None, 92.5),
    ]
    with pytest.raises(RefusedError, match="compass 'X' is none of"):
        add_elevation(archive, hall, compass="X")


def test_a_chronicle_entry_says_who_did_it_and_who_says_so(archive):
    mill, source = a_mill(archive), add_source(archive, title="Mill book", published=dated("1958"))
    builder = add_person(archive, name="I. Harrow", role="millwright")

    add_chronicle_entry(
        archive, mill, kind="altered", text="wheel taken out", date=dated("1957 or 1958"), doer_id=builder,
        source_id=source,
    )  # fmt: skip

    assert rows(archive, "SELECT kind, text, date_edtf, date_words, doer_id, source_id FROM chronicle_entry") == [
        ("altered", "wheel taken out", "[1957,1958]", "1957 or 1958", builder, source)
    ]


@pytest.mark.parametrize("text", ["1756-01-27", "1832-05-04"])
def test_a_day_before_1900_is_kept_exactly(archive, text):
    # Case E07.
    mill = a_mill(archive)

    add_chronicle_entry(archive, mill, kind="recorded", text="seen", date=dated(text))

    assert rows(archive, "SELECT date_edtf FROM chronicle_entry") == [text]


def test_a_doubtful_entry_that_is_corrected_keeps_how_it_was_put(archive):
    mill = a_mill(archive)
    entry = add_chronicle_entry(archive, mill, kind="altered", text="wheel taken out", date=dated("1957 or 1958"))

    correct_chronicle_entry(archive, mill, entry, date=dated("1958"))

    assert rows(archive, "SELECT about, field, as_written, certainty FROM wording ORDER BY id") == [
        ("building", f"chronicle {entry} date", "1957 or 1958", "possible"),
        ("building", f"chronicle {entry} date", "1958", "certain"),
    ]


def test_an_entry_of_another_building_is_not_corrected_by_mistake(archive):
    mill, hall = a_mill(archive), a_mill(archive, "Brome Hall")
    entry = add_chronicle_entry(archive, mill, kind="raised", text="built")

    with pytest.raises(NotFoundError, match="no entry"):
        correct_chronicle_entry(archive, hall, entry, text="built anew")


def test_a_source_or_a_doer_that_is_not_there_is_refused_by_its_reference(archive):
    mill = a_mill(archive)

    with pytest.raises(NotFoundError, match="R9"):
        add_chronicle_entry(archive, mill, kind="raised", text="built", source_id=9)
    with pytest.raises(NotFoundError, match="N9"):
        add_chronicle_entry(archive, mill, kind="raised", text="built", doer_id=9)
    with pytest.raises(RefusedError, match="kind 'exploded' is none of"):
        add_chronicle_entry(archive, mill, kind="exploded", text="built")


def test_a_building_and_its_other_names_are_corrected(archive):
    mill = a_mill(archive)
    add_building_name(archive, mill, name="Lower Mill", until=dated("1850"))

    correct_building(archive, mill, identifier="WR 114")
    correct_building_name(archive, mill, "Lower Mill", name="Nether Mill")

    assert rows(archive, "SELECT identifier FROM building") == ["WR 114"]
    assert rows(archive, "SELECT name, until_edtf FROM building_name") == [("Nether Mill", "1850")]
    with pytest.raises(RefusedError, match="already"):
        add_building_name(archive, mill, name="Osk Mill")
    with pytest.raises(NotFoundError, match="it has: Nether Mill"):
        correct_building_name(archive, mill, "Lower Mill", name="x")
