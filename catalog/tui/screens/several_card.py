"""Writing one field of several frames at once: those that were marked, in one deed."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalog.rules.fields import FIELDS
from catalog.rules.references import format_reference
from catalog.store.fields import WrittenField, read_sheets_texts
from catalog.store.trails import Step
from catalog.tui.screens.fields_card import FieldsCardScreen, FieldsRows, names_for
from catalog.tui.widgets.choices import Choice
from catalog.tui.widgets.field_line import FieldLine

if TYPE_CHECKING:
    from catalog.actions.desk import Desk

_FEW = 3


@dataclass(frozen=True, slots=True)
class SeveralRows(FieldsRows):
    """The fields of several sheets; ``texts`` says of each how often which text stands in it."""

    texts: dict[str, Counter[str]] | None = None


class SeveralCardScreen(FieldsCardScreen):
    """The writing side of several frames: a field that is written is written for all of them."""

    def __init__(self, sheet_ids: Sequence[int]) -> None:
        super().__init__("sheets", None)
        self.sheet_ids = tuple(sheet_ids)

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
        self._show(rows, choose)
        return (Step("", f"{len(self.sheet_ids):,} frames to write on"),)

    def _line(self, one: WrittenField) -> FieldLine:
        line = super()._line(one)
        rows: SeveralRows | None = self._rows
        texts = rows.texts[one.field.name] if rows is not None and rows.texts else Counter[str]()
        if line.room or len(texts) < 2:
            return line
        told = ", ".join(f"{text or 'nothing'} ({count:,})" for text, count in texts.most_common(_FEW))
        more = f", {len(texts) - _FEW} others" if len(texts) > _FEW else ""
        return FieldLine(line.label, told + more, "faint", reference=line.reference)

    def write(self, asked: WrittenField, text: str, meant: str | None, choice: Choice | None, desk: Desk) -> None:
        """Do the deed, for all but those that were refused and left out with open eyes."""
        from catalog.actions.fields import sheets_asked, write_field_of_sheets

        out = set(choice.leave_out) if choice else set()
        ids = [sheet for sheet in self.sheet_ids if format_reference("sheet", sheet) not in out]
        stood = sheets_asked(self.archive, ids, asked.field)
        write_field_of_sheets(self.archive, stood, asked.field, text, meant=meant, desk=desk)

    def action_guide(self) -> None:
        """Open the first guide card."""
        self.browse.open_card(None)


def _common(texts: Counter[str]) -> str:
    """Return the text that stands on every one of them, if one does."""
    return next(iter(texts)) if len(texts) == 1 else ""
