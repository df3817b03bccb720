"""The slip that lists what can be done here: written from the keys of the card that lies open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.screen import ModalScreen
from textual.strip import Strip
from textual.widget import Widget

from catalog.rules.lines import display_width
from catalog.tui.keys import silent
from catalog.tui.widgets.paper import CLASSES, Inks, Piece, Row, cut


class Slip(Widget):
    """Keys and what they do, in one column or two, as the width allows."""

    COMPONENT_CLASSES = CLASSES

    def __init__(self, keys: Sequence[tuple[str, str]], *, id: str | None = None) -> None:  # noqa: A002  (the word of Textual)
        super().__init__(id=id)
        self._keys = tuple(keys)
        self._inks = Inks(self)

        self._key_width = max((display_width(key) for key, _ in self._keys), default=0)
        self._words_width = max((display_width(words) for _, words in self._keys), default=0)

    def _columns(self, width: int) -> int:
        return 2 if width >= 2 * (self._key_width + self._words_width + 3) else 1

    def rows(self, width: int) -> list[Row]:
        """Return the lines of the slip."""
        columns = self._columns(width)
        each = width // columns
        deep = -(-len(self._keys) // columns)
        rows: list[Row] = []
        for n in range(deep):
            row: list[Piece] = []
            for key, words in self._keys[n::deep]:
                row += [(cut(key, self._key_width).rstrip().rjust(self._key_width), "strong"), ("  ", "ink")]
                row.append((cut(words, each - self._key_width - 2), "ink"))
            rows.append(tuple(row))
        return rows

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """Return how many lines it takes."""
        return len(self.rows(width))

    def render_line(self, y: int) -> Strip:
        """Return one line of it."""
        rows = self.rows(self.content_size.width)
        return self._inks.strip(rows[y] if y < len(rows) else (), self.content_size.width)


_TAKE_AWAY = frozenset({"escape", "question_mark", "f1", "backspace"})


class KeysHere(ModalScreen[events.Key | None]):
    """
    The slip, laid over the lower edge of the card; any key takes it away.

    It is dismissed with the key that the card below is to answer: who reads a key here presses it here.
    """

    CSS = """
    KeysHere { align: center bottom; background: $desk 40%; }
    Slip { background: $slip; color: $ink; border-top: solid $margin; height: auto; max-height: 100%; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [silent("escape", "dismiss(None)")]

    def __init__(self, keys: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self._keys = keys

    def compose(self) -> ComposeResult:
        """Lay the slip down."""
        yield Slip(self._keys)

    def on_key(self, event: events.Key) -> None:
        """Take it away, and hand the key on to the card."""
        event.stop()
        self.dismiss(None if event.key in _TAKE_AWAY else event)

    def on_click(self) -> None:
        """Take it away."""
        self.dismiss()
