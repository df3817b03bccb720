"""How an EDTF date is put together: its parts as written, before anything is worked out from them."""

from __future__ import annotations

from typing import NamedTuple

NO_MARKS = "      "
# Where each mark stands in Point.marks: left and right of the year, of the month, of the day.
LEFT_OF_YEAR, RIGHT_OF_YEAR, LEFT_OF_MONTH, RIGHT_OF_MONTH, LEFT_OF_DAY, RIGHT_OF_DAY = range(6)

LONGEST_YEAR = 15  # digits; the number of any day then fits 64 bits with room to spare


class Point(NamedTuple):
    """One date as written: digits and X, no sign of meaning yet."""

    year: str
    month: str = ""
    day: str = ""
    time: str = ""
    significant: int = 0
    marks: str = NO_MARKS

    @property
    def is_masked(self) -> bool:
        """True if a digit is left open."""
        return "X" in self.year or "X" in self.month or "X" in self.day

    @property
    def precision(self) -> str:
        """What the date names: year, month, season or day."""
        if self.day:
            return "day"
        if not self.month:
            return "year"
        return "season" if self.month.isdigit() and int(self.month) > 12 else "month"


class Range(NamedTuple):
    """Several members of a set in a row; None is an open end."""

    first: Point | None
    last: Point | None


class Interval(NamedTuple):
    """A stretch of time. An end that is None is open (``..``) or unknown (nothing written)."""

    start: Point | None
    end: Point | None
    start_open: bool = False
    end_open: bool = False


class Members(NamedTuple):
    """One of several dates, or all of them."""

    all_of: bool
    items: tuple[Point | Range, ...]


Tree = Point | Interval | Members


def year_number(year: str) -> int:
    """Return the number an unmasked year means, letter and exponent included."""
    digits, _, exponent = year.removeprefix("Y").partition("E")
    tens: int = 10 ** int(exponent or 0)
    return int(digits) * tens


def spell(tree: Tree) -> str:
    """Return the EDTF text of a tree; parsing it gives the same tree."""
    if isinstance(tree, Point):
        return _spell_point(tree)
    if isinstance(tree, Interval):
        start = _spell_point(tree.start) if tree.start else ".." if tree.start_open else ""
        end = _spell_point(tree.end) if tree.end else ".." if tree.end_open else ""
        return f"{start}/{end}"
    inner = ",".join(_spell_item(item) for item in tree.items)
    return f"{{{inner}}}" if tree.all_of else f"[{inner}]"


def _spell_item(item: Point | Range) -> str:
    if isinstance(item, Point):
        return _spell_point(item)
    first = _spell_point(item.first) if item.first else ""
    last = _spell_point(item.last) if item.last else ""
    return f"{first}..{last}"


def _spell_point(point: Point) -> str:
    marks = [mark.strip() for mark in point.marks]
    text = marks[LEFT_OF_YEAR] + point.year
    text += f"S{point.significant}" if point.significant else ""
    text += marks[RIGHT_OF_YEAR]
    if point.month:
        text += f"-{marks[LEFT_OF_MONTH]}{point.month}{marks[RIGHT_OF_MONTH]}"
    if point.day:
        text += f"-{marks[LEFT_OF_DAY]}{point.day}{marks[RIGHT_OF_DAY]}"
    return text + (f"T{point.time}" if point.time else "")
