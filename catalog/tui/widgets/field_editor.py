"""What a field becomes while it is written in: one line, or several for a note; Enter keeps it, Esc leaves it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Input, TextArea

from catalog.tui.keys import key, silent
from catalog.tui.widgets.find_fields import Completion

_ENTER = key("enter", "keep", "keep what is typed", priority=True)
_ESCAPE = key("escape", "leave", "leave it as it was", priority=True)


class FieldKept(Message):
    """What was typed is to be kept."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__()


class FieldLeft(Message):
    """The field was left, with this text in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__()


class ChoiceMoved(Message):
    """Another of the choices below the field was gone to."""

    def __init__(self, by: int) -> None:
        self.by = by
        super().__init__()


class LineEditor(Input):
    """A field of one line. ``names`` are what it completes from."""

    BINDINGS: ClassVar[list[BindingType]] = [
        _ENTER,
        _ESCAPE,
        key("tab", "complete", "take the completion", priority=True),
        silent("down", "choose(1)", priority=True),
        silent("up", "choose(-1)", priority=True),
    ]

    def __init__(self, text: str, names: Sequence[str]) -> None:
        completion = Completion()
        completion.names = names
        super().__init__(text, compact=True, suggester=completion, select_on_focus=False)

    @property
    def typed(self) -> str:
        """What stands in it."""
        return self.value

    def action_keep(self) -> None:
        """Say that it is to be kept."""
        self.post_message(FieldKept(self.value))

    def action_leave(self) -> None:
        """Say that it was left."""
        self.post_message(FieldLeft(self.value))

    def action_choose(self, by: int) -> None:
        """Go to another choice."""
        self.post_message(ChoiceMoved(by))

    def action_complete(self) -> None:
        """Take what is offered in fainter letters."""
        if self._suggestion and self.cursor_at_end:
            self.value = self._suggestion
            self.cursor_position = len(self.value)

    def _on_paste(self, event: events.Paste) -> None:
        # The library takes the first line alone, and what was copied from a letter has several.
        event.prevent_default()
        event.stop()
        self.insert_text_at_cursor(" ".join(event.text.splitlines()))


class NoteEditor(TextArea):
    """A field of several lines; Ctrl-J begins another one."""

    BINDINGS: ClassVar[list[BindingType]] = [
        _ENTER,
        _ESCAPE,
        key("ctrl+j", "new_line", "begin another line", priority=True),
        silent("tab", "complete", priority=True),
        silent("down", "choose(1)", priority=True),
        silent("up", "choose(-1)", priority=True),
    ]

    def __init__(self, text: str) -> None:
        super().__init__(text, soft_wrap=True, show_line_numbers=False, compact=True)
        self.is_choosing = False
        self.move_cursor(self.document.end)

    @property
    def typed(self) -> str:
        """What stands in it."""
        return self.text

    def action_keep(self) -> None:
        """Say that it is to be kept."""
        self.post_message(FieldKept(self.text))

    def action_leave(self) -> None:
        """Say that it was left."""
        self.post_message(FieldLeft(self.text))

    def action_new_line(self) -> None:
        """Begin another line."""
        self.insert("\n")

    def action_complete(self) -> None:
        """Offer nothing: words of a note are nobody's names."""

    def action_choose(self, by: int) -> None:
        """Go to another choice while there are any, else to the line above or below."""
        if self.is_choosing:
            self.post_message(ChoiceMoved(by))
        elif by > 0:
            self.action_cursor_down()
        else:
            self.action_cursor_up()
