"""Which schema a catalogue has, and which one this program reads."""

from __future__ import annotations

import sqlite3

from catalog.errors import ArchiveError, NewerCatalogueError, OlderCatalogueError

# Design section 10: the head is a constant, tested against alembic, so that reading needs no alembic.
SCHEMA_HEAD = "0003"


def schema_of(connection: sqlite3.Connection) -> str | None:
    """Return the schema a catalogue was last brought to, or ``None`` when it is no catalogue of ours."""
    try:
        row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.OperationalError as exc:
        if "no such table" in str(exc):
            return None
        raise
    return row[0] if row else None


def check_schema(connection: sqlite3.Connection, name: str) -> None:
    """
    Refuse a catalogue that this program cannot read as it is.

    Raises:
        ArchiveError: the file is no catalogue.
        NewerCatalogueError: a later program has upgraded it.
        OlderCatalogueError: it has to be upgraded first.
    """
    found = schema_of(connection)
    if found is None:
        raise ArchiveError(f"{name} is not a Tiebeam catalogue. Restore it from backups/, or name another archive.")
    if found > SCHEMA_HEAD:
        raise NewerCatalogueError(
            f"{name} has schema {found}, and this program knows up to {SCHEMA_HEAD}. Use the newer program."
        )
    if found < SCHEMA_HEAD:
        raise OlderCatalogueError(
            f"{name} has schema {found}, and this program needs {SCHEMA_HEAD}. Run: tiebeam upgrade"
        )


def triggers_of(connection: sqlite3.Connection) -> dict[str, str]:
    """Return every trigger by name: alembic's batch rebuilds drop them in silence, so a test compares."""
    rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name")
    return dict(rows.fetchall())


def schema_objects(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    """Return the statements that made a catalogue's tables, indexes and triggers, by kind and name."""
    found = connection.execute(
        "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%'"
        " AND name NOT LIKE 'search_words_%'"
    )
    return {(kind, name): " ".join(sql.split()) for kind, name, sql in found}
