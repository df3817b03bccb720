"""The size of a piece of film, from the name of its format."""

from __future__ import annotations

import re

from catalog.rules.folding import fold

MM_PER_INCH = 25.4

# Sheet film and plates by the names of the trade, in inches; from common practice.
_INCHES: dict[tuple[float, float], tuple[float, float]] = {
    (4, 5): (4.0, 5.0), (5, 7): (5.0, 7.0), (8, 10): (8.0, 10.0), (11, 14): (11.0, 14.0),
    (2.25, 3.25): (2.25, 3.25), (3.25, 4.25): (3.25, 4.25), (3.25, 4): (3.25, 4.0),
    (4.75, 6.5): (4.75, 6.5), (6.5, 8.5): (6.5, 8.5),
}  # fmt: skip
# Roll film is named in nominal centimetres: the picture itself is smaller. From common practice.
_ROLL_MM: dict[tuple[float, float], tuple[float, float]] = {
    (4.5, 6): (41.5, 56.0), (6, 6): (56.0, 56.0), (6, 7): (56.0, 70.0), (6, 8): (56.0, 76.0),
    (6, 9): (56.0, 84.0), (6, 12): (56.0, 118.0), (6, 17): (56.0, 168.0), (24, 36): (24.0, 36.0),
}  # fmt: skip
# European plates and sheet film, in whole centimetres.
_CENTIMETRES = {(6.5, 9), (9, 12), (10, 15), (13, 18), (18, 24), (24, 30)}
_NAMES = {
    "35 mm": (24.0, 36.0), "35mm": (24.0, 36.0),
    "quarter plate": (82.55, 107.95), "half plate": (120.65, 165.1),
    "whole plate": (165.1, 215.9), "full plate": (165.1, 215.9),
}  # fmt: skip
_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75", " 1/2": ".5", " 1/4": ".25", " 3/4": ".75"}
_SIDES = re.compile(r'(\d+(?:[.,]\d+)?)\s*(?:x|×|by|\*)\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|inches|inch|ins|in|"|\'\')?')


def film_size_mm(format_name: str | None) -> tuple[float, float] | None:
    """
    Return the short and the long side of a format in millimetres, or ``None`` when its name does not say.

    A unit counts where one is given; without one the names of the trade do.

    >>> film_size_mm("4x5")
    (101.6, 127.0)
    """
    if not format_name:
        return None
    text = format_name.lower()
    for written, decimal in _FRACTIONS.items():
        text = text.replace(written, decimal)
    named = _NAMES.get(fold(text))
    if named:
        return named
    sides = _SIDES.search(text)
    return _sides_mm(sides) if sides else None


def _sides_mm(sides: re.Match[str]) -> tuple[float, float] | None:
    one, other = (float(side.replace(",", ".")) for side in (sides[1], sides[2]))
    short, long = sorted((one, other))
    if short <= 0:
        return None
    if sides[3] == "mm":
        return short, long
    if sides[3] == "cm":
        # "6x9 cm" is the roll film's name all the same.
        return _ROLL_MM.get((short, long), (short * 10, long * 10))
    if sides[3]:
        return round(short * MM_PER_INCH, 2), round(long * MM_PER_INCH, 2)
    if (short, long) in _INCHES:
        return round(short * MM_PER_INCH, 2), round(long * MM_PER_INCH, 2)
    if (short, long) in _CENTIMETRES:
        return short * 10, long * 10
    return _ROLL_MM.get((short, long))
