"""
The simple types of the IPTC standard: text in XMP into plain values and back.

Text and URIs are ``str``; Integer ``int``; Real ``Decimal``; Rational ``Fraction``; Date ``str``, since as much of
it is kept as is known; GPSCoordinate ``Decimal`` degrees, south and west negative.

Source: XMP part 1 (April 2012) §8.2.1 for Date, Integer and Real, part 2 for Rational and GPSCoordinate.
"""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal, Inexact, localcontext
from fractions import Fraction
from typing import Final, TypeAlias

from catalog.errors import XmpError
from catalog.standards.xmp_names import Name, spell

__all__ = ["Simple", "fault_in_uri", "format_simple", "has_scheme", "is_language", "parse_simple", "takes"]

Simple: TypeAlias = "str | int | Decimal | Fraction"

# XMP part 1 §8.2.1.1: as much of a date as is known, from the year down; a zone only where there is a time.
_DATE: Final = re.compile(
    r"(?P<year>\d{4})(?:-(?P<month>0[1-9]|1[0-2])(?:-(?P<day>0[1-9]|[12]\d|3[01])"
    r"(?:T(?:[01]\d|2[0-3]):[0-5]\d(?::[0-5]\d(?:\.\d{1,20})?)?(?:Z|[+-](?:[01]\d|2[0-3]):[0-5]\d)?)?)?)?",
    re.ASCII,
)
# Longer numbers are no measurements, and Python spends long on them.
_INTEGER: Final = re.compile(r"[+-]?[0-9]{1,40}")
_REAL: Final = re.compile(r"[+-]?(?:[0-9]{1,40}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})")
_RATIONAL: Final = re.compile(r"([+-]?[0-9]{1,40})/([0-9]{1,40})")
# XMP part 2: "DDD,MM,SSk" or "DDD,MM.mmk" with k one of N, S, E, W.
_GPS: Final = re.compile(
    r"(?P<degrees>[0-9]{1,3}),(?P<minutes>[0-9]{1,2})(?:\.(?P<decimals>[0-9]{1,20})|,(?P<seconds>[0-9]{1,2}))"
    r"(?P<side>[NSEW])"
)
_BILLION: Final = 10**9  # parts of a degree; one is a tenth of a millimetre on the ground

# RFC 3986 appendix A and RFC 3987: what stands in no URI and no IRI, and what each begins with.
_NOT_IN_URI: Final = re.compile(r'[\s<>"{}|\\^`\x00-\x1f\x7f]')
_SCHEME: Final = re.compile(r"[A-Za-z][A-Za-z0-9+.\-]*:.")
_LANGUAGE: Final = re.compile(r"[A-Za-z]{1,8}(?:-[A-Za-z0-9]{1,8})*")  # RFC 5646 §2.1, without its registers

_TAKES: Final = {
    "Date": "YYYY, YYYY-MM or YYYY-MM-DD, with Thh:mm or Thh:mm:ss and a zone if there is one",
    "Integer": "a whole number",
    "Real": "a decimal number",
    "Rational": "a fraction such as 480/1",
    "GPSCoordinate": "degrees and minutes such as 48,16.5N",
    "URI": "a URI",
}


def takes(kind: str) -> str:
    """Return in words what a type takes."""
    return _TAKES.get(kind, "one text")


def parse_simple(kind: str, named: Name, text: str) -> Simple | None:
    """Return the plain value that ``text`` is in that type, or ``None`` when it is none."""
    if kind == "Date":
        return text if _is_date(text) else None
    if kind == "Integer":
        return int(text) if _INTEGER.fullmatch(text) else None
    if kind == "Real":
        return Decimal(text) if _REAL.fullmatch(text) else None
    if kind == "Rational":
        found = _RATIONAL.fullmatch(text)
        return Fraction(int(found[1]), int(found[2])) if found and int(found[2]) else None
    return _parse_gps(named, text) if kind == "GPSCoordinate" else text


def format_simple(kind: str, named: Name, plain: object) -> str:
    """
    Return a plain value as XMP spells it. A number may also be given as text, spelled as XMP has it.

    Raises:
        XmpError: it is no value of that type.
    """
    if isinstance(plain, str):
        if parse_simple(kind, named, plain) is None:
            raise _refused(kind, named, plain)
        return plain
    if isinstance(plain, bool) or not isinstance(plain, int | float | Decimal | Fraction):
        raise XmpError(f"{spell(named)} holds one value, not {type(plain).__name__}")
    if kind not in ("Integer", "Real", "Rational", "GPSCoordinate"):
        if not isinstance(plain, int) or kind == "Date":
            raise _refused(kind, named, str(plain))
        return str(plain)
    return _format_number(kind, named, plain)


