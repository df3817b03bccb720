"""Print numbers: the series a run has, how a number is written, which comes next, and what a person types for one."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from catalog.errors import RefusedError

NUMBERED = "numbered"
PROOFS = ("AP", "PP", "HC", "BAT", "TP")
SERIES = (NUMBERED, *PROOFS)
SERIES_WORDS = {
    NUMBERED: "numbered print",
    "AP": "artist's proof",
    "PP": "printer's proof",
    "HC": "hors commerce",
    "BAT": "bon à tirer",
    "TP": "trial proof",
}
FRACTION, SERIAL = "fraction", "serial"
NUMBERINGS = (FRACTION, SERIAL)
"""How the numbers of a run are written: ``7/15``, or a serial number alone (``31``)."""

_SPELLINGS = {
    "ap": "AP", "a.p": "AP", "ap.": "AP", "a.p.": "AP", "artist's proof": "AP", "artists proof": "AP",
    "artist proof": "AP", "ea": "AP", "e.a": "AP", "e.a.": "AP",
    "pp": "PP", "p.p": "PP", "p.p.": "PP", "printer's proof": "PP", "printers proof": "PP", "printer proof": "PP",
    "hc": "HC", "h.c": "HC", "h.c.": "HC", "hors commerce": "HC",
    "bat": "BAT", "b.a.t": "BAT", "b.a.t.": "BAT", "bon à tirer": "BAT", "bon a tirer": "BAT",
    "tp": "TP", "t.p": "TP", "t.p.": "TP", "trial": "TP", "trial proof": "TP", "state proof": "TP",
}  # fmt: skip
_ROMAN = (
    (1000, "M"), (900, "CM"), (500, "D"), (400, "CD"), (100, "C"), (90, "XC"), (50, "L"), (40, "XL"), (10, "X"),
    (9, "IX"), (5, "V"), (4, "IV"), (1, "I"),
)  # fmt: skip
_ROMAN_DIGITS = {"I": 1, "V": 5, "X": 10, "L": 50, "C": 100, "D": 500, "M": 1000}
LARGEST = 1_000_000
"""No run counts further than this; a larger number typed is a slip of the hand."""


@dataclass(frozen=True, slots=True)
class NumberName:
    """
    A print number as it was typed: its series and place, what was written after the stroke, and the edition.

    ``ordinal`` is ``None`` where only the series was given (``AP``: the next one), ``of`` where no stroke was.
    ``run`` names a run by its reference (``M3``) or ``edition`` an edition (``E3``), by their ids.
    """

    series: str
    ordinal: int | None
    of: int | None = None
    edition_id: int | None = None
    run_id: int | None = None


def format_roman(number: int) -> str:
    """
    Return a number from 1 to 3999 in Roman numerals; larger ones stay in figures.

    >>> format_roman(4), format_roman(19)
    ('IV', 'XIX')
    """
    if not 0 < number < 4000:
        return str(number)
    written = ""
    for value, letters in _ROMAN:
        while number >= value:
            written, number = written + letters, number - value
    return written


def parse_roman(text: str) -> int | None:
    """
    Return the number that Roman numerals mean, or ``None`` if they are not properly put.

    >>> parse_roman("XIX"), parse_roman("IIX")
    (19, None)
    """
    letters = text.upper()
    if not letters or any(letter not in _ROMAN_DIGITS for letter in letters):
        return None
    values = [_ROMAN_DIGITS[letter] for letter in letters]
    following = [*values[1:], 0]
    number = sum(-v if v < after else v for v, after in zip(values, following, strict=True))
    return number if format_roman(number) == letters else None


def format_number(series: str, ordinal: int, of: int | None, numbering: str = FRACTION) -> str:
    """
    Return a print number as it is pencilled on the print.

    ``of`` is the run's limit, or how many proofs of the kind were declared; ``None`` where neither was said.
    A bon à tirer declared once carries no number. A serial number has no stroke.

    >>> format_number("numbered", 7, 15), format_number("AP", 2, 3), format_number("numbered", 31, 250, "serial")
    ('7/15', 'AP II/III', '31')
    """
    if series == NUMBERED:
        return f"{ordinal}/{of}" if of is not None and numbering == FRACTION else str(ordinal)
    if series == "BAT" and of == 1:
        return series
    return f"{series} {format_roman(ordinal)}/{format_roman(of)}" if of else f"{series} {format_roman(ordinal)}"


def format_series(series: str, count: int = 1) -> str:
    """
    Return a series in words.

    >>> format_series("AP", 2)
    "2 artist's proofs"
    """
    words = SERIES_WORDS[series]
    if series in ("HC", "BAT") or count == 1:
        return f"{count} {words}"
    return f"{count} {words}s"


_NUMBER = re.compile(r"(?P<series>.*?)\s*(?P<ordinal>\d+|[ivxlcdm]+)?\s*(?:/\s*(?P<of>\d+|[ivxlcdm]+))?", re.IGNORECASE)
_WITHIN = re.compile(r"\s*(?P<within>[EMem][1-9]\d{0,17})\s*[ ,:]\s*(?P<rest>\S.*)")


def parse_number(text: str) -> NumberName | None:
    """
    Return the print number a person typed, or ``None`` if the text is none.

    Read are ``7/15``, ``7``, ``AP II``, ``AP 2/3``, ``BAT``, each with an edition or a run before it if
    need be: ``E3 7/15``, ``M2 AP II``. A proof's number may be typed in either kind of figures; a
    numbered print's only in Arabic ones.

    >>> parse_number("E3 7/15")
    NumberName(series='numbered', ordinal=7, of=15, edition_id=3, run_id=None)
    >>> parse_number("ap ii/iii").ordinal, parse_number("front door")
    (2, None)
    """
    edition_id, run_id = None, None
    within = _WITHIN.fullmatch(text)
    if within is not None:
        number = int(within["within"][1:])
        edition_id, run_id = (number, None) if within["within"][0] in "Ee" else (None, number)
        text = within["rest"]
    found = _NUMBER.fullmatch(" ".join(text.split()).replace("’", "'"))
    if found is None:
        return None
    typed = found["series"].strip().casefold()
    series = NUMBERED if not typed else typed.upper() if typed.upper() in PROOFS else _SPELLINGS.get(typed)
    if series is None:
        return None
    ordinal, of = (_figure(found[part], series) for part in ("ordinal", "of"))
    if (found["ordinal"] and ordinal is None) or (found["of"] and of is None) or (of is not None and ordinal is None):
        return None
    if series == NUMBERED and ordinal is None:
        return None
    return NumberName(series, ordinal, of, edition_id, run_id)


def _figure(text: str | None, series: str) -> int | None:
    if text is None:
        return None
    if text.isdecimal():
        number = int(text)
        return number if 0 < number <= LARGEST else None
    return None if series == NUMBERED else parse_roman(text)


def next_ordinal(taken: Iterable[int], limit: int | None) -> int | None:
    """
    Return the lowest place that is free, or ``None`` when the run is full.

    ``taken`` are the places that were given and not taken back; order does not matter.

    >>> next_ordinal([1, 2, 4], 5), next_ordinal([1, 2], 2)
    (3, None)
    """
    held = set(taken)
    ordinal = 1
    while ordinal in held:
        ordinal += 1
    return ordinal if limit is None or ordinal <= limit else None


def check_ordinal(series: str, ordinal: int, limit: int | None, what: str) -> None:
    """
    See that a place lies within what was declared; ``what`` names the run in the refusal.

    ``limit`` is the run's limit or the proofs declared of this kind; ``None`` is no limit, nought is none declared.

    Raises:
        RefusedError: it lies beyond.
    """
    if ordinal < 1:
        raise RefusedError(f"A print number begins at 1; {ordinal} is none. Nothing was changed.")
    if limit is None or ordinal <= limit:
        return
    if series == NUMBERED:
        raise RefusedError(f"{what} is limited to {limit}; there can be no number {ordinal}. Nothing was changed.")
    declared = f"declares {format_series(series, limit)}" if limit else f"declares no {SERIES_WORDS[series]}"
    raise RefusedError(
        f"{what} {declared}; a number {format_roman(ordinal)} would be one more than was promised. Nothing was changed."
    )
