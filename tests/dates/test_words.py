"""What people type, and what they are asked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.dates import format_words, parse_edtf, parse_words
from catalog.errors import AmbiguousDateError, DateWordsError

# check_values section 1, "Human forms": (typed, of one event, of a state).
HUMAN_FORMS = [
    ("c. 1843", "1843~", "1843~"),
    ("ca 1843", "1843~", "1843~"),
    ("circa 1843", "1843~", "1843~"),
    ("about 1843", "1843~", "1843~"),
    ("c1843", "1843~", "1843~"),
    ("circa 1980s", "198X~", "198X~"),
    ("before 1975", "[..1974]", "../1974"),
    ("by 1975", "[..1975]", "../1975"),
    ("1975 or earlier", "[..1975]", "../1975"),
    ("after 1840", "[1841..]", "1841/.."),
    ("since 1840", "1840/..", "1840/.."),
    ("between 1755 and 1760", "[1755..1760]", "1755/1760"),
    ("1755-60", "[1755..1760]", "1755/1760"),
    ("c. 1755-60", "1755~/1760~", "1755~/1760~"),
    ("1755–60", "[1755..1760]", "1755/1760"),
    ("spring 1982", "1982-21", "1982-21"),
    ("winter 1982-83", "1982-24", "1982-24"),
    ("1843 or 1844", "[1843,1844]", "[1843,1844]"),
    ("1847 and 1861", "{1847,1861}", "{1847,1861}"),
    ("probably 1843", "1843?", "1843?"),
    ("1843 (?)", "1843?", "1843?"),
    ("19th c.", "18XX", "18XX"),
    ("after 1840 and before 1850", "[1841..1849]", "1841/1849"),
    ("not before 1840", "[1840..]", "1840/.."),
]


@pytest.mark.parametrize(("typed", "of_event", "of_state"), HUMAN_FORMS, ids=[form[0] for form in HUMAN_FORMS])
def test_a_human_form_keeps_its_meaning(typed, of_event, of_state):
    assert parse_words(typed).text == of_event
    assert parse_words(typed, event=False).text == of_state


# The archive's own hand (scenario, "The old card index"), and the ways people write; common practice.
@pytest.mark.parametrize(
    ("typed", "edtf"),
    [
        ("c. 1978", "1978~"),
        ("Aug 79?", "1979-08?"),
        ("summer 82", "1982-22"),
        ("78 or 79", "[1978,1979]"),
        ("probably Aug 1979", "1979-08?"),
        ("late 1970s", "[1977~..1979~]"),
        ("mid-1970s", "[1974~..1976~]"),
        ("early 1970s", "[1970~..1973~]"),
        ("1970s", "197X"),
        ("the 70s", "197X"),
        ("1930s?", "193X?"),
        ("Sept. 1979", "1979-09"),
        ("12 Aug 1979", "1979-08-12"),
        ("Aug 12, 1979", "1979-08-12"),
        ("12th August 1979", "1979-08-12"),
        ("12th of August, 1979", "1979-08-12"),
        ("12 August '79", "1979-08-12"),
        ("12.viii.1979", "1979-08-12"),
        ("12-Aug-1979", "1979-08-12"),
        ("Aug-79", "1979-08"),
        ("Sunday 12 August 1979", "1979-08-12"),
        ("1979 Aug 12", "1979-08-12"),
        ("1979/08/12", "1979-08-12"),
        ("1979.8.12", "1979-08-12"),
        ("19790812", "1979-08-12"),
        ("8/1979", "1979-08"),
        ("’79", "1979"),
        ("13/12/1979", "1979-12-13"),
        ("12/13/1979", "1979-12-13"),
        ("5/5/1979", "1979-05-05"),
        ("June-July 1979", "[1979-06..1979-07]"),
        ("June or July 1979", "[1979-06,1979-07]"),
        ("June/July 1979", "[1979-06,1979-07]"),
        ("12-14 Aug 1979", "[1979-08-12..1979-08-14]"),
        ("12 or 13 Aug 1979", "[1979-08-12,1979-08-13]"),
        ("12 Aug – 3 Sept 1979", "[1979-08-12..1979-09-03]"),
        ("Dec 1978 - Jan 1979", "[1978-12..1979-01]"),
        ("1978-1979", "[1978..1979]"),
        ("from 1755 to 1760", "1755/1760"),
        ("1970s-1980s", "[1970..1989]"),
        ("1978 or 79", "[1978,1979]"),
        ("spring or summer 1982", "[1982-21,1982-22]"),
        ("1667, 1668 or 1670", "[1667,1668,1670]"),
        ("c. 1978 or 1979", "[1978~,1979~]"),
        ("1978 or c. 1979", "[1978,1979~]"),
        ("1979 or 1980?", "[1979?,1980?]"),
        ("probably c. 1843", "1843%"),
        ("perhaps about Aug 1979", "1979-08%"),
        ("[c. 1978]", "1978~"),
        ("[1978]", "1978"),
        ("(1978?)", "1978?"),
        ("pre-1975", "[..1974]"),
        ("post 1975", "[1976..]"),
        ("before Aug 1979", "[..1979-07]"),
        ("before 12 Aug 1979", "[..1979-08-11]"),
        ("before spring 1982", "[..1982-02]"),
        ("before c. 1975", "[..1974~]"),
        ("before the 1980s", "[..1979]"),
        ("after Aug 1979", "[1979-09..]"),
        ("not after 1985", "[..1985]"),
        ("no later than 1985", "[..1985]"),
        ("1832 or later", "[1832..]"),
        ("1840 onwards", "1840/.."),
        ("1840-", "1840/.."),
        ("winter 82/83", "1982-24"),
        ("late summer 1982", "1982-22~"),
        ("early August 1979", "[1979-08-01~..1979-08-10~]"),
        ("end of 1979", "[1979-09~..1979-12~]"),
        ("early 19th century", "[1800~..1833~]"),
        ("first half of the 19th century", "[1800..1849]"),
        ("nineteenth century", "18XX"),
        ("second quarter of 1933", "1933-34"),
        ("Q2 1933", "1933-34"),
        ("first half of 1979", "1979-40"),
        ("481 BC", "-0480"),
        ("AD 850", "0850"),
        ("c.1930", "1930~"),
        ("\u00a0c.\u00a01978 ", "1978~"),
        ("  12   Aug   1979 ", "1979-08-12"),
        ("CIRCA 1978", "1978~"),
        ("1978 approx.", "1978~"),
        ("1978 (probably)", "1978?"),
        ("1979-00-00", "1979"),
        ("1978-24", "1978-24"),
        ("1978-06", "1978-06"),
        ("1978-3", "1978-03"),
        ("1756-01-27", "1756-01-27"),
        ("27 January 1756", "1756-01-27"),
        ("4 May 1832", "1832-05-04"),
        ("2010:01:05 10:20:30", "2010-01-05T10:20:30"),
        ("198X~", "198X~"),
        ("1755/1760", "1755/1760"),
        ("{1847,1861}", "{1847,1861}"),
        ("1985/", "1985/"),
    ],
)
def test_a_way_of_writing_is_understood(typed, edtf):
    assert parse_words(typed, century=1900).text == edtf


@pytest.mark.parametrize(
    "typed",
    [
        "n.d.",
        "N.D.",
        "n. d.",
        "nd",
        "undated",
        "[undated]",
        "(no date)",
        "s.d.",
        "unknown",
        "date unknown",
        "?",
        "-",
        "",
        "  ",
        "0000:00:00 00:00:00",
        "0000-00-00",
        "00000000",
    ],
)
def test_no_date_is_no_date_and_no_error(typed):
    # Case D02: Exif's zero date is an unknown one.
    assert parse_words(typed) is None


# Case D06 and the traps of check_values section 1: asked, never guessed.
@pytest.mark.parametrize(
    ("typed", "readings"),
    [
        ("1978-9", ["1978-09", "[1978..1979]", "1978/1979", "1978-24"]),
        ("1978-79", ["[1978..1979]", "1978/1979", "1978-24"]),
        ("1978/79", ["[1978..1979]", "1978/1979", "1978-24"]),
        ("1921-22", ["1921-22", "[1921..1922]", "1921/1922", "1921-24"]),
        ("1933–34", ["1933-34", "[1933..1934]", "1933/1934", "1933-24"]),
        ("1805-06", ["1805-06", "[1805..1806]", "1805/1806", "1805-24"]),
        ("1805-09", ["1805-09", "[1805..1809]"]),
        ("1805-06?", ["1805-06?", "[1805?..1806?]", "1805?/1806?", "1805-24?"]),
        ("c. 1805-06", ["1805-06~", "1805~/1806~"]),
        ("10/12/1979", ["1979-12-10", "1979-10-12"]),
        ("before 10.12.1979", ["[..1979-12-09]", "[..1979-10-11]"]),
        ("1900s", ["190X", "19XX"]),
        ("1978, 1979", ["[1978,1979]", "{1978,1979}"]),
        ("C19", ["18XX", "1819~", "1919~", "2019~"]),
        ("Aug 79?", ["1879-08?", "1979-08?", "2079-08?"]),
        ("78 or 79", ["[1878,1879]", "[1978,1979]", "[2078,2079]"]),
    ],
)
def test_what_may_mean_two_dates_is_asked(typed, readings):
    with pytest.raises(AmbiguousDateError) as question:
        parse_words(typed)

    assert [edtf for edtf, _ in question.value.readings] == readings
    for edtf, meaning in question.value.readings:
        assert parse_edtf(edtf).text == edtf
        assert parse_words(meaning) is not None, "an answer must not be asked about again"
        assert edtf in str(question.value)
        assert meaning in str(question.value)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("before the war", "a war is no date; give the year, as in 'before 1939'"),
        ("Easter 1979", "a feast is no date here; give its day or its month"),
        ("Victorian", "a period has no agreed first and last year; give the years"),
        ("last summer", "it counts from a day that is not written down; give the date itself"),
        ("31/4/1982", "April has 30 days"),
        ("31 Sept 1979", "September has 30 days"),
        ("29/2/1979", "February 1979 has 28 days"),
        ("1985-02-29", "February 1985 has 28 days"),
        ("20/30/1979", "neither 20 nor 30 is a month"),
        ("Monday 12 August 1979", "that day was a Sunday"),
        ("Aug 12", "12 may be a day or a year; write the year in full"),
        ("August", "the year is missing"),
        ("12 Aug", "the year is missing"),
        ("1979 (sold)", "'sold' is no part of a date; give a year, a month or a day, in words or as EDTF"),
        ("summer 1982-83", "only a winter runs over the new year, into 1983; write each season by itself"),
        ("winter 1982-84", "only a winter runs over the new year, into 1983; write each season by itself"),
        ("1978-50", "1978-50 runs backwards; write both years in full"),
        ("2000/1999", "it ends before it begins"),
        ("1979 to 1975", "a range in it ends before it begins"),
        ("1979 (day uncertain)", "the date has no day to be uncertain"),
        ("7", "one digit is no year; write the year in full"),
        ("123", "a year has four digits"),
        ("12 Aug 123", "123 is no year, month or day; a year has four digits"),
        ("x" * 500, "a date has at most 400 letters here"),
    ],
)
def test_what_says_no_date_is_refused_with_the_reason(typed, reason):
    with pytest.raises(DateWordsError) as refusal:
        parse_words(typed, century=1900)

    assert refusal.value.reason == reason


FRAGMENTS = st.sampled_from(
    [
        *[
            "c.",
            "circa",
            "about",
            "probably",
            "?",
            "(?)",
            "1978",
            "79",
            "'79",
            "9",
            "12",
            "31",
            "Aug",
            "viii",
            "summer",
            "winter",
            "early",
            "late",
            "mid-",
            "1970s",
            "19th",
        ],
        *[
            "century",
            "or",
            "and",
            "between",
            "from",
            "to",
            "-",
            "/",
            ",",
            "before",
            "after",
            "by",
            "since",
            "until",
            "not",
            "quarter",
            "half",
            "of",
            "first",
            "the",
            "Q2",
        ],
        *[
            "AD",
            "BC",
            "1978-79",
            "1805-06",
            "198X",
            "~",
            "%",
            "[",
            "]",
            "(",
            ")",
            "{1960}",
            "..",
            "a",
            "day",
            "in",
            "month",
            "each",
            "n.d.",
            "war",
            "00",
            "0000",
            "12345",
        ],
        *[
            "10/12/79",
            "23:20:30",
            "Z",
            "²",
            "٣",
            "–",
            "’",
            "northern",
            "southern",
            "later",
            "onwards",
            "tues",
            "x",
        ],
    ]
)


@given(st.one_of(st.lists(FRAGMENTS, max_size=7).map(" ".join), st.text(max_size=20)), st.booleans())
def test_any_words_are_a_date_or_are_refused(typed, event):
    readings, reason, date = (), "none needed", None
    try:
        date = parse_words(typed, century=1900, event=event)
    except AmbiguousDateError as exc:
        readings = exc.readings
    except DateWordsError as exc:
        reason = exc.reason

    assert all(parse_edtf(edtf) for edtf, _ in readings)
    assert reason
    assert "\n" not in reason
    assert date is None or parse_edtf(date.text) == date


@given(
    st.integers(1000, 2099),
    st.sampled_from(["c. {}", "about {}", "{} or so"]),
    st.sampled_from(["{}?", "probably {}"]),
)
def test_doubt_said_twice_over_is_kept_twice_over(year, about, unsure):
    assert parse_words(unsure.format(about.format(year))).text == f"{year}%"


def test_a_question_says_what_to_type():
    with pytest.raises(AmbiguousDateError) as question:
        parse_words("10/12/1979")

    assert str(question.value) == (
        "'10/12/1979': may mean 10 December 1979 (1979-12-10); 12 October 1979 (1979-10-12). "
        "Give one of these, in words."
    )


def test_a_date_in_edtf_is_taken_as_it_is():
    assert format_words(parse_words("[1667,1668,1670..1672]")) == "1667, 1668 or between 1670 and 1672"
