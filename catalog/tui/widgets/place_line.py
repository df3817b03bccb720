"""The line of place: the tabs of the guide cards behind, and the tab of the card in front, cut into its edge."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from catalog.rules.lines import display_width, one_line
from catalog.store.trails import Step
from catalog.tui.widgets.paper import CLASSES, Inks, Piece, cut

_BETWEEN = " / "
_LONGEST_TAB = 34
_BACK = " back of the card "


class PlaceLine(Widget):
    """Two lines: where this card stands in the drawer, and its upper edge."""

    COMPONENT_CLASSES = CLASSES

    class PlaceOpened(Message):
        """A guide card behind was pointed at."""

        def __init__(self, reference: str) -> None:
            self.reference = reference
            super().__init__()

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002  (the word of Textual)
        super().__init__(id=id)
        self._trail: Sequence[Step] = ()
        self._sign = ""
        self._split: int | None = None
        self._is_turned = False
        self._inks = Inks(self)
        self._spans: list[tuple[int, int, str]] = []

    def show(self, trail: Sequence[Step], sign: str = "") -> None:
        """Show the guide cards that lead to a card, its own last; ``sign`` stands at the right: its reference."""
        self._trail, self._sign = trail, sign
        self.refresh()

    @property
    def trail(self) -> Sequence[Step]:
        """The guide cards that lead to this card, its own last."""
        return self._trail

    def show_sides(self, *, split: int | None, is_turned: bool) -> None:
        """Draw the edge of one side, or of both with the back beginning after ``split`` columns."""
        self._split, self._is_turned = split, is_turned
        self.refresh()

    def notify_style_update(self) -> None:
        """Look the inks up anew."""
        super().notify_style_update()
        self._inks.forget()

    def _behind(self, room: int) -> tuple[list[Piece], int]:
        """Return the pieces of the cards behind, the widest left out where they do not fit, and their width."""
        behind = list(self._trail[:-1])
        cut_short = ""
        while behind and self._width(behind, cut_short) > room:
            behind.pop(0)
            cut_short = "… / "
        pieces: list[Piece] = [(" " + cut_short, "faint")]
        at = 1 + len(cut_short)
        self._spans = []
        for step in behind:
            width = display_width(one_line(step.name))
            self._spans.append((at, at + width, step.reference))
            pieces += [(step.name, "ink"), (_BETWEEN, "edge")]
            at += width + len(_BETWEEN)
        return pieces, at

    @staticmethod
    def _width(steps: Sequence[Step], cut_short: str) -> int:
        return 1 + len(cut_short) + sum(display_width(one_line(s.name)) + len(_BETWEEN) for s in steps)

    def render_line(self, y: int) -> Strip:
        """Return the line of tabs, or the edge below it."""
        width = self.size.width
        own = one_line(self._trail[-1].name) if self._trail else ""
        own = cut(own, min(display_width(own), _LONGEST_TAB, max(width - 12, 4)))
        tab = display_width(own) + 2
        before, at = self._behind(max(width - tab - len(self._sign) - 6, 0))
        if y == 0:
            row = [*before, ("╭", "edge"), (f" {own} ", "tab"), ("╮", "edge")]
            gap = width - at - tab - 2 - len(self._sign) - 1
            return self._inks.strip([*row, (" " * max(gap, 0), "ink"), (self._sign if gap > 0 else "", "faint")], width)
        face = width if self._split is None else self._split
        edge = "─" * max(face - at - tab - 3, 0)
        if self._is_turned:
            edge = edge[: -len(_BACK) - 1] + _BACK + "─" if len(edge) > len(_BACK) + 2 else edge
        left = "╭" + "─" * (at - 1) + "╯" if at else "│"
        line = left + " " * tab + "╰" + edge + "╮"
        if self._split is not None:
            line += " ╭─" + _BACK + "─" * max(width - face - 5 - len(_BACK), 0) + "╮"
        cells = [(left, "edge"), (" " * tab, "tab"), (line[len(left) + tab :], "edge")]
        return self._inks.strip(cells, width)

    def on_click(self, event: events.Click) -> None:
        """Open the guide card whose tab was pointed at."""
        if event.y:
            return
        for first, last, reference in self._spans:
            if first <= event.x < last:
                self.post_message(self.PlaceOpened(reference))
                return
