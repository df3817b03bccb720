"""Visits, standpoints, rolls, persons and sources by hand."""

import pytest

from catalog.actions.kit import add_film
from catalog.actions.persons import add_person, correct_person
from catalog.actions.rolls import add_roll, correct_roll
from catalog.actions.sources import add_source, correct_source
from catalog.actions.standpoints import add_standpoint, correct_standpoint
from catalog.actions.visits import add_visit, correct_visit
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.doubt import parse_doubt
from catalog.store.find import Question, find_frames
from tests.builders import a_sheet, a_village, dated, rows


def test_a_visit_keeps_its_doubtful_date_and_what_was_said(archive):
    osk = a_village(archive)

    visit = add_visit(archive, date=dated("Aug 1979?"), place_id=osk, weather="rain", said="it was a chapel once")
    correct_visit(archive, visit, light="flat")

    assert rows(archive, "SELECT date_edtf, date_words, place_id, light, weather, said FROM visit") == [
        ("1979-08?", "Aug 1979?", osk, "flat", "rain", "it was a chapel once")
    ]


def test_a_visit_to_a_doubtful_place_keeps_the_wording(archive):
    osk = a_village(archive)

    visit = add_visit(archive, place_id=osk, wordings={"place": parse_doubt("Osk?")})

    assert rows(archive, "SELECT about, about_id, field, as_written, certainty FROM wording") == [
        ("visit", visit, "place", "Osk?", "possible")
    ]


def test_a_standpoint_is_described_and_corrected(archive):
    standpoint = add_standpoint(archive, words="on the weir", height_m=1.5, alignments="chimney over the door")

    correct_standpoint(archive, standpoint, height_m=None, words="on the weir, left bank")

    assert rows(archive, "SELECT words, height_m, alignments FROM standpoint") == [
        ("on the weir, left bank", None, "chimney over the door")
    ]
    with pytest.raises(RefusedError, match="words is needed"):
        add_standpoint(archive, words="")
    with pytest.raises(RefusedError, match="more than nought"):
        add_standpoint(archive, words="x", height_m=0)


def test_a_standpoint_in_a_doubtful_place_is_only_possibly_there(archive):
    osk = a_village(archive)
    standpoint = add_standpoint(archive, words="weir", place_id=osk, wordings={"place": parse_doubt("Osk?")})
    a_sheet(archive, standpoint_id=standpoint)

    def verdicts():
        with archive.reading() as connection:
            return [str(frame.certainty) for frame in find_frames(connection, Question(taken_from_id=osk)).frames]

    assert verdicts() == ["possibly"]
    correct_standpoint(archive, standpoint, place_id=osk)
    assert verdicts() == ["certainly"]


def test_a_roll_names_its_film(archive):
    film = add_film(archive, name="Grayline 125")

    roll = add_roll(archive, name="R 12", film_id=film, wordings={"film": parse_doubt("Grayline?")})
    correct_roll(archive, roll, docket="5512")

    assert rows(archive, "SELECT name, film_id, docket FROM roll") == [("R 12", film, "5512")]
    assert rows(archive, "SELECT field, as_written FROM wording") == [("film", "Grayline?")]
    with pytest.raises(NotFoundError, match="K9"):
        add_roll(archive, film_id=9)


def test_an_address_is_kept_and_never_told_in_the_daybook(archive):
    person = add_person(archive, name="A. Fenner", role="buyer", address="1 Mill Lane")

    correct_person(archive, person, address="2 Weir Street", contact="0123")

    assert rows(archive, "SELECT address, contact FROM person") == [("2 Weir Street", "0123")]
    told = " ".join(rows(archive, "SELECT words FROM deed"))
    assert "Lane" not in told
    assert "Street" not in told
    assert "address, contact" in told


def test_a_source_is_corrected(archive):
    source = add_source(archive, title="Tithe map", kind="map", published=dated("before 1842"))

    correct_source(archive, source, kept_at="county archive")

    assert rows(archive, "SELECT title, published_edtf, kept_at FROM source") == [
        ("Tithe map", "[..1841]", "county archive")
    ]
