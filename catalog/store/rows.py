"""Any row of the catalogue by table and id, for whoever keeps rows without knowing their nouns."""

from __future__ import annotations

import base64
import json
import sqlite3
from collections.abc import Mapping
from typing import Any

# The primary key where it is not called ``id``.
KEYS = {"sidecar": "scan_id", "scan_reading": "scan_id", "print_standing": "print_id"}


def encode_values(values: Mapping[str, Any] | None) -> str | None:
    """Return columns and values as the daybook keeps them; bytes become ``{"base64": ...}``."""
    if values is None:
        return None
    plain = {
        name: {"base64": base64.b64encode(value).decode("ascii")} if isinstance(value, bytes) else value
        for name, value in values.items()
    }
    return json.dumps(plain, ensure_ascii=False)


def decode_values(text: str | None) -> dict[str, Any]:
    """Return what ``encode_values`` kept."""
    found: dict[str, Any] = json.loads(text) if text else {}
    return {
        name: base64.b64decode(value["base64"]) if isinstance(value, dict) else value for name, value in found.items()
    }


def read_row(connection: sqlite3.Connection, table: str, record_id: int) -> dict[str, Any] | None:
    """Return a row as columns and values, or ``None`` when it is not there."""
    cursor = connection.execute(f'SELECT * FROM "{table}" WHERE "{KEYS.get(table, "id")}" = ?', (record_id,))
    row = cursor.fetchone()
    return None if row is None else dict(zip((column[0] for column in cursor.description), row, strict=True))


def insert_row(connection: sqlite3.Connection, table: str, row: dict[str, Any]) -> None:
    """Add a row with plain SQL."""
    columns = ", ".join(f'"{column}"' for column in row)
    marks = ", ".join("?" * len(row))
    connection.execute(f'INSERT INTO "{table}" ({columns}) VALUES ({marks})', tuple(row.values()))


def change_row(connection: sqlite3.Connection, table: str, record_id: int, columns: dict[str, Any]) -> None:
    """Set columns of a row with plain SQL."""
    settings = ", ".join(f'"{column}" = ?' for column in columns)
    key = KEYS.get(table, "id")
    connection.execute(f'UPDATE "{table}" SET {settings} WHERE "{key}" = ?', (*columns.values(), record_id))


def remove_row(connection: sqlite3.Connection, table: str, record_id: int) -> None:
    """Remove a row with plain SQL."""
    connection.execute(f'DELETE FROM "{table}" WHERE "{KEYS.get(table, "id")}" = ?', (record_id,))
