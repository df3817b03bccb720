"""A page of items, one below the other: it draws its own lines, and a mark walks along those that can be opened."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Protocol

from textual import events
from textual.binding import BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from catalog.tui.keys import key, silent
from catalog.tui.widgets.paper import CLASSES, Inks, Row

_GUTTER = 2
"""Columns at the left, where the mark of the chosen line stands."""
LONG_ROWS = 4000
"""Rows of one item beyond this are not drawn: a note of that length is read elsewhere."""


class PageItem(Protocol):
    """Something on a page, frozen. ``reference`` is what opens when it is chosen, ``None`` if nothing does."""

    @property
    def reference(self) -> str | None:
        """The record it stands for."""

    def rows(self, width: int) -> list[Row]:
        """Return its lines, for a page of this width."""


class Page(ScrollView, can_focus=True, inherit_bindings=False):
    """A page. Up and down walk along what can be opened, and scroll where there is nothing more."""

    COMPONENT_CLASSES = CLASSES
    BINDINGS: ClassVar[list[BindingType]] = [
        key("down", "walk(1)", "walk along the lines", shown="up,down"),
        silent("up,k", "walk(-1)"),
        silent("j", "walk(1)"),
        silent("pageup", "leaf(-1)"),
        silent("pagedown", "leaf(1)"),
        silent("home", "end(-1)"),
        silent("end", "end(1)"),
        key("enter", "open", "open what is marked"),
    ]

    class LineOpened(Message):
        """A line was opened."""

        def __init__(self, reference: str) -> None:
            self.reference = reference
            super().__init__()

    class LineChosen(Message):
        """The mark came to a line; ``number`` counts those that can be opened from 1, of ``count``."""

        def __init__(self, page: Page, reference: str | None, number: int, count: int) -> None:
            self.page, self.reference, self.number, self.count = page, reference, number, count
            super().__init__()

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002  (the word of Textual)
        super().__init__(id=id)
        self._items: Sequence[PageItem] = ()
        self._chosen: int | None = None
        self._rows: list[tuple[Row, int]] = []
        self._tops: list[int] = []
        self._width = 0
        self._inks = Inks(self)

    @property
    def chosen(self) -> str | None:
        """The reference of the line that the mark stands at."""
        return None if self._chosen is None else self._items[self._chosen].reference

    @property
    def is_at_first(self) -> bool:
        """Whether the mark stands at the first line that can be opened, where it stands of itself."""
        return self._next(-1) is None

    def show(self, items: Sequence[PageItem], choose: str | None = None) -> None:
        """
        Show items in place of the former ones; the mark stays where it was, or goes to ``choose``.

        When what it stood at is gone it stays at the same place in the order.
        """
        wanted = choose or self.chosen
        former, was_seen = self._chosen, self._is_chosen_seen()
        self._items = items
        openable = [i for i, item in enumerate(items) if item.reference is not None]
        self._chosen = next((i for i in openable if items[i].reference == wanted and wanted), None)
        if self._chosen is None and openable:
            self._chosen = min(openable, key=lambda i: abs(i - former)) if former is not None else openable[0]
        self._lay_out()
        if choose is not None or (was_seen and not self._is_chosen_seen()):
            self._see_chosen()
        self._say_chosen()

    def choose(self, reference: str) -> bool:
        """Move the mark to a line; ``False`` when it is not on this page."""
        found = next((i for i, item in enumerate(self._items) if item.reference == reference), None)
        if found is not None:
            self._move_to(found)
        return found is not None

    def region_of(self, reference: str) -> Region | None:
        """Return where a line stands on the page as it is scrolled, without the gutter; ``None`` if it is not on it."""
        found = next((i for i, item in enumerate(self._items) if item.reference == reference), None)
        if found is None:
            return None
        top = self._tops[found]
        after = self._tops[found + 1] if found + 1 < len(self._tops) else len(self._rows)
        return Region(_GUTTER, top - round(self.scroll_y), self._width, after - top)

    def _lay_out(self) -> None:
        self._width = max(self.scrollable_content_region.width - _GUTTER, 8)
        self._rows, self._tops = [], []
        for number, item in enumerate(self._items):
            self._tops.append(len(self._rows))
            self._rows += [(row, number) for row in item.rows(self._width)[:LONG_ROWS]]
        self.virtual_size = Size(self.scrollable_content_region.width, len(self._rows))
        self.refresh()

    def on_resize(self, event: events.Resize) -> None:
        """Lay the lines out for the new width; the chosen line stays in sight."""
        if self.scrollable_content_region.width - _GUTTER != self._width:
            self._lay_out()
            if self.scroll_y:
                self._see_chosen()

    def on_focus(self) -> None:
        """Say where the mark stands on this side."""
        self._say_chosen()

    def notify_style_update(self) -> None:
        """Look the inks up anew."""
        super().notify_style_update()
        self._inks.forget()

    def render_line(self, y: int) -> Strip:
        """Return one line as it is drawn."""
        number = y + round(self.scroll_y)
        width = self.scrollable_content_region.width
        if number >= len(self._rows):
            return self._inks.strip((), width)
        row, item = self._rows[number]
        is_chosen = item == self._chosen and self.has_focus_within
        sign = "▸ " if item == self._chosen and number == self._tops[item] else "  "
        return self._inks.strip(((sign, "margin"), *row), width, chosen=is_chosen)

    def action_walk(self, by: int) -> None:
        """Move the mark to the next line that can be opened, or scroll when there is none in reach."""
        after = self._next(by)
        if after is None:
            self.scroll_relative(y=by, animate=False)
            return
        top, height = self._tops[after], self.scrollable_content_region.height
        # A long stretch of words is read before the mark jumps over it.
        if by > 0 and top - self.scroll_y >= height + 1 and self._has_rows_below():
            self.scroll_relative(y=max(height // 2, 1), animate=False)
        elif by < 0 and self.scroll_y - top > height:
            self.scroll_relative(y=-max(height // 2, 1), animate=False)
        else:
            self._move_to(after)

    def _has_rows_below(self) -> bool:
        return self.scroll_y + self.scrollable_content_region.height < len(self._rows)

    def _next(self, by: int) -> int | None:
        start = -1 if self._chosen is None else self._chosen
        steps = range(start + 1, len(self._items)) if by > 0 else range(start - 1, -1, -1)
        return next((i for i in steps if self._items[i].reference is not None), None)

    def action_leaf(self, by: int) -> None:
        """Turn by the height of the page, the mark with it."""
        height = max(self.scrollable_content_region.height - 1, 1)
        self.scroll_relative(y=by * height, animate=False)
        first = self.scroll_target_y + (0 if by > 0 else height)
        reach = [i for i, item in enumerate(self._items) if item.reference is not None]
        if reach:
            self._move_to(min(reach, key=lambda i: abs(self._tops[i] - first)), follow=False)

    def action_end(self, by: int) -> None:
        """Go to the first or the last line."""
        reach = [i for i, item in enumerate(self._items) if item.reference is not None]
        if reach:
            self._move_to(reach[0 if by < 0 else -1])
        self.scroll_to(y=0 if by < 0 else len(self._rows), animate=False)

    def action_open(self) -> None:
        """Say that the chosen line was opened."""
        if self.chosen is not None:
            self.post_message(self.LineOpened(self.chosen))

    def on_click(self, event: events.Click) -> None:
        """Choose the line that was pointed at, and open it when it was chosen already."""
        number = event.y + round(self.scroll_y)
        if not 0 <= number < len(self._rows):
            return
        item = self._rows[number][1]
        if self._items[item].reference is None:
            return
        was_chosen = item == self._chosen
        self._move_to(item)
        if was_chosen:
            self.action_open()

    def _move_to(self, item: int, *, follow: bool = True) -> None:
        self._chosen = item
        if follow:
            self._see_chosen()
        self.refresh()
        self._say_chosen()

    def _is_chosen_seen(self) -> bool:
        if self._chosen is None or self._chosen >= len(self._tops):
            return False
        return 0 <= self._tops[self._chosen] - round(self.scroll_y) < self.scrollable_content_region.height

    def _see_chosen(self) -> None:
        if self._chosen is None or self._chosen >= len(self._tops):
            return
        top = self._tops[self._chosen]
        after = self._tops[self._chosen + 1] if self._chosen + 1 < len(self._tops) else len(self._rows)
        if self._next(-1) is None:
            top = 0  # with the first line that can be opened, what stands above it is seen as well
        region = Region(0, top, 1, min(after - top, max(self.scrollable_content_region.height, 1)))
        self.scroll_to_region(region, animate=False, force=True)

    def _say_chosen(self) -> None:
        reach = [i for i, item in enumerate(self._items) if item.reference is not None]
        number = reach.index(self._chosen) + 1 if self._chosen in reach else 0
        self.post_message(self.LineChosen(self, self.chosen, number, len(reach)))
