"""What the catalogue itself keeps true of edit versions, and of what is said of them."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from catalog.store.upgrade import _migrate
from tests.store.archives import raw

REFUSED = sqlite3.IntegrityError


def test_a_version_is_not_made_from_itself_however_far_back(small_archive):
    catalogue = raw(small_archive)  # W2 is made from W1

    with pytest.raises(REFUSED, match="made from itself"):
        catalogue.execute("INSERT INTO version_source (version_id, position, source_version_id) VALUES (1, 2, 2)")
    with pytest.raises(REFUSED, match="made from itself"):
        catalogue.execute("UPDATE version_source SET source_version_id = 2, scan_id = NULL WHERE version_id = 1")


def test_a_version_does_not_replace_itself_however_far_on(small_archive):
    catalogue = raw(small_archive)  # W2 replaces W1

    with pytest.raises(REFUSED, match="replace itself"):
        catalogue.execute("UPDATE edit_version SET replaces_id = 2 WHERE id = 1")
    with pytest.raises(REFUSED):
        catalogue.execute("UPDATE edit_version SET replaces_id = 1 WHERE id = 1")


@pytest.mark.parametrize("columns", ["scan_id, source_version_id", "scan_id, sheet_id"])
def test_a_version_is_made_from_one_thing_a_line(small_archive, columns):
    with pytest.raises(REFUSED, match="from_one"):
        raw(small_archive).execute(f"INSERT INTO version_source (version_id, position, {columns}) VALUES (2, 3, 1, 1)")


def test_a_version_of_which_nothing_is_known_is_none(small_archive):
    with pytest.raises(REFUSED, match="ck_edit_version_known"):
        raw(small_archive).execute("INSERT INTO edit_version (purpose) VALUES ('exhibition')")


def test_notes_and_questions_may_be_about_a_version_that_is_there(small_archive):
    catalogue = raw(small_archive)
    said = "INSERT INTO note (about, about_id, text, noted_at) VALUES ('edit_version', ?, 'too hard', '2026')"

    catalogue.execute(said, (1,))

    with pytest.raises(REFUSED, match="not there"):
        catalogue.execute(said, (99,))
    with pytest.raises(REFUSED, match="about this edit_version"):
        catalogue.execute("DELETE FROM edit_version WHERE id = 1")


def test_what_is_said_of_no_known_table_is_refused(small_archive):
    with pytest.raises(REFUSED, match="not there"):
        raw(small_archive).execute("INSERT INTO note (about, about_id, text, noted_at) VALUES ('deed', 1, 'a', '2026')")


def test_a_reading_goes_with_its_scan(small_archive):
    catalogue = raw(small_archive)

    catalogue.execute("DELETE FROM scan WHERE id = 1")

    assert catalogue.execute("SELECT count(*) FROM scan_reading").fetchone() == (0,)


def test_no_note_gets_the_number_of_one_that_went_before_the_upgrade():
    catalogue = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    catalogue.executescript((Path(__file__).parent / "schemas" / "0001.sql").read_text("utf-8"))
    catalogue.execute("UPDATE sqlite_sequence SET seq = 40 WHERE name = 'note'")
    catalogue.execute("DELETE FROM note")

    _migrate(catalogue, "0002")

    catalogue.execute("INSERT INTO note (about, about_id, text, noted_at) VALUES ('sheet', 1, 'a', '2026')")
    assert catalogue.execute("SELECT id FROM note").fetchall() == [(41,)]
    assert catalogue.execute("SELECT seq FROM sqlite_sequence WHERE name LIKE 'new%'").fetchall() == []
