"""What a text would give away: names, addresses and contacts of persons, as the catalogue has them."""

from __future__ import annotations

import re
from collections.abc import Iterable

from catalog.rules.folding import fold

_WORD = re.compile(r"\w+")


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

    def _look_for(self, words: tuple[str, ...]) -> bool:
        return any(
            words[place : place + len(private)] == private
            for place, word in enumerate(words)
            for private in self._by_first.get(word, ())
        )


def _words(text: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(fold(text)))
