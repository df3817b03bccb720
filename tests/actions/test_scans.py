"""Registering scans as deeds: what a deed changes, what an interruption leaves, what undo takes back."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.scan_files import correct_scan, locate_scan, remove_scan
from catalog.actions.scan_matches import match_again, match_scan_to_sheet, unmatch_scan
from catalog.actions.scans import add_scans
from catalog.actions.verify_scans import verify_scans
from catalog.errors import RefusedError
from catalog.model import Sheet, SheetNumber
from catalog.rules.folding import fold
from catalog.store.writing import deed
from tests.scan_archives import a_scan, a_sheet, an_archive, as_it_is, rows, tiebeam

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture
def archive(tmp_path):
    return an_archive(tmp_path / "archive")


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "scans").mkdir()
    return tmp_path / "scans"


def parts(archive):
    return rows(archive, "SELECT scan_id, sheet_id, matched_by, matched_text FROM scan_part ORDER BY scan_id")


def deeds(archive, kind):
    return rows(archive, "SELECT state, words FROM deed WHERE kind = ? ORDER BY id", kind)


def test_registering_is_one_daybook_entry(archive, folder):
    sheet = a_sheet(archive, "82-07")
    a_scan(folder / "82-07.tif", 1)
    a_scan(folder / "stray.tif", 2)

    add_scans(archive, [folder])

    assert [state for state, _ in deeds(archive, "scans add")] == ["done"]
    assert parts(archive) == [(1, sheet, "name", "82-07")]


def test_a_second_run_reads_nothing_and_leaves_no_entry(archive, folder, monkeypatch):
    a_scan(folder / "1.tif")
    add_scans(archive, [folder])
    monkeypatch.setattr("catalog.intake.scan_reading.read_scan_file", lambda path: pytest.fail(f"read {path}"))

    again = add_scans(archive, [folder])

    assert (again.unchanged, again.outcomes) == (1, ())
    assert len(deeds(archive, "scans add")) == 1


def test_a_rehearsal_decides_alike_and_writes_nothing(archive, folder, tmp_path):
    a_sheet(archive, "82-07")
    a_scan(folder / "82-07.tif", 1)
    a_scan(folder / "copy.tif", 1)
    before = as_it_is(tmp_path)

    rehearsed = add_scans(archive, [folder], dry_run=True)
    untouched = as_it_is(tmp_path) == before
    done = add_scans(archive, [folder])

    assert untouched
    assert [(o.standing, o.sheet_id) for o in rehearsed.outcomes] == [(o.standing, o.sheet_id) for o in done.outcomes]
    assert [o.standing for o in done.outcomes] == ["new", "copied"]


def test_a_file_the_catalogue_refuses_does_not_stop_its_neighbours(archive, folder):
    for number in range(3):
        a_scan(folder / f"{number}.tif", number)
    connection = sqlite3.connect(archive.catalogue)
    connection.execute(
        "CREATE TRIGGER refuse BEFORE INSERT ON file WHEN NEW.path LIKE '%1.tif'"
        " BEGIN SELECT RAISE(ABORT, 'not this one'); END"
    )
    connection.close()

    added = add_scans(archive, [folder])

    assert [outcome.standing for outcome in added.outcomes] == ["new", "refused", "new"]
    assert len(rows(archive, "SELECT id FROM file")) == 2


def test_a_file_that_cannot_be_read_does_not_stop_its_neighbours(archive, folder):
    a_scan(folder / "1.tif", 1)
    (folder / "2.tif").write_text("a letter, not a picture", "utf-8")
    a_scan(folder / "3.tif", 3)

    added = add_scans(archive, [folder])

    assert [outcome.standing for outcome in added.outcomes] == ["new", "not read", "new"]
    assert added.has_findings


def test_a_number_given_later_is_found_when_scans_are_added_again(archive, folder):
    a_scan(folder / "82-07.tif")
    add_scans(archive, [folder])
    sheet = a_sheet(archive, "82-07")

    again = add_scans(archive, [folder])

    assert again.matched_again == 1
    assert parts(archive) == [(1, sheet, "name", "82-07")]


def test_match_again_settles_what_waited(archive, folder):
    a_scan(folder / "82-07.tif", 1)
    a_scan(folder / "stray.tif", 2)
    add_scans(archive, [folder])
    sheet = a_sheet(archive, "82-07")

    rehearsed = match_again(archive, dry_run=True)
    nothing = parts(archive)
    result = match_again(archive)

    assert nothing == []
    assert rehearsed == result
    assert (result.matched, result.still_waiting) == (((1, sheet, "82-07"),), 1)
    assert match_again(archive).matched == ()


def test_what_a_person_took_apart_is_not_put_together_by_its_name(archive, folder):
    a_sheet(archive, "82-07")
    a_scan(folder / "82-07.tif")
    add_scans(archive, [folder])

    unmatch_scan(archive, 1)

    assert match_again(archive).matched == ()
    assert add_scans(archive, [folder]).matched_again == 0
    assert parts(archive) == []


def test_a_scan_may_show_two_sheets_and_each_once(archive, folder):
    one, other = a_sheet(archive, "82-07"), a_sheet(archive, "82-08")
    a_scan(folder / "strip.tif")
    add_scans(archive, [folder])

    match_scan_to_sheet(archive, 1, one, region="left half")
    match_scan_to_sheet(archive, 1, other, region="right half")
    with pytest.raises(RefusedError, match="of S1 already"):
        match_scan_to_sheet(archive, 1, one)

    assert rows(archive, "SELECT sheet_id, region FROM scan_part ORDER BY id") == [
        (one, "left half"),
        (other, "right half"),
    ]


def test_ppi_is_worked_out_when_a_scan_is_of_one_whole_sheet(archive, folder):
    sheet = a_sheet(archive, "82-07", film_format="4x5")
    other = a_sheet(archive, "82-08", film_format="4x5")
    a_scan(folder / "stray.tif", width=400, height=500, bits=8)
    add_scans(archive, [folder])
    seen = [rows(archive, "SELECT worked_out_ppi FROM scan")[0][0]]

    for step in (
        lambda: match_scan_to_sheet(archive, 1, sheet),
        lambda: match_scan_to_sheet(archive, 1, other),
        lambda: unmatch_scan(archive, 1, other),
    ):
        step()
        seen.append(rows(archive, "SELECT worked_out_ppi FROM scan")[0][0])

    assert seen == [None, 100.0, None, 100.0]


def test_a_pattern_in_the_settings_decides(tmp_path, folder):
    archive = an_archive(tmp_path / "own", settings="number_pattern = '_n(?P<number>\\d+-\\d+)'")
    a_sheet(archive, "78-14")
    sheet = a_sheet(archive, "82-07")
    a_scan(folder / "78-14_n82-07.tif")

    add_scans(archive, [folder])

    assert parts(archive) == [(1, sheet, "name", "82-07")]


def test_a_number_two_sheets_carry_waits_with_both(archive, folder, capsys):
    a_sheet(archive, "78-14", scheme="year")
    a_sheet(archive, "78-14", scheme="box")
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])

    assert tiebeam(archive, "scans", "unmatched") == 0

    out = capsys.readouterr().out
    assert "S1, S2" in out
    assert "2 sheets have the number 78-14" in out


def test_undo_takes_back_what_was_registered(archive, folder, capsys):
    a_sheet(archive, "82-07")
    a_scan(folder / "82-07.tif", 1)
    a_scan(folder / "b.tif", 2)
    add_scans(archive, [folder])

    assert tiebeam(archive, "undo") == 0, capsys.readouterr()

    assert rows(archive, "SELECT (SELECT count(*) FROM scan), (SELECT count(*) FROM file)") == [(0, 0)]
    assert len(add_scans(archive, [folder]).outcomes) == 2


def test_a_known_scan_date_survives_a_caption_edited_elsewhere(archive, folder):
    path = a_scan(folder / "1.tif", entries=((306, 2, b"2010:01:05 09:08:07\0"),))
    add_scans(archive, [folder])

    a_scan(path, caption="x", entries=((306, 2, b"2024:02:02 02:02:02\0"),))
    verify_scans(archive)

    assert rows(archive, "SELECT scanned_edtf, description FROM scan") == [("2010-01-05", "x")]


def test_a_person_says_what_a_header_cannot(archive, folder):
    a_scan(folder / "1.tif")
    add_scans(archive, [folder])

    correct_scan(archive, 1, polarity="negative", is_reversed=True)
    with pytest.raises(RefusedError, match="says so already, or nothing to correct was given"):
        correct_scan(archive, 1)
    with pytest.raises(RefusedError, match="scan: polarity 'sideways' is none of: negative, positive"):
        correct_scan(archive, 1, polarity="sideways")

    assert rows(archive, "SELECT polarity, is_reversed FROM scan") == [("negative", 1)]
    ((words,),) = rows(archive, "SELECT words FROM deed ORDER BY id DESC LIMIT 1")
    assert words.endswith("/1.tif (C1): polarity negative (was nothing), reversed yes (was nothing)")


def test_what_a_person_said_of_a_scan_is_taken_away_again(archive, folder):
    a_scan(folder / "1.tif")
    add_scans(archive, [folder])
    correct_scan(archive, 1, polarity="negative", is_reversed=False)

    correct_scan(archive, 1, polarity=None, is_reversed=None)
    undo_deed(archive)

    assert rows(archive, "SELECT polarity, is_reversed FROM scan") == [("negative", 0)]


def test_a_scan_is_not_located_at_another_picture(archive, folder):
    a_scan(folder / "1.tif", 1)
    add_scans(archive, [folder])
    a_scan(folder / "2.tif", 2)

    with pytest.raises(RefusedError, match="another picture"):
        locate_scan(archive, 1, folder / "2.tif")


def test_a_scan_taken_out_leaves_its_file(archive, folder):
    path = a_scan(folder / "1.tif")
    add_scans(archive, [folder])

    remove_scan(archive, 1)

    assert path.is_file()
    assert rows(archive, "SELECT (SELECT count(*) FROM scan), (SELECT count(*) FROM file)") == [(0, 0)]
    assert [outcome.scan_id for outcome in add_scans(archive, [folder]).outcomes] == [2]  # no reference twice


def test_a_copy_left_alone_becomes_the_scan(archive, folder):
    a_scan(folder / "1.tif", 1)
    a_scan(folder / "2.tif", 1)
    add_scans(archive, [folder])
    remove_scan(archive, 1)
    (folder / "1.tif").unlink()

    added = add_scans(archive, [folder])

    assert [(outcome.standing, outcome.scan_id) for outcome in added.outcomes] == [("new", 2)]


def test_an_added_number_reaches_the_index_folded(archive, folder):
    sheet = a_sheet(archive, "82-07")
    with deed(archive, "sheets correct", "another number") as writing:
        writing.session.add(SheetNumber(sheet_id=sheet, text="Kasten 4/9", folded=fold("Kasten 4/9")))
    a_scan(folder / "KASTEN_04-009.tif")

    add_scans(archive, [folder])

    assert parts(archive) == [(1, sheet, "name", "KASTEN_04-009")]


# -- interruptions ---------------------------------------------------------------------------------

_ADD = "import sys; from catalog.cli.main import run; run(sys.argv[1:])"


def _started(archive, folder):
    return subprocess.Popen(
        [sys.executable, "-c", _ADD, "--archive", str(archive.folder), "scans", "add", str(folder)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def _count(archive):
    return rows(archive, "SELECT count(*) FROM file")[0][0]


def _check_whole(archive):
    assert rows(archive, "PRAGMA integrity_check") == [("ok",)]
    # All of each transaction or none: no file without its scan, since no two of the files are alike.
    assert rows(archive, "SELECT count(*) FROM file WHERE id NOT IN (SELECT file_id FROM scan)") == [(0,)]
    assert rows(archive, "SELECT count(*) FROM scan WHERE id NOT IN (SELECT scan_id FROM scan_part)") == [(0,)]


def _many(archive, folder, count):
    with deed(archive, "sheets add", "many sheets") as writing:
        for number in range(count):
            sheet = Sheet(numbers=[SheetNumber(text=f"80-{number}", folded=f"80-{number}")])
            writing.session.add(sheet)
            a_scan(folder / f"80-{number}.tif", number)


def _wait_for(archive, count, process):
    while _count(archive) < count and process.poll() is None:
        time.sleep(0.002)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")
@pytest.mark.slow
def test_a_killed_run_keeps_every_file_it_finished_and_says_what_is_left(archive, folder, capsys):
    _many(archive, folder, 120)
    for reached in (3, 40):
        process = _started(archive, folder)
        _wait_for(archive, reached, process)
        process.send_signal(signal.SIGKILL)
        process.communicate()
        assert reached <= _count(archive) < 120
        _check_whole(archive)

    assert tiebeam(archive, "scans", "list") == 0
    assert f"is done by: tiebeam scans add {folder}" in capsys.readouterr().err
    assert tiebeam(archive, "scans", "add", folder) == 0
    assert _count(archive) == 120
    assert rows(archive, "SELECT count(*) FROM scan_part") == [(120,)]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")
@pytest.mark.slow
def test_fifty_kills_at_random_moments_leave_a_whole_catalogue(archive, folder):
    _many(archive, folder, 250)
    chance = random.Random(1979)
    for _ in range(50):
        process = _started(archive, folder)
        time.sleep(chance.uniform(0.2, 1.2))
        process.send_signal(signal.SIGKILL)
        process.communicate()
        _check_whole(archive)

    assert tiebeam(archive, "scans", "add", folder) == 0
    assert _count(archive) == 250
    _check_whole(archive)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGINT for one process")
@pytest.mark.slow
def test_ctrl_c_keeps_every_file_that_was_done(archive, folder):
    _many(archive, folder, 120)
    process = _started(archive, folder)
    _wait_for(archive, 5, process)

    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=30)

    assert process.returncode == 130
    assert "Traceback" not in err
    assert 5 <= _count(archive) <= 120
    _check_whole(archive)
