"""Which film is scanned first: what its base, its age and its condition say of its risk."""

from __future__ import annotations

from datetime import date

import pytest

from catalog.rules.film_risk import NITRATE_UNTIL, Film, Risk, film_risk, is_decaying

YEAR_1938, YEAR_1978 = date(1938, 6, 1).toordinal(), date(1978, 6, 1).toordinal()


def test_nitrate_comes_before_acetate_that_smells_of_vinegar_and_that_before_the_rest():
    films = [
        Film("polyester"), Film("acetate"), Film("acetate", condition="smells of vinegar"), Film("nitrate"),
        Film(None), Film("glass"), Film("nitrate", condition="sticky"), Film(None, earliest_day=YEAR_1938),
        Film("polyester", tones="transparency"),
    ]  # fmt: skip

    assert [risk.name for risk in sorted(map(film_risk, films))] == [
        "NITRATE_DECAYING", "NITRATE", "PERHAPS_NITRATE", "ACETATE_DECAYING", "ACETATE", "DYES", "UNKNOWN", "GLASS",
        "LASTING",
    ]  # fmt: skip


def test_film_of_no_known_base_may_be_nitrate_only_if_it_may_be_that_old():
    assert film_risk(Film(None, earliest_day=NITRATE_UNTIL)) is Risk.PERHAPS_NITRATE
    assert film_risk(Film(None, earliest_day=NITRATE_UNTIL + 1)) is Risk.UNKNOWN
    assert film_risk(Film(None)) is Risk.UNKNOWN
    assert film_risk(Film("acetate", earliest_day=YEAR_1938)) is Risk.ACETATE


def test_a_plate_is_glass_though_nobody_wrote_its_base():
    assert film_risk(Film(None, medium="glass plate", earliest_day=YEAR_1938)) is Risk.GLASS
    assert film_risk(Film(None, medium="lantern slide")) is Risk.GLASS


def test_vinegar_tells_of_acetate_where_the_base_is_not_known():
    assert film_risk(Film(None, condition="vinegar", earliest_day=YEAR_1978)) is Risk.ACETATE_DECAYING
    assert film_risk(Film("polyester", condition="mould at one corner")) is Risk.DECAYING


@pytest.mark.parametrize(
    "condition",
    ["Smells of VINEGAR", "buckled", "shrunk at the edges", "channelling", "sticky; no scratches", "mold",
     "not bad, but vinegar", "silvering in the shadows", "emulsion flaking"],
)  # fmt: skip
def test_words_that_tell_of_decay(condition):
    assert is_decaying(condition)


@pytest.mark.parametrize(
    "condition",
    [None, "", "good", "no vinegar", "without any smell of vinegar", "scratched", "dust; no mould, not brittle",
     "rotated in its sleeve"],
)  # fmt: skip
def test_words_that_tell_of_none(condition):
    assert not is_decaying(condition)


# Image Permanence Institute, User's Guide for A-D Strips (2001), p. 1: at level 1.5 rapid decay starts.
@pytest.mark.parametrize(("written", "decays"), [("A-D strip 0", False), ("A-D 1", False), ("A-D strip: 1.5", True),
                                                 ("ad level 2", True), ("A–D strip 3", True)])  # fmt: skip
def test_a_strip_tells_of_decay_from_its_level_of_one_and_a_half_on(written, decays):
    assert is_decaying(written) is decays


def test_every_risk_has_its_words():
    assert len({risk.words for risk in Risk}) == len(Risk)
