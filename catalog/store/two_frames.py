"""Two frames laid beside each other: each with where it was taken, and what happened to its building between them."""

from __future__ import annotations

import sqlite3
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.errors import NotFoundError
from catalog.rules.between import TimeBetween, falls_between, time_between
from catalog.rules.chronicle import Days, reach_of
from catalog.rules.doubt import CERTAIN, date_certainty, hedged
from catalog.rules.references import format_reference
from catalog.rules.spans import Boundary, FrameTime, span_between
from catalog.store._show_buildings import chronicle_entries
from catalog.store._show_reader import DateValue, Reader
from catalog.store.find import FoundFrame, Question
from catalog.store.frame_runs import FrameRun, frames_of, read_run
from catalog.store.trails import Step, trail_of


@dataclass(frozen=True, slots=True)
class FrameBeside:
    """A frame with where what it shows stood then, and where the camera stood."""

    frame: FoundFrame
    stood_at: str
    """Where the buildings it shows stood then; several places where its date leaves a choice."""
    standpoint: str
    trail: tuple[Step, ...]

    @property
    def number(self) -> str:
        """The numbers written for it, else its reference."""
        return ", ".join(dict.fromkeys(text for text, _ in self.frame.numbers)) or f"S{self.frame.id}"

    @property
    def date(self) -> DateValue:
        """When it was exposed."""
        frame = self.frame
        return DateValue(
            frame.exposed_edtf, frame.exposed_words, frame.exposed_earliest, frame.exposed_latest, frame.exposed_doubt
        )

    @property
    def is_date_doubtful(self) -> bool:
        """Whether its date is dated and yet not sure."""
        return self.frame.exposed_edtf is not None and is_doubtful(self.frame)

    @property
    def scans(self) -> tuple[int, ...]:
        """Its scans."""
        return tuple(scan.id for scan in self.frame.scans)

    def days(self, about_days: int) -> Days:
        """Return the days it may have been exposed on."""
        frame = self.frame
        return Days(frame.exposed_earliest, frame.exposed_latest, reach_of(frame.exposed_doubt, about_days))


def is_doubtful(frame: FoundFrame) -> bool:
    """Return True if the date of a frame is not sure: a season or a decade is loose, not doubtful."""
    return date_certainty(frame.exposed_edtf, frame.exposed_doubt) != CERTAIN


@dataclass(frozen=True, slots=True)
class EntryBetween:
    """An entry of a chronicle that falls between two frames: for certain, or perhaps."""

    date: DateValue
    words: str
    is_sure: bool


@dataclass(frozen=True, slots=True)
class SharedBuilding:
    """
    A building that both frames show, with what its chronicle has between them.

    ``certainty`` is how surely both show it; ``undated`` entries may fall anywhere.
    """

    id: int
    name: str
    certainty: str
    entries: tuple[EntryBetween, ...]
    undated: int


@dataclass(frozen=True, slots=True)
class TwoFrames:
    """Two frames, the time between them (``None`` when one has no date), and the buildings they share."""

    left: FrameBeside
    right: FrameBeside
    time: TimeBetween | None
    buildings: tuple[SharedBuilding, ...]


def read_two_frames(connection: sqlite3.Connection, left: int, right: int, about_days: int) -> TwoFrames:
    """
    Return two frames as they lie beside each other.

    Raises:
        NotFoundError: one of them is not there.
    """
    one, other = (read_frame_beside(connection, sheet, about_days) for sheet in (left, right))
    days = one.days(about_days), other.days(about_days)
    shared = tuple(
        _shared(connection, building, name, certainty, days, about_days)
        for building, name, certainty in _both_show(one.frame, other.frame)
    )
    return TwoFrames(one, other, time_between(*days), shared)


def read_frame_beside(connection: sqlite3.Connection, sheet_id: int, about_days: int) -> FrameBeside:
    """
    Return one frame.

    Raises:
        NotFoundError: it is not there.
    """
    frames = frames_by_id(connection, [sheet_id])
    if not frames:
        raise NotFoundError(f"There is no sheet {format_reference('sheet', sheet_id)}.")
    return FrameBeside(
        frames[0], _stood_at(connection, frames[0], about_days), _standpoint(connection, sheet_id),
        trail_of(connection, "sheet", sheet_id),
    )  # fmt: skip


def frames_by_id(connection: sqlite3.Connection, sheet_ids: Sequence[int]) -> tuple[FoundFrame, ...]:
    """Return sheets with all that a line tells of them, in the order given; those that are gone are left out."""
    run = run_of(sheet_ids)
    return tuple(frame for frame in frames_of(connection, run, 0, len(run)) if frame is not None)


def run_of(sheet_ids: Iterable[int]) -> FrameRun:
    """Return a run of these sheets, in this order."""
    ids = array("q", sheet_ids)
    return FrameRun(ids, bytearray(b"\1" * len(ids)))


_SITES = """
    SELECT p.name, s.from_edtf, s.from_earliest, s.from_latest, s.from_doubt, s.until_edtf, s.until_earliest,
        s.until_latest, s.until_doubt
    FROM building_site s JOIN place p ON p.id = s.place_id WHERE s.building_id = ?
    ORDER BY coalesce(s.from_earliest, s.from_latest, -1e15), s.id
"""


