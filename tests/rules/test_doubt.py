"""Words of doubt."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.rules.doubt import date_certainty, parse_doubt


@pytest.mark.parametrize(
    ("text", "certainty"),
    [
        ("Osk Mill", "certain"), ("Osk Mill?", "possible"), ("? Osk Mill", "possible"), ("Osk Mill (?)", "possible"),
        ("Osk Mill [?]", "possible"), ("probably Osk Mill", "probable"), ("Prob. Osk Mill", "probable"),
        ("perhaps Osk Mill", "possible"), ("Osk Mill, possibly", "possible"), ("probably Osk Mill?", "possible"),
    ],
)  # fmt: skip
def test_doubt_is_told_from_the_name_it_is_about(text, certainty):
    words = parse_doubt(text)

    assert (words.readings, words.certainty, words.as_written) == (("Osk Mill",), certainty, text)


def test_a_choice_of_several_is_possible_each():
    assert parse_doubt("90 or 120") == parse_doubt("90 or 120").__class__("90 or 120", "possible", ("90", "120"))


def test_a_lone_question_mark_says_nothing_but_doubt():
    words = parse_doubt("?")

    assert words.readings == ()
    assert words.is_doubtful


@pytest.mark.parametrize("name", ["Orford Mill", "Probable Hall", "Maybeck House", "St. John's", "Mill No. 3"])
def test_a_name_that_only_resembles_words_of_doubt_is_certain(name):
    assert not parse_doubt(name).is_doubtful


@given(st.text(max_size=40))
def test_whatever_is_typed_is_kept_as_written_and_never_fails(text):
    assert parse_doubt(text).as_written == text.strip()


@pytest.mark.parametrize(
    ("edtf", "doubt", "certainty"),
    [
        ("1978", "", "certain"), ("1978~", "~", "probable"), ("1978?", "?", "possible"), ("1978%", "%", "possible"),
        ("[1957,1958]", "", "possible"), (None, "", "possible"), ("1982-22", "s", "certain"), ("197X", "", "certain"),
    ],
)  # fmt: skip
def test_how_certain_a_date_is_follows_from_its_marks(edtf, doubt, certainty):
    assert date_certainty(edtf, doubt) == certainty
