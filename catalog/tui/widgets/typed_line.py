"""A line to type words into, with the word before it that says what they are for; laid down only when it is needed."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Input

from catalog.tui.keys import key, silent
from catalog.tui.widgets.find_fields import Label


class TypedField(Input):
    """The field of the line."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("enter", "take", "take what is typed", priority=True),
        silent("down", "take", priority=True),
        key("escape", "leave", "leave the field", priority=True),
    ]

    def __init__(self, line: TypedLine) -> None:
        super().__init__(compact=True, select_on_focus=False)
        self._line = line

    def allow_focus(self) -> bool:
        """Return whether the cursor can come here: the line has to be laid down."""
        return self._line.display and super().allow_focus()

    def action_take(self) -> None:
        """Say that what is typed is to be taken."""
        self.post_message(TypedLine.WordsTaken(self._line.id or "", self.value))

    def action_leave(self) -> None:
        """Say that nothing is to be typed after all."""
        self.post_message(TypedLine.LineLeft(self._line.id or ""))


class TypedLine(Horizontal):
    """The line. It says what was typed as it is typed, when it is taken, and when it is left."""

    DEFAULT_CSS = """
    TypedLine { height: 1; display: none; padding: 0 1; }
    TypedLine Label { width: auto; padding: 0 1 0 1; color: $faint-ink; height: 1; }
    TypedField { width: 1fr; background: $slip; color: $ink; border: none; padding: 0; height: 1; }
    TypedField:focus { background: $chosen-paper; color: $chosen-ink; border: none; text-style: bold; }
    TypedField > .input--cursor { background: $ink; color: $paper; text-style: none; }
    """

    class WordsTyped(Message):
        """Something was typed; ``line`` is the id of the line."""

        def __init__(self, line: str, words: str) -> None:
            self.line, self.words = line, words
            super().__init__()

    class WordsTaken(Message):
        """What was typed is to be taken."""

        def __init__(self, line: str, words: str) -> None:
            self.line, self.words = line, words
            super().__init__()

    class LineLeft(Message):
        """The line was left without taking anything."""

        def __init__(self, line: str) -> None:
            self.line = line
            super().__init__()

    def __init__(self, word: str, *, id: str) -> None:  # noqa: A002  (the word of Textual)
        super().__init__(id=id)
        self._word = word

    def compose(self) -> ComposeResult:
        """Give word and field."""
        yield Label(self._word)
        yield TypedField(self)

    @property
    def field(self) -> TypedField:
        """The field."""
        return self.query_one(TypedField)

    def open(self, words: str = "") -> None:
        """Lay the line down with these words in it, ready to type."""
        self.display = True
        self.field.value = words
        self.field.cursor_position = len(words)
        self.field.focus()

    def close(self) -> None:
        """Take the line away."""
        self.display = False

    def on_input_changed(self, event: Input.Changed) -> None:
        """Say what was typed."""
        event.stop()
        if self.display:
            self.post_message(self.WordsTyped(self.id or "", event.value))

    def on_key(self, event: events.Key) -> None:
        """Keep keys that move within the field from the card."""
        if event.key in ("left", "right", "home", "end", "space"):
            event.stop()
