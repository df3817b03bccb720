"""The strays: every scan that belongs to no sheet yet, to be gone through one by one."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from catalog.errors import CatalogError
from catalog.store.strays import stray_ids, stray_rows, why_waiting
from catalog.store.trails import Step
from catalog.tui.keys import key
from catalog.tui.screens.card import CardScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.card_list import CardList
from catalog.tui.widgets.frame_row import date_told
from catalog.tui.widgets.page_items import Words
from catalog.tui.widgets.said_line import SaidLine
from catalog.tui.widgets.stray_row import ToldStray, stray_row


class StraysCardScreen(CardScreen):
    """The list of the scans without a sheet."""

    BINDINGS: ClassVar[list[BindingType]] = [key("t", "tie", "tie this scan to a sheet")]
    has_back = False

    def __init__(self, *given: Any) -> None:
        super().__init__("stray", None)
        self._ids: Sequence[int] = ()
        self.last_stray: int | None = None
        """The stray whose card was looked at last: the mark is put there."""

    @property
    def reference(self) -> str | None:
        """It is the card of no one record."""
        return None

    def compose_face(self) -> ComposeResult:
        """Give the list."""
        yield CardList(stray_row, id="strays")

    @property
    def strays(self) -> CardList:
        """The list."""
        return self.query_one("#strays", CardList)

    def load(self, connection: sqlite3.Connection) -> Sequence[int]:
        """Return which scans wait; what their lines say is read as they come in sight."""
        return stray_ids(connection)

    def lay_out(self, rows: Sequence[int], choose: str | None) -> tuple[Step, ...]:
        """Show them; the mark stays at the one it stood at, else at the one that took its place."""
        place = self.strays.place
        at = self.last_stray if self.last_stray is not None else self._ids[place] if place < len(self._ids) else None
        if at is not None:
            place = next((n for n, scan in enumerate(rows) if scan >= at), max(len(rows) - 1, 0))
        self._ids, self.last_stray = rows, None
        count = len(rows)
        none = [] if count else [Words("Every scan has a sheet.", "strong"), Words("Esc lays this card back.", "faint")]
        self.strays.show(count, place, above=none)
        self.say(f"{count:,} scan{'s' * (count != 1)} without a sheet." if count else "")
        return (Step("", "scans without a sheet"),)

    def on_card_list_window_wanted(self, event: CardList.WindowWanted) -> None:
        """Read the rows that come in sight, in a thread."""
        ids = self._ids
        self.run_worker(lambda: self._read_window(ids, event), thread=True, group="windows", exit_on_error=True)

    def _read_window(self, ids: Sequence[int], event: CardList.WindowWanted) -> None:
        teller = Teller(self.app)

        def supply(whys: dict[int, str]) -> None:
            told = [ToldStray(row, whys.get(row.id, "")) if row is not None else None for row in rows]
            teller.tell(self._supply, event.first, told, event.edition)

        try:
            with self.archive.reading() as connection:
                rows = stray_rows(connection, ids[event.first : event.first + event.count])
                for edtf in {row.scanned_edtf for row in rows if row is not None}:
                    date_told(edtf)
                supply({})
                # Looking through every number of a large archive takes longer than the lines may wait.
                supply(why_waiting(connection, self.archive, [row for row in rows if row is not None]))
        except CatalogError as exc:
            teller.tell(self.say, str(exc).splitlines()[0])

    def _supply(self, first: int, told: list[ToldStray | None], edition: int) -> None:
        if self.is_mounted:
            self.strays.supply(first, told, edition)

    def on_card_list_card_chosen(self, event: CardList.CardChosen) -> None:
        """Say where the mark stands."""
        where = f"{event.place + 1:,} of {event.count:,}" if event.count else ""
        self.query_one(SaidLine).stand_at(where)

    def on_card_list_card_opened(self, event: CardList.CardOpened) -> None:
        """Open the card of that stray."""
        if event.place < len(self._ids):
            self.last_stray = self._ids[event.place]
            self.browse.open_stray(self.last_stray)

    def action_tie(self) -> None:
        """Open the card of the stray at the mark, on which it is tied."""
        self.strays.action_open()

    def on_screen_resume(self) -> None:
        """Read anew: what was tied meanwhile is a stray no more."""
        if self._rows is not None:
            self.read_rows()

    def action_guide(self) -> None:
        """Open the first guide card."""
        self.browse.open_card(None)