def fault_in_uri(text: str) -> str | None:
    """Return why ``text`` can be no URI, or ``None``."""
    found = _NOT_IN_URI.search(text)
    return f"{found[0]!r} stands in no URI" if found else None if text else "it is empty"


def has_scheme(text: str) -> bool:
    """Return True when a URI says of which kind it is; one that does not means something only where it stands."""
    return _SCHEME.match(text) is not None


def is_language(tag: str) -> bool:
    """Return True when a tag has the form of a language's, ``x-default`` among them."""
    return _LANGUAGE.fullmatch(tag) is not None


def _is_date(text: str) -> bool:
    found = _DATE.fullmatch(text)
    if found is None or found["day"] is None:
        return found is not None
    try:
        # The year 0000 is a leap year (ISO 8601), as 2000 is; the calendar of Python begins with 1.
        date(int(found["year"]) or 2000, int(found["month"]), int(found["day"]))
    except ValueError:
        return False
    return True


def _axis(named: Name) -> tuple[str, int]:
    """Return the letters of the positive and the negative side, and the most degrees."""
    return ("EW", 180) if named.local.endswith("Longitude") else ("NS", 90)


def _parse_gps(named: Name, text: str) -> Decimal | None:
    found = _GPS.fullmatch(text)
    sides, most = _axis(named)
    if found is None or found["side"] not in sides:
        return None
    seconds = int(found["seconds"] or 0)
    minutes = Fraction(f"{found['minutes']}.{found['decimals'] or 0}") + Fraction(seconds, 60)
    degrees = int(found["degrees"]) + minutes / 60
    if int(found["minutes"]) >= 60 or seconds >= 60 or degrees > most:
        return None
    rounded = Decimal(round(degrees * _BILLION)).scaleb(-9)
    return _plain_decimal(-rounded if found["side"] == sides[1] else rounded)


def _plain_decimal(number: Decimal) -> Decimal:
    """Return a number without zeros at its end, nor a sign when it is nothing."""
    spelled = f"{number:f}"
    return Decimal(spelled.rstrip("0").rstrip(".") if "." in spelled else spelled) if number else Decimal(0)


def _format_number(kind: str, named: Name, plain: float | Decimal | Fraction) -> str:
    exact = _exact(kind, named, plain)
    if kind == "Rational":
        spelled = f"{exact.numerator}/{exact.denominator}"
    elif kind == "GPSCoordinate":
        spelled = _format_gps(named, exact)
    elif kind == "Integer":
        spelled = str(exact) if exact.denominator == 1 else ""
    else:
        spelled = f"{plain:f}" if isinstance(plain, Decimal) else _format_decimal(exact)  # 1.0 stays 1.0
    if parse_simple(kind, named, spelled) is None:
        raise _refused(kind, named, str(plain))
    return spelled


def _exact(kind: str, named: Name, plain: float | Decimal | Fraction) -> Fraction:
    try:
        # A float means the short number it is written as, not the binary one behind it.
        return Fraction(repr(plain)) if isinstance(plain, float) else Fraction(plain)
    except (ValueError, OverflowError) as exc:  # not a number, or infinite
        raise _refused(kind, named, str(plain)) from exc


def _format_decimal(exact: Fraction) -> str:
    """Return a fraction as a decimal number, or nothing when it has no end within 80 digits."""
    with localcontext(prec=80) as context:
        context.traps[Inexact] = True
        try:
            return f"{Decimal(exact.numerator) / Decimal(exact.denominator):f}"
        except Inexact:
            return ""


def _format_gps(named: Name, exact: Fraction) -> str:
    sides, _ = _axis(named)
    billionths = round(abs(exact) * _BILLION)
    degrees, rest = divmod(billionths, _BILLION)
    minutes = _plain_decimal(Decimal(rest * 60).scaleb(-9))
    # XMP part 2 has two forms; a whole minute still needs its decimals or seconds.
    spelled = f"{minutes:f}" if minutes % 1 else f"{minutes:f}.0"
    return f"{degrees},{spelled}{sides[1] if exact < 0 and billionths else sides[0]}"


def _refused(kind: str, named: Name, text: str) -> XmpError:
    return XmpError(f"{spell(named)} cannot hold {text[:80]!r}: it takes {takes(kind)}")
