"""A key and what it does: how screens state them, so that one panel can list what can be done."""

from __future__ import annotations

from textual.binding import Binding

_NAMES = {
    "up": "↑", "down": "↓", "left": "←", "right": "→", "enter": "Enter", "escape": "Esc", "space": "Space",
    "pageup": "PgUp", "pagedown": "PgDn", "home": "Home", "end": "End", "question_mark": "?", "tab": "Tab",
    "shift+tab": "Shift-Tab", "backspace": "Backspace",
}  # fmt: skip


def key(keys: str, action: str, words: str, *, shown: str | None = None, priority: bool = False) -> Binding:
    """
    Return a binding; ``words`` say what it does, as the panel lists it (29 columns at most).

    ``shown`` are the keys that the panel names, where it is more than this one: the others are bound silently.
    """
    return Binding(keys, action, words, show=True, priority=priority, key_display=shown or keys)


def silent(keys: str, action: str, *, priority: bool = False) -> Binding:
    """Return a binding that the panel does not list: a second key for the same."""
    return Binding(keys, action, "", show=False, priority=priority)


def key_name(pressed: str) -> str:
    """
    Return a key as it is printed on the keyboard.

    >>> key_name("pagedown"), key_name("ctrl+z"), key_name("f")
    ('PgDn', 'Ctrl-Z', 'f')
    """
    if pressed in _NAMES:
        return _NAMES[pressed]
    *held, last = pressed.split("+")
    return "-".join([*(word.capitalize() for word in held), last.upper() if held else last])
