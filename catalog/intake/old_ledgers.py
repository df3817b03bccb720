"""An old ledger of prints becomes prints to look over: each row resolved, its doubts kept, its questions asked."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from catalog.intake.blocks import ResolvedRow, resolve_blocks
from catalog.intake.bulk import uncollected
from catalog.intake.cards import row_digest
from catalog.intake.headings import Layout
from catalog.intake.ledger_cells import CellReader, Draft
from catalog.intake.ledger_events import EventReader, in_order
from catalog.intake.ledger_fields import FIELD_OF
from catalog.intake.ledger_happenings import HappeningReader, gathered
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_names import Target
from catalog.intake.ledger_places import PlaceReader
from catalog.intake.ledger_rows import OldLedger, OldPrint
from catalog.intake.proposals import Carried, UnreadableRow
from catalog.intake.tables import Raw, Table
from catalog.rules.folding import fold
from catalog.rules.privacy import PrivateWords

_NOTES = frozenset({"note"})
_AMOUNT = re.compile(r"[€£$¥]|\b\d+(?:[.,]\d+)*\s?(?:EUR|GBP|USD|CHF|euros?|pounds?)\b", re.IGNORECASE)


def read_old_ledger(
    path: Path,
    mapping: LedgerMapping,
    connection: sqlite3.Connection,
    *,
    encoding: str | None = None,
    sheet: str | None = None,
) -> OldLedger:
    """
    Return the prints of a file, read as its mapping says; ``encoding`` and ``sheet`` outrank the mapping.

    Raises:
        EncodingUnsureError, IntakeError: as ``read_table`` and ``read_ledger_rows``.
    """
    with uncollected():
        return read_ledger_rows(mapping.read_table(path, encoding=encoding, sheet=sheet), mapping, connection)


def read_ledger_rows(table: Table, mapping: LedgerMapping, connection: sqlite3.Connection) -> OldLedger:
    """
    Return what each row of a table would become. One bad row never stops the others.

    Raises:
        IntakeError: the table has no headings that the mapping could be laid on.
    """
    layout = mapping.lay_out(table, FIELD_OF)
    reader = RowReader(layout, mapping, connection)
    prints: list[OldPrint] = []
    unreadable: list[UnreadableRow] = []
    for resolved in resolve_blocks(layout, reader.carried):
        found = reader.read(resolved)
        if isinstance(found, OldPrint):
            prints.append(found)
        else:
            unreadable.append(found)
    private = PrivateWords(reader.person_names)
    return OldLedger(
        name=table.name,
        sha256=table.sha256,
        encoding=table.encoding,
        sheet=table.sheet,
        mapping=mapping,
        heading_row=layout.heading_row,
        headings=layout.headings,
        prints=tuple(_with_repeats([_without_private(each, private) for each in reader.put_together(prints)])),
        unreadable=tuple(unreadable),
        skipped=layout.skipped,
        remarks=(*table.remarks, *reader.remarks()),
    )


class RowReader:
    """Reads row after row with one mapping."""

    def __init__(self, layout: Layout, mapping: LedgerMapping, connection: sqlite3.Connection) -> None:
        headings = layout.headings
        self._merged = _merged_downwards(layout)
        self._digested = sorted(enumerate(headings), key=lambda column: column[1])
        self._missing = [
            heading for heading in mapping.columns if fold(heading) not in {fold(name) for name in headings}
        ]
        self._cells = CellReader(headings, mapping, connection)
        self._places = PlaceReader(self._cells, mapping)
        self._is_by_happening = mapping.is_by_happening
        self._events: EventReader | HappeningReader = (
            HappeningReader(self._cells, mapping) if mapping.is_by_happening else EventReader(self._cells, mapping)
        )

    @property
    def carried(self) -> frozenset[int]:
        """Columns whose cells stand for the rows below them too."""
        return frozenset(place for place, use in enumerate(self._cells.uses) if use.carry)

    @property
    def person_names(self) -> list[str]:
        """The names of the persons there are, and of those that the rows read so far would add."""
        return self._cells.names.person_names()

    def remarks(self) -> list[str]:
        """Return what the person should know about how the mapping fits the file."""
        return [f"the mapping file has a column {heading!r} that this file has not." for heading in self._missing]

    def put_together(self, prints: list[OldPrint]) -> list[OldPrint]:
        """Return the prints, those of several rows put together where a row tells of one happening."""
        if not self._is_by_happening:
            return prints
        headings = zip(self._cells.uses, self._cells.headings, strict=True)
        return gathered(prints, {use.field: heading for use, heading in headings})

    def read(self, resolved: ResolvedRow) -> OldPrint | UnreadableRow:
        """Return the print of a row, or the reasons why there is none."""
        source = resolved.source.row
        draft = Draft(source.number)
        for column, reason in (*source.faults, *resolved.unresolved):
            written = source.texts[column] if column < len(source.texts) else ""
            self._cells.ask(draft, column, written, reason, "Type the value itself.")
        for column, text in enumerate(resolved.texts):
            raw = source.raws[column] if column < len(source.raws) else None
            is_own = column not in resolved.carried or raw
            self._take_cell(draft, column, text, raw if is_own else None)
        self._ask_about_merged_money(draft)
        target = self._places.target(draft)
        sheet_id = self._places.sheet(draft, target)
        cells = {self._cells.headings[column]: text for column, text in enumerate(source.texts) if text}
        if target is None and sheet_id is None and not draft.questions:
            return UnreadableRow(draft.row, cells, self._no_subject(draft))
        return self._finish(draft, resolved, cells, target, sheet_id)

    def _take_cell(self, draft: Draft, column: int, text: str, raw: Raw) -> None:
        name = self._cells.uses[column].field
        if name in _NOTES or (name != "private" and name in draft.said and text):
            if text:
                self._cells.keep(draft, column, text)
        elif name != "private" and text:
            draft.said[name] = (column, text, raw)

    def _ask_about_merged_money(self, draft: Draft) -> None:
        """Ask whether an amount in a cell merged over several rows was paid for each print or for all together."""
        for name in ("price", "value"):
            column, text, _ = draft.said.get(name, (-1, "", None))
            if (draft.row, column) in self._merged:
                reason = "stands in a cell merged over several rows: for each, or for all together?"
                self._cells.ask(draft, column, text, reason, "Part the cells and type the amount of each.")

    def _no_subject(self, draft: Draft) -> tuple[str, ...]:
        reasons = [str(trouble) for trouble in (*draft.questions, *draft.troubles)]
        reasons.append("no edition, view or sheet of the catalogue is named: nothing says what the print shows")
        return tuple(reasons)

    def _finish(
        self, draft: Draft, resolved: ResolvedRow, cells: dict[str, str], target: Target | None, sheet_id: int | None
    ) -> OldPrint:
        place, facts, is_replacement = self._places.place(draft, target, sheet_id)
        said = self._events.read(draft)
        pulled = self._cells.date(draft, "pulled")
        pulled_by = self._cells.person(draft, "pulled_by")
        name = place.name if place else _unnumbered(draft)
        return OldPrint(
            row=draft.row,
            key=f"{name}{' replacement' if is_replacement or said.is_replacement else ''}",
            digest=row_digest(self._digested, resolved.texts),
            cells=cells,
            place=place,
            facts=facts,
            pulled=pulled,
            pulled_by=pulled_by,
            events=in_order(said.events),
            is_replacement=is_replacement or said.is_replacement,
            proof=draft.text("proof") or " ".join(note.text for note in draft.notes),
            notes=tuple(draft.notes),
            doubts=tuple(draft.doubts),
            troubles=tuple(draft.troubles),
            questions=tuple(draft.questions),
            is_pulling=said.is_pulling,
            carried=tuple(
                Carried(self._cells.uses[column].field, self._cells.headings[column], row)
                for column, row in resolved.carried.items()
            ),
        )


def _merged_downwards(layout: Layout) -> frozenset[tuple[int, int]]:
    """Return the cells (row, column) that belong to one merged over several rows, the first of each with them."""
    found: set[tuple[int, int]] = set()
    for above, below in pairwise(card.row for card in layout.cards):
        for column in below.carried:
            if column < len(above.texts) and above.texts[column] == below.texts[column]:
                found |= {(above.number, column), (below.number, column)}
    return frozenset(found)


def _unnumbered(draft: Draft) -> str:
    words = [fold(draft.text(name)) for name in ("edition", "title", "sheet", "number", "markings", "pulled")]
    return "unnumbered: " + " / ".join(words)


def _with_repeats(prints: Sequence[OldPrint]) -> list[OldPrint]:
    """Return the prints, those marked that say of one number what an earlier row says already."""
    first: dict[tuple[str, str], int] = {}
    found = []
    for each in prints:
        earlier = first.setdefault((each.key, each.digest), each.row) if each.place else each.row
        found.append(each if earlier == each.row else replace(each, repeats=earlier))
    return found


def _without_private(each: OldPrint, private: PrivateWords) -> OldPrint:
    """Return a print without the words that name a person or a price: they stay with the row alone."""

    def is_private(text: str | None) -> bool:
        return bool(text) and (private.finds(text or "") or _AMOUNT.search(text or "") is not None)

    events = tuple(replace(event, words=_KEPT) if is_private(event.words) else event for event in each.events)
    notes = tuple(note for note in each.notes if not is_private(note.text))
    proof = _KEPT if is_private(each.proof) else each.proof
    return replace(each, events=events, notes=notes, proof=proof)


_KEPT = "as the old ledger has it"
