"""``tiebeam versions`` as it is typed: what is asked, what it answers, what it leaves."""

from __future__ import annotations

import json

import pytest

from catalog.actions.scans import add_scans
from catalog.model import Print
from catalog.store.writing import deed
from tests.cli.command_runs import tiebeam
from tests.scan_archives import a_sheet, rows
from tests.store.archives import an_archive as empty_archive
from tests.store.archives import fill_small
from tests.version_archives import a_negative, an_archive_with_negatives, with_profile


@pytest.fixture
def archive(tmp_path):
    return an_archive_with_negatives(tmp_path / "archive", 2)


@pytest.fixture
def say(archive, capsys):
    """Run ``tiebeam versions`` on the archive."""
    return lambda *words: tiebeam(capsys, "--archive", archive.folder, "versions", *words)


@pytest.fixture
def two_scans(archive):
    a_negative(archive.folder / "scans" / "80-0 scan2.tif", 40)
    add_scans(archive, [archive.folder / "scans"])
    return archive


def test_making_says_the_steps_in_words_and_where_the_picture_is(say):
    said = say("make", "80-0", "--write", "--black", "0.18", "--white", "1.31")

    assert said.status == 0
    assert "W1 from C1: " in said.out
    assert "inverted; base 0.2" in said.out
    assert "black at D 0.18, white at D 1.31; grade 2" in said.out
    assert "written: versions/80-0 W1.tif" in said.out


def test_a_sheet_with_several_scans_is_asked_about(say, two_scans):
    said = say("make", "80-0")

    assert said.status == 3
    assert "'80-0' is 2 scans; give one of these references:\n  C1     scans/80-0.tif\n  C3     " in said.err
    assert say("make", "80-0", "--scan", "C3").status == 0
    assert say("make", "C1").status == 0
    assert rows(two_scans, "SELECT scan_id FROM version_source ORDER BY version_id") == [(3,), (1,)]
    assert "C2 is no scan of 80-0 (S1), which has C1, C3." in say("make", "80-0", "--scan", "C2").err


def test_many_are_made_as_one_deed_and_what_cannot_be_is_named(say, two_scans):
    a_sheet(two_scans, "80-9")

    said = say("make", "--number", "80-0", "--write")

    assert said.status == 1
    assert "S1 has 2 scans (C1, C3). Say which: tiebeam versions make S1 --scan C1." in said.err
    said = say("make", "80-1", "C1", "C3", "--write")
    assert said.status == 0
    assert said.out.splitlines()[-1] == "3 edit versions made, 3 written."
    assert rows(two_scans, "SELECT count(*) FROM deed WHERE kind = 'versions make'") == [(1,)]
    again = say("make", "80-1", "C1", "C3", "--write")
    assert again.out.splitlines()[-1] == "0 edit versions made, 3 made before."


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "give a NUMBER"),
        (["80-0", "--points", "99,1"], "the lower comes first"),
        (["80-0", "--points", "a,b"], "2 numbers with commas between"),
        (["80-0", "--curve", "soft"], "is none of: grade:2"),
        (["80-0", "--curve", "grade:9"], "--curve: "),
        (["80-0", "--curve", "points:0,0"], "--curve: "),
        (["80-0", "--crop", "1,2,3"], "4 numbers with commas between"),
        (["80-0", "--profile", "loud"], "is none of: grey gamma 2.2"),
        (["80-0", "--neutral", "1"], "3 numbers"),
        (["80-0", "80-1", "--scan", "C1"], "--scan chooses among the scans of one sheet"),
        (["80-0", "80-1", "--replaces", "W1"], "--replaces is said of one version"),
    ],
)
def test_a_wrong_command_line_is_said_with_status_2(say, words, message):
    said = say("make", *words)

    assert said.status == 2
    assert message in said.err
    assert "Traceback" not in said.err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["make", "no such"], "No sheet answers to 'no such'"),
        (["make", "80-0", "--replaces", "W9"], "There is no edit version W9"),
        (["make", "80-0", "--write", "--folder", "/no/such/folder"], "is no folder that is there"),
        (
            ["make", "80-0", "--crop", "9000,0,10,10"],
            "C1: tone steps: crop: 10x10 px at 9000, 0 reach beyond the picture",
        ),
        (["make", "80-0", "--crop", "-1,0,10,10"], "C1: tone steps: crop left: -1 is not between 0 and"),
        (["make", "80-0", "--black", "2", "--white", "1"], "black lies at the lower density"),
        (["make", "80-0", "--straighten", "90"], "is not between -45 and 45"),
        (["show", "W9"], "There is no edit version W9"),
        (["show", "80-0"], "Make one with: tiebeam versions make 80-0"),
        (["write", "W9"], "There is no edit version W9"),
        (["add", "80-0", "gone.tif"], "gone.tif"),
    ],
)
def test_what_cannot_be_is_refused_in_a_line_or_two(say, words, message):
    said = say(*words)

    assert said.status in (1, 3)
    assert message in said.err
    assert len(said.err.strip().splitlines()) <= 2
    assert "Traceback" not in said.err


