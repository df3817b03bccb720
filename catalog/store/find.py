"""
Asking for frames: what they show, where the camera stood, when, through which lens.

Each frame found is *certainly* or *possibly* an answer; the doubt of its date, of what it shows
and of where that stood are combined. Undated frames are counted beside a question about years.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from catalog.dates import Certainty, EdtfDate, Window, fall, sort_key
from catalog.rules.folding import fold
from catalog.store._place_routes import SHOWN_ROUTES, TAKEN_ROUTES, place_tree
from catalog.store.search import search_entries


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked. Every part given must hold; ids are those of records."""

    words: tuple[str, ...] = ()
    place_id: int | None = None
    taken_from_id: int | None = None
    building_id: int | None = None
    years: EdtfDate | None = None
    lens_ids: tuple[int, ...] = ()
    lens_words: tuple[str, ...] = ()
    """The lens as a doubtful card may have put it: "120" in "90 or 120"."""
    film_id: int | None = None
    elevation: str | None = None
    number: str | None = None
    is_unscanned: bool = False
    is_undated: bool = False
    about_days: int = 730


@dataclass(frozen=True, slots=True)
class Subject:
    """A building or place that a frame shows."""

    table: str
    id: int
    name: str
    elevation: str | None
    part: str | None
    certainty: str
    is_principal: bool


@dataclass(frozen=True, slots=True)
class FoundScan:
    """A scan of a frame, and where it lies: the path within its drive, and the drive's last folder."""

    id: int
    path: str
    drive_id: int | None
    drive_path: str | None


@dataclass(frozen=True, slots=True)
class FoundFrame:
    """A frame that answers a question."""

    id: int
    exposed_edtf: str | None
    exposed_words: str | None
    exposed_earliest: int | None
    exposed_latest: int | None
    exposed_doubt: str
    fate: str
    lens_name: str | None
    film_name: str | None
    certainty: str
    numbers: tuple[tuple[str, str], ...] = ()
    titles: tuple[str, ...] = ()
    subjects: tuple[Subject, ...] = ()
    scans: tuple[FoundScan, ...] = ()
    doubts: tuple[tuple[str, str], ...] = ()
    """(field, as written) of every wording about this frame."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The frames found in order of date, and how many undated ones the same question would have."""

    frames: tuple[FoundFrame, ...]
    undated: int


def find_frames(connection: sqlite3.Connection, question: Question) -> Answer:
    """Return the frames that answer ``question``: exact spellings first, then by date, undated last."""
    ranks = _sheets_by_words(connection, question.words) if question.words else None
    if ranks is not None and not ranks:
        return Answer((), 0)
    statement, parameters = frame_statement(question, ranks)
    frames: dict[int, FoundFrame] = {}
    for row in connection.execute(statement, parameters):
        frame = _verdict(row, question)
        if frame is not None:
            known = frames.get(frame.id)
            if known is None or known.certainty == Certainty.POSSIBLY:
                frames[frame.id] = frame
    undated = 0
    if question.years is not None and not question.is_undated:
        statement, parameters = frame_statement(replace(question, years=None, is_undated=True), ranks)
        undated = len({row[0] for row in connection.execute(statement, parameters)})
    elif question.years is None:
        undated = sum(frame.exposed_edtf is None for frame in frames.values())
    ordered = sorted(
        frames.values(),
        key=lambda f: (ranks[f.id] if ranks else 0, *sort_key(f.exposed_earliest, f.exposed_latest), f.id),
    )
    return Answer(_with_details(connection, ordered), undated)


# The columns every form of the question gives back; the last six are the route by which the frame answers.
_COLUMNS = """
    s.id, s.exposed_edtf, s.exposed_words, s.exposed_earliest, s.exposed_latest, s.exposed_doubt, s.fate,
    lk.name, fk.name
"""


