"""Writing one field of several frames at once: those that were marked, in one deed."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from catalog.errors import CatalogError
from catalog.rules.fields import FIELDS
from catalog.rules.references import format_reference
from catalog.store.fields import WrittenField, read_sheets_texts
from catalog.store.trails import Step
from catalog.tui.screens.fields_card import FieldsCardScreen, FieldsRows, names_for
from catalog.tui.widgets.choices import Choice
from catalog.tui.widgets.field_line import FieldLine
from catalog.tui.widgets.open_field import OpenField

if TYPE_CHECKING:
    from catalog.actions.desk import Desk

_FEW = 3


@dataclass(frozen=True, slots=True)
class SeveralRows(FieldsRows):
    """The fields of several sheets; ``texts`` says of each how often which text stands in it."""

    texts: dict[str, Counter[str]] = field(default_factory=dict)


class SeveralCardScreen(FieldsCardScreen):
    """The writing side of several frames: a field that is written is written for all of them."""

    def __init__(self, sheet_ids: Sequence[int]) -> None:
        super().__init__("sheets", None)
        self.sheet_ids = tuple(sheet_ids)
        self._texts: dict[str, Counter[str]] = {}
        self._stood: dict[int, WrittenField] = {}
        """How the open field stood on each of them when it was opened."""
        self._said_so = 0
        """How many of them the last deed left as they were: they said so already."""
        self._left_out: set[str] = set()
        """References of those that the deed is not to touch: they were refused."""

    def load(self, connection: sqlite3.Connection) -> SeveralRows:
        """Return what stands in each field of them."""
        texts = read_sheets_texts(connection, self.sheet_ids)
        fields = tuple(
            WrittenField(field.group, field, "sheet", None, ("sheet", 0), _common(texts[field.name]), label=field.label)
            for field in FIELDS["sheet"]
        )
        return SeveralRows(fields, (), names_for(connection, fields), texts)

    def lay_out(self, rows: FieldsRows, choose: str | None) -> tuple[Step, ...]:
        """Show them."""
        assert isinstance(rows, SeveralRows)
        self._texts = rows.texts
        self._show(rows, choose)
        return (Step("", f"{len(self.sheet_ids):,} frames to write on"),)

    def _line(self, one: WrittenField) -> FieldLine:
        line = super()._line(one)
        texts = self._texts[one.field.name]
        if line.room or len(texts) < 2:
            return line
        told = ", ".join(f"{text or 'nothing'} ({count:,})" for text, count in texts.most_common(_FEW))
        more = f", {len(texts) - _FEW} others" if len(texts) > _FEW else ""
        return FieldLine(line.label, told + more, "faint", reference=line.reference)

    def open_field(self, one: WrittenField) -> None:
        """Open a field, and read how it stands on each of them."""
        super().open_field(one)
        self._stood, self._left_out = {}, set()
        self.run_worker(lambda: self._read_stood(one), thread=True, exclusive=True, group="stood", exit_on_error=True)

    def _read_stood(self, one: WrittenField) -> None:
        from catalog.actions.fields import sheets_asked

        try:
            self._stood = sheets_asked(self.archive, self.sheet_ids, one.field)
        except CatalogError:  # read again, and complained of, when it is written
            self._stood = {}

    def nothing_typed(self, opened: OpenField) -> None:
        """Ask, where they differ, whether the field is to be emptied on all of them."""
        if len(self._texts[opened.asked.field.name]) < 2:
            super().nothing_typed(opened)
            return
        opened.said = "They differ, and nothing was typed."
        count = f"{len(self.sheet_ids):,}"
        self._offer(
            [Choice("leave each as it is", leaves=True), Choice(f"take it away from all {count}", text="")]
        )  # fmt: skip

    def write(self, asked: WrittenField, text: str, meant: str | None, choice: Choice | None, desk: Desk) -> None:
        """Do the deed, for all but those that were refused and are left out with open eyes."""
        from catalog.actions.fields import sheets_asked, write_field_of_sheets

        if not self._stood or (choice is not None and choice.now is not None):
            self._stood = sheets_asked(self.archive, self.sheet_ids, asked.field)
        self._left_out |= set(choice.leave_out) if choice else set()
        stood = {i: one for i, one in self._stood.items() if format_reference("sheet", i) not in self._left_out}
        written = write_field_of_sheets(self.archive, stood, asked.field, text, meant=meant, desk=desk)
        self._said_so = len(stood) - written

    def said_beside(self) -> str:
        """Return how many of them said so already, and were left as they are."""
        return f", {self._said_so:,} said so already" if self._said_so else ""

    def action_guide(self) -> None:
        """Open the first guide card."""
        self.browse.open_card(None)


def _common(texts: Counter[str]) -> str:
    """Return the text that stands on every one of them, if one does."""
    return next(iter(texts)) if len(texts) == 1 else ""
