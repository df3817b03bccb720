"""The daybook to read: deeds in order, and what each changed, record by record."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from catalog.errors import NotFoundError
from catalog.rules.references import TABLES, format_reference
from catalog.store.rows import decode_values, read_row

_KIT = {"lens": "kit", "camera": "kit", "film_stock": "kit"}
# A row of these is part of another record: its word, the record's table, and the column that names it.
_PART_OF = {
    "sheet_number": ("number", "sheet", "sheet_id"),
    "sheet_view": ("view", "sheet", "sheet_id"),
    "building_name": ("name", "building", "building_id"),
    "building_site": ("site", "building", "building_id"),
    "elevation": ("elevation", "building", "building_id"),
    "chronicle_entry": ("chronicle entry", "building", "building_id"),
    "place_name": ("name", "place", "place_id"),
    "place_parent": ("parent place", "place", "place_id"),
    "view_subject": ("subject", "view", "view_id"),
    "scan_part": ("sheet", "scan", "scan_id"),
    "sidecar": ("sidecar", "scan", "scan_id"),
    "version_source": ("source", "edit_version", "version_id"),
    "edition_sheet": ("sheet", "edition", "edition_id"),
    "edition_state": ("state", "edition", "edition_id"),
    "edition_amendment": ("amendment", "edition", "edition_id"),
    "size": ("size", "run", "run_id"),
    "proof_allowance": ("proofs", "run", "run_id"),
    "former_limit": ("former limit", "run", "run_id"),
    "price_step": ("price", "run", "run_id"),
    "print_number": ("number", "run", "run_id"),
    "ledger_entry": ("ledger entry", "print", "print_id"),
    "document_line": ("line", "document", "document_id"),
}
_SAID = {"note": "note", "wording": "wording"}
_QUOTED = {
    "sheet_number": "text",
    "building_name": "name",
    "place_name": "name",
    "elevation": "compass",
    "wording": "as_written",
    "edition_state": "state",
    "size": "name",
    "proof_allowance": "kind",
    "former_limit": "series",
    "print_number": "written",
    "ledger_entry": "kind",
}


@dataclass(frozen=True, slots=True)
class DeedRow:
    """A deed as the daybook lists it."""

    id: int
    kind: str
    words: str
    at: str
    state: str
    schema: str
    left_to_do: str | None
    undoes_id: int | None
    undone_by_id: int | None
    records: int
    """How many records and parts of records it changed."""
    files: int
    """How many files outside the catalogue it wrote."""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One row that a deed changed. ``before`` and ``after`` hold columns and values."""

    id: int
    record_table: str
    record_id: int
    change: str
    before: dict[str, Any]
    after: dict[str, Any]


@dataclass(frozen=True, slots=True)
class FileRow:
    """A file outside the catalogue that a deed meant to write."""

    id: int
    path: str
    state: str
    before: bytes | None
    before_sha256: str | None
    after_sha256: str | None
    reason: str | None


_DEEDS = """
    SELECT d.id, d.kind, d.words, d.at, d.state, d.schema, d.left_to_do, d.undoes_id, d.undone_by_id,
        (SELECT count(DISTINCT c.record_table || ' ' || c.record_id)
            FROM deed_change c WHERE c.deed_id = d.id),
        (SELECT count(*) FROM deed_file f WHERE f.deed_id = d.id AND f.state = 'done')
    FROM deed d
"""


def list_deeds(connection: sqlite3.Connection, since: str = "") -> list[DeedRow]:
    """Return the deeds done at ``since`` (a timestamp as records keep it) or later, oldest first."""
    return [DeedRow(*row) for row in connection.execute(f"{_DEEDS} WHERE d.at >= ? ORDER BY d.id", (since,))]


def get_deed(connection: sqlite3.Connection, deed_id: int) -> DeedRow:
    """
    Return one deed.

    Raises:
        NotFoundError: the daybook has no such number.
    """
    can_be = deed_id.bit_length() < 64  # no larger number fits a column
    row = connection.execute(f"{_DEEDS} WHERE d.id = ?", (deed_id,)).fetchone() if can_be else None
    if row is None:
        raise NotFoundError(f"The daybook has no deed {deed_id}. See: tiebeam daybook")
    return DeedRow(*row)


def deeds_of_record(connection: sqlite3.Connection, table: str, record_id: int) -> list[DeedRow]:
    """Return the deeds that changed a record, a part of it, or what is said of it, oldest first."""
    touched = _deeds_that_touched(connection, table, record_id)
    if table == "kit":
        for part in _KIT:
            touched |= _deeds_that_touched(connection, part, record_id)
    for part, column, owner in _parts_of(table):
        touched |= _deeds_that_touched_parts(connection, part, column, owner, record_id)
    return [get_deed(connection, deed_id) for deed_id in sorted(touched)]


