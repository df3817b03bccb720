"""Dates of every kind the grammar has, for properties."""

from __future__ import annotations

import calendar

from hypothesis import strategies as st

MARKS = st.sampled_from(["", "", "", "?", "~", "%"])
YEARS = st.integers(0, 9999)


@st.composite
def plain_dates(draw: st.DrawFn) -> str:
    """A year, a month or a day, nothing left open."""
    year = draw(YEARS)
    precision = draw(st.sampled_from(["year", "month", "day"]))
    if precision == "year":
        return f"{year:04d}"
    month = draw(st.integers(1, 12))
    if precision == "month":
        return f"{year:04d}-{month:02d}"
    # ISO 8601 counts a year 0, a leap year; the standard library's calendar begins at 1.
    last = calendar.monthrange(year or 4, month)[1]
    return f"{year:04d}-{month:02d}-{draw(st.integers(1, last)):02d}"


@st.composite
def masked_dates(draw: st.DrawFn) -> str:
    """A date with any of its digits left open; every one is possible."""
    text = draw(plain_dates())
    places = draw(st.sets(st.sampled_from([n for n, letter in enumerate(text) if letter != "-"]), min_size=1))
    return "".join("X" if place in places else letter for place, letter in enumerate(text))


@st.composite
def marked_dates(draw: st.DrawFn) -> str:
    """A date with marks left or right of its parts, never on both sides of one."""
    parts = draw(st.one_of(plain_dates(), masked_dates(), seasons())).split("-")
    marked = []
    for part in parts:
        mark = draw(MARKS)
        marked.append(mark + part if draw(st.booleans()) else part + mark)
    return "-".join(marked)


def seasons() -> st.SearchStrategy[str]:
    """A season, quarter, four-month term or half of a year."""
    return st.builds(lambda year, code: f"{year:04d}-{code}", YEARS, st.integers(21, 41))


def long_years() -> st.SearchStrategy[str]:
    """A year with a letter, an exponent, or significant digits."""
    signed = st.integers(10_000, 10**12).flatmap(lambda year: st.sampled_from([f"Y{year}", f"Y-{year}"]))
    exponents = st.builds(lambda first, tens: f"Y{first}E{tens}", st.integers(1, 9999), st.integers(1, 9))
    significant = st.builds(lambda year, digits: f"{year:04d}S{digits}", YEARS, st.integers(1, 4))
    negative = st.integers(1, 9999).map(lambda year: f"-{year:04d}")
    return st.one_of(signed, exponents, significant, negative)


def times() -> st.SearchStrategy[str]:
    """A day and a time of it."""
    zones = st.sampled_from(["", "Z", "-04", "+04:30", "+14:00", "+00:30"])
    clock = st.times().map(lambda time: time.strftime("%H:%M:%S"))
    days = st.dates().map(lambda day: day.isoformat())
    return st.builds(lambda day, time, zone: f"{day}T{time}{zone}", days, clock, zones)


def points() -> st.SearchStrategy[str]:
    """Any single date without a time."""
    return st.one_of(plain_dates(), masked_dates(), marked_dates(), seasons(), long_years())


def intervals() -> st.SearchStrategy[str]:
    """Two ends, some of them open or unknown; they may run backwards."""
    ends = st.one_of(points(), st.sampled_from(["", ".."]))
    return st.builds(lambda start, end: f"{start}/{end}", ends, ends).filter(lambda text: text != "/")


@st.composite
def sets(draw: st.DrawFn) -> str:
    """One of several dates or all of them, with ranges; a range may run backwards."""
    years = st.builds(lambda one, other: f"{one:04d}..{other:04d}", YEARS, YEARS)
    items = draw(st.lists(st.one_of(points(), years), min_size=1, max_size=4))
    items[0] = draw(st.sampled_from(["", "", ".."])) + items[0] if ".." not in items[0] else items[0]
    items[-1] += draw(st.sampled_from(["", "", ".."])) if ".." not in items[-1] else ""
    brackets = draw(st.sampled_from(["[]", "{}"]))
    return brackets[0] + ",".join(items) + brackets[1]


def edtf_texts() -> st.SearchStrategy[str]:
    """Anything the grammar has; some of it runs backwards and is refused."""
    return st.one_of(points(), times(), intervals(), sets())


def judged_dates() -> st.SearchStrategy[str]:
    """The kinds of dates that other readers know too."""
    marked = st.builds(lambda date, mark: date + mark, plain_dates(), MARKS)
    ends = st.one_of(marked, st.sampled_from(["", ".."]))
    stretches = st.builds(lambda start, end: f"{start}/{end}", ends, ends).filter(lambda text: text != "/")
    years = st.builds(lambda one, other: f"{one:04d}..{other:04d}", YEARS, YEARS)
    members = st.lists(st.one_of(plain_dates(), years), min_size=2, max_size=4).map(",".join)
    either = st.builds(lambda inner, pair: pair[0] + inner + pair[1], members, st.sampled_from(["[]", "{}"]))
    return st.one_of(marked, masked_dates(), seasons(), times(), stretches, either, long_years())


@st.composite
def damaged(draw: st.DrawFn, texts: st.SearchStrategy[str]) -> str:
    """A date with one letter lost or changed: mostly no date any more."""
    text = draw(texts)
    place = draw(st.integers(0, len(text) - 1))
    letter = draw(st.sampled_from(["", "X", "0", "9", "-", "/", "?", "~", " ", ".", ",", "T", "Y", "S", "u"]))
    return text[:place] + letter + text[place + 1 :]
