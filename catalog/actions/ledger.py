"""The ledger: what happens to prints is written down, entry by entry, and never altered."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.actions._ledger_desk import (
    NOTHING_SAID,
    UNDATED,
    EntryFacts,
    Subject,
    at_ledger,
    entries_of,
    subject_words,
    who,
    write_entry,
)
from catalog.actions._ledger_documents import void_with_entry
from catalog.actions._ledger_rests import refuse_what_rests
from catalog.actions._print_runs import on_the_spot
from catalog.actions.desk import AT_DESK, Desk, join_phrases
from catalog.errors import LedgerError, RefusedError
from catalog.rules.editions import offer_warning
from catalog.rules.ledger_kinds import KINDS, LEAVING, LEDGER_KINDS, ON_NUMBER
from catalog.rules.money import Money
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.plain_writing import PlainDeed

__all__ = ["LEDGER_KINDS", "NOTHING_SAID", "UNDATED", "EntryFacts", "Subject", "Written", "correct_entry",
           "write_in_ledger"]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Written:
    """What a deed of the ledger did: the prints or numbers it was about, and what to warn of."""

    subjects: tuple[Subject, ...]
    warnings: tuple[str, ...] = ()


# These have deeds of their own, which see to more than the entry (``actions.prints``), or are written by them.
_ELSEWHERE = {"pulled": "prints pull", "replaced": "prints replace", "corrected": "a correction"}
# The command that writes each kind, where it is not the kind itself.
VERBS = {
    "promised": "promise", "reserved": "reserve", "released": "release", "signed": "sign", "framed": "frame",
    "consigned": "consign", "lent": "lend", "shown": "exhibit", "sold": "sell", "bought back": "buy-back",
    "given": "give", "returned": "return", "lost": "lose", "stolen": "steal", "found": "find", "damaged": "damage",
    "condition report": "report", "spoiled": "spoil", "destroyed": "destroy",
}  # fmt: skip


def write_in_ledger(
    archive: Archive,
    kind: str,
    subjects: Sequence[Subject],
    facts: EntryFacts = NOTHING_SAID,
    *,
    desk: Desk = AT_DESK,
    connection: sqlite3.Connection | None = None,
) -> Written:
    """
    Write one entry on each print or number, all or none.

    Raises:
        LedgerError: one of them cannot have it; the sentence names the print, who has it and since when.
    """
    if kind not in KINDS or kind in _ELSEWHERE:
        raise RefusedError(f"{kind!r} is no entry written by itself. {_ELSEWHERE.get(kind, '')}".strip())
    if not subjects:
        raise RefusedError("Name at least one print. Nothing was changed.")
    with at_ledger(archive, f"prints {VERBS.get(kind, kind)}", desk, connection) as deed:
        subjects = list(dict.fromkeys([on_the_spot(deed, subject) for subject in subjects]))
        warnings = [warning for subject in subjects for warning in _write_one(deed, subject, kind, facts)]
        told = ", ".join(subject_words(deed.raw, subject) for subject in subjects)
        deed.say(_told(kind, told, facts))
    return Written(tuple(subjects), tuple(warnings))


def _write_one(deed: PlainDeed, subject: Subject, kind: str, facts: EntryFacts) -> list[str]:
    if subject.number_id is not None and kind not in ON_NUMBER:
        what = subject_words(deed.raw, subject)
        raise LedgerError(f"{what} was not pulled yet: there is no print for an entry {kind!r}. Nothing was changed.")
    warning = _below_last_sale(deed.raw, subject, kind, facts.price)
    write_entry(deed, subject, kind, facts)
    return [warning] if warning else []


_OFFERS = frozenset({"promised", "reserved", "consigned", "sold"})


def _below_last_sale(connection: sqlite3.Connection, subject: Subject, kind: str, price: Money | None) -> str | None:
    if kind not in _OFFERS or price is None:
        return None
    row = connection.execute(_LAST_SALE, {"print": subject.print_id, "number": subject.number_id}).fetchone()
    last = Money(*row) if row else None
    return offer_warning(price, last, subject_words(connection, subject))


# The last sale by the photographer in the same run and size that was not corrected. "CROSS JOIN" keeps the order: from
# the run to its sales, never through every sale there is.
_LAST_SALE = """
    WITH mine AS (
        SELECT n.run_id, (SELECT size_id FROM print WHERE id = :print) AS size_id FROM print_number n
        WHERE n.id = coalesce(:number, (SELECT print_number_id FROM print WHERE id = :print))
    )
    SELECT e.price_minor, e.currency FROM mine
    CROSS JOIN print_number m ON m.run_id = mine.run_id
    CROSS JOIN print q ON q.print_number_id = m.id AND (mine.size_id IS NULL OR q.size_id IS mine.size_id)
    CROSS JOIN ledger_entry e
        ON e.print_id = q.id AND e.kind = 'sold' AND e.price_minor IS NOT NULL AND e.from_id IS NULL
    WHERE NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id)
    ORDER BY e.id DESC LIMIT 1
