"""Lenses, cameras and films as a question names them."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable

from catalog.errors import NotFoundError
from catalog.rules.folding import fold
from catalog.store.names import resolve

_MILLIMETRES = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", re.IGNORECASE)


def lenses_like(connection: sqlite3.Connection, typed: str) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """
    Return the lenses that ``typed`` means, and the choices of doubtful lenses that one of them is among.

    A focal length means every lens of that length; else a reference or a name means one.

    Raises:
        NotFoundError, AmbiguousNameError: there is none, or a name means several.
    """
    match = _MILLIMETRES.fullmatch(typed)
    if match is None:
        lens_id = resolve(connection, typed, "lens")
        length, name = connection.execute(
            "SELECT focal_length_mm, name FROM lens JOIN kit USING (id) WHERE id = ?", (lens_id,)
        ).fetchone()
        return (lens_id,), doubts_like(connection, "lens", name, f"{length:g}", f"{length:g} mm")
    length = float(match[1])
    found = connection.execute(
        "SELECT id, name FROM lens JOIN kit USING (id) WHERE focal_length_mm = ?", (length,)
    ).fetchall()
    names = [name for _, name in found]
    doubts = doubts_like(connection, "lens", *names, f"{length:g}", f"{length:g} mm", f"{length:g}mm")
    if not found and not doubts:
        rows = connection.execute("SELECT DISTINCT focal_length_mm FROM lens ORDER BY 1")
        known = ", ".join(f"{row[0]:g}" for row in rows)
        raise NotFoundError(f"No lens of {length:g} mm is known. Known: {known or 'none'}.")
    return tuple(lens_id for lens_id, _ in found), doubts


def films_like(connection: sqlite3.Connection, typed: str) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """
    Return the film that ``typed`` means, and the choices of doubtful films that it is among.

    Raises:
        NotFoundError, AmbiguousNameError: there is none, or a name means several.
    """
    film_id = resolve(connection, typed, "film_stock")
    name = connection.execute("SELECT name FROM kit WHERE id = ?", (film_id,)).fetchone()[0]
    return (film_id,), doubts_like(connection, "film", name, typed)


def sides_like(connection: sqlite3.Connection, side: str) -> tuple[str, ...]:
    """Return the lists of choices of a doubtful side that ``side`` is among."""
    from catalog.rules.compass import parse_elevation

    return _choices(connection, "elevation", lambda reading: parse_elevation(reading) == side)


def doubts_like(connection: sqlite3.Connection, field: str, *names: str) -> tuple[str, ...]:
    """
    Return the lists of choices, as wordings of ``field`` keep them, that one of ``names`` is among.

    A choice that is part of a name is taken for it: the cards write "Pan 100" for a longer name.
    """
    folded = [f" {fold(name)} " for name in names]
    return _choices(connection, field, lambda reading: any(f" {fold(reading)} " in name for name in folded))


def _choices(connection: sqlite3.Connection, field: str, is_meant: Callable[[str], bool]) -> tuple[str, ...]:
    rows = connection.execute(
        "SELECT DISTINCT alternatives FROM wording WHERE field = ? AND alternatives IS NOT NULL", (field,)
    ).fetchall()
    if not rows:
        return ()
    import json

    return tuple(kept for (kept,) in rows if any(is_meant(str(reading)) for reading in json.loads(kept)))
