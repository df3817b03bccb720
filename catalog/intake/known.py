"""The villages and buildings the catalogue knows, and what a written name means among them."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from catalog.rules.folding import fold

_NEAR_SCORE = 84
"""Of 100, by the share of letters in common: ``Osk Mil`` and ``Osk Mill`` have 93, ``Osk`` and ``Oak`` 67."""
_SHORT_NAME = 5
_SOUGHT_NEAR = 2_000
"""How many unknown names of one file are compared with the known ones; the count of the others is stated."""


@dataclass(frozen=True, slots=True)
class KnownName:
    """A name and while when it was used, in words."""

    name: str
    since: str | None = None
    until: str | None = None


@dataclass(frozen=True, slots=True)
class KnownPlace:
    """A place of the catalogue. ``parents`` are the references of what it belongs or belonged to."""

    reference: str
    names: tuple[KnownName, ...]
    parents: tuple[str, ...] = ()
    kind: str | None = None


@dataclass(frozen=True, slots=True)
class KnownBuilding:
    """A building of the catalogue. ``sites`` are the references of the places it stands or stood in."""

    reference: str
    names: tuple[KnownName, ...]
    sites: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What the catalogue knows already, for matching names; empty for a new archive."""

    places: tuple[KnownPlace, ...] = ()
    buildings: tuple[KnownBuilding, ...] = ()


@dataclass(frozen=True, slots=True)
class Named:
    """
    A name on a card and what it means.

    ``name`` is the name without its doubt, abbreviations spelled out; ``reference`` is ``None`` for one that
    the catalogue does not know, or knows more than once.
    """

    written: str
    name: str
    reference: str | None = None
    certainty: str = "certain"


@dataclass(frozen=True, slots=True)
class Meaning:
    """
    What the catalogue makes of a name: one reference, several to choose from, or none and the nearest known.
    """

    reference: str | None = None
    candidates: tuple[str, ...] = ()
    near: tuple[tuple[str, str], ...] = ()
    """(reference, name) of known names that are nearly this one."""


