"""A long list that draws its own lines: it knows how many there are, and holds only the windows that were looked at."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from typing import Any, ClassVar

from textual import events
from textual.binding import BindingType
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from catalog.tui.keys import key, silent
from catalog.tui.widgets.page import PageItem
from catalog.tui.widgets.paper import CLASSES, Inks, Row

WINDOW = 256
KEPT_WINDOWS = 64
AHEAD = 64
"""Rows this near to what is in sight are asked for before a key needs them."""


class CardList(ScrollView, can_focus=True, inherit_bindings=False):
    """
    A list of any length, one line each; ``above`` it may stand words that belong to all of it and scroll with it.

    ``draw`` makes a line of a row and a width; rows that ``is_marked`` says
    yes to have a ``✓`` before them.

    It asks for rows with ``WindowWanted`` and is given them with ``supply``; until then their lines are dotted.
    """

    COMPONENT_CLASSES = CLASSES
    BINDINGS: ClassVar[list[BindingType]] = [
        key("down", "walk(1)", "walk along the lines", shown="up,down"),
        silent("up,k", "walk(-1)"),
        silent("j", "walk(1)"),
        key("pagedown", "leaf(1)", "a screenful back, on", shown="pageup,pagedown"),
        silent("pageup", "leaf(-1)"),
        key("end", "end(1)", "the first, the last", shown="home,end"),
        silent("home", "end(-1)"),
        key("enter", "open", "open what is marked"),
    ]

    class WindowWanted(Message):
        """Rows are about to be shown that are not here."""

        def __init__(self, first: int, count: int, edition: int) -> None:
            self.first, self.count, self.edition = first, count, edition
            super().__init__()

    class CardOpened(Message):
        """A line was opened, at this place in the list (from 0)."""

        def __init__(self, place: int) -> None:
            self.place = place
            super().__init__()

    class CardChosen(Message):
        """The mark came to a line, at this place in the list (from 0)."""

        def __init__(self, place: int, count: int) -> None:
            self.place, self.count = place, count
            super().__init__()

    class TopLeft(Message):
        """The mark was moved up from the first line."""

    def __init__(
        self,
        draw: Callable[[Any, int], Row],
        *,
        is_marked: Callable[[Any], bool] = lambda row: False,
        id: str | None = None,  # noqa: A002  (the word of Textual)
    ) -> None:
        super().__init__(id=id)
        self._draw, self._is_marked = draw, is_marked
        self._count = self._chosen = 0
        self._edition = 0
        self._windows: OrderedDict[int, Sequence[Any]] = OrderedDict()
        self._asked: set[int] = set()
        self._above: Sequence[PageItem] = ()
        self._above_rows: list[Row] = []
        self._inks = Inks(self)

    @property
    def count(self) -> int:
        """How many lines there are."""
        return self._count

    @property
    def place(self) -> int:
        """Where the mark stands, from 0."""
        return self._chosen

    @property
    def kept_windows(self) -> int:
        """How many windows are held."""
        return len(self._windows)

    def show(self, count: int, place: int = 0, above: Sequence[PageItem] = ()) -> None:
        """
        Show another list, of ``count`` lines, the mark at ``place``; rows are asked for as they come in sight.

        ``above`` it stands what belongs to the whole list.
        """
        self._count, self._edition = count, self._edition + 1
        self._windows.clear()
        self._asked.clear()
        self._above = above
        self._chosen = max(0, min(place, count - 1))
        self._lay_out()
        self.refresh()
        if self._chosen or not above:
            self._see_chosen()
        for place_near in (self._chosen, 0, count - 1):
            self._want(place_near)
        self._say_chosen()

    def _lay_out(self) -> None:
        width = self.scrollable_content_region.width
        self._above_rows = [row for item in self._above for row in item.rows(max(width - 2, 8))]
        self.virtual_size = Size(width, len(self._above_rows) + self._count)

    def supply(self, first: int, rows: Sequence[Any], edition: int) -> None:
        """Take the rows of a window; those asked for before another list was shown are put away."""
        if edition != self._edition:
            return
        window = first // WINDOW
        self._windows[window] = rows
        self._asked.discard(window)
        ends = {0, max(self._count - 1, 0) // WINDOW}  # one key away from anywhere
        while len(self._windows) > KEPT_WINDOWS:
            oldest = next(window for window in self._windows if window not in ends)
            del self._windows[oldest]
        self.refresh()

    def row(self, place: int) -> Any:
        """Return the row at a place, or ``None`` when it is not here; it is then asked for."""
        window, within = divmod(place, WINDOW)
        rows = self._windows.get(window)
        if rows is None:
            self._want(place)
            return None
        self._windows.move_to_end(window)
        return rows[within] if within < len(rows) else None

    def _want(self, place: int) -> None:
        window = place // WINDOW
        if 0 <= place < self._count and window not in self._windows and window not in self._asked:
            self._asked.add(window)
            self.post_message(self.WindowWanted(window * WINDOW, WINDOW, self._edition))

    def render_line(self, y: int) -> Strip:
        """Return one line as it is drawn."""
        place = y + round(self.scroll_y) - len(self._above_rows)
        width = self.scrollable_content_region.width
        if place < 0:
            return self._inks.strip((("  ", "ink"), *self._above_rows[place]), width)
        if place >= self._count:
            return self._inks.strip((), width)
        row = self.row(place)
        is_chosen = place == self._chosen
        drawn = self._draw(row, width - 2) if row is not None else (("· · ·", "rule"),)
        sign = ("▸" if is_chosen else " ") + ("✓" if row is not None and self._is_marked(row) else " ")
        return self._inks.strip(((sign, "margin"), *drawn), width, chosen=is_chosen and self.has_focus)

    def notify_style_update(self) -> None:
        """Look the inks up anew."""
        super().notify_style_update()
        self._inks.forget()

    def on_resize(self, event: events.Resize) -> None:
        """Keep the chosen line in sight."""
        self._lay_out()
        if self._chosen or not self._above:
            self._see_chosen()

    def choose(self, place: int) -> None:
        """Move the mark to a place."""
        place = max(0, min(place, self._count - 1))
        if place != self._chosen:
            former, self._chosen = self._chosen, place
            self.refresh()
            self._see_chosen()
            self._want(place)
            # Walking on meets the next rows; after a leap nobody knows yet which way.
            if abs(place - former) <= AHEAD:
                self._want(place + (AHEAD if place > former else -AHEAD))
            self._say_chosen()

    def action_walk(self, by: int) -> None:
        """Move the mark by one line; what stands above the list is read before the mark goes on."""
        height = self.scrollable_content_region.height
        if by < 0 and self._chosen == 0 and self._above_rows and self.scroll_y > 0:
            self.scroll_relative(y=by, animate=False)
        elif by < 0 and self._chosen == 0:
            self.post_message(self.TopLeft())
        elif by > 0 and self._above_rows and self._line_of(self._chosen) - self.scroll_y >= height:
            self.scroll_relative(y=max(height // 2, 1), animate=False)
        else:
            self.choose(self._chosen + by)

    def action_leaf(self, by: int) -> None:
        """Move the mark by the height of the list."""
        height = max(self.scrollable_content_region.height - 1, 1)
        if self._above_rows and by > 0 and self._line_of(self._chosen) - self.scroll_y > height:
            self.scroll_relative(y=height, animate=False)
            return
        self.choose(self._chosen + by * height)
        if by < 0 and self._chosen == 0:
            self.scroll_to(y=0, animate=False)

    def action_end(self, by: int) -> None:
        """Go to the first or the last line."""
        self.choose(0 if by < 0 else self._count - 1)
        if by < 0:
            self.scroll_to(y=0, animate=False)

    def action_open(self) -> None:
        """Say that the chosen line was opened."""
        if self._count:
            self.post_message(self.CardOpened(self._chosen))

    def on_click(self, event: events.Click) -> None:
        """Choose the line that was pointed at, and open it when it was chosen already."""
        place = event.y + round(self.scroll_y) - len(self._above_rows)
        if not 0 <= place < self._count:
            return
        if place == self._chosen:
            self.action_open()
        else:
            self.choose(place)

    def _line_of(self, place: int) -> int:
        """Return on which line, from the first above the list, a place stands."""
        return place + len(self._above_rows)

    def _see_chosen(self) -> None:
        height = max(self.scrollable_content_region.height, 1)
        top, line = round(self.scroll_target_y), self._line_of(self._chosen)
        if self._chosen == 0 and line < height:
            line = 0  # with the first line, what stands above it is seen as well
        if line < top:
            self.scroll_to(y=line, animate=False, force=True)
        elif line >= top + height:
            self.scroll_to(y=line - height + 1, animate=False, force=True)

    def _say_chosen(self) -> None:
        self.post_message(self.CardChosen(self._chosen, self._count))
