"""
Search: what is typed is words, never syntax.

Text is folded here (case, accents, letters that SQLite's own folding leaves) before it reaches FTS5.
Each record has one entry; ``refresh_search`` brings the entries of touched records up to date.
"""

from __future__ import annotations

import re
import sqlite3
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

from catalog.rules.folding import fold

# What is said of a record: statements that give its id and a text, one set for each table found by words.
_TEXT_OF = {
    "sheet": [
        "SELECT sheet_id, text FROM sheet_number WHERE sheet_id IN ({ids})",
        "SELECT sv.sheet_id, v.title FROM sheet_view sv JOIN view v ON v.id = sv.view_id WHERE sv.sheet_id IN ({ids})",
        "SELECT id, box FROM sheet WHERE id IN ({ids})",
        "SELECT id, sleeve FROM sheet WHERE id IN ({ids})",
        "SELECT id, docket FROM sheet WHERE id IN ({ids})",
        "SELECT id, condition FROM sheet WHERE id IN ({ids})",
        "SELECT id, development FROM sheet WHERE id IN ({ids})",
    ],
    "building": [
        "SELECT id, name FROM building WHERE id IN ({ids})",
        "SELECT building_id, name FROM building_name WHERE building_id IN ({ids})",
        "SELECT id, identifier FROM building WHERE id IN ({ids})",
        "SELECT building_id, text FROM chronicle_entry WHERE building_id IN ({ids})",
    ],
    "place": [
        "SELECT id, name FROM place WHERE id IN ({ids})",
        "SELECT place_id, name FROM place_name WHERE place_id IN ({ids})",
    ],
    "person": [
        "SELECT id, name FROM person WHERE id IN ({ids})",
        "SELECT id, role FROM person WHERE id IN ({ids})",
    ],
    "source": [
        "SELECT id, title FROM source WHERE id IN ({ids})",
        "SELECT id, author FROM source WHERE id IN ({ids})",
    ],
    "kit": ["SELECT id, name FROM kit WHERE id IN ({ids})"],
    "visit": [
        "SELECT id, said FROM visit WHERE id IN ({ids})",
        "SELECT id, company FROM visit WHERE id IN ({ids})",
        "SELECT id, light FROM visit WHERE id IN ({ids})",
        "SELECT id, weather FROM visit WHERE id IN ({ids})",
    ],
    "standpoint": [
        "SELECT id, words FROM standpoint WHERE id IN ({ids})",
        "SELECT id, alignments FROM standpoint WHERE id IN ({ids})",
    ],
    "open_question": [
        "SELECT id, text FROM open_question WHERE id IN ({ids})",
        "SELECT id, answer FROM open_question WHERE id IN ({ids})",
    ],
    "edit_version": [
        "SELECT id, purpose FROM edit_version WHERE id IN ({ids})",
        "SELECT id, note FROM edit_version WHERE id IN ({ids})",
        "SELECT id, made_with FROM edit_version WHERE id IN ({ids})",
    ],
    "roll": [
        "SELECT id, name FROM roll WHERE id IN ({ids})",
        "SELECT id, docket FROM roll WHERE id IN ({ids})",
    ],
    "edition": [
        "SELECT id, title FROM edition WHERE id IN ({ids})",
        "SELECT id, statement FROM edition WHERE id IN ({ids})",
        "SELECT edition_id, words FROM edition_amendment WHERE edition_id IN ({ids})",
    ],
    "print": ["SELECT id, markings FROM print WHERE id IN ({ids})"],
}
_SAID_OF = [
    "SELECT about_id, text FROM note WHERE about = '{table}' AND about_id IN ({ids})",
    "SELECT about_id, as_written FROM wording WHERE about = '{table}' AND about_id IN ({ids})",
]
# A row of these tables is part of what is said of another record: its table, and the column naming it.
OWNERS = {
    "sheet_number": ("sheet", "sheet_id"),
    "sheet_view": ("sheet", "sheet_id"),
    "building_name": ("building", "building_id"),
    "chronicle_entry": ("building", "building_id"),
    "place_name": ("place", "place_id"),
    "edition_amendment": ("edition", "edition_id"),
}
"""Parts of a record, by table: whose they are, and in which column that stands."""
_SAID_TABLES = ("note", "wording")
_SLICE = 20_000


