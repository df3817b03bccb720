"""
What an edited row changes: what it gave then, what the catalogue holds now, what it says now, field by field.

What a person corrected since is kept: a field that no longer is as the card gave it, or of which somebody has
said since how it stands.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from catalog.intake.card_facts import COLUMNS, Taken
from catalog.rules.references import format_reference

_EXPOSED = "exposed"
_ONE_VALUE = (*(column for column in COLUMNS if not column.startswith("exposed")), _EXPOSED)
_PART_OF: dict[str, Callable[[Any], str]] = {
    "numbers": lambda item: "", "notes": lambda item: item[0], "wordings": lambda item: item[0],
}  # fmt: skip
_NAMED = {"film_id": "kit", "lens_id": "kit", "camera_id": "kit", "lab_id": "person"}


@dataclass(frozen=True, slots=True)
class FieldChange:
    """
    A field that a row gave otherwise before; ``is_kept`` when a person corrected it since, so that it stays.

    ``part`` is the heading of notes and the field of wordings. A value of several items is a list; ``exposed`` is
    the EDTF and the words.
    """

    field: str
    part: str
    before: Any
    after: Any
    current: Any
    is_kept: bool

    @property
    def label(self) -> str:
        """What a person calls the field."""
        if self.field == "notes":
            return f"note {self.part!r}"
        if self.field == "wordings":
            return f"doubt about {self.part.removesuffix('_id').replace('_', ' ')}"
        label = {"views": "shows", "aperture_f": "aperture", "shutter_s": "shutter"}.get(self.field, self.field)
        return label.removesuffix("_id").replace("_", " ")


def compare(connection: sqlite3.Connection, sheet_id: int, before: Taken, after: Taken) -> tuple[FieldChange, ...]:
    """Return what differs between what a row gave before and gives now, as far as the catalogue differs from it."""
    if before == after:
        return ()
    current, spoken = current_facts(connection, sheet_id), _spoken_since(connection, sheet_id)
    changes = [*_plain_changes(before, after, current, spoken), *_listed_changes(before, after, current, spoken)]
    if after["fate"] == "blank" and any(view not in before["views"] for view in current["views"]):
        # A blank sheet shows nothing; a person has said what this one shows, so it is not blank.
        changes = [replace(change, is_kept=True) if _makes_blank(change) else change for change in changes]
    return tuple(changes)


def _makes_blank(change: FieldChange) -> bool:
    return change.field == "fate" or (change.field, change.part) == ("wordings", "shows")


def _plain_changes(before: Taken, after: Taken, current: Taken, spoken: set[str]) -> Iterable[FieldChange]:
    for name in _ONE_VALUE:
        was, is_, held = (_value(taken, name) for taken in (before, after, current))
        if is_ not in (was, held):
            is_kept = held != was or name.removesuffix("_id") in spoken
            yield FieldChange(name, "", was, is_, held, is_kept)


def _value(taken: Taken, name: str) -> Any:
    if name == _EXPOSED:
        pair = [taken.get("exposed_edtf"), taken.get("exposed_words")]
        return pair if any(pair) else None
    return taken.get(name)


def _listed_changes(before: Taken, after: Taken, current: Taken, spoken: set[str]) -> Iterable[FieldChange]:
    for name, part_of in _PART_OF.items():
        was, is_, held = (_by_part(taken.get(name, ()), part_of) for taken in (before, after, current))
        for part in dict.fromkeys([*was, *is_]):
            change = _listed_change(name, part, was.get(part, []), is_.get(part, []), held.get(part, []))
            if change is not None:
                said_since = name == "wordings" and part in spoken
                yield FieldChange(*change, is_kept=not _holds(change[4], change[2], change[3]) or said_since)
    change = _listed_change("views", "", *(taken.get("views", []) for taken in (before, after, current)))
    if change is not None:
        # A view says what one exposure shows: it is changed as a whole, so each as it was must still be there.
        yield FieldChange(*change, is_kept=not _holds(change[4], change[2], []))


def _listed_change(
    name: str, part: str, was: list[Any], is_: list[Any], held: list[Any]
) -> tuple[str, str, list[Any], list[Any], list[Any]] | None:
    there_already = all(item in held for item in is_) and not any(item in held for item in was if item not in is_)
    return None if was == is_ or there_already else (name, part, was, is_, held)


def _holds(held: list[Any], was: list[Any], is_: list[Any]) -> bool:
    """Return whether what is to go is there as the card gave it."""
    return all(item in held for item in was if item not in is_)


def _by_part(items: Iterable[Any], part_of: Callable[[Any], str]) -> dict[str, list[Any]]:
    parts: dict[str, list[Any]] = {}
    for item in items:
        parts.setdefault(part_of(item), []).append(item)
    return parts


def kept_facts(before: Taken, after: Taken, changes: Iterable[FieldChange]) -> Taken:
    """Return what a changed row has given the catalogue by now: of a field left alone, what it gave before."""
    kept = dict(after)
    for change in changes:
        if not change.is_kept:
            continue
        if change.field in _PART_OF or change.field == "views":
            part_of = _PART_OF.get(change.field, lambda item: "")
            others = [item for item in after.get(change.field, ()) if part_of(item) != change.part]
            kept[change.field] = [*others, *change.before]
            continue
        for column in ("exposed_edtf", "exposed_words") if change.field == _EXPOSED else (change.field,):
            kept[column] = before.get(column)
    return kept


def current_facts(connection: sqlite3.Connection, sheet_id: int) -> Taken:
    """Return what the catalogue holds now of what a card can give it, in the terms of ``Taken``."""
    cursor = connection.execute(f"SELECT {', '.join(COLUMNS)} FROM sheet WHERE id = ?", (sheet_id,))
    current: Taken = dict(zip(COLUMNS, cursor.fetchone(), strict=True))
    numbers = connection.execute("SELECT text, scheme FROM sheet_number WHERE sheet_id = ? ORDER BY id", (sheet_id,))
    current["numbers"] = [list(row) for row in numbers]
    current["views"] = [view_facts(connection, view_id) for view_id in views_of(connection, sheet_id)]
    # Of notes and wordings only those that came from a card are the card's to change.
    from_card = "about = 'sheet' AND about_id = ? AND card_row_id IS NOT NULL ORDER BY id"
    notes = connection.execute(f"SELECT heading, text FROM note WHERE {from_card}", (sheet_id,))
    current["notes"] = [list(row) for row in notes]
    current["wordings"] = [
        [name, written, certainty, json.loads(alternatives) if alternatives else []]
        for name, written, certainty, alternatives in connection.execute(
            f"SELECT field, as_written, certainty, alternatives FROM wording WHERE {from_card}", (sheet_id,)
        )
    ]
    return current


def views_of(connection: sqlite3.Connection, sheet_id: int) -> list[int]:
    """Return the ids of the views a sheet holds, in the order they were given to it."""
    found = connection.execute("SELECT view_id FROM sheet_view WHERE sheet_id = ? ORDER BY id", (sheet_id,))
    return [view_id for (view_id,) in found]


def view_facts(connection: sqlite3.Connection, view_id: int) -> dict[str, Any]:
    """Return a view in the terms of ``Taken``."""
    title, standpoint, certainty = connection.execute(
        "SELECT title, standpoint_id, standpoint_certainty FROM view WHERE id = ?", (view_id,)
    ).fetchone()
    subjects = connection.execute(
        "SELECT CASE WHEN building_id IS NULL THEN 'place' ELSE 'building' END, coalesce(building_id, place_id),"
        " elevation, part, certainty, is_principal FROM view_subject WHERE view_id = ? ORDER BY id",
        (view_id,),
    )
    return {
        "title": title, "standpoint_id": standpoint, "certainty": certainty,
        "subjects": [list(row) for row in subjects],
    }  # fmt: skip


def _spoken_since(connection: sqlite3.Connection, sheet_id: int) -> set[str]:
    """Return the fields of a sheet whose newest wording is not a card's: a person has said how they stand."""
    rows = connection.execute(
        "SELECT field, card_row_id FROM wording WHERE about = 'sheet' AND about_id = ? ORDER BY id", (sheet_id,)
    )
    return {field for field, card_row in dict(rows).items() if card_row is None}


