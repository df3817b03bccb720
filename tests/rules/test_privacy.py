"""What a text gives away of persons."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.rules.privacy import PrivateWords

KNOWN = PrivateWords(
    ["Wilf Arkle", "Łucja O’Dell", "3 Mill Lane, Osk", "0555 010 203", "Ida Thornwick", "Osk Mill", ""],
    public=["Ida Thornwick", "Osk Mill"],
)


@pytest.mark.parametrize(
    "text",
    [
        "Wilf Arkle", "told by wilf arkle, 1979", "(Wilf Arkle's dog)", "WILF  ARKLE", "Lucja O'Dell was there",
        "write to 3 Mill Lane Osk", "tel. 0555-010-203", "Wilf\nArkle",
    ],
)  # fmt: skip
def test_a_persons_name_or_address_is_found_however_it_is_spelled(text):
    assert KNOWN.finds(text)
    assert KNOWN.finds(text)  # the second answer is the one that was kept


@pytest.mark.parametrize(
    "text",
    ["", "Wilf", "Arkle's field", "Mill Lane, Osk", "Ida Thornwick", "Osk Mill from the lane", "13 Mill Lane, Osk"],
)
def test_what_only_resembles_it_is_not(text):
    assert not KNOWN.finds(text)


def test_an_archive_without_persons_has_nothing_private():
    assert not PrivateWords([]).finds("Wilf Arkle")


@pytest.mark.parametrize(
    ("text", "hidden"),
    [
        ("added WILF  ARKLE, buyer (N1)", "added (private), buyer (N1)"),
        ("Lucja O'Dell's print; Wilf Arkle's", "(private)'s print; (private)'s"),
        ("at 3 Mill Lane, Osk", "at (private)"),
        ("for 12,345.67 EUR", "for (private)"),
        ("EUR 1 200,50 and £450.", "(private) and (private)."),
        ("on 5 May 2021, 1,200 EUR", "on 5 May 2021, (private)"),
        ("pulled E1 7/15, 1 BAT, on 310 g", "pulled E1 7/15, 1 BAT, on 310 g"),
        ("Ida Thornwick at Osk Mill", "Ida Thornwick at Osk Mill"),
        ("", ""),
    ],
)
def test_what_is_private_is_taken_out_and_the_rest_stays(text, hidden):
    assert KNOWN.hide(text) == hidden


def test_amounts_of_a_price_list_may_stay():
    assert KNOWN.hide("Wilf Arkle: 700 EUR from 5 sold on", amounts=False) == "(private): 700 EUR from 5 sold on"


@given(st.text(), st.sampled_from(["Wilf Arkle", "wilf \u200barkle", "Łucja O’Dell", "0555-010-203"]), st.text())
def test_nothing_private_is_left_however_it_stands(before, name, after):
    assert not KNOWN.finds(KNOWN.hide(f"{before} {name} {after}"))
