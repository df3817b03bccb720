"""What date did the person mean? Plain words to EDTF, with every doubt kept and nothing guessed."""

from __future__ import annotations

import re
from functools import lru_cache

from catalog.dates._points import (
    ForkError,
    Reading,
    UnreadError,
    combined,
    day_point,
    hull,
    marked,
    read_point,
    year_point,
)
from catalog.dates._tree import Interval, Members, Point, Range, Tree, spell
from catalog.dates.captions import format_words
from catalog.dates.grammar import parse_edtf
from catalog.dates.value import EdtfDate
from catalog.errors import AmbiguousDateError, DateWordsError, EdtfError

LONGEST_WORDS = 400
MOST_READINGS = 8

_UNDATED = frozenset(
    (
        "", "nd", "sd", "undated", "no date", "not dated", "without date", "date unknown", "unknown date",
        "unknown", "not known", "date not known",
        "sine dato", "unk", "?", "??", "???", "-", "--", "---", "none",
    )
)  # fmt: skip
# Case D02: Exif writes zeros for a date that is not known; spreadsheets make them of empty cells.
_ZEROS = r"0{4}([-:/.]?)00\1?00(?: 00:00:00)?"

_TIDY = str.maketrans(
    {
        "\u00a0": " ", "\u2007": " ", "\u2009": " ", "\u202f": " ", "\u200a": " ",
        "\u2002": " ", "\u2003": " ",
        "\u200b": "", "\ufeff": "", "\u00ad": "",
        "\u2010": "-", "\u2011": "-", "\u2012": "-", "\u2013": "-", "\u2014": "-", "\u2212": "-",
        "\u2018": "'", "\u2019": "'", "\u201b": "'", "`": "'", "\u00b4": "'", "\u2032": "'",
        "\u201c": '"', "\u201d": '"', "\u223c": "~", "\u2248": "~",
    }
)  # fmt: skip

_ABOUT = r"(?:circa|cca|ca|about|abt|around|approximately|approx|roughly|say)\b\.?,? *|c(?:\. *| +|(?=['0-9]))|~ *"
_UNSURE = (
    r"(?:probably|prob|perhaps|possibly|poss|maybe|presumably|likely|believed|thought to be)\b\.?,? *"
    r"|\(\?\) *|\? *"
)
_BOTH = r"% *"
_MARKED_BETWEEN = rf"(?:{_ABOUT}|{_UNSURE})*(?:between|betw\.?|bet\.?) "
_TRAILING = (
    (r"(.+?) ?(?:\(\?\)|\[\?\]|\?)", "?"),
    (r"(.+?),? ?\(?(?<!year )(?<!month )(?<!day )(?:probably|perhaps|possibly|prob\.?|uncertain)\)?", "?"),
    (r"(.+?),? ?\(?(?:or thereabouts|or so|approx\.?|approximately|circa|about)\)?", "~"),
    (r"(.+?)~", "~"),
    (r"(.+?)%", "%"),
)
_TRAILING_LETTERS = frozenset("?)]~%.ysbnoxat")  # the last letters of these

_CLOSERS = (
    (r"(.+?),? (?:or later|or after|or afterwards|at the earliest)", "from it"),
    (r"(.+?),? (?:or earlier|or before|at the latest)", "up to it"),
    (
        r"(?:from |since )?(.+?) ?(?<![a-z])(?:onwards?|on|to date|to (?:the )?present|to now|until now|-)",
        "ever since",
    ),
)

_OR = r",? or (?!later|earlier|before|after|so\b|thereabouts)"

# What opens a date at one end: the words before it, and how it is read.
_OPENERS = tuple(
    (rf"{pattern}(?: |(?<=[ -]))(?=\S)", how)
    for pattern, how in (
        (r"(?:not|no|never) (?:before|earlier than)", "from it"),
        (r"(?:not|no|never) (?:after|later than)", "up to it"),
        (r"(?:before|bef\.?|pre[ -]|earlier than|prior to|ante)", "until it"),
        (r"(?:after|aft\.?|post[ -]|later than|post)", "past it"),
        (r"(?:by|until|till|up to|to)", "up to it"),
        (r"(?:since|from)", "ever since"),
    )
)


