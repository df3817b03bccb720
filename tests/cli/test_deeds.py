"""How a deed by hand is told: a sentence, or one JSON document with the records it touched."""

from __future__ import annotations

import json
from typing import Any

import click
import pytest

from catalog.actions.scans import add_scans
from catalog.cli.main import tiebeam as program
from tests.cli.command_runs import tiebeam
from tests.editions import an_edition
from tests.scan_archives import a_scan


def deeds(command: click.Command, path: tuple[str, ...] = ()) -> dict[str, set[str]]:
    """Return every command that has ``--dry-run``, with all its options."""
    if isinstance(command, click.Group):
        ctx = click.Context(command)
        found: dict[str, set[str]] = {}
        for name in command.list_commands(ctx):
            inner = command.get_command(ctx, name)
            assert inner is not None
            found |= deeds(inner, (*path, name))
        return found
    options = {one for parameter in command.params for one in parameter.opts}
    return {" ".join(path): options} if "--dry-run" in options else {}


def test_every_deed_is_told_as_json_too():
    found = deeds(program)

    assert len(found) > 60
    assert [name for name, options in found.items() if "--json" not in options] == []


@pytest.fixture
def told(archive, capsys) -> Any:
    def run(*words: str) -> Any:
        said = tiebeam(capsys, "--archive", archive.folder, *words)
        return said.status, json.loads(said.out) if said.out else None, said.err

    return run


def test_what_was_added_is_told_by_its_reference(told):
    assert told("persons", "add", "Corin Tasker", "--json") == (
        0,
        {
            "items": [
                {
                    "did": "added Corin Tasker (N1)",
                    "dry_run": False,
                    "records": [{"reference": "N1", "change": "added"}],
                }
            ],
            "count": 1,
        },
        "",
    )


def test_a_rehearsal_says_that_it_is_one(told):
    _, document, _ = told("persons", "add", "Corin Tasker", "--json", "--dry-run")

    assert document["items"][0]["dry_run"] is True
    assert told("persons", "list", "--json")[1]["count"] == 0


def test_each_deed_of_a_command_is_an_item_and_a_refusal_keeps_those_before_it(archive, told):
    an_edition(archive)
    told("prints", "pull", "E1", "--count", "2", "--json")
    told("prints", "spoil", "P2", "--words", "scratched", "--json")

    status, document, error = told("prints", "sign", "P1", "P2", "--json")

    assert (status, [item["records"] for item in document["items"]]) == (
        3, [[{"reference": "P1", "change": "changed"}]]
    )  # fmt: skip
    assert "P2" in error


def test_a_part_is_told_by_the_record_it_is_of(told):
    told("places", "add", "Osk", "--json")

    _, document, _ = told("notes", "add", "L1", "Nothing left but the wheel.", "--json")

    assert document["items"][0]["records"] == [{"reference": "L1", "change": "changed"}]


def test_an_undo_tells_what_it_took_back(told):
    told("persons", "add", "Corin Tasker", "--json")

    rehearsed = told("undo", "--dry-run", "--json")[1]["items"][0]
    done = told("undo", "--json")[1]["items"][0]

    assert (rehearsed["dry_run"], rehearsed["undone"], rehearsed["deed"]) == (True, 1, None)
    assert (done["dry_run"], done["undone"], done["deed"]) == (False, 1, 2)
    assert rehearsed["records"] == done["records"] == [{"reference": "N1", "change": "removed"}]


def test_a_match_tells_scan_and_sheet(archive, told, tmp_path):
    told("sheets", "add", "--number", "78-14", "--json")
    a_scan(tmp_path / "scans" / "stray.tif")
    add_scans(archive, [tmp_path / "scans"])

    assert told("scans", "match", "C1", "S1", "--json") == (
        0,
        {"items": [{"reference": "C1", "sheet_reference": "S1", "matched_by": "by hand"}], "count": 1},
        "",
    )
    assert told("scans", "match", "--again", "--json")[1] == {"items": [], "count": 0, "still_waiting": 0}
