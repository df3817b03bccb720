"""The ledger to read: the entries of prints and numbers, how each print stands, and who has what."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from operator import itemgetter

from catalog.errors import NotFoundError
from catalog.rules.ledger import Entry, ImpossibleEntryError, Standing, standing
from catalog.rules.references import format_reference

_ENTRY = """
    SELECT e.id, e.kind, e.date_edtf, e.date_earliest, e.date_latest, e.date_doubt, e.person_id, e.from_id, e.place,
        e.price_minor, e.currency, e.due_edtf, e.due_latest, e.words, e.corrects_id, e.replacement_id
    FROM ledger_entry e
"""
OF_PRINT = f"{_ENTRY} WHERE e.print_id = ? ORDER BY e.id"
OF_NUMBER = f"{_ENTRY} WHERE e.print_number_id = ? ORDER BY e.id"


def read_entries(connection: sqlite3.Connection, print_id: int) -> list[Entry]:
    """
    Return what a print is reckoned by, in the order of writing: what it took over, then its own entries.

    It takes over what was promised on its number before it was pulled; a replacement, the promise that stood when
    the first print came to its end.
    """
    own = read_own_entries(connection, print_id)
    number_id, replaces_id = connection.execute(
        "SELECT print_number_id, replaces_id FROM print WHERE id = ?", (print_id,)
    ).fetchone() or (None, None)
    if replaces_id is not None:
        return taken_over(read_entries(connection, replaces_id)) + own
    return (read_number_entries(connection, number_id) if number_id is not None else []) + own


def read_own_entries(connection: sqlite3.Connection, print_id: int) -> list[Entry]:
    """Return what was written on a print itself, in the order of writing."""
    return [Entry(*row) for row in connection.execute(OF_PRINT, (print_id,))]


def taken_over(first: list[Entry]) -> list[Entry]:
    """Return the promise that a replacement takes over from the print it replaces, if one stood."""
    hold = standing(first).hold
    return [] if hold is None else [entry for entry in first if entry.id == hold.entry_id]


def read_number_entries(connection: sqlite3.Connection, number_id: int) -> list[Entry]:
    """Return what was written on a print number while it had no print."""
    return [Entry(*row) for row in connection.execute(OF_NUMBER, (number_id,))]


def read_standing(connection: sqlite3.Connection, print_id: int) -> Standing:
    """Return how a print stands, reckoned from its entries."""
    return standing(read_entries(connection, print_id))


STANDING_COLUMNS = (
    "state", "custodian_id", "owner_id", "entry_id", "since", "due", "due_latest", "place", "value_minor",
    "currency", "is_out", "is_signed", "hold", "held_for_id", "held_until",
)  # fmt: skip


def standing_values(now: Standing) -> tuple[object, ...]:
    """Return a standing as its row keeps it, in the order of ``STANDING_COLUMNS``."""
    hold = now.hold
    return (
        now.state, now.custodian_id, now.owner_id, now.entry_id, now.since_edtf, now.due_edtf, now.due_latest,
        now.place, now.value_minor, now.currency, int(now.is_out), int(now.is_signed), hold.kind if hold else None,
        hold.person_id if hold else None, hold.until_edtf if hold else None,
    )  # fmt: skip


_KEEP = (
    f"INSERT OR REPLACE INTO print_standing (print_id, {', '.join(STANDING_COLUMNS)})"
    f" VALUES ({', '.join('?' * (len(STANDING_COLUMNS) + 1))})"
)


def keep_standing(connection: sqlite3.Connection, print_id: int, now: Standing) -> None:
    """Keep how a print stands beside its ledger, within the open transaction."""
    connection.execute(_KEEP, (print_id, *standing_values(now)))


# ---- entries to show


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """
    An entry as it is shown. ``number`` is its place in the ledger of its print; ``print_id`` is ``None`` for one
    on a number that has no print.

    Names of persons and prices are private: whoever prints a list leaves them out unless asked (``WHO_AND_PRICE``).
    """

    id: int
    number: int
    print_id: int | None
    print_number_id: int | None
    edition_id: int | None
    written: str | None
    kind: str
    date_edtf: str | None
    date_words: str | None
    date_earliest: int | None
    date_latest: int | None
    person_id: int | None
    person: str | None
    from_id: int | None
    from_name: str | None
    place: str | None
    price_minor: int | None
    currency: str | None
    due_edtf: str | None
    due_words: str | None
    due_earliest: int | None
    due_latest: int | None
    document_id: int | None
    words: str | None
    corrects: int | None
    """The number of the entry it takes out of the reckoning."""
    corrected_by: int | None
    """The number of the entry that took it out."""
    replacement_id: int | None
    written_at: str


LEDGER = """
    SELECT e.id,
        (SELECT count(*) FROM ledger_entry o WHERE (o.print_id = e.print_id OR o.print_number_id = e.print_number_id)
            AND o.id <= e.id) AS number,
        e.print_id, e.print_number_id, r.edition_id, n.written, e.kind,
        e.date_edtf, e.date_words, e.date_earliest, e.date_latest, e.person_id, who.name AS person,
        e.from_id, seller.name AS from_name, e.place, e.price_minor, e.currency,
        e.due_edtf, e.due_words, e.due_earliest, e.due_latest, e.document_id, e.words,
        (SELECT count(*) FROM ledger_entry o WHERE e.corrects_id IS NOT NULL AND o.id <= e.corrects_id
            AND (o.print_id = e.print_id OR o.print_number_id = e.print_number_id)) AS corrects,
        (SELECT count(*) FROM ledger_entry c JOIN ledger_entry o
            ON (o.print_id = e.print_id OR o.print_number_id = e.print_number_id) AND o.id <= c.id
            WHERE c.corrects_id = e.id) AS corrected_by,
        e.replacement_id, e.written_at
    FROM ledger_entry e
    LEFT JOIN print p ON p.id = e.print_id
    LEFT JOIN print_number n ON n.id = coalesce(e.print_number_id, p.print_number_id)
    LEFT JOIN run r ON r.id = n.run_id
    LEFT JOIN person who ON who.id = e.person_id
    LEFT JOIN person seller ON seller.id = e.from_id
