"""Reading an old ledger of prints: one deed; every row asks the rules of the ledger, and none stops its neighbours."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from catalog.actions._ledger_desk import EntryFacts, Subject, at_ledger, write_entry
from catalog.actions._old_ledger_matches import SOMEBODY_NEW, compare, compare_events
from catalog.actions._old_ledger_rows import (
    EarlierPrint,
    earlier_prints,
    kept_event,
    kept_facts,
    lost_and_new,
    match,
)
from catalog.actions.desk import AT_DESK, Desk
from catalog.actions.print_facts import Signature, describe_within, fill_in, write_signed
from catalog.actions.prints import pull_old_print, pull_replacement, second_refused, write_down_print
from catalog.errors import AmbiguousNameError, NotFoundError, RefusedError
from catalog.intake.ledger_rows import OldEvent, OldLedger, OldPrint, OldRow, Who
from catalog.intake.when import Dated
from catalog.model import RecordedDate
from catalog.rules.folding import fold
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.locking import refusal_words
from catalog.store.names import find_by_name
from catalog.store.plain_writing import PlainDeed

KIND = "prints read"
_FIRM = re.compile(
    r"\b(?:gallery|galerie|museum|trust|ltd|limited|co|company|library|council|society|college|university|"
    r"foundation|school|bank|archive|auction|auctions|auctioneers|bookshop|studio)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class RowDone:
    """
    What became of one row, or would become.

    ``outcome`` is ``new``, ``matched`` (tells of a print that is in the catalogue already), ``here`` (read already),
    ``changed`` (tells of more than it did), ``repeat`` (of an earlier row), ``held`` (the mapping file must answer
    something first) or ``refused`` (by a rule). ``reason`` says why; ``public_reason`` without names of persons.
    ``events`` are those that were written, ``facts`` what was filled in of the print itself; ``stays`` says what could
    be added nowhere, and stays with the row.
    """

    old: OldPrint
    outcome: str
    print_id: int | None = None
    events: tuple[OldEvent, ...] = ()
    reason: str = ""
    public_reason: str = ""
    facts: tuple[str, ...] = ()
    stays: tuple[str, ...] = ()

    @property
    def is_left_out(self) -> bool:
        """Whether nothing was done for it that it asks for."""
        return self.outcome in ("held", "refused")


@dataclass(frozen=True, slots=True)
class LedgerRead:
    """What reading an old ledger did. ``deed_id`` is ``None`` when there was nothing to do, or for a rehearsal."""

    rows: tuple[RowDone, ...]
    persons: tuple[str, ...] = ()
    """The names of persons who were added."""
    gone: tuple[EarlierPrint, ...] = ()
    """Prints whose rows an earlier state of the file had, and this one lacks; they stay."""

    def count(self, outcome: str) -> int:
        """Return how many rows have this outcome."""
        return sum(row.outcome == outcome for row in self.rows)


class _NothingToDo(Exception):  # noqa: N818 - no fault: the way out of a deed that changes nothing
    pass


def read_old_ledger(
    archive: Archive, file: OldLedger, *, desk: Desk = AT_DESK, on_row: Callable[[], None] = lambda: None
) -> LedgerRead:
    """
    Read an old ledger into the catalogue as one deed; on a dry run every rule is asked, and nothing is kept.

    New rows become prints with the entries of their ledgers; a row that tells of more than when it was read adds
    entries; the rest is here already. A row that is asked about or refused is left out, its neighbours are done. A
    file in which nothing is new leaves no deed.
    """
    reading: _Reading | None = None
    try:
        with at_ledger(archive, KIND, desk) as deed:
            reading = _Reading(deed, file)
            reading.read(on_row)
            done = reading.done()
            if not (done.count("new") or done.count("changed") or done.count("matched")):
                raise _NothingToDo
            deed.say(_words(file, done))
    except _NothingToDo:
        pass
    assert reading is not None
    return reading.done()


def _words(file: OldLedger, done: LedgerRead) -> str:
    """Return what the daybook says; it names nobody."""
    new, more, persons = done.count("new"), done.count("changed"), len(done.persons)
    matched = done.count("matched")
    told = [f"{new} {'print' if new == 1 else 'prints'} written down"] if new else []
    told += [f"{matched} matched to {'a print' if matched == 1 else 'prints'} of the catalogue"] if matched else []
    told += [f"more written on {more}"] if more else []
    told += [f"{persons} {'person' if persons == 1 else 'persons'} added"] if persons else []
    return f"read {file.name}: {', '.join(told)}"


class _Reading:
    """The reading of one file within an open deed."""

    def __init__(self, deed: PlainDeed, file: OldLedger) -> None:
        self._deed, self._file = deed, file
        self._people: dict[str, int] = {}
        self._added: dict[int, str] = {}
        self._rows: dict[int, RowDone] = {}
        earlier = earlier_prints(deed.raw)
        self._matched = match(file.prints, earlier, file.name)
        self._met = {each.print_id for each in self._matched.values()}
        self._earlier = {each.print_id: each for each in earlier}
        self._gone = tuple(each for each in earlier if each.file == file.name and each.print_id not in self._met)
        self._file_id = deed.add("card_file", {
            "name": file.name, "sha256": file.sha256, "encoding": file.encoding, "mapping": file.mapping.text,
            "read_at": deed.at,
        })  # fmt: skip

    def read(self, on_row: Callable[[], None]) -> None:
        """Read every row, replacements after the prints they replace."""
        for old in sorted(self._file.prints, key=lambda old: (old.is_replacement, old.row)):
            self._rows[old.row] = self._read_row(old)
            on_row()

    def done(self) -> LedgerRead:
        """Return what was done so far, in the order of the file."""
        rows = tuple(self._rows[old.row] for old in self._file.prints if old.row in self._rows)
        return LedgerRead(rows, tuple(self._added.values()), self._gone)

    def _read_row(self, old: OldPrint) -> RowDone:
        earlier = self._matched.get(old.row)
        if old.repeats is not None:
            return RowDone(old, "repeat")
        if earlier is not None and not earlier.is_undone and earlier.digest == old.digest:
            return RowDone(old, "here", earlier.print_id)
        if old.questions:
            return RowDone(old, "held", earlier.print_id if earlier else None)
        if earlier is not None:
            return self._attempt(old, lambda: self._again(old, earlier))
        return self._attempt(old, lambda: self._new(old))

    def _attempt(self, old: OldPrint, work: Callable[[], RowDone]) -> RowDone:
        """Do a row whole, or leave nothing of it and say why."""
        before, people, added = len(self._deed.changes), dict(self._people), dict(self._added)
        self._deed.raw.execute("SAVEPOINT old_ledger_row")
        try:
            done = work()
        except (RefusedError, NotFoundError, AmbiguousNameError) as exc:
            reason = str(exc)
        except sqlite3.IntegrityError as exc:
            reason = refusal_words(str(exc))
        else:
            self._deed.raw.execute("RELEASE old_ledger_row")
            return done
        return self._left_out(old, reason, before, people, added)

    def _left_out(
        self, old: OldPrint, reason: str, before: int, people: dict[str, int], added: dict[int, str]
    ) -> RowDone:
        made = [f" (P{change[1]})" for change in self._deed.changes[before:] if change[:3:2] == ("print", "added")]
        reason = _cleared(" ".join(reason.split()))
        for reference in made:  # it was made only to be taken away again
            reason = reason.replace(reference, "")
        public = self._without_names(reason)
        self._deed.raw.execute("ROLLBACK TO old_ledger_row")
        self._deed.raw.execute("RELEASE old_ledger_row")
        for table, record_id, change, _, _ in self._deed.changes[before:]:
            if change == "added":
                self._deed.touched.get(table, set()).discard(record_id)
        del self._deed.changes[before:]
        self._people, self._added = people, added
        earlier = self._matched.get(old.row)
        return RowDone(old, "refused", earlier.print_id if earlier else None, (), reason, public)

    def _without_names(self, reason: str) -> str:
        """Return a refusal with its persons by reference alone."""
        for number in dict.fromkeys(re.findall(r"\(N(\d+)\)", reason)):
            row = self._deed.raw.execute("SELECT name FROM person WHERE id = ?", (int(number),)).fetchone()
            if row is not None:
                reason = reason.replace(f"{row[0]} (N{number})", f"N{number}")
        return reason

    # ---- a row that is new

    def _new(self, old: OldPrint) -> RowDone:
        there = self._there(old)
        if there is not None:
            return self._match(old, there)
        facts: dict[str, Any] = dict(old.facts)
        pulled_by = self._person(old.pulled_by, old)
        if pulled_by is not None:
            facts["pulled_by_id"] = pulled_by
        print_id = self._pull(old, facts)
        written = [self._write(print_id, event, old) for event in old.events]
        self._say(old, print_id, self._remember(old, print_id, written, pulled_by))
        self._met.add(print_id)
        return RowDone(old, "new", print_id, old.events)

    def _pull(self, old: OldPrint, facts: dict[str, Any]) -> int:
        deed, place, pulled = self._deed, old.place, _recorded(old.pulled)
        if old.is_replacement:
            return pull_replacement(deed, self._first(old), old.proof, pulled, RecordedDate(), facts)
        if place is None:
            return write_down_print(deed, pulled, facts)
        return pull_old_print(
            deed, place.run_id, place.series, place.ordinal, pulled, facts, as_written=place.as_written
        )  # fmt: skip

    def _first(self, old: OldPrint) -> int:
        """Return the print whose place a replacement takes: the one that carried its number and came to its end."""
        place = old.place
        if place is None:
            raise RefusedError("It is called a replacement, but no number says of which print.")
        row = self._deed.raw.execute(
            "SELECT p.id, p.life FROM print p JOIN print_number n ON n.id = p.print_number_id WHERE n.run_id = ?"
            " AND n.series = ? AND n.ordinal = ? AND p.life <> 'void' ORDER BY p.id DESC LIMIT 1",
            (place.run_id, place.series, place.ordinal),
        ).fetchone()
        if row is None:
            raise RefusedError(f"It is called a replacement, but there is no first print of {place.name}.")
        if row[1] == "live" and not self._is_gone(row[0]):
            raise second_refused(self._deed.raw, row[0], is_live=True)
        return int(row[0])

    def _is_gone(self, print_id: int) -> bool:
        row = self._deed.raw.execute("SELECT state FROM print_standing WHERE print_id = ?", (print_id,)).fetchone()
        return row is not None and row[0] in ("lost", "stolen")

    def _write(self, print_id: int, event: OldEvent, old: OldPrint) -> list[Any]:
        """Write one entry, and return it as the row remembers it."""
        person_id = self._person(event.who, old)
        if event.kind == "signed":
            write_signed(self._deed, print_id, Signature(where=event.words), _recorded(event.when))
        else:
            facts = EntryFacts(
                date=_recorded(event.when), person_id=person_id, place=event.place, price=event.price,
                due=_recorded(event.due), words=event.words,
            )  # fmt: skip
            write_entry(self._deed, Subject(print_id=print_id), event.kind, facts)
        return kept_event(event, person_id)

    def _person(self, who: Who | None, old: OldPrint) -> int | None:
        """Return the id of a person, adding one that nobody knew."""
        if who is None or who.person_id is not None:
            return who.person_id if who else None
        folded = fold(who.name)
        if folded not in self._people:
            known = find_by_name(self._deed.raw, who.name, "person")
            self._people[folded] = known[0] if len(known) == 1 else self._add_person(who.name, old)
        return self._people[folded]

    def _add_person(self, name: str, old: OldPrint) -> int:
        kind = "firm" if _FIRM.search(name) else "person"
        person_id = self._deed.add("person", {"name": name, "kind": kind}, is_searched=True)
        self._added[person_id] = name
        said = f"first named by {self._file.name}, row {old.row}"
        note = {"about": "person", "about_id": person_id, "heading": "old ledger", "text": said,
                "noted_at": self._deed.at}  # fmt: skip
        self._deed.add("note", note, is_searched=True)
        return person_id

    # ---- a row of a print that is in the catalogue already

    def _there(self, old: OldPrint) -> int | None:
        """
        Return the print of the catalogue that a row tells of: of its number, where no other row of the file is of it.

        A row that does not say it is of a replacement tells of the first print of its number.
        """
        if old.place is None:
            return None
        row = self._deed.raw.execute(
            "SELECT p.id FROM print p JOIN print_number n ON n.id = p.print_number_id WHERE n.run_id = ?"
            " AND n.series = ? AND n.ordinal = ? AND p.life <> 'void' AND (p.replaces_id IS NOT NULL) = ?"
            " ORDER BY p.id DESC LIMIT 1",
            (old.place.run_id, old.place.series, old.place.ordinal, old.is_replacement),
        ).fetchone()
        if row is None or row[0] in self._met:
            return None
        earlier = self._earlier.get(row[0])
        is_another_row = earlier is not None and earlier.file == self._file.name and not earlier.is_undone
        return None if is_another_row else int(row[0])

    def _match(self, old: OldPrint, print_id: int) -> RowDone:
        """Add what a row tells beyond its print and ledger, where nothing contradicts it."""
        pulled_by = self._known(old.pulled_by)
        people = [self._known(event.who) for event in old.events]
        found = compare(self._deed.raw, print_id, old, people, pulled_by)
        fill_in(self._deed, print_id, dict(found.facts))
        written = [kept_event(event, person or None) for event, person in zip(old.events, people, strict=True)]
        for place in found.lacking:
            written[place] = self._write(print_id, old.events[place], old)
        self._say(old, print_id, self._remember(old, print_id, written, pulled_by, is_matched=True))
        self._met.add(print_id)
        events = tuple(old.events[place] for place in found.lacking)
        return RowDone(old, "matched", print_id, events, facts=tuple(found.facts), stays=found.stays)

    def _known(self, who: Who | None) -> int | None:
        """Return the id of a person as far as it is known, without adding anybody."""
        if who is None or who.person_id is not None:
            return who.person_id if who else None
        return self._people.get(fold(who.name), SOMEBODY_NEW)

    # ---- a row that was read before

    def _again(self, old: OldPrint, earlier: EarlierPrint) -> RowDone:
        print_id = earlier.print_id
        if earlier.is_undone and earlier.is_matched:
            return self._match(old, print_id)
        people = [event.who.person_id if event.who else None for event in old.events]
        now = [kept_event(event, person) for event, person in zip(old.events, people, strict=True)]
        pulled_by = old.pulled_by.person_id if old.pulled_by else None
        fresh = list(range(len(now))) if earlier.is_undone else self._fresh(old, earlier, now, pulled_by)
        if not fresh and not earlier.is_undone:
            return RowDone(old, "here", print_id)
        if earlier.is_undone:  # only that it was made stands; what it is said to be may be mended
            describe_within(self._deed, print_id, **dict[str, Any](old.facts))
        known = [self._known(event.who) for event in old.events]
        found = compare_events(self._deed.raw, print_id, old.events, known, fresh)
        for place in found.lacking:
            now[place] = self._write(print_id, old.events[place], old)
        self._remember(old, print_id, now, pulled_by, is_matched=earlier.is_matched)
        events = tuple(old.events[place] for place in found.lacking)
        return RowDone(old, "changed", print_id, events, stays=found.stays)

    def _fresh(self, old: OldPrint, earlier: EarlierPrint, now: list[list[Any]], pulled_by: int | None) -> list[int]:
        """Return the places of events told of for the first time, or refuse a row that says otherwise than it did."""
        lost, fresh = lost_and_new(earlier.events, now)
        reference = format_reference("print", earlier.print_id)
        if lost:
            kinds = ", ".join(dict.fromkeys(event[0] for event in lost))
            raise RefusedError(
                f"It says otherwise than when it was read ({kinds}), and what stands in a ledger is not altered. "
                f"Correct {reference} by hand: tiebeam prints correct-entry {reference}."
            )
        if kept_facts(old, pulled_by or None) != earlier.said:
            raise RefusedError(
                f"It says otherwise of the print itself than when it was read. Correct {reference} by hand: "
                f"tiebeam prints correct {reference}."
            )
        return fresh

    def _remember(
        self, old: OldPrint, print_id: int, events: list[list[Any]], pulled_by: int | None, *, is_matched: bool = False
    ) -> int:
        """Keep the row as it stands, with what it gave, and return its id."""
        kept = {"events": events, "said": kept_facts(old, pulled_by or None), "is_matched": is_matched}
        facts = json.dumps(kept, ensure_ascii=False)
        row_id = self._add_row(print_id, old.key, OldRow(old.row, old.digest, old.cells), facts)
        for row in old.more_rows:
            self._add_row(print_id, old.key, row, None)
        return row_id

    def _add_row(self, print_id: int, key: str, row: OldRow, facts: str | None) -> int:
        return self._deed.add("card_row", {
            "card_file_id": self._file_id, "row": row.row, "row_key": key, "digest": row.digest,
            "cells": json.dumps(row.cells, ensure_ascii=False), "facts": facts, "print_id": print_id,
        })  # fmt: skip

    def _say(self, old: OldPrint, print_id: int, row_id: int) -> None:
        """Write what a row says beside, as notes and wordings on its print; a note that is there is not doubled."""
        said = {"about": "print", "about_id": print_id, "card_row_id": row_id, "noted_at": self._deed.at}
        there = self._deed.raw.execute("SELECT text FROM note WHERE about = 'print' AND about_id = ?", (print_id,))
        known = {fold(text) for (text,) in there}
        for note in old.notes:
            if fold(note.text) not in known:
                self._deed.add("note", {**said, "heading": note.heading, "text": note.text}, is_searched=True)
        for doubt in old.doubts:
            listed = json.dumps(list(doubt.alternatives), ensure_ascii=False) if doubt.alternatives else None
            self._deed.add("wording", {
                **said, "field": doubt.field, "as_written": doubt.as_written, "certainty": doubt.certainty,
                "alternatives": listed,
            }, is_searched=True)  # fmt: skip


def _cleared(reason: str) -> str:
    """Return a refusal without the words that nothing was changed: here its neighbours were done."""
    return reason.replace("; nothing was changed.", ".").replace(" Nothing was changed.", "")


def _recorded(dated: Dated) -> RecordedDate:
    return RecordedDate.of(dated.exposed, dated.words)
