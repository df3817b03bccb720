"""What the cards share whose face is one long ruled page: words above, lines below, read a window at a time."""

from __future__ import annotations

import sqlite3
from abc import abstractmethod
from collections.abc import Sequence
from typing import Any

from textual.app import ComposeResult

from catalog.errors import CatalogError
from catalog.tui.screens.card import CardScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.card_list import CardList
from catalog.tui.widgets.paper import Row
from catalog.tui.widgets.said_line import SaidLine


class RuledListScreen(CardScreen):
    """A card with a long list on its face. A subclass draws a line, reads a window of them, and opens one."""

    def compose_face(self) -> ComposeResult:
        """Give the list."""
        yield CardList(self.draw, id="lines")

    @property
    def lines(self) -> CardList:
        """The list."""
        return self.query_one("#lines", CardList)

    @abstractmethod
    def draw(self, row: Any, width: int) -> Row:
        """Return a line as it is drawn."""

    @abstractmethod
    def read_window(self, connection: sqlite3.Connection, first: int, count: int) -> Sequence[Any]:
        """Return the rows from ``first`` on; called in a thread of its own."""

    @abstractmethod
    def open_row(self, row: Any, place: int) -> None:
        """Open what a line stands for, or say what can be done about it."""

    def on_card_list_window_wanted(self, event: CardList.WindowWanted) -> None:
        """Read the rows that come in sight, in a thread."""
        self.run_worker(lambda: self._read_window(event), thread=True, group="windows", exit_on_error=True)

    def _read_window(self, event: CardList.WindowWanted) -> None:
        teller = Teller(self.app)
        try:
            with self.archive.reading() as connection:
                rows = self.read_window(connection, event.first, event.count)
        except CatalogError as exc:
            teller.tell(self.say, str(exc).splitlines()[0])
            return
        teller.tell(self.lines.supply, event.first, rows, event.edition)

    def on_card_list_card_chosen(self, event: CardList.CardChosen) -> None:
        """Say where the mark stands."""
        self.query_one(SaidLine).stand_at(f"{event.place + 1:,} of {event.count:,}" if event.count else "")

    def on_card_list_card_opened(self, event: CardList.CardOpened) -> None:
        """Open the line, when its row is here."""
        row = self.lines.row(event.place)
        if row is not None:
            self.open_row(row, event.place)
