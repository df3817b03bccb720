"""Names that a field completes: places, lenses and films by every name they have."""

from __future__ import annotations

import sqlite3

_NAMES = {
    "place": "SELECT name FROM place UNION SELECT name FROM place_name ORDER BY 1",
    "film": "SELECT name FROM kit WHERE kind = 'film_stock' ORDER BY 1",
}


def names_to_complete(connection: sqlite3.Connection) -> dict[str, tuple[str, ...]]:
    """Return the names that the fields of a question complete, by field; lenses by their focal length first."""
    found = {field: tuple(name for (name,) in connection.execute(statement)) for field, statement in _NAMES.items()}
    lengths = connection.execute("SELECT DISTINCT focal_length_mm FROM lens ORDER BY 1")
    names = connection.execute("SELECT name FROM kit WHERE kind = 'lens' ORDER BY 1")
    return {**found, "lens": (*(f"{length:g}" for (length,) in lengths), *(name for (name,) in names))}
