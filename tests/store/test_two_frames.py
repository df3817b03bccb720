"""Two frames beside each other: where each was taken, and what happened to their building between them."""

from __future__ import annotations

import pytest

from catalog.errors import NotFoundError
from catalog.store.two_frames import frames_to_lay_beside, read_frame_beside, read_two_frames, run_of
from tests.asking import Valley

ABOUT_DAYS = 730


@pytest.fixture
def valley(tmp_path):
    made = Valley(tmp_path / "wenn")
    made.place("Low Halding")
    made.place("Halding")
    made.building("Weigh-house", ("Low Halding", None, "1979-06"), ("Halding", "1979-06", None))
    made.happened("Weigh-house", "raised", "1722", "Built of brick.")
    made.happened("Weigh-house", "moved", "1979-06", "Moved to the museum yard.")
    made.happened("Weigh-house", "clad", "198X", "Boarded.")
    made.happened("Weigh-house", "other", None, "The scales were sold.")
    made.standpoint("by the bridge", "Low Halding")
    made.frame("74-01", "1974", "Weigh-house", standpoint="by the bridge")
    made.frame("85-02", "1985-05-01", ("Weigh-house", "N", "probable"))
    made.frame("X1", None, "Weigh-house")
    made.frame("79-01", "1979", "Weigh-house")
    made.frame("90-01", "1990", "Halding")
    return made


def read(valley, left, right):
    with valley.archive.reading() as connection:
        return read_two_frames(connection, valley.ids[left], valley.ids[right], ABOUT_DAYS)


def test_what_surely_fell_between_is_told_from_what_may_have(valley):
    (building,) = read(valley, "74-01", "85-02").buildings

    assert [(entry.words, entry.is_sure) for entry in building.entries] == [
        ("Moved to the museum yard.", True), ("clad: Boarded.", False),
    ]  # fmt: skip
    assert (building.name, building.certainty, building.undated) == ("Weigh-house", "probable", 1)


def test_each_frame_says_where_the_building_stood_when_it_was_exposed(valley):
    assert read(valley, "74-01", "85-02").left.stood_at == "Low Halding"
    assert read(valley, "85-02", "79-01").left.stood_at == "Halding"
    assert read(valley, "74-01", "79-01").right.stood_at == "Low Halding or Halding"


def test_without_a_date_no_time_is_told(valley):
    assert read(valley, "X1", "74-01").time is None


def test_frames_of_different_subjects_share_no_building(valley):
    assert read(valley, "74-01", "90-01").buildings == ()


def test_a_sheet_that_is_gone_is_named(valley):
    with valley.archive.reading() as connection, pytest.raises(NotFoundError, match="no sheet S99"):
        read_two_frames(connection, 1, 99, ABOUT_DAYS)


def test_what_may_be_laid_beside_a_frame_stands_in_order_of_date(valley):
    valley.frame("83-07", "1983", "Weigh-house", standpoint="by the bridge")
    ids = valley.ids
    with valley.archive.reading() as connection:
        kept = read_frame_beside(connection, ids["74-01"], ABOUT_DAYS)
        run = run_of([ids["90-01"], ids["74-01"], ids["X1"]])
        choices = frames_to_lay_beside(connection, kept, run, [ids["85-02"], ids["X1"]], ABOUT_DAYS)

    assert {choice.heading: [frame.numbers[0][0] for frame in choice.frames] for choice in choices} == {
        "marked in the list": ["85-02", "X1"],
        "from the same standpoint": ["74-01", "83-07"],
        "before and after it in the list": ["90-01", "X1"],
        "Weigh-house across the years": ["74-01", "79-01", "83-07", "85-02", "X1"],
    }
