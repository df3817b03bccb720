"""Which film is worst at risk of being lost before it is scanned: by its base, its condition, and its dyes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from enum import IntEnum

from catalog.rules.folding import fold

NITRATE_UNTIL = date(1951, 12, 31).toordinal()
"""
Film of unknown base that may have been exposed by this day may be nitrate.

Source: from memory of conservation leaflets, which give 1951 as the last year of its making; not verified here.
"""


class Risk(IntEnum):
    """How much at risk a sheet is, the worst first."""

    NITRATE_DECAYING = 0
    NITRATE = 1
    PERHAPS_NITRATE = 2
    ACETATE_DECAYING = 3
    DECAYING = 4
    ACETATE = 5
    DYES = 6
    UNKNOWN = 7
    GLASS = 8
    LASTING = 9

    @property
    def words(self) -> str:
        """What is said of it in a list."""
        return _WORDS[self]

    @property
    def is_nitrate(self) -> bool:
        """Whether it is, or may be, nitrate."""
        return self <= Risk.PERHAPS_NITRATE

    @property
    def is_acetate(self) -> bool:
        """Whether it is acetate."""
        return self in (Risk.ACETATE, Risk.ACETATE_DECAYING)


_WORDS = {
    Risk.NITRATE_DECAYING: "nitrate, decaying",
    Risk.NITRATE: "nitrate",
    Risk.PERHAPS_NITRATE: "may be nitrate: old, base not known",
    Risk.ACETATE_DECAYING: "acetate, decaying",
    Risk.DECAYING: "decaying",
    Risk.ACETATE: "acetate",
    Risk.DYES: "colour: dyes fade",
    Risk.UNKNOWN: "base not known",
    Risk.GLASS: "glass",
    Risk.LASTING: "lasting base",
}
NITRATE_CAUTION = (
    "Nitrate film burns fiercely, also without air, and decays into what harms other film and your lungs. Keep it"
    " apart, cool and aired, away from any heat; do not post it. How it may be kept, carried or thrown away is for your"
    " local fire and waste codes to say: ask the fire service before you move it. This is a note, not advice."
)
"""
Source: common practice (conservation leaflets on cellulose nitrate), from memory; codes differ from place to place.
"""
ACETATE_CAUTION = (
    "Acetate that smells of vinegar decays faster and faster, and its vapour sets off the film beside it: keep it"
    " apart, cool and dry, and copy it first. Where it has to be thrown away, ask what your local codes say."
)
"""
Source: Image Permanence Institute, User's Guide for A-D Strips (2001), p. 1: from level 1.5 decay feeds itself; the
reference tables of this project quote it.
"""

# Words that a person writes of film that decays; what is said of a scratch or of dust is no sign of it.
_SIGNS = re.compile(
    r"\b(vinegar\w*|acetic|shr[iu]nk\w*|buckl\w*|channell?\w*|warp\w*|brittle\w*|bubbl\w*|stick[yi]\w*|tacky|powder\w*"
    r"|mou?ld\w*|flak(?:es|ing|ed)|silvering|mirroring|decay\w*|deteriorat\w*|rot(?:s|ting|ted)?)\b"
)
_VINEGAR = re.compile(r"\b(vinegar\w*|acetic)\b")
# IPI's strips have the levels 0 to 3; at 1.5 decay feeds itself.
_STRIP = re.compile(r"\ba[- ]?d\b[^0-9]{0,12}([0-3](?:\.[05])?)\b")
_NOT = re.compile(r"\b(no|not|without|free of|never)\b")
STRIP_DECAYS_FROM = 1.5


@dataclass(frozen=True, slots=True)
class Film:
    """
    What is known of the material of one sheet. ``base`` is its own, else that of its film stock.

    ``earliest_day`` is the first day it can have been exposed on, ``None`` when nobody knows.
    """

    base: str | None
    medium: str | None = None
    tones: str | None = None
    condition: str | None = None
    earliest_day: int | None = None


def film_risk(film: Film) -> Risk:
    """
    Return how much at risk a sheet is.

    >>> film_risk(Film("acetate", condition="smells of vinegar")), film_risk(Film("acetate", condition="no vinegar"))
    (<Risk.ACETATE_DECAYING: 3>, <Risk.ACETATE: 5>)
    """
    base = film.base or ("glass" if film.medium in ("glass plate", "lantern slide") else None)
    decays = is_decaying(film.condition)
    if base == "nitrate":
        return Risk.NITRATE_DECAYING if decays else Risk.NITRATE
    if base is None and film.medium != "print" and film.earliest_day is not None and film.earliest_day <= NITRATE_UNTIL:
        return Risk.PERHAPS_NITRATE
    if decays:
        smells = base is None and _says(_VINEGAR, film.condition)  # only acetate gives off acetic acid
        return Risk.ACETATE_DECAYING if base == "acetate" or smells else Risk.DECAYING
    if base == "acetate":
        return Risk.ACETATE
    if film.tones in ("colour negative", "transparency"):
        return Risk.DYES
    return {None: Risk.UNKNOWN, "glass": Risk.GLASS}.get(base, Risk.LASTING)


def is_decaying(condition: str | None) -> bool:
    """
    Return True if a condition, as somebody wrote it, tells of decay; "no smell of vinegar" does not.

    >>> is_decaying("buckled at the edge"), is_decaying("A-D strip: 1.5"), is_decaying("A-D 0.5; scratched")
    (True, True, False)
    """
    if not condition:
        return False
    level = _STRIP.search(fold(condition))
    return _says(_SIGNS, condition) or (level is not None and float(level[1]) >= STRIP_DECAYS_FROM)


def _says(signs: re.Pattern[str], condition: str | None) -> bool:
    """Return True if a sign is named in a clause without a "no" before it."""
    for clause in re.split(r"[.;,:\n]|\bbut\b", condition or "", flags=re.IGNORECASE):
        folded = fold(clause)
        found = signs.search(folded)
        if found is not None and not _NOT.search(folded[: found.start()]):
            return True
    return False
