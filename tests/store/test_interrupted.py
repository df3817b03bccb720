"""Deeds that were cut short are settled at the next opening, and only those."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from datetime import timedelta
from hashlib import sha256
from pathlib import Path

import pytest

import catalog.store.interrupted as interrupted
from catalog import clock
from catalog.actions.deeds import undo_deed
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from catalog.store.daybook import files_of, get_deed
from catalog.store.interrupted import began, decode_path, encode_path, is_alive, settle_interrupted, this_process
from catalog.store.writing import begin_file_deed
from tests.store.archives import raw, tables

ROOT = Path(__file__).parents[2]

# Writes the first of three files it intends, says so, and waits for the end.
VICTIM = """
import sys, time
from hashlib import sha256
from pathlib import Path
from catalog.model import Sheet
from catalog.store.archive import open_archive
from catalog.store.writing import begin_file_deed

archive, folder = open_archive(sys.argv[1]), Path(sys.argv[2])
files = begin_file_deed(archive, "sidecars write", "writing", left_to_do="Run it again: tiebeam sidecars write")
with files.step() as writing:
    writing.session.add(Sheet(box="whole"))
new = {name: f"new {name}".encode() for name in ("a.xmp", "b.xmp", "c.xmp")}
files.intend((str(folder / name), None, None, sha256(data).hexdigest()) for name, data in new.items())
(folder / "a.xmp").write_bytes(new["a.xmp"])
with files.step() as writing:
    writing.session.add(Sheet(box="never committed"))
    writing.session.flush()
    print("in the middle", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def killed(archive: Archive, tmp_path: Path) -> Archive:
    """An archive whose last window was killed in the middle of a deed over files."""
    (tmp_path / "files").mkdir()
    command = [sys.executable, "-c", VICTIM, str(archive.folder), str(tmp_path / "files")]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "in the middle\n"
        process.send_signal(signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
    return archive


def test_a_killed_deed_is_closed_and_says_what_is_left_to_do(killed):
    said = settle_interrupted(killed)

    assert said == ["Deed 1 (sidecars write) was cut short. Run it again: tiebeam sidecars write"]
    with killed.reading() as connection:
        assert get_deed(connection, 1).state == "interrupted"
        assert [(file.state, file.reason) for file in files_of(connection, 1)] == [
            ("done", None), ("not done", "cut short"), ("not done", "cut short"),
        ]  # fmt: skip
        assert connection.execute("SELECT box FROM sheet").fetchall() == [("whole",)]
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_settled_deed_is_not_told_of_again_but_check_remembers_it(killed):
    settle_interrupted(killed)

    assert settle_interrupted(killed) == []
    assert [f.words for f in check_archive(killed)] == [
        "Deed 1 (sidecars write) was cut short. Run it again: tiebeam sidecars write"
    ]


def test_a_killed_deed_can_be_undone_for_what_it_did(killed, tmp_path):
    settle_interrupted(killed)

    done = undo_deed(killed)

    assert (done.records, done.files) == (1, 1)
    assert list((tmp_path / "files").iterdir()) == []
    assert tables(killed)["sheet"] == []
    assert check_archive(killed) == []


def test_a_killed_deed_is_not_settled_while_someone_writes_but_reading_goes_on(killed):
    writer = raw(killed)
    writer.execute("BEGIN IMMEDIATE")

    assert settle_interrupted(killed) == [
        "Deed 1 (sidecars write) was cut short; it is settled when the catalogue can be written."
    ]
    writer.execute("ROLLBACK")
    assert len(settle_interrupted(killed)) == 1
    assert settle_interrupted(killed) == []


def test_a_deed_that_is_under_way_is_left_alone(archive):
    files = begin_file_deed(archive, "scans add", "adding", left_to_do="Run it again")

    assert settle_interrupted(archive) == []
    files.finish("added")


def test_a_process_number_given_to_another_process_does_not_keep_a_deed_open(archive):
    begin_file_deed(archive, "scans add", "adding", left_to_do="Run it again")
    # This very process is alive, but one that began at another moment under its number is not.
    host, number, _ = this_process().rsplit(":", 2)
    raw(archive).execute("UPDATE deed SET process = ?", (f"{host}:{number}:long ago",))

    assert settle_interrupted(archive) == ["Deed 1 (scans add) was cut short. Run it again"]


def test_when_a_process_began_is_the_same_at_every_look():
    assert began(os.getpid()) == began(os.getpid()) is not None
    time.sleep(0.05)  # proc(5) counts in hundredths of a second
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as other:
        assert began(os.getpid()) != began(other.pid)
        other.communicate(b"\n")


@pytest.mark.parametrize("written", [None, "", "nonsense", "host:12"])
def test_a_deed_that_does_not_say_whose_it_is_counts_as_cut_short(written):
    assert not is_alive(written)


def test_a_process_of_another_computer_is_taken_to_be_at_work_for_a_day():
    with clock.fixed():
        hour_ago, long_ago = (
            (clock.now() - before).strftime("%Y-%m-%dT%H:%M:%SZ") for before in (timedelta(hours=1), timedelta(days=2))
        )

        assert is_alive("elsewhere:12:x", hour_ago)
        assert not is_alive("elsewhere:12:x", long_ago)


def test_a_computer_whose_name_holds_a_colon_is_known_again(monkeypatch):
    monkeypatch.setattr(socket, "gethostname", lambda: "odd:name")

    assert is_alive(this_process())
    assert interrupted.this_process().startswith("odd:name:")


@pytest.mark.parametrize("name", ["plain.xmp", "Église.xmp", "bytes.xmp"])
def test_a_path_is_kept_and_read_back(name):
    assert decode_path(encode_path(f"/media/{name}")) == Path(f"/media/{name}")


@pytest.mark.skipif(os.name == "nt", reason="Windows file names are text")
def test_a_path_that_is_not_utf8_is_kept_and_read_back(archive, tmp_path):
    # Case F03: the byte C9 alone is no UTF-8.
    path = os.fsdecode(os.fsencode(tmp_path) + b"/\xc9glise.xmp")
    files = begin_file_deed(archive, "sidecars write", "writing", left_to_do="Run it again")

    files.intend([(path, None, None, sha256(b"x").hexdigest())])

    with archive.reading() as connection:
        assert decode_path(files_of(connection, 1)[0].path) == Path(path)
