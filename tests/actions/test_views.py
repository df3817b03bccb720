"""Views by hand."""

import pytest

from catalog.actions.standpoints import add_standpoint
from catalog.actions.views import Shown, add_subject, add_view, correct_subject, correct_view
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.doubt import DoubtfulWords, parse_doubt
from catalog.store.find import Question, find_frames
from tests.builders import a_mill, a_sheet, a_village, rows


def a_doubtful_view(archive, building_id, words="Osk Mill?"):
    put = parse_doubt(words)
    return add_view(archive, shows=[Shown(building_id=building_id, certainty=put.certainty, words=put)])


def subject_of(archive, view):
    (subject,) = rows(archive, "SELECT id FROM view_subject WHERE view_id = ?", view)
    return subject


def test_what_a_view_shows_in_doubt_is_never_kept_as_plain_fact(archive):
    view = a_doubtful_view(archive, a_mill(archive), "probably Osk Mill")

    assert rows(archive, "SELECT certainty FROM view_subject") == ["probable"]
    assert rows(archive, "SELECT about, about_id, field, as_written, certainty FROM wording") == [
        ("view", view, "shows", "probably Osk Mill", "probable")
    ]


def test_an_identity_that_is_settled_keeps_how_it_was_put(archive):
    mill = a_mill(archive)
    view = a_doubtful_view(archive, mill)

    correct_subject(archive, view, subject_of(archive, view), certainty="certain")

    assert rows(archive, "SELECT certainty FROM view_subject") == ["certain"]
    assert rows(archive, "SELECT as_written, certainty FROM wording ORDER BY id") == [
        ("Osk Mill?", "possible"),
        ("Osk Mill", "certain"),
    ]


def test_a_view_that_turns_out_to_show_another_building_says_so(archive):
    mill, hall = a_mill(archive), a_mill(archive, "Brome Hall")
    view = a_doubtful_view(archive, mill)

    correct_subject(archive, view, 1, building_id=hall, certainty="certain")

    assert rows(archive, "SELECT building_id, certainty FROM view_subject") == [(hall, "certain")]
    assert rows(archive, "SELECT as_written FROM wording ORDER BY id") == [
        "Osk Mill?",
        "Brome Hall, not Osk Mill",
    ]


def test_settling_a_view_settles_the_same_doubt_of_its_sheets(archive):
    mill = a_mill(archive)
    a_sheet(archive, shows=mill, wordings={"building": parse_doubt("Osk Mill?")})
    correct_subject(archive, 1, 1, certainty="possible", words=parse_doubt("Osk Mill?"))

    correct_subject(archive, 1, 1, certainty="certain")

    assert rows(archive, "SELECT as_written, certainty FROM wording WHERE about = 'sheet' ORDER BY id") == [
        ("Osk Mill?", "possible"),
        ("Osk Mill", "certain"),
    ]


def test_a_side_in_doubt_is_looked_for_as_possible_until_it_is_settled(archive):
    mill = a_mill(archive)
    view = add_view(archive, shows=[Shown(building_id=mill, elevation_words=DoubtfulWords("N?", "possible", ("N",)))])
    a_sheet(archive, view_ids=[view])

    assert rows(archive, "SELECT elevation FROM view_subject") == [None]
    assert rows(archive, "SELECT about, as_written, alternatives FROM wording ORDER BY id") == [
        ("view", "N?", '["N"]'),
        ("sheet", "N?", '["N"]'),
    ]
    correct_subject(archive, view, 1, elevation="N")
    with archive.reading() as connection:
        frames = find_frames(connection, Question(elevation="N")).frames
    assert [str(frame.certainty) for frame in frames] == ["certainly"]
    assert frames[0].doubts == ()


def test_a_view_has_one_principal_subject_and_it_can_change(archive):
    mill, osk = a_mill(archive), a_village(archive)
    view = add_view(archive, shows=[Shown(building_id=mill), Shown(place_id=osk)])
    assert rows(archive, "SELECT is_principal FROM view_subject ORDER BY id") == [1, 0]

    correct_subject(archive, view, 2, is_principal=True)

    assert rows(archive, "SELECT is_principal FROM view_subject ORDER BY id") == [0, 1]


def test_two_sides_of_a_building_may_show_but_not_one_side_twice(archive):
    mill = a_mill(archive)
    view = add_view(archive, shows=[Shown(building_id=mill, elevation="N")])

    add_subject(archive, view, Shown(building_id=mill, elevation="E"))

    with pytest.raises(RefusedError, match="already"):
        add_subject(archive, view, Shown(building_id=mill, elevation="E"))


def test_a_subject_is_a_building_or_a_place_never_both_or_neither(archive):
    mill, osk = a_mill(archive), a_village(archive)

    with pytest.raises(RefusedError, match="name one"):
        add_view(archive, shows=[Shown()])
    with pytest.raises(RefusedError, match="name one"):
        add_view(archive, shows=[Shown(building_id=mill, place_id=osk)])


def test_a_doubtful_standpoint_is_kept_as_such_and_can_be_settled(archive):
    bridge = add_standpoint(archive, words="on the bridge")
    view = add_view(
        archive, title="Mill from the bridge", standpoint_id=bridge, standpoint_certainty="possible",
        wordings={"standpoint": parse_doubt("on the bridge?")},
    )  # fmt: skip

    correct_view(archive, view, standpoint_id=bridge, standpoint_certainty="certain")

    assert rows(archive, "SELECT standpoint_certainty FROM view") == ["certain"]
    assert rows(archive, "SELECT as_written, certainty FROM wording ORDER BY id") == [
        ("on the bridge?", "possible"),
        ("on the bridge", "certain"),
    ]
    with pytest.raises(NotFoundError, match="T9"):
        correct_view(archive, view, standpoint_id=9)