def _stood_at(connection: sqlite3.Connection, frame: FoundFrame, about_days: int) -> str:
    """Return where the buildings that a frame shows stood when it was exposed."""
    when = FrameTime(
        frame.exposed_edtf is not None, frame.exposed_earliest, frame.exposed_latest, frame.exposed_doubt
    )  # fmt: skip
    told = []
    for subject in frame.subjects:
        if subject.table != "building":
            continue
        sites = [
            name
            for name, *ends in connection.execute(_SITES, (subject.id,))
            if when.may_meet(span_between(Boundary(*ends[:4]), Boundary(*ends[4:]), about_days), about_days)
        ]
        told.append(" or ".join(dict.fromkeys(sites)))
    return "; ".join(dict.fromkeys(filter(None, told)))


_STANDPOINTS = """
    SELECT t.words, v.standpoint_certainty FROM sheet_view sv JOIN view v ON v.id = sv.view_id
    JOIN standpoint t ON t.id = v.standpoint_id WHERE sv.sheet_id = ? GROUP BY t.id ORDER BY t.id
"""


def _standpoint(connection: sqlite3.Connection, sheet_id: int) -> str:
    rows = connection.execute(_STANDPOINTS, (sheet_id,))
    return "; ".join(hedged(words, certainty) for words, certainty in rows)


_WEAKEST = ("possible", "probable", "certain")


def _both_show(one: FoundFrame, other: FoundFrame) -> list[tuple[int, str, str]]:
    """Return the buildings that both show, with the weaker of the two certainties."""
    found: dict[int, tuple[int, str, str]] = {}
    for mine in one.subjects:
        for theirs in other.subjects:
            if mine.table == theirs.table == "building" and mine.id == theirs.id:
                weaker = min(mine.certainty, theirs.certainty, key=_WEAKEST.index)
                known = found.get(mine.id)
                if known is None or _WEAKEST.index(known[2]) < _WEAKEST.index(weaker):
                    found[mine.id] = (mine.id, mine.name, weaker)
    return list(found.values())


def _shared(
    connection: sqlite3.Connection, building: int, name: str, certainty: str, days: tuple[Days, Days], about_days: int
) -> SharedBuilding:
    entries, undated = [], 0
    for entry in chronicle_entries(Reader(connection, "building", building, about_days)):
        if entry.date.edtf is None:
            undated += 1
            continue
        falls = falls_between(entry.days, *days)
        if falls is not False:
            entries.append(EntryBetween(entry.date, entry.line.words, falls is True))
    return SharedBuilding(building, name, certainty, tuple(entries), undated)


# -- which other frame ---------------------------------------------------------------------------------------------

MOST_IN_A_GROUP = 120
"""So many frames of a building are listed around the one that is kept; the others are found by asking."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Frames that one may lay beside another, under a heading; ``run`` is gone through when it lies there."""

    heading: str
    frames: tuple[FoundFrame, ...]
    run: FrameRun
    left_out: int = 0


_SAME_VIEW = """
    SELECT o.sheet_id FROM sheet_view sv JOIN sheet_view o ON o.view_id = sv.view_id WHERE sv.sheet_id = ?
"""
_SAME_STANDPOINT = """
    SELECT o.sheet_id FROM sheet_view sv JOIN view v ON v.id = sv.view_id
    JOIN view w ON w.standpoint_id = v.standpoint_id JOIN sheet_view o ON o.view_id = w.id WHERE sv.sheet_id = ?
"""
_IN_ORDER = """
    SELECT s.id FROM sheet s WHERE s.id IN ({ids}) ORDER BY s.exposed_earliest IS NULL AND s.exposed_latest IS NULL,
    coalesce(s.exposed_earliest, s.exposed_latest), s.id
"""


def frames_to_lay_beside(
    connection: sqlite3.Connection, kept: FrameBeside, run: FrameRun | None, marked: Sequence[int], about_days: int
) -> tuple[Choice, ...]:
    """
    Return what one may lay beside a frame: what is marked, of the same view, standpoint, run or building.

    The frame itself stands among them where it is one of them, so that one sees which are older.
    """
    sheet = kept.frame.id
    groups: list[tuple[str, FrameRun]] = [("marked in the list", run_of(marked))]
    for heading, statement in (("the same view", _SAME_VIEW), ("from the same standpoint", _SAME_STANDPOINT)):
        rows = connection.execute(_IN_ORDER.format(ids=statement), (sheet,)).fetchall()
        groups.append((heading, run_of(row[0] for row in rows)))
    choices = [_choice(connection, heading, found, sheet, about=found) for heading, found in groups]
    place = run.place_of(sheet) if run is not None else None
    if run is not None and place is not None:
        beside = [int(run.ids[i]) for i in (place - 1, place + 1) if 0 <= i < len(run)]
        choices.append(_choice(connection, "before and after it in the list", run_of(beside), sheet, about=run))
    for subject in kept.frame.subjects:
        asked = {f"{subject.table}_id": subject.id, "about_days": about_days}
        found = read_run(connection, Question(**asked))  # type: ignore[arg-type]
        choices.append(_choice(connection, f"{subject.name} across the years", found, sheet, about=found))
    return tuple(choice for choice in choices if any(frame.id != sheet for frame in choice.frames))


def _choice(
    connection: sqlite3.Connection, heading: str, found: FrameRun, sheet: int, *, about: FrameRun
) -> Choice:  # fmt: skip
    place = found.place_of(sheet) or 0
    first = max(min(place - MOST_IN_A_GROUP // 2, len(found) - MOST_IN_A_GROUP), 0)
    frames = [frame for frame in frames_of(connection, found, first, MOST_IN_A_GROUP) if frame is not None]
    return Choice(heading, tuple(frames), about, max(len(found) - MOST_IN_A_GROUP, 0))