@lru_cache(maxsize=4096)
def parse_words(text: str, *, century: int | None = None, event: bool = True) -> EdtfDate | None:
    """
    Return the date that someone typed, in EDTF or in plain words; None for "n.d." and its kin.

    ``century`` is the century of two-digit years (1900 for 19YY). ``event`` says what is dated: an event,
    which happened once (``before 1975`` is ``[..1974]``), or a state, which lasted (``../1974``). "Early",
    "mid" and "late" become a range marked "about" at both ends.

    >>> parse_words("probably Aug 1979").text
    '1979-08?'

    Raises:
        AmbiguousDateError: the words may mean several dates; it carries them.
        DateWordsError: the words say no date that can be kept; it carries the reason.
    """
    words = " ".join(text.translate(_TIDY).split())
    lower = words.lower()
    if is_undated(lower):
        return None
    if len(words) > LONGEST_WORDS:
        raise DateWordsError(text[:40] + "...", f"a date has at most {LONGEST_WORDS} letters here")
    if not re.fullmatch(r"[?~%]?[0-9]{4}-[?~%]?[0-9]{1,2}[?~%]?|\[[^.,]*\]", words):
        try:
            return parse_edtf(words)
        except EdtfError as exc:
            refusal = exc  # it may still be plain words
    else:
        refusal = None
    return _one_reading(text, lower, century, event, refusal)


def is_undated(lower: str) -> bool:
    """Return True if the words, in small letters, say that there is no date."""
    bare = lower.strip(" ()[]\"'")
    return bare in _UNDATED or re.sub(r"[. ]", "", bare) in ("nd", "sd") or bool(re.fullmatch(_ZEROS, bare))


def _one_reading(text: str, lower: str, century: int | None, event: bool, refusal: EdtfError | None) -> EdtfDate:
    """Take every way a phrase may be read; return the only date, or ask which."""
    found: dict[str, EdtfDate] = {}
    reasons: list[str] = []
    waiting: list[dict[str, int]] = [{}]
    while waiting:
        chosen = waiting.pop(0)
        try:
            date = parse_edtf(spell(_phrase(lower, Reading(century, event, _full_year(lower), chosen))))
        except ForkError as fork:
            if len(waiting) + len(found) > MOST_READINGS * 4:
                raise DateWordsError(text, "it may mean too many dates; write it in full") from fork
            waiting += [{**chosen, fork.key: way} for way in range(fork.ways)]
        except UnreadError as exc:
            reasons.append(str(exc))
        except EdtfError as exc:
            reasons.append(exc.reason)
        else:
            found.setdefault(date.text, date)
    if not found:
        looks_like_edtf = re.match(r"[\[{Y]|[0-9X-]{4,10}[?~%]?/|[^ ]*X", text)
        raise DateWordsError(text, refusal.reason if refusal and looks_like_edtf else reasons[0])
    if len(found) > 1:
        raise AmbiguousDateError(text, [(edtf, format_words(date)) for edtf, date in found.items()][:MOST_READINGS])
    return next(iter(found.values()))


def _full_year(lower: str) -> int | None:
    match = re.search(r"(?<![0-9])[0-9]{4}(?![0-9])", lower)
    return int(match[0]) if match else None


def _phrase(words: str, reading: Reading, like: Point | None = None) -> Tree:
    words = words.strip(' ,;."') if not words.endswith((" b.c.", " a.d.", " c.")) else words.strip(' ,;"')
    if not words:
        raise UnreadError("the date is missing")
    if words.isdigit():
        return _as_tree(read_point(words, reading, like), reading)
    for way in _WAYS:
        tree = way(words, reading, like)
        if tree is not None:
            return tree
    return _as_tree(read_point(words, reading, like), reading)


def _as_tree(read: Point | Range, reading: Reading) -> Tree:
    if isinstance(read, Point):
        return read
    return Members(False, (read,)) if reading.event else Interval(read.first, read.last)


