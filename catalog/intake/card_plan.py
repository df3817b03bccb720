"""
What reading a card file would do to the catalogue, row by row; nothing here is stored.

Each card's facts are brought to the catalogue's own terms (``Taken``): ids of what is known, and of what would be
added. A row that was read before is compared three ways: what was taken then, what the catalogue holds now, what
the card says now. What a person corrected since is left alone.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from catalog.intake.known import Known, KnownBuilding, KnownName, KnownPlace, Named
from catalog.intake.proposals import Card, CardFile, Subject
from catalog.rules.folding import fold
from catalog.rules.references import format_reference, parse_reference

Taken = dict[str, Any]
"""A card's facts in the catalogue's terms: sheet columns, ``numbers``, ``views``, ``notes``, ``wordings``."""

COLUMNS = (
    "medium", "format", "film_id", "holder_side", "exposed_edtf", "exposed_words", "lens_id", "camera_id", "aperture_f",
    "shutter_s", "filter", "development", "lab_id", "docket", "box", "sleeve", "fate", "condition",
)  # fmt: skip
_PLAIN = {
    "medium": "medium", "format": "format", "holder": "holder_side", "aperture": "aperture_f", "shutter": "shutter_s",
    "filter": "filter", "development": "development", "docket": "docket", "box": "box", "sleeve": "sleeve",
    "fate": "fate", "condition": "condition",
}  # fmt: skip
WORDING_FIELDS = {"date": "exposed"}
"""A wording names the field as the sheet does."""


class Adds(Protocol):
    """Adds a record a card names and the catalogue lacks, and returns its id."""

    def __call__(self, table: str, name: str, **more: Any) -> int:
        """Add a record of ``table`` called ``name``."""


@dataclass(frozen=True, slots=True)
class FieldChange:
    """A field that differs between a row as read before and as it is now; ``is_kept`` when a person corrected it since."""

    field: str
    before: Any
    after: Any
    current: Any
    is_kept: bool


@dataclass(frozen=True, slots=True)
class RowPlan:
    """
    What becomes of one row: ``new``, ``here`` (read already), ``changed``, or ``repeat`` (of an earlier row).

    ``taken`` is what a new or changed row gives the catalogue.
    """

    card: Card
    outcome: str
    taken: Taken = field(default_factory=dict)
    sheet_id: int | None = None
    changes: tuple[FieldChange, ...] = ()


@dataclass(frozen=True, slots=True)
class CardPlan:
    """What reading a file would do. ``added`` holds (table, name) of records the cards name and the catalogue lacks."""

    rows: tuple[RowPlan, ...]
    added: tuple[tuple[str, str], ...]
    gone: tuple[str, ...]
    """Keys of rows that an earlier state of the file had, and this one lacks; their sheets stay."""

    def count(self, outcome: str) -> int:
        """Return how many rows have this outcome."""
        return sum(row.outcome == outcome for row in self.rows)


def read_known(connection: sqlite3.Connection) -> Known:
    """Return the places and buildings of the catalogue, with every name they had."""
    places: dict[int, list[KnownName]] = {}
    kinds: dict[int, str | None] = {}
    for place, name, kind in connection.execute("SELECT id, name, kind FROM place ORDER BY id"):
        places[place], kinds[place] = [KnownName(name)], kind
    for place, name, since, until in connection.execute(
        "SELECT place_id, name, from_edtf, until_edtf FROM place_name ORDER BY id"
    ):
        places[place].append(KnownName(name, since, until))
    parents = _grouped(connection.execute("SELECT place_id, parent_id FROM place_parent ORDER BY id"))
    buildings: dict[int, list[KnownName]] = {}
    for building, name in connection.execute("SELECT id, name FROM building ORDER BY id"):
        buildings[building] = [KnownName(name)]
    for building, name, since, until in connection.execute(
        "SELECT building_id, name, from_edtf, until_edtf FROM building_name ORDER BY id"
    ):
        buildings[building].append(KnownName(name, since, until))
    sites = _grouped(connection.execute("SELECT building_id, place_id FROM building_site ORDER BY id"))
    return Known(
        tuple(
            KnownPlace(f"L{i}", tuple(names), tuple(f"L{p}" for p in parents.get(i, ())), kinds[i])
            for i, names in places.items()
        ),
        tuple(
            KnownBuilding(f"B{i}", tuple(names), tuple(f"L{p}" for p in sites.get(i, ())))
            for i, names in buildings.items()
        ),
    )


def _grouped(rows: Iterable[tuple[int, int]]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for one, many in rows:
        found.setdefault(one, []).append(many)
    return found


class Resolver:
    """Brings what cards name to the catalogue's records; what it lacks is added through ``adds``."""

    def __init__(self, connection: sqlite3.Connection, file: CardFile, adds: Adds) -> None:
        self._adds = adds
        self._new_names = {(one.kind, fold(one.name)) for one in file.unknown_names if not one.near}
        self._ids: dict[tuple[str, str], int | None] = {}
        self._lenses: dict[float, list[int]] = {}
        for lens, length in connection.execute("SELECT id, focal_length_mm FROM lens ORDER BY id"):
            self._lenses.setdefault(length, []).append(lens)
        for kit, kind, name in connection.execute("SELECT id, kind, name FROM kit ORDER BY id DESC"):
            self._ids[kind, fold(name)] = kit
        for person, name in connection.execute("SELECT id, name FROM person ORDER BY id DESC"):
            self._ids["person", fold(name)] = person
        self._standpoints: dict[int | None, list[tuple[str, int]]] = {}
        for standpoint, place, words in connection.execute(
            "SELECT id, place_id, words FROM standpoint ORDER BY id"
        ):
            self._standpoints.setdefault(place, []).append((f" {fold(words)} ", standpoint))

    def place(self, named: Named | None) -> int | None:
        """Return the place a card names; ``None`` for one that is to stay words."""
        return None if named is None else self._named("place", named)

    def building(self, named: Named, place_id: int | None) -> int | None:
        """Return the building a card names; a new one is put where the card says it stands."""
        return self._named("building", named, place_id=place_id)

    def _named(self, table: str, named: Named, **more: Any) -> int | None:
        if named.reference is not None:
            referred = parse_reference(named.reference)
            return referred[1] if referred else None
        folded = fold(named.name)
        if (table, folded) not in self._new_names:
            return None
        where = more.get("place_id")
        return self._once(
            (table if where is None else f"{table} in {where}", folded), table, named.name, **more
        )

    def kit(self, kind: str, name: str) -> int:
        """Return a camera or a film by its name."""
        return self._once((kind, fold(name)), kind, name)

    def person(self, name: str) -> int:
        """Return a person or firm by name."""
        return self._once(("person", fold(name)), "person", name)

    def standpoint(self, words: str, place_id: int | None) -> int:
        """
        Return the standpoint that goes by these words in a place: "mill bridge" is "mill bridge, third coping stone".

        It must be the only one of the place whose words hold the card's; otherwise it is a standpoint of its own.
        """
        key = (f"standpoint in {place_id}", fold(words))
        if key not in self._ids:
            padded = f" {key[1]} "
            held = [
                (text, i)
                for text, i in self._standpoints.get(place_id, ())
                if padded in text.replace(",", " ")
            ]
            exact = [i for text, i in held if text == padded]
            if exact or len(held) == 1:
                self._ids[key] = exact[0] if exact else held[0][1]
        return self._once(key, "standpoint", words, place_id=place_id)

    def lens(self, focal_length_mm: float) -> int | None:
        """Return the lens of a focal length; ``None`` when several have it and the card does not say which."""
        found = self._lenses.get(focal_length_mm)
        if found is None:
            name = f"{focal_length_mm:g} mm"
            found = [self._adds("lens", name, focal_length_mm=focal_length_mm)]
            self._lenses[focal_length_mm] = found
        return found[0] if len(found) == 1 else None

    def _once(self, key: tuple[str, str], table: str, name: str, **more: Any) -> int:
        found = self._ids.get(key)
        if found is None:
            found = self._ids[key] = self._adds(table, name, **more)
        return found

    def taken(self, card: Card) -> Taken:
        """Return what a card gives the catalogue, in the catalogue's own terms."""
        facts = card.facts
        taken: Taken = {column: facts.get(name) for name, column in _PLAIN.items()}
        taken["fate"] = taken["fate"] or "exposed"
        taken["exposed_edtf"] = card.exposed.text if card.exposed else None
        taken["exposed_words"] = card.exposed_words
        wordings = [
            [WORDING_FIELDS.get(d.field, d.field), d.as_written, d.certainty, list(d.alternatives)]
            for d in card.doubts
        ]
        length = facts.get("lens")
        taken["lens_id"] = self.lens(length) if isinstance(length, float | int) else None
        if length is not None and taken["lens_id"] is None:
            wordings.append(["lens", f"{length:g} mm", "possible", [f"{length:g}"]])
        for column, kind in (("film_id", "film_stock"), ("camera_id", "camera")):
            name = facts.get(kind.removesuffix("_stock"))
            taken[column] = self.kit(kind, str(name)) if name else None
        lab = facts.get("lab")
        taken["lab_id"] = self.person(str(lab)) if lab else None
        taken["numbers"] = [[n.text, n.scheme] for n in card.numbers]
        taken["views"] = self._views(card, taken["fate"], wordings)
        taken["notes"] = [[n.heading, n.text] for n in card.notes]
        if card.keywords:
            taken["notes"].append(["keywords", "; ".join(card.keywords)])
        taken["wordings"] = wordings
        return taken

    def _views(self, card: Card, fate: str, wordings: list[list[Any]]) -> list[dict[str, Any]]:
        """Return the views of a card: one, two of a double exposure, none of a blank sheet."""
        place_id = self.place(card.village)
        if card.village is not None and place_id is None:
            wordings.append(["village", card.village.written, card.village.certainty, []])
        subjects = [
            s for s in (self._subject(one, place_id, wordings) for one in card.subjects) if s is not None
        ]
        if card.village is not None and place_id is not None and not any(_is_sure(one) for one in subjects):
            # The card is surer of the village than of the building; a card that names none shows the village.
            subjects = [*subjects, ["place", place_id, None, None, card.village.certainty, int(not subjects)]]
        if fate == "blank":
            # A blank sheet shows nothing; what it was meant to show stays as the card has it.
            meant = ", ".join(filter(None, (one.named.written for one in card.subjects)))
            if meant:
                wordings.append(["shows", f"meant to show {meant}", "possible", []])
            return []
        standpoint_id, certainty = None, "certain"
        if card.taken_from is not None:
            from_place = self.place(card.taken_from) if card.taken_from.reference else None
            standpoint_id = self.standpoint(card.taken_from.name, from_place or place_id)
            certainty = card.taken_from.certainty
        title = card.facts.get("title")
        view = {"title": title, "standpoint_id": standpoint_id, "certainty": certainty}
        if fate == "doubly exposed" and len(subjects) > 1:
            return [{**view, "subjects": [[*subject[:5], 1]]} for subject in subjects]
        return [{**view, "subjects": subjects}]

    def _subject(self, one: Subject, place_id: int | None, wordings: list[list[Any]]) -> list[Any] | None:
        record = self.place(one.named) if one.is_place else self.building(one.named, place_id)
        if record is None:
            field_name = "village" if one.is_place else "building"
            if not any(w[0] == field_name and w[1] == one.named.written for w in wordings):
                wordings.append([field_name, one.named.written, one.named.certainty, []])
            return None
        table = "place" if one.is_place else "building"
        return [table, record, one.elevation, one.part, one.certainty, int(one.is_principal)]


