"""A run of frames: every sheet that answers a question, as bare ids in order, read a window at a time."""

from __future__ import annotations

import sqlite3
from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field

from catalog.store._frame_sql import COLUMNS, Question, frame_statement
from catalog.store.find import FoundFrame, frames_with_details, judged


@dataclass(frozen=True, slots=True)
class FrameRun:
    """
    The frames that answer a question, in order: exact spellings first, then by date, undated last.

    ``ids`` and ``sure`` (1: certainly, 0: possibly) go together; a million take five megabytes. ``undated`` says
    how many undated ones the question has: with years they are beside the run, else among it.
    """

    ids: Sequence[int] = field(default_factory=lambda: array("q"))
    sure: bytearray = field(default_factory=bytearray)
    undated: int = 0
    are_undated_beside: bool = False

    def __len__(self) -> int:
        return len(self.ids)

    def place_of(self, sheet_id: int) -> int | None:
        """Return where in the run a sheet stands, or ``None`` if it is not in it."""
        try:
            return self.ids.index(sheet_id)
        except ValueError:
            return None


# Rows come in the order of ``catalog.dates.value.sort_key``, so that nothing has to be kept to sort it here.
_ORDER = (
    "exposed_earliest IS NULL AND exposed_latest IS NULL, coalesce(exposed_earliest, exposed_latest),"
    " coalesce(exposed_latest, exposed_earliest), id"
)


def read_run(connection: sqlite3.Connection, question: Question) -> FrameRun:
    """Return the run of frames that answers a question; it is what ``find_frames`` finds, without their details."""
    words = None
    if question.words:
        from catalog.store._find_words import sheets_by_words

        words = sheets_by_words(connection, question.words, question.about_days)
        if not words:
            return FrameRun()
    elif question.years is None:
        return _plain_run(connection, question)
    ids, sure = array("q"), bytearray()
    undated: set[int] = set()
    statement, parameters = frame_statement(question, words)
    rows = connection.execute(f"SELECT * FROM ({statement}) ORDER BY {_ORDER}", parameters)
    for row, is_sure in judged(rows, question, undated):
        if ids and ids[-1] == row[0]:
            sure[-1] |= is_sure
        else:
            ids.append(row[0])
            sure.append(is_sure)
    if words is not None:
        order = sorted(range(len(ids)), key=lambda i: words[ids[i]].rank)
        sure = bytearray(sure[i] and words[ids[i]].is_sure for i in order)
        ids = array("q", [ids[i] for i in order])
    return FrameRun(ids, sure, len(undated), question.is_undated_apart)


def _plain_run(connection: sqlite3.Connection, question: Question) -> FrameRun:
    """Return a run that neither words nor years narrow: the statement alone says what is sure, so less is read."""
    statement, parameters = frame_statement(question)
    ids, sure, undated = array("q"), bytearray(), 0
    rows = connection.execute(
        f"SELECT id, sure, exposed_edtf IS NULL FROM ({statement}) ORDER BY {_ORDER}", parameters
    )  # fmt: skip
    for sheet, is_sure, is_undated in rows:
        if ids and ids[-1] == sheet:
            sure[-1] |= bool(is_sure)
            continue
        ids.append(sheet)
        sure.append(bool(is_sure))
        undated += is_undated
    return FrameRun(ids, sure, undated)


def frames_of(connection: sqlite3.Connection, run: FrameRun, first: int, count: int) -> tuple[FoundFrame | None, ...]:
    """
    Return the frames of a run from ``first`` on, with all that a line tells of them.

    ``None`` stands for a sheet that is no longer there.
    """
    ids = list(run.ids[first : first + count])
    rows = {
        row[0]: row
        for row in connection.execute(
            f"SELECT {COLUMNS}, 1 FROM sheet s WHERE s.id IN (SELECT value FROM json_each(?))", (str(ids),)
        )
    }
    found = [(rows[i], bool(run.sure[first + n])) for n, i in enumerate(ids) if i in rows]
    told = {frame.id: frame for frame in frames_with_details(connection, found)}
    return tuple(told.get(i) for i in ids)


def frame_count_words(run: FrameRun) -> str:
    """Return how many frames a run has, how surely, and what is undated beside it."""
    from catalog.store.frame_words import count_words

    certainly = sum(run.sure)
    words = count_words(certainly, len(run) - certainly)
    if run.are_undated_beside:
        return f"{words} {run.undated} undated beside these." if run.undated else words
    return f"{words} {run.undated} of them undated, last." if run.undated else words
