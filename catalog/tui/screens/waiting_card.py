"""What waits of one kind, as a list: each line opens the card where it is settled, or says the command that does."""

from __future__ import annotations

import sqlite3
from array import array
from collections.abc import Sequence
from dataclasses import dataclass

from catalog import clock
from catalog.errors import CatalogError
from catalog.rules.film_risk import ACETATE_CAUTION, NITRATE_CAUTION
from catalog.store.desk import Pile, WaitingRow, drives_away, read_pile, waiting_rows
from catalog.store.frame_runs import FrameRun
from catalog.store.trails import Step
from catalog.tui.screens.pile_words import DRIVES, SIDECARS, WORDS_OF
from catalog.tui.screens.ruled_list import RuledListScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.page import PageItem
from catalog.tui.widgets.page_items import Space, Words
from catalog.tui.widgets.paper import Row
from catalog.tui.widgets.waiting_row import waiting_row


@dataclass(frozen=True, slots=True)
class WaitingRows:
    """A pile of the catalogue, or the lines that were found on the disks; neither while the disks are looked at."""

    pile: Pile | None = None
    found: tuple[WaitingRow, ...] | None = None

    def __len__(self) -> int:
        return len(self.pile if self.pile is not None else self.found or ())


class WaitingCardScreen(RuledListScreen):
    """The list of what waits of one kind."""

    has_back = False

    def __init__(self, kind: str) -> None:
        super().__init__("desk", None)
        self.kind = kind
        self._shown = WaitingRows()

    def load(self, connection: sqlite3.Connection) -> WaitingRows:
        """Return what waits; sidecars are looked at afterwards, which takes longer."""
        if self.kind == DRIVES:
            return WaitingRows(found=drives_away(connection))
        if self.kind == SIDECARS:
            return WaitingRows()
        return WaitingRows(read_pile(connection, self.kind, clock.today().toordinal()))

    def lay_out(self, rows: WaitingRows, choose: str | None) -> tuple[Step, ...]:
        """Show the list, the mark where it was."""
        self._shown = rows
        self._show(looking="" if self.kind != SIDECARS else "looking at the sidecars …")
        return (Step("desk", "the desk"), Step("", WORDS_OF[self.kind].many))

    def _show(self, looking: str = "") -> None:
        self.lines.show(len(self._shown), self.lines.place, self._above(looking))

    def _above(self, looking: str) -> list[PageItem]:
        words, count = WORDS_OF[self.kind], len(self._shown)
        if looking:
            return [Words(looking, "faint")]
        if not count:
            return [Words(f"No {words.many}.", "strong")]
        items: list[PageItem] = [Words(f"{count:,} {words.named(count)}", "strong"), Words(words.how, "faint")]
        risks = self._shown.pile.risks if self._shown.pile is not None else ()
        if any(risk.is_nitrate for risk in risks):
            items += [Space(), Words(NITRATE_CAUTION, "margin")]
        if any(risk.is_acetate for risk in risks):
            items += [Space(), Words(ACETATE_CAUTION, "margin")]
        return [*items, Space()]

    def after_rows(self) -> None:
        """Look at the sidecars, in a thread."""
        if self.kind == SIDECARS:
            self.run_worker(self._look, thread=True, exclusive=True, group="sidecars", exit_on_error=True)

    def _look(self) -> None:
        from catalog.actions.sidecar_waiting import sidecars_waiting  # here: it takes a third of a second to import

        teller = Teller(self.app)

        def go_on(done: int, total: int) -> bool:
            if done:
                teller.tell(self.say, f"looking at the sidecars: {done:,} of {total:,} sheets …")
            return teller.is_wanted

        try:
            found = sidecars_waiting(self.archive, is_private=self.browse.is_private, go_on=go_on)
        except CatalogError as exc:
            teller.tell(self.say, str(exc).splitlines()[0])
            return
        if found is not None:
            teller.tell(self._looked, found)

    def _looked(self, found: tuple[WaitingRow, ...]) -> None:
        self.browse.sidecar_findings = found
        if self.is_mounted:
            self._shown = WaitingRows(found=found)
            self.say("")
            self._show()

    def draw(self, row: WaitingRow, width: int) -> Row:
        """Return one thing that waits as a line."""
        return waiting_row(row, width)

    def read_window(self, connection: sqlite3.Connection, first: int, count: int) -> Sequence[WaitingRow]:
        """Return a stretch of the list; what is no longer there says so."""
        shown = self._shown
        if shown.pile is None:
            return (shown.found or ())[first : first + count]
        rows = waiting_rows(connection, shown.pile, first, count, is_private=self.browse.is_private)
        return [row or WaitingRow(None, "", "no longer here; r reads the list anew") for row in rows]

    def open_row(self, row: WaitingRow, place: int) -> None:
        """Open its card; of what has none, say the command."""
        if row.reference is None:
            self.say(row.command or row.words)
        elif row.reference.startswith("S") and self._shown.pile is not None and self.kind != "words":
            ids = array("q", self._shown.pile.ids)
            self.browse.open_card(row.reference, FrameRun(ids, bytearray(b"\1" * len(ids))))
        else:
            self.browse.open_card(row.reference)

    def action_guide(self) -> None:
        """Open the desk."""
        self.browse.open_card("desk")
