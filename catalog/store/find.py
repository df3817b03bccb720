"""
Asking for frames: what they show, where the camera stood, when, through which lens.

Each frame found is *certainly* or *possibly* an answer; the doubt of its date, of what it shows
and of where that stood are combined. Undated frames are counted beside a question about years.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from catalog.dates.certainty import Window, fall
from catalog.dates.value import Certainty, sort_key
from catalog.store._frame_sql import Question, frame_statement
from catalog.store.wordings import IN_FORCE

__all__ = [
    "DETAIL_STATEMENTS", "KIT_STATEMENT", "Answer", "FoundFrame", "FoundScan", "Question", "Subject", "find_frames",
    "frame_statement",
]  # fmt: skip


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
    """
    A scan of a frame, and where it lies: the path within its drive, and the drive's last folder.

    ``raw_path`` holds the path's own bytes where they are not UTF-8; ``path`` then shows them with escapes.
    """

    id: int
    path: str
    raw_path: bytes | None
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
    focal_length_mm: float | None
    film_name: str | None
    certainty: Certainty
    numbers: tuple[tuple[str, str], ...] = ()
    titles: tuple[str, ...] = ()
    subjects: tuple[Subject, ...] = ()
    scans: tuple[FoundScan, ...] = ()
    doubts: tuple[tuple[str, str], ...] = ()
    """(field, as written) of every wording of doubt in force about this frame."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The frames found in order of date, and how many undated ones the same question has."""

    frames: tuple[FoundFrame, ...]
    undated: int


Row = tuple[Any, ...]


def find_frames(connection: sqlite3.Connection, question: Question) -> Answer:
    """Return the frames that answer ``question``: exact spellings first, then by date, undated last."""
    words = None
    if question.words:
        from catalog.store._find_words import sheets_by_words

        words = sheets_by_words(connection, question.words, question.about_days)
    if words is not None and not words:
        return Answer((), 0)
    best: dict[int, tuple[Row, bool]] = {}
    undated: set[int] = set()
    for row, sure in judged(connection.execute(*frame_statement(question, words)), question, undated):
        if row[0] not in best or (sure and not best[row[0]][1]):
            best[row[0]] = (row, sure)
    if words is not None:
        best = {sheet: (row, sure and words[sheet].is_sure) for sheet, (row, sure) in best.items()}

    def place_of(found: tuple[Row, bool]) -> tuple[int, ...]:
        row = found[0]
        return (words[row[0]].rank if words else 0, *sort_key(row[3], row[4]), row[0])

    return Answer(frames_with_details(connection, sorted(best.values(), key=place_of)), len(undated))


def judged(rows: Iterable[Row], question: Question, undated: set[int]) -> Iterator[tuple[Row, bool]]:
    """
    Yield the rows of ``frame_statement`` that answer a question as to its years, each with whether it surely does.

    The sheets of undated rows, be they in the answer or apart, are added to ``undated``.
    """
    verdict_of, are_apart = date_verdict(question), question.is_undated_apart
    for row in rows:
        if row[1] is None:
            undated.add(row[0])
            if are_apart:
                continue
        verdict = verdict_of(row)
        if verdict is not None:
            yield row, bool(row[9] and verdict)


def date_verdict(question: Question) -> Callable[[Row], bool | None]:
    """Return what says whether the date of a row falls within the years: True surely, False perhaps, None not."""
    years = question.years
    if years is None:
        return lambda row: True
    first, last = question.window
    window = Window(first, last, question.about_days)
    if len(years.spans) > 1:
        from catalog.dates.grammar import parse_edtf

        verdicts = {Certainty.CERTAINLY: True, Certainty.POSSIBLY: False, Certainty.APART: None}
        return lambda row: row[1] is None or verdicts[parse_edtf(row[1]).within(years, question.about_days)]
    is_marked = bool(years.doubt)

    def verdict(row: Row) -> bool | None:
        if row[1] is None:
            return True
        falls = fall(row[1], row[3], row[4], row[5], window)
        return None if falls is Certainty.APART else falls is Certainty.CERTAINLY and not is_marked

    return verdict


