"""Where a frame stands in a building's chronicle, and whether the building stood then; over days alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Days:
    """
    The days a date may mean: ``earliest`` to ``latest``, ``None`` for no bound; both ``None`` when undated.

    ``reach`` widens both ends: the archive's margin for a date marked "about".
    """

    earliest: int | None
    latest: int | None
    reach: int = 0

    def surely_before(self, other: Days) -> bool:
        """Return True if every day this may mean comes before every day the other may mean."""
        if self.latest is None or other.earliest is None:
            return False
        return self.latest + self.reach < other.earliest - other.reach


# A season without a hemisphere may lie half a year from where its days are put, as in catalog.dates.value.
SEASON_REACH_DAYS = 184


def reach_of(doubt: str, about_days: int) -> int:
    """
    Return how far a date with this mark of doubt may lie from what is written; a season's edges are soft.

    What is only uncertain (``?``) is taken where it is written: its own words keep saying so.
    """
    if doubt == "s":
        return SEASON_REACH_DAYS
    return about_days if doubt in ("~", "%") else 0


def stood(*, raised: Days, razed: Days, when: Days) -> bool | None:
    """
    Return True if a building stood for all of ``when``, False if for none of it.

    ``None`` means the record cannot settle it: the raising or razing falls within ``when``, or its own
    date is too loose to say. An undated raising or razing settles nothing against standing.
    """
    was_raised = raised.surely_before(when) or (raised.earliest is None and raised.latest is None)
    not_razed = when.surely_before(razed) or (razed.earliest is None and razed.latest is None)
    if when.surely_before(raised) or razed.surely_before(when):
        return False
    return True if was_raised and not_razed else None


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a frame stands among a chronicle's entries: after the first ``after`` of them; it may span ``spans``."""

    after: int
    spans: tuple[int, ...]


def standing_of(frame: Days, entries: Sequence[Days]) -> Standing:
    """
    Return where a dated frame stands among ``entries``, which are in order of date.

    It stands after every entry that surely came before it; an entry that may have come before
    or after it is spanned. Undated entries are passed over.
    """
    after, spans = 0, []
    for index, entry in enumerate(entries):
        if entry.earliest is None and entry.latest is None:
            continue
        if entry.surely_before(frame):
            after = index + 1
        elif not frame.surely_before(entry):
            spans.append(index)
    return Standing(after, tuple(spans))
