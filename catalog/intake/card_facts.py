"""
What one card gives the catalogue, in the catalogue's own terms: ids of what is known, and of what is to be added.

Nothing here is stored; a record that a card names and the catalogue lacks is asked for through ``Adds``.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Any, Protocol

from catalog.intake.known import Named
from catalog.intake.proposals import Card, CardFile, Subject
from catalog.rules.doubt import CERTAIN, POSSIBLE
from catalog.rules.folding import fold
from catalog.rules.references import parse_reference

Taken = dict[str, Any]
"""
A card's facts in the catalogue's terms: columns of the sheet, ``numbers``, ``views``, ``notes``, ``wordings``.

What a card does not say is left out; ``fate`` is always there. It is kept as JSON with the row it came from.
"""

COLUMNS = (
    "medium", "format", "film_id", "holder_side", "exposed_edtf", "exposed_words", "lens_id", "camera_id", "aperture_f",
    "shutter_s", "filter", "development", "lab_id", "docket", "box", "sleeve", "fate", "condition",
)  # fmt: skip
_PLAIN = {
    "medium": "medium", "format": "format", "holder": "holder_side", "aperture": "aperture_f", "shutter": "shutter_s",
    "filter": "filter", "development": "development", "docket": "docket", "box": "box", "sleeve": "sleeve",
    "fate": "fate", "condition": "condition",
}  # fmt: skip
_KIT = {"film": ("film_id", "film_stock"), "camera": ("camera_id", "camera")}
WORDING_FIELDS = {"date": "exposed", "aperture": "aperture_f", "shutter": "shutter_s", "holder": "holder_side"}
"""A wording names the field as the sheet does, so that a correction of the field settles it."""


class Adds(Protocol):
    """Adds a record that the card in a row names and the catalogue lacks, and returns its id."""

    def __call__(self, table: str, name: str, row: int, **more: Any) -> int:
        """Add a record of ``table`` called ``name``."""


class CardTaker:
    """Brings what cards say to the catalogue's records; what it lacks is added through ``adds``, once."""

    def __init__(self, connection: sqlite3.Connection, file: CardFile, adds: Adds) -> None:
        self._connection, self._adds = connection, adds
        self._row = 0
        self._before: Taken = {}
        self._new_names = {(one.kind, fold(one.name)) for one in file.unknown_names if not one.near}
        self._ids: dict[tuple[str, str], int] = {}
        self._referred: dict[str, int | None] = {}
        self._lenses: dict[float, list[int]] = {}
        for lens, length in connection.execute("SELECT id, focal_length_mm FROM lens ORDER BY id"):
            self._lenses.setdefault(length, []).append(lens)
        for kit, kind, name in connection.execute("SELECT id, kind, name FROM kit ORDER BY id DESC"):
            self._ids[kind, fold(name)] = kit
        for person, name in connection.execute("SELECT id, name FROM person ORDER BY id DESC"):
            self._ids["person", fold(name)] = person
        self._standpoints: dict[int | None, list[tuple[str, int]]] = {}
        for standpoint, place, words in connection.execute("SELECT id, place_id, words FROM standpoint ORDER BY id"):
            self._standpoints.setdefault(place, []).append((f" {fold(words)} ", standpoint))

    def take(self, card: Card, before: Taken | None = None) -> Taken:
        """
        Return what a card gives the catalogue.

        ``before`` is what its row gave earlier: a name that has come to mean several records since still means
        the one it meant then.
        """
        self._row, self._before = card.row, before or {}
        taken: Taken = {"fate": "exposed"}
        wordings = [
            [WORDING_FIELDS.get(d.field, d.field), d.as_written, d.certainty, list(d.alternatives)] for d in card.doubts
        ]
        title: str | None = None
        for name, value in card.facts.items():
            column = _PLAIN.get(name)
            if column is not None:
                taken[column] = value
            elif name == "lens" and not isinstance(value, str):
                self._take_lens(value, taken, wordings)
            elif name in _KIT:
                column, kind = _KIT[name]
                taken[column] = self._once((kind, fold(str(value))), kind, str(value))
            elif name == "lab":
                taken["lab_id"] = self._once(("person", fold(str(value))), "person", str(value))
            elif name == "title":
                title = str(value)
        if card.exposed is not None:
            taken["exposed_edtf"] = card.exposed.text
        if card.exposed_words is not None:
            taken["exposed_words"] = card.exposed_words
        taken["numbers"] = [list(pair) for pair in dict.fromkeys((n.text, n.scheme) for n in card.numbers)]
        taken["views"] = self._views(card, taken["fate"], title, wordings)
        notes = [[n.heading, n.text] for n in card.notes]
        if card.keywords:
            notes.append(["keywords", "; ".join(card.keywords)])
        if notes:
            taken["notes"] = notes
        if wordings:
            taken["wordings"] = wordings
        return taken

    def _take_lens(self, focal_length_mm: float, taken: Taken, wordings: list[list[Any]]) -> None:
        """Take the lens of a focal length; when several have it, the card does not say which."""
        found = self._lenses.get(focal_length_mm)
        if found is None:
            lens = self._adds("lens", f"{focal_length_mm:g} mm", self._row, focal_length_mm=focal_length_mm)
            found = self._lenses[focal_length_mm] = [lens]
        if len(found) == 1:
            taken["lens_id"] = found[0]
        elif self._before.get("lens_id") in found:
            taken["lens_id"] = self._before["lens_id"]
        else:
            wordings.append(["lens", f"{focal_length_mm:g} mm", POSSIBLE, [f"{focal_length_mm:g}"]])

    def _views(self, card: Card, fate: str, title: str | None, wordings: list[list[Any]]) -> list[dict[str, Any]]:
        """Return the views of a card: one, two of a double exposure, none of a blank sheet."""
        village = card.village
        place_id = None if village is None else self._place(village)
        if village is not None and place_id is None:
            _word(wordings, ["village", village.written, village.certainty, []])
        subjects = []
        for one in card.subjects:
            subject = self._subject(one, village, place_id, wordings)
            if subject is not None:
                subjects.append(subject)
        if fate == "blank":
            # A blank sheet shows nothing; what it was meant to show stays as the card has it.
            meant = ", ".join(one.named.written for one in card.subjects)
            if meant:
                wordings.append(["shows", f"meant to show {meant}", POSSIBLE, []])
            return []
        view: dict[str, Any] = {"title": title, "standpoint_id": None, "certainty": CERTAIN}
        if card.taken_from is not None:
            seen_from = self._place(card.taken_from) if card.taken_from.reference else None
            view["standpoint_id"] = self._standpoint(card.taken_from.name, seen_from or place_id)
            view["certainty"] = card.taken_from.certainty
        exposures = _exposures(subjects) if fate == "doubly exposed" else [subjects]
        if place_id is not None and village is not None:
            for shown in exposures:
                if not any(subject[4] == CERTAIN for subject in shown):
                    # The card is surer of the village than of the building; one that names none shows the village.
                    shown.append(["place", place_id, None, None, village.certainty, int(not shown)])
        return [{**view, "subjects": shown} for shown in exposures]

    def _subject(
        self, one: Subject, village: Named | None, place_id: int | None, wordings: list[list[Any]]
    ) -> list[Any] | None:
        if one.is_place:
            table, record = "place", self._place(one.named)
        else:
            # A village in doubt says nothing of where a building that nobody knew before stands.
            site = place_id if village is not None and village.certainty == CERTAIN else None
            table, record = "building", self._building(one.named, site)
        if record is None:
            named = one.named
            _word(wordings, ["village" if one.is_place else "building", named.written, named.certainty, []])
            return None
        return [table, record, one.elevation, one.part, one.certainty, int(one.is_principal)]

    def _place(self, named: Named) -> int | None:
        """Return the place a card names; ``None`` for one that is to stay words."""
        if named.reference is not None:
            return self._refer(named.reference)
        folded = fold(named.name)
        if ("place", folded) in self._new_names:
            return self._once(("place", folded), "place", named.name)
        return self._meant_before("place", folded)

    def _building(self, named: Named, site: int | None) -> int | None:
        """Return the building a card names; a new one is put where the card says it stands."""
        if named.reference is not None:
            return self._refer(named.reference)
        folded = fold(named.name)
        if ("building", folded) in self._new_names:
            if site is None:
                return self._once(("building", folded), "building", named.name)
            return self._once((f"building in {site}", folded), "building", named.name, place_id=site)
        return self._meant_before("building", folded)

    def _refer(self, reference: str) -> int | None:
        if reference not in self._referred:
            referred = parse_reference(reference)
            self._referred[reference] = referred[1] if referred else None
        return self._referred[reference]

    def _meant_before(self, table: str, folded: str) -> int | None:
        """Return the record that this row's name meant when it was read before, if it still has that name."""
        for record in dict.fromkeys(s[1] for s in _subjects_of(self._before) if s[0] == table):
            names = self._connection.execute(
                f"SELECT name FROM {table} WHERE id = :id UNION SELECT name FROM {table}_name WHERE {table}_id = :id",
                {"id": record},
            )
            if any(fold(name) == folded for (name,) in names):
                return int(record)
        return None

    def _standpoint(self, words: str, place_id: int | None) -> int:
        """
        Return the standpoint that goes by these words in a place: "mill bridge" is "mill bridge, third coping stone".

        It must be the only one of the place whose words hold the card's; otherwise it is a standpoint of its own.
        """
        key = (f"standpoint in {place_id}", fold(words))
        if key in self._ids and not self._before:
            return self._ids[key]
        padded = f" {key[1]} "
        held = [(text, i) for text, i in self._standpoints.get(place_id, ()) if padded in text.replace(",", " ")]
        meant = {view["standpoint_id"] for view in self._before.get("views", ())}
        chosen = next((i for _, i in held if i in meant), None)
        if chosen is not None:  # another that goes by these words may have come since
            return chosen
        if key not in self._ids:
            exact = [i for text, i in held if text == padded]
            if exact or len(held) == 1:
                self._ids[key] = exact[0] if exact else held[0][1]
        return self._once(key, "standpoint", words, place_id=place_id)

    def _once(self, key: tuple[str, str], table: str, name: str, **more: Any) -> int:
        found = self._ids.get(key)
        if found is None:
            found = self._ids[key] = self._adds(table, name, self._row, **more)
        return found


def _subjects_of(taken: Taken) -> Iterable[list[Any]]:
    return (subject for view in taken.get("views", ()) for subject in view["subjects"])


def _exposures(subjects: list[list[Any]]) -> list[list[list[Any]]]:
    """Return what each exposure of a double exposure shows: a building each, else a side each."""
    records = dict.fromkeys((subject[0], subject[1]) for subject in subjects)
    if len(records) > 1:
        shown = [[subject for subject in subjects if (subject[0], subject[1]) == record] for record in records]
    elif len(subjects) > 1 and all(subject[4] == CERTAIN for subject in subjects):
        shown = [[subject] for subject in subjects]
    else:
        return [subjects]
    return [[[*first[:5], 1], *([*other[:5], 0] for other in rest)] for first, *rest in shown]


def _word(wordings: list[list[Any]], wording: list[Any]) -> None:
    """Add a wording unless these words are there already, as the doubt they were put with."""
    if not any(known[0] == wording[0] and known[1] == wording[1] for known in wordings):
        wordings.append(wording)