def _bracketed(words: str, reading: Reading, like: Point | None) -> Tree | None:
    """An archivist's brackets, ``[c. 1978]``: the date was supplied; the words as written keep them."""
    if words[0] in "[(" and re.fullmatch(r"\[[^\[\]]+\]|\([^()]+\)", words) and words not in ("(?)", "[?]"):
        return _phrase(words[1:-1], reading, like)
    return None


def _century_letter(words: str, reading: Reading, like: Point | None) -> Tree | None:
    """``C19`` is a century to one person and "about '19" to the next."""
    match = re.fullmatch(r"c\.? ?([0-9]{2})", words) if words[0] == "c" else None
    if match and 1 <= int(match[1]) <= 21 and reading.choose("century letter", 2) == 0:
        return Point(f"{int(match[1]) - 1:02d}XX")
    return None


def _captioned(words: str, reading: Reading, like: Point | None) -> Tree | None:
    """The forms that captions use for what people seldom say."""
    if words.startswith("each from ") and " and " not in words:
        return _each(words, reading)
    if not words.endswith((")", " unknown")):
        return None
    if match := re.fullmatch(r"(.+) \(((?:(?:year|month|day) (?:uncertain|approximate|doubtful)(?:[,;] )?)+)\)", words):
        # In "from A to B (day uncertain)" the remark is on B alone, and is met again there.
        return _marked_parts(match[1], match[2], reading, like)
    if match := re.fullmatch(r"from (.+), end unknown", words):
        return Interval(_point(match[1], reading), None)
    if match := re.fullmatch(r"until (.+), start unknown", words):
        return Interval(None, _point(match[1], reading))
    return None


def _marked_parts(words: str, parts: str, reading: Reading, like: Point | None) -> Tree | None:
    try:
        tree = _phrase(words, reading, like)
    except UnreadError:
        return None
    if not isinstance(tree, Point):
        return None
    marks = list(tree.marks)
    places = {"year": 0, "month": 2, "day": 4}
    names = {"uncertain": "?", "approximate": "~", "doubtful": "%"}
    for part in re.split("[,;] ", parts):
        name, doubt = part.split()
        if not {"year": tree.year, "month": tree.month, "day": tree.day}[name]:
            raise UnreadError(f"the date has no {name} to be {doubt}")
        marks[places[name]] = names[doubt]
    return tree._replace(marks="".join(marks))


def _trailing_mark(words: str, reading: Reading, like: Point | None) -> Tree | None:
    if words[-1] not in _TRAILING_LETTERS:
        return None
    for pattern, mark in _TRAILING:
        if match := re.fullmatch(pattern, words):
            return _all_marked(_phrase(match[1], reading, like), mark)
    return None


def _open_end(words: str, reading: Reading, like: Point | None) -> Tree | None:
    if not words.endswith(("r", "ds", "t", "on", "onward", "e", "now", "-")):
        return None
    for pattern, how in _CLOSERS:
        match = re.fullmatch(pattern, words)
        # In "1978, or 1980 or later" only the last is open.
        if match and not re.search(_OR, match[1]):
            return _opened(match[1], how, reading, like)
    return None


def _one_of(words: str, reading: Reading, like: Point | None) -> Tree | None:
    if " or " not in words and "/" not in words:
        return None
    parts = re.split(_OR, words)
    if len(parts) == 1 and (match := re.fullmatch(r"([a-z]+) ?/ ?([a-z]+ .+)", words)):
        parts = [match[1], match[2]]
    if len(parts) == 1:
        return None
    return _members(_listed(parts, reading, like), False, reading, like)


def _all_of(words: str, reading: Reading, like: Point | None) -> Tree | None:
    if "," not in words and " and " not in words and " but " not in words and "&" not in words:
        return None
    if match := re.fullmatch(
        r"(after|before|not before|not after) (.+?)(?:,| and| but)+ (after|before|not before|not after) (.+)",
        words,
    ):
        return _both_ends(match, reading)
    if re.match(_MARKED_BETWEEN, words):
        return None
    parts = re.split(r",? (?:and|&) ", words)
    if len(parts) == 1:
        listed = _listed(parts, reading, like)
        if len(listed) == 1:
            return None
        return _members(listed, reading.choose("commas", 2) == 1, reading, like)
    return _members(_listed(parts, reading, like), True, reading, like)


