"""Whether something that held for a while (a site, a name, a belonging) held when a frame was exposed."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from catalog.rules.chronicle import reach_of


@dataclass(frozen=True, slots=True)
class Boundary:
    """An end of something that held for a while, as its date's columns have it; ``edtf`` is ``None`` when unknown."""

    edtf: str | None = None
    earliest: int | None = None
    latest: int | None = None
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Span:
    """
    The days within which something held: ``lo`` to ``hi`` possibly, between ``sure_lo`` and ``sure_hi`` surely.

    The two sure bounds are days on which it is not sure yet, or no longer.
    """

    lo: float = -inf
    hi: float = inf
    sure_lo: float = -inf
    sure_hi: float = inf


ALWAYS = Span()


def span_between(since: Boundary, until: Boundary, about_days: int) -> Span:
    """
    Return the span of something that held from one boundary to another.

    A boundary marked ``~ ? %`` lies within ``about_days`` of what is written. An undated one is none. One that
    is dated but open on the inner side is never surely passed. ``store._place_routes`` says the same in SQL.
    """
    lo = sure_lo = -inf
    hi = sure_hi = inf
    if since.edtf is not None:
        reach = about_days if since.doubt in ("~", "?", "%") else 0
        lo = -inf if since.earliest is None else since.earliest - reach
        sure_lo = inf if since.latest is None else since.latest + reach
    if until.edtf is not None:
        reach = about_days if until.doubt in ("~", "?", "%") else 0
        hi = inf if until.latest is None else until.latest + reach
        sure_hi = -inf if until.earliest is None else until.earliest - reach
    return Span(lo, hi, sure_lo, sure_hi)


@dataclass(frozen=True, slots=True)
class FrameTime:
    """When a frame was exposed, by the columns of its date; not ``is_dated`` when nothing is known."""

    is_dated: bool = False
    earliest: int | None = None
    latest: int | None = None
    doubt: str = ""

    def may_meet(self, span: Span, about_days: int) -> bool:
        """Return True unless the span was surely over, or had surely not begun; "about" reaches ``about_days``."""
        reach = about_days if self.doubt in ("~", "%") else 0
        first = -inf if self.earliest is None else self.earliest - reach
        last = inf if self.latest is None else self.latest + reach
        return first <= span.hi and last >= span.lo

    def lies_within(self, span: Span) -> bool:
        """Return True if every day it may be lies within the span, and its date is not marked in any way."""
        return self.is_dated and not self.doubt and self._lies_between(span, 0)

    def lies_well_within(self, span: Span, about_days: int) -> bool:
        """Return True if it lies within the span even when its mark is given all the room it may ask for."""
        return self.is_dated and self._lies_between(span, reach_of(self.doubt, about_days))

    def _lies_between(self, span: Span, reach: int) -> bool:
        first = -inf if self.earliest is None else self.earliest - reach
        last = inf if self.latest is None else self.latest + reach
        return first > span.sure_lo and last < span.sure_hi
