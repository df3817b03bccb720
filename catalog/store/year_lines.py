"""Year lines: how many frames there are of a place or a building in each decade, and what happened to it when."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from catalog.dates.days import calendar_day, ordinal
from catalog.rules.chronicle import reach_of

if TYPE_CHECKING:
    from catalog.store.find import Question

DECADE = 10
_MOST_DECADES = 60
"""A frame dated more loosely than this is not drawn into every decade it may mean: it is counted apart."""


@dataclass(frozen=True, slots=True)
class DecadeCount:
    """The frames of one decade: those certainly of it and of the subject, and those possibly."""

    first_year: int
    certain: int
    possible: int


@dataclass(frozen=True, slots=True)
class YearLine:
    """
    The frames of a subject by decade, in order.

    A frame that may fall in two decades is counted as possible in both. ``undated`` are those without a date,
    ``loose`` those whose date says too little to stand in a decade ("1990 or earlier").
    """

    decades: tuple[DecadeCount, ...] = ()
    undated: int = 0
    loose: int = 0
    total: int = 0


@dataclass(frozen=True, slots=True)
class ChronicleMark:
    """Something that happened to a building, between two points in time as years with fractions; loose or marked."""

    kind: str
    first: float
    last: float
    is_doubtful: bool


_GROUPED = """
    SELECT subject, edtf, earliest, latest, doubt, sure, count(*) FROM (
        SELECT subject, id, exposed_edtf AS edtf, exposed_earliest AS earliest, exposed_latest AS latest,
            exposed_doubt AS doubt, max(sure) AS sure
        FROM ({frames}) GROUP BY subject, id)
    GROUP BY 1, 2, 3, 4, 5, 6
"""

_UNGROUPED = """
    SELECT subject, exposed_edtf, exposed_earliest, exposed_latest, exposed_doubt, sure, count(*)
    FROM ({frames}) GROUP BY 1, 2, 3, 4, 5, 6
"""


def place_year_line(connection: sqlite3.Connection, place_id: int, about_days: int) -> YearLine:
    """Return the year line of a place: what ``find --place`` finds, by decade."""
    return _only(_counted(connection, _asked(place_id=place_id, about_days=about_days), about_days))


def building_year_line(connection: sqlite3.Connection, building_id: int, about_days: int) -> YearLine:
    """Return the year line of a building, wherever it stood."""
    return _only(_counted(connection, _asked(building_id=building_id, about_days=about_days), about_days))


def whole_year_line(connection: sqlite3.Connection, about_days: int) -> YearLine:
    """Return the year line of every sheet of the archive."""
    return _only(_counted(connection, _asked(about_days=about_days), about_days))


def buildings_year_lines(connection: sqlite3.Connection, place_id: int, about_days: int) -> dict[int, YearLine]:
    """Return the year line of each building for the time it stood in a place."""
    lines = _counted(connection, _asked(place_id=place_id, about_days=about_days), about_days, by_building=True)
    return {building: line for building, line in lines.items() if building is not None}


def _asked(**asked: Any) -> Question:
    # Asking is imported when frames are first counted: that is after the first card stands on the screen.
    from catalog.store.find import Question

    return Question(**asked)


def _only(lines: dict[int | None, YearLine]) -> YearLine:
    return lines.get(None, YearLine())


def _counted(
    connection: sqlite3.Connection, question: Question, about_days: int, *, by_building: bool = False
) -> dict[int | None, YearLine]:
    from catalog.store.find import frame_statement

    statement, parameters = frame_statement(question)
    # The routes of a place say through which building a frame shows it.
    subject = "shown.building_id" if by_building else "NULL"
    statement = statement.replace(" AS sure FROM ", f" AS sure, {subject} AS subject FROM ", 1)
    # Only the routes of a place or a building may give a frame several times.
    grouped = _GROUPED if question.place_id or question.building_id else _UNGROUPED
    rows = connection.execute(grouped.format(frames=statement), parameters)
    counted: dict[int | None, _Count] = defaultdict(lambda: _Count(about_days))
    for found, edtf, earliest, latest, doubt, sure, number in rows:
        counted[found].add(edtf, earliest, latest, doubt, bool(sure), number)
    return {found: count.line() for found, count in counted.items()}


class _Count:
    """The counts of one subject, as rows are added."""

    def __init__(self, about_days: int) -> None:
        self.about_days = about_days
        self.certain: dict[int, int] = defaultdict(int)
        self.possible: dict[int, int] = defaultdict(int)
        self.undated = self.loose = self.total = 0

    def add(
        self, edtf: str | None, earliest: int | None, latest: int | None, doubt: str, sure: bool, number: int
    ) -> None:
        """Count ``number`` frames of one date."""
        self.total += number
        if edtf is None:
            self.undated += number
            return
        reach = reach_of(doubt, self.about_days)
        if earliest is None or latest is None or latest - earliest > _MOST_DECADES * 3653:
            self.loose += number
            return
        reached = list(_decades(earliest - reach, latest + reach))
        # A season is put where it is written; it is surely of a decade when its soft edges are of it too.
        decades = list(_decades(earliest, latest)) if doubt == "s" else reached
        if len(reached) == 1 and sure and doubt in ("", "s"):
            self.certain[reached[0]] += number
            return
        from catalog.dates.certainty import Window, fall

        margin = self.about_days
        for decade in decades:
            window = Window(ordinal(decade, 1, 1), ordinal(decade + DECADE, 1, 1) - 1, margin)
            if fall(edtf, earliest, latest, doubt, window) != "apart":
                self.possible[decade] += number

    def line(self) -> YearLine:
        """Return what was counted."""
        decades = sorted(self.certain.keys() | self.possible.keys())
        counts = tuple(DecadeCount(decade, self.certain[decade], self.possible[decade]) for decade in decades)
        return YearLine(counts, self.undated, self.loose, self.total)


def _decades(first_day: int, last_day: int) -> Iterator[int]:
    first, last = calendar_day(first_day)[0], calendar_day(last_day)[0]
    yield from range(first // DECADE * DECADE, last + 1, DECADE)


_MARKS = """
    SELECT building_id, kind, date_earliest, date_latest, date_doubt FROM chronicle_entry
    WHERE building_id IN (SELECT value FROM json_each(?)) AND date_edtf IS NOT NULL
    ORDER BY coalesce(date_earliest, date_latest), id
"""


def chronicle_marks(
    connection: sqlite3.Connection, building_ids: Iterable[int], about_days: int
) -> dict[int, tuple[ChronicleMark, ...]]:
    """Return the dated entries of buildings' chronicles as marks for a ruler, in order."""
    found: dict[int, list[ChronicleMark]] = {}
    for building, kind, earliest, latest, doubt in connection.execute(_MARKS, (str(list(building_ids)),)):
        reach = reach_of(doubt, about_days)
        first = _as_year((earliest if earliest is not None else latest) - reach)
        last = _as_year((latest if latest is not None else earliest) + reach)
        is_doubtful = bool(doubt) or earliest is None or latest is None or last - first > 1.01
        found.setdefault(building, []).append(ChronicleMark(kind, first, last, is_doubtful))
    return {building: tuple(marks) for building, marks in found.items()}


def _as_year(day: int) -> float:
    year = calendar_day(day)[0]
    start = ordinal(year, 1, 1)
    return year + (day - start) / (ordinal(year + 1, 1, 1) - start)
