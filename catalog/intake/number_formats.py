"""
What a spreadsheet shows for a number: leading zeros, dates, fractions. ECMA-376-1:2016 §18.8.30, §18.8.31.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from functools import lru_cache

from catalog.intake.tables import CellDate

# ECMA-376-1:2016 §18.8.30, "ID / formatCode" of numFmt. 14 and 22 follow the reader's own country, so that
# the order of day and month is nobody's statement: shown here as year-month-day.
BUILT_IN = {
    0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00",
    12: "# ?/?", 13: "# ??/??", 14: "yyyy-mm-dd", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy",
    18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm", 21: "h:mm:ss", 22: "yyyy-mm-dd h:mm",
    37: "#,##0 ;(#,##0)", 38: "#,##0 ;(#,##0)", 39: "#,##0.00;(#,##0.00)", 40: "#,##0.00;(#,##0.00)",
    45: "mm:ss", 46: "[h]:mm:ss", 47: "mmss.0", 48: "##0.0E+0", 49: "@",
}  # fmt: skip
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_TOKEN = re.compile(
    r'"[^"]*"?|\\.|_.|\*.|\[[^\]]*\]|General|AM/PM|A/P|[yY]+|[mM]+|[dD]+|[hH]+|[sS]+(?:\.0+)?|E[+-]|[0#?]+|.',
    re.DOTALL | re.IGNORECASE,
)
_FIRST_DAY = date.min.toordinal()
_LAST_DAY = date.max.toordinal()


@dataclass(frozen=True, slots=True)
class NumberFormat:
    """A number format, taken apart once for the many cells that use it."""

    code: str
    is_date: bool
    """It shows a day, a month or a year."""
    is_time: bool
    precision: int
    """How much of a date it shows: 3 year, month and day; 2 year and month; 1 the year; 0 no year."""
    sections: tuple[tuple[str, ...], ...]


@lru_cache(maxsize=4096)
def parse_number_format(code: str) -> NumberFormat:
    """Return the parts of a format code."""
    sections: list[list[str]] = [[]]
    for piece in _TOKEN.findall(code[:255]):  # 255: the longest a format may be
        if piece == ";":
            sections.append([])
        elif piece.startswith("[$"):
            # ECMA-376-1:2016 §18.8.31: "[$€-407]" shows the sign of a currency; what follows the hyphen is a language.
            sign = piece[2:].rstrip("]").rpartition("-")[0] if "-" in piece else piece[2:].rstrip("]")
            sections[-1] += [f'"{sign}"'] if sign else []
        elif not (piece.startswith("[") and piece[1:2].lower() not in {"h", "m", "s"}):
            sections[-1].append(piece)
    letters = {piece[0].lower() for piece in sections[0] if piece[0].lower() in "ymdhs" and piece.lower() != "general"}
    shows_month = any(
        piece[0].lower() == "m" and not _is_minutes(sections[0], place) for place, piece in enumerate(sections[0])
    )
    is_date = bool(letters & {"y", "d"}) or shows_month
    precision = 0
    if "y" in letters:
        precision = 3 if "d" in letters and shows_month else 2 if shows_month else 1
    return NumberFormat(
        code=code, is_date=is_date, is_time=bool(letters) and not is_date, precision=precision,
        sections=tuple(tuple(section) for section in sections),
    )  # fmt: skip


def _is_minutes(pieces: list[str] | tuple[str, ...], place: int) -> bool:
    """
    Return whether the ``m`` at ``place`` is minutes: it follows hours or stands before seconds (§18.8.31).
    """
    fields = [index for index, piece in enumerate(pieces) if piece[0].lower() in "ymdhs[" and len(piece) < 9]
    if pieces[place].startswith("["):
        return True
    here = fields.index(place)
    before = pieces[fields[here - 1]].lower().lstrip("[") if here else ""
    after = pieces[fields[here + 1]].lower() if here + 1 < len(fields) else ""
    return len(pieces[place]) <= 2 and (before.startswith("h") or after.startswith("s"))


def serial_ordinal(serial: float, *, is_1904: bool) -> int | None:
    """
    Return the day a serial number means, counted as ``date.toordinal`` counts.

    ``None`` is the 29 February 1900, which the 1900 base has and the calendar has not. Numbers below zero are
    days before the base, as programs that show such dates write them.

    Source: ECMA-376-1:2016 §18.17.4.1 (date bases; 1904 starts at 0 on 1 January 1904).
    """
    days = math.floor(serial)
    if is_1904:
        return date(1904, 1, 1).toordinal() + days
    if days == 60:
        return None
    return date(1899, 12, 30).toordinal() + days + (1 if 0 < days < 60 else 0)


def cell_date(serial: float, form: NumberFormat, *, is_1904: bool) -> CellDate | None:
    """
    Return the date a number stands for, as far as its format shows it; ``None`` where it stands for none.
    """
    ordinal = serial_ordinal(serial, is_1904=is_1904)
    if ordinal is None or not _FIRST_DAY <= ordinal <= _LAST_DAY:
        return None
    day = date.fromordinal(ordinal)
    # A format without a year shows what was typed without one: the spreadsheet added the year of that day.
    edtf = day.isoformat()[: {3: 10, 2: 7, 1: 4}[form.precision]] if form.precision else ""
    return CellDate(edtf, day)


def show_number(value: float, form: NumberFormat, *, is_1904: bool = False) -> str:
    """
    Return a number as its cell shows it.

    >>> show_number(78, parse_number_format("0000"))
    '0078'
    >>> show_number(28703.0, parse_number_format("mmm yy"))
    'Aug 78'
    """
    if form.is_date or form.is_time:
        return _show_date(value, form, is_1904=is_1904)
    section, value = _section(value, form)
    if not section or section == ("General",) or "@" in section:
        return _general(value)
    return _show_digits(value, section)


def _section(value: float, form: NumberFormat) -> tuple[tuple[str, ...], float]:
    """Return the section of a format that a number falls in; its own sign is then part of the section."""
    sections = form.sections
    if value < 0 and len(sections) > 1 and sections[1]:
        return sections[1], -value
    if value == 0 and len(sections) > 2 and sections[2]:
        return sections[2], value
    return sections[0], value


def _general(value: float) -> str:
    """Return a number without a format: no ``.0``, and not more digits than a spreadsheet keeps."""
    if isinstance(value, int):
        return str(value)
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return f"{value:.15g}"


def _literal(piece: str) -> str | None:
    """Return what a piece shows by itself, or ``None`` if it stands for digits."""
    if piece[0] == '"':
        return piece.strip('"')
    if piece[0] == "\\":
        return piece[1:]
    if piece[0] in "_*":
        return " " if piece[0] == "_" else ""
    return None if piece[0] in "0#?.,%/" or (piece[0] in "Ee" and len(piece) > 1) else piece


def _show_digits(value: float, section: tuple[str, ...]) -> str:
    """Return a number in a format of ``0 # ? . , % / E``, with the signs that stand among the digits."""
    if any(piece.lower() == "general" for piece in section):
        return "".join(_general(value) if piece.lower() == "general" else _literal(piece) or "" for piece in section)
    pattern = "".join(piece if _literal(piece) is None else "\x00" for piece in section)
    if "/" in pattern:
        return _show_fraction(value, section)
    percent = pattern.count("%")
    scientific = next((piece for piece in section if piece[0] in "Ee" and len(piece) > 1), None)
    whole, _, decimals = pattern.replace("\x00", "").replace("%", "").partition(".")
    if not re.search("[0#?]", whole + decimals):
        text = "".join(_literal(piece) or "" for piece in section)
        return text.strip() or _general(value)
    amount = abs(value) * 100**percent
    places = len(re.findall("[0#?]", decimals.split("E")[0].split("e")[0]))
    if scientific:
        return f"{value:.{places}E}"
    digits = _rounded(amount, places)
    before, _, after = digits.partition(".")
    after = after.rstrip("0") if "#" in decimals else after
    minus = "-" if value < 0 and digits.strip("0.") else ""
    grouped = "," in whole
    zeros = whole.count("0")
    before = before.lstrip("0").rjust(zeros, "0") if zeros else before.lstrip("0")
    if grouped:
        before = re.sub(r"(?<=\d)(?=(\d{3})+$)", ",", before)
        return (minus + _around(section, before, after)).strip()
    return (minus + _laid_out(section, before, after)).strip()


