"""
Two public readers of EDTF as judges: edtf-validate 2.0.0 of what is EDTF, edtf 5.0.2 of the days it means.

Where they are known to be wrong, or the specification leaves a choice, the case is left out by a pattern with
its reason beside it; a test shows that each of these faults is still there, so that none outlives its reason.
"""

from __future__ import annotations

import math
import re
import warnings

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

with warnings.catch_warnings():
    # Both are built on an older interface of pyparsing, which warns at import and when a text is parsed.
    warnings.simplefilter("ignore")
    import edtf
    from edtf_validate.valid_edtf import is_valid

from catalog.dates import ordinal, parse_edtf
from catalog.errors import EdtfError
from tests.dates.strategies import damaged, judged_dates
from tests.published.edtf_examples import EXAMPLES, MUST_REJECT

TEXTS = [example[1] for example in EXAMPLES]

# edtf-validate 2.0.0 refuses these; we accept them: (pattern, an example, why).
TOO_STRICT = [
    (r"X.*[?~%]|[?~%].*X", "198X~", "it has no marks on a date with open digits"),
    (r"X.*-(?:2[1-9]|3[0-9]|4[01])$", "198X-21", "it has no season of a year with open digits"),
    (r"[?~%][0-9]{4}-2|-[?~%]2[1-4]", "2001-~21", "it has no mark left of a season or of its year"),
    (r"^Y[^/]*[?~%]", "Y12345~", "it has no marks on a long year"),
    (r"Y.*/|/.*Y|S.*/|/.*S", "Y170000002/..", "it has no long years and significant digits in an interval"),
    (
        r"/[?~%]?0000",
        "../0000",
        "it takes the year 0 at the end of an interval for the lowest of all numbers",
    ),
    (
        r"^([0-9-]+)-[0-9~?%-]+/\1[?~%]?$",
        "1985-05/1985",
        "it compares first days, so a year cannot end what began in it",
    ),
    (r"^[\[{][^,.]*[\]}]$", "[1984]", "it wants two dates or two dots in a set"),
    (r"[\[{].*-2[1-4]", "[2001-21,2001-22]", "it has no seasons in a set"),
]

# edtf-validate 2.0.0 accepts these; we refuse them, with this reason: (reason, an example, why).
TOO_LOOSE = [
    (r"February [0-9]+ has 28 days", "2003-02-29", "it gives every February 29 days"),
    (
        r"has a day|has [0-9]+ days|no day is|no month",
        "1985-02-3X",
        "it looks at open digits one by one, not at the calendar",
    ),
    (r"a range in it ends before", "[1984..1983]", "it does not compare the ends of a range in a set"),
    (r"more significant|has not [0-9]+ significant", "1950S5", "it does not count the digits of a year"),
    (r"at most 15 digits", "Y1234567890123456", "our limit: days must fit a column of the catalogue"),
]


def validator_says(text: str) -> bool:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return bool(is_valid(text))


def our_refusal(text: str) -> str | None:
    try:
        parse_edtf(text)
    except EdtfError as exc:
        return exc.reason
    return None


@pytest.mark.parametrize("text", TEXTS)
def test_the_validator_accepts_each_example_as_we_do(text):
    assert (validator_says(text), our_refusal(text)) == (True, None)


@pytest.mark.parametrize("text", MUST_REJECT)
def test_the_validator_refuses_each_other_text_as_we_do(text):
    assert not validator_says(text)
    assert our_refusal(text)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.one_of(judged_dates(), damaged(judged_dates())))
def test_the_validator_and_we_agree_but_for_its_known_faults(text):
    theirs, refusal = validator_says(text), our_refusal(text)

    if theirs and refusal:
        assert any(re.search(pattern, refusal) for pattern, *_ in TOO_LOOSE), (text, refusal)
    if not theirs and not refusal:
        assert any(re.search(pattern, text) for pattern, *_ in TOO_STRICT), text


@pytest.mark.parametrize(("pattern", "text", "why"), TOO_STRICT, ids=[fault[1] for fault in TOO_STRICT])
def test_the_validator_still_refuses_too_much(pattern, text, why):
    assert (validator_says(text), our_refusal(text)) == (False, None), why
    assert re.search(pattern, text)


@pytest.mark.parametrize(("pattern", "text", "why"), TOO_LOOSE, ids=[fault[1] for fault in TOO_LOOSE])
def test_the_validator_still_accepts_too_much(pattern, text, why):
    assert validator_says(text), why
    assert re.search(pattern, our_refusal(text) or "")


# Faults of edtf 5.0.2 in its strict bounds: (pattern of the text, an example, what it does there).
EDTF_FAULTS = [
    (
        r"-(?:[0-9]X|X[0-9])",
        "1984-1X",
        "AttributeError or ValueError where one digit of a month or day is open",
    ),
    (r"-(?:24|28|30)\b", "1982-24", "its winter (and southern summer) is December alone"),
    (r"S[0-9]", "1950S2", "its strict bounds leave significant digits out"),
    (r"^[^/]+/$|^/", "1985/", "an unknown end is put ten years away"),
    (r"^\.\./$", "../", "TypeError where one end is open and the other unknown"),
    (r"02-29", "2003-02-29", "29 February is accepted in every year"),
    (r"^[\[{][^,.]*[\]}]$", "[1984]", "it refuses a set of one date"),
]


def edtf_bounds(text: str) -> tuple[int | None, ...]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        date = edtf.parse_edtf(text)
        ends = date.lower_strict(), date.upper_strict()
    return tuple(None if isinstance(end, float) and math.isinf(end) else ordinal(*end[:3]) for end in ends)


def is_judged_by_edtf(text: str) -> bool:
    return not any(re.search(pattern, text) for pattern, *_ in EDTF_FAULTS)


def our_bounds(text: str) -> tuple[int | None, ...]:
    date = parse_edtf(text)
    return (date.earliest, date.latest)


@pytest.mark.parametrize("text", [text for text in TEXTS if is_judged_by_edtf(text)])
def test_edtf_finds_the_same_days_in_each_example(text):
    assert edtf_bounds(text) == our_bounds(text)


def test_edtf_judges_most_of_the_examples():
    assert sum(map(is_judged_by_edtf, TEXTS)) >= 70


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(judged_dates().filter(is_judged_by_edtf))
def test_edtf_finds_the_same_days_but_for_its_known_faults(text):
    assume(our_refusal(text) is None and "Y" not in text)

    assert edtf_bounds(text) == our_bounds(text)


@pytest.mark.parametrize(("pattern", "text", "why"), EDTF_FAULTS, ids=[fault[1] for fault in EDTF_FAULTS])
def test_edtf_still_has_its_fault(pattern, text, why):
    try:
        theirs = edtf_bounds(text)
    except Exception as exc:  # noqa: BLE001 - whichever error it is, it is the fault named beside it
        theirs = (type(exc).__name__,)

    assert re.search(pattern, text)
    assert our_refusal(text) or theirs != our_bounds(text), why
