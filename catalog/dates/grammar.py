"""
Is this text an EDTF date, and what days may it mean? Levels 0, 1 and 2 of 4 February 2019, whole.

Source: Library of Congress, Extended Date/Time Format (EDTF) Specification, 4 February 2019. What it leaves
open, and how that is read here, is in docs/standards/edtf.md.
"""

from __future__ import annotations

import re
from functools import lru_cache

from catalog.dates._bounds import UnfitError, is_soft, spans_of
from catalog.dates._tree import LONGEST_YEAR, Interval, Members, Point, Range, Tree, year_number
from catalog.dates.value import EdtfDate
from catalog.errors import EdtfError

LONGEST_TEXT = 4_000  # letters; a set longer than this is no date anybody wrote

# The commonest texts, read without the whole grammar.
_PLAIN = re.compile(r"([0-9]{4})(?:-(0[1-9]|1[0-2])(?:-([0-9]{2}))?)?")

_POINT = re.compile(
    r"([?~%])?"
    # EDTF 2019-02-04, Level 1, "Letter-prefixed calendar year"; Level 2, "Exponential year"; Level 0, "Date".
    r"(Y-?[1-9][0-9]{4,}|Y-?[1-9][0-9]*E[1-9][0-9]*|-?[0-9X]{4})"
    # Level 2, "Significant digits".
    r"(?:S([0-9]+))?"
    # Level 2, "Qualification": right of a part, a mark holds for it and all to its left; left, for it alone.
    r"([?~%])?"
    r"(?:-([?~%])?([0-9X]{2})([?~%])?(?:-([?~%])?([0-9X]{2})([?~%])?)?)?"
    # Level 0, "Date and Time".
    r"(?:T((?:(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]|24:00:00)"
    r"(?:Z|[+-](?:(?:0[1-9]|1[0-3])(?::[0-5][0-9])?|14:00|00:(?!00)[0-5][0-9]))?))?"
)


@lru_cache(maxsize=4096)
def parse_edtf(text: str) -> EdtfDate:
    """
    Return the date that an EDTF text means; nothing is asked and nothing guessed.

    >>> parse_edtf("198X~").doubt
    '~'

    Raises:
        EdtfError: the text is not EDTF, or names a day that no calendar has.
    """
    try:
        tree = parse_tree(text)
        spans = tuple(spans_of(tree))
    except UnfitError as exc:
        raise EdtfError(text, str(exc)) from exc
    doubt = _doubt(text) or ("s" if is_soft(tree) else "")
    estimate = year_number(tree.year) if isinstance(tree, Point) and tree.significant else None
    return EdtfDate(text, spans[0][0], spans[-1][1], doubt, spans, estimate)


def format_edtf(date: EdtfDate) -> str:
    """Return a date's EDTF text; parsing it gives the same date."""
    return date.text


def parse_tree(text: str) -> Tree:
    """
    Return the parts of an EDTF text.

    Raises:
        UnfitError: the text is not EDTF.
    """
    if plain := _PLAIN.fullmatch(text):
        return Point(plain[1], plain[2] or "", plain[3] or "")
    if len(text) > LONGEST_TEXT:
        raise UnfitError(f"it has more than {LONGEST_TEXT} letters")
    if text[:1] in ("[", "{"):
        return _members(text)
    if "/" in text:
        return _interval(text)
    return _point(text)


def _point(text: str) -> Point:
    match = _POINT.fullmatch(text)
    if not match:
        raise UnfitError(_why_not(text))
    left, year, digits, *month_marks_day, time = match.groups("")
    right, left_month, month, right_month, left_day, day, right_day = month_marks_day
    marks = "".join(mark or " " for mark in (left, right, left_month, right_month, left_day, right_day))
    if digits and len(digits) > 2:
        raise UnfitError("it counts more significant digits than a year has")
    point = Point(year, month, day, time, int(digits or 0), marks)
    if digits and not point.significant:
        raise UnfitError("a year has at least one significant digit")
    _check_point(point)
    return point


