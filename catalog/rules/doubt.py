"""How doubt is put in words: "Osk Mill?", "probably Osk Mill", "90 or 120"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

PROBABLE, POSSIBLE, CERTAIN = "probable", "possible", "certain"

_ADVERBS = {
    "probably": PROBABLE, "prob": PROBABLE, "prob.": PROBABLE, "likely": PROBABLE, "presumably": PROBABLE,
    "apparently": PROBABLE, "almost certainly": PROBABLE, "most likely": PROBABLE, "very likely": PROBABLE,
    "possibly": POSSIBLE, "poss": POSSIBLE, "poss.": POSSIBLE, "perhaps": POSSIBLE, "maybe": POSSIBLE,
    "might be": POSSIBLE, "may be": POSSIBLE, "could be": POSSIBLE, "?": POSSIBLE,
}  # fmt: skip
_ADVERB = "|".join(re.escape(words) for words in sorted(_ADVERBS, key=len, reverse=True) if words != "?")


@lru_cache(maxsize=1)
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """Return what finds doubt before and after words; made when first needed, since most commands only say doubt."""
    before = re.compile(rf"(?P<doubt>(?:{_ADVERB})(?=[\s,:]|$)[,:]?|\?)\s*(?P<rest>.*)", re.IGNORECASE | re.DOTALL)
    after = re.compile(
        rf"(?P<rest>.*?)(?:\s*[(\[]\s*(?P<bracketed>{_ADVERB}|\?+)\s*[)\]]|\s*(?P<mark>\?+)|,?\s+(?P<doubt>{_ADVERB}))",
        re.IGNORECASE | re.DOTALL,
    )
    return before, after


_OR = re.compile(r"\s*(?:,\s*)?\bor\b\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class DoubtfulWords:
    """
    A value as it was put, how certain it is, and each thing it may be.

    ``readings`` are the plain words of each possibility: one for ``Osk Mill?``, two for ``90 or 120``, none
    for a lone question mark.
    """

    as_written: str
    certainty: str = CERTAIN
    readings: tuple[str, ...] = ()

    @property
    def is_doubtful(self) -> bool:
        """Whether anything but a plain statement was made."""
        return self.certainty != CERTAIN or len(self.readings) != 1


def parse_doubt(text: str) -> DoubtfulWords:
    """
    Return what words say and how certainly they say it.

    A question mark, "perhaps" and a choice of several make it possible; "probably" makes it probable. The
    weakest word counts.

    >>> parse_doubt("probably Osk Mill")
    DoubtfulWords(as_written='probably Osk Mill', certainty='probable', readings=('Osk Mill',))
    >>> parse_doubt("90 or 120?").readings
    ('90', '120')
    """
    plain, certainty = _without_doubt(text.strip())
    parts = [_without_doubt(part) for part in _OR.split(plain)]
    readings = tuple(words for words, _ in parts if words)
    found = [certainty, *(each for _, each in parts)]
    if len(readings) > 1 or not readings or POSSIBLE in found:
        return DoubtfulWords(text.strip(), POSSIBLE, readings)
    return DoubtfulWords(text.strip(), PROBABLE if PROBABLE in found else CERTAIN, readings)


def _without_doubt(text: str) -> tuple[str, str]:
    """Return ``text`` without its words of doubt, and the weakest certainty they leave."""
    certainty = CERTAIN
    before, after = _patterns()
    while True:
        match = before.fullmatch(text) or after.fullmatch(text)
        if match is None:
            return text.strip(), certainty
        groups = match.groupdict()
        words = groups.get("doubt") or groups.get("bracketed") or groups.get("mark") or "?"
        said = words.strip(" ,:").lower()
        found = _ADVERBS.get("?" if said.startswith("?") else said, POSSIBLE)
        certainty = POSSIBLE if POSSIBLE in (found, certainty) else found
        text = groups["rest"].strip()


def date_certainty(edtf: str | None, doubt: str) -> str:
    """
    Return how certain a recorded date is, as a wording says it.

    "About" still points to one time, so it is probable; "uncertain", a choice of dates and no date at all are
    possible. A season or a decade is loose, not doubtful.
    """
    if edtf is None or doubt in ("?", "%") or edtf.startswith("["):
        return POSSIBLE
    return PROBABLE if doubt == "~" else CERTAIN


HEDGES = {CERTAIN: "", PROBABLE: "probably ", POSSIBLE: "possibly "}


def hedged(text: str, certainty: str) -> str:
    """
    Return ``text`` with its doubt before it.

    >>> hedged("Osk Mill", "probable")
    'probably Osk Mill'
    """
    return HEDGES[certainty] + text
