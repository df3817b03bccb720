"""One of two pictures that lie beside each other: the picture, and its caption below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.message import Message

from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.paper import Row, cut
from catalog.tui.widgets.picture import Picture


@dataclass(frozen=True, slots=True)
class OneLine:
    """Words in one line, cut where they are longer: all of them stand on the back of the card."""

    words: str
    role: str = "ink"
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return the line."""
        return [((cut(self.words, width).rstrip(), self.role),)]


class StillPage(Page, can_focus=False):
    """A page that is looked at: it has no mark, and the keys belong to the card that it lies on."""

    def _say_chosen(self) -> None:
        """Say nothing: the card would take it for the mark of another page."""


class PictureSide(Vertical):
    """A picture with its caption."""

    DEFAULT_CSS = """
    PictureSide { width: 1fr; height: 1fr; }
    PictureSide Picture { width: 1fr; height: 1fr; }
    PictureSide StillPage { width: 1fr; height: 4; }
    """

    class SidePointedAt(Message):
        """This side was pointed at."""

        def __init__(self, side: str) -> None:
            self.side = side
            super().__init__()

    def __init__(self, how: str, *, id: str) -> None:  # noqa: A002  (the word of Textual)
        super().__init__(id=id)
        self.picture = Picture(how)
        """The picture, or the words in its place."""
        self._caption = StillPage()
        # Nobody can scroll it; the rule for all pages would give it a bar.
        self._caption.styles.scrollbar_size_vertical = 0

    def compose(self) -> ComposeResult:
        """Give picture and caption."""
        yield self.picture
        yield self._caption

    def give_room(self, *, caption_rows: int, has_picture: bool) -> None:
        """Give the caption so many rows; a picture that has no room is left out."""
        self.picture.display = has_picture
        self._caption.styles.height = caption_rows if has_picture else "1fr"

    def on_click(self, event: events.Click) -> None:
        """Say that it was pointed at."""
        self.post_message(self.SidePointedAt(self.id or ""))

    def caption(self, items: Sequence[PageItem]) -> None:
        """Show the caption."""
        self._caption.show(items)
