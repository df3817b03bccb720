"""
Search: what is typed is words, never syntax.

Text is folded here (case, accents, letters that SQLite's own folding leaves) before it reaches FTS5.
Each record has one entry; ``refresh_search`` brings the entries of touched records up to date.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable

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
    "person": ["SELECT id, name FROM person WHERE id IN ({ids})", "SELECT id, role FROM person WHERE id IN ({ids})"],
    "source": ["SELECT id, title FROM source WHERE id IN ({ids})", "SELECT id, author FROM source WHERE id IN ({ids})"],
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
    "roll": ["SELECT id, name FROM roll WHERE id IN ({ids})", "SELECT id, docket FROM roll WHERE id IN ({ids})"],
}
_SAID_OF = [
    "SELECT about_id, text FROM note WHERE about = '{table}' AND about_id IN ({ids})",
    "SELECT about_id, as_written FROM wording WHERE about = '{table}' AND about_id IN ({ids})",
]
# A changed row of these tables changes what is said of another record.
_BELONGS = {
    "sheet_number": ("sheet", "SELECT sheet_id FROM sheet_number WHERE id IN ({ids})"),
    "sheet_view": ("sheet", "SELECT sheet_id FROM sheet_view WHERE id IN ({ids})"),
    "view": ("sheet", "SELECT sheet_id FROM sheet_view WHERE view_id IN ({ids})"),
    "building_name": ("building", "SELECT building_id FROM building_name WHERE id IN ({ids})"),
    "chronicle_entry": ("building", "SELECT building_id FROM chronicle_entry WHERE id IN ({ids})"),
    "place_name": ("place", "SELECT place_id FROM place_name WHERE id IN ({ids})"),
}
_SLICE = 20_000


def refresh_search(connection: sqlite3.Connection, touched: dict[str, set[int]]) -> None:
    """Bring the entries of the records in ``touched`` (table to ids) up to date, and of those they belong to."""
    subjects: dict[str, set[int]] = {table: set(ids) for table, ids in touched.items() if table in _TEXT_OF}
    for table, ids in touched.items():
        if table in _BELONGS:
            owner, statement = _BELONGS[table]
            subjects.setdefault(owner, set()).update(_ids(connection, statement, ids))
        elif table in ("note", "wording"):
            for about, about_id in _about(connection, table, ids):
                if about in _TEXT_OF:
                    subjects.setdefault(about, set()).add(about_id)
    for table, ids in subjects.items():
        for some in _slices(ids):
            _refresh(connection, table, some)


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


def _ids(connection: sqlite3.Connection, statement: str, ids: Iterable[int]) -> set[int]:
    return {row[0] for row in connection.execute(statement.format(ids=_listed(ids)))}


def _about(connection: sqlite3.Connection, table: str, ids: Iterable[int]) -> list[tuple[str, int]]:
    return connection.execute(f"SELECT about, about_id FROM {table} WHERE id IN ({_listed(ids)})").fetchall()


def _texts(connection: sqlite3.Connection, table: str, ids: list[int]) -> dict[int, str]:
    listed = _listed(ids)
    said: dict[int, list[str]] = {}
    for statement in (*_TEXT_OF[table], *_SAID_OF):
        for record_id, text in connection.execute(statement.format(ids=listed, table=table)):
            if text:
                said.setdefault(record_id, []).append(text)
    return {record_id: "\n".join(dict.fromkeys(texts)) for record_id, texts in said.items()}


def _refresh(connection: sqlite3.Connection, table: str, ids: list[int]) -> None:
    texts = _texts(connection, table, ids)
    connection.execute(f"DELETE FROM search_entry WHERE record_table = ? AND record_id IN ({_listed(ids)})", (table,))
    connection.executemany(
        "INSERT INTO search_entry (record_table, record_id, text, folded) VALUES (?, ?, ?, ?)",
        [(table, record_id, text, fold(text)) for record_id, text in texts.items()],
    )


_WORD_CHARACTER = re.compile(r"\w", re.UNICODE)
_HAS_DIGIT = re.compile(r"\d")


def match_expression(word: str) -> str | None:
    """
    Return the FTS5 expression that finds one typed word, or ``None`` when it holds no letter or digit.

    The word becomes a quoted phrase, so nothing in it is syntax; a word of letters alone also
    finds longer ones that begin with it.

    >>> match_expression("1978-014-03")
    '"1978-014-03"'
    """
    folded = fold(word)
    if not _WORD_CHARACTER.search(folded):
        return None
    phrase = '"' + folded.replace('"', '""') + '"'
    return phrase if _HAS_DIGIT.search(folded) or len(folded) < 3 else phrase + "*"


def search_entries(
    connection: sqlite3.Connection, word: str, tables: Iterable[str] | None = None, limit: int = -1
) -> list[tuple[str, int, bool]]:
    """
    Return (table, id, whether the spelling is exact) of the records that one typed word finds.

    Every record found is returned; exact spellings come first. ``limit`` bounds the list (-1: none).
    """
    expression = match_expression(word)
    wanted = _tables_clause(tables)
    if expression is None:
        # Punctuation alone: found as it stands, by reading through.
        found = connection.execute(
            f"SELECT record_table, record_id, 1 FROM search_entry WHERE instr(text, :word) {wanted} LIMIT :limit",
            {"word": word, "limit": limit},
        )
    else:
        found = connection.execute(
            "SELECT record_table, record_id, instr(text, :word) > 0 AS exact FROM search_words"
            " JOIN search_entry ON search_entry.id = search_words.rowid"
            f" WHERE search_words MATCH :expression {wanted} ORDER BY exact DESC, search_entry.id LIMIT :limit",
            {"word": word, "expression": expression, "limit": limit},
        )
    return [(table, record_id, bool(exact)) for table, record_id, exact in found]


def _tables_clause(tables: Iterable[str] | None) -> str:
    if tables is None:
        return ""
    known = [table for table in tables if table in _TEXT_OF]
    return "AND record_table IN ({})".format(", ".join(f"'{table}'" for table in known))
