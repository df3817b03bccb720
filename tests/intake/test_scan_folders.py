"""Walking folders for scans."""

from __future__ import annotations

import os

from catalog.intake.scan_folders import walk_scan_folders
from tests.scan_archives import a_scan


def found(walk):
    return [scan.path.name for scan in walk.scans]


def test_a_folder_is_walked_to_the_bottom_in_order(tmp_path):
    for name in ("b/2.tif", "b/10.TIF", "a/deep/er/1.jpeg", "c.png", "notes.txt"):
        a_scan(tmp_path / name)

    walk = walk_scan_folders([tmp_path])

    assert found(walk) == ["1.jpeg", "10.TIF", "2.tif", "c.png"]
    assert walk.others == 1
    assert walk.problems == ()


def test_f05_companions_and_litter_are_counted_not_read(tmp_path):
    for name in (
        "1.tif",
        "._1.tif",
        ".DS_Store",
        "Thumbs.db",
        ".Trash-1000/2.tif",
        "System Volume Information/3.tif",
    ):
        a_scan(tmp_path / name)

    walk = walk_scan_folders([tmp_path])

    assert found(walk) == ["1.tif"]
    assert (walk.litter, walk.others) == (5, 0)


def test_links_that_run_in_a_circle_end(tmp_path):
    a_scan(tmp_path / "a" / "1.tif")
    (tmp_path / "a" / "again").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "same.tif").symlink_to(tmp_path / "a" / "1.tif")

    walk = walk_scan_folders([tmp_path, tmp_path / "a"])

    assert [scan.path for scan in walk.scans] == [(tmp_path / "a" / "1.tif").resolve()]


def test_a_link_that_leads_nowhere_is_named(tmp_path):
    (tmp_path / "lost.tif").symlink_to(tmp_path / "nowhere.tif")

    walk = walk_scan_folders([tmp_path])

    assert [path.name for path, _ in walk.problems] == ["lost.tif"]


def test_a_path_that_is_no_picture_is_named(tmp_path):
    text = tmp_path / "notes.txt"
    text.write_text("12 frames", "utf-8")

    walk = walk_scan_folders([text, tmp_path / "absent.tif"])

    assert [reason for _, reason in walk.problems] == [
        "is no picture by its name (.tif .tiff .jpg .jpeg .png .dng)",
        "is not there; mend the path",
    ]


def test_a_folder_that_cannot_be_looked_into_is_named(tmp_path, monkeypatch):
    a_scan(tmp_path / "closed" / "1.tif")
    a_scan(tmp_path / "open" / "2.tif")
    look = os.scandir

    def refused(folder):
        if folder == (tmp_path / "closed").resolve():
            raise PermissionError(13, "Permission denied")
        return look(folder)

    monkeypatch.setattr("os.scandir", refused)  # tests may run as a person who is refused nothing
    walk = walk_scan_folders([tmp_path])

    assert found(walk) == ["2.tif"]
    assert [(path.name, reason) for path, reason in walk.problems] == [
        ("closed", "cannot be looked into (Permission denied)")
    ]


def test_folders_of_the_archive_itself_are_left_out(tmp_path):
    a_scan(tmp_path / "index-pictures" / "1.tif")
    a_scan(tmp_path / "scans" / "1.tif")

    walk = walk_scan_folders([tmp_path], leave_out=[tmp_path / "index-pictures"])

    assert len(walk.scans) == 1


def test_a_folder_of_the_archive_given_by_name_is_a_problem(tmp_path):
    a_scan(tmp_path / "index-pictures" / "1.tif")

    walk = walk_scan_folders([tmp_path / "index-pictures"], leave_out=[tmp_path / "index-pictures"])

    assert (walk.scans, len(walk.problems)) == ((), 1)
