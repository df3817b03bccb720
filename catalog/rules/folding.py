"""The form in which names and numbers are compared: one spelling for all the ways of writing one."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

# Letters that carry their stroke or ligature as part of themselves: Unicode gives them no decomposition,
# so that stripping accents leaves them alone (Unicode Character Database, field Decomposition_Mapping).
_LETTERS = {
    "ł": "l", "ø": "o", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ŧ": "t", "ŋ": "n", "ĸ": "k",
    "æ": "ae", "œ": "oe", "þ": "th", "ß": "ss", "ƒ": "f",
}  # fmt: skip
_SIGNS = {
    **dict.fromkeys("‘’‚‛′ʼʻ`´＇", "'"),
    **dict.fromkeys("“”„‟″«»＂", '"'),
    **dict.fromkeys("‐‑‒–—―−﹣－", "-"),
    **dict.fromkeys("\u00ad\u200b\u200c\u200d\u2060\ufeff", ""),
}
_TABLE = str.maketrans({**_LETTERS, **_SIGNS})
_ASCII_SIGNS = str.maketrans("`", "'")
_STOP_BEFORE_WORD = re.compile(r"(?<=[^\W\d_]{2})\.(?=[^\W\d_])")
_STOP_AFTER_LETTER = re.compile(r"(?<=[^\W\d_])\.")


@lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """
    Return ``text`` as comparisons and searches see it.

    Case, accents, curly quotes, kinds of dash, runs of white space, and the full stops of abbreviations make
    no difference; a full stop between digits stays, since ``78.14`` is not ``7814``. Two texts are the same
    name when their folds are equal. Folding twice changes nothing.

    >>> fold("St. John’s")
    "st john's"
    >>> fold("ŁÓDŹ  Straße")
    'lodz strasse'
    """
    if text.isascii():
        folded = text.lower()
        if "`" in folded:
            folded = folded.translate(_ASCII_SIGNS)
    else:
        folded = unicodedata.normalize("NFKD", text.translate(_TABLE).casefold())
        folded = "".join(char for char in folded if not unicodedata.combining(char)).translate(_TABLE).casefold()
    if "." in folded:
        folded = _STOP_AFTER_LETTER.sub("", _STOP_BEFORE_WORD.sub(" ", folded))
    return " ".join(folded.split())
