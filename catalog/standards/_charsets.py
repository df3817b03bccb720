"""
Which characters the bytes of a text are: as declared, or by evidence when nothing is declared.

Source: ISO/IEC 2022:1994 (ECMA-35) for designations; the International Register for their final bytes.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Final

__all__ = ["SINGLE_BYTE", "Charset", "declared_codec", "decode", "guess_single_byte", "spoken"]

# ISO/IEC 2022, International Register: final bytes of the sets of 96 characters.
_SETS_OF_96: Final = {
    "A": "latin-1", "B": "iso8859-2", "C": "iso8859-3", "D": "iso8859-4", "F": "iso8859-7", "G": "iso8859-6",
    "H": "iso8859-8", "L": "iso8859-5", "M": "iso8859-9", "T": "tis-620", "V": "iso8859-10", "Y": "iso8859-13",
    "_": "iso8859-14", "b": "iso8859-15", "f": "iso8859-16",
}  # fmt: skip
# ESC % G, and ESC % / G, H, I for UTF-8 with its level of implementation (ISO/IEC 10646).
_UTF8: Final = re.compile(rb"\x1b%(?:G|/[GHI])")
# ESC - F into G1; ESC . F and ESC / F (G2, G3) are written by programs that mean the same.
_DESIGNATION: Final = re.compile(rb"\x1b([-./])([\x40-\x7e])")
# These say only that the lower half is ASCII, or that ISO 2022 is in force again.
_IDLE: Final = re.compile(rb"\x1b(?:\(B|%@| [A-O]|!@|\"[CFG]|~|})")

SINGLE_BYTE: Final = ("cp1252", "mac_roman", "latin-1")


_MAX_EVIDENCE: Final = 1 << 16  # octets that are weighed; a block of captions has a few thousand


@dataclass(frozen=True, slots=True)
class Charset:
    """The characters of a block: the codec, whether 1:90 says so, and how to tell a person."""

    codec: str
    is_declared: bool
    is_guess: bool
    words: str


_SPOKEN: Final = {
    "utf-8": "UTF-8",
    "cp1252": "Windows-1252",
    "mac_roman": "Mac Roman",
    "latin-1": "ISO 8859-1",
    "ascii": "ASCII",
}


def spoken(codec: str) -> str:
    """Return what people call a codec."""
    return _SPOKEN.get(codec) or codec.upper().replace("ISO8859", "ISO 8859")


def declared_codec(designations: bytes) -> str | None:
    """Return the codec that 1:90 designates for the bytes above 7F; None if it names none that is known."""
    if _UTF8.search(designations) or designations.strip().upper() in (b"UTF-8", b"UTF8"):
        return "utf-8"
    found = _DESIGNATION.search(designations)
    if found:
        return _SETS_OF_96.get(found[2].decode("ascii"))
    if designations and not _IDLE.sub(b"", designations).strip(b"\0 "):
        return "ascii"
    return None


def decode(raw: bytes, codec: str) -> str | None:
    """Return ``raw`` as that codec reads it, None if it cannot."""
    try:
        return raw.decode(codec)
    except (UnicodeDecodeError, LookupError):
        return None


def guess_single_byte(texts: Iterable[bytes]) -> str:
    """
    Return the codec under which the bytes above 7F make the best words: Windows-1252 or Mac Roman.

    Windows-1252 wins when nothing speaks for either; it holds Latin-1's letters. Latin-1 itself is the
    answer only where a byte has no character in Windows-1252 and Mac Roman makes no words either.
    """
    texts = _evidence(texts)
    scores = {codec: sum(_score(raw, codec) for raw in texts) for codec in SINGLE_BYTE}
    return max(SINGLE_BYTE, key=lambda codec: scores[codec])


def _evidence(texts: Iterable[bytes]) -> list[bytes]:
    """Return the texts that hold any evidence, no more of them than it takes to decide."""
    left, kept = _MAX_EVIDENCE, []
    for raw in texts:
        if left <= 0:
            break
        if not raw.isascii():
            kept.append(raw[:left])
            left -= len(raw)
    return kept


def _score(raw: bytes, codec: str) -> int:
    """Return how well text reads: letters within words count for it, signs within words against it."""
    text = raw.decode(codec, errors="replace")
    padded = f" {text} "
    places = (at for at, char in enumerate(padded) if char > "\x7f")
    return sum(_weigh(padded[at - 1], padded[at], padded[at + 1]) for at in places)


# The letters that the languages written in Windows-1252 and Mac Roman use most, and those hardly any word has.
_COMMON: Final = frozenset("àáâãäåæçèéêëíîïñóôöõøœúùûüßÀÁÂÄÅÆÇÈÉÊÑÓÖØŒÚÜ")
_RARE: Final = frozenset("ÿŸšŠžŽìÌòÒÙÏ")
_NO_LETTERS: Final = frozenset("ƒıﬁﬂˆµªº")  # letters to Unicode, signs to whoever types


@cache
def _weigh(before: str, char: str, after: str) -> int:
    """Return how likely a character is between its neighbours; the figures were fitted by hand."""
    kind = unicodedata.category(char)
    if kind in ("Ll", "Lu") and char < "\u0180" and char not in _NO_LETTERS:
        return _weigh_letter(before, char, after)
    if char in "’‘“”«»–—…¿¡":
        return _weigh_punctuation(before, char, after)
    if kind in ("Cc", "Cn", "So") and char not in "©®°":
        return -6  # a control, or no character at all (U+FFFD)
    in_word = before.isalpha() and after.isalpha()
    return -3 if in_word or char.isalpha() else (-1 if before.isalpha() or after.isalpha() else 0)


def _weigh_letter(before: str, char: str, after: str) -> int:
    value = 3 if char in _COMMON else 0 if char in _RARE else 2
    if char.islower():
        return -3 if after.isupper() else value if before.isalpha() or after.isalpha() else value - 1
    # A capital within a word of small letters is a small letter of another set, misread.
    if before.islower() or (before.isupper() and after.islower()):
        return -3
    return value if after.isalpha() else value - 1


def _weigh_punctuation(before: str, char: str, after: str) -> int:
    """Punctuation stands between a word and a space, the right way round; ’ also within a word."""
    is_after, is_before = not before.isspace(), not after.isspace()
    if char == "’":
        if not before.isalpha():
            return -1
        # As "l’art" and "it’s" have it, or between other letters, where Mac Roman has an í.
        return 4 if before in "ldnsjmtuLDNSJ" or after in "stdmrlv" or not after.isalpha() else 2
    if char in "“«‘¿¡":
        return 4 if not before.isalnum() and is_before else -2
    if char in "”»…":
        return 4 if is_after and not after.isalnum() else -2
    return 2 if is_after == is_before else -1
