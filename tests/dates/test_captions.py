"""Dates as a caption says them, and read back."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from catalog.dates import format_words, parse_edtf, parse_words
from catalog.errors import EdtfError
from tests.dates.strategies import edtf_texts

CAPTIONS = [
    ("1978", "1978"),
    ("1978~", "about 1978"),
    ("1979-08?", "probably August 1979"),
    ("1979-08%", "probably about August 1979"),
    ("1979-08-12", "12 August 1979"),
    ("1982-22", "summer 1982"),
    ("1982-24", "winter 1982-83"),
    ("1982-30", "southern summer 1982-83"),
    ("1933-34", "the second quarter of 1933"),
    ("198X~", "about the 1980s"),
    ("18XX", "the 19th century"),
    ("20XX", "the 21st century"),
    ("99XX", "the 100th century"),
    ("190X", "190X"),  # "the 1900s" would be heard as a century
    ("[1978,1979]", "1978 or 1979"),
    ("[1979-06,1979-07]", "June or July 1979"),
    ("[1979-08-12..1979-08-14]", "between 12 and 14 August 1979"),
    ("[1978~,1979~]", "about 1978 or about 1979"),
    ("[1978~,1979]", "[1978~,1979]"),  # "about 1978 or 1979" would be heard as doubt of both
    ("{1847,1861}", "1847 and 1861"),
    ("{1847..1861}", "each from 1847 to 1861"),
    ("[..1974]", "by 1974"),
    ("../1985", "by 1985"),  # case D07
    ("1832/..", "1832 or later"),  # case D07
    ("1985/", "from 1985, end unknown"),
    ("/1985", "until 1985, start unknown"),
    ("1755/1760", "from 1755 to 1760"),
    ("1755~/1760~", "from about 1755 to about 1760"),
    ("1984-1X/1990", "1984-1X/1990"),  # the end is not left out because the start has no words
    ("1985-04-XX", "a day in April 1985"),
    ("1985-XX-XX", "a day in 1985"),
    ("2004-XX", "a month of 2004"),
    ("156X-12-25", "156X-12-25"),
    ("2004?-06-11", "11 June 2004 (year uncertain)"),
    ("?2004-06-~11", "11 June 2004 (year uncertain; day approximate)"),
    ("-0480", "481 BC"),
    ("0000", "1 BC"),
    ("0850", "AD 850"),
    ("Y170000002", "the year 170000002"),
    ("1950S2", "1950S2"),
    ("1985-04-12T23:20:30Z", "12 April 1985, 23:20:30Z"),
]


@pytest.mark.parametrize(("edtf", "words"), CAPTIONS)
def test_a_caption_says_the_date(edtf, words):
    assert format_words(parse_edtf(edtf)) == words


def test_a_frame_without_a_date_is_undated():
    assert format_words(None) == "undated"
    assert parse_words(format_words(None)) is None


@settings(max_examples=250)
@given(edtf_texts(), st.booleans())
def test_a_caption_read_back_means_the_same_days_with_the_same_doubt(text, event):
    try:
        date = parse_edtf(text)
    except EdtfError:
        assume(False)

    back = parse_words(format_words(date), event=event)

    assert (back.earliest, back.latest, back.doubt) == (date.earliest, date.latest, date.doubt)


# Everyday forms come back as the very same EDTF.
@pytest.mark.parametrize(
    "edtf",
    [
        "1978",
        "1978~",
        "1979-08?",
        "1979-08-12",
        "1982-22",
        "197X",
        "197X~",
        "18XX",
        "[1978,1979]",
        "[..1974]",
        "[1832..]",
        "1755/1760",
        "[1755..1760]",
        "{1847,1861}",
        "1985/",
        "/1985",
        "1984?/2004~",
        "[1977~..1979~]",
        "2004-XX",
    ],
)
def test_an_everyday_date_comes_back_as_it_was(edtf):
    assert parse_words(format_words(parse_edtf(edtf))).text == edtf


@pytest.mark.parametrize(("edtf", "words"), [caption for caption in CAPTIONS if set(caption[0]) & set("?~%")])
def test_no_mark_of_doubt_is_lost_in_a_caption(edtf, words):
    said = {
        "~": ("about", "approximate", "~"),
        "?": ("probably", "uncertain", "?"),
        "%": ("probably about", "doubtful", "%"),
    }

    for mark in set(edtf) & set("?~%"):
        assert any(word in words for word in said[mark])
