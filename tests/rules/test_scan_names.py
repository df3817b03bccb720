"""Which sheet a file's name means. The numbers are the scenario's own."""

from __future__ import annotations

import pytest

from catalog.errors import SettingsError
from catalog.rules.scan_names import NumberIndex, check_pattern, match_name, number_key

SHEETS = NumberIndex.of(
    [
        (1, "78-14"),
        (2, "1979-31"),
        (3, "82-07"),
        (4, "9"),
        (5, "Osk 5"),
        (6, "78-14-3"),
        (7, "12a"),
        (8, "85/3"),
    ]
)


@pytest.mark.parametrize(
    ("name", "sheet", "text"),
    [
        ("78-14.tif", 1, "78-14"),
        ("1979_031.tif", 2, "1979_031"),
        ("1979–031.TIFF", 2, "1979–031"),
        ("osk mill 82-07 scan2.tif", 3, "82-07"),
        ("82.7 scan 2 neu.tif", 3, "82.7"),
        ("082-007.tif", 3, "082-007"),
        ("78-014-03.tif", 6, "78-014-03"),
        ("78-14-5.tif", 1, "78-14"),
        ("scan of 78-14 copy 9.tif", 1, "78-14"),
        ("osk_5_front.jpg", 5, "osk_5"),
        ("0012A.png", 7, "0012A"),
        ("85-3.dng", 8, "85-3"),
        ("0009.tif", 4, "0009"),
    ],
)
def test_a_number_that_stands_whole_in_a_name_names_the_sheet(name, sheet, text):
    match = match_name(name, SHEETS)

    assert (match.sheet, match.text) == (sheet, text)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("wennmouth.tif", "its name holds no number"),
        ("178-14.tif", "no sheet has a number of its name"),
        ("78-14b.tif", "no sheet has a number of its name"),
        ("1978.tif", "no sheet has a number of its name"),
        # "9" is a sheet, and "88-9" most likely another that is not in the archive yet.
        ("88-9.tif", "9 is only part of a longer number"),
        ("78-14 and 82-07.tif", "its name holds several numbers: 78-14, 82-07"),
    ],
)
def test_a_name_that_means_no_one_sheet_says_why(name, why):
    match = match_name(name, SHEETS)

    assert (match.sheet, match.why) == (None, why)


def test_a_number_that_two_sheets_carry_matches_neither():
    sheets = NumberIndex.of([(1, "78-14"), (9, "78/14")])

    match = match_name("78-14.tif", sheets)

    assert match.sheet is None
    assert match.candidates[0].sheets == (1, 9)
    assert match.why == "2 sheets have the number 78-14"


def test_two_numbers_of_one_sheet_mean_that_sheet():
    sheets = NumberIndex.of([(1, "78-14"), (1, "Box 4 no. 9")])

    assert match_name("78-14 box_4_no_9.tif", sheets).sheet == 1


def test_the_pattern_of_the_settings_takes_precedence():
    pattern = check_pattern(r"_n(?P<number>\d+-\d+)")

    assert match_name("78-14_n82-07.tif", SHEETS, pattern).sheet == 3
    assert match_name("78-14.tif", SHEETS, pattern).why.startswith("the number pattern of the settings")
    assert match_name("x_n99-1.tif", SHEETS, pattern).why == "no sheet has the number 99-1"


@pytest.mark.parametrize("pattern", ["(", r"\d+"])
def test_a_pattern_that_cannot_be_followed_is_refused(pattern):
    with pytest.raises(SettingsError, match="number_pattern"):
        check_pattern(pattern)


def test_zeros_inside_a_number_stay():
    assert number_key("1003") == ("1003",)
    assert number_key("0") == ("0",)
    assert number_key("00120") == ("120",)
