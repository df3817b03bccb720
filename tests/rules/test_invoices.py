"""Sums of invoices are exact, whatever the rates."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.errors import RefusedError
from catalog.rules.invoices import TaxLine, invoice_totals, parse_tax_line
from catalog.rules.money import Money

PRICES = st.lists(st.integers(0, 10**9).map(lambda minor: Money(minor, "EUR")), min_size=1, max_size=20)
RATES = st.lists(st.integers(0, 99_999).map(lambda rate: TaxLine("tax", Fraction(rate, 100_000))), max_size=3)


@given(PRICES, RATES)
def test_what_is_to_pay_is_the_net_and_every_tax(prices: list[Money], taxes: list[TaxLine]):
    for included in (False, True):
        sums = invoice_totals(prices, taxes, included=included)

        assert sums.net.minor + sum(tax.minor for _, tax in sums.taxes) == sums.to_pay.minor
        if included:
            assert sums.to_pay == sums.prints
        else:
            assert sums.net == sums.prints


@pytest.mark.parametrize(
    ("minor", "rate", "tax"),
    [(1050, "19", 200), (1000, "7.7", 77), (50, "5", 3), (30, "5", 2), (29, "5", 1), (10**15, "8,1", 81 * 10**12)],
)
def test_a_tax_is_rounded_half_up_to_the_minor_unit(minor: int, rate: str, tax: int):
    sums = invoice_totals([Money(minor, "EUR")], [parse_tax_line(f"VAT {rate} %")])

    assert sums.taxes[0][1].minor == tax


@pytest.mark.parametrize("line", ["VAT", "20 %", "VAT 20", "VAT 120 %", "VAT -1 %", "VAT 1.2345 %"])
def test_a_line_of_tax_without_words_or_rate_is_refused(line: str):
    with pytest.raises(RefusedError, match="is no line of tax"):
        parse_tax_line(line)


def test_a_commission_above_the_prints_is_refused():
    with pytest.raises(RefusedError, match="is more than the prints"):
        invoice_totals([Money(100, "EUR")], commission=Money(101, "EUR"))


def test_no_price_is_no_invoice():
    with pytest.raises(RefusedError, match="this one has no price"):
        invoice_totals([])
