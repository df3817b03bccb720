"""
The published bands of the resale right.

Worked examples: the DACS frequently asked questions and royalty table (Design and Artists Copyright Society, UK),
Directive 2001/84/EC art. 4, SI 2023/1285; figures between are computed from the bands.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.dates import parse_edtf
from catalog.errors import RefusedError
from catalog.rules.resale_right import EU, UK, resale_royalty

WORKED = [
    ("999.99", "0"),
    ("1000", "40"),
    ("5000", "200"),
    ("50000", "2000"),
    ("60000", "2300"),
    ("100000", "3500"),
    ("200000", "6500"),
    ("250000", "7000"),
    ("350000", "8000"),
    ("400000", "8250"),
    ("500000", "8750"),
    ("1000000", "10000"),
    ("2000000", "12500"),
    ("5000000", "12500"),
]


def minor(amount: str) -> int:
    return int(Fraction(amount) * 100)


@pytest.mark.parametrize(("price", "royalty"), WORKED)
def test_the_bands_give_the_published_amounts_in_pounds(price: str, royalty: str):
    assert resale_royalty(minor(price), UK).amount_minor == minor(royalty)


@pytest.mark.parametrize(("price", "royalty"), WORKED)
def test_the_bands_give_the_published_amounts_in_euros_under_a_threshold_of_1000(price: str, royalty: str):
    found = resale_royalty(minor(price), EU, threshold_minor=1_000_00)

    assert found.amount_minor == minor(royalty)


def test_the_cap_is_reached_at_two_million_exactly():
    # DACS: "the maximum royalty of 12,500 is reached at 2 million".
    just_below, there = (resale_royalty(minor(price), UK) for price in ("1999999.99", "2000000"))

    assert just_below.exact_minor == Fraction(1250000) - Fraction(1, 400)
    assert there.exact_minor == 12_500_00


def test_below_the_threshold_nothing_is_owed_and_the_reason_is_said():
    found = resale_royalty(2_999_99, EU)

    assert (found.is_owed, found.amount_minor) == (False, 0)
    assert found.reason == "below the threshold of 3,000.00 EUR"


@pytest.mark.parametrize(
    ("bought", "sold", "owed"),
    [
        ("2024-06-01", "2025-06-01", False),
        ("2022-06-01", "2025-06-01", True),  # three years to the day
        ("2022-06-02", "2025-06-01", False),
        ("2022-06", "2025-06-15", None),  # the day of buying decides, and is not known
        ("2024~", "2025-06-01", None),
        ("2024-02-29", "2027-02-28", True),
    ],
)
def test_what_was_lately_bought_from_the_artist_is_exempt(bought: str, sold: str, owed: bool | None):
    # SI 2006/346 as amended; three years and 10,000 as the antiques trade and DACS print it.
    found = resale_royalty(9_000_00, UK, sold=parse_edtf(sold), bought_from_artist=parse_edtf(bought))

    assert found.is_owed is owed


def test_above_ten_thousand_the_exemption_ends():
    sold, bought = parse_edtf("2025-06-01"), parse_edtf("2025-01-01")

    at_limit = resale_royalty(10_000_00, UK, sold=sold, bought_from_artist=bought)
    above = resale_royalty(10_000_01, UK, sold=sold, bought_from_artist=bought)

    assert (at_limit.amount_minor, above.amount_minor) == (0, 400_00)


@pytest.mark.parametrize("sold", ["2024-03-31", "2024", "2023-05", ".."])
def test_a_sale_that_may_be_older_than_the_bands_in_pounds_is_refused(sold: str):
    with pytest.raises(RefusedError, match="1 April 2024"):
        resale_royalty(5_000_00, UK, sold=parse_edtf(f"{sold}/2024-06" if sold == ".." else sold))


@given(st.integers(0, 10**9), st.integers(0, 10**6))
def test_a_higher_price_never_owes_less(price: int, more: int):
    lower, higher = (resale_royalty(amount, UK).exact_minor for amount in (price, price + more))

    assert lower <= higher <= 12_500_00


@given(st.integers(1_000_00, 10**9))
def test_the_parts_add_up_to_the_price_and_the_amount(price: int):
    found = resale_royalty(price, UK)

    assert sum(part.price_minor for part in found.parts) == price
    assert min(sum(part.amount_minor for part in found.parts), 12_500_00) == found.exact_minor
    assert abs(found.amount_minor - found.exact_minor) <= Fraction(1, 2)
