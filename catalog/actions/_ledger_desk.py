"""How a ledger deed is done at the desk: plain SQL in one transaction, entries checked by the rules of the ledger."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from catalog.actions.desk import Desk, Done, NotKept, rehearsed_or_kept
from catalog.errors import LedgerError, NotFoundError
from catalog.model import RecordedDate
from catalog.rules.ledger import (
    Entry,
    ImpossibleEntryError,
    Refusal,
    Standing,
    after,
    beyond,
    missing,
    standing,
    why_not,
)
from catalog.rules.ledger_kinds import VOID
from catalog.rules.money import Money
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.deed_records import touched_records
from catalog.store.ledger import keep_standing, read_entries, read_number_entries
from catalog.store.names import describe
from catalog.store.plain_writing import PlainDeed, plain_deed

UNDATED = RecordedDate()


@dataclass(frozen=True, slots=True)
class EntryFacts:
    """What an entry of the ledger says beside its kind. A person who is ``None`` is nobody in particular."""

    date: RecordedDate = UNDATED
    person_id: int | None = None
    from_id: int | None = None
    place: str | None = None
    price: Money | None = None
    due: RecordedDate = UNDATED
    document_id: int | None = None
    words: str | None = None
    corrects_id: int | None = None
    replacement_id: int | None = None


NOTHING_SAID = EntryFacts()


@dataclass(frozen=True, slots=True)
class Subject:
    """
    What an entry is on: a print, or a print number that has none.

    ``place`` names a number that may not have been given yet: its run, series and place, ``None`` for the next.
    """

    print_id: int | None = None
    number_id: int | None = None
    place: tuple[int, str, int | None] | None = None


@contextmanager
def at_ledger(
    archive: Archive, kind: str, desk: Desk, connection: sqlite3.Connection | None = None
) -> Iterator[PlainDeed]:
    """
    Do one deed of the ledger; ``PlainDeed.say`` gives its words.

    ``connection`` is one that the caller keeps open over many deeds (``store.plain_writing.writing_connection``).

    Raises:
        RefusedError: a rule forbids it. Nothing is changed.
    """
    done = Done(kind, ())
    with (
        rehearsed_or_kept(),
        plain_deed(archive, kind, kind, connection=connection, on_wait=desk.on_wait) as deed,
    ):
        yield deed
        changes = [change[:3] for change in deed.changes] if desk.tell else ()
        done = Done(deed.words, touched_records(deed.raw, changes))
        if desk.dry_run:
            raise NotKept
    desk.hear(done)


def write_entry(
    deed: PlainDeed, subject: Subject, kind: str, facts: EntryFacts = NOTHING_SAID, *, is_first: bool = False
) -> Standing:
    """
    Write one entry after seeing that it can come, keep how the print then stands, and return that.

    ``is_first`` says that nothing can have been written before: the number was given and the print made just now.

    Raises:
        LedgerError: it cannot come after those before it, lacks something, or says what its kind has no use for.
    """
    before = [] if is_first else entries_of(deed.raw, subject)
    # Above all of them: those on the number come first, though one may have been written after the print's own.
    entry = _as_entry(max((earlier.id for earlier in before), default=0) + 1, kind, facts)
    _refuse_unfit(deed.raw, subject, entry)
    if kind == "corrected":
        then = _corrected(deed.raw, subject, before, entry)
    else:
        now = standing(before)
        refusal = why_not(now, entry)
        if refusal is not None:
            raise refused(deed.raw, subject, refusal)
        then = standing([*before, entry]) if now.state == VOID else after(now, entry)
    entry_id = deed.add("ledger_entry", _as_row(subject, entry, facts, deed.at))
    if then.entry_id == entry.id:
        then = replace(then, entry_id=entry_id)
    if subject.print_id is not None:
        keep_standing(deed.raw, subject.print_id, then)
    if subject.print_id is None or kind == "corrected":
        _keep_heirs(deed.raw, subject)
    return then


def _keep_heirs(connection: sqlite3.Connection, subject: Subject) -> None:
    """Keep anew how the prints stand that took over what was promised on a number or on the print they replace."""
    if subject.print_id is not None:
        found = connection.execute("SELECT id FROM print WHERE replaces_id = ?", (subject.print_id,))
    else:
        found = connection.execute(
            "SELECT id FROM print WHERE print_number_id = ? AND replaces_id IS NULL", (subject.number_id,)
        )
    for (print_id,) in found.fetchall():
        heir = Subject(print_id=print_id)
        try:
            keep_standing(connection, print_id, standing(read_entries(connection, print_id)))
        except ImpossibleEntryError as exc:
            raise entry_rests(connection, heir, exc.entry.id, exc.entry.kind) from exc
        _keep_heirs(connection, heir)


def settled(connection: sqlite3.Connection, subject: Subject) -> Subject:
    """Return the print that carries a number now, where there is one: what happens to it is on the print."""
    if subject.number_id is None:
        return subject  # a place that has no number yet is given one by whoever writes on it
    row = connection.execute(
        "SELECT id FROM print WHERE print_number_id = ? AND life <> 'void' ORDER BY id DESC LIMIT 1",
        (subject.number_id,),
    ).fetchone()
    return Subject(print_id=row[0]) if row else subject


def _corrected(connection: sqlite3.Connection, subject: Subject, before: list[Entry], entry: Entry) -> Standing:
    """Return how it stands once an entry is taken out, or refuse where the rest could not have happened."""
    try:
        return standing([*before, entry])
    except ImpossibleEntryError as exc:
        raise entry_rests(connection, subject, exc.entry.id, exc.entry.kind) from exc


def entry_rests(connection: sqlite3.Connection, subject: Subject, entry_id: int, kind: str) -> LedgerError:
    """Return the refusal to take an entry out on which another rests, cited by its place in the ledger."""
    on = "print_id = ?" if subject.print_id is not None else "print_number_id = ?"
    number = connection.execute(
        f"SELECT count(*) FROM ledger_entry WHERE {on} AND id <= ?", (subject.print_id or subject.number_id, entry_id)
    ).fetchone()[0]
    return LedgerError(
        f"{subject_words(connection, subject)}: entry {number} ({kind}) rests on the one to be corrected. "
        "Correct that one first. Nothing was changed.",
        subject.print_id,
    )


def entries_of(connection: sqlite3.Connection, subject: Subject) -> list[Entry]:
    """Return what a print or a number is reckoned by."""
    if subject.print_id is not None:
        return read_entries(connection, subject.print_id)
    assert subject.number_id is not None
    return read_number_entries(connection, subject.number_id)


def _as_entry(entry_id: int, kind: str, facts: EntryFacts) -> Entry:
    date, due, price = facts.date, facts.due, facts.price
    return Entry(
        entry_id, kind, date.edtf, date.earliest, date.latest, date.doubt, facts.person_id, facts.from_id, facts.place,
        price.minor if price else None, price.currency if price else None, due.edtf, due.latest, facts.words,
        facts.corrects_id, facts.replacement_id,
    )  # fmt: skip


def _as_row(subject: Subject, entry: Entry, facts: EntryFacts, at: str) -> dict[str, Any]:
    return {
        "print_id": subject.print_id, "print_number_id": subject.number_id, "kind": entry.kind,
        **date_columns("date", facts.date), "person_id": entry.person_id, "from_id": entry.from_id,
        "place": entry.place, "price_minor": entry.price_minor, "currency": entry.currency,
        **date_columns("due", facts.due), "document_id": facts.document_id, "words": entry.words,
        "corrects_id": entry.corrects_id, "replacement_id": entry.replacement_id, "written_at": at,
    }  # fmt: skip


def date_columns(name: str, date: RecordedDate) -> dict[str, Any]:
    """Return a date as its five columns."""
    return {
        f"{name}_edtf": date.edtf, f"{name}_words": date.words, f"{name}_earliest": date.earliest,
        f"{name}_latest": date.latest, f"{name}_doubt": date.doubt,
    }  # fmt: skip


_NEEDS = {
    "person": "a person", "place": "a place", "price": "a price", "due": "until when", "words": "words that say why",
    "corrects": "the entry it corrects", "replacement": "the print that takes its place",
}  # fmt: skip
_BEYOND = {
    "person": "a person", "place": "a place", "price": "a price", "due": "a date until when",
    "from": "somebody who passed it on",
}  # fmt: skip


def _refuse_unfit(connection: sqlite3.Connection, subject: Subject, entry: Entry) -> None:
    lacking, useless = missing(entry), beyond(entry)
    what = subject_words(connection, subject) if lacking or useless else ""
    if lacking:
        needs = " and ".join(_NEEDS[need] for need in lacking)
        raise LedgerError(f"{what}: an entry {entry.kind!r} needs {needs}. Nothing was changed.", subject.print_id)
    if useless:
        said = " and ".join(_BEYOND.get(part, part) for part in useless)
        raise LedgerError(f"{what}: an entry {entry.kind!r} has no use for {said}. Nothing was changed.",
                          subject.print_id)  # fmt: skip
    for person_id in (entry.person_id, entry.from_id):
        if person_id is not None:
            who(connection, person_id)


def refused(connection: sqlite3.Connection, subject: Subject, refusal: Refusal) -> LedgerError:
    """Return a refusal of the rules with the print and the persons named."""
    sentence = refusal.in_words(subject_words(connection, subject), lambda person: who(connection, person))
    return LedgerError(f"{sentence} Nothing was changed.", subject.print_id)


def who(connection: sqlite3.Connection, person_id: int | None) -> str:
    """
    Return a person as a refusal names them; ``None`` is the photographer's house.

    Raises:
        NotFoundError: there is no such person.
    """
    if person_id is None:
        return "the house"
    row = connection.execute("SELECT name FROM person WHERE id = ?", (person_id,)).fetchone()
    reference = format_reference("person", person_id)
    if row is None:
        raise NotFoundError(f"There is no person {reference}. Nothing was changed.")
    return f"{row[0]} ({reference})"


def subject_words(connection: sqlite3.Connection, subject: Subject) -> str:
    """
    Return a print or a number as sentences name it: ``E1 7/15 (P88)``, ``E1 8/15``.

    Raises:
        NotFoundError: it is not there.
    """
    if subject.print_id is not None:
        reference = format_reference("print", subject.print_id)
        words = describe(connection, "print", subject.print_id)
        if words is None:
            raise NotFoundError(f"There is no print {reference}. Nothing was changed.")
        return f"{words} ({reference})"
    row = connection.execute(
        "SELECT r.edition_id, n.written FROM print_number n JOIN run r ON r.id = n.run_id WHERE n.id = ?",
        (subject.number_id,),
    ).fetchone()
    if row is None:
        raise NotFoundError("There is no such print number. Nothing was changed.")
    return f"{format_reference('edition', row[0])} {row[1]}"