def test_j16_a_scan_that_seems_reversed_is_refused_with_the_question_and_the_answer_settles_it(tmp_path, capsys):
    archive = an_archive_with_negatives(tmp_path / "archive", is_reversed=True, width=760, height=600)
    at = ("--archive", archive.folder)

    blocked = tiebeam(capsys, *at, "versions", "make", "80-0", "--write")

    assert blocked.status == 3
    assert "seems scanned wrong side up" in blocked.err
    assert "tiebeam scans correct C1 --reversed, or --not-reversed" in blocked.err
    assert tiebeam(capsys, *at, "scans", "correct", "C1", "--reversed").status == 0
    made = tiebeam(capsys, *at, "versions", "make", "80-0", "--write")
    assert "mirrored, because it was scanned wrong side up" in made.out


def test_show_gives_the_descent_from_the_sheet_on(say):
    say("make", "80-0", "--write", "--purpose", "exhibition")
    say("make", "80-0", "--replaces", "W1")

    said = say("show", "W1")

    descent = said.out.partition("\ndescent\n")[2].splitlines()
    assert [line.split()[0] for line in descent[:3]] == ["S1", "C1", "W1"]
    assert "replaced by" in said.out
    assert "made with    Tiebeam" in said.out


def test_a_print_stands_at_the_end_of_the_descent(tmp_path, capsys):
    small = empty_archive(tmp_path / "small")
    fill_small(small)
    with deed(small, "test", "a print from W1") as writing:
        writing.session.get_one(Print, 1).version_id = 1

    said = tiebeam(capsys, "--archive", small.folder, "versions", "show", "W1")

    assert said.out.partition("\nprints\n")[2].startswith("  P1  ")


def test_json_of_a_version_has_its_steps_as_data_and_in_words(say, archive):
    say("make", "80-0", "--write")
    say("make", "80-0", "--replaces", "W1", "--purpose", "proof")

    one = json.loads(say("show", "W1", "--json").out)["items"][0]
    listed = json.loads(say("list", "--json").out)
    current = json.loads(say("list", "--current", "--json").out)

    assert (one["reference"], one["record"], one["sheets"], one["scans"]) == ("W1", "edit version", ["S1"], ["C1"])
    assert [step["kind"] for step in one["steps"]][-2:] == ["curve", "output"]
    assert "inverted" in one["steps_in_words"]
    assert one["path"] == (archive.folder / "versions" / "80-0 W1.tif").as_posix()
    assert (one["replaces"], one["replaced_by"], one["is_current"]) == (None, ["W2"], False)
    assert [step["reference"] for step in one["descent"]] == ["S1", "C1", "W1"]
    assert [item["reference"] for item in listed["items"]] == ["W1", "W2"]
    assert [item["purpose"] for item in current["items"]] == ["proof"]
    assert (listed["items"][1]["path"], listed["items"][1]["replaces"]) == (None, "W1")


