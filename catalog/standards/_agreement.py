"""
Whether two values say the same, one of them perhaps cut, with other letters or less exactly.

Source: XMP part 3 (January 2020) §2.1.2: the IIM value is predicted from the XMP value and compared.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from fractions import Fraction
from typing import Final

from catalog.standards import _charsets
from catalog.standards.iim import IimValue
from catalog.standards.iim_datasets import Dataset
from catalog.standards.iim_mapping import plain_text

_SLACK_OCTETS: Final = 3  # a writer that cuts between characters of UTF-8 stops up to three octets short
MAX_PAIRS: Final = 20_000  # of texts that are tried on each other; beyond that only those that are equal are found
_DEGREES: Final = 1e-5  # four decimals of a minute, as XMP has them at least


class Verdict(StrEnum):
    """How two or more values of one property stand to each other, best first."""

    EQUAL = "equal"
    CUT = "cut but equal"
    ONE_SIDE = "one side only"
    CONFLICT = "in conflict"


@dataclass(frozen=True, slots=True)
class Agreement:
    """A verdict on two values, and what is to be said besides."""

    verdict: Verdict
    notes: tuple[str, ...] = ()


EQUAL: Final = Agreement(Verdict.EQUAL)
CONFLICT: Final = Agreement(Verdict.CONFLICT)


def same_text(one: str, other: str) -> bool:
    """Return True if two texts differ in nothing but line breaks, padding and the coding of their accents."""
    return _normal(one) == _normal(other)


def _normal(text: str) -> str:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip("\0 \t\n")
    return unicodedata.normalize("NFC", lines)


def text_in_iim(wanted: str, value: IimValue, row: Dataset, *, is_guess: bool) -> Agreement:
    """
    Return how one IIM text stands to ``wanted``, the whole of it.

    Where the block's characters are a guess, ``wanted`` is evidence too: another reading of the same octets
    that fits it is taken, and said.
    """
    codecs = [value.codec or "utf-8"]
    codecs += [codec for codec in ("utf-8", *_charsets.SINGLE_BYTE) if is_guess and codec not in codecs]
    for place, codec in enumerate(codecs):
        found = _by_codec(wanted, value, row, codec)
        if found is not None:
            also = (f"{value.id} reads so as {_charsets.spoken(codec)}",) if place and not value.raw.isascii() else ()
            return Agreement(found.verdict, (*found.notes, *also))
    return CONFLICT


def _by_codec(wanted: str, value: IimValue, row: Dataset, codec: str) -> Agreement | None:
    have = plain_text(row, _whole_characters(value.raw, codec))
    if row.id == "2:100":
        wanted, have = wanted.upper(), have.upper()
    if same_text(wanted, have):
        return EQUAL
    predicted = wanted.encode(codec, errors="replace")
    lossy = predicted.decode(codec)
    if lossy != wanted and same_text(lossy, have):
        return Agreement(Verdict.EQUAL, (f"{_charsets.spoken(codec)} lacks some of its letters",))
    limit = row.max_octets
    is_full = len(value.raw) >= limit - _SLACK_OCTETS
    if have and is_full and len(predicted) > limit - len(value.raw) + len(have.encode(codec, "replace")):
        for whole in (wanted, lossy):
            if _normal(whole).startswith(_normal(have)):
                return Agreement(Verdict.CUT, (f"{value.id} is cut at {limit} octets",))
    return None


def _whole_characters(raw: bytes, codec: str) -> str:
    """Return octets as text, without a character that was cut through at the end."""
    return raw.decode(codec, errors="ignore" if codec == "utf-8" else "replace")


def texts_in_iim(wanted: Sequence[str], values: Sequence[IimValue], row: Dataset, *, is_guess: bool) -> Agreement:
    """Return how repeated datasets stand to a list of texts; their order is not looked at."""
    by_text: dict[str, list[IimValue]] = {}
    for value in values:
        by_text.setdefault(_normal(plain_text(row, value.text or "")), []).append(value)
    missing = [text for text in wanted if not _taken(by_text, text)]
    left = [value for several in by_text.values() for value in several]
    found: list[Agreement] = []
    if len(missing) * len(left) <= MAX_PAIRS:
        missing = [text for text in missing if not _matched(text, left, found, row, is_guess=is_guess)]
    return _listed(found, missing, [value.text or "" for value in left])


def _taken(by_text: dict[str, list[IimValue]], text: str) -> bool:
    """Take a value that has just this text from ``by_text``; return False if there is none."""
    several = by_text.get(_normal(text))
    if not several:
        return False
    several.pop()
    return True


def _matched(text: str, left: list[IimValue], found: list[Agreement], row: Dataset, *, is_guess: bool) -> bool:
    """Take the first of ``left`` that is ``text`` cut or read otherwise; return False if there is none."""
    for place, value in enumerate(left):
        one = text_in_iim(text, value, row, is_guess=is_guess)
        if one.verdict is not Verdict.CONFLICT:
            del left[place]
            found.append(one)
            return True
    return False


def _listed(found: list[Agreement], missing: list[str], surplus: list[str]) -> Agreement:
    notes = tuple(dict.fromkeys(note for one in found for note in one.notes))
    if missing or surplus:
        here = [f"not in IIM: {_clipped(missing)}"] if missing else []
        there = [f"only in IIM: {_clipped(surplus)}"] if surplus else []
        return Agreement(Verdict.CONFLICT, (*here, *there, *notes))
    return Agreement(Verdict.CUT if any(one.verdict is Verdict.CUT for one in found) else Verdict.EQUAL, notes)


def _clipped(words: list[str]) -> str:
    shown = ", ".join(repr(word[:40]) for word in words[:5])
    return shown + (f" and {len(words) - 5} more" if len(words) > 5 else "")


# ---- dates


_DATE: Final = re.compile(
    r"(?P<day>\d{4}(?:-\d\d(?:-\d\d)?)?)"
    r"(?:T(?P<minute>\d\d:\d\d)(?::(?P<second>\d\d)(?:\.(?P<part>\d+))?)?(?P<zone>Z|[+-]\d\d:\d\d)?)?",
    re.ASCII,
)


def dates_agree(wanted: str, have: str, side: str) -> Agreement:
    """
    Return how a date on another side stands to that of XMP; both as XMP writes dates.

    What ``side`` leaves out (a time, a fraction) makes it cut; what it says beyond XMP is a conflict, for XMP
    does not predict it. A zone on one side only is said, and never carried over.
    """
    one, other = _DATE.fullmatch(wanted.strip()), _DATE.fullmatch(have.strip())
    if one is None or other is None:
        return EQUAL if wanted.strip() == have.strip() else CONFLICT
    if one["day"] != other["day"]:
        return _by_day(one["day"], other["day"], side, _instant(one), _instant(other))
    if one["minute"] is None or other["minute"] is None:
        return _by_time(one, other, side)
    if (one["minute"], one["second"] or "00") != (other["minute"], other["second"] or "00"):
        return _by_instant(_instant(one), _instant(other))
    zones = [zone.replace("Z", "+00:00") if zone else None for zone in (one["zone"], other["zone"])]
    if None in zones and zones[0] != zones[1]:
        return Agreement(Verdict.EQUAL, (f"a zone is said only in {side if zones[1] else 'XMP'}",))
    if zones[0] != zones[1]:
        return Agreement(Verdict.CONFLICT, (f"the zones differ: {zones[0]} in XMP, {zones[1]} in {side}",))
    parts = [(part or "").rstrip("0") for part in (one["part"], other["part"])]
    if parts[0] == parts[1]:
        return EQUAL
    if parts[0].startswith(parts[1]):
        return Agreement(Verdict.CUT, (f"{side} has no such fraction of a second",))
    return Agreement(Verdict.CONFLICT, (f"{side} says another fraction of a second",))


def _by_day(wanted: str, have: str, side: str, one: datetime | None, other: datetime | None) -> Agreement:
    if one is not None and one == other:
        return Agreement(Verdict.EQUAL, ("the same moment, told in two zones",))
    if wanted.startswith(f"{have}-"):
        return Agreement(Verdict.CUT, (f"{side} says it less exactly",))
    if have.startswith(f"{wanted}-"):
        return Agreement(Verdict.CONFLICT, (f"they agree as far as XMP goes; {side} says it more exactly",))
    return CONFLICT


def _by_time(one: re.Match[str], other: re.Match[str], side: str) -> Agreement:
    if one["minute"] == other["minute"]:
        return EQUAL
    if other["minute"] is None:
        return Agreement(Verdict.CUT, (f"{side} has the day only",))
    if (other["minute"], other["second"] or "00") == ("00:00", "00"):
        return Agreement(Verdict.EQUAL, (f"midnight in {side} may stand for a time that is not known",))
    return Agreement(Verdict.CONFLICT, (f"they agree on the day; only {side} has a time",))


def _by_instant(one: datetime | None, other: datetime | None) -> Agreement:
    if one is not None and one == other:
        return Agreement(Verdict.EQUAL, ("the same moment, told in two zones",))
    return CONFLICT


def _instant(found: re.Match[str]) -> datetime | None:
    """Return the moment of a date with time and zone; None if it has none."""
    if not found["zone"]:
        return None
    try:
        return datetime.fromisoformat(f"{found['day']}T{found['minute']}:{found['second'] or '00'}{found['zone']}")
    except ValueError:
        return None


# ---- numbers


def numbers_agree(wanted: str, have: str) -> bool:
    """Return True if two numbers, rationals or coordinates of XMP are the same, however they are spelled."""
    if wanted.strip() == have.strip():
        return True
    angles = [_angle(text) for text in (wanted, have)]
    if angles[0] is not None and angles[1] is not None:
        return abs(angles[0] - angles[1]) <= _DEGREES
    numbers = [_fraction(text) for text in (wanted, have)]
    return numbers[0] is not None and numbers[0] == numbers[1]


_NUMBER: Final = re.compile(r"\s*[+-]?\d{1,20}(?:\.\d{1,20}|/\d{1,20})?\s*", re.ASCII)
_ANGLE: Final = re.compile(r"(\d{1,3}),(\d{1,2}(?:\.\d{1,20})?)(?:,(\d{1,2}(?:\.\d{1,20})?))?([NSEW])", re.ASCII)


def _fraction(text: str) -> Fraction | None:
    try:
        return Fraction(text.strip()) if _NUMBER.fullmatch(text) else None
    except ZeroDivisionError:
        return None


def _angle(text: str) -> float | None:
    found = _ANGLE.fullmatch(text.strip())
    if found is None:
        return None
    degrees = int(found[1]) + float(found[2]) / 60 + float(found[3] or 0) / 3600
    return -degrees if found[4] in "SW" else degrees
