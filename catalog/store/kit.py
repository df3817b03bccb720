"""Lenses, cameras and films as rows to read."""

from __future__ import annotations

import re
import sqlite3

from catalog.errors import NotFoundError
from catalog.store.names import resolve

_MILLIMETRES = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", re.IGNORECASE)


def lenses_like(connection: sqlite3.Connection, typed: str) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """
    Return the lenses that ``typed`` means, and the words by which a doubtful card may have put them.

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
        return (lens_id,), (f"{length:g}", name)
    length = float(match[1])
    rows = connection.execute("SELECT id, name FROM lens JOIN kit USING (id) WHERE focal_length_mm = ?", (length,))
    found = rows.fetchall()
    words = (f"{length:g}", f"{length:g} mm", *(name for _, name in found))
    doubtful = connection.execute(
        "SELECT 1 FROM wording w, json_each(w.alternatives) a WHERE w.field = 'lens' AND a.value = ? LIMIT 1",
        (words[0],),
    ).fetchone()
    if not found and not doubtful:
        known = [f"{row[0]:g}" for row in connection.execute("SELECT DISTINCT focal_length_mm FROM lens ORDER BY 1")]
        raise NotFoundError(f"No lens of {length:g} mm is known. Known: {', '.join(known) or 'none'}.")
    return tuple(lens_id for lens_id, _ in found), words
