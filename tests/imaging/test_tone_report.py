"""Tones told on the scale of a paper."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.imaging.tone_report import (
    ZONES,
    ToneCount,
    print_lightness,
    report_tones,
)
from catalog.imaging.tone_scales import lightness_of_luminance, luminance_of_lightness

MATT = {"white_l": 96.0, "black_l": 16.7}


def picture_lightness(print_l: float, *, white_l: float, black_l: float) -> float:
    """Return the picture L* that becomes ``print_l`` on a paper (CIE 15: both ways through the luminance)."""
    black, white = luminance_of_lightness(black_l), luminance_of_lightness(white_l)
    return float(lightness_of_luminance((luminance_of_lightness(print_l) - black) / (white - black)))


def a_count(tones: dict[float, int], **facts: int) -> ToneCount:
    """Pixels by their picture L*."""
    ends = {"at_black": 0, "at_white": 0, "at_lowest": 0, "at_highest": 0} | facts
    lightness = sorted(tones)
    return ToneCount(np.array(lightness), np.array([tones[one] for one in lightness]), **ends)


def test_black_and_white_become_the_papers_own():
    assert print_lightness(0.0, **MATT) == pytest.approx(16.7)
    assert print_lightness(100.0, **MATT) == pytest.approx(96.0)


def test_without_a_paper_print_and_picture_are_one():
    assert print_lightness(37.5, white_l=100, black_l=0) == pytest.approx(37.5)


# Black point compensation is linear in luminance (ISO 18619:2015, from memory): half the light lies half-way.
def test_light_is_shared_out_in_proportion():
    half = 76.0693  # CIE 15: Y 50 %
    black, white = 2.2590, 90.0078  # CIE 15: Y of L* 16.7 (by the formula) and of L* 96

    found = print_lightness(half, **MATT)

    assert found == pytest.approx(116 * ((black + white) / 200) ** (1 / 3) - 16, abs=0.01)


@given(st.floats(0, 100), st.floats(0, 40), st.floats(60, 100))
def test_what_a_paper_makes_of_a_tone_can_be_taken_back(picture_l, black_l, white_l):
    print_l = print_lightness(picture_l, white_l=white_l, black_l=black_l)

    assert black_l - 1e-6 <= print_l <= white_l + 1e-6
    assert picture_lightness(print_l, white_l=white_l, black_l=black_l) == pytest.approx(picture_l, abs=1e-6)


def test_zone_v_holds_eighteen_per_cent_grey():
    report = report_tones(a_count({49.4961: 10}))  # CIE 15: Y 18 %

    assert [zone.name for zone in report.zones if zone.share] == ["V"]


def test_each_zone_begins_at_its_lower_end():
    report = report_tones(a_count({0.0: 1, 5.0: 2, 94.99: 4, 95.0: 8, 100.0: 16}))

    shares = {zone.name: zone.share * 31 for zone in report.zones if zone.share}
    assert shares == pytest.approx({"0": 1, "I": 2, "IX": 4, "X": 24})


def test_the_zones_are_named_from_black_to_white():
    report = report_tones(a_count({50.0: 1}), **MATT)

    assert tuple(zone.name for zone in report.zones) == ZONES
    assert (report.zones[0].from_l, report.zones[-1].to_l) == (16.7, 96.0)


@given(
    st.dictionaries(st.floats(0, 100), st.integers(0, 1000), min_size=1).filter(lambda tones: sum(tones.values())),
    st.floats(0, 40),
    st.floats(60, 100),
)
def test_every_pixel_is_told_once_on_each_scale(tones, black_l, white_l):
    report = report_tones(a_count(tones), white_l=white_l, black_l=black_l)

    for scale in (report.zones, report.strokes, report.print_steps):
        assert sum(one.share for one in scale) == pytest.approx(1)
        assert sum(one.levels for one in scale) == sum(count > 0 for count in tones.values())
        assert all(a.to_l == b.from_l for a, b in pairwise(scale))


def test_the_whites_lie_between_90_and_bare_paper():
    whites = {print_l: picture_lightness(print_l, **MATT) for print_l in (89.0, 90.5, 93.2, 95.9)}

    report = report_tones(a_count({whites[89.0]: 50, whites[90.5]: 30, whites[93.2]: 15, whites[95.9]: 5}), **MATT)

    assert report.whites_share == pytest.approx(0.5)
    assert [step.name for step in report.whites] == ["90-91", "91-92", "92-93", "93-94", "94-95", "95-96"]
    assert [step.share for step in report.whites] == pytest.approx([0.3, 0, 0, 0.15, 0, 0.05])
    assert report.whites_middle_l == pytest.approx((90.5, 93.2))


def test_a_paper_no_lighter_than_90_has_no_whites():
    report = report_tones(a_count({100.0: 1}), white_l=90, black_l=10)

    assert (report.whites, report.whites_share, report.whites_middle_l) == ((), 0, None)


def test_the_darkest_tenth_of_flat_shadows_spreads_over_nothing():
    report = report_tones(a_count({3.0: 20, 60.0: 80}))

    assert report.dark_tenth_l == 0
    assert report.shadows_share == pytest.approx(0.2)


def test_separated_shadows_spread():
    report = report_tones(a_count({float(tone): 1 for tone in range(100)}))

    assert report.dark_tenth_l == pytest.approx(9)
    assert report.light_tenth_l == pytest.approx(9)
    assert dict(report.percentiles)[50] == pytest.approx(49)


def test_what_is_clipped_is_told_as_shares_of_the_picture():
    report = report_tones(a_count({0.0: 6, 100.0: 4}, at_black=6, at_white=4, at_lowest=1, at_highest=2))

    assert (report.at_black, report.at_white, report.at_lowest, report.at_highest) == (0.6, 0.4, 0.1, 0.2)


def test_a_count_of_nothing_is_refused():
    with pytest.raises(ValueError, match="no pixels"):
        report_tones(a_count({50.0: 0}))


@pytest.mark.parametrize(("white_l", "black_l"), [(50, 50), (10, 90), (101, 0), (90, -1)])
def test_a_paper_that_cannot_be_is_refused(white_l, black_l):
    with pytest.raises(ValueError, match="no paper"):
        report_tones(a_count({50.0: 1}), white_l=white_l, black_l=black_l)