def refresh_search(connection: sqlite3.Connection, touched: dict[str, set[int]]) -> None:
    """
    Bring the entries of the records in ``touched`` (table to ids) up to date, and of those they belong to.

    A removed row says no more whose it was: give ``former_subjects`` of it along.
    """
    subjects: dict[str, set[int]] = {}
    for table, ids in touched.items():
        for some in _slices(ids):
            for subject, record_id in _subjects(connection, table, some):
                subjects.setdefault(subject, set()).add(record_id)
    for table, ids in subjects.items():
        for some in _slices(ids):
            _refresh(connection, table, some)


def former_subjects(table: str, before: Mapping[str, Any]) -> list[tuple[str, int]]:
    """Return the records that a row said something of before it was changed or removed."""
    if table in OWNERS:
        owner, column = OWNERS[table]
        return [(owner, before[column])] if before.get(column) is not None else []
    if table in _SAID_TABLES and before.get("about_id") is not None:
        # Columns alone, without the table they were about: all tables are tried, so that none is missed.
        tables = [before["about"]] if before.get("about") else list(_TEXT_OF)
        return [(about, before["about_id"]) for about in tables if about in _TEXT_OF]
    return []


def _subjects(connection: sqlite3.Connection, table: str, ids: list[int]) -> list[tuple[str, int]]:
    listed = _listed(ids)
    if table in _TEXT_OF:
        return [(table, record_id) for record_id in ids]
    if table in OWNERS:
        owner, column = OWNERS[table]
        return [(owner, i) for (i,) in connection.execute(f"SELECT {column} FROM {table} WHERE id IN ({listed})")]
    if table == "view":
        found = connection.execute(f"SELECT sheet_id FROM sheet_view WHERE view_id IN ({listed})")
        return [("sheet", sheet_id) for (sheet_id,) in found]
    if table in _SAID_TABLES:
        said = connection.execute(f"SELECT about, about_id FROM {table} WHERE id IN ({listed})")
        return [(about, about_id) for about, about_id in said if about in _TEXT_OF]
    return []


def rebuild_search(connection: sqlite3.Connection) -> None:
    """Make every entry anew."""
    connection.execute("DELETE FROM search_entry")
    for table in _TEXT_OF:
        ids = [row[0] for row in connection.execute(f"SELECT id FROM {table}")]
        for some in _slices(ids):
            _refresh(connection, table, some)


def stale_entries(connection: sqlite3.Connection) -> list[tuple[str, int]]:
    """Return the records whose entry is not what it would be if made now: ``check`` compares."""
    stale = []
    kept = {(t, i): text for t, i, text in connection.execute("SELECT record_table, record_id, text FROM search_entry")}
    for table in _TEXT_OF:
        ids = [row[0] for row in connection.execute(f"SELECT id FROM {table}")]
        for some in _slices(ids):
            for record_id, text in _texts(connection, table, some).items():
                if kept.pop((table, record_id), "") != text:
                    stale.append((table, record_id))
    return stale + sorted(kept)


def _slices(ids: Iterable[int]) -> Iterable[list[int]]:
    ordered = sorted(ids)
    for start in range(0, len(ordered), _SLICE):
        yield ordered[start : start + _SLICE]


def _listed(ids: Iterable[int]) -> str:
    # Numbers of our own, never typed words; a list in the text avoids SQLite's limit on parameters.
    return ",".join(str(int(record_id)) for record_id in ids)


def _texts(connection: sqlite3.Connection, table: str, ids: list[int]) -> dict[int, str]:
    listed = _listed(ids)
    said: dict[int, list[str]] = {}
    for statement in (*_TEXT_OF[table], *_SAID_OF):
        for record_id, text in connection.execute(statement.format(ids=listed, table=table)):
            if text:
                said.setdefault(record_id, []).append(text)
    return {record_id: _together(texts) for record_id, texts in said.items()}


def _together(texts: Iterable[str]) -> str:
    """Return what is said of a record as its entry keeps it: each text once, in an order of its own."""
    return "\n".join(sorted(set(texts)))