class Gazetteer:
    """Finds places and buildings by name, with the answers a person has given in the mapping file."""

    def __init__(
        self,
        known: Known,
        *,
        places: Mapping[str, str] | None = None,
        buildings: Mapping[str, str] | None = None,
        abbreviations: Mapping[str, str] | None = None,
    ) -> None:
        self.known = known
        self._settled = {"place": dict(places or {}), "building": dict(buildings or {})}
        shorts = [(fold(short), long, short.rstrip().endswith(".")) for short, long in (abbreviations or {}).items()]
        # The longest first: "Pan 100 6x9" is one name, and not "Pan 100" with something behind it.
        self._short = sorted(shorts, key=lambda one: one[0].count(" "), reverse=True)
        self._spelled: dict[str, str] = {}
        self._places: dict[str, list[str]] = defaultdict(list)
        self._buildings: dict[str, list[str]] = defaultdict(list)
        self._parents = {place.reference: place.parents for place in known.places}
        self._sites = {building.reference: building.sites for building in known.buildings}
        self._name: dict[str, str] = {}
        self._above: dict[str, frozenset[str]] = {}
        self._meanings: dict[tuple[str, str, str | None], Meaning] = {}
        self._sought = 0
        for place in known.places:
            self._add(self._places, place.reference, place.names)
        for building in known.buildings:
            self._add(self._buildings, building.reference, building.names)

    def _add(self, index: dict[str, list[str]], reference: str, names: tuple[KnownName, ...]) -> None:
        """Enter a record under each name it has or had."""
        for key in dict.fromkeys(fold(name.name) for name in names):
            index[key].append(reference)
        if names:
            self._name[reference] = names[0].name

    @property
    def left_unsought(self) -> int:
        """How many unknown names were not compared with the known ones, there being too many."""
        return max(self._sought - _SOUGHT_NEAR, 0)

    def name_of(self, reference: str) -> str:
        """Return what a record is called now."""
        return self._name.get(reference, reference)

    def describe(self, reference: str) -> str:
        """Return a record's name, reference and whereabouts, to choose by."""
        above = self._parents.get(reference) or self._sites.get(reference) or ()
        where = ", ".join(self.name_of(parent) for parent in above)
        return f"{self.name_of(reference)} ({reference}{', ' + where if where else ''})"

    def spell_out(self, name: str) -> str:
        """Return a name with its abbreviations spelled out, as the table of the mapping file has them."""
        spelled = self._spelled.get(name)
        if spelled is None:
            spelled = self._spelled[name] = self._expand(name)
        return spelled

    def _expand(self, name: str) -> str:
        words = name.split()
        for short, long, needs_stop in self._short:
            size = short.count(" ") + 1
            for place in range(len(words) - size + 1):
                run = words[place : place + size]
                if fold(" ".join(run)) == short and (not needs_stop or run[-1].endswith(".")):
                    words[place : place + size] = [long]
        return " ".join(words)

    def place(self, name: str) -> Meaning:
        """Return what a name means as a place."""
        return self._meaning("place", name, None)

    def place_exactly(self, name: str) -> str | None:
        """Return the one place of a name, or ``None``; nothing near is sought."""
        found = self._places.get(fold(name), [])
        return found[0] if len(found) == 1 else None

    def building(self, name: str, place: str | None = None) -> Meaning:
        """Return what a name means as a building, given the place it should stand in."""
        return self._meaning("building", name, place)

    def _meaning(self, kind: str, name: str, place: str | None) -> Meaning:
        key = (kind, name, place)
        meaning = self._meanings.get(key)
        if meaning is None:
            meaning = self._meanings[key] = self._find(kind, name, place)
        return meaning

    def _find(self, kind: str, name: str, place: str | None) -> Meaning:
        folded = fold(name)
        index = self._places if kind == "place" else self._buildings
        settled = self._settled[kind].get(folded)
        if settled is not None:
            if not settled or settled in self._name:
                return Meaning(reference=settled or None)
            folded, _, above = (fold(part) for part in settled.partition(","))
            found = [one for one in index.get(folded, []) if not above or self._lies_in(one, above)]
            return Meaning(found[0]) if len(found) == 1 else Meaning(candidates=tuple(found))
        found = index.get(folded, [])
        if kind == "building" and place is not None:
            found = found or index.get(f"{fold(self.name_of(place))} {folded}", [])
            here = [reference for reference in found if self.stands_in(reference, place)]
            found = here or found
        if len(found) == 1:
            return Meaning(reference=found[0])
        if found:
            return Meaning(candidates=tuple(found))
        return Meaning(near=self._near(folded, index))

    def _lies_in(self, reference: str, above: str) -> bool:
        """Return whether a record lies in a place of the folded name ``above``."""
        wholes = self._places.get(above, [])
        starts = self._sites.get(reference, (reference,))
        return any(self._within(start, whole) for start in starts for whole in wholes)

    def _near(self, folded: str, index: dict[str, list[str]]) -> tuple[tuple[str, str], ...]:
        """Return the known names nearest to one that is not known."""
        self._sought += 1
        if len(folded) < _SHORT_NAME or self._sought > _SOUGHT_NEAR or not index:
            return ()
        from rapidfuzz import fuzz, process

        hits = process.extract(folded, index.keys(), scorer=fuzz.ratio, score_cutoff=_NEAR_SCORE, limit=3)
        return tuple((reference, self.name_of(reference)) for key, _, _ in hits for reference in index[key])

    def stands_in(self, building: str, place: str) -> bool:
        """Return whether a building ever stood in a place, in a part of it, or in what it is a part of."""
        return any(self._within(site, place) or self._within(place, site) for site in self._sites.get(building, ()))

    def sites(self, building: str) -> tuple[str, ...]:
        """Return the places a building stands or stood in."""
        return self._sites.get(building, ())

    def _within(self, place: str, whole: str) -> bool:
        """Return whether ``place`` is ``whole`` or belongs or belonged to it."""
        above = self._above.get(place)
        if above is None:
            seen = {place}
            waiting = [place]
            while waiting:
                for parent in self._parents.get(waiting.pop(), ()):
                    if parent not in seen:
                        seen.add(parent)
                        waiting.append(parent)
            above = self._above[place] = frozenset(seen)
        return whole in above


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
