"""How much time lies between two frames, and what falls between them, as far as their dates can say."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from catalog.rules.chronicle import Days

_DAYS_IN_YEAR = 365.2425
"""The mean year of the Gregorian calendar (ISO 8601-1:2019, 4.2.1: 400 years have 146,097 days)."""
_LOOSE_DAYS = 62
"""A stretch known to two months is told as one figure; anything looser as two."""


@dataclass(frozen=True, slots=True)
class TimeBetween:
    """
    The days between two frames, from the least to the most they may be; ``most`` is ``None`` without a bound.

    ``is_first_older`` is ``None`` when the dates cannot say which is the older.
    """

    least: int
    most: int | None
    is_first_older: bool | None


def time_between(first: Days, second: Days) -> TimeBetween | None:
    """Return the time between two frames, ``None`` when one of them has no date."""
    if _is_undated(first) or _is_undated(second):
        return None
    first_older, second_older = first.surely_before(second), second.surely_before(first)
    gaps = (_most(first, second), _most(second, first))
    if first_older:
        return TimeBetween(_least(first, second), gaps[0], True)
    if second_older:
        return TimeBetween(_least(second, first), gaps[1], False)
    most = None if gaps[0] is None or gaps[1] is None else max(gaps[0], gaps[1])
    return TimeBetween(0, most, None)


def _is_undated(days: Days) -> bool:
    return days.earliest is None and days.latest is None


def _least(older: Days, younger: Days) -> int:
    assert older.latest is not None
    assert younger.earliest is not None
    return younger.earliest - younger.reach - older.latest - older.reach


def _most(older: Days, younger: Days) -> int | None:
    if younger.latest is None or older.earliest is None:
        return None
    return younger.latest + younger.reach - older.earliest + older.reach


def falls_between(entry: Days, first: Days, second: Days) -> bool | None:
    """
    Return True if something happened between two frames for certain, False if it did not.

    ``None`` means that the dates cannot settle it.
    """
    if _is_undated(entry) or _is_undated(first) or _is_undated(second):
        return None
    for older, younger in ((first, second), (second, first)):
        if older.surely_before(entry) and entry.surely_before(younger):
            return True
    if all(entry.surely_before(frame) for frame in (first, second)):
        return False
    if all(frame.surely_before(entry) for frame in (first, second)):
        return False
    return None


def between_words(time: TimeBetween) -> str:
    """
    Return a stretch of time in words.

    >>> between_words(TimeBetween(3285, 3290, True)), between_words(TimeBetween(2923, 3651, True))
    ('9 years', '8 to 10 years')
    >>> between_words(TimeBetween(0, 700, None)), between_words(TimeBetween(400, None, True))
    ('less than 2 years', 'more than a year')
    """
    if time.most is None:
        return (
            f"more than {_years(floor(time.least / _DAYS_IN_YEAR))}" if time.least >= 365 else "how long is not known"
        )
    if time.most - time.least <= _LOOSE_DAYS and time.is_first_older is not None:
        return _one_figure(time)
    least, most = floor(time.least / _DAYS_IN_YEAR), ceil(time.most / _DAYS_IN_YEAR)
    return f"{least} to {_years(most)}" if least else f"less than {_years(most)}"


def _one_figure(time: TimeBetween) -> str:
    assert time.most is not None
    middle = (time.least + time.most) / 2
    if middle >= 2 * _DAYS_IN_YEAR:
        return _years(round(middle / _DAYS_IN_YEAR))
    if time.most > _LOOSE_DAYS:
        return _months(time.least, time.most)
    if time.least == time.most:
        return "1 day" if time.least == 1 else f"{time.least} days"
    return f"{max(time.least, 0)} to {time.most} days"


def _months(least: int, most: int) -> str:
    month = _DAYS_IN_YEAR / 12
    if most - least <= month / 2:
        return f"{round((least + most) / 2 / month)} months"
    return f"{floor(least / month)} to {ceil(most / month)} months" if least >= month else f"{least} to {most} days"


def _years(count: int) -> str:
    return "a year" if count == 1 else f"{count} years"
