"""The fields of a question about frames: words, place, years, lens, film, side; each completes what it knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.suggester import Suggester
from textual.widget import Widget
from textual.widgets import Input

from catalog.rules.folding import fold
from catalog.tui.keys import key, silent

FIELDS = ("words", "place", "years", "lens", "film", "side")
_ROWS = (("words", "place"), ("years", "lens", "film", "side"))


class Completion(Suggester):
    """Completes what is typed from names, whatever its case and accents."""

    def __init__(self) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self.names: Sequence[str] = ()
        self._folded: tuple[Sequence[str], list[str]] = ((), [])

    async def get_suggestion(self, value: str) -> str | None:
        """Return a name that begins as ``value`` does, or ``None``."""
        typed = fold(value)
        if not typed:
            return None
        if self._folded[0] is not self.names:
            self._folded = self.names, [fold(name) for name in self.names]
        found = next((self.names[n] for n, name in enumerate(self._folded[1]) if name.startswith(typed)), None)
        # What was typed stands as it was typed; only what follows is taken from the name.
        return value + found[len(value) :] if found and len(found) > len(value) else None


class Label(Widget):
    """The word before a field."""

    def __init__(self, words: str) -> None:
        super().__init__(classes="label")
        self._words = words

    def render(self) -> Content:
        """Return it."""
        return Content(self._words)


class FindField(Input):
    """One field. ``Tab`` takes the completion and goes to the next field."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("tab", "complete", "complete, go to the next field", priority=True),
        key("down", "to_frames", "go to the frames found", shown="down,enter", priority=True),
        silent("enter", "to_frames", priority=True),
    ]

    class FieldsLeft(Message):
        """The frames are to be walked through."""

    def __init__(self, field: str) -> None:
        super().__init__(id=f"field-{field}", compact=True, suggester=Completion(), select_on_focus=False)
        self.field = field

    @property
    def completion(self) -> Completion:
        """What it completes from."""
        assert isinstance(self.suggester, Completion)
        return self.suggester

    def action_complete(self) -> None:
        """Take what is offered, and go on."""
        if self._suggestion and self.cursor_at_end:
            self.value = self._suggestion
            self.cursor_position = len(self.value)
        self.screen.focus_next()

    def action_to_frames(self) -> None:
        """Say that the frames are wanted."""
        self.post_message(self.FieldsLeft())


class FindFields(Widget):
    """The fields, in two rows."""

    class FieldsChanged(Message):
        """Something was typed; ``asked`` holds what stands in each field."""

        def __init__(self, asked: dict[str, str]) -> None:
            self.asked = asked
            super().__init__()

    def __init__(self, filled: Mapping[str, str], *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._filled = filled

    def compose(self) -> ComposeResult:
        """Give the fields."""
        with Vertical():
            for row in _ROWS:
                with Horizontal(classes="fields"):
                    for field in row:
                        yield Label(field)
                        yield FindField(field)

    def on_mount(self) -> None:
        """Fill in what was given."""
        for field, value in self._filled.items():
            self.query_one(f"#field-{field}", FindField).value = value

    @property
    def asked(self) -> dict[str, str]:
        """What stands in each field."""
        return {field: self.query_one(f"#field-{field}", FindField).value for field in FIELDS}

    def complete_from(self, names: Mapping[str, Sequence[str]]) -> None:
        """Take the names that fields complete from."""
        for field, known in names.items():
            self.query_one(f"#field-{field}", FindField).completion.names = known

    def on_input_changed(self, event: Input.Changed) -> None:
        """Say that something was typed."""
        event.stop()
        self.post_message(self.FieldsChanged(self.asked))

    def on_key(self, event: events.Key) -> None:
        """Keep keys that move within a field from the card."""
        if event.key in ("left", "right", "home", "end", "space"):
            event.stop()
