"""Which side of a building words mean: one of the sixteen points of the compass."""

from __future__ import annotations

import re

from catalog.rules.folding import fold

COMPASS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")

_QUARTERS = {"north": "N", "east": "E", "south": "S", "west": "W"}
_ONE_WORD = re.compile(r"((?:north|south|east|west){1,3})(?:ern|erly|ward|wards)?|([nesw]{1,3})")
_SEVERAL = re.compile(r"[&/+,;]")
_QUARTER = re.compile("north|east|south|west")
# What people write round the point itself; none of these words says which side.
_AROUND = {
    "elevation", "elev", "el", "elevn", "front", "frontage", "face", "facing", "faces", "side", "end", "wall",
    "gable", "facade", "aspect", "the", "of", "from", "to", "looking", "at",
}  # fmt: skip


def parse_elevation(words: str) -> str | None:
    """
    Return the point of the compass that words for a side mean, or ``None`` if they mean none or two.

    >>> parse_elevation("north-east front"), parse_elevation("S. elev."), parse_elevation("NNW")
    ('NE', 'S', 'NNW')
    >>> parse_elevation("front") is None and parse_elevation("N & E") is None
    True
    """
    if _SEVERAL.search(words):
        return None
    tokens = [token for token in re.findall(r"\w+", fold(words)) if token not in _AROUND]
    letters = [_letters(token) for token in tokens]
    if not letters or None in letters:
        return None
    point = "".join(letter or "" for letter in letters)
    return point if point in COMPASS else None


def _letters(token: str) -> str | None:
    match = _ONE_WORD.fullmatch(token)
    if match is None:
        return None
    if match[2]:
        return match[2].upper()
    return "".join(_QUARTERS[quarter] for quarter in _QUARTER.findall(match[1]))
