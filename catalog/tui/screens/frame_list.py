"""What the cards with a run of frames share: the list, its windows read in a thread, opening a frame of it."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from catalog.errors import CatalogError
from catalog.store.frame_runs import FrameRun, frames_of
from catalog.tui.keys import key
from catalog.tui.screens.card import CardScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.card_list import CardList
from catalog.tui.widgets.frame_row import date_told, frame_row
from catalog.tui.widgets.said_line import SaidLine

MOST_MARKED = 2_000
"""So many frames are marked by one key; what is to be done with more is narrowed first."""


class FrameListScreen(CardScreen):
    """
    A card whose face holds a run of frames, as a list of one line each.

    ``marked`` holds the ids of the sheets that were marked, for what is done with several.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        key("m", "mark", "mark this frame, or not"),
        key("M", "mark_all", "mark all of them, or none"),
        key("b", "beside", "lay two frames side by side"),
    ]
    has_back = False

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.marked: set[int] = set()
        self._marked_elsewhere = 0

    def compose_face(self) -> ComposeResult:
        """Give the list."""
        yield CardList(frame_row, is_marked=lambda frame: frame.id in self.marked, id="frames")

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
        self._marked_elsewhere = len(self.marked.difference(run.ids)) if self.marked else 0
        self.frames.show(len(run), place)

    def on_card_list_window_wanted(self, event: CardList.WindowWanted) -> None:
        """Read the rows that come in sight, in a thread."""
        run = self.run
        if run is not None:
            self.run_worker(
                lambda: self._read_window(run, event), thread=True, group="windows", exit_on_error=True
            )  # fmt: skip

    def _read_window(self, run: FrameRun, event: CardList.WindowWanted) -> None:
        teller = Teller(self.app)
        try:
            with self.archive.reading() as connection:
                rows = frames_of(connection, run, event.first, event.count)
            for edtf in {row.exposed_edtf for row in rows if row is not None}:
                date_told(edtf)  # reading a date takes longer than drawing its line
        except CatalogError as exc:
            teller.tell(self.say, str(exc).splitlines()[0])
            return
        teller.tell(self.frames.supply, event.first, rows, event.edition)

    def on_card_list_card_chosen(self, event: CardList.CardChosen) -> None:
        """Say where the mark stands."""
        self._say_where(event.place, event.count)

    def _say_where(self, place: int, count: int) -> None:
        where = f"{place + 1:,} of {count:,}" if count else ""
        marked = f"{len(self.marked):,} marked" if self.marked else ""
        self.query_one(SaidLine).stand_at(", ".join(filter(None, (marked, where))))

    # -- marks -------------------------------------------------------------------------------------------------

    def action_mark(self) -> None:
        """Mark the frame that the sign stands at, or take its mark away, and go on to the next."""
        if self.run is None or not len(self.run):
            self.say("There is no frame to mark.")
            return
        self.marked ^= {int(self.run.ids[self.frames.place])}
        self.frames.refresh()
        self.frames.choose(self.frames.place + 1)
        self.marks_changed()

    def action_mark_all(self) -> None:
        """Mark every frame of the list; where any is marked, take all marks away."""
        run = self.run
        if self.marked:
            self.clear_marks()
        elif run is None or len(run) > MOST_MARKED:
            count = 0 if run is None else len(run)
            self.say(f"{count:,} frames are more than are marked at once ({MOST_MARKED:,}): find fewer.")
            return
        else:
            self.marked.update(int(sheet_id) for sheet_id in run.ids)
        self.frames.refresh()
        self.marks_changed()

    def clear_marks(self) -> None:
        """Take all marks away."""
        self.marked.clear()
        self._marked_elsewhere = 0

    def marks_changed(self) -> None:
        """Say how many frames are marked, and how many of them are not in this list."""
        self._say_where(self.frames.place, self.frames.count)
        count, elsewhere = len(self.marked), self._marked_elsewhere
        if not count:
            self.say("No frame is marked.")
            return
        words = "1 frame is marked" if count == 1 else f"{count:,} frames are marked"
        self.say(words + (f", {elsewhere:,} of them not in this list." if elsewhere else "."))

    def action_beside(self) -> None:
        """Lay the two marked frames beside each other; else this one, and another to be chosen."""
        if len(self.marked) == 2:
            self.browse.open_beside(None, self.run)
        elif self.run is None or not len(self.run):
            self.say("There is no frame to lay down.")
        else:
            self.browse.open_beside(int(self.run.ids[self.frames.place]), self.run)

    def action_write(self) -> None:
        """Write on the frames that are marked, or on the one that the sign stands at."""
        if self.marked:
            self.browse.open_fields_of(sorted(self.marked))
        elif self.run is not None and len(self.run):
            self.browse.open_fields("sheet", int(self.run.ids[self.frames.place]))
        else:
            self.say("There is no frame to write on.")

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
