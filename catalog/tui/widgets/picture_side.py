"""One of two pictures that lie beside each other: the picture, and its caption below."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Vertical

from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.picture import Picture


class StillPage(Page, can_focus=False):
    """A page that is looked at: the keys belong to the card that it lies on."""


class PictureSide(Vertical):
    """A picture with its caption."""

    DEFAULT_CSS = """
    PictureSide { width: 1fr; height: 1fr; }
    PictureSide Picture { width: 1fr; height: 1fr; }
    PictureSide StillPage { width: 1fr; height: 4; scrollbar-size-vertical: 0; }
    """

    def __init__(self, how: str, *, id: str) -> None:  # noqa: A002  (the word of Textual)
        super().__init__(id=id)
        self._how = how

    def compose(self) -> ComposeResult:
        """Give picture and caption."""
        yield Picture(self._how)
        yield StillPage()

    @property
    def picture(self) -> Picture:
        """The picture, or the words in its place."""
        return self.query_one(Picture)

    def give_room(self, *, caption_rows: int, has_picture: bool) -> None:
        """Give the caption so many rows; a picture that has no room is left out."""
        self.picture.display = has_picture
        self.query_one(StillPage).styles.height = caption_rows if has_picture else "1fr"

    def caption(self, items: Sequence[PageItem]) -> None:
        """Show the caption."""
        self.query_one(StillPage).show(items)