def _parts_of(table: str) -> Iterator[tuple[str, str, str | None]]:
    for part, (_, owner, column) in _PART_OF.items():
        if owner == table:
            yield part, column, None
    for said in (*_SAID, "open_question"):
        yield said, "about_id", table


def _deeds_that_touched(connection: sqlite3.Connection, table: str, record_id: int) -> set[int]:
    found = connection.execute(
        "SELECT DISTINCT deed_id FROM deed_change WHERE record_table = ? AND record_id = ?",
        (table, record_id),
    )
    return {row[0] for row in found}


def _deeds_that_touched_parts(
    connection: sqlite3.Connection, part: str, column: str, about: str | None, record_id: int
) -> set[int]:
    key = "scan_id" if part == "sidecar" else "id"
    here = "AND about = :about" if about else ""
    before = "AND json_extract(c.before, '$.about') = :about" if about else ""
    found = connection.execute(
        f"""
        SELECT deed_id FROM deed_change
        WHERE record_table = :part AND record_id IN (SELECT "{key}" FROM {part} WHERE {column} = :id {here})
        UNION
        SELECT e.deed_id FROM deed_change c JOIN deed_change e USING (record_table, record_id)
        WHERE c.record_table = :part AND c.change = 'removed'
            AND json_extract(c.before, '$.{column}') = :id {before}
        """,
        {"part": part, "id": record_id, "about": about},
    )
    return {row[0] for row in found}


def changes_of(connection: sqlite3.Connection, deed_id: int, *, backwards: bool = False) -> Iterator[ChangeRow]:
    """Yield what a deed changed, in the order it did so, or backwards."""
    order = "DESC" if backwards else "ASC"
    found = connection.execute(
        "SELECT id, record_table, record_id, change, before, after FROM deed_change"
        f" WHERE deed_id = ? ORDER BY id {order}",
        (deed_id,),
    )
    for change_id, table, record_id, change, before, after in found:
        yield ChangeRow(change_id, table, record_id, change, decode_values(before), decode_values(after))


def files_of(connection: sqlite3.Connection, deed_id: int) -> list[FileRow]:
    """Return the files a deed meant to write, in order."""
    found = connection.execute(
        "SELECT id, path, state, before, before_sha256, after_sha256, reason FROM deed_file"
        " WHERE deed_id = ? ORDER BY id",
        (deed_id,),
    )
    return [FileRow(*row) for row in found]


def row_after(connection: sqlite3.Connection, change: ChangeRow) -> dict[str, Any] | None:
    """
    Return a row as it stood right after ``change``, or ``None`` if that removed it.

    It is the row of today with every later change taken back.
    """
    row = read_row(connection, change.record_table, change.record_id)
    later = connection.execute(
        "SELECT change, before FROM deed_change WHERE record_table = ? AND record_id = ? AND id > ? ORDER BY id DESC",
        (change.record_table, change.record_id, change.id),
    )
    for what, before in later:
        if what == "added":
            row = None
        else:
            row = {**(row or {}), **decode_values(before)}
    return row


def last_known_row(connection: sqlite3.Connection, table: str, record_id: int) -> dict[str, Any]:
    """Return a row as it stands, or as it stood when it was removed; empty if nothing is known of it."""
    row = read_row(connection, table, record_id)
    if row is None:
        found = connection.execute(
            "SELECT before FROM deed_change WHERE record_table = ? AND record_id = ? AND change = 'removed'"
            " ORDER BY id DESC LIMIT 1",
            (table, record_id),
        ).fetchone()
        row = decode_values(found[0]) if found else {}
    return row


def name_record(connection: sqlite3.Connection, table: str, record_id: int) -> str:
    """Return what the daybook calls a row: ``S12``, ``number '78-14' of S12``, ``note on B3``."""
    table = _KIT.get(table, table)
    if table in TABLES:
        return format_reference(table, record_id)
    row = last_known_row(connection, table, record_id)
    quoted = f" '{row[_QUOTED[table]]}'" if row.get(_QUOTED.get(table, "")) else ""
    if table in _PART_OF:
        word, owner, column = _PART_OF[table]
        return f"{word}{quoted}{_of(owner, row.get(column))}"
    if table in _SAID:
        return f"{_SAID[table]}{quoted}{_of(row.get('about'), row.get('about_id'), 'on')}"
    if table == "card_row":
        return f"row {row.get('row')} of {name_record(connection, 'card_file', row.get('card_file_id') or 0)}"
    if table in ("card_file", "file"):
        return f"{table.replace('_', ' ')} {row.get('name') or row.get('path') or record_id}"
    return f"{table.replace('_', ' ')} {record_id}"


def owner_column(table: str) -> str | None:
    """Return the column by which a row says whose part it is, or ``None`` when it is no part of another."""
    return _PART_OF[table][2] if table in _PART_OF else None


def _of(table: str | None, record_id: int | None, word: str = "of") -> str:
    return f" {word} {format_reference(table, record_id)}" if table in TABLES and record_id is not None else ""
