"""``tiebeam scans`` and ``tiebeam drives`` as a person types them."""

from __future__ import annotations

import json

import pytest

from tests.scan_archives import a_scan, a_sheet, an_archive, tiebeam


@pytest.fixture
def archive(tmp_path):
    return an_archive(tmp_path / "archive")


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "scans").mkdir()
    return tmp_path / "scans"


def answer(archive, capsys, *arguments):
    capsys.readouterr()
    status = tiebeam(archive, *arguments, "--json")
    return status, json.loads(capsys.readouterr().out)


def test_adding_says_what_was_registered_and_what_waits(archive, folder, capsys):
    a_sheet(archive, "82-07")
    a_scan(folder / "82-07.tif", 1)
    a_scan(folder / "stray.tif", 2)
    (folder / "notes.txt").write_text("x", "utf-8")

    status = tiebeam(archive, "scans", "add", folder)

    assert status == 0
    assert capsys.readouterr().out.splitlines() == [
        "2 scans registered: 1 matched to sheets, 1 waiting.",
        "What waits, and why: tiebeam scans unmatched",
        "1 file no picture by its name, passed by.",
    ]


def test_a_path_that_is_no_picture_is_named(archive, folder, capsys):
    (folder / "notes.txt").write_text("x", "utf-8")

    status = tiebeam(archive, "scans", "add", folder / "notes.txt", folder / "absent.tif")

    out = capsys.readouterr().out
    assert status == 1
    assert "notes.txt: is no picture by its name" in out
    assert "absent.tif: is not there" in out


def test_the_json_of_adding_says_what_became_of_each_file(archive, folder, capsys):
    a_sheet(archive, "82-07")
    a_scan(folder / "82-07.tif", 1)
    (folder / "empty.tif").touch()

    status, said = answer(archive, capsys, "scans", "add", folder)

    assert status == 1
    assert (said["count"], said["unchanged"], said["findings"]) == (2, 0, 1)
    assert [(item["reference"], item["standing"], item["sheet"]) for item in said["items"]] == [
        ("C1", "new", "S1"),
        ("C2", "new", None),
    ]
    assert said["items"][1]["damage"] == "empty file"


def test_a_scan_in_json_carries_its_path_and_its_facts(archive, folder, capsys):
    a_sheet(archive, "82-07")
    path = a_scan(folder / "82-07.tif", 1, entries=((306, 2, b"2010:01:05 10:20:30\0"),), width=400, height=500, bits=8)
    tiebeam(archive, "scans", "add", folder)

    _, listed = answer(archive, capsys, "scans", "list", "--sheet", "82-07")
    _, shown = answer(archive, capsys, "scans", "show", "C1")

    assert listed["count"] == 1
    item = listed["items"][0]
    assert item["reference"] == "C1"
    assert item["path"] == path.as_posix()
    assert item["scanned"]["edtf"] == "2010-01-05"
    assert (item["recorded_ppi"], item["worked_out_ppi"]) == (None, 100.0)
    assert item["sheets"] == [{"reference": "S1", "region": None, "matched_by": "name", "matched_text": "82-07"}]
    assert {**shown, "copies": None} == {**item, "copies": None}


def test_matching_by_hand_takes_a_file_name_and_a_number(archive, folder, capsys):
    a_sheet(archive, "82-07")
    a_scan(folder / "stray.tif")
    tiebeam(archive, "scans", "add", folder)

    assert tiebeam(archive, "scans", "match", "stray.tif", "82-07", "--region", "left half") == 0
    assert "Matched C1 to S1." in capsys.readouterr().out
    assert tiebeam(archive, "scans", "list") == 0
    assert "S1 (82-07), left half" in capsys.readouterr().out
    assert tiebeam(archive, "scans", "unmatch", "C1", "S1") == 0
    assert tiebeam(archive, "scans", "unmatched") == 0
    assert "a person took it off its sheet" in capsys.readouterr().out


