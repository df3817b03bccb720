"""Where a frame stands in a chronicle, and whether the building stood then."""

from __future__ import annotations

import pytest

from catalog.dates import parse_edtf
from catalog.rules.chronicle import Days, reach_of, standing_of, stood

ABOUT_DAYS = 730
UNDATED = Days(None, None)


def days(edtf: str | None) -> Days:
    if edtf is None:
        return UNDATED
    date = parse_edtf(edtf)
    return Days(date.earliest, date.latest, reach_of(date.doubt, ABOUT_DAYS))


@pytest.mark.parametrize(
    ("raised", "razed", "when", "answer"),
    [
        ("1765", "1989", "1977-07", True),
        ("1765", "1989", "1995", False),
        ("1765", "1989", "1701", False),
        ("1765", "1989", "1989-03", None),  # within the year it was razed
        ("1765", "1989", "1988~", None),  # "about 1988" may be 1989
        ("1765", "1989", "1985~", True),  # two years are not enough
        ("1790~", None, "1978", True),
        (None, None, "1978", True),  # nothing speaks against it
        ("1765", "1980?", "1978", True),
        ("1978/..", None, "1980", None),  # raised in 1978 or at any time later
        ("../1985", None, "1980", None),
        ("1765", "1989", None, None),
    ],
)
def test_a_building_stood_did_not_or_nobody_can_say(raised: str, razed: str, when: str, answer: bool | None):
    assert stood(raised=days(raised), razed=days(razed), when=days(when)) is answer


CHRONICLE = ("1790~", "1841", "1866", "[1957,1958]", "[1978..1982]", "1996")


@pytest.mark.parametrize(
    ("frame", "after", "spans"),
    [
        ("1975-05-17", 4, ()),
        ("1978~", 4, (4,)),
        ("1982-07", 4, (4,)),
        ("1986", 5, ()),
        ("1996-09", 5, (5,)),
        ("2008", 6, ()),
        ("1700", 0, ()),
        ("1840/1870", 1, (1, 2)),
        ("1997-21", 5, (5,)),  # a season's edges are soft by half a year
        ("1998-21", 6, ()),
    ],
)
def test_a_frame_stands_after_what_surely_came_before_it(frame: str, after: int, spans: tuple[int, ...]):
    standing = standing_of(days(frame), [days(entry) for entry in CHRONICLE])

    assert (standing.after, standing.spans) == (after, spans)


def test_an_undated_entry_tells_nothing_of_a_frame():
    standing = standing_of(days("1991"), [days("1811"), UNDATED])

    assert (standing.after, standing.spans) == (1, ())
