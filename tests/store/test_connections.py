"""Connections: which journal is safe where, links that are kept, media that cannot be written."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

import catalog.store.connections as connections
from catalog.errors import ArchiveBusyError, ArchiveError, RefusedError
from catalog.model import Sheet
from catalog.store.archive import Archive
from catalog.store.connections import connect, file_system_in, journal_for, set_journal
from catalog.store.new import make_archive
from catalog.store.writing import deed
from tests.store.archives import raw, settle_on

# Lines as proc(5) describes them; the shares and drives are invented.
MOUNTS = """\
22 1 254:0 / / rw,relatime shared:1 - ext4 /dev/root rw
30 22 0:26 / /home rw,relatime shared:2 - btrfs /dev/sdb rw
41 30 0:44 / /home/ida/wenn\\040archive rw,relatime shared:3 - nfs4 shelf:/wenn rw,vers=4.2
42 30 0:45 / /home/ida/back\\134slash rw - cifs //shelf/scans rw
43 22 0:46 / /media/blue rw - exfat /dev/sdc1 rw
44 22 0:47 / /media/blue rw master:7 - fuse.sshfs ida@shelf:/blue rw
45 22 0:48 / /srv rw - 9p share rw
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/var/tmp/archive", "ext4"),
        ("/home/ida/archive", "btrfs"),
        ("/home/ida/wenn archive/x/y", "nfs4"),
        ("/home/ida/wenn archive copy", "btrfs"),
        ("/home/ida/back\\slash", "cifs"),
        ("/media/blue/archive", "fuse.sshfs"),
        ("/srv", "9p"),
    ],
)
def test_the_file_system_of_a_folder_is_told_from_the_list_of_mounts(path, kind):
    assert file_system_in(MOUNTS, Path(path)) == kind


@pytest.mark.parametrize("mounts", ["", "nonsense", "1 2 3", "1 2 3 4 /x rw -", "\n\n"])
def test_a_list_of_mounts_that_says_nothing_settles_nothing(mounts):
    assert file_system_in(mounts, Path("/x")) is None


def test_a_catalogue_on_a_network_share_takes_the_safer_journal_and_says_so(tmp_path, monkeypatch):
    # Case G01. SQLite, "Write-Ahead Logging", section 1: "WAL does not work over a network filesystem".
    monkeypatch.setattr(connections, "file_system_of", lambda _folder: "nfs4")

    archive, sentence = make_archive(tmp_path / "archive")
    with deed(archive, "sheets add", "one") as writing:
        writing.session.add(Sheet())
        mode = writing.raw.execute("PRAGMA journal_mode").fetchone()[0]

    assert sentence is not None
    assert "network share (nfs4)" in sentence
    assert "one window at a time" in sentence
    assert mode == "delete"
    assert not archive.catalogue.with_name("archive.db-wal").exists()


@pytest.mark.usefixtures("forced_to_disk")
def test_a_catalogue_moved_to_a_share_changes_its_journal_at_the_next_deed(small_archive, monkeypatch):
    with deed(small_archive, "sheets add", "one") as writing:
        assert writing.raw.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    monkeypatch.setattr(connections, "file_system_of", lambda _folder: "cifs")

    with deed(small_archive, "sheets add", "two") as writing:
        assert writing.raw.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
        assert writing.raw.execute("PRAGMA synchronous").fetchone()[0] == 2


def test_the_safer_journal_is_not_skipped_because_another_window_reads(small_archive):
    connection, other = raw(small_archive), raw(small_archive)
    connection.execute("PRAGMA busy_timeout = 0")
    connection.execute("PRAGMA journal_mode = wal")
    other.execute("BEGIN")
    other.execute("SELECT count(*) FROM sheet").fetchone()

    with pytest.raises(ArchiveBusyError, match="Close it first"):
        set_journal(connection, "delete")


@pytest.mark.parametrize(("kind", "journal"), [("ext4", "wal"), ("btrfs", "wal"), (None, "wal"), ("NFS", "delete")])
def test_the_usual_journal_is_for_local_disks(tmp_path, monkeypatch, kind, journal):
    monkeypatch.setattr(connections, "file_system_of", lambda _folder: kind)

    assert journal_for(tmp_path, "auto")[0] == journal
    assert journal_for(tmp_path, "delete") == ("delete", None)


def test_the_settings_can_ask_for_the_safer_journal(small_archive):
    archive = settle_on(small_archive, journal='"delete"')

    with deed(archive, "sheets add", "one") as writing:
        assert writing.raw.execute("PRAGMA journal_mode").fetchone()[0] == "delete"


def test_a_record_that_points_to_nothing_is_refused(archive):
    # Case G04: SQLite leaves foreign keys off unless asked.
    with pytest.raises(RefusedError, match="not there"), deed(archive, "sheets add", "one") as writing:
        writing.session.add(Sheet(lens_id=999))

    with archive.reading() as connection:
        assert connection.execute("SELECT count(*) FROM sheet").fetchone() == (0,)
        assert connection.execute("SELECT count(*) FROM deed").fetchone() == (0,)


@pytest.mark.parametrize("writing", [False, True])
def test_every_connection_keeps_links(archive, writing):
    connection = connect(archive.catalogue, writing=writing)

    assert connection.execute("PRAGMA foreign_keys").fetchone() == (1,)


def test_reading_cannot_change_the_catalogue(small_archive):
    with small_archive.reading() as connection, pytest.raises(sqlite3.OperationalError, match="readonly"):
        connection.execute("DELETE FROM note")


@pytest.fixture(params=["a read-only medium", "a full disk"])
def at_rest(small_archive: Archive, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Archive:
    """An archive beside which SQLite can make no files, as was measured on a small file system of its own."""
    opened = connections._opened
    said = {"a read-only medium": "unable to open database file", "a full disk": "disk I/O error"}[request.param]
    raw(small_archive).execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def refusing(path: Path, timeout_s: float, writing: bool, how: str = "") -> sqlite3.Connection:
        if not how:
            raise sqlite3.OperationalError(said)
        return opened(path, timeout_s, writing, how)

    monkeypatch.setattr(os, "access", lambda *_: request.param == "a full disk")
    monkeypatch.setattr(connections, "_opened", refusing)
    return small_archive


def test_an_archive_where_nothing_can_be_written_is_still_read(at_rest):
    with at_rest.reading() as connection:
        assert connection.execute("SELECT count(*) FROM sheet").fetchone() == (1,)


def test_a_deed_where_nothing_can_be_written_is_refused_in_one_line(at_rest):
    with pytest.raises(ArchiveError, match=r"who may write to its folder|make room") as refusal:
        deed(at_rest, "sheets add", "one").__enter__()

    assert "\n" not in str(refusal.value)


def test_a_catalogue_with_unwritten_deeds_beside_it_is_not_read_without_them(at_rest):
    at_rest.catalogue.with_name("archive.db-wal").write_bytes(b"deeds not yet in the catalogue")

    with pytest.raises(ArchiveError, match=r"unable to open|disk I/O"), at_rest.reading():
        pass
