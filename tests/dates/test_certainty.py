"""Certainly, possibly or apart: within years, and before or after."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from catalog.dates import (
    Certainty,
    Window,
    before,
    fall,
    ordinal,
    parse_edtf,
    sort_key,
    truncated_iso,
)
from catalog.errors import EdtfError
from tests.dates.strategies import edtf_texts, plain_dates

TWO_YEARS = 731
ORDER = [Certainty.APART, Certainty.POSSIBLY, Certainty.CERTAINLY]


def a_window(text: str, about_days: int = 0) -> Window:
    date = parse_edtf(text)
    return Window(date.earliest, date.latest, about_days)


def fallen(text: str, window: Window) -> Certainty:
    date = parse_edtf(text)
    return fall(date.text, date.earliest, date.latest, date.doubt, window)


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("1978", "certainly"),
        ("1978-08-12", "certainly"),
        ("1975/1990", "certainly"),
        ("[1978,1979]", "certainly"),
        ("197X", "possibly"),
        ("1978?", "possibly"),
        ("1978~", "possibly"),
        ("1978%", "possibly"),
        ("1982-22", "possibly"),  # a season is never certainly, design section 10
        ("1982-34", "certainly"),  # a quarter has edges
        ("1974", "apart"),
        ("1974~", "possibly"),  # within the archive's margin for "about"
        ("1973%", "possibly"),
        ("1974?", "apart"),  # "?" doubts the statement, it does not widen it
        ("1970~", "apart"),
        ("1991-24", "apart"),
        ("1974-24", "possibly"),
        ("../1985", "possibly"),
        ("1832/..", "possibly"),
        ("/1985", "possibly"),
        ("../1974", "apart"),
        ("[1960,2000]", "apart"),  # neither year, though the stretch between them covers the window
        ("{1960,1980}", "possibly"),
        ("[..1960,2000..]", "apart"),
        ("../..", "possibly"),
        ("19X4-05-01", "possibly"),
        ("19X1", "possibly"),
        ("1X74", "apart"),
    ],
)
def test_a_frame_falls_within_1975_to_1990(text, verdict):
    assert fallen(text, a_window("1975/1990", about_days=TWO_YEARS)) == verdict


def test_an_open_window_takes_all_that_follows():
    assert fallen("1978", a_window("1975/..")) == "certainly"
    assert fallen("1978/..", a_window("1975/..")) == "certainly"
    assert fallen("../1978", a_window("1975/..")) == "possibly"


def test_christmas_of_an_open_year_does_not_fall_in_spring():
    assert fallen("156X-12-25", a_window("1563-03/1563-05")) == "apart"
    assert fallen("156X-12-25", a_window("1563")) == "possibly"


# Case D09: an undated sheet is counted beside the answer; it must not slip in or out of a list unseen.
def test_an_undated_row_falls_nowhere():
    with pytest.raises(ValueError, match="undated"):
        fall("", None, None, "", Window(None, None))


@given(edtf_texts(), plain_dates(), st.integers(0, 2000))
def test_columns_and_dates_give_the_same_verdict(text, window, about_days):
    date, stretch = readable(text), parse_edtf(window)

    by_columns = fall(
        date.text,
        date.earliest,
        date.latest,
        date.doubt,
        Window(stretch.earliest, stretch.latest, about_days),
    )

    assert by_columns == date.within(stretch, about_days)


@given(plain_dates(), plain_dates(), st.sampled_from("?~%"), st.integers(0, 2000))
def test_a_mark_makes_nothing_certain_and_nothing_apart(text, window, mark, about_days):
    strict = parse_edtf(text).within(parse_edtf(window), about_days)
    loose = parse_edtf(text + mark).within(parse_edtf(window), about_days)

    assert loose != "certainly"
    assert strict == "apart" or loose == "possibly"


@given(edtf_texts(), plain_dates(), st.integers(0, 500), st.integers(0, 500))
def test_a_wider_margin_never_loses_a_frame(text, window, margin, more):
    date, stretch = readable(text), parse_edtf(window)

    assert ORDER.index(date.within(stretch, margin)) <= ORDER.index(date.within(stretch, margin + more))


def readable(text: str):
    try:
        return parse_edtf(text)
    except EdtfError:
        assume(False)


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [
        ("1841", "1866", "certainly"),
        ("1866", "1841", "apart"),
        ("1978", "1978-08", "possibly"),
        ("1978", "1978", "possibly"),
        ("1978-08-12", "1978-08-12", "apart"),
        ("1978-08-12", "1978-08-13", "certainly"),
        ("[..1974]", "1975", "certainly"),
        ("1790~", "1978", "possibly"),
        ("1957?", "1978", "possibly"),
        ("1982-22", "1983", "possibly"),
        ("1985/", "1990", "possibly"),
        ("../1985", "1990", "certainly"),
        ("[1957,1958]", "1958", "possibly"),
    ],
)
def test_one_thing_came_before_another(first, second, verdict):
    assert before(parse_edtf(first), parse_edtf(second)) == verdict


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [
        ("1790~", "1978", True),  # "about" reaches two years here
        ("1977~", "1978", False),
        ("1975~", "1978~", False),  # two margins
        ("1972~", "1978~", True),
        ("1982-22", "1983", False),
        ("1982-22", "1985", True),
        ("1790?", "1978", False),  # the statement itself is doubted
        ("1790%", "1978", False),
    ],
)
def test_with_a_margin_about_may_be_sure(first, second, verdict):
    assert parse_edtf(first).surely_before(parse_edtf(second), about_days=TWO_YEARS) == verdict


@given(edtf_texts(), edtf_texts())
def test_two_things_were_not_each_before_the_other(one, other):
    first, second = readable(one), readable(other)

    assert not (first.surely_before(second) and second.surely_before(first))
    assert (before(first, second) == "certainly") <= (before(second, first) == "apart")


# Case D09, and D07: an open-ended range sorts like the rest.
def test_frames_sort_by_earliest_else_latest_and_undated_last():
    texts = ["1832/..", "1978-08", "../1985", "1978", None, "[..1974]", "1979~"]

    def key(text):
        date = parse_edtf(text) if text else None
        return sort_key(date.earliest, date.latest) if date else sort_key(None, None)

    assert sorted(texts, key=key) == ["1832/..", "[..1974]", "1978", "1978-08", "1979~", "../1985", None]


@pytest.mark.parametrize(
    ("text", "truncated"),
    [
        ("1978", "1978"),
        ("1978-08", "1978-08"),
        ("1978-08-12", "1978-08-12"),
        ("1978-08-12T10:30:00", "1978-08-12"),
        ("1978-05/1978-09", "1978"),
        ("[1978-08-12,1978-08-14]", "1978-08"),
        ("1978-08-1X", "1978-08"),
        ("1978-XX-XX", "1978"),
        ("1978-34", "1978"),
        ("1978/1979", None),
        ("1978~", None),
        ("1978?", None),
        ("1978-08%", None),
        ("197X", None),
        ("1978-22", None),  # a season's edges are soft
        ("1978-24", None),
        ("1978/..", None),
        ("1978/", None),
        ("../1978", None),
        ("0000", None),
        ("-0480", None),
        ("Y12345", None),
    ],
)
def test_a_receiver_gets_only_what_is_certain(text, truncated):
    assert truncated_iso(parse_edtf(text)) == truncated


@given(edtf_texts())
def test_every_possible_day_shares_the_truncation(text):
    date = readable(text)
    truncated = truncated_iso(date)
    assume(truncated)

    stated = parse_edtf(truncated)

    assert stated.earliest <= date.earliest <= date.latest <= stated.latest
    assert not date.doubt


def test_a_verdict_is_a_plain_word():
    assert str(fallen("1978", Window(ordinal(1975, 1, 1), ordinal(1990, 12, 31)))) == "certainly"
