"""An old ledger of prints becomes prints to look over: each row resolved, its doubts kept, its questions asked."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

from catalog.intake.blocks import ResolvedRow, resolve_blocks
from catalog.intake.bulk import uncollected
from catalog.intake.cards import row_digest
from catalog.intake.headings import Layout, lay_out
from catalog.intake.ledger_events import EventReader, in_order
from catalog.intake.ledger_fields import FIELD_OF
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_names import NOTHING, AskError, KnownRun, LedgerNames, Target
from catalog.intake.ledger_numbers import NumberReader
from catalog.intake.ledger_rows import NO_DATE, OldLedger, OldPrint, Place, Who
from catalog.intake.mapping import ColumnUse
from catalog.intake.proposals import CardNote, Carried, Doubt, Trouble, UnreadableRow
from catalog.intake.tables import Raw, Table, column_letter, read_table
from catalog.intake.when import Dated, DateReader
from catalog.rules.folding import fold
from catalog.rules.privacy import PrivateWords

_FACTS = ("image_size", "paper_size", "paper", "process", "inks", "printer")
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
        table = read_table(
            path, encoding=encoding or mapping.encoding, delimiter=mapping.delimiter, sheet=sheet or mapping.sheet
        )
        return read_ledger_rows(table, mapping, connection)


def read_ledger_rows(table: Table, mapping: LedgerMapping, connection: sqlite3.Connection) -> OldLedger:
    """
    Return what each row of a table would become. One bad row never stops the others.

    Raises:
        IntakeError: the table has no headings that the mapping could be laid on.
    """
    layout = lay_out(
        table,
        heading_row=mapping.heading_row,
        known_headings=frozenset(mapping.columns),
        number_columns=mapping.headings("number"),
        carried_columns=mapping.carried_headings(),
        words=FIELD_OF,
    )
    reader = RowReader(layout, mapping, connection)
    carried = frozenset(place for place, use in enumerate(reader.uses) if use.carry)
    prints: list[OldPrint] = []
    unreadable: list[UnreadableRow] = []
    for resolved in resolve_blocks(layout, carried):
        found = reader.read(resolved)
        if isinstance(found, OldPrint):
            prints.append(found)
        else:
            unreadable.append(found)
    private = PrivateWords(reader.names.person_names())
    return OldLedger(
        name=table.name,
        sha256=table.sha256,
        encoding=table.encoding,
        sheet=table.sheet,
        mapping=mapping,
        heading_row=layout.heading_row,
        headings=layout.headings,
        prints=tuple(_with_repeats([_without_private(each, private) for each in prints])),
        unreadable=tuple(unreadable),
        skipped=layout.skipped,
        remarks=(*table.remarks, *reader.remarks()),
    )


@dataclass(slots=True)
class Draft:
    """A row while its cells are being read. ``said`` holds its cells by field: column, text, what the file holds."""

    row: int
    said: dict[str, tuple[int, str, Raw]] = field(default_factory=dict)
    notes: list[CardNote] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)
    questions: list[Trouble] = field(default_factory=list)

    def text(self, field_name: str) -> str:
        """Return what stands in a field; nothing where it says "-" or "unsold"."""
        text = self.said.get(field_name, (0, "", None))[1]
        return "" if fold(text) in NOTHING else text


class RowReader:
    """Reads row after row with one mapping; what the same words mean is worked out once."""

    def __init__(self, layout: Layout, mapping: LedgerMapping, connection: sqlite3.Connection) -> None:
        headings = layout.headings
        self._headings, self._mapping = headings, mapping
        self._merged = _merged_downwards(layout)
        self._digested = sorted(enumerate(headings), key=lambda column: column[1])
        uses = {fold(heading): use for heading, use in mapping.columns.items()}
        self.uses = [uses.get(fold(heading), ColumnUse("note")) for heading in headings]
        self._missing = [
            heading for heading in mapping.columns if fold(heading) not in {fold(name) for name in headings}
        ]
        self.names = LedgerNames(connection, mapping)
        self._numbers = NumberReader(self.names, mapping)
        self._dates = DateReader(mapping)
        self._events = EventReader(self, mapping)

    def remarks(self) -> list[str]:
        """Return what the person should know about how the mapping fits the file."""
        return [f"the mapping file has a column {heading!r} that this file has not." for heading in self._missing]

    def read(self, resolved: ResolvedRow) -> OldPrint | UnreadableRow:
        """Return the print of a row, or the reasons why there is none."""
        source = resolved.source.row
        draft = Draft(source.number)
        for column, reason in (*source.faults, *resolved.unresolved):
            written = source.texts[column] if column < len(source.texts) else ""
            self._ask(draft, column, written, reason, "Type the value itself.")
        for column, text in enumerate(resolved.texts):
            raw = source.raws[column] if column < len(source.raws) else None
            is_own = column not in resolved.carried or raw
            self._take_cell(draft, column, text, raw if is_own else None)
        self._ask_about_merged_money(draft)
        target = self._target(draft)
        sheet_id = self._sheet(draft, target)
        cells = {self._headings[column]: text for column, text in enumerate(source.texts) if text}
        if target is None and sheet_id is None and not draft.questions:
            return UnreadableRow(draft.row, cells, self._no_subject(draft))
        return self._finish(draft, resolved, cells, target, sheet_id)

    def _take_cell(self, draft: Draft, column: int, text: str, raw: Raw) -> None:
        name = self.uses[column].field
        if name in _NOTES or (name != "private" and name in draft.said and text):
            if text:
                draft.notes.append(CardNote(self._headings[column], text))
        elif name != "private" and text:
            draft.said[name] = (column, text, raw)

    def _ask_about_merged_money(self, draft: Draft) -> None:
        """Ask whether an amount in a cell merged over several rows was paid for each print or for all together."""
        for name in ("price", "value"):
            column, text, _ = draft.said.get(name, (-1, "", None))
            if (draft.row, column) in self._merged:
                reason = "stands in a cell merged over several rows: for each, or for all together?"
                self._ask(draft, column, text, reason, "Part the cells and type the amount of each.")

    def _no_subject(self, draft: Draft) -> tuple[str, ...]:
        reasons = [str(trouble) for trouble in (*draft.questions, *draft.troubles)]
        reasons.append("no edition, view or sheet of the catalogue is named: nothing says what the print shows")
        return tuple(reasons)

    # ---- asking

    def trouble(self, draft: Draft, column: int, found: str, reason: str, remedy: str, kind: str) -> Trouble:
        """Return something to look at in a cell."""
        heading, name = self._headings[column], self.uses[column].field
        return Trouble(draft.row, column_letter(column), heading, name, found, reason, remedy, kind)

    def _ask(self, draft: Draft, column: int, found: str, reason: str, remedy: str) -> None:
        draft.questions.append(self.trouble(draft, column, found, reason, remedy, "asked"))

    @contextmanager
    def asking(self, draft: Draft, field_name: str) -> Iterator[None]:
        """Hold a row back where what is read within cannot be settled without the person."""
        column, text, _ = draft.said.get(field_name, (self._column_of(field_name), "", None))
        try:
            yield
        except AskError as exc:
            self._ask(draft, column, text, exc.reason, exc.remedy)

    def _column_of(self, field_name: str) -> int:
        return next((column for column, use in enumerate(self.uses) if use.field == field_name), 0)

    # ---- what it is a print of

    def _target(self, draft: Draft) -> Target | None:
        for name in ("edition", "title"):
            text = draft.said.get(name, (0, "", None))[1]
            if not text:
                continue
            with self.asking(draft, name):
                found = self.names.target(text)
                if found is not None:
                    return found
                column = draft.said[name][0]
                draft.troubles.append(self.trouble(
                    draft, column, text, "names no edition or view of the catalogue",
                    "If it does, say which under [editions] in the mapping file.", "unknown name",
                ))  # fmt: skip
                draft.notes.append(CardNote(self._headings[column], text))
        if any(name in draft.said for name in ("edition", "title")):
            return None
        with self.asking(draft, "edition"):
            return self.names.target("")
        return None

    def _sheet(self, draft: Draft, target: Target | None) -> int | None:
        text = draft.text("sheet")
        if not text:
            return target.sheet_id if target else None
        found: int | None = None
        with self.asking(draft, "sheet"):
            found = self.names.sheet(text)
            if found is None:
                column = draft.said["sheet"][0]
                draft.troubles.append(self.trouble(
                    draft, column, text, "is the number of no sheet here", "It is kept as a note.", "unknown name"
                ))  # fmt: skip
                draft.notes.append(CardNote(self._headings[column], text))
        return found if found is not None else (target.sheet_id if target else None)

    def _finish(
        self, draft: Draft, resolved: ResolvedRow, cells: dict[str, str], target: Target | None, sheet_id: int | None
    ) -> OldPrint:
        place, facts, is_replacement = self._place(draft, target, sheet_id)
        pulled = self.date(draft, "pulled")
        pulled_by = self.person(draft, "pulled_by")
        said = self._events.read(draft)
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
            carried=tuple(
                Carried(self.uses[column].field, self._headings[column], row)
                for column, row in resolved.carried.items()
            ),
        )

    def _place(
        self, draft: Draft, target: Target | None, sheet_id: int | None
    ) -> tuple[Place | None, dict[str, str | int], bool]:
        """Return the place in a run that a row names, the facts of its print, and whether it is a replacement."""
        facts: dict[str, str | int] = {name: draft.text(name) for name in _FACTS if draft.text(name)}
        is_replacement, place = False, None
        with self.asking(draft, "number"):
            column, text, raw = draft.said.get("number", (self._column_of("number"), "", None))
            number = self._numbers.read(text, raw, draft.text("of"))
            if number.remark:
                is_replacement = self._numbers.is_replacement(number.remark)
                draft.notes += [] if is_replacement else [CardNote(self._headings[column], number.remark)]
            runs = self.names.runs_of(target) if target else []
            if number.name is None and number.words and runs:
                raise AskError("is no print number", 'Say it under [numbers] in the mapping file ("" for none).')
            if number.name is not None and runs:
                run = self._numbers.run_for(runs, draft.text("size"))
                place = self._numbers.place(run, number)
                self._take_size(draft, facts, run)
            elif number.words:
                facts["markings"] = number.words
                if not runs:
                    self._no_edition(draft, column, text, sheet_id)
        if draft.text("markings"):
            facts["markings"] = "; ".join(filter(None, (str(facts.get("markings", "")), draft.text("markings"))))
        if sheet_id is not None:
            facts["sheet_id"] = sheet_id
        if place is None:
            self._of_what(facts, target)
            if draft.text("size") and "size_id" not in facts:
                draft.notes.append(CardNote(self._headings[draft.said["size"][0]], draft.text("size")))
        return place, facts, is_replacement

    def _take_size(self, draft: Draft, facts: dict[str, str | int], run: KnownRun) -> None:
        words = draft.text("size")
        size = run.of_size(words) if words else None
        if size is not None:
            facts["size_id"] = size.id
        elif words:
            column = draft.said["size"][0]
            names = ", ".join(each.name for each in run.sizes)
            if len(run.sizes) > 1:
                self._ask(draft, column, words, f"is none of the sizes of the edition ({names})", "Mend the cell.")
                return
            draft.troubles.append(self.trouble(
                draft, column, words, f"is not the size of the edition ({names})", "It is kept as a note.",
                "inconsistent",
            ))  # fmt: skip
            draft.notes.append(CardNote(self._headings[column], words))

    def _no_edition(self, draft: Draft, column: int, text: str, sheet_id: int | None) -> None:
        remedy = "It is written down as what stands on the print, which has no number of an edition."
        editions = self.names.editions_from(sheet_id) if sheet_id is not None else []
        if editions:
            remedy += f" If it is of {' or '.join(editions)}, name the edition in the row."
        draft.troubles.append(self.trouble(
            draft, column, text, "is a print number, but no edition is named", remedy, "unknown name"
        ))  # fmt: skip

    def _of_what(self, facts: dict[str, str | int], target: Target | None) -> None:
        """Say of a print without a number which sheet or view it is of."""
        if "sheet_id" in facts or target is None:
            return
        runs = self.names.runs_of(target)
        if runs:
            sheet_id = self.names.sheet_of(runs[0].edition_id)
            facts.update({"view_id": runs[0].view_id} if sheet_id is None else {"sheet_id": sheet_id})
        elif target.view_id is not None:
            facts["view_id"] = target.view_id

    # ---- what the cells say

    def date(self, draft: Draft, field_name: str) -> Dated:
        """Return the date of a field; one that may mean several, or that cannot be, is asked about."""
        if not draft.text(field_name):
            return NO_DATE
        dated = self.read_date(draft, field_name)
        if dated.reason is None:
            return dated
        with self.asking(draft, field_name):
            remedy = f'{dated.remedy} Or keep the words: "" under [dates.readings].'.strip()
            raise AskError(dated.reason, remedy)
        return NO_DATE

    def read_date(self, draft: Draft, field_name: str) -> Dated:
        """Return the date of a field as it is, with the reason where it says none plainly."""
        _, text, raw = draft.said[field_name]
        if self._mapping.date_readings.get(" ".join(text.split())) == "":
            return Dated(None, text)
        return self._dates.read(text, raw)

    def person(self, draft: Draft, field_name: str) -> Who | None:
        """Return the person of a field; one in doubt is asked about."""
        text = draft.text(field_name)
        if not text:
            return None
        with self.asking(draft, field_name):
            return self.names.person(text)
        return None


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
