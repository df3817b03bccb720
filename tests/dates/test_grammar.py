"""EDTF in, the same EDTF out, and the days in between."""

from __future__ import annotations

import calendar
import re
import subprocess
import sys
from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from catalog.dates import EdtfDate, format_edtf, iso_day, ordinal, parse_edtf
from catalog.dates._tree import spell
from catalog.dates.grammar import parse_tree
from catalog.dates.value import is_inside
from catalog.errors import EdtfError
from tests.dates.strategies import YEARS, edtf_texts, intervals, plain_dates


def parsed(text: str) -> EdtfDate:
    """A date of a strategy that may also run backwards; those are left out."""
    try:
        return parse_edtf(text)
    except EdtfError as exc:
        assume("before it begins" not in exc.reason)
        raise


@given(edtf_texts())
def test_what_is_written_can_be_read_back(text):
    date = parsed(text)

    assert parse_edtf(format_edtf(date)) == date
    assert format_edtf(date) == text
    assert spell(parse_tree(text)) == text  # put together again from its parts, not merely kept


@given(edtf_texts())
def test_bounds_never_run_backwards(text):
    date = parsed(text)

    assert date.earliest == date.spans[0][0]
    assert date.latest == date.spans[-1][1]
    for first, last in date.spans:
        assert first is None or last is None or first <= last
    for (_, ended), (begun, _) in zip(date.spans, date.spans[1:], strict=False):
        assert ended is not None
        assert begun is not None
        assert ended + 1 < begun


def _part(most, masks):
    """Return two digits up to ``most``, some of them open."""
    return st.builds(
        lambda number, mask: "".join(d if m == "d" else "X" for d, m in zip(f"{number:02d}", mask, strict=True)),
        st.integers(1, most), st.sampled_from(masks),
    )  # fmt: skip


# Judge: every day of the years, tried one by one against the digits that are written.
@given(st.integers(10, 9990), _part(12, ("dd", "dX", "Xd")), _part(31, ("dd", "dX", "Xd", "XX")))
def test_open_digits_mean_exactly_the_days_that_match(year, month, day):
    text = f"{year // 10:03d}X-{month}-{day}"
    pattern = re.compile(text.replace("X", "[0-9]"))
    decade = range(year // 10 * 10 or 1, year // 10 * 10 + 10)
    days = [
        ordinal(year, month, day)
        for year, month in product(decade, range(1, 13))
        for day in range(1, calendar.monthrange(year, month)[1] + 1)
        if pattern.fullmatch(f"{year:04d}-{month:02d}-{day:02d}")
    ]
    assume(days)

    date = parse_edtf(text)

    assert [day for first, last in date.spans for day in range(first, last + 1)] == days


# check_values section 1, "Bounds"; [D] marks the ones that are our own decision.
@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("198X", "1980-01-01", "1989-12-31"),
        ("1843~", "1843-01-01", "1843-12-31"),
        ("1755/1840", "1755-01-01", "1840-12-31"),
        ("../1975-05", None, "1975-05-31"),
        ("[1667,1668]", "1667-01-01", "1668-12-31"),
        ("-0480", "-0480-01-01", "-0480-12-31"),
        ("2004-02", "2004-02-01", "2004-02-29"),
        ("-01XX", "-0199-01-01", "-0100-12-31"),
        ("-20XX", "-2099-01-01", "-2000-12-31"),
        ("1985-1X-03", "1985-10-03", "1985-12-03"),
        ("0000", "0000-01-01", "0000-12-31"),
        ("1847-21", "1847-03-01", "1847-05-31"),  # [D]
        ("1983-24", "1983-12-01", "1984-02-29"),  # [D]
        ("1982-21/1983-24", "1982-03-01", "1984-02-29"),
        ("/..", None, None),
        ("../", None, None),
        ("../..", None, None),
        ("1756-01-27", "1756-01-27", "1756-01-27"),  # case E07
        ("-000X", "-0009-01-01", "-0001-12-31"),
        ("-XXX1-12", "-9991-12-01", "-0001-12-31"),
        ("XXXX-02-29", "0000-02-29", "9996-02-29"),
        ("Y123456789012345", "Y123456789012345-01-01", "Y123456789012345-12-31"),
    ],
)
def test_a_date_begins_and_ends_where_it_should(text, first, last):
    date = parse_edtf(text)

    assert (iso_day(date.earliest), iso_day(date.latest)) == (first, last)


def test_christmas_of_an_open_year_is_ten_days_and_not_ten_years():
    date = parse_edtf("156X-12-25")

    assert date.spans == tuple((ordinal(year, 12, 25),) * 2 for year in range(1560, 1570))


def test_a_date_of_too_many_days_has_one_stretch_from_first_to_last():
    date = parse_edtf("XXXX-12-25")

    assert date.spans == ((ordinal(0, 12, 25), ordinal(9999, 12, 25)),)


def test_the_members_of_a_set_that_touch_are_one_stretch():
    date = parse_edtf("[1667,1668,1670..1672]")

    assert date.spans == (
        (ordinal(1667, 1, 1), ordinal(1668, 12, 31)),
        (ordinal(1670, 1, 1), ordinal(1672, 12, 31)),
    )


