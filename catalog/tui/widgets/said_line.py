"""The line below the card: what was just said, else where the mark stands and which key lists the others."""

from __future__ import annotations

from textual.strip import Strip
from textual.widget import Widget

from catalog.rules.lines import display_width, one_line
from catalog.tui.widgets.paper import CLASSES, Inks, cut

_HINT = "? what can be done here"


class SaidLine(Widget):
    """One line of words."""

    COMPONENT_CLASSES = CLASSES

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002  (the word of Textual)
        super().__init__(id=id)
        self._said = self._where = ""
        self._inks = Inks(self)

    @property
    def said(self) -> str:
        """What is being said, empty when nothing is."""
        return self._said

    def say(self, words: str) -> None:
        """Say something until the next thing is said; empty words end it."""
        self._said = words
        self.refresh()

    def stand_at(self, where: str) -> None:
        """Show where the mark stands: "3 of 16"."""
        self._where = where
        self.refresh()

    def notify_style_update(self) -> None:
        """Look the inks up anew."""
        super().notify_style_update()
        self._inks.forget()

    def render_line(self, y: int) -> Strip:
        """Return the line."""
        width = self.content_size.width
        right = self._where
        left = one_line(self._said) or _HINT
        room = width - display_width(right) - 2
        if display_width(left) > room:
            right, room = "", width - 2
        row = ((cut(left, max(room, 0)), "strong" if self._said else "faint"), ("  ", "ink"), (right, "faint"))
        return self._inks.strip(row, width)
