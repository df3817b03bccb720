"""
What a card says it shows: village, building, side and part, read together because each settles the others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import TypeVar, cast

from catalog.intake.cells import read_compass, read_word, split_doubt, split_values
from catalog.intake.known import Gazetteer, Meaning, Named
from catalog.intake.mapping import CardMapping
from catalog.intake.proposals import CardNote, Doubt, Subject, UnknownName
from catalog.rules.doubt import CERTAIN, POSSIBLE
from catalog.rules.folding import fold

_T = TypeVar("_T")
_Problem = tuple[str, str, str, str]
"""What was found, why it is a trouble, what to do, and the kind."""
Names = Mapping[str, tuple[int, str]]


@dataclass(frozen=True, slots=True)
class Said:
    """What the cells about the subject of one card say; troubles with the column they stand in."""

    village: Named | None = None
    taken_from: Named | None = None
    subjects: tuple[Subject, ...] = ()
    notes: tuple[CardNote, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    troubles: tuple[tuple[int, _Problem], ...] = ()
    unknown: tuple[tuple[str, str], ...] = ()


@dataclass(slots=True)
class _Sayings:
    """What has been found so far."""

    notes: list[CardNote]
    doubts: list[Doubt]
    troubles: list[tuple[int, _Problem]]
    unknown: list[tuple[str, str]]


class SubjectReader:
    """Reads the subjects of cards; a combination of words is worked out once."""

    def __init__(self, gazetteer: Gazetteer, mapping: CardMapping, tables: Mapping[str, Mapping[str, str]]) -> None:
        self.gazetteer = gazetteer
        self._separators = mapping.separators
        self._tables = tables
        self._known: dict[tuple[tuple[str, tuple[int, str]], ...], Said] = {}
        self._parts: dict[tuple[object, ...], object] = {}
        self._counts: Counter[tuple[str, str]] = Counter()

    def unknown_names(self) -> tuple[UnknownName, ...]:
        """
        Return the names that the catalogue does not know, most frequent first, with the nearest it does.
        """
        found = []
        for (kind, name), cards in self._counts.most_common():
            meaning = self.gazetteer.place(name) if kind == "place" else self.gazetteer.building(name)
            found.append(UnknownName(kind, name, cards, meaning.near))
        return tuple(found)

    def read(self, names: Names) -> Said:
        """Return what the name cells of one card say; ``names`` maps a field to its column and text."""
        key = tuple(names.items())
        said = self._known.get(key)
        if said is None:
            said = self._known[key] = self._read(names)
        if said.unknown:
            self._counts.update(said.unknown)
        return said

    def _read(self, names: Names) -> Said:
        """Put together what the cells say; each group of them that settles one thing comes again and again."""
        villages, village, buildings, of_where = self._once(names, ("village", "building"), self._where)
        sides, part, of_sides = self._once(names, ("elevation", "subject"), self._what)
        stood, of_stood = self._once(names, ("taken_from",), self._from_where)
        parts = (of_where, of_sides, of_stood)
        shown = village
        if len(villages) > 1:
            written = names["village"][1]
            shown = Named(written, written, None, POSSIBLE)
        return Said(
            shown,
            stood,
            tuple(self._subjects(villages, buildings, sides, part)),
            tuple([note for sayings in parts for note in sayings.notes]),
            tuple([doubt for sayings in parts for doubt in sayings.doubts]),
            tuple([trouble for sayings in parts for trouble in sayings.troubles]),
            tuple([unknown for sayings in parts for unknown in sayings.unknown]),
        )

    def _once(self, names: Names, fields: tuple[str, ...], read: Callable[[Names], _T]) -> _T:
        """Return what ``read`` makes of some of the cells; of the same ones only once."""
        some = {field: names[field] for field in fields if field in names}
        key = (fields, *some.items())
        found = self._parts.get(key)
        if found is None:
            found = self._parts[key] = read(some)
        return cast("_T", found)

    def _where(self, names: Names) -> tuple[list[Named], Named | None, list[tuple[Named, bool]], _Sayings]:
        """Return the village or villages, the one if it is one, the buildings, and what was said of them."""
        sayings = _Sayings([], [], [], [])
        villages, village_meaning = self._villages(names, sayings)
        village = villages[0] if len(villages) == 1 else None
        buildings = self._buildings(names, village, village_meaning, sayings)
        if village is not None and village.reference is None and village_meaning.candidates:
            village = self._narrowed(village, village_meaning, buildings, names["village"][0], sayings)
            villages = [village]
        self._check_sites(names, village, buildings, sayings)
        return villages, village, buildings, sayings

    def _what(self, names: Names) -> tuple[list[tuple[str, str]], str | None, _Sayings]:
        sayings = _Sayings([], [], [], [])
        sides, part = self._sides(names, sayings)
        return sides, part, sayings

    def _from_where(self, names: Names) -> tuple[Named | None, _Sayings]:
        sayings = _Sayings([], [], [], [])
        return self._standpoint(names, sayings), sayings

    def _villages(self, names: Names, sayings: _Sayings) -> tuple[list[Named], Meaning]:
        """Return the village, or the villages it may be, and what the catalogue makes of the first."""
        if "village" not in names:
            return [], Meaning()
        column, text = names["village"]
        wording = split_doubt(text)
        self._doubt("village", text, wording.certainty, wording.readings, sayings)
        found, first = [], Meaning()
        for place, reading in enumerate(wording.readings):
            name = self.gazetteer.spell_out(reading)
            meaning = self._either(self.gazetteer.place, reading, name)
            first = meaning if place == 0 else first
            found.append(Named(text, name, meaning.reference, wording.certainty))
            if meaning.reference is None and not meaning.candidates:
                self._unknown("place", name, meaning, column, text, sayings)
        return found, first

    def _either(self, find: Callable[[str], Meaning], written: str, spelled: str) -> Meaning:
        """
        Return what a name means as written, else as spelled out: an answer in the mapping may be for either.
        """
        meaning = find(spelled)
        if written != spelled and meaning.reference is None:
            other = find(written)
            if other.reference is not None or (other.candidates and not meaning.candidates):
                return other
        return meaning

    def _buildings(
        self, names: Names, village: Named | None, village_meaning: Meaning, sayings: _Sayings
    ) -> list[tuple[Named, bool]]:
        """Return the buildings, each with whether it is one of several that it may be."""
        if "building" not in names:
            return []
        column, text = names["building"]
        places = (village.reference,) if village and village.reference else village_meaning.candidates or (None,)
        found = []
        for part in split_values(text, self._separators["building"]):
            wording = split_doubt(part)
            self._doubt("building", part, wording.certainty, wording.readings, sayings)
            for reading in wording.readings:
                name = self.gazetteer.spell_out(reading)
                meanings = [
                    self._either(partial(self.gazetteer.building, place=place), reading, name) for place in places
                ]
                meaning = next((one for one in meanings if one.reference), meanings[0])
                if len({one.reference for one in meanings if one.reference}) > 1:
                    meaning = Meaning(candidates=tuple(one.reference for one in meanings if one.reference))
                if meaning.candidates:
                    self._ambiguous("buildings", meaning, column, part, sayings)
                elif meaning.reference is None:
                    self._unknown("building", name, meaning, column, part, sayings)
                named = Named(part, name, meaning.reference, wording.certainty)
                found.append((named, len(wording.readings) > 1))
        return found

    def _narrowed(
        self,
        village: Named,
        meaning: Meaning,
        buildings: list[tuple[Named, bool]],
        column: int,
        sayings: _Sayings,
    ) -> Named:
        """Return a village of an ambiguous name, told by the one building that stands in only one of them."""
        standing = {
            place
            for place in meaning.candidates
            for named, is_choice in buildings
            if named.reference and not is_choice and named.certainty == CERTAIN
            if self.gazetteer.stands_in(named.reference, place)
        }
        if len(standing) == 1:
            return Named(village.written, village.name, standing.pop(), village.certainty)
        self._ambiguous("places", meaning, column, village.written, sayings)
        return village

    def _check_sites(
        self, names: Names, village: Named | None, buildings: list[tuple[Named, bool]], sayings: _Sayings
    ) -> None:
        """Note each building that is not known to have stood in the village of its card."""
        if village is None or village.reference is None:
            return
        gazetteer = self.gazetteer
        for named, _ in buildings:
            reference = named.reference
            if reference is None or not gazetteer.sites(reference):
                continue
            if not gazetteer.stands_in(reference, village.reference):
                where = " and ".join(f"{gazetteer.name_of(site)} ({site})" for site in gazetteer.sites(reference))
                reason = (
                    f"is {gazetteer.name_of(reference)} ({reference}), which stands in {where}, "
                    f"not in {gazetteer.name_of(village.reference)} ({village.reference})"
                )
                remedy = "Correct the card, or the building's sites."
                sayings.troubles.append((names["building"][0], (named.written, reason, remedy, "inconsistent")))

    def _sides(self, names: Names, sayings: _Sayings) -> tuple[list[tuple[str, str]], str | None]:
        """Return the sides with their certainty, and the part; words that say neither are kept."""
        sides: list[tuple[str, str]] = []
        part: str | None = None
        if "subject" in names:
            part = self._part(names["subject"], sayings)
        if "elevation" not in names:
            return sides, part
        column, text = names["elevation"]
        for piece in split_values(text, self._separators["elevation"]):
            reading = read_compass(piece, self._tables["elevation"])
            if reading.value is not None:
                sides.append((str(reading.value), reading.certainty))
            elif reading.alternatives:
                sides += [(side, POSSIBLE) for side in reading.alternatives]
            elif reading.reason is not None:
                word = read_word(piece, self._tables["subject"])
                if word.value is None:
                    sayings.notes.append(CardNote("elevation", piece))
                    problem = (piece, reading.reason, "The words are kept as a note.", "not understood")
                    sayings.troubles.append((column, problem))
                    continue
                part = part or str(word.value)
                reading = word
            self._doubt("elevation", piece, reading.certainty, reading.alternatives, sayings)
        return sides, part

    def _part(self, cell: tuple[int, str], sayings: _Sayings) -> str | None:
        """Return the part that the subject column names; words beyond that are kept."""
        _, text = cell
        word = read_word(text, self._tables["subject"])
        if word.reason is None:
            self._doubt("subject", text, word.certainty, word.alternatives, sayings)
            return str(word.value) if word.value is not None else None
        sayings.notes.append(CardNote("subject", text))
        parts = {self._tables["subject"].get(fold(token.strip(",;:"))) for token in text.split()} - {None}
        return parts.pop() if len(parts) == 1 else None

    def _subjects(
        self,
        villages: list[Named],
        buildings: list[tuple[Named, bool]],
        sides: list[tuple[str, str]],
        part: str | None,
    ) -> list[Subject]:
        """Return a subject for each building, or for the village of a card without one."""
        if not buildings:
            several = len(villages) > 1
            return [
                Subject(
                    named,
                    is_place=True,
                    part=part,
                    certainty=POSSIBLE if several else named.certainty,
                    is_principal=not several,
                )
                for named in villages
            ]
        settled = [side for side, certainty in sides if certainty == CERTAIN]
        paired = len(buildings) == len(sides) == len(settled) > 1
        subjects: list[Subject] = []
        for place, (named, is_choice) in enumerate(buildings):
            own = [sides[place]] if paired else sides
            principal = place == 0 and not is_choice
            subjects += _of_building(named, own, part, principal=principal)
        return subjects

    def _standpoint(self, names: Names, sayings: _Sayings) -> Named | None:
        """Return where the camera stood: a known place, else the words."""
        if "taken_from" not in names:
            return None
        _, text = names["taken_from"]
        wording = split_doubt(text)
        self._doubt("taken_from", text, wording.certainty, wording.readings, sayings)
        if len(wording.readings) != 1:
            return Named(text, text, None, POSSIBLE)
        name = self.gazetteer.spell_out(wording.readings[0])
        return Named(text, name, self.gazetteer.place_exactly(name), wording.certainty)

    def _doubt(self, field: str, text: str, certainty: str, readings: tuple[str, ...], sayings: _Sayings) -> None:
        if certainty != CERTAIN:
            sayings.doubts.append(Doubt(field, text, certainty, readings if len(readings) > 1 else ()))

    def _ambiguous(self, table: str, meaning: Meaning, column: int, text: str, sayings: _Sayings) -> None:
        listed = "; ".join(self.gazetteer.describe(reference) for reference in meaning.candidates)
        reason = f"is {len(meaning.candidates)} {table} of one name: {listed}"
        problem = (text, reason, f"Say which under [{table}] in the mapping file.", "unknown name")
        sayings.troubles.append((column, problem))

    def _unknown(self, kind: str, name: str, meaning: Meaning, column: int, text: str, sayings: _Sayings) -> None:
        sayings.unknown.append((kind, name))
        if meaning.near:
            listed = " or ".join(f"{known} ({reference})" for reference, known in meaning.near)
            remedy = f"Settle it under [{kind}s] in the mapping file."
            problem = (text, f"is not known, but nearly {listed}", remedy, "unknown name")
            sayings.troubles.append((column, problem))


def _of_building(named: Named, sides: list[tuple[str, str]], part: str | None, *, principal: bool) -> list[Subject]:
    """
    Return the subjects of one building: its settled sides, and apart from it each side that is only possible.
    """
    settled = [side for side, certainty in sides if certainty == CERTAIN]
    open_sides = [(side, certainty) for side, certainty in sides if certainty != CERTAIN]
    subjects = [
        Subject(
            named,
            elevation=side,
            part=part or "elevation",
            certainty=named.certainty,
            is_principal=principal and place == 0,
        )
        for place, side in enumerate(settled)
    ] or [Subject(named, part=part, certainty=named.certainty, is_principal=principal)]
    for side, certainty in open_sides:
        weakest = POSSIBLE if POSSIBLE in (certainty, named.certainty) else certainty
        subjects.append(Subject(named, elevation=side, part=part or "elevation", certainty=weakest))
    return subjects
