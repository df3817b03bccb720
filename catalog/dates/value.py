"""What a doubtful date is, and how two of them stand to each other."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Span = tuple[int | None, int | None]

# A season without a hemisphere may lie half a year from where its bounds put it.
_SEASON_MARGIN_DAYS = 184


class Certainty(StrEnum):
    """Whether something is so: surely, perhaps, or surely not."""

    CERTAINLY = "certainly"
    POSSIBLY = "possibly"
    APART = "apart"


@dataclass(frozen=True, slots=True)
class EdtfDate:
    """
    A date of the archive, with its doubt.

    ``text`` is the EDTF, exactly as it was given. ``earliest`` and ``latest`` are the first and last day it
    may mean (counted as in ``catalog.dates.days``), None where it has no bound or it is not known. They
    are strict: no margin for "about" is added here, that is done when a question is asked. ``doubt`` is the
    strongest mark anywhere in the date: ``%`` (or both kinds), ``~`` about, ``?`` uncertain; ``s`` for an
    otherwise unmarked season, whose edges are soft; else empty. ``spans`` are the stretches of days it may
    mean, apart and in order; a date of more than a thousand stretches has one, from the first to the last.
    ``estimate`` is the year that significant digits (``1950S2``) point to.
    """

    text: str
    earliest: int | None
    latest: int | None
    doubt: str
    spans: tuple[Span, ...]
    estimate: int | None = None

    def __str__(self) -> str:
        return self.text

    def within(self, other: EdtfDate, about_days: int = 0) -> Certainty:
        """
        Return whether this date lies within ``other``, taken as a stretch of time.

        A marked date, or one measured against a marked stretch, is never *certainly* within it; one marked
        ``~`` or ``%`` is *possibly* within when it comes as near as ``about_days``.
        """
        if not self.doubt and not other.doubt and all(_inside_any(span, other.spans) for span in self.spans):
            return Certainty.CERTAINLY
        margin = (about_days if is_about(self.doubt) else 0) + (about_days if is_about(other.doubt) else 0)
        if any(overlaps(mine, theirs, margin) for mine in self.spans for theirs in other.spans):
            return Certainty.POSSIBLY
        return Certainty.APART

    def surely_before(self, other: EdtfDate, about_days: int | None = None) -> bool:
        """
        Return True if every day of this date comes before every day of ``other``.

        A marked date is never surely before another, unless ``about_days`` says how far "about" may reach:
        then ``~`` is sure when the gap is wider than that (twice that when both are marked), and a season
        when it is wider than half a year. ``?`` and ``%`` are never sure.
        """
        if self.latest is None or other.earliest is None:
            return False
        margins = [_margin_days(date.doubt, about_days) for date in (self, other)]
        if None in margins:
            return False
        return self.latest + sum(margin or 0 for margin in margins) < other.earliest


def before(first: EdtfDate, second: EdtfDate, about_days: int | None = None) -> Certainty:
    """
    Return whether ``first`` came before ``second``: certainly, possibly, or not at all (apart).

    ``about_days`` is read as ``EdtfDate.surely_before`` reads it.
    """
    if first.surely_before(second, about_days):
        return Certainty.CERTAINLY
    if second.surely_before(first, about_days) or _is_same_day(first, second):
        return Certainty.APART
    return Certainty.POSSIBLY


def sort_key(earliest: int | None, latest: int | None) -> tuple[int, int, int]:
    """Return what to sort a date by: earliest day, else latest; what has neither comes last."""
    if earliest is None and latest is None:
        return (1, 0, 0)
    first = earliest if earliest is not None else latest
    last = latest if latest is not None else earliest
    return (0, first or 0, last or 0)


def is_about(doubt: str) -> bool:
    """Return True if a mark of doubt says that the date may lie a little outside its bounds."""
    return doubt in ("~", "%")


def overlaps(one: Span, other: Span, margin: int = 0) -> bool:
    """Return True if two stretches share a day once one of them is widened by ``margin`` days."""
    starts_too_late = one[0] is not None and other[1] is not None and one[0] - margin > other[1]
    ends_too_early = one[1] is not None and other[0] is not None and one[1] + margin < other[0]
    return not (starts_too_late or ends_too_early)


def is_inside(inner: Span, outer: Span) -> bool:
    """Return True if all of one stretch lies in the other."""
    starts = outer[0] is None or (inner[0] is not None and inner[0] >= outer[0])
    ends = outer[1] is None or (inner[1] is not None and inner[1] <= outer[1])
    return starts and ends


def _inside_any(span: Span, spans: tuple[Span, ...]) -> bool:
    return any(is_inside(span, outer) for outer in spans)


def _is_same_day(first: EdtfDate, second: EdtfDate) -> bool:
    days = {first.earliest, first.latest, second.earliest, second.latest}
    return len(days) == 1 and None not in days and not first.doubt and not second.doubt


def _margin_days(doubt: str, about_days: int | None) -> int | None:
    """How far beyond its bounds a date may lie; None if that cannot be said."""
    if not doubt:
        return 0
    if about_days is None or doubt in ("?", "%"):
        return None
    return max(about_days, _SEASON_MARGIN_DAYS) if doubt == "s" else about_days
