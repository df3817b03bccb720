"""
Which day is it? Days as whole numbers, for every year there is.

A day counts as ``datetime.date.toordinal`` counts it (1 January of year 1 is day 1), carried on beyond that
class's range both ways. The calendar is the proleptic Gregorian with a year 0, as ISO 8601 counts.
"""

from __future__ import annotations

from datetime import date

_BEFORE_MONTH = (0, 0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
_MONTH_LENGTHS = (0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_YEARS_IN_CYCLE, _DAYS_IN_CYCLE = 400, 146_097  # the Gregorian calendar repeats after 400 years


def is_leap(year: int) -> bool:
    """Return True if the year has a 29 February."""
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def month_length(year: int, month: int) -> int:
    """Return the number of days in a month (1 to 12)."""
    return 29 if month == 2 and is_leap(year) else _MONTH_LENGTHS[month]


def ordinal(year: int, month: int, day: int) -> int:
    """
    Return the number of a day; ``year`` may be zero or negative (0 is 1 BC).

    >>> ordinal(1, 1, 1), ordinal(0, 12, 31)
    (1, 0)

    Raises:
        ValueError: there is no such month or day.
    """
    if not 1 <= month <= 12 or not 1 <= day <= month_length(year, month):
        raise ValueError(f"{year}-{month}-{day} is not a day of the calendar")
    before = year - 1
    days_before_year = before * 365 + before // 4 - before // 100 + before // 400
    leap_day = 1 if month > 2 and is_leap(year) else 0
    return days_before_year + _BEFORE_MONTH[month] + leap_day + day


def calendar_day(ordinal_day: int) -> tuple[int, int, int]:
    """Return (year, month, day) of a day's number; the way back from ``ordinal``."""
    cycles, within = divmod(ordinal_day - 1, _DAYS_IN_CYCLE)
    day = date.fromordinal(within + 1)
    return day.year + cycles * _YEARS_IN_CYCLE, day.month, day.day


def format_year(year: int) -> str:
    """Return a year as EDTF spells it: four digits, or ``Y`` and as many as it needs."""
    # EDTF 2019-02-04, Level 1, "Letter-prefixed calendar year": Y only beyond four digits.
    if -9999 <= year <= 9999:
        return f"{year:05d}" if year < 0 else f"{year:04d}"
    return f"Y{year}"


def iso_day(ordinal_day: int | None) -> str | None:
    """
    Return a day as ``YYYY-MM-DD``; None stays None.

    A year beyond four digits has the EDTF letter before it: ``Y12345-01-01``.
    """
    if ordinal_day is None:
        return None
    year, month, day = calendar_day(ordinal_day)
    return f"{format_year(year)}-{month:02d}-{day:02d}"