def _is_sure(subject: list[Any]) -> bool:
    return bool(subject[4] == "certain")


def plan_cards(connection: sqlite3.Connection, file: CardFile, adds: Adds | None = None) -> CardPlan:
    """
    Return what reading ``file`` would do to the catalogue.

    ``adds`` adds the records that cards name and the catalogue lacks; without it (a rehearsal) they only get
    numbers below zero.
    """
    added: list[tuple[str, str]] = []

    def pretend(table: str, name: str, **_more: Any) -> int:
        added.append((table, name))
        return -len(added)

    def remember(table: str, name: str, **more: Any) -> int:
        added.append((table, name))
        assert adds is not None
        return adds(table, name, **more)

    resolver = Resolver(connection, file, remember if adds else pretend)
    by_key, by_digest = _earlier_rows(connection, file)
    rows = [_plan_row(connection, card, resolver, by_key, by_digest) for card in file.cards]
    gone = by_key.keys() - {card.key for card in file.cards}
    return CardPlan(tuple(rows), tuple(added), tuple(sorted(gone)))


Earlier = tuple[str, Taken, int | None]


def _earlier_rows(
    connection: sqlite3.Connection, file: CardFile
) -> tuple[dict[str, Earlier], dict[str, int | None]]:
    """Return the rows of this file as read last, by key; and every row ever read that still has its sheet, by digest."""
    by_key: dict[str, Earlier] = {}
    for key, digest, facts, sheet in connection.execute(
        "SELECT r.row_key, r.digest, r.facts, r.sheet_id FROM card_row r JOIN card_file f ON f.id = r.card_file_id"
        " WHERE f.name = ? ORDER BY r.id",
        (file.name,),
    ):
        by_key[key] = (digest, json.loads(facts) if facts else {}, sheet)
    by_digest = dict(
        connection.execute("SELECT digest, sheet_id FROM card_row WHERE sheet_id IS NOT NULL ORDER BY id")
    )
    return by_key, by_digest