def test_an_unknown_end_has_no_bound_and_is_not_an_open_one():
    unknown, is_open = parse_edtf("1985/"), parse_edtf("1985/..")

    assert unknown.latest is is_open.latest is None
    assert unknown != is_open


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("1984?", "?"),
        ("1984~", "~"),
        ("1984%", "%"),
        ("1984?/2004~", "%"),
        ("[1667~,1668]", "~"),
        ("1982-22", "s"),
        ("1982-22~", "~"),
        ("[1980,1982-24]", "s"),
        ("1982-33", ""),
        ("2004-06-~11", "~"),
        ("1984", ""),
    ],
)
def test_the_doubt_of_a_date_is_its_strongest_mark(text, doubt):
    assert parse_edtf(text).doubt == doubt


@given(plain_dates(), st.integers(0, 9))
def test_an_open_digit_never_narrows_a_date(text, place):
    place %= len(text)
    assume(text[place] != "-")
    strict, loose = parse_edtf(text), parse_edtf(text[:place] + "X" + text[place + 1 :])

    assert is_inside((strict.earliest, strict.latest), (loose.earliest, loose.latest))
    assert any(is_inside(strict.spans[0], span) for span in loose.spans)


@given(plain_dates(), st.sampled_from("?~%"))
def test_a_mark_never_narrows_a_date(text, mark):
    strict, loose = parse_edtf(text), parse_edtf(text + mark)

    assert (strict.earliest, strict.latest) == (loose.earliest, loose.latest)
    assert loose.within(strict) != "certainly"


@given(intervals())
def test_opening_an_end_never_narrows_a_stretch(text):
    date = parsed(text)
    start, end = text.split("/")

    for loose in (parse_edtf(f"../{end}"), parse_edtf(f"{start}/..")):
        assert is_inside((date.earliest, date.latest), (loose.earliest, loose.latest))


@given(plain_dates(), st.lists(YEARS, min_size=1, max_size=3))
def test_another_member_never_narrows_a_set(text, years):
    date = parse_edtf(text)
    wider = parse_edtf(f"[{text},{','.join(f'{year:04d}' for year in years)}]")

    assert any(is_inside(date.spans[0], span) for span in wider.spans)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("1985-02-29", "February 1985 has 28 days"),
        ("1982-04-31", "April has 30 days"),
        ("1985-02-3X", "February 1985 has 28 days"),
        ("19XX-02-30", "no month it may mean has a day 30"),
        ("1985-13", "13 is neither a month (01-12) nor a part of the year (21-41)"),
        ("1985-21-05", "21 is a part of the year (21-41), which has no day"),
        ("1985-2X", "no month (01-12) is written 2X"),
        ("1985-12-4X", "no day is written 4X"),
        ("2000/1999", "it ends before it begins"),
        ("[1984..1983]", "a range in it ends before it begins"),
        ("[1984..1985-06]", "a range runs from one year to another, not to a month"),
        ("[198X..1995]", "the ends of a range have no X"),
        ("[1984,..1990]", "'..' stands alone only at the beginning or the end of a set"),
        ("[..]", "'..' needs a date before or after it"),
        ("[1984}", "a set ends with the bracket that matches its first, and nothing follows it"),
        ("[1984]~", "a set ends with the bracket that matches its first, and nothing follows it"),
        ("/", "an interval has at least one end that is known or open"),
        ("1985-04-12T10:00:00/1986", "the ends of an interval are days or longer, without a time"),
        ("[1985-04-12T10:00:00]", "the members of a set are days or longer, without a time"),
        (
            "1985-04-12T10:00:00~",
            "a time is hh:mm:ss after a whole day, then nothing, 'Z', or a shift such as '+04:30'",
        ),
        ("1985-04-1XT10:00:00", "a time follows a whole day without marks or X"),
        ("?2004~", "a part is marked on both sides; % marks it as uncertain and approximate"),
        ("1950S0", "a year has at least one significant digit"),
        ("1950S5", "a year of 4 digits has not 5 significant ones"),
        ("1950S100", "it counts more significant digits than a year has"),
        ("19XXS2", "a year with X has no significant digits to count"),
        ("1950S2-05", "a year written with Y or significant digits has no month"),
        ("Y1E99999999999", "a year has at most 15 digits here"),
        ("Y1234567890123456", "a year has at most 15 digits here"),
        ("-0000-01", "the year 0 has no sign"),
        ("1985-04-12\n", "it holds a space; EDTF has none"),
        ("Ⅻ", "write YYYY, YYYY-MM or YYYY-MM-DD, with X for an open digit and ? ~ % for doubt"),
        ("١٩٨٥", "write YYYY, YYYY-MM or YYYY-MM-DD, with X for an open digit and ? ~ % for doubt"),
        ("[" + "1984," * 1000 + "1985]", "it has more than 4000 letters"),
    ],
)
def test_a_refusal_names_its_reason(text, reason):
    with pytest.raises(EdtfError) as refusal:
        parse_edtf(text)

    assert refusal.value.reason == reason


@given(st.text(max_size=30))
def test_any_text_is_a_date_or_is_refused(text):
    reason, written = "none needed", text
    try:
        written = parse_edtf(text).text
    except EdtfError as exc:
        reason = exc.reason

    assert reason
    assert written == text


def test_a_hostile_set_is_bounded():
    date = parse_edtf("[" + ",".join(["XXX1-XX-X1"] * 300) + "]")

    assert len(date.spans) <= 1000


def test_dates_load_nothing_heavy():
    heavy = ("hypothesis", "edtf", "numpy", "lxml", "sqlalchemy")
    code = f"import sys, catalog.dates; print([name for name in {heavy} if name in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert out.stdout.strip() == "[]"
