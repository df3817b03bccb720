"""What a resale may owe is told by the published bands, for information only."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.cli.command_runs import Said, tiebeam
from tests.store.archives import an_archive


@pytest.fixture
def told(tmp_path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Said]:
    """Ask in an archive, as the person does."""
    archive = an_archive(tmp_path / "wenn")
    return lambda *words: tiebeam(capsys, "prints", "resale-right", *words, "--archive", archive.folder)


# DACS, questions and answers on the Artist's Resale Right: 60,000 gives 2,300 and 2,000,000 the cap of 12,500
# (the second also from "reached at 2 million").
@pytest.mark.parametrize(("price", "amount"), [("60000 GBP", "2,300.00 GBP"), ("2000000 EUR", "12,500.00 EUR")])
def test_the_amount_is_told_with_its_bands_and_that_it_is_no_advice(told, price: str, amount: str):
    said = told(price)

    assert said.status == 0
    assert f"gives {amount}" in said.out
    assert "50,000.00" in said.out
    assert "no legal advice" in said.out


def test_a_state_may_have_a_lower_threshold_than_three_thousand(told):
    assert "--threshold" in told("1000 EUR").out
    assert "gives 40.00 EUR" in told("1000 EUR", "--threshold", "1000 EUR").out


def test_what_the_dates_cannot_settle_is_left_open(told):
    said = json.loads(told("9000 GBP", "--sold", "2026", "--bought", "2023", "--json").out)

    assert said["is_owed"] is None
    assert said["amount_minor"] == 360_00


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["5 USD"], "Bands are known in EUR and GBP"),
        (["5000 EUR", "--threshold", "1000 GBP"], "The threshold is in GBP, the price in EUR"),
        (["5000 GBP", "--sold", "2020"], "may be older than 1 April 2024"),
    ],
)
def test_what_cannot_be_reckoned_is_said_in_a_line(told, words: list[str], says: str):
    said = told(*words)

    assert said.status == 3
    assert says in said.err
    assert "Traceback" not in said.err
