"""What one cell says about a sheet: numbers, lenses, exposures, sides of a building."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from catalog.rules.compass import parse_elevation
from catalog.rules.doubt import CERTAIN, POSSIBLE, DoubtfulWords, parse_doubt
from catalog.rules.folding import fold

_REMARK_BEHIND = re.compile(r"^(?P<number>[^()\[\]]*[^()\[\]\s])\s*(?P<remark>(?:\([^()]*\)\s*|\[[^\[\]]*\]\s*)+)$")
_FOCAL = re.compile(
    r"(?:lens\s*|f\s*=\s*)?(?P<mm>\d{2,4}(?:\.\d)?)\s*(?P<unit>mm|cm)?(?:\s*(?P<rest>[^\d\s].*)|\s+f.*)?",
    re.I,
)
_FOCAL_PAIR = re.compile(r"\d{2,4}(?:\s*/\s*\d{2,4})+")
_APERTURE = re.compile(r"(?:f\s*[/:.]?\s*|1\s*:\s*)?(?P<f>\d{1,3}(?:\.\d{1,2})?)", re.I)
_SECONDS = re.compile(
    r"(?:(?P<above>\d{1,4})\s*/\s*(?P<below>\d{1,5})|(?P<whole>\d{1,5}(?:\.\d{1,4})?))\s*"
    r"(?P<unit>s|secs?|seconds?|\"|''|″|m|mins?|minutes?|'|′|h|hrs?|hours?)?\.?",
    re.I,
)


_PLAIN_NUMBER = re.compile(r"[A-Za-z]{0,4}[0-9][0-9./-]*[A-Za-z]?")
"""A number, in which there is no room for a word of doubt."""


def split_doubt(text: str) -> DoubtfulWords:
    """Return what a text says without its doubt."""
    return DoubtfulWords(text, CERTAIN, (text,)) if _PLAIN_NUMBER.fullmatch(text) else _split_words(text)


@lru_cache(maxsize=65536)
def _split_words(text: str) -> DoubtfulWords:
    """Return the same of words; they come again and again down a column, numbers do not."""
    return parse_doubt(text)


@dataclass(frozen=True, slots=True)
class Reading:
    """
    What a cell says. ``value`` is ``None`` where nothing is settled; ``alternatives`` then hold what it may
    be.

    ``reason`` says why a cell could not be read; its words are kept whatever happens.
    """

    value: str | float | None = None
    certainty: str = CERTAIN
    alternatives: tuple[str, ...] = ()
    reason: str | None = None
    rest: str | None = None
    """Words that were more than the value; they stay as a note."""


def split_values(text: str, separators: Sequence[str]) -> list[str]:
    """
    Return the several values of one cell. A separator of letters counts only between spaces.

    >>> split_values("78-14; 78-15", (";",))
    ['78-14', '78-15']
    """
    pattern = _any_of(tuple(separators))
    if pattern.search(text) is None:
        return [text]
    return [part.strip() for part in pattern.split(text) if part.strip()]


@lru_cache(maxsize=64)
def _any_of(separators: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join(re.escape(separator) for separator in separators) or r"(?!)")


def split_number(text: str) -> tuple[str, str | None]:
    """
    Return a number and the remark in brackets that was written behind it.

    >>> split_number("78-14 (sold)")
    ('78-14', '(sold)')
    """
    if not text.endswith((")", "]")):
        return text, None
    match = _REMARK_BEHIND.match(text)
    if match is None or match["remark"].strip("()[] ?") == "":
        return text, None
    return match["number"], match["remark"].strip()


@lru_cache(maxsize=8192)
def read_lens(text: str, lenses: tuple[tuple[str, float], ...] = ()) -> Reading:
    """Return a focal length in mm; ``lenses`` are those in use, by how they are written."""
    wording = split_doubt(text)
    choices = wording.readings
    if not choices:
        return Reading(None, POSSIBLE)
    if len(choices) == 1 and _FOCAL_PAIR.fullmatch(choices[0]):
        choices = tuple(part.strip() for part in choices[0].split("/"))
    if len(choices) > 1:
        return Reading(None, POSSIBLE, choices)
    named = dict(lenses)
    focal_mm = named.get(fold(choices[0]))
    if focal_mm is not None:
        return Reading(focal_mm, wording.certainty)
    match = _FOCAL.fullmatch(choices[0])
    if match is None:
        return Reading(reason="gives no focal length")
    focal_mm = float(match["mm"]) * (10 if (match["unit"] or "").lower() == "cm" else 1)
    reason = None
    if named and focal_mm not in named.values():
        listed = ", ".join(f"{mm:g}" for mm in sorted(set(named.values())))
        reason = f"is none of the lenses in the mapping file ({listed})"
    return Reading(focal_mm, wording.certainty, reason=reason, rest=match["rest"])


@lru_cache(maxsize=8192)
def read_aperture(text: str) -> Reading:
    """Return an f-number."""
    wording = split_doubt(text)
    if len(wording.readings) != 1:
        return Reading(None, POSSIBLE, wording.readings)
    if pair := re.fullmatch(r"(?:f\s*/?\s*)?(\d{1,3}(?:\.\d)?)\s*[-/]\s*(?:f\s*/?\s*)?(\d{1,3}(?:\.\d)?)", text, re.I):
        return Reading(None, POSSIBLE, (pair[1], pair[2]))
    match = _APERTURE.fullmatch(wording.readings[0])
    if match is None or not 0.5 <= float(match["f"]) <= 512:
        return Reading(reason="is no f-number")
    return Reading(float(match["f"]), wording.certainty)


@lru_cache(maxsize=8192)
def read_shutter(text: str, bare: str | None = None) -> Reading:
    """
    Return an exposure time in seconds.

    A bare ``60`` is 60 s or 1/60 s: both stay possible unless ``bare`` says ``fraction`` or ``seconds``.
    """
    wording = split_doubt(text)
    if len(wording.readings) != 1:
        return Reading(None, POSSIBLE, wording.readings)
    match = _SECONDS.fullmatch(wording.readings[0])
    if match is None:
        return Reading(reason="is no exposure time")
    unit = (match["unit"] or "").lower()
    factor = 60 if unit[:1] in {"m", "'", "′"} and unit != "''" else 3600 if unit[:1] == "h" else 1
    if match["above"]:
        above, below = int(match["above"]), int(match["below"])
        return (
            Reading(reason="is no exposure time")
            if not above or not below
            else Reading(above / below * factor, wording.certainty)
        )
    amount = float(match["whole"])
    if amount == 0:
        return Reading(reason="is no exposure time")
    if unit or amount < 1 or bare == "seconds":
        return Reading(amount * factor, wording.certainty)
    if bare == "fraction":
        return Reading(1 / amount, wording.certainty)
    if amount == 1:
        return Reading(1.0, wording.certainty)
    return Reading(None, POSSIBLE, (f"1/{amount:g} s", f"{amount:g} s"))


def read_word(text: str, table: Mapping[str, str]) -> Reading:
    """Return the word of ours that a word on a card stands for, from a table keyed by folded words."""
    wording = split_doubt(text)
    if not wording.readings:
        return Reading(None, POSSIBLE)
    found = [table.get(fold(choice)) for choice in wording.readings]
    if None in found:
        return Reading(reason="is in no table of the mapping file")
    values = tuple(dict.fromkeys(value for value in found if value is not None))
    if len(values) > 1:
        return Reading(None, POSSIBLE, values)
    return Reading(values[0], wording.certainty)


def read_compass(text: str, table: Mapping[str, str]) -> Reading:
    """Return a side by compass: ``N``, ``north front``, ``S. elev.``; ``N or NE`` stays open."""
    wording = split_doubt(text)
    if not wording.readings:
        return Reading(None, POSSIBLE)
    sides = [table.get(fold(choice)) or parse_elevation(choice) for choice in wording.readings]
    if None in sides:
        return Reading(reason="is no point of the compass")
    found = tuple(dict.fromkeys(side for side in sides if side is not None))
    if len(found) > 1:
        return Reading(None, POSSIBLE, found)
    return Reading(found[0], wording.certainty)
