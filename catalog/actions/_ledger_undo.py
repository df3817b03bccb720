"""Taking back what is never removed: ledger entries are corrected, issued documents voided, prints and numbers stay."""

from __future__ import annotations

from typing import Any

from catalog import clock
from catalog.actions._ledger_desk import EntryFacts, Subject, write_entry
from catalog.actions._ledger_rests import refuse_number_taken
from catalog.actions.ledger import take_out
from catalog.errors import RefusedError, UndoError
from catalog.model import RecordedDate
from catalog.rules.ledger_kinds import LEAVING
from catalog.rules.money import Money
from catalog.store.daybook import ChangeRow, DeedRow
from catalog.store.plain_writing import PlainDeed
from catalog.store.rows import change_row, decode_values, read_row
from catalog.store.writing import Writing

STAYS = frozenset({"print", "print_number", "ledger_entry", "document", "document_line"})
"""Rows of these are never removed, whatever is taken back."""
READING = "prints read"
"""
A deed that read an old ledger. Its entries are corrected; the persons they name, and the rows of the file that tell
where each print came from, stay with them, so that the file can be read again.
"""


def stays(target: DeedRow, table: str) -> bool:
    """Return whether a row that a deed added to ``table`` stays when the deed is taken back."""
    return table in STAYS or target.kind == READING


def take_back_kept(writing: Writing, target: DeedRow, change: ChangeRow) -> None:
    """
    Take back the adding of a row that stays.

    An entry is taken out of the reckoning by a ``corrected`` one; taking that back writes the entry again, as it
    was. A document is voided. A print whose pulling is corrected was never made, and its number is free again
    unless it left the house.

    Raises:
        UndoError: later entries rest on it, or the print left the house.
    """
    if change.record_table == "document":
        _void(writing, target, change.record_id)
    if change.record_table != "ledger_entry":
        return
    row = read_row(writing.raw, "ledger_entry", change.record_id) or {}
    deed = PlainDeed(writing.raw, "undo", "", clock.timestamp())
    if target.kind == READING and row["kind"] == "pulled" and _left_the_house(writing, row["print_id"]):
        _leave_made(writing, deed, target, row["print_id"])
        return
    is_correction = row["kind"] == "corrected"
    try:
        if is_correction:
            taken_out = read_row(writing.raw, "ledger_entry", row["corrects_id"]) or {}
            deed.at = taken_out["written_at"]  # as it was: what was issued for it since counts for it again
            _write_again(deed, taken_out)
        else:
            take_out(deed, change.record_id, f"deed {target.id} was taken back")
    except RefusedError as exc:
        why = "what it took out would be written again, after all that came since: " if is_correction else ""
        raise UndoError(f"Deed {target.id} ({target.kind}) cannot be undone: {why}{exc}") from exc
    for table, record_id, done, before, after in deed.changes:
        if done == "added":
            writing.record_added(table, [record_id], is_searched=False)
        else:
            writing.record_change(table, record_id, done, decode_values(before), decode_values(after))


def _left_the_house(writing: Writing, print_id: int) -> bool:
    marks = ", ".join("?" * len(LEAVING))
    left = f"SELECT 1 FROM ledger_entry WHERE print_id = ? AND kind IN ({marks}) LIMIT 1"
    return writing.raw.execute(left, (print_id, *LEAVING)).fetchone() is not None


def _leave_made(writing: Writing, deed: PlainDeed, target: DeedRow, print_id: int) -> None:
    """Leave a print as made, and its number given: all else that an old ledger said of it is taken back."""
    text = f"deed {target.id} was taken back: of what it read, only that this print was made stands"
    note = {"about": "print", "about_id": print_id, "heading": "old ledger", "text": text, "noted_at": deed.at}
    writing.record_added("note", [deed.add("note", note)])


def _write_again(deed: PlainDeed, row: dict[str, Any]) -> None:
    price = None if row["price_minor"] is None else Money(row["price_minor"], row["currency"])
    facts = EntryFacts(
        date=_date(row, "date"), person_id=row["person_id"], from_id=row["from_id"], place=row["place"], price=price,
        due=_date(row, "due"), document_id=row["document_id"], words=row["words"],
        replacement_id=row["replacement_id"],
    )  # fmt: skip
    if row["kind"] == "pulled":
        refuse_number_taken(deed.raw, row["print_id"])
    write_entry(deed, Subject(row["print_id"], row["print_number_id"]), row["kind"], facts)


def _date(row: dict[str, Any], name: str) -> RecordedDate:
    return RecordedDate(*(row[f"{name}_{part}"] for part in ("edtf", "words", "earliest", "latest", "doubt")))


def _void(writing: Writing, target: DeedRow, document_id: int) -> None:
    row = read_row(writing.raw, "document", document_id) or {}
    if row["state"] == "voided":
        return
    after = {"state": "voided", "voided_at": clock.timestamp(), "voided_because": f"deed {target.id} was taken back"}
    change_row(writing.raw, "document", document_id, after)
    writing.record_change("document", document_id, "changed", {column: row[column] for column in after}, after)
