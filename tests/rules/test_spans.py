"""Whether a site, a name or a belonging held when a frame was exposed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from catalog.dates import parse_edtf
from catalog.model import RecordedDate
from catalog.rules.spans import ALWAYS, Boundary, FrameTime, span_between

ABOUT_DAYS = 730


def boundary(edtf: str | None) -> Boundary:
    date = RecordedDate.of(parse_edtf(edtf) if edtf else None)
    return Boundary(date.edtf, date.earliest, date.latest, date.doubt)


def time(edtf: str | None) -> FrameTime:
    date = RecordedDate.of(parse_edtf(edtf) if edtf else None)
    return FrameTime(edtf is not None, date.earliest, date.latest, date.doubt)


def span(since: str | None, until: str | None):
    return span_between(boundary(since), boundary(until), ABOUT_DAYS)


def test_nothing_known_of_its_ends_it_always_held():
    assert span(None, None) == ALWAYS
    assert time("1978").lies_within(ALWAYS)
    assert time(None).may_meet(ALWAYS, ABOUT_DAYS)


def test_a_boundary_known_to_a_month_is_not_surely_passed_within_it():
    moved = span("1979-06", None)

    assert [time(edtf).lies_within(moved) for edtf in ("1979-05", "1979-06-30", "1979-07-01")] == [False, False, True]
    assert [time(edtf).may_meet(moved, ABOUT_DAYS) for edtf in ("1979-05", "1979-06-01")] == [False, True]


def test_a_boundary_about_a_year_leaves_its_margin_open():
    used = span("1863", "1925~")

    assert time("1922").lies_within(used)
    assert not time("1924").lies_within(used)
    assert time("1926").may_meet(used, ABOUT_DAYS)


def test_a_marked_date_is_never_surely_within_but_may_be_well_within():
    granary = span("1765", "1989")

    for edtf in ("1984~", "1984?", "1984%"):
        assert not time(edtf).lies_within(granary)
        assert time(edtf).lies_well_within(granary, ABOUT_DAYS)
    assert not time("1987~").lies_well_within(granary, ABOUT_DAYS)
    assert not time(None).lies_well_within(granary, ABOUT_DAYS)


def boundaries() -> st.SearchStrategy[Boundary]:
    days, marks = st.integers(700_000, 730_000), st.sampled_from(["", "~", "?", "%", "s"])
    return st.builds(
        lambda one, other, mark: Boundary("dated", min(one, other), max(one, other), mark), days, days, marks
    )


@given(boundaries(), boundaries(), boundaries())
def test_what_is_surely_within_may_meet(since, until, when):
    held = span_between(since, until, ABOUT_DAYS)
    frame = FrameTime(True, when.earliest, when.latest, when.doubt)

    if frame.lies_within(held):
        assert frame.lies_well_within(held, ABOUT_DAYS)
    if frame.lies_well_within(held, ABOUT_DAYS):
        assert frame.may_meet(held, ABOUT_DAYS)
