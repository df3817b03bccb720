"""Which sheets a stray may be of, by the numbers and names in what its file says."""

from __future__ import annotations

from catalog.rules.scan_names import NumberIndex, check_pattern
from catalog.rules.stray_candidates import (
    BY_NAME,
    BY_PART,
    BY_WORDS,
    StrayWords,
    Suggestion,
    in_order,
    keys_within,
    names_said,
    suggested_by_numbers,
    year_said,
)

INDEX = NumberIndex.of([(5, "78-14"), (55, "78-14"), (13, "82-08"), (9, "9"), (2, "74-03")])


def told(said: StrayWords) -> dict[int, tuple[int, str]]:
    return {one.sheet: (one.rank, one.why) for one in suggested_by_numbers(said, INDEX)}


def test_every_sheet_that_carries_the_number_is_suggested():
    assert told(StrayWords("osk 78_14 again.tif")) == {
        5: (BY_NAME, "its name holds 78_14, which 2 sheets carry"),
        55: (BY_NAME, "its name holds 78_14, which 2 sheets carry"),
    }


def test_embedded_words_speak_less_than_the_name():
    found = suggested_by_numbers(StrayWords("82-08.tif", embedded="sheet 74-03. North side"), INDEX)

    assert [(one.sheet, one.rank) for one in found] == [(13, BY_NAME), (2, BY_WORDS)]


def test_part_of_a_longer_number_speaks_least():
    assert told(StrayWords("88-9.tif")) == {9: (BY_PART, "its name holds 9, though only as part of a longer number")}


def test_a_pattern_of_the_settings_alone_decides_what_the_name_holds():
    pattern = check_pattern(r"_n(?P<number>\d+-\d+)")

    found = suggested_by_numbers(StrayWords("82-08_n74-03.tif"), INDEX, pattern)

    assert [one.sheet for one in found] == [2]


def test_the_longest_name_that_is_said_counts():
    names = [(1, "Osk"), (2, "Osk Mill"), (3, "Priors Lode")]

    assert names_said(StrayWords("north.tif", folders="scans/osk mill/Priors-Lode"), names) == {
        3: ("Priors Lode", "its folder"),
        2: ("Osk Mill", "its folder"),
    }


def test_a_year_is_taken_where_there_is_one_alone():
    assert year_said(StrayWords("osk 1978.tif")) == "1978"
    assert year_said(StrayWords("osk 1978-1980.tif")) is None
    assert year_said(StrayWords("n.tif", folders="valley/1982")) == "1982"
    assert year_said(StrayWords("scan19781.tif")) is None


def test_what_a_person_took_off_comes_last_and_what_has_no_scan_first():
    found = [Suggestion(1, BY_NAME, ""), Suggestion(2, BY_NAME, ""), Suggestion(3, BY_WORDS, "")]

    assert [one.sheet for one in in_order(found, scanned=[1], taken_off=[2])] == [1, 3, 2]
    assert [one.sheet for one in in_order(found, scanned=[1], taken_off=[])] == [2, 1, 3]


def test_the_keys_within_a_text_are_all_its_stretches():
    assert keys_within(["78-014"]) == {("78",), ("14",), ("78", "14")}
