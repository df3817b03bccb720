"""Group F of the trouble cases: names, paths, drives."""

from __future__ import annotations

import os
import shutil
import sqlite3
import unicodedata

import pytest

from catalog import clock
from catalog.actions.drives import add_drive
from catalog.actions.scan_files import accept_scan
from catalog.actions.scans import add_scans
from catalog.actions.verify_scans import verify_scans
from catalog.store.drives import MARKER_NAME
from tests.scan_archives import a_scan, a_sheet, an_archive, rows, tiebeam

PLACES = "SELECT c.id, f.path, f.state FROM file f LEFT JOIN scan c ON c.file_id = f.id ORDER BY f.id"


@pytest.fixture
def archive(tmp_path):
    return an_archive(tmp_path / "archive")


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "scans").mkdir()
    return tmp_path / "scans"


def standings(result):
    return [(outcome.standing, outcome.path.rpartition("/")[2]) for outcome in result.outcomes]


def names(archive):
    return [(scan, path.rpartition("/")[2], state) for scan, path, state in rows(archive, PLACES)]


# -- F01, F03, F04: names --------------------------------------------------------------------------


def test_f01_a_name_in_the_other_unicode_form_is_the_same_file(archive, folder):
    composed, apart = (unicodedata.normalize(form, "Église 3.tif") for form in ("NFC", "NFD"))
    a_scan(folder / composed)
    add_scans(archive, [folder])

    (folder / composed).rename(folder / apart)
    again = add_scans(archive, [folder])

    assert standings(again) == [("renamed", apart)]
    assert names(archive) == [(1, apart, "present")]


def test_f03_a_name_that_is_not_utf8_is_registered_listed_and_verified(archive, folder, capsys):
    path = folder / os.fsdecode(b"\xc9glise 82-07.tif")
    sheet = a_sheet(archive, "82-07")
    try:
        a_scan(path)
    except OSError:
        pytest.skip("this file system takes names in UTF-8 only")

    status = tiebeam(archive, "scans", "add", folder)
    listed = tiebeam(archive, "scans", "list")

    assert (status, listed) == (0, 0)
    assert r"\xC9glise 82-07.tif" in capsys.readouterr().out
    assert rows(archive, "SELECT raw_path IS NOT NULL FROM file") == [(1,)]
    assert rows(archive, "SELECT sheet_id FROM scan_part") == [(sheet,)]
    assert verify_scans(archive).fine == 1
    assert add_scans(archive, [folder]).unchanged == 1
    assert tiebeam(archive, "scans", "show", r"\xC9glise 82-07.tif") == 0
    assert tiebeam(archive, "scans", "show", path) == 0


def test_f04_a_name_whose_case_alone_changed_is_a_rename(archive, folder, capsys):
    a_scan(folder / "Hill_01.TIF")
    tiebeam(archive, "scans", "add", folder)

    (folder / "Hill_01.TIF").rename(folder / "hill_01.tif")
    status = tiebeam(archive, "scans", "add", folder)

    assert status == 0
    assert "renamed, from" in capsys.readouterr().out
    assert names(archive) == [(1, "hill_01.tif", "present")]


def test_f04_two_files_that_differ_in_case_are_two_files(archive, folder):
    a_scan(folder / "Hill.tif", 1)
    a_scan(folder / "hill.tif", 2)
    if len(list(folder.iterdir())) == 1:
        pytest.skip("this file system knows no case")

    add_scans(archive, [folder])
    again = add_scans(archive, [folder])

    assert names(archive) == [(1, "Hill.tif", "present"), (2, "hill.tif", "present")]
    assert again.unchanged == 2


def test_f04_a_folder_renamed_in_case_takes_its_files_along(archive, folder):
    a_scan(folder / "Osk" / "1.tif", 1)
    a_scan(folder / "Osk" / "2.tif", 2)
    add_scans(archive, [folder])

    (folder / "Osk").rename(folder / "osk")
    again = add_scans(archive, [folder])

    assert [outcome.standing for outcome in again.outcomes] == ["renamed", "renamed"]
    assert [path.rpartition("scans/")[2] for _, path, _ in rows(archive, PLACES)] == [
        "osk/1.tif",
        "osk/2.tif",
    ]


