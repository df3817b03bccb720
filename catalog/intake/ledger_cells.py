"""The cells of an old ledger's row, read one by one; what cannot be settled without the person is asked about."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_names import NOTHING, AskError, LedgerNames
from catalog.intake.ledger_rows import NO_DATE, Who
from catalog.intake.proposals import CardNote, Doubt, Trouble
from catalog.intake.table_mapping import ColumnUse
from catalog.intake.tables import Raw, column_letter
from catalog.intake.when import Dated, DateReader
from catalog.rules.folding import fold
from catalog.rules.money import Money


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


class CellReader:
    """Reads the cells of row after row with one mapping; what the same words mean is worked out once."""

    def __init__(self, headings: Sequence[str], mapping: LedgerMapping, connection: sqlite3.Connection) -> None:
        self.headings = headings
        uses = {fold(heading): use for heading, use in mapping.columns.items()}
        self.uses = [uses.get(fold(heading), ColumnUse("note")) for heading in headings]
        self.names = LedgerNames(connection, mapping)
        self._date_readings = mapping.date_readings
        self._dates = DateReader(mapping)

    def trouble(self, draft: Draft, column: int, found: str, reason: str, remedy: str, kind: str) -> Trouble:
        """Return something to look at in a cell."""
        heading, name = self.headings[column], self.uses[column].field
        return Trouble(draft.row, column_letter(column), heading, name, found, reason, remedy, kind)

    def ask(self, draft: Draft, column: int, found: str, reason: str, remedy: str) -> None:
        """Hold a row back with a question about a cell."""
        draft.questions.append(self.trouble(draft, column, found, reason, remedy, "asked"))

    @contextmanager
    def asking(self, draft: Draft, field_name: str) -> Iterator[None]:
        """Hold a row back where what is read within cannot be settled without the person."""
        column, text, _ = draft.said.get(field_name, (self.column_of(field_name), "", None))
        try:
            yield
        except AskError as exc:
            self.ask(draft, column, text, exc.reason, exc.remedy)

    def column_of(self, field_name: str) -> int:
        """Return the column of a field, the first where there is none."""
        return next((column for column, use in enumerate(self.uses) if use.field == field_name), 0)

    def keep(self, draft: Draft, column: int, text: str) -> None:
        """Keep the words of a cell as a note."""
        draft.notes.append(CardNote(self.headings[column], text))

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
        if self._date_readings.get(" ".join(text.split())) == "":
            return Dated(None, text)
        return self._dates.read(text, raw)

    def amount(self, draft: Draft, field_name: str) -> Money | None:
        """Return the amount of money of a field; one that is none plainly is asked about."""
        text = draft.text(field_name)
        if not text:
            return None
        raw = draft.said[field_name][2]
        with self.asking(draft, field_name):
            return self.names.money(text, raw)
        return None

    def person(self, draft: Draft, field_name: str) -> Who | None:
        """Return the person of a field; one in doubt is asked about."""
        text = draft.text(field_name)
        if not text:
            return None
        with self.asking(draft, field_name):
            return self.names.person(text)
        return None