"""
LEDGER_OF = {
    "print": f"{LEDGER} WHERE e.print_id = :id OR e.print_number_id ="
    " (SELECT print_number_id FROM print WHERE id = :id AND replaces_id IS NULL) ORDER BY e.id",
    "print_number": f"{LEDGER} WHERE e.print_number_id = :id"
    " OR e.print_id IN (SELECT id FROM print WHERE print_number_id = :id) ORDER BY e.id",
    "edition": f"{LEDGER} WHERE e.print_id IN (SELECT q.id FROM print q JOIN print_number m ON m.id = q.print_number_id"
    " JOIN run s ON s.id = m.run_id WHERE s.edition_id = :id) OR e.print_number_id IN (SELECT m.id FROM print_number m"
    " JOIN run s ON s.id = m.run_id WHERE s.edition_id = :id) ORDER BY e.id",
    "person": f"{LEDGER} WHERE e.person_id = :id OR e.from_id = :id ORDER BY e.id",
}
"""The entries about one record, by its table; ``:id`` is its id."""


def list_entries(connection: sqlite3.Connection, table: str, record_id: int) -> list[LedgerRow]:
    """Return the ledger of a print, of a number with all its prints, of an edition, or of a person."""
    rows = [LedgerRow(*row) for row in connection.execute(LEDGER_OF[table], {"id": record_id})]
    return [replace(row, corrects=row.corrects or None, corrected_by=row.corrected_by or None) for row in rows]


def entry_by_number(connection: sqlite3.Connection, print_id: int, number: int) -> int:
    """
    Return the id of an entry cited by its place in the ledger of its print.

    Raises:
        NotFoundError: the ledger has no such place.
    """
    found = connection.execute(
        "SELECT id FROM ledger_entry WHERE print_id = ? ORDER BY id LIMIT 1 OFFSET ?", (print_id, number - 1)
    ).fetchone()
    if number < 1 or found is None:
        raise NotFoundError(f"The ledger of {format_reference('print', print_id)} has no entry {number}.")
    entry_id: int = found[0]
    return entry_id


# ---- check


def standing_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Reckon every print anew from its ledger and yield where what is kept beside it says otherwise."""
    kept = {row[0]: row[1:] for row in connection.execute(_KEPT)}
    for print_id, entries in _all_entries(connection):
        reference = format_reference("print", print_id)
        try:
            now = standing(entries)
        except ImpossibleEntryError as exc:
            yield f"{reference}: its ledger cannot be: {exc}"
            kept.pop(print_id, None)
            continue
        if kept.pop(print_id, None) != standing_values(now):
            yield f"{reference} is not kept as its ledger says ({now.state}). Run: tiebeam check --mend"
    for print_id in sorted(kept):
        yield f"{format_reference('print', print_id)} has no ledger. Restore the newest sound file of backups/."