# -- F05: litter -----------------------------------------------------------------------------------


def test_f05_companions_are_counted_and_not_called_damaged(archive, folder, capsys):
    a_scan(folder / "1.tif")
    (folder / "._1.tif").write_bytes(b"\0\x05\x16\x07" + bytes(4092))

    status = tiebeam(archive, "scans", "add", folder)

    out = capsys.readouterr().out
    assert status == 0
    assert "1 file left behind by systems, passed by." in out
    assert "damaged" not in out
    assert names(archive) == [(1, "1.tif", "present")]


# -- F09: a drive that is away ---------------------------------------------------------------------


def a_full_drive(archive, tmp_path, count=3):
    disk = tmp_path / "media" / "grey"
    for number in range(count):
        a_scan(disk / "scans" / f"{number}.tif", number)
    add_drive(archive, disk / "scans", name="grey disk", mounts=[disk])
    add_scans(archive, [disk / "scans"], mounts=[disk])
    return disk


def test_f09_a_drive_that_is_not_plugged_in_is_one_line_and_nothing_is_dropped(archive, tmp_path, capsys):
    disk = a_full_drive(archive, tmp_path, count=40)
    before = rows(archive, PLACES)
    disk.rename(tmp_path / "shelf")

    status = tiebeam(archive, "scans", "verify")

    out = capsys.readouterr().out.splitlines()
    assert status == 0
    assert [line for line in out if line.startswith("away")] == [
        f"away: grey disk is not here, last seen {clock.timestamp()[:10]}; 40 files not looked at."
    ]
    assert len(out) == 2
    assert rows(archive, PLACES) == before


def test_f09_an_empty_mount_point_raises_no_alarm(archive, tmp_path):
    disk = a_full_drive(archive, tmp_path)
    disk.rename(tmp_path / "shelf")
    (disk / "scans").mkdir(parents=True)

    verified = verify_scans(archive, mounts=[disk])

    assert not verified.has_findings
    assert [(away.name, away.files) for away in verified.away] == [("grey disk", 3)]


def test_f09_files_of_no_named_drive_below_an_empty_mount_point_are_away(archive, tmp_path):
    disk = tmp_path / "media" / "red"
    for number in range(3):
        a_scan(disk / "1979" / f"{number}.tif", number)
    add_scans(archive, [disk], mounts=[disk])
    shutil.rmtree(disk / "1979")

    verified = verify_scans(archive, mounts=[disk])

    assert not verified.has_findings
    assert [away.files for away in verified.away] == [3]
    assert {state for _, _, state in rows(archive, PLACES)} == {"present"}


def test_f09_a_drive_mounted_elsewhere_is_the_same_drive(archive, tmp_path):
    disk = a_full_drive(archive, tmp_path)
    elsewhere = tmp_path / "media" / "usb7"
    disk.rename(elsewhere)

    verified = verify_scans(archive, mounts=[elsewhere])
    again = add_scans(archive, [elsewhere / "scans"], mounts=[elsewhere])

    assert (verified.fine, verified.away, verified.outcomes) == (3, (), ())
    assert (again.unchanged, again.outcomes) == (3, ())
    assert rows(archive, "SELECT last_path FROM drive") == [(str(elsewhere / "scans"),)]


def test_two_drives_alike_are_asked_about_before_anything_is_registered(archive, tmp_path, capsys, monkeypatch):
    disk = a_full_drive(archive, tmp_path)
    one, other = tmp_path / "media" / "a", tmp_path / "media" / "b"
    shutil.copytree(disk, one)
    disk.rename(other)
    monkeypatch.setattr("catalog.store.drives.mount_points", lambda: [one, other])

    status = tiebeam(archive, "scans", "add", one / "scans")

    assert status == 3
    err = capsys.readouterr().err
    assert "2 folders carry the marker of drive 'grey disk'" in err
    assert tiebeam(archive, "drives", "locate", "grey disk", one / "scans") == 0
    assert tiebeam(archive, "scans", "add", one / "scans") == 0


