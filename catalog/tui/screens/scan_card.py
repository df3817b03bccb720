"""A scan's card: the plain one, and from it the tying to a sheet where it has none yet."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from catalog.tui.keys import key
from catalog.tui.screens.record_card import RecordCardScreen, RecordRows


class ScanCardScreen(RecordCardScreen):
    """The card of a scan."""

    BINDINGS: ClassVar[list[BindingType]] = [key("t", "tie", "tie this scan to a sheet")]

    def action_tie(self) -> None:
        """Open the card on which a stray is tied to a sheet."""
        rows: RecordRows | None = self._rows
        if rows is None or self.record_id is None:
            return
        sheets = [line.reference for line in dict(rows.record.sections).get("sheets", ()) if line.reference]
        if sheets:
            off = f"To take it off: tiebeam scans unmatch {self.reference}"
            self.say(f"{self.reference} is of {' and '.join(sheets)} already. {off}")
        else:
            self.browse.open_stray(self.record_id)
