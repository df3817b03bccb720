"""How much time lies between two frames, and what falls between them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.dates import parse_edtf
from catalog.rules.between import TimeBetween, between_words, falls_between, time_between
from catalog.rules.chronicle import Days, reach_of

ABOUT_DAYS = 730


def when(edtf: str | None) -> Days:
    if edtf is None:
        return Days(None, None)
    date = parse_edtf(edtf)
    return Days(date.earliest, date.latest, reach_of(date.doubt, ABOUT_DAYS))


def told(first: str | None, second: str | None) -> str:
    time = time_between(when(first), when(second))
    assert time is not None
    return between_words(time)


# The differences are those of the calendar, counted by hand: GNU date gives 3,295 days from 1978-08-12 to 1987-08-20.
@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("1978-08-12", "1987-08-20", "9 years"),
        ("1987-08-20", "1978-08-12", "9 years"),
        ("1978", "1987", "8 to 10 years"),
        ("1974-06", "1974-08", "1 to 3 months"),
        ("1978-08-12", "1979-10-20", "14 months"),
        ("1978-08-12", "1978-08-13", "1 day"),
        ("1978-08-12", "1978-08-29", "17 days"),
        ("1978", "1978", "less than a year"),
        ("1978~", "1979", "less than 4 years"),
        ("1978", "1990/..", "more than 11 years"),
        ("../1978", "1979", "how long is not known"),
    ],
)
def test_the_time_between_is_told_as_closely_as_the_dates_allow(first, second, words):
    assert told(first, second) == words


def test_without_a_date_nothing_is_told():
    assert time_between(when(None), when("1978")) is None


def test_which_is_the_older_is_said_only_when_it_is_sure():
    def older(first: str, second: str) -> bool | None:
        time = time_between(when(first), when(second))
        assert time is not None
        return time.is_first_older

    assert older("1978", "1979") is True
    assert older("1979", "1978") is False
    assert older("1978~", "1979") is None
    assert older("1978", "1978-05") is None


# Frames of 1974 and of 14 June 1987. What is dated by a stretch is judged by all of its days.
@pytest.mark.parametrize(
    ("entry", "falls"),
    [
        ("1980", True), ("1978/1982", True), ("1982-06", True), ("1970", False), ("1990", False), ("1974", None),
        ("198X", None), (None, None),
    ],
)  # fmt: skip
def test_what_happened_falls_between_two_frames_or_not_or_nobody_knows(entry, falls):
    assert falls_between(when(entry), when("1974"), when("1987-06-14")) is falls
    assert falls_between(when(entry), when("1987-06-14"), when("1974")) is falls


def test_between_frames_whose_order_is_not_known_something_may_lie():
    assert falls_between(when("1978"), when("1978~"), when("1979")) is None
    assert falls_between(when("1950"), when("1978~"), when("1979")) is False


DAYS = st.tuples(st.integers(700_000, 730_000), st.integers(0, 4000), st.integers(0, 800)).map(
    lambda three: Days(three[0], three[0] + three[1], three[2])
)


@given(DAYS, DAYS)
def test_the_order_of_two_frames_makes_no_difference_to_the_time(first, second):
    one, other = time_between(first, second), time_between(second, first)

    assert one is not None
    assert other is not None
    assert (one.least, one.most) == (other.least, other.most)
    assert one.is_first_older is (None if other.is_first_older is None else not other.is_first_older)
    assert between_words(one)


@given(DAYS, DAYS)
def test_two_days_within_the_dates_lie_as_far_apart_as_is_said(first, second):
    time = time_between(first, second)

    assert time is not None
    assert time.most is not None
    for one in (first.earliest, first.latest):
        for other in (second.earliest, second.latest):
            assert time.least <= abs(one - other) <= time.most


def test_a_stretch_of_one_day_reads_as_one():
    assert between_words(TimeBetween(1, 1, True)) == "1 day"
