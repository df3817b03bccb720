"""What a person typed, as a record: a reference, then a number, then a name."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from catalog.dates import edtf_in_words
from catalog.errors import AmbiguousNameError, NotFoundError
from catalog.rules.folding import fold
from catalog.rules.references import WORDS, format_reference, parse_reference

# For each table: (id, one name of it). Names are few thousands at most; they are folded here, not in SQL.
_NAMES = {
    "place": "SELECT id, name FROM place UNION ALL SELECT place_id, name FROM place_name",
    "building": "SELECT id, name FROM building UNION ALL SELECT building_id, name FROM building_name",
    "person": "SELECT id, name FROM person",
    "source": "SELECT id, title FROM source",
    "kit": "SELECT id, name FROM kit",
    "lens": "SELECT id, name FROM kit WHERE kind = 'lens'",
    "camera": "SELECT id, name FROM kit WHERE kind = 'camera'",
    "film_stock": "SELECT id, name FROM kit WHERE kind = 'film_stock'",
    "drive": "SELECT id, name FROM drive",
    "roll": "SELECT id, name FROM roll WHERE name IS NOT NULL",
    "standpoint": "SELECT id, words FROM standpoint",
    "view": "SELECT id, title FROM view WHERE title IS NOT NULL",
    "edition": "SELECT id, title FROM edition WHERE title IS NOT NULL",
}
_REFERRED = {"lens": "kit", "camera": "kit", "film_stock": "kit"}

# One line that tells a record from its namesakes.
_DESCRIPTIONS = {
    "place": """SELECT p.name || coalesce(', ' || p.kind, '') || coalesce(' in ' || (SELECT group_concat(name, ', ')
        FROM (SELECT q.name FROM place_parent pp JOIN place q ON q.id = pp.parent_id
        WHERE pp.place_id = p.id AND pp.until_edtf IS NULL ORDER BY pp.id)), '') FROM place p WHERE p.id = ?""",
    "building": """SELECT b.name || coalesce(' at ' || (SELECT group_concat(name, ', then ')
        FROM (SELECT q.name FROM building_site s JOIN place q ON q.id = s.place_id WHERE s.building_id = b.id
        ORDER BY coalesce(s.from_earliest, s.from_latest, -1e15), s.id)), '') FROM building b WHERE b.id = ?""",
    "scan": "SELECT f.path FROM scan c JOIN file f ON f.id = c.file_id WHERE c.id = ?",
    "person": "SELECT name || coalesce(', ' || role, '') FROM person WHERE id = ?",
    "source": "SELECT title FROM source WHERE id = ?",
    "kit": "SELECT name || ', ' || CASE kind WHEN 'film_stock' THEN 'film' ELSE kind END FROM kit WHERE id = ?",
    "drive": "SELECT name FROM drive WHERE id = ?",
    "roll": "SELECT coalesce(name, 'no name') || coalesce(', docket ' || docket, '') FROM roll WHERE id = ?",
    "standpoint": "SELECT t.words || coalesce(', ' || p.name, '') FROM standpoint t"
    " LEFT JOIN place p ON p.id = t.place_id WHERE t.id = ?",
    "open_question": "SELECT text FROM open_question WHERE id = ?",
    "run": "SELECT coalesce((SELECT group_concat(name, ', ') FROM size WHERE run_id = r.id), 'a run')"
    " || ' of E' || r.edition_id FROM run r WHERE r.id = ?",
    "document": "SELECT kind || CASE state WHEN 'voided' THEN ', voided' ELSE '' END FROM document WHERE id = ?",
}
# Those whose line says a date or a doubt: it is put together here, since SQL has no words for either.
_SHEET = """SELECT s.exposed_edtf, (SELECT group_concat(said, ', ') FROM (SELECT n.text || CASE WHEN n.scheme <> ''
    THEN ' (' || n.scheme || ')' ELSE '' END AS said FROM sheet_number n WHERE n.sheet_id = s.id ORDER BY n.id))
    FROM sheet s WHERE s.id = ?"""
_SHOWN = """SELECT v.title, coalesce(b.name, p.name), vs.certainty, vs.elevation FROM view v
    LEFT JOIN view_subject vs ON vs.view_id = v.id
    LEFT JOIN building b ON b.id = vs.building_id LEFT JOIN place p ON p.id = vs.place_id"""


def describe(connection: sqlite3.Connection, table: str, record_id: int) -> str | None:
    """Return one line that tells a record from others, or ``None`` when it is not there."""
    table = _REFERRED.get(table, table)
    if table in _PUT_TOGETHER:
        return _PUT_TOGETHER[table](connection, record_id)
    row = connection.execute(_DESCRIPTIONS[table], (record_id,)).fetchone()
    return row[0] if row else None


def _describe_sheet(connection: sqlite3.Connection, sheet_id: int) -> str | None:
    row = connection.execute(_SHEET, (sheet_id,)).fetchone()
    if row is None:
        return None
    shown = connection.execute(
        f"{_SHOWN} WHERE v.id IN (SELECT view_id FROM sheet_view WHERE sheet_id = ?)"
        " ORDER BY v.id, vs.is_principal DESC, vs.id",
        (sheet_id,),
    ).fetchall()
    said = [row[1] or "no number", _shown_words(shown), edtf_in_words(row[0])]
    return "; ".join(words for words in said if words)


def _describe_view(connection: sqlite3.Connection, view_id: int) -> str | None:
    shown = connection.execute(f"{_SHOWN} WHERE v.id = ? ORDER BY vs.is_principal DESC, vs.id", (view_id,)).fetchall()
    return (_shown_words(shown) or "nothing named") if shown else None


def _describe_visit(connection: sqlite3.Connection, visit_id: int) -> str | None:
    row = connection.execute(
        "SELECT p.name, d.date_edtf FROM visit d LEFT JOIN place p ON p.id = d.place_id WHERE d.id = ?", (visit_id,)
    ).fetchone()
    return ", ".join(filter(None, (row[0], edtf_in_words(row[1])))) if row else None


def _shown_words(shown: Iterable[tuple[str | None, str | None, str | None, str | None]]) -> str:
    """Return a view's titles, else what it shows, each once."""
    from catalog.rules.doubt import hedged

    rows = list(shown)
    titles = [title for title, _, _, _ in rows if title]
    names = [" ".join(filter(None, (hedged(name, doubt or "certain"), side))) for _, name, doubt, side in rows if name]
    return "; ".join(dict.fromkeys(titles or names))