class Describer:
    """Puts facts in words for the person who reads the comparison. ``added`` are records not in the catalogue yet."""

    def __init__(self, connection: sqlite3.Connection, added: list[tuple[str, str]]) -> None:
        self._connection, self._added = connection, added

    def __call__(self, field: str, value: Any) -> str:
        """Return the value of a field of ``FieldChange`` in words."""
        if value in (None, [], ""):
            return "nothing"
        if field == _EXPOSED:
            return str(value[1] or value[0])
        if field in _NAMED:
            return self._name(_NAMED[field], value)
        if field == "views":
            return "; ".join(filter(None, map(self._view, value))) or "nothing named"
        if field == "notes":
            return "; ".join(text for _, text in value)
        if field == "wordings":
            return "; ".join(f"{written!r}, {certainty}" for _, written, certainty, _ in value)
        if field == "numbers":
            return ", ".join(text for text, _ in value)
        return f"{value:g}" if isinstance(value, float) else str(value)

    def _view(self, view: dict[str, Any]) -> str:
        shown = [
            " ".join(filter(None, (self._name(s[0], s[1]), s[2], s[3], s[4] if s[4] != "certain" else "")))
            for s in view["subjects"]
        ]
        if view["title"]:
            shown.insert(0, repr(view["title"]))
        if view["standpoint_id"] is not None:
            doubt = "" if view["certainty"] == "certain" else f"{view['certainty']} "
            shown.append(f"{doubt}from {self._name('standpoint', view['standpoint_id'])}")
        return ", ".join(shown)

    def _name(self, table: str, record_id: int) -> str:
        if record_id < 0:
            return f"{self._added[-record_id - 1][1]} (new)"
        column = "words" if table == "standpoint" else "name"
        row = self._connection.execute(f"SELECT {column} FROM {table} WHERE id = ?", (record_id,)).fetchone()
        reference = format_reference(table, record_id)
        return f"{row[0]} ({reference})" if row and row[0] else reference
