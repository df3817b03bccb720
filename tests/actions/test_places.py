"""Places by hand."""

import pytest

from catalog.actions.desk import Desk
from catalog.actions.places import (
    add_place,
    add_place_name,
    add_place_parent,
    correct_place,
    correct_place_name,
    correct_place_parent,
)
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.doubt import parse_doubt
from catalog.store.find import Question, find_frames
from tests.builders import Listener, a_mill, a_sheet, a_village, dated, rows


def test_a_place_is_kept_with_what_it_belongs_to_and_told_like_a_daybook(archive):
    heard = Listener()
    county = add_place(archive, name="Wennshire", kind="county")

    osk = add_place(archive, name="Osk", kind="village", parent_id=county, latitude_deg=52.1, desk=Desk(say=heard))

    assert rows(archive, "SELECT name, kind, latitude_deg FROM place WHERE id = ?", osk) == [("Osk", "village", 52.1)]
    assert rows(archive, "SELECT place_id, parent_id FROM place_parent") == [(osk, county)]
    assert heard.heard == [f"added Osk, village, in Wennshire (L{osk})"]
    assert rows(archive, "SELECT kind, words FROM deed ORDER BY id DESC LIMIT 1") == [("places add", heard.heard[0])]


def test_a_place_without_a_name_or_off_the_globe_is_refused(archive):
    with pytest.raises(RefusedError, match="place: name is needed"):
        add_place(archive, name="  ")
    with pytest.raises(RefusedError, match="latitude"):
        add_place(archive, name="Osk", latitude_deg=91)
    with pytest.raises(RefusedError, match="no measure"):
        add_place(archive, name="Osk", latitude_deg=float("nan"))

    assert rows(archive, "SELECT count(*) FROM place") == [0]


def test_bytes_that_are_no_text_are_refused_in_a_line(archive):
    with pytest.raises(RefusedError, match="not text"):
        add_place(archive, name="Osk\udce9")


def test_a_rehearsal_asks_every_rule_and_keeps_nothing(archive):
    heard = Listener()

    add_place(archive, name="Osk", desk=Desk(dry_run=True, say=heard))

    assert heard.heard == ["added Osk (L1)"]
    assert rows(archive, "SELECT count(*) FROM place") == [0]
    assert rows(archive, "SELECT count(*) FROM deed") == [0]
    with pytest.raises(NotFoundError):
        add_place(archive, name="Osk", parent_id=99, desk=Desk(dry_run=True))


def test_a_correction_changes_only_what_is_given(archive):
    osk = add_place(archive, name="Oske", kind="village")

    correct_place(archive, osk, name="Osk")

    assert rows(archive, "SELECT name, kind FROM place") == [("Osk", "village")]
    assert rows(archive, "SELECT words FROM deed ORDER BY id DESC LIMIT 1") == [
        "corrected Oske, village (L1): name Osk (was Oske)"
    ]


def test_a_correction_that_changes_nothing_is_refused(archive):
    osk = a_village(archive)

    with pytest.raises(RefusedError, match="says so already"):
        correct_place(archive, osk, kind="village")
    with pytest.raises(RefusedError, match="nothing to correct"):
        correct_place(archive, osk)

    assert rows(archive, "SELECT count(*) FROM deed") == [1]


def test_a_correction_of_a_place_that_is_not_there_names_it(archive):
    with pytest.raises(NotFoundError, match="L7"):
        correct_place(archive, 7, name="Osk")


def test_a_former_name_keeps_its_dates_and_the_words_they_were_given_in(archive):
    osk = a_village(archive)

    add_place_name(archive, osk, name="Oske", until=dated("c. 1890"))

    assert rows(archive, "SELECT name, until_edtf, until_words, until_doubt FROM place_name") == [
        ("Oske", "1890~", "c. 1890", "~")
    ]


def test_a_name_the_place_has_already_is_refused(archive):
    osk = a_village(archive)
    add_place_name(archive, osk, name="Oske")

    for name in ("Osk", "Oske"):
        with pytest.raises(RefusedError, match=f"has the name '{name}' already"):
            add_place_name(archive, osk, name=name)


def test_a_doubtful_date_that_is_corrected_keeps_its_wording_beside_the_new_one(archive):
    osk = a_village(archive)
    add_place_name(archive, osk, name="Oske", until=dated("c. 1890"))

    correct_place_name(archive, osk, "Oske", until=dated("1891"))

    assert rows(archive, "SELECT until_edtf FROM place_name") == ["1891"]
    assert rows(archive, "SELECT field, as_written, certainty FROM wording ORDER BY id") == [
        ("name Oske until", "c. 1890", "probable"),
        ("name Oske until", "1891", "certain"),
    ]


def test_a_plain_date_that_is_corrected_leaves_no_wording(archive):
    osk = a_village(archive)
    add_place_name(archive, osk, name="Oske", until=dated("1890"))

    correct_place_name(archive, osk, "Oske", until=dated("1891"))

    assert rows(archive, "SELECT count(*) FROM wording") == [0]


def test_a_belonging_that_ends_before_it_begins_is_refused(archive):
    osk, county = a_village(archive), a_village(archive, "Wennshire")

    with pytest.raises(RefusedError, match="before it begins"):
        add_place_parent(archive, osk, parent_id=county, from_=dated("1894"), until=dated("1850"))


def test_a_place_never_lies_within_itself(archive):
    osk, county = a_village(archive), a_village(archive, "Wennshire")
    add_place_parent(archive, osk, parent_id=county)

    with pytest.raises(RefusedError, match="lies within"):
        add_place_parent(archive, county, parent_id=osk)
    with pytest.raises(RefusedError, match="cannot belong to itself"):
        add_place_parent(archive, osk, parent_id=osk)


def test_where_a_place_belonged_is_only_possible_while_it_is_in_doubt(archive):
    county = add_place(archive, name="Wennshire")
    osk = add_place(archive, name="Osk", parent_id=county, wordings={"within": parse_doubt("Wennshire?")})
    a_sheet(archive, date="1978", shows=a_mill(archive, place_id=osk))

    def verdicts():
        with archive.reading() as connection:
            return [str(frame.certainty) for frame in find_frames(connection, Question(place_id=county)).frames]

    assert verdicts() == ["possibly"]
    correct_place_parent(archive, osk, county, parent_id=county)
    assert verdicts() == ["certainly"]
    assert rows(archive, "SELECT as_written, certainty FROM wording ORDER BY id") == [
        ("Wennshire?", "possible"),
        ("Wennshire", "certain"),
    ]
