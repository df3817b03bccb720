"""Which sheets typed words find: by what is written of them, of what they show, and of how they were made."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.rules.folding import fold
from catalog.store._frame_sql import Question, frame_statement
from catalog.store.search import search_entries
from catalog.store.wordings import IN_FORCE


@dataclass(frozen=True, slots=True)
class WordMatch:
    """``rank`` is 0 where every word is spelt exactly so, else 1; ``is_sure`` where no doubt lies between."""

    rank: int
    is_sure: bool


# For each table: the sheets of some of its records, and whether that is certain. A place stands apart: what shows it
# is asked as ``--place`` asks, so that hamlets and moved buildings have the same answer.
SHEETS_OF = {
    "building": "SELECT sv.sheet_id, vs.certainty = 'certain' FROM view_subject vs"
    " JOIN sheet_view sv ON sv.view_id = vs.view_id WHERE vs.building_id IN (SELECT value FROM json_each(?1))",
    "kit": "SELECT id, 1 FROM sheet WHERE lens_id IN (SELECT value FROM json_each(?1))"
    " OR film_id IN (SELECT value FROM json_each(?1)) OR camera_id IN (SELECT value FROM json_each(?1))",
    "standpoint": "SELECT sv.sheet_id, v.standpoint_certainty = 'certain' FROM view v"
    " JOIN sheet_view sv ON sv.view_id = v.id WHERE v.standpoint_id IN (SELECT value FROM json_each(?1))",
    "visit": "SELECT sv.sheet_id, 1 FROM view v JOIN sheet_view sv ON sv.view_id = v.id"
    " WHERE v.visit_id IN (SELECT value FROM json_each(?1))",
    "roll": "SELECT id, 1 FROM sheet WHERE roll_id IN (SELECT value FROM json_each(?1))",
}
DOUBTED_WORDS = f"""
    SELECT w.about_id, w.as_written FROM wording w
    WHERE w.about = 'sheet' AND w.about_id IN (SELECT value FROM json_each(?1)) AND {IN_FORCE}
"""


def sheets_by_words(connection: sqlite3.Connection, words: Sequence[str], about_days: int) -> dict[int, WordMatch]:
    """Return the sheets that every word finds."""
    found: dict[int, WordMatch] | None = None
    for word in words:
        alike = _sheets_by_word(connection, word, about_days)
        if found is None:
            found = alike
        else:
            found = {s: _both(match, alike[s]) for s, match in found.items() if s in alike}
        if not found:
            return {}
    return found or {}


def _both(one: WordMatch, other: WordMatch) -> WordMatch:
    return WordMatch(max(one.rank, other.rank), one.is_sure and other.is_sure)


def _sheets_by_word(connection: sqlite3.Connection, word: str, about_days: int) -> dict[int, WordMatch]:
    by_table: dict[tuple[str, int], list[int]] = {}
    for table, record_id, exact in search_entries(connection, word, ("sheet", "place", *SHEETS_OF)):
        by_table.setdefault((table, 0 if exact else 1), []).append(record_id)
    found: dict[int, WordMatch] = {}
    for (table, rank), ids in by_table.items():
        for sheet, is_sure in _sheets_of(connection, table, ids, word, about_days):
            known = found.get(sheet)
            if known is None:
                found[sheet] = WordMatch(rank, is_sure)
            elif rank < known.rank or is_sure > known.is_sure:
                found[sheet] = WordMatch(min(rank, known.rank), is_sure or known.is_sure)
    return found


def _sheets_of(
    connection: sqlite3.Connection, table: str, ids: list[int], word: str, about_days: int
) -> Iterable[tuple[int, bool]]:
    if table == "sheet":
        # "Osk Mill?" on the card itself: the word is there, and so is its doubt.
        folded = fold(word)
        said = connection.execute(DOUBTED_WORDS, (str(ids),))
        doubted = {sheet for sheet, as_written in said if folded in fold(as_written)}
        return [(sheet, sheet not in doubted) for sheet in ids]
    if table == "place":
        rows = []
        for place_id in ids:
            statement, parameters = frame_statement(Question(place_id=place_id, about_days=about_days))
            rows += [(row[0], bool(row[9])) for row in connection.execute(statement, parameters)]
        return rows
    return [(sheet, bool(sure)) for sheet, sure in connection.execute(SHEETS_OF[table], (str(ids),))]
