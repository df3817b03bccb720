"""A field while it is written in: how it stood, what is said below it, and the choices there."""

from __future__ import annotations

from dataclasses import dataclass, field

from catalog.rules.fields import LINES
from catalog.store.fields import WrittenField
from catalog.tui.widgets.choices import Choice

_HINT = "Enter keeps it, Esc leaves it as it was."
_HINT_LINES = "Enter keeps it, Ctrl-J begins another line, Esc leaves it as it was."
_HINT_CHOICES = "↑ ↓ choose, Enter takes it; or type on."


@dataclass
class OpenField:
    """A field that is being written in; ``last_text`` is what was typed when something was last said about it."""

    asked: WrittenField
    said: str = ""
    choices: list[Choice] = field(default_factory=list)
    chosen: int = 0
    is_being_written: bool = False
    last_text: str = ""

    def below(self) -> tuple[tuple[str, str, str], ...]:
        """Return what stands under the field: what is said, the choices, and which keys go on; sign, words, role."""
        below = [("", self.said, "margin")] if self.said else []
        for number, choice in enumerate(self.choices):
            is_chosen = number == self.chosen
            below.append(("▸ " if is_chosen else "  ", choice.words, "strong" if is_chosen else "ink"))
        one = self.asked.field
        if self.is_being_written:
            return (*below, ("", "writing …", "faint"))
        hint = _HINT_CHOICES if self.choices else _HINT_LINES if one.sort == LINES else _HINT
        if one.choices and not self.choices:
            hint = f"↓ lists what it may be. {hint}"
        elif one.of and not self.choices:
            hint = f"Tab completes. {hint}"
        return (*below, ("", hint, "faint"))
