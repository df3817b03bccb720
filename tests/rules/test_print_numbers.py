"""Print numbers: written as they are pencilled, read as they are typed, given lowest first."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.errors import RefusedError
from catalog.rules.print_numbers import (
    PROOFS,
    SERIES,
    check_ordinal,
    format_number,
    format_roman,
    next_ordinal,
    parse_number,
    parse_roman,
)


# Common practice: proofs in Roman numerals, apart from the run (check_values.md section 6; case J03).
@pytest.mark.parametrize(
    ("series", "ordinal", "of", "written"),
    [
        ("numbered", 7, 15, "7/15"),
        ("numbered", 7, None, "7"),
        ("AP", 2, 3, "AP II/III"),
        ("AP", 1, 2, "AP I/II"),
        ("HC", 1, None, "HC I"),
        ("BAT", 1, 1, "BAT"),
        ("PP", 4, 4, "PP IV/IV"),
    ],
)
def test_a_number_is_written_as_it_is_pencilled(series, ordinal, of, written):
    assert format_number(series, ordinal, of) == written


@given(st.integers(1, 3999))
def test_roman_numerals_read_back(number):
    assert parse_roman(format_roman(number)) == number


@given(st.sampled_from(SERIES), st.integers(1, 300), st.one_of(st.none(), st.integers(1, 300)))
def test_a_written_number_reads_back(series, ordinal, of):
    read = parse_number(format_number(series, ordinal, of))

    assert read is not None
    if series == "BAT" and of == 1:
        assert (read.series, read.ordinal) == ("BAT", None)
    else:
        assert (read.series, read.ordinal, read.of) == (series, ordinal, of)


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("E3 7/15", ("numbered", 7, 15, 3, None)),
        ("e3, 7", ("numbered", 7, None, 3, None)),
        ("M2 AP II", ("AP", 2, None, None, 2)),
        ("a.p. 2/3", ("AP", 2, 3, None, None)),
        ("artist’s proof II", ("AP", 2, None, None, None)),
        ("h.c.", ("HC", None, None, None, None)),
        ("E1 BAT", ("BAT", None, None, 1, None)),
    ],
)
def test_a_number_is_read_as_typed(typed, found):
    read = parse_number(typed)

    assert read is not None
    assert (read.series, read.ordinal, read.of, read.edition_id, read.run_id) == found


@pytest.mark.parametrize(
    "typed", ["", "P88", "0/15", "seven", "7/", "/15", "VII/XV", "front door 7", "IIX/15", "AP IIX"]
)
def test_what_is_no_number_is_none(typed):
    assert parse_number(typed) is None


def test_the_lowest_free_place_comes_next():
    assert next_ordinal([], 15) == 1
    assert next_ordinal([3, 1], 15) == 2
    assert next_ordinal(range(1, 16), 15) is None
    assert next_ordinal(range(1, 16), None) == 16


def test_a_number_beyond_the_run_and_a_proof_beyond_the_allowance_are_refused():
    with pytest.raises(RefusedError, match="E1 is limited to 15; there can be no number 16"):
        check_ordinal("numbered", 16, 15, "E1")
    with pytest.raises(RefusedError, match="E1 declares 2 artist's proofs; a number III"):
        check_ordinal("AP", 3, 2, "E1")
    for kind in PROOFS:
        with pytest.raises(RefusedError, match="declares no"):
            check_ordinal(kind, 1, 0, "E1")