def _describe_version(connection: sqlite3.Connection, version_id: int) -> str | None:
    from catalog.store.versions import get_version, sheets_of_versions

    row = get_version(connection, version_id)
    if row is None:
        return None
    numbers = [
        text
        for sheet in sheets_of_versions(connection, version_id).get(version_id, [])
        for text in connection.execute(
            "SELECT text FROM sheet_number WHERE sheet_id = ? ORDER BY id LIMIT 1", (sheet,)
        ).fetchone()
        or ()
    ]
    file = row.path.rpartition("/")[2] if row.path else None
    said = f"edit version of {', '.join(numbers)}" if numbers else "edit version"
    return "; ".join(words for words in (said, row.purpose, file) if words)


def _describe_edition(connection: sqlite3.Connection, edition_id: int) -> str | None:
    row = connection.execute("SELECT title, view_id FROM edition WHERE id = ?", (edition_id,)).fetchone()
    return None if row is None else row[0] or _describe_view(connection, row[1])


def _describe_print(connection: sqlite3.Connection, print_id: int) -> str | None:
    row = connection.execute(
        "SELECT n.written, r.edition_id, p.sheet_id, p.view_id, p.markings FROM print p"
        " LEFT JOIN print_number n ON n.id = p.print_number_id LEFT JOIN run r ON r.id = n.run_id WHERE p.id = ?",
        (print_id,),
    ).fetchone()
    if row is None:
        return None
    written, edition_id, sheet_id, view_id, markings = row
    if written is not None:
        return f"{format_reference('edition', edition_id)} {written}"
    of = format_reference("sheet", sheet_id) if sheet_id is not None else format_reference("view", view_id)
    return f"print of {of} without a number" + (f', marked "{markings}"' if markings else "")


_PUT_TOGETHER = {
    "sheet": _describe_sheet, "view": _describe_view, "visit": _describe_visit, "edit_version": _describe_version,
    "edition": _describe_edition, "print": _describe_print,
}  # fmt: skip