def test_json_of_making_says_what_became_of_each(say, two_scans):
    done = json.loads(say("make", "--number", "80-0", "--json").out)

    assert (done["count"], done["findings"], done["items"][0]["outcome"]) == (1, 1, "asks")
    made = json.loads(say("make", "80-1", "--json", "--dry-run").out)["items"][0]
    assert (made["reference"], made["scan"], made["sheets"], made["outcome"]) == (None, "C2", ["S2"], "made")
    assert made["steps"]


def test_lists_are_csv_too_and_follow_a_filter(say):
    say("make", "80-0")
    say("make", "80-1")

    said = say("list", "--number", "80-1", "--csv")

    assert said.out.splitlines()[0].startswith("reference,numbers,sheets,made_from,purpose,steps_in_words")
    assert [line.split(",")[:2] for line in said.out.splitlines()[1:]] == [["W2", "80-1"]]


def test_sheet_and_scan_show_their_versions(say, archive, capsys):
    say("make", "80-0", "--purpose", "proof")

    for what in ("S1", "C1", "W1"):
        assert "proof" in tiebeam(capsys, "--archive", archive.folder, "show", what).out


def test_b15_a_lost_profile_is_said_with_status_1(say, archive, tmp_path):
    a_sheet(archive, "81-0")
    a_negative(archive.folder / "scans" / "81-0.tif", 30, **with_profile())
    add_scans(archive, [archive.folder / "scans"])
    bare = a_negative(tmp_path / "bare.tif", 31)

    said = say("add", "81-0", str(bare))

    assert said.status == 1
    assert "W1: it has no colour profile; C3 has " in said.err


def test_a_working_file_is_of_the_sheet_it_is_said_to_be_of(say, tmp_path):
    path = a_negative(tmp_path / "stitched.tif", 31)

    assert "C2 is not of 80-0 (S1). Nothing was changed." in say("add", "80-0", str(path), "--from", "C2").err
    said = say("add", "80-0", str(path), "--from", "C1", "--from", "C2", "--made", "March 2020", "--made-with", "hand")
    assert said.status == 0
    assert said.out == "Registered stitched.tif as edit version W1, made from C1, C2.\n"
    assert "made       March 2020" in say("show", "80-1").out


def test_correct_accept_and_remove_are_deeds_with_words(say, tmp_path):
    path = a_negative(tmp_path / "work.tif", 31)
    say("add", "80-0", str(path))

    assert "purpose exhibition" in say("correct", "W1", "--purpose", "exhibition").out
    assert "says so already" in say("correct", "W1", "--purpose", "exhibition").err
    a_negative(path, 32)
    assert say("accept", "W1").out.startswith("Took the file of W1")
    said = say("remove", "W1", "--dry-run")
    assert said.out.startswith("Nothing was changed. This would be done: took")
    assert "Its file was left" in say("remove", "W1").out


def test_an_empty_list_says_how_to_begin(say):
    assert say("list").out == "No edit versions yet. Make one with: tiebeam versions make NUMBER\n"


def test_a_scan_on_a_drive_that_is_away_is_named(archive, say, capsys, tmp_path):
    drive = tmp_path / "blue"
    drive.mkdir()
    tiebeam(capsys, "--archive", archive.folder, "drives", "add", drive)
    a_sheet(archive, "85-1")
    a_negative(drive / "85-1.tif", 50)
    tiebeam(capsys, "--archive", archive.folder, "scans", "add", drive)
    drive.rename(tmp_path / "unplugged")

    said = say("make", "85-1", "--write")

    assert said.status == 3
    assert said.err == "C3: 85-1.tif is on blue, which is away. Bring it back and make it again.\n"


def test_an_undo_that_took_a_picture_away_says_how_to_have_it_again(say, archive, capsys):
    say("make", "80-0", "--write")

    said = tiebeam(capsys, "--archive", archive.folder, "undo")

    assert said.status == 0
    assert "To do it again: tiebeam undo" not in said.out
    assert said.out.rstrip().endswith("no copy of its pictures was kept: tiebeam versions make")
