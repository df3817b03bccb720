"""Editions: how sizes count is said, limits are planned, laws and offers warn."""

import pytest

from catalog.errors import RefusedError
from catalog.rules.editions import (
    ACROSS,
    EACH,
    PriceStep,
    SizePlan,
    art_limit_warning,
    check_pulling,
    check_step,
    offer_warning,
    plan_runs,
    price_now,
)
from catalog.rules.money import Money

SIZES = [SizePlan("small"), SizePlan("middle"), SizePlan("large")]


# Case J04: "50" across three sizes, or 50 of each? It must be said when the edition opens.
def test_how_sizes_count_must_be_said():
    with pytest.raises(RefusedError, match="Say how sizes count"):
        plan_runs(SIZES, limit=50, sizes_count=None)


def test_one_run_across_sizes_has_one_limit_and_a_run_each_has_three():
    across = plan_runs(SIZES, limit=50, sizes_count=ACROSS, proofs=[("AP", 2)])
    each = plan_runs(SIZES, limit=50, sizes_count=EACH, proofs=[("AP", 2)])

    assert [(len(run.sizes), run.limit, run.proofs) for run in across] == [(3, 50, (("AP", 2),))]
    assert [(len(run.sizes), run.limit) for run in each] == [(1, 50), (1, 50), (1, 50)]


def test_an_edition_that_promises_nothing_or_a_size_twice_is_refused():
    for sizes, limit in ((SIZES, 0), ([], 5), ([SizePlan("A"), SizePlan("a")], 5)):
        with pytest.raises(RefusedError):
            plan_runs(sizes, limit=limit, sizes_count=ACROSS)
    with pytest.raises(RefusedError, match="no kind of proof"):
        plan_runs(SIZES, limit=5, sizes_count=ACROSS, proofs=[("XP", 1)])


# Directive 2006/112/EC Annex IX A(7), C-145/18: 30 copies, all sizes and mounts together (check_values.md section 6).
def test_the_limit_of_thirty_counts_all_sizes_of_a_view():
    assert art_limit_warning([15, 15], 0) is None
    assert "31 copies" in (art_limit_warning([15, 15], 1) or "")
    assert "open edition" in (art_limit_warning([15, None], 0) or "")


def test_an_edition_closed_or_withdrawn_stays_so():
    check_step("open", "held", "E1")
    check_step("held", "open", "E1")
    for state in ("closed", "withdrawn"):
        with pytest.raises(RefusedError, match="for good"):
            check_step(state, "open", "E1")
    with pytest.raises(RefusedError, match="is planned and cannot become closed"):
        check_step("planned", "closed", "E1")


def test_prints_are_pulled_only_while_an_edition_is_open():
    check_pulling("open", "E1")
    for state in ("planned", "held", "closed", "withdrawn"):
        with pytest.raises(RefusedError, match=f"E1 is {state}"):
            check_pulling(state, "E1")


def test_the_price_rises_as_the_run_sells():
    steps = [PriceStep(5, Money(80000, "EUR")), PriceStep(0, Money(60000, "EUR"))]

    assert [price_now(steps, sold) for sold in (0, 4, 5, 12)] == [
        Money(60000, "EUR"), Money(60000, "EUR"), Money(80000, "EUR"), Money(80000, "EUR"),
    ]  # fmt: skip
    assert price_now([], 3) is None


def test_an_offer_below_the_last_sale_warns():
    last = Money(80000, "EUR")

    assert offer_warning(Money(79999, "EUR"), last, "E1 8/15") is not None
    assert offer_warning(Money(80000, "EUR"), last, "E1 8/15") is None
    assert offer_warning(Money(1, "GBP"), last, "E1 8/15") is None
