"""Backups count only when they were verified."""

from __future__ import annotations

import sqlite3

import pytest

import catalog.store.backup
from catalog import clock
from catalog.errors import ArchiveError
from catalog.model import Sheet
from catalog.store.backup import back_up
from catalog.store.writing import deed
from tests.store.archives import raw


def test_a_copy_that_lacks_rows_is_not_kept(small_archive, monkeypatch):
    counted = catalog.store.backup.table_counts
    answers = iter([{"sheet": 2}, {"sheet": 1}])
    monkeypatch.setattr(catalog.store.backup, "table_counts", lambda _connection: next(answers))

    with pytest.raises(ArchiveError, match="as many rows"):
        back_up(small_archive)

    assert list((small_archive.folder / "backups").iterdir()) == []
    with small_archive.reading() as connection:
        assert counted(connection)["sheet"] == 1


def test_a_catalogue_with_broken_links_gives_no_backup_that_looks_sound(small_archive):
    raw(small_archive).execute("UPDATE sheet SET lens_id = 999")

    with pytest.raises(ArchiveError, match="sheet row 1 points to a lens that is not there"):
        back_up(small_archive)


def test_backups_of_one_second_do_not_write_over_each_other(small_archive):
    with clock.fixed():
        copies = [back_up(small_archive) for _ in range(3)]

    assert [copy.name for copy in copies] == [
        "archive_2026-11-25_093000.db", "archive_2026-11-25_093000_2.db", "archive_2026-11-25_093000_3.db",
    ]  # fmt: skip


def test_a_backup_is_made_while_another_window_writes(small_archive):
    with deed(small_archive, "sheets add", "one more") as writing:
        writing.session.add(Sheet(box="9"))
        writing.session.flush()

        copy = back_up(small_archive)

    assert sqlite3.connect(copy).execute("SELECT count(*) FROM sheet").fetchone() == (1,)


def test_a_folder_that_cannot_be_written_is_named(small_archive, tmp_path):
    (tmp_path / "taken").write_text("a file")

    with pytest.raises(ArchiveError, match="taken") as refusal:
        back_up(small_archive, tmp_path / "taken")

    assert "\n" not in str(refusal.value)
