"""The line of place of a record: the guide cards that stand before its own, from the widest place down."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from catalog.rules.references import format_reference

_DEEPEST = 12
"""No line is longer: a tree that was damaged from outside must not be walked for ever."""

# Where something still belongs comes before where it once did; of several, the one entered first.
_PARENT = """
    SELECT p.id, p.name FROM place_parent pp JOIN place p ON p.id = pp.parent_id WHERE pp.place_id = ?
    ORDER BY pp.until_edtf IS NOT NULL, pp.id LIMIT 1
"""
_SITE = """
    SELECT p.id, p.name FROM building_site s JOIN place p ON p.id = s.place_id WHERE s.building_id = ?
    ORDER BY s.until_edtf IS NOT NULL, coalesce(s.from_earliest, s.from_latest, -1e15) DESC, s.id LIMIT 1
"""
_SUBJECT = """
    SELECT vs.building_id, vs.place_id FROM sheet_view sv JOIN view_subject vs ON vs.view_id = sv.view_id
    WHERE sv.sheet_id = ? ORDER BY vs.is_principal DESC, vs.id LIMIT 1
"""
_NUMBER = "SELECT text FROM sheet_number WHERE sheet_id = ? ORDER BY id LIMIT 1"


@dataclass(frozen=True, slots=True)
class Step:
    """One guide card of the line: its reference and the word on its tab."""

    reference: str
    name: str


def trail_of(connection: sqlite3.Connection, table: str, record_id: int) -> tuple[Step, ...]:
    """Return the guide cards that lead to a record, its own card last; empty when it is not there."""
    if table == "place":
        return _places(connection, record_id)
    if table == "building":
        return _building(connection, record_id)
    if table == "sheet":
        return _sheet(connection, record_id)
    from catalog.store.names import describe

    words = describe(connection, table, record_id)
    return (Step(format_reference(table, record_id), words),) if words is not None else ()


def _places(connection: sqlite3.Connection, place_id: int) -> tuple[Step, ...]:
    row = connection.execute("SELECT id, name FROM place WHERE id = ?", (place_id,)).fetchone()
    steps: list[Step] = []
    while row is not None and len(steps) < _DEEPEST:
        steps.insert(0, Step(format_reference("place", row[0]), row[1]))
        row = connection.execute(_PARENT, (row[0],)).fetchone()
    return tuple(steps)


def _building(connection: sqlite3.Connection, building_id: int) -> tuple[Step, ...]:
    row = connection.execute("SELECT name FROM building WHERE id = ?", (building_id,)).fetchone()
    if row is None:
        return ()
    site = connection.execute(_SITE, (building_id,)).fetchone()
    before = _places(connection, site[0]) if site else ()
    return (*before, Step(format_reference("building", building_id), row[0]))


def _sheet(connection: sqlite3.Connection, sheet_id: int) -> tuple[Step, ...]:
    if connection.execute("SELECT 1 FROM sheet WHERE id = ?", (sheet_id,)).fetchone() is None:
        return ()
    number = connection.execute(_NUMBER, (sheet_id,)).fetchone()
    building, place = connection.execute(_SUBJECT, (sheet_id,)).fetchone() or (None, None)
    before = _building(connection, building) if building else _places(connection, place) if place else ()
    return (*before, Step(format_reference("sheet", sheet_id), number[0] if number else "no number"))
