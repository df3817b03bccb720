"""Names that a field completes: places, lenses, films, persons ... by every name they have."""

from __future__ import annotations

import sqlite3

_NAMES = {
    "place": "SELECT name FROM place UNION SELECT name FROM place_name ORDER BY 1",
    "film": "SELECT name FROM kit WHERE kind = 'film_stock' ORDER BY 1",
}
_NAMES_OF = {
    "place": _NAMES["place"],
    "film_stock": _NAMES["film"],
    "camera": "SELECT name FROM kit WHERE kind = 'camera' ORDER BY 1",
    "person": "SELECT name FROM person ORDER BY 1",
    "source": "SELECT title FROM source ORDER BY 1",
    "roll": "SELECT name FROM roll WHERE name IS NOT NULL ORDER BY 1",
    "standpoint": "SELECT words FROM standpoint ORDER BY 1",
    "subject": "SELECT name FROM building UNION SELECT name FROM building_name UNION SELECT name FROM place"
    " UNION SELECT name FROM place_name ORDER BY 1",
}


def names_to_complete(connection: sqlite3.Connection) -> dict[str, tuple[str, ...]]:
    """Return the names that the fields of a question complete, by field; lenses by their focal length first."""
    found = {field: tuple(name for (name,) in connection.execute(statement)) for field, statement in _NAMES.items()}
    lengths = connection.execute("SELECT DISTINCT focal_length_mm FROM lens ORDER BY 1")
    names = connection.execute("SELECT name FROM kit WHERE kind = 'lens' ORDER BY 1")
    return {**found, "lens": (*(f"{length:g}" for (length,) in lengths), *(name for (name,) in names))}


def names_of(connection: sqlite3.Connection, table: str) -> tuple[str, ...]:
    """Return the names of the records of a table; ``subject`` is what a view may show. None where they have none."""
    if table == "lens":
        return names_to_complete(connection)["lens"]
    return tuple(name for (name,) in connection.execute(_NAMES_OF[table])) if table in _NAMES_OF else ()
