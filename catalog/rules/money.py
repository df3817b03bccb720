"""Money: whole minor units with a currency. Nothing here is ever a floating number."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from catalog.errors import RefusedError

# ISO 4217, list one: the currencies whose minor unit is not a hundredth (from memory of the list; see docs/manual).
_DIGITS = {
    **dict.fromkeys(
        (
            "BIF",
            "CLP",
            "DJF",
            "GNF",
            "ISK",
            "JPY",
            "KMF",
            "KRW",
            "PYG",
            "RWF",
            "UGX",
            "VND",
            "VUV",
            "XAF",
            "XOF",
            "XPF",
        ),
        0,
    ),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}
_SIGNS = {"€": "EUR", "£": "GBP", "¥": "JPY"}
_AMOUNT = re.compile(r"\d{1,3}(?:[ ,.'’\u00a0\u202f]\d{3})+(?:[.,]\d+)?|\d+(?:[.,]\d+)?")
LARGEST_MINOR = 10**15
"""More than this is a slip of the hand, and sums of a million such still fit a column."""


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in the smallest unit of its currency (cents, pence, yen)."""

    minor: int
    currency: str

    def __str__(self) -> str:
        return format_money(self.minor, self.currency)


def minor_digits(currency: str) -> int:
    """Return how many decimal places a currency has."""
    return _DIGITS.get(currency, 2)


def format_money(minor: int, currency: str) -> str:
    """
    Return an amount as lists and letters say it.

    >>> format_money(120050, "EUR"), format_money(-5, "GBP"), format_money(4000, "JPY")
    ('1,200.50 EUR', '-0.05 GBP', '4,000 JPY')
    """
    digits = minor_digits(currency)
    whole, rest = divmod(abs(minor), 10**digits)
    written = f"{whole:,}" + (f".{rest:0{digits}d}" if digits else "")
    return f"{'-' if minor < 0 else ''}{written} {currency}"


def parse_money(text: str, currency: str | None = None) -> Money:
    """
    Return the amount a person typed: ``1200 EUR``, ``£450.50``, ``EUR 1.200,50``.

    ``currency`` is taken where none is typed. A dollar sign alone is refused: several countries write it.

    >>> parse_money("1.200,50 EUR"), parse_money("£450")
    (Money(minor=120050, currency='EUR'), Money(minor=45000, currency='GBP'))

    Raises:
        RefusedError: it is no amount, has no currency, or more decimal places than its currency.
    """
    cleaned = " ".join(text.split())
    letters = re.findall(r"[A-Za-z]{3}(?![A-Za-z])|[€£¥]", cleaned)
    found = _AMOUNT.findall(cleaned)
    rest = cleaned
    for part in (*letters, *found):
        rest = rest.replace(part, "", 1)
    named = {_SIGNS.get(part, part.upper()) for part in letters} or ({currency} if currency else set())
    if len(found) != 1 or rest.strip() or len(named) > 1:
        raise RefusedError(f"{text!r} is no amount of money. Type it as 1200 EUR or 450.50 GBP.")
    if not named or None in named:
        raise RefusedError(f"{text!r} names no currency. Type it as 1200 EUR or 450.50 GBP.")
    code = named.pop() or ""
    return Money(_minor(found[0], code, text), code)


def _minor(amount: str, currency: str, text: str) -> int:
    digits = minor_digits(currency)
    whole, cents = amount, ""
    last = max(amount.rfind("."), amount.rfind(","))
    # "1.200" and "1,200" are thousands: no currency but those with three places writes three after its point.
    if last >= 0 and (len(amount) - last - 1 != 3 or (digits == 3 and amount.count(amount[last]) == 1)):
        whole, cents = amount[:last], amount[last + 1 :]
    if len(cents) > digits:
        raise RefusedError(f"{text!r} has more decimal places than {currency} has ({digits}).")
    minor: int = int(re.sub(r"\D", "", whole)) * 10**digits + int(cents.ljust(digits, "0") or "0")
    if minor > LARGEST_MINOR:
        raise RefusedError(f"{text!r} is more than any print was sold for.")
    return minor


def totals(amounts: Iterable[Money]) -> tuple[Money, ...]:
    """
    Return the sum in each currency, exact, currencies in alphabetical order; different ones are never added.

    >>> totals([Money(1, "EUR"), Money(2, "GBP"), Money(3, "EUR")])
    (Money(minor=4, currency='EUR'), Money(minor=2, currency='GBP'))
    """
    sums: dict[str, int] = {}
    for amount in amounts:
        sums[amount.currency] = sums.get(amount.currency, 0) + amount.minor
    return tuple(Money(sums[currency], currency) for currency in sorted(sums))
