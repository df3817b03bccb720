"""Drives are known by their marker, wherever they are mounted."""

from __future__ import annotations

from catalog.store.drives import (
    MARKER_NAME,
    DriveRow,
    depth_of,
    mount_away,
    read_marker,
    sight_drives,
)

MARKER = "0" * 31 + "7"


def a_drive(folder, marker=MARKER):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / MARKER_NAME).write_text(f"{marker}\n", "ascii")
    return folder


def known_at(folder, depth=1):
    return DriveRow(1, "grey disk", MARKER, str(folder), depth, "2026-11-25T09:30:00Z")


def sighted(drive, *mounts, near=()):
    return sight_drives([drive], mounts=mounts, near=near)[1]


def test_a_drive_mounted_elsewhere_is_found_at_its_depth(tmp_path):
    drive = known_at(tmp_path / "old" / "scans")
    folder = a_drive(tmp_path / "new" / "scans")

    assert sighted(drive, tmp_path / "new").folder == folder


def test_a_drive_whose_folder_was_renamed_is_found(tmp_path):
    drive = known_at(tmp_path / "disk" / "scans")
    folder = a_drive(tmp_path / "disk" / "Scans of Ida")

    assert sighted(drive, tmp_path / "disk").folder == folder


def test_f09_an_empty_mount_point_is_no_drive(tmp_path):
    (tmp_path / "disk" / "scans").mkdir(parents=True)

    sighting = sighted(known_at(tmp_path / "disk" / "scans"), tmp_path / "disk")

    assert sighting.folder is None
    assert not sighting.is_unclear


def test_two_drives_alike_are_asked_about(tmp_path):
    drive = known_at(tmp_path / "gone" / "scans")
    one, other = a_drive(tmp_path / "a" / "scans"), a_drive(tmp_path / "b" / "scans")

    sighting = sighted(drive, tmp_path / "a", tmp_path / "b")

    assert sighting.is_unclear
    assert str(one) in str(sighting.ask())
    assert str(other) in str(sighting.ask())
    assert "drives locate" in str(sighting.ask())


def test_of_two_alike_the_one_where_it_was_last_is_the_drive(tmp_path):
    one, other = a_drive(tmp_path / "a" / "scans"), a_drive(tmp_path / "b" / "scans")

    sighting = sighted(known_at(one), tmp_path / "a", tmp_path / "b")

    assert (sighting.folder, sighting.others) == (one, (other,))


def test_one_folder_reached_by_two_ways_is_one_drive(tmp_path):
    folder = a_drive(tmp_path / "a" / "scans")
    (tmp_path / "b").symlink_to(tmp_path / "a", target_is_directory=True)

    sighting = sighted(known_at(tmp_path / "gone"), tmp_path / "a", tmp_path / "b")

    assert (sighting.folder, sighting.others) == (folder.resolve(), ())


def test_a_drive_mounted_where_none_is_looked_for_is_known_by_a_path_on_it(tmp_path):
    folder = a_drive(tmp_path / "srv" / "disk")

    assert sighted(known_at(tmp_path / "gone"), near=[folder / "1979" / "1.tif"]).folder == folder


def test_a_marker_that_is_none_counts_as_none(tmp_path):
    a_drive(tmp_path, "not a marker\n" * 10_000)

    assert read_marker(tmp_path) is None


def test_depth_is_counted_from_the_mount_point(tmp_path):
    assert depth_of(tmp_path / "disk" / "a" / "b", mounts=[tmp_path, tmp_path / "disk"]) == 2


def test_f09_a_place_below_an_unmounted_point_is_away_not_missing(tmp_path):
    mount = tmp_path / "media" / "grey"
    mount.mkdir(parents=True)
    (tmp_path / "media" / "red").mkdir()
    (tmp_path / "media" / "red" / "scans").mkdir()
    mounts = [mount, tmp_path / "media" / "red"]

    assert mount_away(mount / "scans" / "1.tif", mounts) == mount  # nothing is mounted on it
    assert mount_away(tmp_path / "media" / "blue" / "1.tif", mounts) == tmp_path / "media" / "blue"  # not there at all
    assert mount_away(tmp_path / "media" / "red" / "1979" / "1.tif", mounts) is None  # the drive is here, the file not