KIT_STATEMENT = "SELECT k.id, k.name, l.focal_length_mm FROM kit k LEFT JOIN lens l ON l.id = k.id"
DETAIL_STATEMENTS = {
    "numbers": "SELECT sheet_id, text, scheme FROM sheet_number WHERE sheet_id IN (SELECT value FROM json_each(?1))"
    " ORDER BY sheet_id, id",
    "subjects": """
        SELECT sv.sheet_id, v.title, CASE WHEN vs.building_id IS NULL THEN 'place' ELSE 'building' END,
            coalesce(vs.building_id, vs.place_id), coalesce(b.name, p.name), vs.elevation, vs.part, vs.certainty,
            vs.is_principal
        FROM sheet_view sv JOIN view v ON v.id = sv.view_id
        LEFT JOIN view_subject vs ON vs.view_id = sv.view_id
        LEFT JOIN building b ON b.id = vs.building_id LEFT JOIN place p ON p.id = vs.place_id
        WHERE sv.sheet_id IN (SELECT value FROM json_each(?1)) ORDER BY sv.sheet_id, sv.id, vs.is_principal DESC, vs.id
    """,
    "scans": """
        SELECT sp.sheet_id, sp.scan_id, f.path, f.raw_path, f.drive_id, d.last_path
        FROM scan_part sp JOIN scan c ON c.id = sp.scan_id JOIN file f ON f.id = c.file_id
        LEFT JOIN drive d ON d.id = f.drive_id
        WHERE sp.sheet_id IN (SELECT value FROM json_each(?1)) ORDER BY sp.sheet_id, sp.scan_id
    """,
    "doubts": f"""
        SELECT w.about_id, w.field, w.as_written FROM wording w WHERE w.about = 'sheet'
        AND w.about_id IN (SELECT value FROM json_each(?1)) AND {IN_FORCE} ORDER BY w.id
    """,
}
"""What is told of each frame beside its own columns; the parameter is a JSON list of sheets."""


def frames_with_details(connection: sqlite3.Connection, found: Sequence[tuple[Row, bool]]) -> tuple[FoundFrame, ...]:
    if not found:
        return ()
    ids = str([row[0] for row, _ in found])
    numbers: dict[int, list[tuple[str, str]]] = {}
    titles: dict[int, dict[str, None]] = {}
    subjects: dict[int, list[Subject]] = {}
    scans: dict[int, list[FoundScan]] = {}
    doubts: dict[int, list[tuple[str, str]]] = {}
    for sheet, text, scheme in connection.execute(DETAIL_STATEMENTS["numbers"], (ids,)):
        numbers.setdefault(sheet, []).append((text, scheme))
    for sheet, title, *subject in connection.execute(DETAIL_STATEMENTS["subjects"], (ids,)):
        if title:
            titles.setdefault(sheet, {})[title] = None
        if subject[1] is not None:
            subjects.setdefault(sheet, []).append(Subject(*subject))
    for sheet, *scan in connection.execute(DETAIL_STATEMENTS["scans"], (ids,)):
        scans.setdefault(sheet, []).append(FoundScan(*scan))
    for sheet, field, as_written in connection.execute(DETAIL_STATEMENTS["doubts"], (ids,)):
        doubts.setdefault(sheet, []).append((field, as_written))
    kit = {kit_id: (name, length) for kit_id, name, length in connection.execute(KIT_STATEMENT)}

    def frames() -> Iterator[FoundFrame]:
        for (sheet, edtf, words, earliest, latest, doubt, fate, lens_id, film_id, _), sure in found:
            lens, focal_length = kit[lens_id] if lens_id else (None, None)
            yield FoundFrame(
                sheet, edtf, words, earliest, latest, doubt, fate, lens, focal_length,
                kit[film_id][0] if film_id else None, Certainty.CERTAINLY if sure else Certainty.POSSIBLY,
                tuple(numbers.get(sheet, ())), tuple(titles.get(sheet, ())), tuple(subjects.get(sheet, ())),
                tuple(scans.get(sheet, ())), tuple(doubts.get(sheet, ())),
            )  # fmt: skip

    return tuple(frames())