def test_the_copy_of_a_drive_that_is_here_is_not_taken_for_it(archive, tmp_path, capsys, monkeypatch):
    disk = a_full_drive(archive, tmp_path)
    copy = tmp_path / "media" / "copy"
    shutil.copytree(disk, copy)
    monkeypatch.setattr("catalog.store.drives.mount_points", lambda: [disk, copy])

    status = tiebeam(archive, "scans", "add", copy / "scans")

    assert status == 3
    assert "2 folders carry the marker" in capsys.readouterr().err
    assert tiebeam(archive, "scans", "verify") == 0


# -- F11: moved, copied ----------------------------------------------------------------------------


def test_f11_a_renamed_folder_is_linked_again_by_content(archive, folder):
    sheet = a_sheet(archive, "82-07")
    a_scan(folder / "old" / "82-07.tif", 1)
    a_scan(folder / "old" / "b.tif", 2)
    add_scans(archive, [folder])

    (folder / "old").rename(folder / "new")
    again = add_scans(archive, [folder])

    assert sorted(standings(again)) == [("moved", "82-07.tif"), ("moved", "b.tif")]
    assert [path.rpartition("scans/")[2] for _, path, _ in rows(archive, PLACES)] == [
        "new/82-07.tif",
        "new/b.tif",
    ]
    assert rows(archive, "SELECT scan_id, sheet_id FROM scan_part") == [(1, sheet)]


def test_f11_verify_finds_a_moved_file_by_content(archive, folder):
    a_scan(folder / "old" / "1.tif", 1)
    a_scan(folder / "2.tif", 2)
    add_scans(archive, [folder])
    (folder / "deep").mkdir()
    (folder / "old" / "1.tif").rename(folder / "deep" / "renamed.tif")

    verified = verify_scans(archive)

    assert standings(verified) == [("moved", "renamed.tif")]
    assert verified.fine == 1
    assert names(archive) == [(1, "2.tif", "present"), (2, "renamed.tif", "present")]
    assert verify_scans(archive).outcomes == ()


def test_f11_one_record_and_two_candidates_are_asked_about(archive, folder, tmp_path, capsys):
    path = a_scan(folder / "1.tif", 1)
    add_scans(archive, [folder])
    content = path.read_bytes()
    path.unlink()
    (folder / "x.tif").write_bytes(content)
    (folder / "y.tif").write_bytes(content)

    added = add_scans(archive, [folder])
    verified = verify_scans(archive)

    assert standings(added) == [("asks", "x.tif"), ("asks", "y.tif")]
    assert standings(verified) == [("asks", "1.tif")]
    assert names(archive) == [(1, "1.tif", "missing")]

    assert tiebeam(archive, "scans", "locate", "C1", folder / "y.tif") == 0
    assert standings(add_scans(archive, [folder])) == [("copied", "x.tif")]
    assert names(archive) == [(1, "y.tif", "present"), (None, "x.tif", "present")]


def test_f11_two_records_and_one_candidate_are_asked_about(archive, folder):
    path = a_scan(folder / "a" / "1.tif", 1)
    shutil.copy2(path, folder / "a" / "2.tif")
    add_scans(archive, [folder])
    (folder / "a" / "1.tif").rename(folder / "third.tif")
    (folder / "a" / "2.tif").unlink()

    added = add_scans(archive, [folder])

    assert standings(added) == [("asks", "third.tif")]


def test_f11_names_tell_two_candidates_apart(archive, folder):
    path = a_scan(folder / "a" / "1.tif", 1)
    shutil.copy2(path, folder / "a" / "2.tif")
    add_scans(archive, [folder])

    (folder / "a").rename(folder / "b")
    added = add_scans(archive, [folder])

    assert standings(added) == [("moved", "1.tif"), ("moved", "2.tif")]
    assert names(archive) == [(1, "1.tif", "present"), (None, "2.tif", "present")]


def test_a_copy_is_no_second_scan_of_the_sheet(archive, folder, capsys):
    a_sheet(archive, "82-07")
    a_scan(folder / "82-07.tif", 1)
    tiebeam(archive, "scans", "add", folder)
    shutil.copy2(folder / "82-07.tif", folder / "82-07 backup.tif")

    status = tiebeam(archive, "scans", "add", folder)

    assert status == 0
    assert "C1 " in capsys.readouterr().out
    assert rows(archive, "SELECT count(*) FROM scan") == [(1,)]
    assert rows(archive, "SELECT count(*) FROM scan_part") == [(1,)]
    assert rows(archive, "SELECT count(*) FROM file") == [(2,)]
    tiebeam(archive, "scans", "show", "C1")
    assert "82-07 backup.tif" in capsys.readouterr().out


