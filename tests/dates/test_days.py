"""Days counted beyond the standard library's calendar."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.dates import calendar_day, iso_day, ordinal


# Judge: Python's own datetime.date, for the years it has.
@given(st.dates())
def test_a_day_counts_as_the_standard_library_counts_it(day):
    assert ordinal(day.year, day.month, day.day) == day.toordinal()
    assert iso_day(day.toordinal()) == day.isoformat()


@given(st.integers(-(10**15), 10**15))
def test_a_day_of_any_age_has_one_place_in_the_calendar(number):
    assert ordinal(*calendar_day(number)) == number


@pytest.mark.parametrize("year", [-4000, -400, -5, -4, -1, 0, 1, 1900, 2000, 9999, 10_000, 10**12])
def test_the_day_after_new_years_eve_is_new_year(year):
    assert ordinal(year, 12, 31) + 1 == ordinal(year + 1, 1, 1)


def test_the_year_0_is_a_leap_year():
    # ISO 8601: proleptic Gregorian, the year 0 divides by 400.
    assert ordinal(0, 3, 1) - ordinal(0, 2, 29) == 1


@pytest.mark.parametrize(
    ("day", "written"),
    [
        ((1978, 8, 12), "1978-08-12"),
        ((-480, 1, 1), "-0480-01-01"),
        ((0, 12, 31), "0000-12-31"),
        ((12345, 1, 1), "Y12345-01-01"),
        ((-170_000_000, 12, 31), "Y-170000000-12-31"),
    ],
)
def test_a_day_is_written_with_the_year_as_edtf_spells_it(day, written):
    assert iso_day(ordinal(*day)) == written


def test_no_day_stays_no_day():
    assert iso_day(None) is None


@pytest.mark.parametrize("day", [(1982, 4, 31), (1979, 2, 29), (1979, 13, 1), (1979, 0, 1), (1979, 1, 0)])
def test_a_day_that_no_calendar_has_is_refused(day):
    with pytest.raises(ValueError):
        ordinal(*day)
