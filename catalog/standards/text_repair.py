"""Text that an earlier program stored wrongly: find it, and propose what it was. Nothing is repaired here."""

from __future__ import annotations

import codecs
from typing import Final

__all__ = ["propose_repair"]

MAX_CHARACTERS: Final = 1 << 16  # of a text that is looked at
_ROUNDS: Final = 3  # wrongly stored, and that stored wrongly again
# The bytes that Windows-1252 gives no character: programs let them pass as the control of that number.
_UNASSIGNED: Final = frozenset("\x81\x8d\x8f\x90\x9d")


def propose_repair(text: str) -> str | None:
    """
    Return what ``text`` was before UTF-8 was taken for single bytes; None if it does not look so.

    >>> propose_repair("Ã‰glise")
    'Église'
    >>> propose_repair("Église") is None
    True

    It is a proposal: a person may have meant just these signs. Texts over ``MAX_CHARACTERS`` are not looked at.
    """
    if text.isascii() or len(text) > MAX_CHARACTERS:
        return None
    repaired = text
    for _ in range(_ROUNDS):
        once = next(filter(None, (_undone(repaired, codec) for codec in ("cp1252", "latin-1", "mac_roman"))), None)
        if once is None:
            break
        repaired = once
    return repaired if repaired != text else None


def _undone(text: str, codec: str) -> str | None:
    """Return ``text`` written as single bytes of ``codec`` and read as UTF-8; None if it is not all of it UTF-8."""
    if text.isascii():
        return None
    try:
        return text.encode(codec, errors="controls-as-they-are").decode("utf-8")
    except UnicodeError:
        return None


def _let_controls_pass(error: UnicodeError) -> tuple[bytes, int]:
    """Encode the controls that Windows-1252 has no byte for as the byte of their number."""
    if not isinstance(error, UnicodeEncodeError) or error.encoding != "charmap":
        raise error
    char = error.object[error.start]
    if char not in _UNASSIGNED:
        raise error
    return char.encode("latin-1"), error.start + 1


codecs.register_error("controls-as-they-are", _let_controls_pass)