"""


def _told(kind: str, prints: str, facts: EntryFacts) -> str:
    """Return the daybook's words: names of persons and prices stay in the ledger itself."""
    return join_phrases(
        f"{kind}: {prints}",
        f"to {format_reference('person', facts.person_id)}" if facts.person_id is not None else None,
        f"by {format_reference('person', facts.from_id)}" if facts.from_id is not None else None,
        facts.place,
        facts.date.words or facts.date.edtf,
        f"until {facts.due.words or facts.due.edtf}" if facts.due.edtf else None,
        facts.words,
    )


def correct_entry(
    archive: Archive, entry_id: int, *, why: str, desk: Desk = AT_DESK, connection: sqlite3.Connection | None = None
) -> Written:
    """
    Take an entry out of the reckoning by a ``corrected`` entry that says why; the entry itself stays as written.

    Raises:
        LedgerError: later entries rest on it, it is corrected already, or its number left the house with it.
    """
    with at_ledger(archive, "prints correct-entry", desk, connection) as deed:
        subject = take_out(deed, entry_id, why)
        voided = [format_reference("document", each) for each in deed.changed("document")]
        told = f"corrected an entry of {subject_words(deed.raw, subject)}: {why}"
        deed.say(join_phrases(told, f"voided {', '.join(voided)}" if voided else None))
    return Written((subject,))


def take_out(deed: PlainDeed, entry_id: int, why: str) -> Subject:
    """
    Write the correction of one entry within an open deed, and return what it is on.

    Documents that tell of it (the note of a consignment, the invoice of a sale, a certificate) are voided.

    Raises:
        LedgerError: as ``correct_entry``.
    """
    row = deed.raw.execute(
        "SELECT print_id, print_number_id, kind FROM ledger_entry WHERE id = ?", (entry_id,)
    ).fetchone()
    if row is None:
        raise LedgerError(f"The ledger has no entry {entry_id}. Nothing was changed.")
    subject, kind = Subject(row[0], row[1]), row[2]
    _refuse_correction(deed.raw, subject, entry_id, kind)
    void_with_entry(deed, entry_id)
    write_entry(deed, subject, "corrected", EntryFacts(words=why.strip() or None, corrects_id=entry_id))
    return subject


def _refuse_correction(connection: sqlite3.Connection, subject: Subject, entry_id: int, kind: str) -> None:
    what = subject_words(connection, subject)
    if kind == "corrected":
        raise LedgerError(
            f"{what}: a correction is not corrected. Write down again what happened. Nothing was changed.",
            subject.print_id,
        )
    entries = entries_of(connection, subject)
    if any(entry.corrects_id == entry_id for entry in entries):
        raise LedgerError(f"{what}: this entry was corrected already. Nothing was changed.", subject.print_id)
    left = next((entry for entry in entries if entry.kind in LEAVING), None)
    if kind == "pulled" and left is not None:
        person = f" with {who(connection, left.person_id)}" if left.person_id is not None else ""
        raise LedgerError(
            f"{what} left the house{person} ({left.kind}), so its number is never free again. "
            "Write down what became of it instead. Nothing was changed.",
            subject.print_id,
        )
    refuse_what_rests(connection, subject, entry_id, kind)
