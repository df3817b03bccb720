"""Papers: what a stock must say, and how it is found."""

from __future__ import annotations

import math
import tomllib

import pytest

from catalog.errors import NotFoundError, SettingsError
from catalog.imaging.tone_scales import lightness_of_reflection_density
from catalog.rules.papers import GENERIC_PAPERS, Paper, find_paper, papers_as_toml, parse_papers

A_STOCK = {"white_l": 95.5, "black_l": 16, "source": "measured 2019"}


def test_a_paper_keeps_its_figures_and_who_measured_them():
    papers = parse_papers({"rag, heavy": A_STOCK}, "tiebeam.toml")

    assert papers == (Paper("rag, heavy", 95.5, 16.0, "measured 2019"),)


def test_the_generic_papers_come_back_from_the_table_they_are_written_as():
    text = papers_as_toml(GENERIC_PAPERS)

    assert parse_papers(tomllib.loads(text)["papers"], "tiebeam.toml") == GENERIC_PAPERS


# McNamee, swpp.co.uk, 1 April 2010, measured densities of black; CIE 15 makes them L*.
@pytest.mark.parametrize(
    ("name", "density_range"),
    [("canvas", (1.4, 1.5)), ("matt cotton", (1.6, 1.7)), ("gloss", (2.0, 2.2)), ("lustre", (2.0, 2.2)),
     ("baryta", (2.0, 2.2))],
)  # fmt: skip
def test_a_generic_black_lies_where_it_was_measured(name, density_range):
    lightest, darkest = (lightness_of_reflection_density(density) for density in density_range)

    assert darkest < find_paper(GENERIC_PAPERS, name).black_l < lightest


def test_every_generic_figure_that_nobody_measured_says_so():
    assert all("from memory" in paper.source for paper in GENERIC_PAPERS)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"white_l": 96, "black_l": 16}, "lacks source"),
        ({"white_l": 96, "source": "x"}, "lacks black_l"),
        (A_STOCK | {"white_l": 16, "black_l": 96}, "not below white_l"),
        (A_STOCK | {"white_l": 101}, "from 0 to 100"),
        (A_STOCK | {"black_l": -1}, "from 0 to 100"),
        (A_STOCK | {"white_l": "96"}, "from 0 to 100"),
        (A_STOCK | {"white_l": True}, "from 0 to 100"),
        (A_STOCK | {"black_l": math.nan}, "from 0 to 100"),
        (A_STOCK | {"source": " "}, "who measured it"),
        (A_STOCK | {"dmax": 2.1}, "knows no 'dmax'"),
        (96, "no table"),
    ],
)
def test_a_paper_that_cannot_be_is_refused_with_its_name(keys, said):
    with pytest.raises(SettingsError, match="rag") as refusal:
        parse_papers({"rag": keys}, "tiebeam.toml")

    assert said in str(refusal.value)


def test_two_spellings_of_one_name_are_refused():
    with pytest.raises(SettingsError, match="are one name"):
        parse_papers({"Rag": A_STOCK, "rag": A_STOCK}, "tiebeam.toml")


def test_papers_that_are_no_table_are_refused():
    with pytest.raises(SettingsError, match="papers are tables"):
        parse_papers(["rag"], "tiebeam.toml")


def test_a_paper_is_found_however_its_name_is_typed():
    assert find_paper(GENERIC_PAPERS, "Matt  COTTON").name == "matt cotton"


def test_an_unknown_paper_is_refused_with_those_there_are():
    with pytest.raises(NotFoundError, match="'matt cotton', 'canvas'"):
        find_paper(GENERIC_PAPERS, "vellum")


def test_an_archive_without_papers_says_so():
    with pytest.raises(NotFoundError, match="There are none"):
        find_paper((), "vellum")
