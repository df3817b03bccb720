"""What a file's name says, before it is opened."""

from __future__ import annotations

import pytest

from catalog.imaging import is_litter, is_scan_name


@pytest.mark.parametrize(
    "name", ["78-014.tif", "78-014.TIFF", "a.b.JPG", "x.jpeg", "Hill 01.Png", "raw.dng", "\udcc9glise.tif"]
)
def test_a_scan_is_known_by_its_ending_in_any_case(name):
    assert is_scan_name(name)


@pytest.mark.parametrize("name", ["78-014.tif.xmp", "notes.txt", "tif", ".tif", "78-014.psd", "", "._78-014.tif"])
def test_nothing_else_is_a_scan(name):
    assert not is_scan_name(name)


# Cases F05 and I02.
@pytest.mark.parametrize(
    "name",
    [
        "._78-014.tif",
        ".DS_Store",
        "Thumbs.db",
        "THUMBS.DB",
        "desktop.ini",
        ".Spotlight-V100",
        "$RECYCLE.BIN",
        "@eaDir",
    ],
)
def test_what_systems_leave_on_drives_is_litter(name):
    assert is_litter(name)


@pytest.mark.parametrize("name", ["78-014.tif", "_78-014.tif", ".hidden.tif", "Thumbs.db.tif"])
def test_what_a_person_keeps_is_no_litter(name):
    assert not is_litter(name)