def _check_point(point: Point) -> None:
    """Refuse what the pattern lets through; the bounds refuse days and months that no calendar has."""
    if point.year == "-0000":
        raise UnfitError("the year 0 has no sign")
    if (point.year.startswith("Y") or point.significant) and point.month:
        raise UnfitError("a year written with Y or significant digits has no month")
    if point.year.startswith("Y") and _digits(point.year) > LONGEST_YEAR:
        raise UnfitError(f"a year has at most {LONGEST_YEAR} digits here")
    if point.time and (point.is_masked or point.marks.strip() or not point.day):
        raise UnfitError("a time follows a whole day without marks or X")
    for left, right in zip(point.marks[::2], point.marks[1::2], strict=True):
        if left != " " and right != " ":
            raise UnfitError("a part is marked on both sides; % marks it as uncertain and approximate")


def _digits(year: str) -> int:
    digits, _, exponent = year.lstrip("Y-").partition("E")
    return len(digits) + int(exponent[:3] or 0) if len(exponent) <= 3 else LONGEST_YEAR + 1


def _interval(text: str) -> Interval:
    start, _, end = text.partition("/")
    # EDTF 2019-02-04, Level 1, "Extended Interval": ".." is open, an empty end is unknown.
    if not start and not end:
        raise UnfitError("an interval has at least one end that is known or open")
    first = None if start in ("", "..") else _point(start)
    last = None if end in ("", "..") else _point(end)
    # Level 0, "Time Interval": no time of day.
    if (first and first.time) or (last and last.time):
        raise UnfitError("the ends of an interval are days or longer, without a time")
    return Interval(first, last, start == "..", end == "..")


def _members(text: str) -> Members:
    all_of = text.startswith("{")
    if not text.endswith("}" if all_of else "]"):
        raise UnfitError("a set ends with the bracket that matches its first, and nothing follows it")
    items = tuple(_item(part) for part in text[1:-1].split(","))
    # EDTF 2019-02-04, Level 2, "Set representation": an open end stands first or last.
    for place, item in enumerate(items):
        opens, closes = place == 0, place + 1 == len(items)
        if isinstance(item, Range) and ((not item.first and not opens) or (not item.last and not closes)):
            raise UnfitError("'..' stands alone only at the beginning or the end of a set")
    return Members(all_of, items)


def _item(text: str) -> Point | Range:
    if ".." not in text:
        point = _point(text)
        if point.time:
            raise UnfitError("the members of a set are days or longer, without a time")
        return point
    start, _, end = text.partition("..")
    if not start and not end:
        raise UnfitError("'..' needs a date before or after it")
    first, last = _point(start) if start else None, _point(end) if end else None
    _check_range(first, last)
    return Range(first, last)


def _check_range(first: Point | None, last: Point | None) -> None:
    if (first and first.time) or (last and last.time):
        raise UnfitError("the members of a set are days or longer, without a time")
    if not first or not last:
        return
    if first.precision != last.precision:
        raise UnfitError(f"a range runs from one {first.precision} to another, not to a {last.precision}")
    if first.is_masked or last.is_masked:
        raise UnfitError("the ends of a range have no X")


def _doubt(text: str) -> str:
    about, unsure = "~" in text, "?" in text
    if "%" in text or (about and unsure):
        return "%"
    return "~" if about else "?" if unsure else ""


# Spellings of earlier drafts, and other near misses, with what to write instead. Compiled when first needed.
_NEAR_MISSES = (
    (r".*\s", "it holds a space; EDTF has none"),
    (r".*(unknown|open)", "'unknown' and 'open' are of the 2012 draft; leave the end empty, or write '..'"),
    (r".*[()^]", "brackets and '^' are of the 2012 draft; a mark stands beside its part"),
    (r".*(\?~|~\?)", "'?~' is of the 2012 draft; write '%'"),
    (r"[0-9][0-9ux]*[ux]", "'u' and 'x' are of the 2012 draft; an open digit is a capital X"),
    (r"y-?[0-9]", "the letter of a long year is a capital Y"),
    (r"Y-?[0-9]{1,4}$", "Y is for years of more than four digits"),
    (r"Y-?0", "a year with Y does not begin with 0"),
    (r"[0-9]{8}", "it needs hyphens: YYYY-MM-DD"),
    (r"-?[0-9]{1,3}(?![0-9X])", "a year has four digits"),
    (r".*T", "a time is hh:mm:ss after a whole day, then nothing, 'Z', or a shift such as '+04:30'"),
)


def _why_not(text: str) -> str:
    if not text:
        return "it is empty"
    for pattern, reason in _NEAR_MISSES:
        if re.match(pattern, text, re.DOTALL):
            return reason
    return "write YYYY, YYYY-MM or YYYY-MM-DD, with X for an open digit and ? ~ % for doubt"