def resolve(connection: sqlite3.Connection, typed: str, table: str) -> int:
    """
    Return the id of the one record of ``table`` that ``typed`` means: a reference, else any name it ever had.

    A spelling written exactly so wins over one that only folds to it. For sheets, ``typed`` may be any number.

    Raises:
        NotFoundError: none answers to it.
        AmbiguousNameError: several do; they are listed.
    """
    referred = parse_reference(typed)
    if (
        referred is not None
        and referred[0] == _REFERRED.get(table, table)
        and _is_there(connection, table, referred[1])
    ):
        return referred[1]
    found = find_by_number(connection, typed) if table == "sheet" else find_by_name(connection, typed, table)
    if not found:
        raise NotFoundError(_not_found(connection, typed, table))
    if len(found) > 1:
        raise AmbiguousNameError(typed, candidates(connection, table, found), plural(table))
    return found[0]


def plural(table: str) -> str:
    """Return the word for several records of a table."""
    word = "lenses, cameras or films" if table == "kit" else WORDS.get(table, table.replace("_", " "))
    return {"lens": "lenses", "person": "persons"}.get(table, word if word.endswith("s") else word + "s")


def candidates(connection: sqlite3.Connection, table: str, ids: Iterable[int]) -> list[tuple[str, str]]:
    """Return (reference, description) of records, to choose from."""
    referred = _REFERRED.get(table, table)
    return [(format_reference(referred, i), describe(connection, referred, i) or "") for i in ids]


def find_by_name(connection: sqlite3.Connection, typed: str, table: str) -> list[int]:
    """Return the records of ``table`` that ever had this name, those spelt exactly so alone if there are any."""
    if table not in _NAMES:
        return []
    folded = fold(typed.strip())
    alike = [(i, name) for i, name in connection.execute(_NAMES[table]) if fold(name) == folded]
    exact = [i for i, name in alike if name == typed.strip()]
    return list(dict.fromkeys(exact or [i for i, _ in alike]))


def find_by_number(connection: sqlite3.Connection, typed: str) -> list[int]:
    """Return the sheets that carry a number: written exactly so, else alike when folded."""
    rows = connection.execute(
        "SELECT sheet_id, text FROM sheet_number WHERE folded = ? ORDER BY sheet_id", (fold(typed.strip()),)
    ).fetchall()
    exact = [i for i, text in rows if text == typed.strip()]
    return list(dict.fromkeys(exact or [i for i, _ in rows]))


def _is_there(connection: sqlite3.Connection, table: str, record_id: int) -> bool:
    return connection.execute(f"SELECT 1 FROM {table} WHERE id = ?", (record_id,)).fetchone() is not None


def _not_found(connection: sqlite3.Connection, typed: str, table: str) -> str:
    word = WORDS.get(table, table.replace("_", " "))
    near = near_names(connection, typed, table)
    seek = f" Look for it with: {_SOUGHT_BY[table]}" if table in _SOUGHT_BY else ""
    hint = f" Did you mean {' or '.join(near)}?" if near else seek
    return f"No {word} answers to {typed!r}.{hint}"


_SOUGHT_BY = {
    "sheet": "tiebeam find WORDS", "view": "tiebeam views list", "building": "tiebeam buildings list",
    "place": "tiebeam places list", "visit": "tiebeam visits list", "standpoint": "tiebeam standpoints list",
    "roll": "tiebeam rolls list", "person": "tiebeam persons list", "source": "tiebeam sources list",
    "lens": "tiebeam lenses list", "camera": "tiebeam cameras list", "film_stock": "tiebeam films list",
    "drive": "tiebeam drives list", "edition": "tiebeam editions list", "document": "tiebeam documents list",
    "open_question": "tiebeam questions list", "edit_version": "tiebeam versions list", "print": "tiebeam prints list",
    "scan": "tiebeam scans list",
}  # fmt: skip


def near_names(connection: sqlite3.Connection, typed: str, table: str, limit: int = 3) -> list[str]:
    """Return names of ``table`` spelt much like ``typed``."""
    if table not in _NAMES:
        return []
    from rapidfuzz import fuzz, process

    names = sorted({name for _, name in connection.execute(_NAMES[table])})
    matches = process.extract(typed, names, scorer=fuzz.WRatio, processor=fold, limit=limit, score_cutoff=80)
    return [match[0] for match in matches]