def _plan_row(
    connection: sqlite3.Connection,
    card: Card,
    resolver: Resolver,
    by_key: Mapping[str, Earlier],
    by_digest: Mapping[str, int | None],
) -> RowPlan:
    if card.repeats is not None:
        return RowPlan(card, "repeat")
    earlier = by_key.get(card.key)
    if earlier is None:
        if card.digest in by_digest:
            return RowPlan(card, "here", sheet_id=by_digest[card.digest])
        return RowPlan(card, "new", resolver.taken(card))
    digest, before, sheet_id = earlier
    if digest == card.digest or sheet_id is None:
        return RowPlan(card, "here", sheet_id=sheet_id)
    after = resolver.taken(card)
    changes = tuple(_changes(before, after, current_facts(connection, sheet_id, before)))
    return RowPlan(card, "changed" if changes else "here", after, sheet_id, changes)


def _changes(before: Taken, after: Taken, current: Taken) -> Iterable[FieldChange]:
    for name in after:
        if after[name] != before.get(name) and after[name] != current.get(name):
            yield FieldChange(
                name, before.get(name), after[name], current.get(name), current.get(name) != before.get(name)
            )


def current_facts(connection: sqlite3.Connection, sheet_id: int, before: Taken) -> Taken:
    """Return what the catalogue holds now of what a card once gave it, in the terms of ``Taken``."""
    cursor = connection.execute(f"SELECT {', '.join(COLUMNS)} FROM sheet WHERE id = ?", (sheet_id,))
    current: Taken = dict(zip(COLUMNS, cursor.fetchone(), strict=True))
    current["numbers"] = [
        list(row)
        for row in connection.execute(
            "SELECT text, scheme FROM sheet_number WHERE sheet_id = ? ORDER BY id", (sheet_id,)
        )
    ]
    current["views"] = [
        {
            "title": title,
            "standpoint_id": standpoint,
            "certainty": certainty,
            "subjects": _subjects(connection, view),
        }
        for view, title, standpoint, certainty in connection.execute(
            "SELECT v.id, v.title, v.standpoint_id, v.standpoint_certainty FROM sheet_view sv"
            " JOIN view v ON v.id = sv.view_id WHERE sv.sheet_id = ? ORDER BY sv.id",
            (sheet_id,),
        ).fetchall()
    ]
    # Of notes and wordings only those that came from a card are the card's to change.
    current["notes"] = [
        list(row)
        for row in connection.execute(
            "SELECT heading, text FROM note WHERE about = 'sheet' AND about_id = ? AND card_row_id IS NOT NULL ORDER BY id",
            (sheet_id,),
        )
    ]
    current["wordings"] = [
        [name, written, certainty, json.loads(alternatives) if alternatives else []]
        for name, written, certainty, alternatives in connection.execute(
            "SELECT field, as_written, certainty, alternatives FROM wording"
            " WHERE about = 'sheet' AND about_id = ? AND card_row_id IS NOT NULL ORDER BY id",
            (sheet_id,),
        )
    ]
    return current


def _subjects(connection: sqlite3.Connection, view_id: int) -> list[list[Any]]:
    rows = connection.execute(
        "SELECT CASE WHEN building_id IS NULL THEN 'place' ELSE 'building' END, coalesce(building_id, place_id),"
        " elevation, part, certainty, is_principal FROM view_subject WHERE view_id = ? ORDER BY id",
        (view_id,),
    )
    return [list(row) for row in rows]


def describe_taken(name: str, value: Any) -> str:
    """Return a fact of ``Taken`` in words, for the comparison that a person reads."""
    if value in (None, [], ""):
        return "nothing"
    if name == "views":
        return "; ".join(
            " ".join(filter(None, (format_reference(s[0], s[1]) if s[1] > 0 else "a new record", s[2], s[3])))
            for view in value for s in view["subjects"]
        ) or "nothing named"  # fmt: skip
    if isinstance(value, list):
        return "; ".join(" ".join(str(part) for part in item if part) for item in value)
    return str(value)
