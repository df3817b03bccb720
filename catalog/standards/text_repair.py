"""Text that an earlier program stored wrongly: find it, and propose what it was. Nothing is repaired here."""

from __future__ import annotations

from typing import Final

__all__ = ["propose_repair"]

_ROUNDS: Final = 3  # wrongly stored, and that stored wrongly again
# The bytes that Windows-1252 gives no character: programs let them pass as the control of that number.
_UNASSIGNED: Final = {0x81: 0x81, 0x8D: 0x8D, 0x8F: 0x8F, 0x90: 0x90, 0x9D: 0x9D}


def propose_repair(text: str) -> str | None:
    """
    Return what ``text`` was before UTF-8 was taken for single bytes; None if it does not look so.

    >>> propose_repair("Ã‰glise")
    'Église'
    >>> propose_repair("Église") is None
    True

    It is a proposal: a person may have meant just these signs.
    """
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
        raw = b"".join(_byte_of(char, codec) for char in text)
        return raw.decode("utf-8")
    except UnicodeError:
        return None


def _byte_of(char: str, codec: str) -> bytes:
    if codec == "cp1252" and ord(char) in _UNASSIGNED:
        return bytes((ord(char),))
    return char.encode(codec)