def test_a_copy_that_is_changed_into_another_picture_becomes_a_scan(archive, folder):
    a_scan(folder / "1.tif", 1)
    shutil.copy2(folder / "1.tif", folder / "2.tif")
    add_scans(archive, [folder])

    a_scan(folder / "2.tif", 2, caption="another")
    add_scans(archive, [folder])

    assert names(archive) == [(1, "1.tif", "present"), (2, "2.tif", "present")]


def test_a_copy_whose_original_is_on_a_drive_that_is_away_stays_a_copy(archive, tmp_path, folder):
    disk = a_full_drive(archive, tmp_path, count=1)
    shutil.copy2(disk / "scans" / "0.tif", folder / "0.tif")
    disk.rename(tmp_path / "shelf")

    added = add_scans(archive, [folder], mounts=[disk])

    assert standings(added) == [("copied", "0.tif")]
    assert "whose drive is away" in added.outcomes[0].words


# -- F12, F13: clocks, captions, decay -------------------------------------------------------------


@pytest.mark.parametrize("shift_s", [3600, -3600, 1, 2])
def test_f12_a_fat_clock_raises_no_alarm(archive, folder, shift_s, capsys):
    path = a_scan(folder / "1.tif")
    add_scans(archive, [folder])
    status = path.stat()
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns + shift_s * 1_000_000_000))

    assert tiebeam(archive, "scans", "verify", "--quick") == 0
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns + 2 * shift_s * 1_000_000_000))
    assert tiebeam(archive, "scans", "add", folder) == 0
    assert "1.tif" not in capsys.readouterr().out
    assert add_scans(archive, [folder]).unchanged == 1


def test_f13_a_caption_edited_elsewhere_is_no_alarm(archive, folder, capsys):
    path = a_scan(folder / "1.tif", caption="Osk Mill")
    add_scans(archive, [folder])
    a_scan(path, caption="Osk Mill, east front")

    status = tiebeam(archive, "scans", "verify")

    assert status == 1
    assert "caption changed: C1" in capsys.readouterr().out
    assert rows(archive, "SELECT state, description FROM file JOIN scan ON file.id = file_id") == [
        ("present", "Osk Mill, east front")
    ]
    assert verify_scans(archive).outcomes == ()


def test_f13_one_flipped_bit_is_an_alarm_that_names_the_last_good_check(archive, folder, capsys):
    path = a_scan(folder / "1.tif")
    with clock.fixed():
        add_scans(archive, [folder])
    status, content = path.stat(), bytearray(path.read_bytes())
    content[40] ^= 1
    path.write_bytes(content)
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))
    recorded = rows(archive, "SELECT sha256, picture_sha256 FROM file")

    assert tiebeam(archive, "scans", "verify", "--quick") == 0  # size and time are as they were
    assert tiebeam(archive, "scans", "verify") == 1

    out = capsys.readouterr().out
    assert "picture changed: C1" in out
    assert "last good 2026-11-25" in out
    assert rows(archive, "SELECT sha256, picture_sha256 FROM file") == recorded
    assert rows(archive, "SELECT state FROM file") == [("damaged",)]


def test_f13_a_restored_copy_ends_the_alarm(archive, folder):
    path = a_scan(folder / "1.tif")
    good = path.read_bytes()
    add_scans(archive, [folder])
    a_scan(path, seed=9)
    assert verify_scans(archive).has_findings

    path.write_bytes(good)

    assert (verify_scans(archive).fine, names(archive)) == (1, [(1, "1.tif", "present")])


def test_f13_a_change_that_was_meant_is_accepted_by_hand_only(archive, folder):
    path = a_scan(folder / "1.tif")
    add_scans(archive, [folder])
    a_scan(path, seed=9, caption="scanned anew")
    assert add_scans(archive, [folder]).outcomes[0].standing == "picture changed"

    accept_scan(archive, 1)

    assert verify_scans(archive).outcomes == ()
    assert add_scans(archive, [folder]).unchanged == 1


