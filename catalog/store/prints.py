"""Prints to read: where each is, who has it and owns it, what is out and due. Plain SQL, frozen rows."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from catalog.rules.money import Money


@dataclass(frozen=True, slots=True)
class PrintRow:
    """
    A print as it stands. ``since`` and ``due`` are EDTF; a person who is ``None`` is the photographer.

    Names of persons and the value are private: who prints a list leaves them out unless asked.
    """

    id: int
    edition_id: int | None
    written: str | None
    series: str | None
    size: str | None
    sheet_id: int | None
    view_id: int | None
    paper: str | None
    pulled_edtf: str | None
    pulled_words: str | None
    pulled_earliest: int | None
    pulled_latest: int | None
    life: str
    state: str
    custodian_id: int | None
    custodian: str | None
    owner_id: int | None
    owner: str | None
    since: str | None
    due: str | None
    due_latest: int | None
    place: str | None
    value_minor: int | None
    currency: str | None
    is_signed: bool
    hold: str | None
    held_for_id: int | None
    held_for: str | None
    held_until: str | None

    @property
    def value(self) -> Money | None:
        """What it was last agreed or paid to be worth."""
        return None if self.value_minor is None else Money(self.value_minor, self.currency or "")


_PRINTS = """
    SELECT p.id, r.edition_id, n.written, n.series, z.name AS size, p.sheet_id, p.view_id, p.paper,
        p.pulled_edtf, p.pulled_words, p.pulled_earliest, p.pulled_latest, p.life,
        t.state, t.custodian_id, holder.name AS custodian, t.owner_id, owner.name AS owner, t.since, t.due,
        t.due_latest, t.place, t.value_minor, t.currency, t.is_signed, t.hold, t.held_for_id,
        waiting.name AS held_for, t.held_until
    FROM print_standing t
    JOIN print p ON p.id = t.print_id
    LEFT JOIN print_number n ON n.id = p.print_number_id
    LEFT JOIN run r ON r.id = n.run_id
    LEFT JOIN size z ON z.id = p.size_id
    LEFT JOIN person holder ON holder.id = t.custodian_id
    LEFT JOIN person owner ON owner.id = t.owner_id
    LEFT JOIN person waiting ON waiting.id = t.held_for_id
"""
PRINT_STATEMENTS = {
    "one": f"{_PRINTS} WHERE t.print_id = :id",
    "all": f"{_PRINTS} WHERE t.state <> 'never made' AND (:state IS NULL OR t.state = :state) ORDER BY p.id",
    "edition": f"{_PRINTS} WHERE p.print_number_id IN (SELECT m.id FROM run s JOIN print_number m ON m.run_id = s.id"
    " WHERE s.edition_id = :edition) AND t.state <> 'never made' AND (:state IS NULL OR t.state = :state)"
    " ORDER BY n.run_id, n.series <> 'numbered', n.series, n.ordinal, p.id",
    # Only what is ours and expected back; what is due first comes first, what has no day last.
    "out": f"{_PRINTS} WHERE t.is_out = 1 AND t.owner_id IS NULL ORDER BY t.due_latest IS NULL, t.due_latest, p.id",
    "overdue": f"{_PRINTS} WHERE t.is_out = 1 AND t.due_latest < :today AND t.owner_id IS NULL"
    " ORDER BY t.due_latest, p.id",
    "held by": f"{_PRINTS} WHERE t.custodian_id = :person AND t.state NOT IN ('lost', 'stolen') ORDER BY p.id",
    "of sheet": f"{_PRINTS} WHERE t.state <> 'never made' AND p.sheet_id = :id ORDER BY p.id",
}
"""Which prints are listed; every statement gives the columns of ``PrintRow``."""


def list_prints(
    connection: sqlite3.Connection, *, edition_id: int | None = None, state: str | None = None
) -> Iterator[PrintRow]:
    """Yield the prints, of one edition or all, in one state or any."""
    which = "all" if edition_id is None else "edition"
    return _rows(connection, which, edition=edition_id, state=state)


def prints_out(connection: sqlite3.Connection, *, overdue_on: int | None = None) -> Iterator[PrintRow]:
    """Yield our prints that are with others and expected back; with ``overdue_on``, those due before that day."""
    return _rows(connection, "out" if overdue_on is None else "overdue", today=overdue_on)


def prints_held_by(connection: sqlite3.Connection, person_id: int) -> Iterator[PrintRow]:
    """Yield every print a person has, whoever owns it: the list a gallery signs."""
    return _rows(connection, "held by", person=person_id)


def find_print(connection: sqlite3.Connection, print_id: int) -> PrintRow | None:
    """Return one print as it stands, or ``None``."""
    return next(_rows(connection, "one", id=print_id), None)


def _rows(connection: sqlite3.Connection, which: str, **asked: object) -> Iterator[PrintRow]:
    return (PrintRow(*row) for row in connection.execute(PRINT_STATEMENTS[which], asked))
