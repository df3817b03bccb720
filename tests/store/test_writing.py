"""Writing: one deed is one transaction, and whoever waits is told so."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

import catalog.store.locking
from catalog.errors import ArchiveBusyError, ArchiveError, RefusedError
from catalog.model import Note, Sheet, SheetNumber, Wording
from catalog.store.archive import Archive
from catalog.store.connections import connect
from catalog.store.daybook import changes_of
from catalog.store.writing import begin_file_deed, deed, require
from tests.store.archives import raw, settle_on, tables

ROOT = Path(__file__).parents[2]
NOTED = "2026-11-25T09:30:00Z"

HOLDER = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("BEGIN IMMEDIATE")
connection.execute("INSERT INTO sheet (box) VALUES ('theirs')")
print("held", flush=True)
sys.stdin.readline()
connection.execute("COMMIT")
print("let go", flush=True)
"""


@contextmanager
def another_window_writing(archive: Archive) -> Iterator[subprocess.Popen[str]]:
    """Run a second process that has written to the catalogue and not yet committed; a line lets it go on."""
    command = [sys.executable, "-c", HOLDER, str(archive.catalogue)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        try:
            yield process
        finally:
            process.communicate("\n")


def test_a_second_window_waits_with_one_clear_message_and_loses_nothing(archive):
    # Case G03: a second process holds the write lock.
    said: list[str] = []
    with another_window_writing(archive) as holder:

        def on_wait(sentence: str) -> None:
            said.append(sentence)
            time.sleep(0.6)  # longer than one look of ours, so that a second message would show
            assert holder.stdin is not None
            holder.stdin.write("\n")
            holder.stdin.flush()

        with deed(archive, "sheets add", "ours", on_wait=on_wait) as writing:
            writing.session.add(Sheet(box="ours"))

    assert said == ["Another tiebeam is writing to this archive; waiting for it to finish ..."]
    with archive.reading() as connection:
        assert connection.execute("SELECT box FROM sheet ORDER BY id").fetchall() == [("theirs",), ("ours",)]


def test_waiting_ends_in_a_refusal_after_the_time_the_settings_allow(archive):
    archive = settle_on(archive, wait_seconds=1)
    said: list[str] = []
    with another_window_writing(archive):
        began = time.monotonic()

        with pytest.raises(ArchiveBusyError, match="another tiebeam is writing") as refusal:
            deed(archive, "sheets add", "ours", on_wait=said.append).__enter__()

        assert 0.9 < time.monotonic() - began < 4
    assert len(said) == 1
    assert str(refusal.value).endswith("Nothing was changed; try again.")
    with archive.reading() as connection:
        assert connection.execute("SELECT box FROM sheet").fetchall() == [("theirs",)]


def test_reading_does_not_wait_for_a_window_that_writes(archive):
    with another_window_writing(archive), archive.reading() as connection:
        assert connection.execute("SELECT count(*) FROM sheet").fetchone() == (0,)


def test_the_steps_of_a_deed_over_many_files_tell_of_waiting_too(archive):
    said: list[str] = []
    files = begin_file_deed(archive, "scans add", "adding", left_to_do="Run it again", on_wait=said.append)
    with files.step() as writing:
        writing.session.add(Sheet(box="1"))
    archive = settle_on(archive, wait_seconds=1)
    files.archive = archive
    files.close()
    with files.step() as writing:
        writing.session.add(Sheet(box="2"))

    with another_window_writing(archive), pytest.raises(ArchiveBusyError), files.step() as writing:
        writing.session.add(Sheet(box="3"))

    assert len(said) == 1
    files.close()
    assert [row[0] for row in raw(archive).execute("SELECT box FROM sheet ORDER BY id")] == ["1", "2", "theirs"]


# ---- a full disk


@contextmanager
def _adding(archive: Archive, records: list[object]) -> Iterator[None]:
    with deed(archive, "records add", "never") as writing:
        writing.session.add_all(records)
        writing.session.flush()
        yield


@pytest.fixture
def full_disk(small_archive: Archive, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """Let the catalogue grow by two pages and no further, as a full disk does (SQLITE_FULL)."""

    def filled(path: Path, **how: object) -> sqlite3.Connection:
        connection = connect(path, **how)  # type: ignore[arg-type]
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        return connection

    monkeypatch.setattr(catalog.store.locking, "connect", filled)
    return small_archive


def test_a_full_disk_is_told_in_one_line_and_nothing_is_half_done(full_disk):
    before = tables(full_disk, leave_out=set())

    many = [Note(about="sheet", about_id=1, text="x" * 400, noted_at=NOTED) for _ in range(400)]

    with pytest.raises(ArchiveError, match=r"is full.*make room on the disk") as refusal, _adding(full_disk, many):
        pass

    assert "\n" not in str(refusal.value)
    assert tables(full_disk, leave_out=set()) == before
    assert raw(full_disk).execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_a_full_disk_met_by_plain_sql_is_told_alike(full_disk):
    with pytest.raises(ArchiveError, match="is full"), deed(full_disk, "cards read", "many") as writing:
        writing.raw.executemany("INSERT INTO sheet (box) VALUES (?)", [("x" * 400,)] * 400)


# ---- what the daybook hears


def changes(archive: Archive, deed_id: int) -> list[tuple[str, int, str]]:
    """Return what a deed changed, without values."""
    with archive.reading() as connection:
        return [(c.record_table, c.record_id, c.change) for c in changes_of(connection, deed_id)]


def test_a_deed_that_is_refused_leaves_no_daybook_entry(archive):
    with pytest.raises(RefusedError, match="no such box"), _adding(archive, [Sheet()]):
        require(False, "There is no such box.")

    assert all(rows == [] for rows in tables(archive, leave_out={"alembic_version"}).values())


def test_setting_a_column_to_what_it_was_is_no_change(small_archive):
    with deed(small_archive, "sheets correct", "to itself") as writing:
        record = writing.session.get_one(Sheet, 1)
        record.box = record.box
        record.condition = None
        number = writing.deed.id

    assert changes(small_archive, number) == []


def test_a_column_changed_before_it_was_ever_read_keeps_its_former_value(small_archive):
    with deed(small_archive, "sheets correct", "corrected") as writing:
        record = writing.session.get_one(Sheet, 1)
        writing.session.expire(record)
        record.box = "6"
        number = writing.deed.id

    with small_archive.reading() as connection:
        (change,) = changes_of(connection, number)
        assert (change.before, change.after) == ({"box": "5"}, {"box": "6"})


def test_parts_are_heard_of_after_what_they_belong_to(archive):
    with deed(archive, "sheets add", "added") as writing:
        sheet = Sheet()
        sheet.numbers.append(SheetNumber(text="78-14", folded="78-14"))
        writing.session.add(sheet)

    assert changes(archive, 1) == [("sheet", 1, "added"), ("sheet_number", 1, "added")]


def test_a_wording_of_nothing_is_refused_in_words(archive):
    wording = Wording(about="sheet", about_id=9, field="lens", as_written="90?", certainty="possible", noted_at=NOTED)

    with pytest.raises(RefusedError, match="about a record that is not there"), _adding(archive, [wording]):
        pass


def test_a_record_that_notes_are_about_is_not_removed(small_archive):
    with pytest.raises(RefusedError), deed(small_archive, "sheets remove", "never") as writing:
        writing.session.delete(writing.session.get_one(Sheet, 1))

    assert len(tables(small_archive)["sheet"]) == 1


@pytest.mark.parametrize(
    "statement", ["DELETE FROM deed", "DELETE FROM deed_change", "UPDATE deed_change SET before = ''"]
)
def test_the_daybook_is_only_added_to(small_archive, statement):
    with pytest.raises(sqlite3.IntegrityError, match="only added to"):
        raw(small_archive).execute(statement)


# ---- many windows at once

WRITER = """
import sys
from pathlib import Path
from catalog.model import Sheet, SheetNumber
from catalog.store.archive import open_archive
from catalog.store.writing import deed

archive = open_archive(sys.argv[1])
print("ready", flush=True)
sys.stdin.readline()
for n in range(50):
    with deed(archive, "sheets add", f"window {sys.argv[2]}, sheet {n}") as writing:
        sheet = Sheet(box=sys.argv[2])
        sheet.numbers.append(SheetNumber(text=f"{sys.argv[2]}-{n}", folded=f"{sys.argv[2]}-{n}"))
        writing.session.add(sheet)
"""


@pytest.mark.slow
@pytest.mark.parametrize("journal", ["wal", "delete"])
def test_eight_windows_writing_at_once_lose_nothing_and_meet_no_error(archive, journal):
    archive = settle_on(archive, journal=f'"{journal}"')
    windows = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(archive.folder), str(n)],
            cwd=ROOT,
            text=True,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        for n in range(8)
    ]
    for window in windows:
        assert window.stdout is not None
        assert window.stdout.readline() == "ready\n"

    for window in windows:
        assert window.stdin is not None
        window.stdin.write("\n")
        window.stdin.flush()
    complaints = [window.communicate()[1] for window in windows]

    assert complaints == [""] * 8
    assert [window.returncode for window in windows] == [0] * 8
    with archive.reading() as connection:
        numbers = {row[0] for row in connection.execute("SELECT text FROM sheet_number")}
        assert numbers == {f"{w}-{n}" for w in range(8) for n in range(50)}
        assert connection.execute("SELECT count(*), max(id) FROM deed WHERE state = 'done'").fetchone() == (400, 400)
        assert connection.execute("SELECT count(*) FROM deed_change").fetchone() == (800,)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