def test_a_scan_overwritten_with_nonsense_is_named(archive, folder, capsys):
    path = a_scan(folder / "1.tif")
    add_scans(archive, [folder])
    path.write_bytes(b"minutes of the parish meeting")

    assert tiebeam(archive, "scans", "verify") == 1
    assert "not readable: C1" in capsys.readouterr().out
    assert len(rows(archive, PLACES)) == 1


def test_a_missing_file_is_named_and_kept(archive, folder, capsys):
    path = a_scan(folder / "deep" / "1.tif")
    a_scan(folder / "deep" / "2.tif", 2)
    add_scans(archive, [folder])
    content = path.read_bytes()
    path.unlink()

    assert tiebeam(archive, "scans", "verify") == 1
    assert "missing: C1" in capsys.readouterr().out
    assert names(archive)[0] == (1, "1.tif", "missing")

    path.write_bytes(content)
    assert [outcome.standing for outcome in add_scans(archive, [folder]).outcomes] == ["returned"]


# -- drives ----------------------------------------------------------------------------------------


def test_naming_a_drive_takes_along_what_was_registered_on_it(archive, tmp_path):
    disk = tmp_path / "media" / "red"
    a_scan(disk / "scans" / "1.tif")
    add_scans(archive, [disk], mounts=[disk])

    added = add_drive(archive, disk, mounts=[disk])

    assert added.files_taken == 1
    assert rows(archive, "SELECT drive_id, path FROM file") == [(added.id, "scans/1.tif")]
    assert add_scans(archive, [disk], mounts=[disk]).unchanged == 1


def test_a_marker_is_written_once_and_never_over(archive, tmp_path, capsys):
    disk = tmp_path / "disk"
    disk.mkdir()
    assert tiebeam(archive, "drives", "add", disk) == 0
    marker = (disk / MARKER_NAME).read_bytes()

    assert tiebeam(archive, "drives", "add", disk, "--name", "again") == 3
    assert "carries the marker of drive 'disk' (U1)" in capsys.readouterr().err
    other = an_archive(tmp_path / "other")
    assert tiebeam(other, "drives", "add", disk) == 0  # two archives may know one drive
    assert (disk / MARKER_NAME).read_bytes() == marker


def test_something_else_under_the_markers_name_is_refused(archive, tmp_path):
    (tmp_path / "disk").mkdir()
    (tmp_path / "disk" / MARKER_NAME).write_text("mine", "utf-8")

    assert tiebeam(archive, "drives", "add", tmp_path / "disk") == 3
    assert (tmp_path / "disk" / MARKER_NAME).read_text("utf-8") == "mine"


def test_a_drive_that_cannot_be_written_to_says_so(archive, tmp_path, capsys, monkeypatch):
    from pathlib import Path

    (tmp_path / "disk").mkdir()
    opened = Path.open

    def read_only(self, mode="r", *rest, **more):
        if self.name == MARKER_NAME and "x" in mode:
            raise OSError(30, "Read-only file system")
        return opened(self, mode, *rest, **more)

    monkeypatch.setattr(Path, "open", read_only)

    assert tiebeam(archive, "drives", "add", tmp_path / "disk") == 3
    assert "cannot be written to (Read-only file system)" in capsys.readouterr().err
    assert rows(archive, "SELECT count(*) FROM drive") == [(0,)]


def test_a_folder_without_the_marker_is_not_the_drive(archive, tmp_path, capsys):
    for name in ("disk", "other"):
        (tmp_path / name).mkdir()
    tiebeam(archive, "drives", "add", tmp_path / "disk")

    assert tiebeam(archive, "drives", "locate", "disk", tmp_path / "other") == 3
    assert "carries no marker" in capsys.readouterr().err


def test_a_drive_that_could_not_be_recorded_leaves_no_marker(archive, tmp_path):
    (tmp_path / "disk").mkdir()
    connection = sqlite3.connect(archive.catalogue)
    connection.execute("CREATE TRIGGER no_drive BEFORE INSERT ON drive BEGIN SELECT RAISE(ABORT, 'full'); END")
    connection.close()

    assert tiebeam(archive, "drives", "add", tmp_path / "disk") == 3
    assert list((tmp_path / "disk").iterdir()) == []