def frame_statement(
    question: Question, sheet_ids: Iterable[int] | None = None
) -> tuple[str, dict[str, object]]:
    """Return the SQL text of a question, and its parameters; benchmarks run the same text bare."""
    with_: list[str] = []
    joins: list[str] = []
    where: list[str] = []
    sure: list[str] = []
    parameters: dict[str, object] = {"about": question.about_days}
    if question.place_id is not None:
        with_ += [place_tree("below", "place"), SHOWN_ROUTES]
        where += _possible("shown")
        sure += _sure("shown")
        parameters["place"] = question.place_id
    if question.taken_from_id is not None:
        with_ += [place_tree("around", "taken_from"), TAKEN_ROUTES]
        if question.place_id is not None:
            joins.append("JOIN taken ON taken.sheet_id = s.id")
        where += _possible("taken")
        sure += _sure("taken")
        parameters["taken_from"] = question.taken_from_id
    if question.building_id is not None or (question.elevation and question.place_id is None):
        joins.append("JOIN sheet_view sv ON sv.sheet_id = s.id JOIN view_subject vs ON vs.view_id = sv.view_id")
        sure.append("vs.certainty = 'certain'")
    if question.building_id is not None:
        where.append("vs.building_id = :building")
        parameters["building"] = question.building_id
    if question.elevation is not None:
        subject = "shown" if question.place_id is not None and question.building_id is None else "vs"
        where.append(
            f"({subject}.elevation = :elevation OR EXISTS (SELECT 1 FROM wording w, json_each(w.alternatives) a"
            " WHERE w.about = 'sheet' AND w.about_id = s.id AND w.field = 'elevation' AND a.value = :elevation))"
        )
        sure.append(_UNDOUBTED.format(field="elevation"))
        parameters["elevation"] = question.elevation
    _years(question, where, parameters)
    _kit(question, where, sure, parameters)
    if question.number is not None:
        where.append("s.id IN (SELECT sheet_id FROM sheet_number WHERE folded = :number)")
        parameters["number"] = fold(question.number)
    if question.is_unscanned:
        where.append("NOT EXISTS (SELECT 1 FROM scan_part sp WHERE sp.sheet_id = s.id)")
    if question.is_undated:
        where.append("s.exposed_edtf IS NULL")
    if sheet_ids is not None:
        where.append(f"s.id IN ({','.join(str(int(i)) for i in sheet_ids)})")
    statement = (
        (f"WITH RECURSIVE {', '.join(with_)} " if with_ else "")
        + f"SELECT {_COLUMNS}, {' AND '.join(sure) or '1'} AS sure FROM "
        + _driver(question)
        + " ".join(joins)
        + " LEFT JOIN kit lk ON lk.id = s.lens_id LEFT JOIN kit fk ON fk.id = s.film_id"
        + (f" WHERE {' AND '.join(where)}" if where else "")
    )
    return statement, parameters


# A field with a wording is doubtful, whatever its column holds.
_UNDOUBTED = (
    "NOT EXISTS (SELECT 1 FROM wording w WHERE w.about = 'sheet' AND w.about_id = s.id AND w.field = '{field}')"
)


def _driver(question: Question) -> str:
    """Start from the smallest side: a place's routes are few, and every frame of them is looked up by its id."""
    if question.place_id is not None:
        return "shown CROSS JOIN sheet s ON s.id = shown.sheet_id "
    if question.taken_from_id is not None:
        return "taken CROSS JOIN sheet s ON s.id = taken.sheet_id "
    return "sheet s "


# A frame's date, reaching as far as "about" may.
_REACH = "CASE WHEN s.exposed_doubt IN ('~', '%') THEN :about ELSE 0 END"
_EARLIEST = f"ifnull(s.exposed_earliest, -1e15) - {_REACH}"
_LATEST = f"ifnull(s.exposed_latest, 1e15) + {_REACH}"


def _possible(route: str) -> list[str]:
    return [f"{_EARLIEST} <= {route}.hi", f"{_LATEST} >= {route}.lo"]