def _refresh(connection: sqlite3.Connection, table: str, ids: list[int]) -> None:
    texts = _texts(connection, table, ids)
    connection.execute(f"DELETE FROM search_entry WHERE record_table = ? AND record_id IN ({_listed(ids)})", (table,))
    _add_entries(connection, table, texts)


def add_entries(connection: sqlite3.Connection, table: str, said: Mapping[int, Iterable[str]]) -> None:
    """
    Enter records that have no entry yet, by what is said of each.

    For a bulk loader that knows the texts of the records it added: ``check`` compares them with those in the
    catalogue.
    """
    _add_entries(connection, table, {record_id: _together(texts) for record_id, texts in said.items() if texts})


def _add_entries(connection: sqlite3.Connection, table: str, texts: Mapping[int, str]) -> None:
    first = connection.execute("SELECT ifnull(max(id), 0) + 1 FROM search_entry").fetchone()[0]
    entries = [
        (entry_id, table, record_id, text, fold(text))
        for entry_id, (record_id, text) in enumerate(texts.items(), first)
    ]
    connection.executemany(
        "INSERT INTO search_entry (id, record_table, record_id, text, folded) VALUES (?, ?, ?, ?, ?)", entries
    )
    # Not by a trigger: FTS5 would write its words out after every row of it, which takes five times as long.
    connection.executemany(
        "INSERT INTO search_words (rowid, folded) VALUES (?, ?)", [(entry[0], entry[4]) for entry in entries]
    )


_HAS_DIGIT = re.compile(r"\d")


def match_expression(word: str) -> str | None:
    """
    Return the FTS5 expression that finds one typed word, or ``None`` where only reading through finds it.

    The word becomes a quoted phrase, so nothing in it is syntax; a word of letters alone also finds longer
    ones that begin with it. Punctuation alone holds no words for FTS5, and in scripts without upper and
    lower case (where blanks need not stand between words) its words are not ours.

    >>> match_expression("1978-014-03")
    '"1978-014-03"'
    """
    folded = fold(_sayable(word))
    categories = {unicodedata.category(character) for character in folded}
    if "Lo" in categories or not categories & {"Ll", "Lu", "Lt", "Nd"} or "\0" in folded:
        return None
    phrase = '"' + folded.replace('"', '""') + '"'
    return phrase if _HAS_DIGIT.search(folded) or len(folded) < 3 else phrase + "*"


def _sayable(word: str) -> str:
    """Return ``word`` as text: bytes that a terminal sent and that are none become the sign for that."""
    return word.encode("utf-8", "replace").decode("utf-8")


def search_entries(
    connection: sqlite3.Connection, word: str, tables: Iterable[str] | None = None, limit: int = -1
) -> list[tuple[str, int, bool]]:
    """
    Return (table, id, whether the spelling is exact) of the records that one typed word finds.

    Every record found is returned; exact spellings come first. ``limit`` bounds the list (-1: none).
    """
    word = _sayable(word)
    expression, folded = match_expression(word), fold(word)
    if not word.strip():
        return []
    found_in = (
        "search_entry WHERE instr(folded, :folded)"
        if expression is None
        else "search_words JOIN search_entry ON search_entry.id = search_words.rowid"
        " WHERE search_words MATCH :expression"
    )
    found = connection.execute(
        f"SELECT record_table, record_id, instr(text, :word) > 0 AS exact FROM {found_in} {_tables_clause(tables)}"
        # A name or number that is the word and nothing else comes before one that only holds it.
        " ORDER BY instr(char(10) || text || char(10), char(10) || :word || char(10)) > 0 DESC,"
        " exact DESC, search_entry.id LIMIT :limit",
        {"word": word, "folded": folded, "expression": expression, "limit": limit},
    )
    return [(table, record_id, bool(exact)) for table, record_id, exact in found]


def _tables_clause(tables: Iterable[str] | None) -> str:
    if tables is None:
        return ""
    known = [table for table in tables if table in _TEXT_OF]
    return "AND record_table IN ({})".format(", ".join(f"'{table}'" for table in known))
