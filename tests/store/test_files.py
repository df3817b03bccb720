"""How the place of a file is written down."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from catalog.store.files import file_address, path_key, place_of, shown_path

ARCHIVE = Path("/home/ida/archive")
DRIVES = {3: Path("/media/grey"), 4: Path("/media/grey/inner")}


@pytest.mark.parametrize(
    ("absolute", "drive", "path"),
    [
        ("/home/ida/archive/scans/1.tif", None, "scans/1.tif"),
        ("/media/grey/1979/1.tif", 3, "1979/1.tif"),
        ("/media/grey/inner/1.tif", 4, "1.tif"),
        ("/srv/1.tif", None, "/srv/1.tif"),
        ("/home/ida/archive2/1.tif", None, "/home/ida/archive2/1.tif"),
    ],
)
def test_a_file_is_known_by_its_drive_or_the_archive_else_by_its_whole_path(absolute, drive, path):
    address = file_address(Path(absolute), ARCHIVE, DRIVES)

    assert (address.drive_id, address.path, address.raw_path) == (drive, path, None)
    assert place_of(address, ARCHIVE, DRIVES) == Path(absolute)


def test_a_file_on_a_drive_that_is_away_has_no_place():
    address = file_address(Path("/media/grey/1.tif"), ARCHIVE, DRIVES)

    assert place_of(address, ARCHIVE, {}) is None


def test_f03_a_name_that_is_not_utf8_is_shown_with_escapes_and_found_again():
    path = ARCHIVE / os.fsdecode(b"\xc9glise.tif")

    address = file_address(path, ARCHIVE, {})

    assert address.path == r"\xC9glise.tif"
    assert address.raw_path == b"\xc9glise.tif"
    assert place_of(address, ARCHIVE, {}) == path
    assert shown_path(path).isprintable()


def test_f01_two_unicode_forms_and_two_cases_share_a_key():
    assert path_key("E\u0301glise/Hill_01.TIF") == path_key("\u00e9glise/hill_01.tif")
