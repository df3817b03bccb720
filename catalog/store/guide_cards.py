"""
Guide cards: a place with what belongs to it and stands in it, or the whole archive with its widest places.

The first card of the drawer is read without the words for dates and records: it is what stands on the screen first.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from catalog.errors import NotFoundError
from catalog.rules.references import format_reference
from catalog.store.trails import Step, trail_of

_DATES = ", ".join(f"{{t}}.{end}_{part}" for end in ("from", "until") for part in
                   ("edtf", "words", "earliest", "latest", "doubt"))  # fmt: skip


@dataclass(frozen=True, slots=True)
class GuideLine:
    """A card that stands behind a guide card: a place or building, what it is, and while when it belonged there."""

    table: str
    id: int
    name: str
    kind: str | None
    when: str

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference(self.table, self.id)


@dataclass(frozen=True, slots=True)
class GuideCard:
    """
    A guide card. ``place_id`` is ``None`` for the first card of the drawer, the whole archive.

    ``said`` are lines about the place: its other names, what it belonged to, notes and questions.
    """

    place_id: int | None
    name: str
    kind: str | None
    trail: tuple[Step, ...]
    said: tuple[tuple[str, str], ...]
    places: tuple[GuideLine, ...]
    buildings: tuple[GuideLine, ...]
    sheets: int
    """How many sheets the archive holds at all; an empty one says what to do first."""


def read_guide_card(connection: sqlite3.Connection, place_id: int | None, about_days: int, name: str) -> GuideCard:
    """
    Return a guide card; ``name`` is the archive's, for the first one.

    Raises:
        NotFoundError: there is no such place.
    """
    sheets = connection.execute("SELECT count(*) FROM (SELECT 1 FROM sheet LIMIT 1)").fetchone()[0]
    if place_id is None:
        return GuideCard(None, name, None, (), (), _rootless(connection), _homeless(connection), sheets)
    trail = trail_of(connection, "place", place_id)
    if not trail:
        raise NotFoundError(f"There is no place {format_reference('place', place_id)} any more.")
    kind = connection.execute("SELECT kind FROM place WHERE id = ?", (place_id,)).fetchone()[0]
    return GuideCard(
        place_id, trail[-1].name, kind, trail, _said(connection, place_id, about_days),
        _below(connection, place_id), _standing(connection, place_id), sheets,
    )  # fmt: skip


def _said(connection: sqlite3.Connection, place_id: int, about_days: int) -> tuple[tuple[str, str], ...]:
    """Return what the record says beside its places and buildings, as (heading, words)."""
    from catalog.store.record_words import line_words
    from catalog.store.show import read_record

    record = read_record(connection, "place", place_id, about_days)
    apart = ("below it", "buildings")
    return tuple(
        (heading, line_words(line)) for heading, lines in record.sections if heading not in apart for line in lines
    )


def _rootless(connection: sqlite3.Connection) -> tuple[GuideLine, ...]:
    rows = connection.execute(
        "SELECT id, name, kind FROM place WHERE id NOT IN (SELECT place_id FROM place_parent) ORDER BY name, id"
    )
    return tuple(GuideLine("place", i, name, kind, "") for i, name, kind in rows)


def _homeless(connection: sqlite3.Connection) -> tuple[GuideLine, ...]:
    rows = connection.execute(
        "SELECT id, name, kind FROM building WHERE id NOT IN (SELECT building_id FROM building_site) ORDER BY name, id"
    )
    return tuple(GuideLine("building", i, name, kind, "no site recorded") for i, name, kind in rows)


def _below(connection: sqlite3.Connection, place_id: int) -> tuple[GuideLine, ...]:
    rows = connection.execute(
        f"SELECT p.id, p.name, p.kind, {_DATES.format(t='pp')} FROM place_parent pp JOIN place p ON p.id = pp.place_id"
        " WHERE pp.parent_id = ? ORDER BY p.name, p.id, pp.id",
        (place_id,),
    )
    return tuple(_line("place", *row) for row in rows)


def _standing(connection: sqlite3.Connection, place_id: int) -> tuple[GuideLine, ...]:
    rows = connection.execute(
        f"SELECT b.id, b.name, b.kind, {_DATES.format(t='s')} FROM building_site s"
        " JOIN building b ON b.id = s.building_id WHERE s.place_id = ? ORDER BY b.name, b.id, s.id",
        (place_id,),
    )
    return tuple(_line("building", *row) for row in rows)


def _line(table: str, record_id: int, name: str, kind: str | None, *dates: object) -> GuideLine:
    from catalog.store.record_words import span_words
    from catalog.store.show import DateValue

    begun, ended = DateValue(*dates[:5]), DateValue(*dates[5:])  # type: ignore[arg-type]
    # A building that was always here needs no dates on the guide card: its own card has them.
    when = span_words(
        None if begun.is_empty or (ended.is_empty and table == "building") else begun,
        None if ended.is_empty else ended,
    )
    return GuideLine(table, record_id, name, kind, when)
