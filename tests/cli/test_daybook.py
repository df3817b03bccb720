"""``daybook`` and ``undo``."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from catalog import clock
from catalog.model import Person, Sheet
from catalog.store.archive import Archive
from catalog.store.writing import begin_file_deed, deed
from tests.cli.command_runs import tiebeam
from tests.store.archives import a_date, an_archive, fill_small, tables


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """An archive with a few deeds, and the working folder inside it."""
    monkeypatch.setenv("TZ", "UTC")
    archive = an_archive(tmp_path / "archive")
    with clock.fixed():
        fill_small(archive, with_edition=False)
        with deed(archive, "sheets correct", "dated S1") as writing:
            sheet = writing.session.get_one(Sheet, 1)
            sheet.exposed, sheet.box = a_date("1979-08?", "Aug 79?"), None
    monkeypatch.chdir(archive.folder)
    return archive


def test_the_daybook_lists_deeds_in_order(archive, capsys):
    said = tiebeam(capsys, "daybook")

    assert said.out.splitlines() == [
        "deed  when              records  what",
        "1     2026-11-25 09:30  39       cards read: read a small card index",
        "2     2026-11-25 09:30  1        sheets correct: corrected the box of S1",
        "3     2026-11-25 09:30  1        sidecars write: wrote 1 sidecar",
        "4     2026-11-25 09:30  1        sheets correct: dated S1",
    ]


def test_one_deed_is_told_record_by_record(archive, capsys):
    assert tiebeam(capsys, "daybook", "4").out.splitlines() == [
        "Deed 4, 2026-11-25 09:30: sheets correct: dated S1",
        "  S1 changed (exposed: c. 1978 → Aug 79?; box: 5 → nothing)",
    ]
    first = tiebeam(capsys, "daybook", "1").out
    assert "  number '78-14' of S1 added (text: 78-14; scheme: yearly; written on: sleeve)\n" in first
    assert "  chronicle entry of B1 added (kind: raised; date: about 1790; text: built; source: R1)\n" in first
    assert "  S1 added (exposed: c. 1978; lens: K1; box: 4; fate: exposed)\n" in first
    assert "  wrote /media/blue/78-14.xmp\n" in tiebeam(capsys, "daybook", "3").out


def test_a_records_reference_gives_its_deeds(archive, capsys):
    told = json.loads(tiebeam(capsys, "daybook", "S1", "--json").out)

    assert [item["reference"] for item in told["items"]] == ["1", "2", "4"]
    assert told["count"] == 3


def test_since_is_a_day_in_words(archive, capsys):
    assert json.loads(tiebeam(capsys, "daybook", "--since", "Nov 2026", "--json").out)["count"] == 4
    assert json.loads(tiebeam(capsys, "daybook", "--since", "2026-11-26", "--json").out)["count"] == 0
    assert tiebeam(capsys, "daybook", "--since", "2027").out == "Nothing is written in the daybook for that time.\n"
    assert tiebeam(capsys, "daybook", "--since", "before the war").status == 3
    assert tiebeam(capsys, "daybook", "--since", "Y99999").status == 0
    assert tiebeam(capsys, "daybook", "--since", "-0044").status == 0


def test_json_tells_what_was_before_and_after(archive, capsys):
    told = json.loads(tiebeam(capsys, "daybook", "4", "--json").out)["items"][0]

    assert (told["reference"], told["kind"], told["state"], told["undone_by"]) == ("4", "sheets correct", "done", None)
    (change,) = told["changes"]
    assert change["reference"] == "S1"
    assert change["before"]["exposed_words"] == "c. 1978"
    assert change["after"]["exposed_edtf"] == "1979-08?"


def test_what_was_cut_short_says_what_is_left_to_do(archive, capsys):
    begin_file_deed(archive, "scans add", "adding", left_to_do="").break_off("added 3 of 9", "Run: tiebeam scans add")

    assert "scans add: added 3 of 9 [interrupted; Run: tiebeam scans add]" in tiebeam(capsys, "daybook").out


def test_persons_stay_private_unless_asked_for(archive, capsys):
    # Design rule 7.
    with deed(archive, "persons add", "added A. Buyer, for 700 EUR") as writing:
        writing.session.add(Person(name="A. Buyer", address="1 Mill Lane", contact="0123"))

    for words in (["daybook", "5"], ["daybook", "5", "--json"], ["undo", "--dry-run"]):
        said = tiebeam(capsys, *words).out
        assert "Mill Lane" not in said
        assert "0123" not in said
        assert "Buyer" not in said
        assert "added (private), for (private)" in said
    private = tiebeam(capsys, "daybook", "5", "--private").out
    assert "Mill Lane" in private
    assert "added A. Buyer, for 700 EUR" in private


def test_undo_says_what_it_takes_back(archive, capsys):
    would = tiebeam(capsys, "undo", "--dry-run")
    done = tiebeam(capsys, "undo")

    change = "  S1 changed (exposed: Aug 79? → c. 1978; box: nothing → 5)"
    assert would.out.splitlines() == ["Would undo deed 4, 2026-11-25 09:30 (sheets correct): dated S1", change]
    assert done.out.splitlines() == [
        "Undone: deed 4, 2026-11-25 09:30 (sheets correct): dated S1",
        change,
        "This is deed 5. To do it again: tiebeam undo 5",
    ]
    assert "[undone by deed 5]" in tiebeam(capsys, "daybook").out


def test_undo_of_an_undo_says_how_to_take_it_back(archive, capsys):
    tiebeam(capsys, "undo")

    said = tiebeam(capsys, "undo", "5")

    assert said.out.endswith("This is deed 6. To take it back: tiebeam undo 6\n")
    assert "undo: did deed 4 (sheets correct) again: dated S1" in tiebeam(capsys, "daybook").out


def test_a_deed_in_the_way_is_named_in_one_line_with_status_3(archive, capsys):
    before = tables(archive)

    said = tiebeam(capsys, "undo", "2")

    assert (said.status, said.out) == (3, "")
    assert said.err == (
        "tiebeam: Deed 2 (sheets correct) cannot be undone: deed 4 (sheets correct) changed S1 since; "
        "undo that first. Nothing was changed.\n"
    )
    assert tables(archive) == before


def test_a_deed_of_many_records_is_told_in_part(archive, capsys):
    with deed(archive, "cards read", "read 40 cards") as writing:
        writing.session.add_all([Sheet(box=str(n)) for n in range(40)])

    said = tiebeam(capsys, "undo").out

    assert said.count("\n") == 13
    assert "  ... and 30 more; see: tiebeam daybook 6\n" in said


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (["daybook", "77"], 3),
        (["daybook", "church"], 3),
        (["daybook", "S99"], 0),
        (["daybook", "9" * 30], 3),
        (["undo", "77"], 3),
        (["undo", "9" * 30], 3),
        (["undo", "0"], 2),
        (["undo", "x"], 2),
    ],
)
def test_numbers_and_references_that_are_not_there(archive, capsys, words, status):
    said = tiebeam(capsys, *words)

    assert said.status == status
    assert "Traceback" not in said.err
