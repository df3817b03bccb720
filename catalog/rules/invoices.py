"""What an invoice comes to: exact sums in minor units, tax added or contained. Nothing here is a floating number."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor
from typing import Final

from catalog.errors import RefusedError
from catalog.rules.money import Money

_TAX_LINE: Final = re.compile(r"(?P<words>\S.*?)\s+(?P<rate>\d{1,2}(?:[.,]\d{1,3})?)\s*%")


@dataclass(frozen=True, slots=True)
class TaxLine:
    """A line of tax: its words as the settings have them (``VAT 20 %``), and its rate as an exact share."""

    words: str
    rate: Fraction


@dataclass(frozen=True, slots=True)
class InvoiceTotals:
    """
    What an invoice comes to, all in one currency: the prints, less the commission, each tax, and what is to pay.

    ``net`` is without tax. With taxes included ``to_pay`` is the prints less the commission, and the taxes are
    contained in it.
    """

    prints: Money
    commission: Money | None
    net: Money
    taxes: tuple[tuple[str, Money], ...]
    to_pay: Money


def parse_tax_line(text: str) -> TaxLine:
    """
    Return a line of tax from its words and rate.

    >>> parse_tax_line("VAT 7.7 %").rate
    Fraction(77, 1000)

    Raises:
        RefusedError: it has no rate, or no words.
    """
    found = _TAX_LINE.fullmatch(text)
    if found is None:
        raise RefusedError(f'{text!r} is no line of tax: write words and a rate, such as "VAT 20 %".')
    return TaxLine(text, Fraction(found["rate"].replace(",", ".")) / 100)


def invoice_totals(
    prices: Sequence[Money], taxes: Sequence[TaxLine] = (), *, included: bool = False, commission: Money | None = None
) -> InvoiceTotals:
    """
    Return what an invoice comes to. Each tax is reckoned on the sum and rounded half up to the minor unit.

    Raises:
        RefusedError: there is no price, the currencies differ, or the commission is more than the prints.
    """
    currencies = sorted({each.currency for each in (*prices, *([commission] if commission else []))})
    if len(currencies) != 1:
        said = " and ".join(currencies) or "no price"
        raise RefusedError(f"An invoice is in one currency; this one has {said}. Write one for each.")
    currency = currencies[0]
    prints = sum(price.minor for price in prices)
    due = prints - (commission.minor if commission else 0)
    if due < 0:
        raise RefusedError(f"The commission of {commission} is more than the prints, {Money(prints, currency)}.")
    base = Fraction(due) / (1 + sum((tax.rate for tax in taxes), Fraction(0))) if included else Fraction(due)
    reckoned = [(tax.words, _rounded(base * tax.rate)) for tax in taxes]
    tax_sum = sum(minor for _, minor in reckoned)
    return InvoiceTotals(
        Money(prints, currency),
        commission,
        Money(due - tax_sum if included else due, currency),
        tuple((words, Money(minor, currency)) for words, minor in reckoned),
        Money(due if included else due + tax_sum, currency),
    )


def _rounded(minor: Fraction) -> int:
    return floor(minor + Fraction(1, 2))
