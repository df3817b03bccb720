"""
Write the small file of this program's schema, once, when a schema is released.

Run it as ``python -m tests.store.schemas.make``.

Later programs are held to it: their migrations must bring it up with its data kept.
"""

from __future__ import annotations

import sqlite3
import tempfile
from pathlib import Path

from catalog import clock
from catalog.store.schema import SCHEMA_HEAD
from tests.store.archives import an_archive, fill_small

HERE = Path(__file__).parent
_SHADOWS = "name LIKE 'search\\_words\\_%' ESCAPE '\\'"


def dump(connection: sqlite3.Connection) -> str:
    """Return the statements that make a catalogue anew: tables, rows, search words, indexes, triggers."""
    lines = ["PRAGMA foreign_keys = OFF;", "BEGIN;"]
    objects = connection.execute(
        f"SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL AND NOT ({_SHADOWS})"
        " AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY type = 'trigger', type = 'index', rowid"
    ).fetchall()
    tables = [(name, sql) for kind, name, sql in objects if kind == "table"]
    lines += [f"{sql};" for _, sql in tables]
    for name, sql in tables:
        if "VIRTUAL" not in sql:
            lines += _rows(connection, name)
    lines += ["DELETE FROM sqlite_sequence;", *_rows(connection, "sqlite_sequence")]
    lines.append("INSERT INTO search_words (search_words) VALUES ('rebuild');")
    lines += [f"{sql};" for kind, _, sql in objects if kind != "table"]
    return "\n".join([*lines, "COMMIT;", ""])


def _rows(connection: sqlite3.Connection, table: str) -> list[str]:
    columns = [row[1] for row in connection.execute(f'PRAGMA table_info("{table}")')]
    quoted = " || ', ' || ".join(f'quote("{column}")' for column in columns)
    return [
        f'INSERT INTO "{table}" VALUES ({row[0]});' for row in connection.execute(f'SELECT {quoted} FROM "{table}"')
    ]


def small_file() -> str:
    """Return the statements of a small catalogue of this program's schema."""
    with tempfile.TemporaryDirectory() as folder, clock.fixed():
        archive = an_archive(Path(folder) / "archive")
        fill_small(archive)
        with archive.reading() as connection:
            return dump(connection)


if __name__ == "__main__":
    (HERE / f"{SCHEMA_HEAD}.sql").write_text(small_file(), "utf-8")
