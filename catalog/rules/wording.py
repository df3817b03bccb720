"""How doubt is said: the words that go before a name, a number, a date that is not sure."""

from __future__ import annotations

HEDGES = {"certain": "", "probable": "probably ", "possible": "possibly "}


def hedged(text: str, certainty: str) -> str:
    """
    Return ``text`` with its doubt before it.

    >>> hedged("Osk Mill", "probable")
    'probably Osk Mill'
    """
    return HEDGES[certainty] + text
