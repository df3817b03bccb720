"""What the cards with a run of frames share: the list, its windows read in a thread, opening a frame of it."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.worker import get_current_worker

from catalog.errors import CatalogError
from catalog.store.frame_runs import FrameRun, frames_of
from catalog.tui.screens.card import CardScreen
from catalog.tui.widgets.card_list import CardList
from catalog.tui.widgets.frame_row import date_told, frame_row
from catalog.tui.widgets.said_line import SaidLine


class FrameListScreen(CardScreen):
    """A card whose face holds a run of frames, as a list of one line each."""

    has_back = False

    def compose_face(self) -> ComposeResult:
        """Give the list."""
        yield CardList(frame_row, id="frames")

    @property
    def frames(self) -> CardList:
        """The list."""
        return self.query_one("#frames", CardList)

    def show_run(self, run: FrameRun) -> None:
        """Show a run; the mark stays at the sheet it stood at, or at the same place."""
        place, former = self.frames.place, self.run
        if former is not None and len(former):
            stood_at = former.ids[min(place, len(former) - 1)]
            found = run.place_of(stood_at) if len(run) else None
            place = place if found is None else found
        self.run = run
        self.frames.show(len(run), place)

    def on_card_list_window_wanted(self, event: CardList.WindowWanted) -> None:
        """Read the rows that come in sight, in a thread."""
        run = self.run
        if run is not None:
            self.run_worker(
                lambda: self._read_window(run, event), thread=True, group="windows", exit_on_error=True
            )  # fmt: skip

    def _read_window(self, run: FrameRun, event: CardList.WindowWanted) -> None:
        worker = get_current_worker()
        try:
            with self.archive.reading() as connection:
                rows = frames_of(connection, run, event.first, event.count)
            for edtf in {row.exposed_edtf for row in rows if row is not None}:
                date_told(edtf)  # reading a date takes longer than drawing its line
        except CatalogError as exc:
            if not worker.is_cancelled:
                self.app.call_from_thread(self.say, str(exc).splitlines()[0])
            return
        if not worker.is_cancelled:
            self.app.call_from_thread(self.frames.supply, event.first, rows, event.edition)

    def on_card_list_card_chosen(self, event: CardList.CardChosen) -> None:
        """Say where the mark stands."""
        where = f"{event.place + 1:,} of {event.count:,}" if event.count else ""
        self.query_one(SaidLine).stand_at(where)

    def on_card_list_card_opened(self, event: CardList.CardOpened) -> None:
        """Open the frame's card; its neighbours in the run are one key away."""
        if self.run is not None and event.place < len(self.run):
            self.browse.open_card(f"S{self.run.ids[event.place]}", self.run)

    def on_screen_resume(self) -> None:
        """Put the mark at the sheet that was looked at last."""
        last = self.browse.last_sheet
        if self.run is not None and last is not None and len(self.run):
            place = self.run.place_of(last)
            if place is not None:
                self.frames.choose(place)
