"""What the cards with two pictures share: both beside each other, each looked for in a thread of its own."""

from __future__ import annotations

from time import sleep
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.containers import Horizontal

from catalog.errors import CatalogError
from catalog.tui.scan_pictures import picture_of_scan
from catalog.tui.screens.card import CardScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.picture_side import PictureSide

LEFT, RIGHT = "left-side", "right-side"
WAIT_S = 0.1
"""A mark that only passes by a line does not have its picture opened."""
LEAST_FOR_PICTURES = 17
"""In fewer rows than this the words need all the room."""


class TwoPicturesScreen(CardScreen):
    """A card whose face has two pictures beside each other."""

    CSS = """
    #pair { height: 50%; }
    #left-side { margin: 0 1 0 0; }
    """
    pair_share: ClassVar[int] = 50
    """How much of the height the pictures take, in hundredths."""
    most_caption_rows: ClassVar[int] = 4

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self._pictured: dict[str, int | None] = {}
        self._sides: dict[str, PictureSide] = {}

    def compose_pair(self) -> ComposeResult:
        """Give both sides."""
        with Horizontal(id="pair"):
            for side in (LEFT, RIGHT):
                self._sides[side] = PictureSide(self.browse.terminal.pictures, id=side)
                yield self._sides[side]

    def side(self, side: str) -> PictureSide:
        """Return one of both sides."""
        return self._sides[side]

    def _arrange(self, width: int | None = None, height: int | None = None) -> None:
        super()._arrange(width, height)
        height = self.app.size.height if height is None else height
        has_pictures = height >= LEAST_FOR_PICTURES
        pair = max((height - 4) * self.pair_share // 100, 3)
        captions = max(min(pair // 3, self.most_caption_rows), 2)
        if not has_pictures:
            pair = min(self.most_caption_rows - 1, pair)
        self.query_one("#pair").styles.height = pair
        for side in (LEFT, RIGHT):
            self.side(side).give_room(caption_rows=captions, has_picture=has_pictures)

    def _refused(self, refusal: CatalogError) -> None:
        """Say why the card could not be read; the captions are no place for that."""
        super()._refused(refusal)
        if self._rows is None:
            for side in (LEFT, RIGHT):
                self.side(side).caption([])

    def picture_words(self, side: str, words: str) -> None:
        """Put words in place of a picture."""
        self.workers.cancel_group(self, side)
        self._pictured[side] = None
        self.side(side).picture.say(words)

    def picture_scan(self, side: str, scan_id: int) -> None:
        """Show the picture of a scan: what is shown already stays."""
        if self._pictured.get(side) == scan_id:
            return
        self._pictured[side] = scan_id
        self.side(side).picture.say("looking for the picture …")
        self.run_worker(
            lambda: self._find_picture(side, scan_id), thread=True, exclusive=True, group=side, exit_on_error=True
        )  # fmt: skip

    def forget_pictures(self) -> None:
        """Look for every picture anew."""
        self._pictured.clear()

    def _find_picture(self, side: str, scan_id: int) -> None:
        teller = Teller(self.app)
        sleep(WAIT_S)
        if not teller.is_wanted:
            return

        def tell(words: str) -> None:
            teller.tell(self._show_picture, side, scan_id, words)

        found = picture_of_scan(self.archive, scan_id, self.browse.terminal.pictures, tell)
        teller.tell(self._show_picture, side, scan_id, found)

    def _show_picture(self, side: str, scan_id: int, found: Any) -> None:
        picture = self.side(side).picture
        if not picture.is_attached or self._pictured.get(side) != scan_id:
            return
        if isinstance(found, str):
            picture.say(found)
        else:
            picture.show(found)

    def action_read_anew(self) -> None:
        """Read the card anew, and look for its pictures once more."""
        self.forget_pictures()
        self.read_rows()
        self.say("Read anew.")
