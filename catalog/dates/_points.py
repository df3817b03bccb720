"""One date in plain words: "12 Aug 1979", "summer 82", "the late 1970s". Letters are small, blanks single."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from catalog.dates._bounds import MONTH_NAMES, UnfitError, spans_of
from catalog.dates._tree import Point, Range, year_number
from catalog.dates.days import calendar_day, month_length, ordinal
from catalog.dates.grammar import parse_tree

MONTHS = {name[:length].lower(): number for number, name in enumerate(MONTH_NAMES) if name for length in (3, len(name))}
MONTHS |= {"sept": 9, "janu": 1, "febr": 2, "novem": 11, "decem": 12, "octo": 10}
_ROMAN = {
    "i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8,
    "ix": 9, "x": 10, "xi": 11, "xii": 12,
}  # fmt: skip
SEASONS = {"spring": 21, "summer": 22, "autumn": 23, "fall": 23, "winter": 24}
_HEMISPHERES = {"northern": 4, "southern": 8}
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_ORDINAL_WORDS = {
    "first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7,
    "eighth": 8, "ninth": 9, "tenth": 10, "eleventh": 11, "twelfth": 12, "thirteenth": 13, "fourteenth": 14,
    "fifteenth": 15, "sixteenth": 16, "seventeenth": 17, "eighteenth": 18, "nineteenth": 19, "twentieth": 20,
    "twenty-first": 21, "last": 0,
}  # fmt: skip
_FILLERS = frozenset(("of", "the", "in", "on", "year", "month", "st", "nd", "rd", "th", "day"))

# EDTF codes of parts of the year, as captions and people name them.
_PARTS_OF_YEAR = {
    "quarter": {1: "33", 2: "34", 3: "35", 4: "36", 0: "36"},
    "four months": {1: "37", 2: "38", 3: "39", 0: "39"},
    "half": {1: "40", 2: "41", 0: "41"},
}

_NOT_DATES = (
    ("war wars wartime ww1 ww2 wwi wwii", "a war is no date; give the year, as in 'before 1939'"),
    (
        "easter whitsun whitsuntide pentecost christmas xmas michaelmas advent lent carnival",
        "a feast is no date here; give its day or its month",
    ),
    (
        "victorian georgian edwardian tudor medieval regency baroque gothic reign",
        "a period has no agreed first and last year; give the years",
    ),
    (
        "today yesterday tomorrow ago recently recent now last this next",
        "it counts from a day that is not written down; give the date itself",
    ),
)
_REASONS = {word: reason for words, reason in _NOT_DATES for word in words.split()}


class UnreadError(Exception):
    """Words say no date that can be kept; the message is the reason."""


class ForkError(Exception):
    """A choice that only the person can make: ``key`` names it, there are ``ways`` to take it."""

    def __init__(self, key: str, ways: int) -> None:
        self.key, self.ways = key, ways
        super().__init__(key)


@dataclass(slots=True)
class Reading:
    """One way of reading a phrase: what is known about it, and the choices made so far."""

    century: int | None = None
    event: bool = True
    full_year: int | None = None
    chosen: dict[str, int] = field(default_factory=dict)

    def choose(self, key: str, ways: int) -> int:
        """Return the way chosen for ``key``; one way is no choice."""
        if ways == 1:
            return 0
        if key not in self.chosen:
            raise ForkError(key, ways)
        return self.chosen[key]

    def two_digit_year(self, digits: str) -> int:
        """Return the year that two digits mean: near a full year beside it, else in the stated century."""
        if self.full_year is not None:
            year = self.full_year // 100 * 100 + int(digits)
            if abs(year - self.full_year) <= 50:
                return year
        century = self.century if self.century is not None else 1800 + 100 * self.choose("century", 3)
        return century + int(digits)


def read_point(words: str, reading: Reading, like: Point | None = None) -> Point | Range:
    """
    Return the date that ``words`` say; what they leave out is taken from ``like``.

    Raises:
        UnreadError: they say none.
        ForkError: they may say several.
    """
    words = _years_of_an_era(words)
    if like and (like.is_masked or like.precision == "season"):
        like = Point(like.year) if "X" not in like.year else None
    if re.fullmatch(r"[a-z]{3,9}\.? [0-9]{4}", words) and words[:3] in MONTHS:
        return _read_tokens(words, reading, like)
    for pattern, reader in _FORMS:
        if match := re.fullmatch(pattern, words):
            return reader(match, reading, like)
    if re.fullmatch(r"[0-9x?~%yes-]+", words):
        try:
            tree = parse_tree(words.upper())
        except UnfitError as exc:
            raise UnreadError(str(exc)) from exc
        if isinstance(tree, Point):
            return tree
    return _read_tokens(words, reading, like)


def year_point(year: int) -> Point:
    """Return the date that is a whole year."""
    if abs(year) > 9999:
        return Point(f"Y{year}")
    return Point(f"{year:05d}" if year < 0 else f"{year:04d}")


def day_point(day_number: int, precision: str = "day") -> Point:
    """Return the day, or the month or year it lies in."""
    year, month, day = calendar_day(day_number)
    whole = year_point(year)
    if precision == "year":
        return whole
    return Point(whole.year, f"{month:02d}", f"{day:02d}" if precision == "day" else "")


def hull(point: Point) -> tuple[int, int]:
    """Return the first and last day a date may mean."""
    try:
        spans = spans_of(point)
    except UnfitError as exc:
        raise UnreadError(str(exc)) from exc
    first, last = spans[0][0], spans[-1][1]
    if first is None or last is None:  # a single date has both; this is for the type checker
        raise UnreadError("it has no bounds")
    return first, last


def _dated(year: int, month: int = 0, day: int = 0) -> Point:
    if not month:
        return year_point(year)
    if not 1 <= month <= 12:
        raise UnreadError(f"there is no month {month}")
    if day and day > month_length(year, month):
        name = f"{MONTH_NAMES[month]} {year}" if month == 2 else MONTH_NAMES[month]
        raise UnreadError(f"{name} has {month_length(year, month)} days")
    return Point(year_point(year).year, f"{month:02d}", f"{day:02d}" if day else "")


def _years_of_an_era(words: str) -> str:
    """Put years BC, AD and beyond four digits as one token each, ``yn`` or ``yp`` and the EDTF year."""
    if words.isdigit() and len(words) < 5:
        return words
    if not re.search(r"\b(bce?|ad|ce)\b|b\.\s?c\.|a\.\s?d\.|[0-9]{5}", words):
        return words
    words = re.sub(r"\b(?:ad|a\.\s?d\.)\s*([0-9]{1,4})\b", r"yp\1", words)
    words = re.sub(r"\b([0-9]{1,4})\s*(?:ad\b|a\.\s?d\.|ce\b)", r"yp\1", words)
    words = re.sub(
        r"\b([0-9]{1,15})\s*(?:bce?\b|b\.\s?c\.(?:\s?e\.)?)",
        lambda match: f"yn{int(match[1]) - 1}" if int(match[1]) else match[0],
        words,
    )
    return re.sub(r"\byear ([0-9]{5,15})\b", r"yp\1", words)


def _read_year(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    return Point(match[1])


def _read_short(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    """One or two digits alone: a day like its neighbour's, the end of a year, a year of a known century."""
    digits = match[2]
    if like and like.day and not match[1]:
        return _dated(year_number(like.year), int(like.month), int(digits))
    if len(digits) == 2:
        return year_point(reading.two_digit_year(digits))
    if reading.full_year is not None and int(digits) > reading.full_year % 10:
        return year_point(reading.full_year // 10 * 10 + int(digits))
    raise UnreadError("one digit is no year; write the year in full")


def _read_ymd(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    year, month, day = int(match["year"]), int(match["month"]), int(match["day"])
    # IIM writes 00 for a month or day that is not known; so do some spreadsheets.
    return _dated(year, month, day if month else 0)


def _read_exif(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    point = _read_ymd(match, reading, like)
    return point._replace(time=match["time"]) if match["time"] and point.day else point


def _read_day_and_time(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    point = read_point(match[1], reading)
    if not isinstance(point, Point) or not point.day:
        raise UnreadError("a time of day needs a whole day before it")
    return point._replace(time=match[2].upper())


def _read_numeric(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    """``10/12/1979``: day and month in an order nobody wrote down."""
    first, second = int(match[1]), int(match[2])
    if not (first and second):
        raise UnreadError("there is no day or month 0; write the year alone, or the month and year")
    if first > 12 and second > 12 and min(first, second) > 12:
        raise UnreadError(f"neither {first} nor {second} is a month")
    year = int(match[3]) if len(match[3]) == 4 else reading.two_digit_year(match[3])
    if first > 12 or first == second:
        return _dated(year, second, first)
    if second > 12:
        return _dated(year, first, second)
    return _dated(year, second, first) if reading.choose("day first", 2) == 0 else _dated(year, first, second)


def _read_month_and_year(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    if not int(match[1]):
        return year_point(int(match[2]))
    return _dated(int(match[2]), int(match[1]))


def _read_decade(match: re.Match[str], reading: Reading, like: Point | None) -> Point | Range:
    part, digits = match[1], match[2]
    year = int(digits) if len(digits) == 4 else reading.two_digit_year(digits)
    # "the 1800s" is a decade to one person and a century to the next.
    if year % 100 == 0 and reading.choose("decade", 2) == 1:
        return _part_of_years(part, year, (33, 66, 99)) if part else Point(f"{year // 100:02d}XX")
    return _part_of_years(part, year, (3, 6, 9)) if part else Point(f"{year // 10:03d}X")


def _read_century(match: re.Match[str], reading: Reading, like: Point | None) -> Point | Range:
    part, number = match[1], match[2]
    if not number.isdigit() and number not in _ORDINAL_WORDS:
        raise UnreadError(reason_against(number))
    count = int(number) if number.isdigit() else _ORDINAL_WORDS[number]
    if not 1 <= count <= 100:
        raise UnreadError(f"there is no century {count}")
    # Table of human forms: "19th c." is 18XX, not 1801-1900.
    first = (count - 1) * 100
    if not part:
        return Point(f"{count - 1:02d}XX")
    half = re.match(r"(first|second) half", part)
    if half:
        first += 0 if half[1] == "first" else 50
        return Range(year_point(first), year_point(first + 49))
    return _part_of_years(part, first, (33, 66, 99))


def _part_of_years(part: str, first: int, ends: tuple[int, int, int]) -> Range:
    """
    Return the early, middle or late part of a decade or century, both ends marked "about".

    A decade's parts are years 0-3, 4-6 and 7-9; a century's are 0-33, 34-66 and 67-99. That is common use,
    in no standard, hence the marks.
    """
    place = 0 if part.startswith(("early", "beg", "start")) else 1 if part.startswith("mid") else 2
    begin = first + (0, ends[0] + 1, ends[1] + 1)[place]
    return Range(about(year_point(begin)), about(year_point(first + ends[place])))


def _read_part_of_year(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    count = int(match[1][0]) if match[1][0].isdigit() else _ORDINAL_WORDS[match[1]]
    codes = _PARTS_OF_YEAR[match[2]]
    if count not in codes:
        raise UnreadError(f"a year has no {match[1]} {match[2]}")
    return _year_in(match[3], reading)._replace(month=codes[count])


def _read_quarter(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    quarter = match[1] or match[4]
    return _year_in(match[2] or match[3], reading)._replace(month=str(32 + int(quarter)))


def _read_hemisphere(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    code = SEASONS[match[2]] + _HEMISPHERES[match[1]]
    whole = _year_in(match[3], reading)
    if match[4]:
        _check_following(whole, match[4], runs_over=code in (28, 30))
    return whole._replace(month=str(code))


def _read_winter(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    """``winter 1982-83`` is one winter, counted from the December it begins in."""
    whole = _year_in(match[2], reading)
    _check_following(whole, match[3], runs_over=match[1] == "winter")
    return whole._replace(month="24")


def _check_following(whole: Point, end: str, *, runs_over: bool) -> None:
    following = f"{year_number(whole.year) + 1:04d}"
    if not runs_over or not following.endswith(end.lstrip("'")):
        raise UnreadError(f"only a winter runs over the new year, into {following}; write each season by itself")


def _read_part_of_month(match: re.Match[str], reading: Reading, like: Point | None) -> Point | Range:
    """``early August 1979``, ``late 1979``, ``late summer 1982``: about the first, middle or last third."""
    part, rest = match[1], match[2]
    whole = read_point(rest, reading, like)
    if not isinstance(whole, Point) or whole.is_masked or whole.day:
        raise UnreadError(f"there is no {part} part of {rest}")
    if whole.precision == "season":
        return about(whole)
    place = 0 if part.startswith(("early", "beg", "start")) else 1 if part.startswith("mid") else 2
    year = year_number(whole.year)
    if not whole.month:
        months = ((1, 4), (5, 8), (9, 12))[place]
        return Range(about(_dated(year, months[0])), about(_dated(year, months[1])))
    month = int(whole.month)
    days = ((1, 10), (11, 20), (21, month_length(year, month)))[place]
    return Range(about(_dated(year, month, days[0])), about(_dated(year, month, days[1])))


def _read_some(match: re.Match[str], reading: Reading, like: Point | None) -> Point:
    """``a day in April 1985``, ``a month of 2004``: digits left open on purpose."""
    whole = read_point(match[2], reading)
    if not isinstance(whole, Point) or whole.day or (match[1] == "month" and whole.month):
        raise UnreadError(f"there is no such {match[1]}")
    if match[1] == "month":
        return whole._replace(month="XX")
    return whole._replace(month=whole.month or "XX", day="XX")


def _year_in(digits: str, reading: Reading) -> Point:
    digits = digits.lstrip("'")
    if digits.startswith("y"):
        return _era_year(digits)
    return year_point(int(digits) if len(digits) == 4 else reading.two_digit_year(digits))


def _era_year(token: str) -> Point:
    return year_point(-int(token[2:]) if token[1] == "n" else int(token[2:]))


def about(point: Point) -> Point:
    """Return the date marked as approximate."""
    return marked(point, "~")


def marked(point: Point, mark: str) -> Point:
    """Return the date with a mark for all of it; the marks it has are kept."""
    place = 5 if point.day else 3 if point.month else 1
    marks = list(point.marks)
    marks[place] = combined(combined(marks[place].strip(), marks[place - 1].strip()), mark)
    marks[place - 1] = " "
    return point._replace(marks="".join(marks))


def combined(one: str, other: str) -> str:
    """Return the mark that says what both say."""
    if not one or not other or one == other:
        return one or other
    return "%"


_YEAR = r"([0-9]{4}|'?[0-9]{2}|y[np][0-9]+)"
_PART = (
    r"(?:the )?(early|mid|middle of|late|beginning of|start of|end of|first half of|second half of)"
    r"[ -](?:the )?"
)
_SEASON = r"(spring|summer|autumn|fall|winter)(?: of)?"
_YEAR_END = r" ?[-/] ?('?[0-9]{1,4})"
_DAY_AND_TIME = r"(.*[0-9a-z]),? ([0-9]{2}:[0-9]{2}:[0-9]{2}(?:z|[+-][0-9]{2}(?::[0-9]{2})?)?)"

_Reader = Callable[[re.Match[str], Reading, Point | None], Point | Range]
_FORMS: tuple[tuple[str, _Reader], ...] = (
    (r"([0-9]{4})", _read_year),
    (r"(')?([0-9]{1,2})", _read_short),
    (r"(?P<year>[0-9]{4})(?P<month>[0-9]{2})(?P<day>[0-9]{2})", _read_ymd),
    (r"(?P<year>[0-9]{4})(?P<sign>[-/.])(?P<month>[0-9]{1,2})(?P=sign)(?P<day>[0-9]{1,2})", _read_ymd),
    (r"(?P<year>[0-9]{4}):(?P<month>[0-9]{2}):(?P<day>[0-9]{2})(?: (?P<time>[0-9:]{8}))?", _read_exif),
    (r"([0-9]{1,2}) ?[-/.] ?([0-9]{1,2}) ?[-/.] ?'?([0-9]{4}|[0-9]{2})", _read_numeric),
    (r"([0-9]{1,2})[-/.]([0-9]{4})", _read_month_and_year),
    (rf"(?:{_PART})?(?:the )?'?([0-9]{{3}}0|[0-9]0) ?'?s", _read_decade),
    (
        rf"(?:{_PART})?(?:the )?([0-9]{{1,3}}|[a-z]+(?:-first)?)(?:st|nd|rd|th)? ?"
        r"(?:c|cent|century|c\.|cent\.)",
        _read_century,
    ),
    (
        rf"(?:the )?(first|second|third|fourth|last|1st|2nd|3rd|4th) (quarter|half|four months) of {_YEAR}",
        _read_part_of_year,
    ),
    (rf"q([1-4])[ /-]?{_YEAR}|{_YEAR}[ /-]?q([1-4])", _read_quarter),
    (rf"(northern|southern) {_SEASON} {_YEAR}(?:{_YEAR_END})?", _read_hemisphere),
    (rf"{_SEASON} {_YEAR}{_YEAR_END}", _read_winter),
    (rf"{_PART}(.+)", _read_part_of_month),
    (r"(?:a|some) (day|month) (?:in|of) (.+)", _read_some),
    (_DAY_AND_TIME, _read_day_and_time),
)


def reason_against(word: str) -> str:
    """Return why a word is no part of a date."""
    return _REASONS.get(word) or f"{word!r} is no part of a date; give a year, a month or a day, in words or as EDTF"


def _read_tokens(words: str, reading: Reading, like: Point | None) -> Point:
    """Read days, month names, seasons and years in any of the orders people write them."""
    kinds, values, weekday = "", [], ""
    for token in re.findall(r"y[np][0-9]+|'?[0-9]+|[^\W\d_]+|[^\s,.\-/()\[\]]", words):
        kind, value = _kind_of(token)
        if kind == "weekday":
            weekday = token
        elif kind:
            kinds += kind
            values.append(value)
    point = _arranged(kinds, values, words, reading, like)
    return _checked_weekday(point, weekday)


def _kind_of(token: str) -> tuple[str, str]:
    if token in _FILLERS:
        return "", ""
    if token[0] == "y" and token[1:2] in ("n", "p") and token[2:].isdigit():
        return "Y", token
    if token.isascii() and token.lstrip("'").isdigit():
        digits = token.lstrip("'")
        if len(digits) == 4:
            return "Y", digits
        if len(digits) > 2:
            raise UnreadError(f"{digits} is no year, month or day; a year has four digits")
        return ("A" if token[0] == "'" else "N"), digits
    for kind, table in (("M", MONTHS), ("M", _ROMAN), ("S", SEASONS)):
        if token in table:
            return kind, str(table[token])
    if len(token) >= 3 and any(day.startswith(token) or token in ("tues", "weds", "thurs") for day in _WEEKDAYS):
        return "weekday", token
    raise UnreadError(reason_against(token))


# Orders of Y year, A apostrophe and two digits, N one or two digits, M month, S season: which is which.
_ORDERS = {
    "Y": "y", "A": "y", "NMY": "dmy", "MNY": "mdy", "YMN": "ymd", "YNM": "ydm",
    "MY": "my", "YM": "ym", "SY": "sy", "YS": "ys",
    "NMA": "dmy", "MNA": "mdy", "MA": "my", "SA": "sy", "NMN": "dmy", "MNN": "mdy", "SN": "sy",
}  # fmt: skip
# What may be left out when the neighbour has it.
_ORDERS_BESIDE = {"NM": "dm", "MN": "md", "M": "m", "S": "s"}


def _arranged(kinds: str, values: list[str], words: str, reading: Reading, like: Point | None) -> Point:
    order = (_ORDERS_BESIDE.get(kinds, "") if like else "") or _ORDERS.get(kinds, "")
    if kinds == "MN" and not order:
        if int(values[1]) <= 31:
            raise UnreadError(f"{values[1]} may be a day or a year; write the year in full")
        order = "my"
    if not order:
        if kinds in ("M", "S", "NM"):
            raise UnreadError("the year is missing")
        raise UnreadError("it is no date in an order that is known; write it as '12 Aug 1979' or 1979-08-12")
    said = dict(zip(order, values, strict=True))
    if "y" in said:
        year = _year_in(said["y"], reading)
    elif like:
        year = Point(like.year)
    else:
        raise UnreadError("the year is missing")
    if "s" in said:
        return year._replace(month=said["s"])
    if "m" not in said:
        return year
    return _dated(year_number(year.year), int(said["m"]), int(said.get("d", 0)) if "d" in said else 0)


def _checked_weekday(point: Point, weekday: str) -> Point:
    if weekday and point.day:
        number = ordinal(year_number(point.year), int(point.month), int(point.day))
        true_name = _WEEKDAYS[(number - 1) % 7]
        if not true_name.startswith(weekday[:3]):
            raise UnreadError(f"that day was a {true_name.capitalize()}")
    elif weekday:
        raise UnreadError("a weekday needs a whole day beside it")
    return point