_HAS_YEAR = r"[0-9]{4}|'[0-9]{2}|^[0-9]{1,2}$|\b(?:ad|bc)\b|[0-9]0s|century"


def _listed(parts: list[str], reading: Reading, like: Point | None) -> list[str]:
    """Part a list at its commas, unless a comma belongs to the date itself: ``Aug 12, 1979``."""
    listed: list[str] = []
    for part in parts:
        pieces = re.split(r", ?", part)
        whole_dates = all(re.search(_HAS_YEAR, piece) for piece in pieces)
        is_one_date = re.fullmatch(r"(?:[a-z]+\.? )?[a-z]+\.? [0-9]{1,2}(?:st|nd|rd|th)?, ?'?[0-9]{2,4}", part)
        listed += pieces if whole_dates and not is_one_date else [part]
    return listed


def _members(parts: list[str], all_of: bool, reading: Reading, like: Point | None) -> Members:
    """Read the members of a set from the last to the first, so that each may borrow from the one after it."""
    trees: list[Tree] = []
    for part in reversed(parts):
        tree = _each(part, reading) if all_of else None
        tree = tree or _phrase(part, reading, like)
        trees.insert(0, tree)
        like = _nearest(tree) or like
    # "c. 1978 or 1979" is doubtful in both; "1978 or c. 1979" only in the second.
    first_mark = _mark_of(trees[0])
    if first_mark and not any(_mark_of(tree) for tree in trees[1:]):
        trees = [trees[0], *(_all_marked(tree, first_mark) for tree in trees[1:])]
    return Members(all_of, tuple(item for tree in trees for item in _items(tree, all_of)))


def _each(part: str, reading: Reading) -> Tree | None:
    match = re.fullmatch(r"each from (.+) to (.+)", part)
    return Members(True, (Range(_point(match[1], reading), _point(match[2], reading)),)) if match else None


def _items(tree: Tree, all_of: bool) -> tuple[Point | Range, ...]:
    if isinstance(tree, Point):
        return (tree,)
    if isinstance(tree, Interval):
        return (Range(tree.start, tree.end),)
    if tree.all_of != all_of:
        raise UnreadError("'and' and 'or' together leave open which is meant")
    return tree.items


def _nearest(tree: Tree) -> Point | None:
    if isinstance(tree, Point):
        return tree
    ends = (tree.start, tree.end) if isinstance(tree, Interval) else tree.items
    for end in ends:
        point = (end.first or end.last) if isinstance(end, Range) else end
        if point:
            return point
    return None


def _mark_of(tree: Tree) -> str:
    point = _nearest(tree)
    mark = ""
    for letter in (point.marks if point else "").replace(" ", ""):
        mark = combined(mark, letter)
    return mark


def _leading_mark(words: str, reading: Reading, like: Point | None) -> Tree | None:
    if words[0].isdigit():
        return None
    for pattern, mark in ((_UNSURE, "?"), (_ABOUT, "~"), (_BOTH, "%")):
        match = re.match(pattern, words)
        if not match or not words[match.end() :]:
            continue
        rest = words[match.end() :]
        if mark == "~" and re.fullmatch(r"'?[0-9]{2,4} ?-+ ?'?[0-9]{1,4}", rest):
            # Table of human forms: "c. 1755-60" is 1755~/1760~, a time spent and not one day in it.
            reading = Reading(reading.century, False, reading.full_year, {**reading.chosen, "about": 1})
        return _all_marked(_phrase(rest, reading, like), mark)
    return None


def _opener(words: str, reading: Reading, like: Point | None) -> Tree | None:
    if words[0] not in "nbepaltus f":
        return None
    if words[0] == "f" and re.match(r"from .+ (?:to|until|till|through|-) ", words):
        return None
    for pattern, how in _OPENERS:
        if match := re.match(pattern, words):
            return _opened(words[match.end() :], how, reading, like)
    return None