@pytest.mark.parametrize("arguments", [[], ["C1"], ["C1", "S1", "--again"]])
def test_a_match_without_both_sides_is_misuse(archive, arguments):
    assert tiebeam(archive, "scans", "match", *arguments) == 2


def test_a_name_in_two_folders_is_asked_about(archive, folder, capsys):
    a_sheet(archive, "82-07")
    a_scan(folder / "a" / "x.tif", 1)
    a_scan(folder / "b" / "x.tif", 2)
    tiebeam(archive, "scans", "add", folder)

    assert tiebeam(archive, "scans", "match", "x.tif", "82-07") == 3
    err = capsys.readouterr().err
    assert "C1" in err
    assert "C2" in err
    assert tiebeam(archive, "scans", "match", "b/x.tif", "82-07") == 0


def test_a_scan_is_corrected_in_words_or_tried_first(archive, folder, capsys):
    a_scan(folder / "1.tif")
    tiebeam(archive, "scans", "add", folder)
    capsys.readouterr()

    tried = tiebeam(archive, "scans", "correct", "C1", "--polarity", "negative", "--dry-run")
    done = tiebeam(archive, "scans", "correct", "C1", "--polarity", "negative", "--scanned", "spring 2010")

    first, second = capsys.readouterr().out.splitlines()
    assert (tried, done) == (0, 0)
    assert first.startswith("Nothing was changed. This would be done: corrected the scan ")
    assert second.endswith("(C1): polarity negative (was nothing), scanned spring 2010 (was undated).")


def test_a_scan_nobody_knows_is_refused(archive, capsys):
    assert tiebeam(archive, "scans", "show", "C99") == 3
    assert "No scan answers to 'C99'" in capsys.readouterr().err


def test_verifying_answers_in_json(archive, folder, capsys):
    a_scan(folder / "1.tif", 1)
    a_scan(folder / "2.tif", 2)
    tiebeam(archive, "scans", "add", folder)
    (folder / "2.tif").unlink()

    status, said = answer(archive, capsys, "scans", "verify")

    assert status == 1
    assert (said["fine"], said["away"]) == (1, 0)
    assert [(item["reference"], item["standing"]) for item in said["items"]] == [("C2", "missing")]


def test_drives_are_listed_with_where_they_are(archive, tmp_path, capsys):
    disk = tmp_path / "grey"
    a_scan(disk / "1.tif")
    assert tiebeam(archive, "drives", "add", disk, "--name", "grey disk") == 0
    tiebeam(archive, "scans", "add", disk)

    _, said = answer(archive, capsys, "drives", "list")
    here = said["items"][0]
    disk.rename(tmp_path / "shelf")
    _, said = answer(archive, capsys, "drives", "list")

    assert (here["reference"], here["name"], here["path"], here["files"]) == ("U1", "grey disk", str(disk), 1)
    assert (said["items"][0]["path"], said["away"]) == (None, 1)
    _, said = answer(archive, capsys, "scans", "list")
    assert (said["items"][0]["path"], said["items"][0]["drive"]) == ((disk / "1.tif").as_posix(), "grey disk")
    assert tiebeam(archive, "scans", "list") == 0
    assert "grey disk: 1.tif" in capsys.readouterr().out


def test_a_drive_found_elsewhere_is_located_by_hand(archive, tmp_path, capsys):
    disk = tmp_path / "grey"
    a_scan(disk / "1.tif")
    tiebeam(archive, "drives", "add", disk)
    tiebeam(archive, "scans", "add", disk)
    disk.rename(tmp_path / "shelf")

    assert tiebeam(archive, "drives", "locate", "grey", tmp_path / "shelf") == 0
    assert tiebeam(archive, "scans", "verify") == 0
    assert "1 file fine, 0 findings." in capsys.readouterr().out


def test_file_names_with_line_breaks_stay_on_one_line(archive, folder, capsys):
    (folder / "a\nb.tif").touch()

    assert tiebeam(archive, "scans", "add", folder) == 1
    assert "a / b.tif: empty file" in capsys.readouterr().out
