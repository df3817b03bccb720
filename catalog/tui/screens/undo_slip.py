"""The slip that says which deed would be taken back, and asks; or says why none can be."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.screen import ModalScreen
from textual.widget import Widget

from catalog.tui.keys import key, silent


class SlipWords(Widget):
    """Words on a slip, as they are."""

    def __init__(self, words: Sequence[str]) -> None:
        super().__init__()
        self._words = "\n".join(words)

    def render(self) -> Content:
        """Return them."""
        return Content(self._words)


class UndoSlip(ModalScreen[bool]):
    """A slip laid over the lower edge of the card: Enter says yes, Esc no. Without ``asks`` it only tells."""

    CSS = """
    UndoSlip { align: center bottom; background: $desk 40%; }
    SlipWords { background: $slip; color: $ink; border-top: solid $margin; height: auto; max-height: 100%;
        padding: 0 2; overflow-y: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("enter", "answer(True)", "take it back"),
        key("escape", "answer(False)", "leave it as it is"),
        silent("q,u,n,backspace,space", "answer(False)"),
    ]

    def __init__(self, words: Sequence[str], *, asks: bool) -> None:
        super().__init__()
        self._asks = asks
        self.words = (*words, "Enter takes it back, Esc leaves it." if asks else "Esc goes on.")

    def compose(self) -> ComposeResult:
        """Lay the slip down."""
        yield SlipWords(self.words)

    def action_answer(self, answer: bool) -> None:
        """Say yes or no."""
        self.dismiss(answer and self._asks)
