"""From the parts of a date to the days it may mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from catalog.dates._tree import Interval, Point, Range, Tree, year_number
from catalog.dates.days import month_length, ordinal
from catalog.dates.value import Span

MOST_SPANS = 1_000

MONTH_NAMES = (
    "", "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

# EDTF 2019-02-04, Level 2, "Sub-year groupings": (first month, last month; above 12 is next year).
# The standard gives no months for seasons; these are the meteorological ones. A winter is counted from the
# December it begins in. Codes 21-24 imply no hemisphere; their bounds are the northern ones and are soft.
SUB_YEAR_MONTHS = {
    21: (3, 5), 22: (6, 8), 23: (9, 11), 24: (12, 14),
    25: (3, 5), 26: (6, 8), 27: (9, 11), 28: (12, 14),
    29: (9, 11), 30: (12, 14), 31: (3, 5), 32: (6, 8),
    33: (1, 3), 34: (4, 6), 35: (7, 9), 36: (10, 12),
    37: (1, 4), 38: (5, 8), 39: (9, 12),
    40: (1, 6), 41: (7, 12),
}  # fmt: skip
SOFT_CODES = frozenset(range(21, 33))


class UnfitError(Exception):
    """The parts of a date do not make one; the message is the reason."""


def spans_of(tree: Tree) -> list[Span]:
    """Return the stretches of days a date may mean, apart and in order."""
    if isinstance(tree, Point):
        return list(_point_spans(tree))
    if isinstance(tree, Interval):
        return [_interval_span(tree)]
    return _merged([span for item in tree.items for span in _item_spans(item)])


def is_soft(tree: Tree) -> bool:
    """Return True if a season stands anywhere in the date."""
    return any(point.month.isdigit() and int(point.month) in SOFT_CODES for point in points_of(tree))


def points_of(tree: Tree) -> Iterator[Point]:
    """Yield every single date in a tree."""
    if isinstance(tree, Point):
        yield tree
        return
    ends = (tree,) if isinstance(tree, Interval) else tree.items
    for end in ends:
        if isinstance(end, Point):
            yield end
        else:
            yield from (point for point in end[:2] if isinstance(point, Point))


def _point_spans(point: Point) -> Sequence[Span]:
    years = _year_runs(point)
    if not point.month or (point.month == "XX" and point.day in ("", "XX")):
        return _capped([(ordinal(first, 1, 1), ordinal(last, 12, 31)) for first, last in years])
    months, days = _months(point), _days(point)
    how_many = sum(last - first + 1 for first, last in years) * len(months) * max(1, len(days))
    if how_many > MOST_SPANS:
        earliest = next(_stretches(_upwards(years), months, days), None)
        latest = next(_stretches(_downwards(years), months[::-1], days[::-1]), None)
        spans: list[Span] = [(earliest[0], latest[1])] if earliest and latest else []
    else:
        spans = _merged(list(_stretches(_upwards(years), months, days)))
    if not spans:
        raise UnfitError(_no_such_day(point, months))
    return spans


def _stretches(
    years: Iterator[int], months: Sequence[tuple[int, int]], days: Sequence[int]
) -> Iterator[tuple[int, int]]:
    """Yield (first day, last day) for each year and month; with ``days``, for each of those that exists."""
    for year, (first, last) in product(years, months):
        if not days:
            end_year, end_month = (year, last) if last <= 12 else (year + 1, last - 12)
            yield ordinal(year, first, 1), ordinal(end_year, end_month, month_length(end_year, end_month))
            continue
        length = month_length(year, first)
        for day in days:
            if day <= length:
                number = ordinal(year, first, day)
                yield number, number


def _upwards(runs: Sequence[tuple[int, int]]) -> Iterator[int]:
    return (year for first, last in runs for year in range(first, last + 1))


def _downwards(runs: Sequence[tuple[int, int]]) -> Iterator[int]:
    return (year for first, last in reversed(runs) for year in range(last, first - 1, -1))


def _year_runs(point: Point) -> Sequence[tuple[int, int]]:
    """Return (first, last) of each run of years that the year may mean."""
    if "X" in point.year:
        if point.significant:
            raise UnfitError("a year with X has no significant digits to count")
        return _masked_years(point.year)
    year = year_number(point.year)
    if not point.significant:
        return ((year, year),)
    # EDTF 2019-02-04, Level 2, "Significant digits": as many leading digits are known, the rest are open.
    digits = len(str(abs(year))) if point.year.startswith("Y") else 4
    if point.significant > digits:
        raise UnfitError(f"a year of {digits} digits has not {point.significant} significant ones")
    step = 10 ** (digits - point.significant)
    nearest = abs(year) // step * step
    return _signed(nearest, nearest + step - 1, is_negative=year < 0)


def _masked_years(year: str) -> Sequence[tuple[int, int]]:
    """Return the runs of years that a year with X in it may mean; ``-01XX`` runs backwards in value."""
    is_negative, digits = year.startswith("-"), year.lstrip("-")
    known = digits.rstrip("X")
    if "X" not in known:
        open_digits = len(digits) - len(known)
        first = int(known or 0) * 10**open_digits
        return _signed(first, first + 10**open_digits - 1, is_negative=is_negative)
    sign = -1 if is_negative else 1
    matching = sorted(sign * number for number in _matches(digits) if number or not is_negative)
    runs: list[tuple[int, int]] = []
    for number in matching:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def _signed(first: int, last: int, *, is_negative: bool) -> Sequence[tuple[int, int]]:
    # EDTF 2019-02-04, Level 1, "Negative calendar year": the year 0 has no sign, so -000X begins at -1.
    return ((-last, -max(first, 1)),) if is_negative else ((first, last),)


def _matches(mask: str) -> Iterator[int]:
    """Yield every number that the digits and X of ``mask`` may be."""
    choices = ["0123456789" if digit == "X" else digit for digit in mask]
    return (int("".join(digits)) for digits in product(*choices))


def _months(point: Point) -> Sequence[tuple[int, int]]:
    """Return (first month, last month) of each month or sub-year group that the date may mean."""
    if "X" not in point.month:
        number = int(point.month)
        if number in SUB_YEAR_MONTHS:
            if point.day:
                raise UnfitError(f"{point.month} is a part of the year (21-41), which has no day")
            return (SUB_YEAR_MONTHS[number],)
        if not 1 <= number <= 12:
            raise UnfitError(f"{point.month} is neither a month (01-12) nor a part of the year (21-41)")
        return ((number, number),)
    months = [number for number in _matches(point.month) if 1 <= number <= 12]
    if not months:
        raise UnfitError(f"no month (01-12) is written {point.month}")
    return [(number, number) for number in months]


def _days(point: Point) -> Sequence[int]:
    """Return the days of a month that the date may mean; none if it means the whole month."""
    if point.day in ("", "XX"):
        return ()
    days = [number for number in _matches(point.day) if 1 <= number <= 31]
    if not days:
        raise UnfitError(f"no day is written {point.day}")
    return days


def _no_such_day(point: Point, months: Sequence[tuple[int, int]]) -> str:
    if len(months) > 1 or "X" in point.year:
        return f"no month it may mean has a day {point.day}"
    year, month = year_number(point.year), months[0][0]
    when = f"{MONTH_NAMES[month]} {year}" if month == 2 else MONTH_NAMES[month]
    return f"{when} has {month_length(year, month)} days"


def _interval_span(interval: Interval) -> Span:
    earliest = _hull(interval.start)[0] if interval.start else None
    latest = _hull(interval.end)[1] if interval.end else None
    if earliest is not None and latest is not None and earliest > latest:
        raise UnfitError("it ends before it begins")
    return earliest, latest


def _item_spans(item: Point | Range) -> Sequence[Span]:
    if isinstance(item, Point):
        return _point_spans(item)
    earliest = _hull(item.first)[0] if item.first else None
    latest = _hull(item.last)[1] if item.last else None
    if earliest is not None and latest is not None and earliest > latest:
        raise UnfitError("a range in it ends before it begins")
    return ((earliest, latest),)


def _hull(point: Point) -> tuple[int | None, int | None]:
    spans = _point_spans(point)
    return spans[0][0], spans[-1][1]


def _merged(spans: list[Span]) -> list[Span]:
    """Return the stretches in order, those that touch or overlap made one."""
    merged: list[Span] = []
    for first, last in sorted(spans, key=lambda span: (span[0] is not None, span[0] or 0)):
        if not merged or not _touches(merged[-1], first):
            merged.append((first, last))
            continue
        begun, reached = merged[-1]
        merged[-1] = (begun, None if reached is None or last is None else max(reached, last))
    return _capped(merged)


def _touches(earlier: Span, first: int | None) -> bool:
    return first is None or earlier[1] is None or first <= earlier[1] + 1


def _capped(spans: list[Span]) -> list[Span]:
    return spans if len(spans) <= MOST_SPANS else [(spans[0][0], spans[-1][1])]
