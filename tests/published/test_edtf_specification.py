"""Every example that the EDTF specification prints, under its heading, and what is not EDTF."""

from __future__ import annotations

import pytest

from catalog.dates import format_edtf, iso_day, parse_edtf
from catalog.errors import EdtfError
from tests.published.edtf_examples import EXAMPLES, MUST_REJECT


@pytest.mark.parametrize(
    ("text", "first", "last", "doubt"),
    [pytest.param(*example[1:], id=f"{example[0]}: {example[1]}") for example in EXAMPLES],
)
def test_an_example_of_the_specification_means_the_days_it_says(text, first, last, doubt):
    date = parse_edtf(text)

    assert (iso_day(date.earliest), iso_day(date.latest), date.doubt) == (first, last, doubt)
    assert format_edtf(date) == text


def test_every_heading_of_the_three_levels_has_an_example():
    levels = [clause[:2] for clause, *_ in EXAMPLES]

    assert {level: levels.count(level) for level in ("L0", "L1", "L2")} == {"L0": 13, "L1": 34, "L2": 43}


@pytest.mark.parametrize("text", MUST_REJECT)
def test_what_the_specification_has_not_is_refused_with_a_reason(text):
    with pytest.raises(EdtfError) as refusal:
        parse_edtf(text)

    assert refusal.value.text == text
    assert refusal.value.reason
    assert "\n" not in refusal.value.reason


# EDTF 2019-02-04, Level 2, "Significant digits": the explanations beside the three examples.
@pytest.mark.parametrize(
    ("text", "estimate"),
    [("1950S2", 1950), ("Y171010000S3", 171_010_000), ("Y3388E2S3", 338_800), ("1950", None)],
)
def test_significant_digits_keep_the_estimate(text, estimate):
    assert parse_edtf(text).estimate == estimate
