"""What a text would give away: names, addresses and contacts of persons, as the catalogue has them, and prices."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from catalog.rules.folding import fold

_WORD = re.compile(r"\w+")
PRIVATE = "(private)"
"""What stands for something private that was taken out of a text."""
# An amount beside the sign or the three letters of a currency (ISO 4217). "BAT" is a print's number.
_CURRENCY = r"(?:[€£¥$]|\b(?!BAT\b)[A-Z]{3}\b)"
_FIGURE = r"\d(?:[\d.,'’\u00a0\u202f]|[ ](?=\d{3}\b))*"
_MONEY = re.compile(rf"{_CURRENCY}\s?{_FIGURE}(?<![.,])|\b{_FIGURE}(?<![.,])\s?{_CURRENCY}")


class PrivateWords:
    """
    Recognises private facts in a text, however it spells their case, accents and signs.

    What is in ``public`` (the photographer, names of places and buildings) is not private though a person is
    called the same. A name counts whole: "Wilf Arkle" is one, "Wilf" is not.

    >>> known = PrivateWords(["Wilf Arkle", "3 Mill Lane, Osk"], public=["Ida Thornwick"])
    >>> known.finds("Told by WILF ARKLE."), known.finds("Seen from Mill Lane, Osk.")
    (True, False)
    """

    def __init__(self, private: Iterable[str], public: Iterable[str] = ()) -> None:
        allowed = {_words(text) for text in public}
        self._by_first: dict[str, set[tuple[str, ...]]] = {}
        for words in {_words(text) for text in private} - allowed - {()}:
            self._by_first.setdefault(words[0], set()).add(words)
        self._known: dict[str, bool] = {}

    def finds(self, text: str) -> bool:
        """Return True if a text holds something private."""
        if not self._by_first or not text:
            return False
        if text not in self._known:
            self._known[text] = self._look_for(_words(text))
        return self._known[text]

    def hide(self, text: str, *, amounts: bool = True) -> str:
        """
        Return a text with ``(private)`` in place of each person, and of each amount of money unless they may stay.

        >>> PrivateWords(["Wilf Arkle"]).hide("sold to Wilf Arkle for 700 EUR (N5)")
        'sold to (private) for (private) (N5)'
        """
        if not text:
            return text
        composed = unicodedata.normalize("NFC", text)
        hidden = self._hide_persons(composed)
        hidden = _MONEY.sub(PRIVATE, hidden) if amounts else hidden
        if self.finds(hidden):  # spelled so oddly that its place in the text cannot be told
            return PRIVATE
        return text if hidden == composed else hidden

    def _hide_persons(self, text: str) -> str:
        words = [(word, found) for found in _WORD.finditer(text) for word in _words(found[0])]
        folded = tuple(word for word, _ in words)
        kept, done, place = [], 0, 0
        while place < len(words):
            length = self._length_at(folded, place)
            if length:
                kept += [text[done : words[place][1].start()], PRIVATE]
                done = words[place + length - 1][1].end()
            place += length or 1
        return "".join((*kept, text[done:]))

    def _length_at(self, words: tuple[str, ...], place: int) -> int:
        """Return how many words from a place on are something private, the longest; none is nought."""
        return max(
            (len(private) for private in self._by_first.get(words[place], ())
             if words[place : place + len(private)] == private),
            default=0,
        )  # fmt: skip

    def _look_for(self, words: tuple[str, ...]) -> bool:
        return any(
            words[place : place + len(private)] == private
            for place, word in enumerate(words)
            for private in self._by_first.get(word, ())
        )


def _words(text: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(fold(text)))