def _sure(route: str) -> list[str]:
    # An undated frame of a building that never stood elsewhere shows the place for sure.
    dated = (
        f"s.exposed_doubt = '' AND ifnull(s.exposed_earliest, -1e15) > {route}.sure_lo"
        f" AND ifnull(s.exposed_latest, 1e15) < {route}.sure_hi"
    )
    return [
        f"{route}.certainty = 'certain'",
        f"CASE WHEN {route}.is_constant THEN 1 WHEN s.exposed_edtf IS NULL THEN 0 ELSE {dated} END",
    ]


def _years(question: Question, where: list[str], parameters: dict[str, object]) -> None:
    if question.years is None:
        return
    where.append("s.exposed_edtf IS NOT NULL")
    if question.years.latest is not None:
        where.append(f"{_EARLIEST} <= :last")
        parameters["last"] = question.years.latest
    if question.years.earliest is not None:
        where.append(f"{_LATEST} >= :first")
        parameters["first"] = question.years.earliest


def _kit(
    question: Question, where: list[str], sure: list[str], parameters: dict[str, object]
) -> None:
    if question.lens_ids or question.lens_words:
        listed = ",".join(str(int(i)) for i in question.lens_ids)
        alike = []
        for count, word in enumerate(question.lens_words):
            parameters[f"lens{count}"] = word
            alike.append(f"a.value = :lens{count}")
        doubtful = (
            " OR EXISTS (SELECT 1 FROM wording w, json_each(w.alternatives) a WHERE w.about = 'sheet'"
            f" AND w.about_id = s.id AND w.field = 'lens' AND ({' OR '.join(alike)}))"
            if alike
            else ""
        )
        where.append(f"(s.lens_id IN ({listed}){doubtful})")
        sure.append(_UNDOUBTED.format(field="lens"))
    if question.film_id is not None:
        where.append("s.film_id = :film")
        sure.append(_UNDOUBTED.format(field="film"))
        parameters["film"] = question.film_id


def _verdict(row: tuple, question: Question) -> FoundFrame | None:  # type: ignore[type-arg]
    """Return the frame with its certainty, or ``None`` when a date with gaps falls apart from the years."""
    certainty = Certainty.CERTAINLY if row[9] else Certainty.POSSIBLY
    if question.years is not None and row[1] is not None:
        window = Window(question.years.earliest, question.years.latest, question.about_days)
        falls = fall(row[1], row[3], row[4], row[5], window)
        if falls == Certainty.APART:
            return None
        if falls == Certainty.POSSIBLY or question.years.doubt:
            certainty = Certainty.POSSIBLY
    sheet, edtf, words, earliest, latest, doubt, fate, lens, film, _ = row
    return FoundFrame(sheet, edtf, words, earliest, latest, doubt, fate, lens, film, certainty)


def _sheets_by_words(connection: sqlite3.Connection, words: Sequence[str]) -> dict[int, int]:
    """Return the sheets that every word finds, each with its rank: 0 where all are spelt exactly so, else 1."""
    ranks: dict[int, int] | None = None
    for word in words:
        found: dict[int, int] = {}
        for table, record_id, exact in search_entries(connection, word, _SHEETS_OF):
            for sheet_id in _sheets_of(connection, table, record_id):
                found[sheet_id] = min(found.get(sheet_id, 1), 0 if exact else 1)
        if ranks is None:
            ranks = found
        else:
            ranks = {sheet: max(rank, found[sheet]) for sheet, rank in ranks.items() if sheet in found}
        if not ranks:
            return {}
    return ranks or {}


_SHEETS_OF = {
    "sheet": None,
    "building": "SELECT sv.sheet_id FROM view_subject vs JOIN sheet_view sv ON sv.view_id = vs.view_id"
    " WHERE vs.building_id = ?1",
    "place": "SELECT sv.sheet_id FROM view_subject vs JOIN sheet_view sv ON sv.view_id = vs.view_id"
    " WHERE vs.place_id = ?1 UNION SELECT sv.sheet_id FROM building_site bs"
    " JOIN view_subject vs ON vs.building_id = bs.building_id JOIN sheet_view sv ON sv.view_id = vs.view_id"
    " WHERE bs.place_id = ?1",
    "kit": "SELECT id FROM sheet WHERE lens_id = ?1 OR film_id = ?1 OR camera_id = ?1",
    "standpoint": "SELECT sv.sheet_id FROM view v JOIN sheet_view sv ON sv.view_id = v.id WHERE v.standpoint_id = ?1",
    "visit": "SELECT sv.sheet_id FROM view v JOIN sheet_view sv ON sv.view_id = v.id WHERE v.visit_id = ?1",
}


