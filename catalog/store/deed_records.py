"""Which records a deed touched: rows of the daybook as the records that people know by a reference."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from catalog.rules.references import WORDS, format_reference
from catalog.store.search import OWNERS

Change = tuple[str, int, str]
"""A row of a deed: its table, its id, and ``added``, ``changed`` or ``removed``."""


@dataclass(frozen=True, slots=True)
class TouchedRecord:
    """
    A record that a deed touched, and how.

    ``reference`` names it (``P12``); a print number without a print is named by its edition (``E1 8/15``). A record
    whose parts alone were touched - a number of a sheet, an entry of a print's ledger - was ``changed``.
    """

    reference: str
    change: str


def changes_of_deed(connection: sqlite3.Connection, deed_id: int) -> list[Change]:
    """Return the rows that a deed wrote down so far, in their order."""
    return connection.execute(
        "SELECT record_table, record_id, change FROM deed_change WHERE deed_id = ? ORDER BY id", (deed_id,)
    ).fetchall()


def touched_records(connection: sqlite3.Connection, changes: Iterable[Change]) -> tuple[TouchedRecord, ...]:
    """Return the records that rows are, or are parts of; each once, as it was first met."""
    found: dict[str, str] = {}
    for table, row_id, change in changes:
        if table in ("lens", "camera", "film_stock"):
            found.setdefault(format_reference("kit", row_id), change)
        elif table in WORDS:
            found.setdefault(format_reference(table, row_id), change)
        else:
            whole = _whole(connection, table, row_id)
            if whole is not None:
                found.setdefault(whole, "changed")
    return tuple(TouchedRecord(reference, change) for reference, change in found.items())


def _whole(connection: sqlite3.Connection, table: str, row_id: int) -> str | None:
    """Return the record that a row is part of; ``None`` when it is of none, or was removed."""
    if table in OWNERS:
        owner, column = OWNERS[table]
        row = connection.execute(f"SELECT {column} FROM {table} WHERE id = ?", (row_id,)).fetchone()
        return None if row is None else format_reference(owner, row[0])
    if table in ("note", "wording"):
        row = connection.execute(f"SELECT about, about_id FROM {table} WHERE id = ?", (row_id,)).fetchone()
        return format_reference(row[0], row[1]) if row is not None and row[0] in WORDS else None
    if table == "ledger_entry":
        row = connection.execute(
            "SELECT e.print_id, r.edition_id, n.written FROM ledger_entry e"
            " LEFT JOIN print_number n ON n.id = e.print_number_id LEFT JOIN run r ON r.id = n.run_id WHERE e.id = ?",
            (row_id,),
        ).fetchone()
        if row is None:
            return None
        return format_reference("print", row[0]) if row[0] else f"{format_reference('edition', row[1])} {row[2]}"
    return None
