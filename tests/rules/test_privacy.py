"""What a text gives away of persons."""

from __future__ import annotations

import pytest

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
