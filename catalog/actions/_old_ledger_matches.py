"""What a row of an old ledger tells of a print that is in the catalogue already: known, lacking, or contradicted."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from catalog.dates import EdtfDate, edtf_in_words, parse_edtf
from catalog.errors import RefusedError
from catalog.intake.ledger_names import plain_measure
from catalog.intake.ledger_rows import OldEvent, OldPrint
from catalog.rules.folding import fold
from catalog.rules.ledger import Entry, in_force
from catalog.rules.ledger_kinds import AWAY_FROM_HOUSE, KINDS
from catalog.rules.references import format_reference
from catalog.store.ledger import read_entries

_ONCE = frozenset({"signed", "sold", "given", "lost", "stolen", "spoiled", "destroyed"})
"""Kinds that an old ledger tells of a print once, if they are of one person."""
_LEFT_OUT = frozenset({"drawer", "returned", *AWAY_FROM_HOUSE, "shown"})
"""Kinds that say where a print was at a time: one that came before what the catalogue knows may stay with the row."""
_ABOUT_DAYS = 366
SOMEBODY_NEW = 0
"""Stands for a person who is not in the catalogue: no reference is N0."""


@dataclass(frozen=True, slots=True)
class Compared:
    """
    What a row tells beyond the catalogue.

    ``lacking`` are the places of those of its events that the ledger has not; ``facts`` the columns of the print it
    fills; ``stays`` what can be added nowhere, for an entry is not altered and none comes before another: in words.
    """

    lacking: tuple[int, ...] = ()
    facts: Mapping[str, str | int] = field(default_factory=dict)
    stays: tuple[str, ...] = ()


def compare(
    connection: sqlite3.Connection, print_id: int, old: OldPrint, people: Sequence[int | None], pulled_by: int | None
) -> Compared:
    """
    Compare a row with a print of its number; ``people`` are those of its events.

    Raises:
        RefusedError: they contradict each other.
    """
    facts, unlike = _facts(connection, print_id, old)
    told = _Told(connection, print_id, old.events, people, range(len(old.events)))
    unlike += told.unlike
    made, stays = _pulling(told.ledger, old, pulled_by)
    if unlike or made:
        raise _contradicted(print_id, [*made, *unlike])
    return Compared(tuple(told.lacking), facts, (*stays, *told.stays))


def compare_events(
    connection: sqlite3.Connection, print_id: int, events: Sequence[OldEvent], people: Sequence[int | None],
    asked: Collection[int],
) -> Compared:  # fmt: skip
    """
    Compare the events at some places of a row, ``asked``, with the ledger of its print; the others it gave before.

    Raises:
        RefusedError: they contradict each other.
    """
    told = _Told(connection, print_id, events, people, asked)
    if told.unlike:
        raise _contradicted(print_id, told.unlike)
    return Compared(tuple(told.lacking), {}, tuple(told.stays))


def _contradicted(print_id: int, unlike: Sequence[str]) -> RefusedError:
    reference = format_reference("print", print_id)
    return RefusedError(
        f"{reference} is in the catalogue, and the row says otherwise: {'; '.join(unlike)}. Mend the row, or correct "
        f"{reference} by hand: tiebeam prints correct {reference}, tiebeam prints correct-entry {reference}."
    )


# ---- the print itself


def _facts(connection: sqlite3.Connection, print_id: int, old: OldPrint) -> tuple[dict[str, str | int], list[str]]:
    """Return the facts that the catalogue has not, and those that contradict it."""
    names = [*old.facts, "print_number_id"]
    row = connection.execute(f"SELECT {', '.join(names)} FROM print WHERE id = ?", (print_id,)).fetchone()
    now = dict(zip(names, row, strict=True))
    lacking = {name: value for name, value in old.facts.items() if now[name] is None}
    unlike = [
        f"its {name.removesuffix('_id').replace('_', ' ')} is another"
        for name, value in old.facts.items()
        if now[name] is not None and not _is_same_fact(name, now[name], value)
    ]
    written = connection.execute("SELECT written FROM print_number WHERE id = ?", (now["print_number_id"],)).fetchone()
    if old.place is not None and old.place.as_written is not None and written and written[0] != old.place.as_written:
        unlike.append(f"{written[0]} is written on it, not {old.place.as_written}")
    return lacking, unlike


def _is_same_fact(name: str, one: str | int, other: str | int) -> bool:
    if isinstance(one, int) or isinstance(other, int):
        return one == other
    if name == "markings":  # each may tell a part of what stands on the back
        return fold(one) in fold(other) or fold(other) in fold(one)
    if name in ("image_size", "paper_size"):
        return plain_measure(one) == plain_measure(other)
    return fold(one) == fold(other)


def _pulling(ledger: Sequence[Entry], old: OldPrint, pulled_by: int | None) -> tuple[list[str], list[str]]:
    """Return what a row says otherwise of the pulling of a print, and what it says more."""
    entry = next((entry for entry in ledger if entry.kind == "pulled"), None)
    if entry is None:
        return [], []
    unlike, stays = [], []
    if not _dates_agree(old.pulled.exposed, _date(entry.date_edtf)):
        unlike.append(f"it was pulled {edtf_in_words(entry.date_edtf)}")
    elif old.pulled.exposed is not None and entry.date_edtf is None:
        stays.append("when it was pulled")
    if pulled_by is not None and entry.person_id is None:
        stays.append("who pulled it")
    elif pulled_by is not None and pulled_by != entry.person_id:
        unlike.append("another pulled it")
    return unlike, stays


# ---- what happened to it


class _Told:
    """What the events of a row are in the ledger of a print."""

    def __init__(
        self, connection: sqlite3.Connection, print_id: int, events: Sequence[OldEvent],
        people: Sequence[int | None], asked: Collection[int],
    ) -> None:  # fmt: skip
        self._connection, self._print_id = connection, print_id
        self.ledger = in_force(read_entries(connection, print_id))
        places = [entry for entry in self.ledger if _says_where(entry.kind)]
        self._last = places[-1] if len(places) > 1 else None
        self._left = list(self.ledger)
        self._is_settled = self._last is None  # whether what comes now comes after all that the ledger tells
        self.lacking: list[int] = []
        self.unlike: list[str] = []
        self.stays: list[str] = []
        found = self._matches(events, people)
        for place, (event, person) in enumerate(zip(events, people, strict=True)):
            entry = found.get(place)
            if entry is not None:
                self._is_settled = self._is_settled or entry is self._last
                self.stays += self._more(entry, event) if place in asked else []
            elif place in asked:
                self._lacks(place, event, person)

    def _matches(self, events: Sequence[OldEvent], people: Sequence[int | None]) -> dict[int, Entry]:
        """Return the entry that each event is, by place; one entry is one event."""
        found: dict[int, Entry] = {}
        for is_exact in (True, False):
            for place, (event, person) in enumerate(zip(events, people, strict=True)):
                entry = next((e for e in self._left if _is_it(e, event, person, is_exact)), None)
                if place not in found and entry is not None:
                    found[place] = entry
                    self._left.remove(entry)
        return found

    def _lacks(self, place: int, event: OldEvent, person: int | None) -> None:
        unlike = next((entry for entry in self._left if _is_otherwise(entry, event, person)), None)
        if unlike is not None:
            self.unlike.append(f"{self._cited(unlike)} has {_difference(unlike, event)}")
        elif not _says_where(event.kind):
            self.lacking.append(place)
        elif self._is_settled or self._is_later(event):
            self.lacking.append(place)
            self._is_settled = True
        elif event.kind in _LEFT_OUT:
            self.stays.append(f"that it was {_done(event)}, which is not surely after {self._cited(self._last)}")
        elif event.when.exposed is None:
            self.unlike.append(f"when it was {event.kind} is not said, and {self._cited(self._last)} stands there")
        elif self._is_earlier(event):
            self.unlike.append(f"it was {_done(event)}, and {self._cited(self._last)} came after that")
        else:
            self.lacking.append(place)  # the rules of the ledger say whether it can come

    def _is_earlier(self, event: OldEvent) -> bool:
        date, last = event.when.exposed, _date(self._last.date_edtf) if self._last else None
        return date is not None and last is not None and date.surely_before(last)

    def _is_later(self, event: OldEvent) -> bool:
        """Return whether an event surely came no earlier than the last movement in the ledger."""
        date, last = event.when.exposed, self._last
        if date is None or date.doubt or date.earliest is None or last is None or last.doubt or last.earliest is None:
            return False
        return date.earliest >= last.earliest

    def _more(self, entry: Entry, event: OldEvent) -> list[str]:
        """Return what an event tells that its entry has not."""
        told = {
            "date": event.when.exposed is not None and entry.date_edtf is None,
            "place": event.place is not None and not entry.place,
            "price": event.price is not None and entry.price_minor is None,
            "day due": event.due.exposed is not None and entry.due_edtf is None,
        }
        return [f"the {what} of {self._cited(entry)}" for what, is_more in told.items() if is_more]

    def _cited(self, entry: Entry | None) -> str:
        assert entry is not None
        number = self._connection.execute(
            "SELECT count(*) FROM ledger_entry WHERE print_id = ? AND id <= ?", (self._print_id, entry.id)
        ).fetchone()[0]
        when = f" {edtf_in_words(entry.date_edtf)}" if entry.date_edtf else ""
        return f"entry {number} ({entry.kind}{when})"


def _says_where(kind: str) -> bool:
    return KINDS[kind].moves or kind == "drawer"


def _done(event: OldEvent) -> str:
    word = "put in a drawer" if event.kind == "drawer" else event.kind
    return f"{word} {edtf_in_words(event.when.exposed.text)}" if event.when.exposed else word


def _is_it(entry: Entry, event: OldEvent, person: int | None, is_exact: bool) -> bool:
    """Return whether an entry tells of an event; an exact one has its date, else all that both say agrees."""
    if entry.kind != event.kind or not _is_same_person(entry, person) or _differences(entry, event):
        return False
    date = event.when.exposed
    return not is_exact or (date.text if date else None) == entry.date_edtf


def _is_otherwise(entry: Entry, event: OldEvent, person: int | None) -> bool:
    """Return whether an entry tells of the same happening as an event, but not the same of it."""
    if entry.kind != event.kind or not _is_same_person(entry, person):
        return False
    unlike = _differences(entry, event)
    if event.kind in _ONCE:
        return True
    return bool(unlike) and "date" not in unlike and event.kind != "drawer"


def _is_same_person(entry: Entry, person: int | None) -> bool:
    return person is None or entry.person_id is None or entry.person_id == person


def _difference(entry: Entry, event: OldEvent) -> str:
    return "another " + " and another ".join(_differences(entry, event) or ["wording"])


def _differences(entry: Entry, event: OldEvent) -> list[str]:
    price = None if event.price is None else (event.price.minor, event.price.currency)
    unlike = {
        "date": not _dates_agree(event.when.exposed, _date(entry.date_edtf)),
        "place": bool(event.place and entry.place) and fold(event.place or "") != fold(entry.place or ""),
        "price": None not in (price, entry.price_minor) and price != (entry.price_minor, entry.currency),
        "day due": not _dates_agree(event.due.exposed, _date(entry.due_edtf)),
    }
    return [what for what, is_unlike in unlike.items() if is_unlike]


def _date(edtf: str | None) -> EdtfDate | None:
    return parse_edtf(edtf) if edtf is not None else None


def _dates_agree(one: EdtfDate | None, other: EdtfDate | None) -> bool:
    """Return whether two dates may be of one day; "about" is meant a year either way."""
    if one is None or other is None:
        return True
    return not (one.surely_before(other, _ABOUT_DAYS) or other.surely_before(one, _ABOUT_DAYS))