def _opened(words: str, how: str, reading: Reading, like: Point | None) -> Tree:
    point = _point(words, reading, like)
    if how == "ever since":
        return Interval(point, None, end_open=True)
    if how == "until it":
        point, how = _beside(point, -1), "up to it"
    elif how == "past it":
        point, how = _beside(point, +1), "from it"
    ends = (None, point) if how == "up to it" else (point, None)
    if reading.event:
        return Members(False, (Range(*ends),))
    return Interval(ends[0], ends[1], start_open=ends[0] is None, end_open=ends[1] is None)


def _beside(point: Point, step: int) -> Point:
    """Return the year, month or day just before or after a date, as doubtful as the date."""
    first, last = hull(point)
    precision = "month" if point.precision == "season" else point.precision
    beside = day_point(first - 1 if step < 0 else last + 1, precision)
    mark = _mark_of(point)
    return marked(beside, mark) if mark else beside


def _both_ends(match: re.Match[str], reading: Reading) -> Tree:
    ends: dict[str, Point] = {}
    for how, words in ((match[1], match[2]), (match[3], match[4])):
        point = _point(words, reading)
        if how.startswith("not "):
            ends["first" if how == "not before" else "last"] = point
        else:
            ends["first" if how == "after" else "last"] = _beside(point, +1 if how == "after" else -1)
    if len(ends) < 2:
        raise UnreadError("it says the same end twice")
    return _from_to(ends["first"], ends["last"], is_event=reading.event)


def _point(words: str, reading: Reading, like: Point | None = None) -> Point:
    tree = _phrase(words, reading, like)
    if not isinstance(tree, Point):
        raise UnreadError(f"{words!r} is no single date")
    return tree


_TO = r"(?: to | through | until | till )"


def _between(words: str, reading: Reading, like: Point | None) -> Tree | None:
    """``between A and B``, ``from A to B``: a word before, so that any joint between them will do."""
    match = re.fullmatch(r"(between|betw\.?|bet\.?|from) (.+)", words) if words[0] in "bf" else None
    if not match:
        return None
    is_lasting = match[1] == "from"
    for joint in (_TO, " ?-+ ?") if is_lasting else (" (?:and|&) ", _TO, " ?-+ ?"):
        if ends := re.fullmatch(rf"(.+?){joint}(.+)", match[2]):
            return _ends(ends[1], ends[2], reading, is_event=reading.event and not is_lasting)
    return None


_TWO_DATES = rf"(.+?)(?: - |{_TO})(.+)|([^-]+)-+([^-]+)"

# Dates that hold a hyphen themselves.
_HYPHENATED = (
    r".*[0-9]{2}:[0-9]{2}:.*|[0-9]{1,4} ?[-/.] ?[0-9]{1,2} ?[-/.] ?'?[0-9]{1,4}|[0-9]{1,2}-[0-9]{4}"
    r"|.* ?q[1-4].*|[0-9x?~%-]*[x?~%][0-9x?~%-]*"
    r"|(?:early |late |mid )?(?:northern |southern )?(?:spring|summer|autumn|fall|winter)(?: of)? "
    r"'?[0-9]{2,4} ?[-/] ?'?[0-9]{1,4}"
)


def _stretch(words: str, reading: Reading, like: Point | None) -> Tree | None:
    """Two dates with a hyphen or "to" between them: ``A - B``, ``1755-60``."""
    if match := re.fullmatch(r"([0-9]{4}|'?[0-9]{2})( ?[-/] ?)('?)([0-9]{1,2})", words):
        return _short_stretch(match, reading)
    if "-" not in words and " to " not in words and not re.search(_TO, words):
        return None
    words = re.sub(r"\b(early|mid|late)-", r"\1 ", words)
    if match := re.fullmatch(r"(?:([0-9]{1,2})-)?([a-z]{3,9}\.?)-('?[0-9]{2,4})", words):
        words = " ".join(part for part in match.groups() if part)
    if re.fullmatch(_HYPHENATED, words):
        return None
    if match := re.fullmatch(_TWO_DATES, words):
        return _ends(match[1] or match[3], match[2] or match[4], reading, is_event=reading.event)
    return _as_tree(read_point(words, reading, like), reading)


