"""How is a doubtful date said in a caption? Short English that keeps every mark of doubt."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

from catalog.dates._bounds import MONTH_NAMES
from catalog.dates._tree import Interval, Members, Point, Range, year_number
from catalog.dates.grammar import parse_edtf, parse_tree
from catalog.dates.value import EdtfDate

_SEASON_NAMES = ("spring", "summer", "autumn", "winter")
_PART_NAMES = {
    "33": "first quarter", "34": "second quarter", "35": "third quarter", "36": "fourth quarter",
    "37": "first four months", "38": "second four months", "39": "last four months",
    "40": "first half", "41": "second half",
}  # fmt: skip
_KEPT_WHOLE = frozenset(("the", "a", "AD", "about", "probably", "northern", "southern"))
_MARK_WORDS = {"~": "about ", "?": "probably ", "%": "probably about "}
_PART_MARKS = {"~": "approximate", "?": "uncertain", "%": "doubtful"}


def format_words(date: EdtfDate | None) -> str:
    """
    Return a date in words for a caption; None is "undated".

    What plain words cannot say shortly (digits left open in odd places) stays EDTF. No mark of doubt is lost.

    >>> from catalog.dates.grammar import parse_edtf
    >>> format_words(parse_edtf("1979-08?"))
    'probably August 1979'
    """
    if date is None:
        return "undated"
    tree = parse_tree(date.text)
    words: str | None
    if isinstance(tree, Point):
        words = _point_words(tree)
    elif isinstance(tree, Interval):
        words = _interval_words(tree)
    else:
        words = _members_words(tree)
    return words if words is not None else date.text


@lru_cache(maxsize=4096)  # lists of prints and frames say the same days again and again
def edtf_in_words(text: str | None) -> str:
    """Return a recorded date in words, from its EDTF text; None is "undated"."""
    return format_words(None if text is None else parse_edtf(text))


def _interval_words(interval: Interval) -> str | None:
    start, end = _end_words(interval.start), _end_words(interval.end)
    if start is None or end is None:
        return None
    if start and end:
        return f"from {_shortened(start, end)} to {end}"
    if start:
        return f"{start} or later" if interval.end_open else f"from {start}, end unknown"
    if end:
        return f"by {end}" if interval.start_open else f"until {end}, start unknown"
    return None


def _members_words(members: Members) -> str | None:
    if members.all_of and not all(_is_closed(item) for item in members.items):
        return None
    said = [_item_words(item, all_of=members.all_of) for item in members.items]
    if None in said:
        return None
    words = [item for item in said if item]
    marks = ["".join(sorted(_marks_of(item))) for item in members.items]
    # "about 1978 or 1979" would be heard as doubt of both, so EDTF says it better.
    if len(words) > 1 and marks[0] and not all(marks):
        return None
    if all(isinstance(item, Point) for item in members.items):
        words = [*(_shortened(*pair) for pair in pairwise(words)), words[-1]]
    joint = " and " if members.all_of else " or "
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + joint + words[-1]


def _shortened(words: str, following: str) -> str:
    """Leave out the month and year that come again in the next date: "June" of "June or July 1979"."""
    mine, theirs = words.split(), following.split()
    if mine[-1] != theirs[-1] or len(mine) != len(theirs) or not mine[0].isalnum() or not mine[-1].isdigit():
        return words
    if mine[0] in _KEPT_WHOLE or theirs[0] in _KEPT_WHOLE or mine[:-1] == theirs[:-1] or len(mine) > 3:
        return words
    same_month = len(mine) == 3 and mine[1] == theirs[1]
    return mine[0] if same_month else " ".join(mine[:-1])


def _is_closed(item: Point | Range) -> bool:
    return isinstance(item, Point) or bool(item.first and item.last)


def _marks_of(item: Point | Range) -> set[str]:
    points = [item] if isinstance(item, Point) else [point for point in item if point]
    return {mark for point in points for mark in point.marks.replace(" ", "")}


def _item_words(item: Point | Range, *, all_of: bool) -> str | None:
    if isinstance(item, Point):
        return _point_words(item)
    first, last = _end_words(item.first), _end_words(item.last)
    if first is None or last is None:
        return None
    if first and last:
        return (
            f"each from {_shortened(first, last)} to {last}"
            if all_of
            else f"between {_shortened(first, last)} and {last}"
        )
    return f"by {last}" if last else f"{first} or later"


def _end_words(point: Point | None) -> str | None:
    """Return the words of an end, empty where there is none; None if plain words cannot say it."""
    return _point_words(point) if point else ""


def _point_words(point: Point) -> str | None:
    bare = _bare_words(point)
    if bare is None:
        return None
    whole, parts = _doubt_of_parts(point)
    if whole:
        return _MARK_WORDS[whole] + bare
    return f"{bare} ({'; '.join(parts)})" if parts else bare


def _doubt_of_parts(point: Point) -> tuple[str, list[str]]:
    """Return the mark of the whole date, or the doubt of each of its parts when they differ."""
    marks = [mark.strip() for mark in point.marks]
    present = [0, *([1] if point.month else []), *([2] if point.day else [])]
    # EDTF 2019-02-04, Level 2, "Qualification": a mark on the right holds for its part and all to its left.
    doubts = [
        _strongest({marks[2 * part], *(marks[2 * right + 1] for right in present if right >= part)}) for part in present
    ]
    if len(set(doubts)) == 1:
        return doubts[0], []
    return "", [
        f"{('year', 'month', 'day')[part]} {_PART_MARKS[doubt]}"
        for part, doubt in zip(present, doubts, strict=True)
        if doubt
    ]


def _strongest(marks: set[str]) -> str:
    marks = marks - {""}
    if len(marks) > 1 or "%" in marks:
        return "%"
    return next(iter(marks), "")


def _bare_words(point: Point) -> str | None:
    """Return a date without its marks, or None if plain words cannot say it shortly."""
    if point.significant:
        return _significant_words(point)
    if "X" in point.year or "X" in point.month or "X" in point.day:
        return _open_words(point)
    year = _year_words(point)
    if not point.month:
        return year
    if point.precision == "season":
        return _season_words(point.month, year)
    words = f"{MONTH_NAMES[int(point.month)]} {year}"
    if point.day:
        words = f"{int(point.day)} {words}"
    return f"{words}, {point.time}" if point.time else words


def _year_words(point: Point) -> str:
    year = year_number(point.year)
    if year <= 0:
        return f"{1 - year} BC"
    if year < 1000:
        return f"AD {year}"
    return str(year) if year <= 9999 else f"the year {year}"


def _season_words(code: str, year: str) -> str:
    number = int(code) - 21
    if number >= 12:
        return f"the {_PART_NAMES[code]} of {year}"
    hemisphere = ("", "northern ", "southern ")[number // 4]
    runs_over = code in ("24", "28", "30") and year.isdigit()
    following = f"-{(int(year) + 1) % 100:02d}" if runs_over else ""
    return f"{hemisphere}{_SEASON_NAMES[number % 4]} {year}{following}"


def _significant_words(point: Point) -> str | None:
    """``1950S2`` has an estimate and its margin; both are said only in EDTF."""
    return None


def _open_words(point: Point) -> str | None:
    year, month, day = point.year, point.month, point.day
    if "X" not in year:
        if (month, day) == ("XX", "XX"):
            return f"a day in {_year_words(point)}"
        if (month, day) == ("XX", ""):
            return f"a month of {_year_words(point)}"
        if "X" not in month and day == "XX":
            return f"a day in {MONTH_NAMES[int(month)]} {_year_words(point)}"
        return None
    if month or year.startswith("-"):
        return None
    if year[:3].isdigit() and year[:2] != "00":
        # The first decade of a century is also its name in common speech; "1900s" would be heard as either.
        return f"the {year[:3]}0s" if year[2] != "0" else None
    if year[:2].isdigit() and year[2:] == "XX":
        return f"the {_ordinal_words(int(year[:2]) + 1)} century"
    return None


def _ordinal_words(number: int) -> str:
    ending = "th" if number in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
