"""What rests on an entry of the ledger: an entry is taken out only once that is taken out, and written again only if
its number is still there for it."""

from __future__ import annotations

import sqlite3

from catalog.actions._ledger_desk import Subject, entry_rests, subject_words
from catalog.errors import LedgerError
from catalog.rules.ledger import in_force
from catalog.rules.ledger_kinds import REPLACED
from catalog.rules.references import format_reference
from catalog.store.ledger import read_own_entries, read_standing


def refuse_what_rests(connection: sqlite3.Connection, subject: Subject, entry_id: int, kind: str) -> None:
    """
    See that nothing would be left in the air if an entry were taken out of the reckoning.

    What is written on a print rests on its having been pulled: a promise too, that its number alone could have had,
    or the promise would go with a print that was never made. A print that carries on the number of another rests on
    the other's end.

    Raises:
        LedgerError: something rests on it; the sentence says what is to be taken back first.
    """
    if subject.print_id is None:
        return
    if kind == "pulled":
        later = [entry for entry in in_force(read_own_entries(connection, subject.print_id)) if entry.id != entry_id]
        if later:
            raise entry_rests(connection, subject, later[-1].id, later[-1].kind)
    if kind == REPLACED:
        heir = connection.execute(
            "SELECT id FROM print WHERE replaces_id = ? AND life <> 'void'", (subject.print_id,)
        ).fetchone()
        if heir is not None:
            what, other = subject_words(connection, subject), format_reference("print", heir[0])
            raise LedgerError(
                f"{what} was replaced by {other}, which carries its number now. Undo the deed that pulled {other} "
                "instead: tiebeam daybook names it. Nothing was changed.",
                subject.print_id,
            )


def refuse_number_taken(connection: sqlite3.Connection, print_id: int) -> None:
    """
    See that the number of a print whose pulling was taken back is still there for it.

    Raises:
        LedgerError: another print was given it since, or the print it replaced is not replaced by it any more.
    """
    number_id, replaces_id = connection.execute(
        "SELECT print_number_id, replaces_id FROM print WHERE id = ?", (print_id,)
    ).fetchone()
    what = subject_words(connection, Subject(print_id=print_id))
    if replaces_id is not None:
        first = read_standing(connection, replaces_id)
        if first.state != REPLACED or first.replacement_id != print_id:
            other = subject_words(connection, Subject(print_id=replaces_id))
            raise LedgerError(f"{what} was to replace {other}, which is {first.state}. Nothing was changed.", print_id)
        return
    other_id = connection.execute(
        "SELECT max(id) FROM print WHERE print_number_id = ? AND life <> 'void' AND id <> ?", (number_id, print_id)
    ).fetchone()[0]
    if other_id is not None:
        other = format_reference("print", other_id)
        raise LedgerError(f"{what}: its number was given to {other} since. Nothing was changed.", print_id)