def _ends(start: str, end: str, reading: Reading, *, is_event: bool) -> Tree:
    last = _phrase(end, reading)
    first = _phrase(start, reading, _nearest(last))
    return _from_to(_edge(first, 0), _edge(last, 1), is_event=is_event)


def _edge(tree: Tree, side: int) -> Point:
    """Return where a date begins (0) or ends (1), for a stretch from or to it: ``from the late 1970s``."""
    if isinstance(tree, Point):
        return tree
    if isinstance(tree, Members) and len(tree.items) == 1 and isinstance(tree.items[0], Range):
        tree = Interval(*tree.items[0])
    if isinstance(tree, Interval) and tree.start and tree.end:
        return tree.end if side else tree.start
    raise UnreadError("a stretch runs from one date to another")


def _from_to(first: Point, last: Point, *, is_event: bool) -> Tree:
    if not is_event:
        return Interval(first, last)
    if first.is_masked or last.is_masked or first.precision != last.precision:
        first, last = _bare_edge(first, last, 0), _bare_edge(last, first, 1)
    return Members(False, (Range(first, last),))


def _bare_edge(point: Point, other: Point, side: int) -> Point:
    """Return the first or last year, month or day of a date, so that both ends of a range are of one kind."""
    kinds = [end.precision for end in (point, other)]
    precision = "day" if "day" in kinds else "month" if {"month", "season"} & set(kinds) else "year"
    edge = day_point(hull(point)[side], precision)
    mark = _mark_of(point)
    return marked(edge, mark) if mark else edge


def _short_stretch(match: re.Match[str], reading: Reading) -> Tree:
    """
    Read ``1755-60``, and ask where ``1805-06`` may be a month, ``1921-22`` a season, or ``1978-79`` a winter.

    EDTF means June 1805 and summer 1921 by these; a person may mean two years.
    """
    year = int(match[1]) if len(match[1]) == 4 else reading.two_digit_year(match[1].lstrip("'"))
    digits, number = match[4], int(match[4])
    ways: list[Tree] = []
    may_be_code = 1 <= number <= 12 or (21 <= number <= 41 and len(digits) == 2)
    if may_be_code and not match[3] and len(match[1]) == 4:
        ways.append(Point(f"{year:04d}", f"{number:02d}"))
    step = 10 ** len(digits)
    end = year // step * step + number
    if end > year:
        if reading.event:
            ways.append(_from_to(year_point(year), year_point(end), is_event=True))
        if end == year + 1 or not reading.event:
            ways.append(_from_to(year_point(year), year_point(end), is_event=False))
        if end == year + 1 and "about" not in reading.chosen:
            ways.append(Point(f"{year:04d}", "24"))
    if not ways:
        raise UnreadError(f"{match[0]} runs backwards; write both years in full")
    return ways[reading.choose(match[0], len(ways))]


def _all_marked(tree: Tree, mark: str) -> Tree:
    if isinstance(tree, Point):
        return marked(tree, mark)
    if isinstance(tree, Interval):
        start = marked(tree.start, mark) if tree.start else None
        end = marked(tree.end, mark) if tree.end else None
        return tree._replace(start=start, end=end)
    return tree._replace(items=tuple(_marked_item(item, mark) for item in tree.items))


def _marked_item(item: Point | Range, mark: str) -> Point | Range:
    if isinstance(item, Point):
        return marked(item, mark)
    return Range(marked(item.first, mark) if item.first else None, marked(item.last, mark) if item.last else None)


# In this order: what takes in the whole phrase first, a stretch of two dates last.
_WAYS = (
    _bracketed, _century_letter, _captioned, _trailing_mark, _open_end, _one_of, _all_of, _leading_mark,
    _opener, _between, _stretch,
)  # fmt: skip
