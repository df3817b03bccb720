"""
The forms Exif writes its values in, and what they are in XMP.

Source: Exif 2.32 (CIPA DC-008-2019) §4.6.4 to §4.6.6; XMP part 2 (January 2020) for GPSCoordinate.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from catalog.standards._text import decode_text
from catalog.standards.exif import exif_date_to_edtf

_CONTROLS: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]+")


def plain_text(raw: bytes) -> str:
    """Return a text as it is shown; blanks at both ends are padding."""
    return decode_text(raw)


def copyright_text(raw: bytes) -> str:
    """
    Return a copyright: the photographer's, then the editor's on a line of its own.

    >>> copyright_text(b"Ida Thornwick\\0Wenn Press\\0")
    'Ida Thornwick\\nWenn Press'
    """
    # Exif 2.32 §4.6.4, Copyright: photographer, NUL, editor, NUL; a photographer left out is one blank. XMP part 3
    # has a new line for the NUL between them, so an editor alone keeps the line above.
    photographer, _, editor = raw.partition(b"\0")
    first, second = decode_text(photographer), decode_text(editor)
    return f"{first}\n{second}" if second else first


def split_names(text: str) -> list[str]:
    """
    Return the names of an Artist field, which semicolons part; one within double quotes may hold a semicolon.

    >>> split_names('Ida Thornwick; "Wenn; Sons"')
    ['Ida Thornwick', 'Wenn; Sons']
    """
    parts = re.findall(r'\s*("(?:[^"]|"")*"(?=\s*(?:;|$))|[^;]*)(?:;|$)', text)
    names = [
        part[1:-1].replace('""', '"') if part[:1] == part[-1:] == '"' and len(part) > 1 else part for part in parts
    ]
    return [name.strip() for name in names if name.strip()]


_DATE: Final = re.compile(
    r"\s*\d{4}[:/.-].{2}[:/.-].{2}(?:[ T](?P<h>[01]\d|2[0-3]):(?P<m>[0-5]\d)(?::(?P<s>[0-5]\d))?"
    r"(?:\.(?P<f>\d+))?(?P<z>Z|[+-]\d\d:?\d\d)?)?",
    re.ASCII,
)
_ZONE: Final = re.compile(r"([+-])((?:0\d|1[0-4])):?([0-5]\d)|Z", re.ASCII)


def dates(written: str, fraction: str, zone: str) -> tuple[str | None, str | None]:
    """
    Return an Exif date as the EDTF of its day, and as an XMP date; None where it is no date.

    Blank parts are left out; a fraction and a zone are those of their own fields, and never invented.

    >>> dates("1931:07:  :  :  :  ", "", "")
    ('1931-07', '1931-07')
    >>> dates("2010:01:05 14:30:00", "25", "+01:00")
    ('2010-01-05', '2010-01-05T14:30:00.25+01:00')
    """
    day = exif_date_to_edtf(written)
    if day is None:
        return None, None
    found = _DATE.match(written)
    # XMP part 1 §8.2.1.1: a time only where the day is known, to the minute at least.
    if found is None or len(day) < 10 or found["h"] is None:
        return day, day
    seconds = found["s"] or ""
    digits = found["f"] or (fraction if fraction.isascii() and fraction.isdigit() else "")
    seconds = f":{seconds}" + (f".{digits}" if digits else "") if seconds else ""
    stated = _ZONE.fullmatch(found["z"] or zone.strip())
    offset = f"{stated[1]}{stated[2]}:{stated[3]}" if stated and stated[1] else "Z" if stated else ""
    return day, f"{day}T{found['h']}:{found['m']}{seconds}{offset}"


def comment_text(raw: bytes, *, is_big_endian: bool) -> str:
    """Return a UserComment: eight bytes name its characters, then come they."""
    # Exif 2.32 §4.6.5, UserComment.
    code, body = raw[:8], raw[8:]
    if code.startswith(b"UNICODE"):
        return _tidy(_utf16(body, is_big_endian=is_big_endian))
    if code.startswith(b"JIS"):
        return _tidy(_first_that_fits(body.rstrip(b"\0"), ("iso2022_jp", "euc_jp", "shift_jis")))
    if code.startswith(b"ASCI") or code == bytes(8):  # "ASCI" with a zero too many is met
        return decode_text(body)
    return decode_text(raw)  # some writers leave the eight bytes out


def _utf16(body: bytes, *, is_big_endian: bool) -> str:
    """Return UTF-16 by its mark, else in the byte order that gives more letters of the lower pages."""
    if body.startswith((b"\xff\xfe", b"\xfe\xff")):
        return body.decode("utf-16", errors="replace")
    even = body[: len(body) - len(body) % 2]
    # The standard names no byte order. That of the file is usual, not certain: a wrong one turns spaces, digits
    # and letters into signs of far-off pages.
    high, low = sum(byte < 3 for byte in even[::2]), sum(byte < 3 for byte in even[1::2])
    is_big = high > low if high != low else is_big_endian
    return even.decode("utf-16-be" if is_big else "utf-16-le", errors="replace")


def _first_that_fits(body: bytes, codecs: tuple[str, ...]) -> str:
    for codec in codecs:
        try:
            return body.decode(codec)
        except UnicodeDecodeError:
            continue
    return body.decode(codecs[0], errors="replace")


def _tidy(text: str) -> str:
    lines = text.lstrip("\ufeff").rstrip("\0 ").replace("\r\n", "\n").replace("\r", "\n")
    return _CONTROLS.sub(" ", lines).strip()


def angle(parts: list[tuple[int, int]], letter: str, letters: str, limit: int) -> tuple[float, str] | None:
    """
    Return an angle in degrees, south and west negative, and as XMP spells it; None if it is none.

    >>> angle([(52, 1), (30, 1), (0, 1)], "S", "NS", 90)
    (-52.5, '52,30,0S')
    >>> angle([(2, 1), (285, 10), (0, 1)], "W", "EW", 180)
    (-2.475, '2,28.5W')
    """
    # A part that is not known is 0/0 or left out.
    if not letter or letter not in letters or not parts[0][1]:
        return None
    exact = [Fraction(over, under) if under else Fraction(0) for over, under in (*parts, (0, 1), (0, 1))[:3]]
    degrees = exact[0] + exact[1] / 60 + exact[2] / 3600
    if any(part < 0 for part in exact) or degrees > limit:
        return None
    value = float(-degrees if letter in "SW" else degrees)
    if all(part.denominator == 1 for part in exact):
        # XMP part 2, GPSCoordinate: "DDD,MM,SSk" where all are whole, else "DDD,MM.mmk".
        return value, f"{exact[0]},{exact[1]},{exact[2]}{letter}"
    whole = int(degrees)
    minutes = f"{float((degrees - whole) * 60):.8f}".rstrip("0").rstrip(".")
    if minutes == "60":
        whole, minutes = whole + 1, "0"
    return value, f"{whole},{minutes}.0{letter}" if "." not in minutes else f"{whole},{minutes}{letter}"


def spell_rationals(parts: list[tuple[int, int]]) -> str:
    """Return rationals as they stand, for a person to read."""
    return " ".join(f"{over}/{under}" for over, under in parts)