def _rounded(amount: float, places: int) -> str:
    """Return digits rounded half up, as spreadsheets round."""
    from decimal import ROUND_HALF_UP, Decimal, localcontext

    with localcontext() as context:
        context.prec = 400  # the largest float has 309 digits before its point
        return f"{Decimal(repr(amount)).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP):f}"


def _around(section: tuple[str, ...], before: str, after: str) -> str:
    """Return digits with what stands before and after them."""
    numeric = [place for place, piece in enumerate(section) if piece[0] in "0#?"]
    head = "".join(_literal(piece) or "" for piece in section[: numeric[0]])
    tail = "".join("%" if piece == "%" else _literal(piece) or "" for piece in section[numeric[-1] + 1 :])
    return head + before + ("." + after if after else "") + tail


def _laid_out(section: tuple[str, ...], before: str, after: str) -> str:
    """Return digits laid into the places of a format from the right, so that ``00-000`` shows ``78-014``."""
    point = section.index(".") if "." in section else len(section)
    shown: list[str] = []
    left = before
    leading = next((i for i, piece in enumerate(section) if piece[0] in "0#?"), 0)
    for place in range(point - 1, -1, -1):
        piece = section[place]
        literal = _literal(piece)
        if literal is not None:
            shown.append(literal)
        elif piece[0] in "0#?":
            cut = 0 if place == leading else max(len(left) - len(piece), 0)
            shown.append(left[cut:])
            left = left[:cut]
    tail = "".join("%" if piece == "%" else _literal(piece) or "" for piece in section[point:] if piece != ".")
    return "".join(reversed(shown)) + ("." + after if after else "") + tail + _percent(section[:point])


