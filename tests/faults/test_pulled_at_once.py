"""Eight processes pull 2,000 prints at once: no number twice, none skipped without a reason, nobody hears of a lock."""

from __future__ import annotations

import multiprocessing
import random
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from catalog.actions.prints import pull_prints
from catalog.errors import CatalogError, LedgerError, RefusedError
from catalog.rules.editions import EACH, SizePlan
from catalog.store.archive import Archive, open_archive
from catalog.store.check import check_archive
from tests.builders import a_mill, a_sheet, rows
from tests.editions import an_edition

PROCESSES, PRINTS_EACH = 8, 250
BOTH = f"{PROCESSES} processes, {PROCESSES * PRINTS_EACH} prints"


@dataclass(frozen=True)
class Told:
    """What one process reports of one wish: the run, what was asked for, and what it got or why it got nothing."""

    run_id: int
    series: str
    asked: int | None
    got: tuple[tuple[int, str], ...]
    refused: str | None = None
    is_a_rule: bool = True


def _pull_as_others_do(folder: str, runs: list[int], seed: int, begin: Any, told: Any) -> None:
    """Pull as a person with a window of their own: each deed opens the catalogue anew; some numbers are named."""
    archive, chance, wishes, made = open_archive(Path(folder)), random.Random(seed), [], 0
    begin.wait()
    while made < PRINTS_EACH:
        run_id = chance.choice(runs)
        series = "AP" if chance.random() < 0.05 else "numbered"
        asked = chance.randint(1, 400) if series == "numbered" and chance.random() < 0.1 else None
        count = 1 if asked is not None else min(chance.choice((1, 1, 1, 3)), PRINTS_EACH - made)
        try:
            pulled = pull_prints(archive, run_id, series=series, ordinal=asked, count=count)
            got = tuple(zip(pulled.print_ids, pulled.written, strict=True))
            wishes.append(Told(run_id, series, asked, got))
            made += len(got)
        except CatalogError as refusal:
            is_a_rule = type(refusal) in (LedgerError, RefusedError)
            wishes.append(Told(run_id, series, asked, (), str(refusal), is_a_rule))
    told.put(wishes)


def _at_once(archive: Archive, runs: list[int]) -> list[Told]:
    context = multiprocessing.get_context("spawn")
    told, begin = context.Queue(), context.Barrier(PROCESSES)
    pullers = [
        context.Process(target=_pull_as_others_do, args=(str(archive.folder), runs, seed, begin, told))
        for seed in range(PROCESSES)
    ]
    for each in pullers:
        each.start()
    wishes = [wish for _ in pullers for wish in told.get(timeout=500)]
    for each in pullers:
        each.join()
    assert [each.exitcode for each in pullers] == [0] * PROCESSES
    return wishes


def _some_runs(archive: Archive) -> list[int]:
    """Open an edition without limit, one of 400, and one of two sizes with a run of 150 each."""
    views = []
    for number, building in (("78-14", "Osk Mill"), ("78-15", "Brome Hall"), ("78-16", "Ferry House")):
        sheet_id = a_sheet(archive, number, shows=a_mill(archive, building))
        views.append((rows(archive, "SELECT view_id FROM sheet_view WHERE sheet_id = ?", sheet_id)[0], sheet_id))
    an_edition(archive, limit=None, view=views[0], proofs=[("AP", 40)])
    an_edition(archive, limit=400, view=views[1])
    an_edition(archive, limit=150, view=views[2], sizes=[SizePlan("small"), SizePlan("large")], sizes_count=EACH)
    return rows(archive, "SELECT id FROM run ORDER BY id")


@pytest.mark.slow
def test_eight_processes_pull_two_thousand_prints_at_once(archive: Archive) -> None:
    runs = _some_runs(archive)

    wishes = _at_once(archive, runs)

    given = [(wish.run_id, wish.series, written) for wish in wishes for _, written in wish.got]
    kept = rows(archive, "SELECT run_id, series, written FROM print_number")
    assert len(given) == PROCESSES * PRINTS_EACH
    assert len(set(given)) == len(given)
    assert sorted(given) == sorted(kept)
    assert rows(archive, "SELECT count(*) FROM ledger_entry WHERE kind = 'pulled'") == [len(given)]
    _each_refusal_has_its_reason(archive, wishes)
    _none_was_skipped(archive, wishes)
    assert check_archive(archive) == []


def _each_refusal_has_its_reason(archive: Archive, wishes: list[Told]) -> None:
    """Every wish that got nothing was against what was promised: a run that is full, or a number somebody has."""
    limits: dict[int, int | None] = dict(rows(archive, "SELECT id, limit_count FROM run"))
    proofs: dict[int, int] = dict(rows(archive, "SELECT run_id, allowed FROM proof_allowance WHERE kind = 'AP'"))
    for wish in (wish for wish in wishes if wish.refused is not None):
        most = proofs[wish.run_id] if wish.series == "AP" else limits[wish.run_id]
        held = _ordinals(archive, wish.run_id, wish.series)
        assert wish.is_a_rule, wish
        if wish.asked is None:
            assert most is not None, wish
            assert len(held) + 3 > most, wish  # three were asked for at once at most
        elif most is not None and wish.asked > most:
            assert f"limited to {most}" in (wish.refused or "")
        else:
            assert wish.asked in held, wish
            assert "is there already" in (wish.refused or "")


def _none_was_skipped(archive: Archive, wishes: list[Told]) -> None:
    """Below the highest number that was given in turn none is free; above are only numbers that were named."""
    in_turn = {print_id for wish in wishes if wish.asked is None for print_id, _ in wish.got}
    for run_id in {wish.run_id for wish in wishes}:
        found = rows(
            archive,
            "SELECT n.ordinal, p.id FROM print_number n JOIN print p ON p.print_number_id = n.id"
            " WHERE n.run_id = ? AND n.series = 'numbered'",
            run_id,
        )
        highest = max(ordinal for ordinal, print_id in found if print_id in in_turn)
        assert {ordinal for ordinal, _ in found} >= set(range(1, highest + 1))
        assert _ordinals(archive, run_id, "AP") == set(range(1, len(_ordinals(archive, run_id, "AP")) + 1))


def _ordinals(archive: Archive, run_id: int, series: str) -> set[int]:
    return set(rows(archive, "SELECT ordinal FROM print_number WHERE run_id = ? AND series = ?", run_id, series))
