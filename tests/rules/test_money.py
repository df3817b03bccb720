"""Money: whole minor units, exact totals, currencies never mixed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.errors import RefusedError
from catalog.rules.money import Money, format_money, parse_money, totals


@pytest.mark.parametrize(
    ("typed", "minor", "currency"),
    [
        ("1200 EUR", 120000, "EUR"),
        ("£450.50", 45050, "GBP"),
        ("EUR 1.200,50", 120050, "EUR"),
        ("1,200 eur", 120000, "EUR"),
        ("1 200,5 EUR", 120050, "EUR"),
        ("4000 JPY", 4000, "JPY"),
        ("1.500 KWD", 1500, "KWD"),
        ("0.10 EUR", 10, "EUR"),
    ],
)
def test_an_amount_is_read_as_typed(typed, minor, currency):
    assert parse_money(typed) == Money(minor, currency)


def test_the_house_currency_is_taken_where_none_is_typed():
    assert parse_money("600", "EUR") == Money(60000, "EUR")


@pytest.mark.parametrize("typed", ["", "1200", "$5", "12 EUR 3", "1.234 5 EUR", "1.2345 EUR", "-5 EUR", "5 EUR GBP"])
def test_what_is_no_amount_is_refused(typed):
    with pytest.raises(RefusedError):
        parse_money(typed)


@given(st.integers(0, 10**12), st.sampled_from(["EUR", "GBP", "JPY", "KWD"]))
def test_an_amount_reads_back(minor, currency):
    assert parse_money(format_money(minor, currency)) == Money(minor, currency)


@given(st.lists(st.integers(0, 10**12)))
def test_totals_are_exact(amounts):
    found = totals([Money(amount, "EUR") for amount in amounts])

    assert found == ((Money(sum(amounts), "EUR"),) if amounts else ())