def _percent(section: tuple[str, ...]) -> str:
    """Return the per cent signs that stand before the point."""
    return "%" * sum(1 for piece in section if piece == "%")


def _show_fraction(value: float, section: tuple[str, ...]) -> str:
    """Return a number as a fraction of as many digits as its format has (``# ?/?``)."""
    slash = section.index("/")
    below = section[slash + 1] if slash + 1 < len(section) else "?"
    if below.isdigit() and below.strip("0"):
        bound = int(below)
        part = Fraction(round(abs(value) * bound), bound)
        above = round(abs(value) * bound)
        text = f"{above}/{bound}"
    else:
        part = Fraction(abs(value)).limit_denominator(10 ** min(len(below), 4) - 1)
        whole, rest = divmod(part.numerator, part.denominator)
        text = f"{rest}/{part.denominator}" if rest else ""
        text = f"{whole} {text}".strip() if whole or not text else text
    return ("-" if value < 0 else "") + text


def _show_date(serial: float, form: NumberFormat, *, is_1904: bool) -> str:
    """Return a date or time as its cell shows it; what is no day of the calendar stays a number."""
    ordinal = serial_ordinal(serial, is_1904=is_1904)
    if ordinal is None:
        return "1900-02-29"
    if form.is_date and not _FIRST_DAY <= ordinal <= _LAST_DAY:
        return _general(serial)
    seconds_of_day = round((serial - math.floor(serial)) * 86400)
    if seconds_of_day == 86400:
        ordinal, seconds_of_day = ordinal + 1, 0
    day = date.fromordinal(min(max(ordinal, _FIRST_DAY), _LAST_DAY))
    pieces = form.sections[0]
    clock = timedelta(seconds=seconds_of_day)
    half_day = any(piece.upper() in {"AM/PM", "A/P"} for piece in pieces)
    shown = [
        _show_date_part(pieces, place, day, clock, serial=serial, half_day=half_day) for place in range(len(pieces))
    ]
    return "".join(shown).strip()


def _show_date_part(
    pieces: tuple[str, ...], place: int, day: date, clock: timedelta, *, serial: float, half_day: bool
) -> str:
    """Return what one part of a date format shows."""
    piece = pieces[place]
    letter, size = piece[0].lower(), len(piece)
    hours, minutes, seconds = clock.seconds // 3600, clock.seconds // 60 % 60, clock.seconds % 60
    if letter == "[":
        unit = {"h": 3600, "m": 60, "s": 1}[piece[1].lower()]
        return str(int(round(serial * 86400) // unit))
    if piece.upper() in {"AM/PM", "A/P"}:
        return ("AM" if hours < 12 else "PM")[: 2 if size > 3 else 1]
    if letter == "m" and _is_minutes(pieces, place):
        return f"{minutes:0{min(size, 2)}}"
    if letter == "y":
        return f"{day.year % 100:02}" if size <= 2 else f"{day.year:04}"
    if letter == "m":
        name = _MONTHS[day.month - 1]
        return {1: str(day.month), 2: f"{day.month:02}", 3: name[:3], 5: name[0]}.get(size, name)
    if letter == "d":
        name = _DAYS[day.weekday()]
        return {1: str(day.day), 2: f"{day.day:02}", 3: name[:3]}.get(size, name)
    if letter == "h":
        return f"{(hours % 12 or 12) if half_day else hours:0{min(size, 2)}}"
    if letter == "s" and piece.strip("sS.0") == "":
        return f"{seconds:0{min(len(piece.split('.')[0]), 2)}}"
    literal = _literal(piece)
    return piece if literal is None else literal
