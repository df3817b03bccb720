"""What the cards share on which a sheet is chosen: a page of sheets, and a line to find another by number or words."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.timer import Timer

from catalog.errors import CatalogError
from catalog.store.find import FoundFrame
from catalog.store.frame_runs import FrameRun, frames_of
from catalog.store.strays import find_sheets
from catalog.tui.keys import key
from catalog.tui.screens.card import CardScreen
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.typed_line import TypedLine

_WAIT_S = 0.12
"""So long after the last key the question is asked."""
MOST_FOUND = 100
FIND_LINE = "find-line"


@dataclass(frozen=True, slots=True)
class Found:
    """What typed words found: the first frames of a run, or why nothing was looked for."""

    words: str
    frames: tuple[FoundFrame, ...] = ()
    run: FrameRun | None = None

    @property
    def left_out(self) -> int:
        """How many more were found than are listed."""
        return max(len(self.run) - MOST_FOUND, 0) if self.run is not None else 0


class SheetFinder(CardScreen):
    """A card on which a sheet is chosen. ``asked`` is what stands in the line, empty when it is not laid down."""

    BINDINGS: ClassVar[list[BindingType]] = [key("f", "find_sheet", "find another sheet")]

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.asked = ""
        self._waiting: Timer | None = None
        self._marked_for: object = None

    def compose_finder(self) -> ComposeResult:
        """Give the line and the page of sheets."""
        yield TypedLine("number or words", id=FIND_LINE)
        yield Page(id="face-page")

    @property
    def page(self) -> Page:
        """The page of sheets."""
        return self.query_one("#face-page", Page)

    @property
    def find_line(self) -> TypedLine:
        """The line that is typed into."""
        return self.query_one(f"#{FIND_LINE}", TypedLine)

    def show_sheets(self, items: Sequence[PageItem], choose: str | None, *, about: object) -> None:
        """Show the page; when it is ``about`` something else than before, the mark goes to its first sheet."""
        if choose is None and about != self._marked_for:
            choose = next((item.reference for item in items if item.reference is not None), None)
        self._marked_for = about
        self.page.show(items, choose)

    def find(self, connection: sqlite3.Connection) -> Found | None:
        """Return what the words in the line find, ``None`` when there are none; called in a thread."""
        if not self.asked.strip():
            return None
        try:
            run = find_sheets(connection, self.archive, self.asked)
        except CatalogError as exc:
            return Found(str(exc))
        frames = frames_of(connection, run, 0, MOST_FOUND)
        words = f"found by “{self.asked.strip()}”" if len(run) else f"Nothing is found by “{self.asked.strip()}”."
        return Found(words, tuple(frame for frame in frames if frame is not None), run)

    def action_find_sheet(self) -> None:
        """Lay the line down to find another sheet."""
        self.find_line.open(self.asked)

    def on_typed_line_words_typed(self, event: TypedLine.WordsTyped) -> None:
        """Ask a moment after the last key."""
        if event.line != FIND_LINE or event.words == self.asked:
            return
        self.asked = event.words
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(_WAIT_S, self.read_rows)

    def on_typed_line_words_taken(self, event: TypedLine.WordsTaken) -> None:
        """Go to the sheets found."""
        if event.line == FIND_LINE:
            self.set_focus(self.page)

    def on_typed_line_line_left(self, event: TypedLine.LineLeft) -> None:
        """Go back to what stood there before."""
        if event.line == FIND_LINE:
            self.leave_line()
            self.read_rows()

    def leave_line(self) -> None:
        """Take the line away, and what it found."""
        if self._waiting is not None:
            self._waiting.stop()
        self.asked = ""
        self.find_line.close()
        self.set_focus(self.page)