_KEPT = f"SELECT print_id, {', '.join(STANDING_COLUMNS)} FROM print_standing"
_PROMISED = (
    f"{_ENTRY.replace('SELECT', 'SELECT p.id,', 1)} JOIN print p ON p.print_number_id = e.print_number_id"
    " AND p.replaces_id IS NULL"
)
_OWN = _ENTRY.replace("SELECT", "SELECT e.print_id,", 1) + " WHERE e.print_id IS NOT NULL ORDER BY e.print_id, e.id"


def _all_entries(connection: sqlite3.Connection) -> Iterator[tuple[int, list[Entry]]]:
    promised: dict[int, list[Entry]] = {}
    for row in connection.execute(f"{_PROMISED} ORDER BY e.id"):
        promised.setdefault(row[0], []).append(Entry(*row[1:]))
    replacements = {row[0] for row in connection.execute("SELECT id FROM print WHERE replaces_id IS NOT NULL")}
    for print_id, rows in groupby(connection.execute(_OWN), key=itemgetter(0)):
        if print_id in replacements:  # few: each is read with the print it replaces
            yield print_id, read_entries(connection, print_id)
        else:
            yield print_id, promised.get(print_id, []) + [Entry(*row[1:]) for row in rows]


def rebuild_standings(connection: sqlite3.Connection, print_ids: Iterable[int] | None = None) -> int:
    """Reckon prints anew from their ledgers, all or those given, keep how each stands, and return how many."""
    count = 0
    told = _all_entries(connection) if print_ids is None else ((i, read_entries(connection, i)) for i in print_ids)
    for count, (print_id, entries) in enumerate(list(told), start=1):  # noqa: B007 - the last count is the answer
        keep_standing(connection, print_id, standing(entries))
    return count


def life_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Yield prints whose life is not the one their ledger tells, and prints without a ledger."""
    for (print_id,) in connection.execute(
        "SELECT id FROM print p WHERE NOT EXISTS (SELECT 1 FROM ledger_entry WHERE print_id = p.id)"
    ).fetchall():
        yield f"{format_reference('print', print_id)} has no ledger. Restore the newest sound file of backups/."
    wrong = connection.execute(
        "SELECT p.id, p.life, t.state FROM print p JOIN print_standing t ON t.print_id = p.id WHERE p.life <> CASE"
        " WHEN t.state IN ('spoiled', 'destroyed', 'replaced') THEN 'ended' WHEN t.state = 'never made' THEN 'void'"
        " ELSE 'live' END"
    )
    for print_id, life, state in wrong.fetchall():
        yield f"{format_reference('print', print_id)} is kept as {life}, but its ledger says {state}."


def number_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Yield numbers beyond what their run declares: only a catalogue altered by hand has any."""
    beyond = connection.execute(
        "SELECT n.written, r.edition_id FROM print_number n JOIN run r ON r.id = n.run_id"
        " LEFT JOIN proof_allowance a ON a.run_id = r.id AND a.kind = n.series"
        " WHERE n.ordinal > CASE n.series WHEN 'numbered' THEN ifnull(r.limit_count, n.ordinal)"
        " ELSE ifnull(a.allowed, 0) END"
    )
    for written, edition_id in beyond.fetchall():
        yield f"{format_reference('edition', edition_id)}: {written} is more than the edition declares."
