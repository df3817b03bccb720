"""``tiebeam prints guess, rehearse, read`` as a person types them: what is told, and what is private."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from catalog.store.archive import Archive
from tests.builders import done, run
from tests.editions import an_edition
from tests.old_ledgers import MAPPING, a_ledger, line
from tests.store.archives import tables

MANUAL = Path(__file__).parents[2] / "docs" / "manual"
ROWS = (
    line(Title="E1", No="7/15", Pulled="May 2011", Signed="yes", Sold_to="Wilf Arkle", Sold="May 2013", Price="£450"),
    line(Title="E1", No="7/15", Sold_to="Bridie Hallow"),
    line(Title="E1", No="8/15", Sold_to="Corin Tasker", Price="450"),
    line(Title="Brome Hall", No="1/3"),
)


@pytest.fixture
def old(archive: Archive, tmp_path: Path) -> Path:
    """An old ledger with a good row, a number twice, a price without a currency, and a title nobody knows."""
    an_edition(archive)
    path = a_ledger(archive, tmp_path / "in", *ROWS).path
    path.with_suffix(".toml").write_text(MAPPING, "utf-8")
    return path


def test_a_rehearsal_tells_rows_without_naming_persons_or_prices(archive: Archive, old: Path):
    before = tables(archive)

    outcome = run(archive, "prints", "rehearse", str(old))

    assert outcome.status == 1
    assert "row 2: new: E1 7/15; pulled May 2011; signed; sold to a new person May 2013" in outcome.out
    assert "left out: row 3: E1 7/15 (P1) is there already: it is sold to N1 since May 2013." in outcome.out
    assert 'left out: row 4, "Price" names no currency. Look at it with --private.' in outcome.out
    assert "1 print would be written down, 3 left out." in outcome.out
    for name in ("Arkle", "Hallow", "Tasker", "450"):
        assert name not in outcome.out + outcome.err
    assert tables(archive) == before


def test_with_private_the_persons_and_prices_are_told(archive: Archive, old: Path):
    outcome = run(archive, "prints", "rehearse", str(old), "--private")

    assert "sold to Wilf Arkle (a new person) May 2013 for 450.00 GBP" in outcome.out
    assert "Would add person: Wilf Arkle" in outcome.out


def test_reading_is_one_deed_and_leaves_what_was_not_done_in_a_file(archive: Archive, old: Path):
    outcome = run(archive, "prints", "read", str(old))

    assert outcome.status == 1
    assert "1 print written down, 3 left out." in outcome.out
    rejects = old.with_name("prints not read.csv").read_text("utf-8-sig").splitlines()
    assert [row.partition(",")[0] for row in rejects] == ["row", "3", "4", "5"]
    assert "read prints.csv: 1 print written down, 1 person added" in done(archive, "daybook")
    assert "Nothing to add: 1 here already, 3 left out." in run(archive, "prints", "read", str(old)).out


def test_a_dry_run_changes_nothing(archive: Archive, old: Path):
    before = tables(archive)

    outcome = run(archive, "prints", "read", str(old), "--dry-run")

    assert "1 print would be written down" in outcome.out
    assert tables(archive) == before


def test_the_shape_of_json_is_told_in_the_manual_and_names_nobody(archive: Archive, old: Path):
    told = (MANUAL / "json.md").read_text("utf-8")

    plain, private = (json.loads(run(archive, "prints", "rehearse", str(old), "--json", *more).out)
                      for more in ([], ["--private"]))  # fmt: skip

    assert plain["count"] == 3
    assert "Arkle" not in json.dumps(plain)
    for name in (*private, *private["items"][0], *private["items"][0]["events"][-1]):
        assert f"`{name}`" in told, f"docs/manual/json.md does not tell of {name}"
    assert private["items"][0]["events"][-1]["price_minor"] == 45000


def test_a_print_shows_the_row_it_came_from_and_its_cells_only_when_asked(archive: Archive, old: Path):
    run(archive, "prints", "read", str(old))

    plain, private = (run(archive, "prints", "show", "P1", *more).out for more in ([], ["--private"]))

    assert "prints.csv, row 2" in plain
    assert "Arkle" not in plain
    assert "Price: £450" in private


def test_a_first_mapping_is_written_once(archive: Archive, old: Path):
    old.with_suffix(".toml").unlink()

    first = run(archive, "prints", "guess", str(old))
    second = run(archive, "prints", "guess", str(old))

    assert "'Sold to' is sold_to" in first.out
    assert (first.status, second.status) == (1, 3)
    assert "there is a mapping file already" in second.err


@pytest.mark.parametrize("words", [["read"], ["rehearse"], ["guess"]])
def test_a_file_that_is_not_there_is_said_in_a_line(archive: Archive, tmp_path: Path, words: list[str]):
    outcome = run(archive, "prints", *words, str(tmp_path / "none.csv"))

    assert outcome.status == 3
    assert len(outcome.err.splitlines()) == 1