def _sheets_of(connection: sqlite3.Connection, table: str, record_id: int) -> list[int]:
    statement = _SHEETS_OF[table]
    if statement is None:
        return [record_id]
    return [row[0] for row in connection.execute(statement, (record_id,))]


DETAIL_STATEMENTS = {
    "numbers": "SELECT sheet_id, text, scheme FROM sheet_number WHERE sheet_id IN ({ids}) ORDER BY id",
    "subjects": """
        SELECT sv.sheet_id, v.title, CASE WHEN vs.building_id IS NULL THEN 'place' ELSE 'building' END,
            coalesce(vs.building_id, vs.place_id), coalesce(b.name, p.name), vs.elevation, vs.part, vs.certainty,
            vs.is_principal
        FROM sheet_view sv JOIN view v ON v.id = sv.view_id
        LEFT JOIN view_subject vs ON vs.view_id = sv.view_id
        LEFT JOIN building b ON b.id = vs.building_id LEFT JOIN place p ON p.id = vs.place_id
        WHERE sv.sheet_id IN ({ids}) ORDER BY sv.id, vs.is_principal DESC, vs.id
    """,
    "scans": """
        SELECT sp.sheet_id, sp.scan_id, f.path, f.drive_id, d.last_path
        FROM scan_part sp JOIN scan c ON c.id = sp.scan_id JOIN file f ON f.id = c.file_id
        LEFT JOIN drive d ON d.id = f.drive_id WHERE sp.sheet_id IN ({ids}) ORDER BY sp.scan_id
    """,
    "doubts": "SELECT about_id, field, as_written FROM wording WHERE about = 'sheet' AND about_id IN ({ids}) ORDER BY id",
}
"""What is told of each frame beside its own columns; ``{ids}`` is a list of numbers."""


def _with_details(connection: sqlite3.Connection, frames: Sequence[FoundFrame]) -> tuple[FoundFrame, ...]:
    if not frames:
        return ()
    ids = ",".join(str(frame.id) for frame in frames)
    numbers: dict[int, list[tuple[str, str]]] = {}
    titles: dict[int, dict[str, None]] = {}
    subjects: dict[int, list[Subject]] = {}
    scans: dict[int, list[FoundScan]] = {}
    doubts: dict[int, list[tuple[str, str]]] = {}
    for sheet, text, scheme in connection.execute(DETAIL_STATEMENTS["numbers"].format(ids=ids)):
        numbers.setdefault(sheet, []).append((text, scheme))
    for sheet, title, *subject in connection.execute(DETAIL_STATEMENTS["subjects"].format(ids=ids)):
        if title:
            titles.setdefault(sheet, {})[title] = None
        if subject[1] is not None:
            subjects.setdefault(sheet, []).append(Subject(*subject))
    for sheet, *scan in connection.execute(DETAIL_STATEMENTS["scans"].format(ids=ids)):
        scans.setdefault(sheet, []).append(FoundScan(*scan))
    for sheet, field, as_written in connection.execute(DETAIL_STATEMENTS["doubts"].format(ids=ids)):
        doubts.setdefault(sheet, []).append((field, as_written))
    return tuple(
        replace(
            frame, numbers=tuple(numbers.get(frame.id, ())), titles=tuple(titles.get(frame.id, ())),
            subjects=tuple(subjects.get(frame.id, ())), scans=tuple(scans.get(frame.id, ())),
            doubts=tuple(doubts.get(frame.id, ())),
        )
        for frame in frames
    )  # fmt: skip
