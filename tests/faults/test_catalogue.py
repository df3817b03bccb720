"""
Trouble with the catalogue itself: cases G01, G03, G04 and files that are not what their names say.

Whatever is wrong, a person gets one or two lines, status 3, and finds everything as it was.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

import catalog.store.connections
import catalog.store.locking
from catalog.store.connections import connect
from tests.cli.command_runs import tiebeam
from tests.store.archives import an_archive, fill_small

COMMANDS = [("daybook",), ("daybook", "1"), ("undo",), ("check",), ("backup",), ("upgrade",), ("find", "sluice")]


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of an archive with at least one row in every table, its journal written back."""
    archive = an_archive(tmp_path_factory.mktemp("filled") / "archive")
    fill_small(archive, with_edition=False)
    connection = sqlite3.connect(archive.catalogue)
    connection.execute("PRAGMA journal_mode = delete")
    connection.close()
    return archive.folder


@pytest.fixture
def folder(filled: Path, tmp_path: Path) -> Path:
    """A copy of that archive."""
    return shutil.copytree(filled, tmp_path / "archive")


def files(folder: Path) -> dict[str, bytes]:
    """Return what each file of an archive holds."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def _replace(data: bytes) -> Callable[[Path], object]:
    return lambda folder: (folder / "archive.db").write_bytes(data)


def _remake(change: Callable[[bytes], bytes]) -> Callable[[Path], object]:
    return lambda folder: (folder / "archive.db").write_bytes(change((folder / "archive.db").read_bytes()))


def _sql(statements: str) -> Callable[[Path], object]:
    def harm(folder: Path) -> None:
        connection = sqlite3.connect(folder / "archive.db")
        connection.executescript(statements)
        connection.close()

    return harm


JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00H\x00H\x00\x00" + bytes(range(256)) * 40 + b"\xff\xd9"
CATALOGUES: dict[str, Callable[[Path], object]] = {
    "a JPEG": _replace(JPEG),
    "zero bytes": _replace(b""),
    "a page of text": _replace(b"78-14; Osk Mill; c. 1978\n" * 200),
    "only the header": _remake(lambda data: data[:100]),
    "cut in half": _remake(lambda data: data[: len(data) // 2]),
    "cut within its first page": _remake(lambda data: data[:2000]),
    "its first page lost": _remake(lambda data: bytes(4096) + data[4096:]),
    "another program's database": _sql("DROP TABLE alembic_version"),
    "of a later program": _sql("UPDATE alembic_version SET version_num = '9999'"),
    "not there": lambda folder: (folder / "archive.db").unlink(),
    "a folder": lambda folder: ((folder / "archive.db").unlink(), (folder / "archive.db").mkdir()),
}


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
@pytest.mark.parametrize("harm", CATALOGUES)
def test_a_catalogue_that_is_none_is_told_in_a_line_or_two(folder, capsys, harm, command):
    CATALOGUES[harm](folder)
    before = files(folder)

    said = tiebeam(capsys, command[0], "--archive", folder, *command[1:])

    told = said.err if said.status == 3 else said.out
    assert said.status == 3 or (said.status, command) == (1, ("check",)), said
    assert 1 <= told.count("\n") <= 2 or command == ("check",)
    assert "archive.db" in told or "backups/" in told
    assert "Traceback" not in said.err
    assert files(folder) == before


SETTINGS = {
    "a bracket left open": b"[archive\nname = 'x'\n",
    "a quotation left open": b'[archive]\nname = "x\n',
    "an unknown key": b"[archive]\nnmae = 'x'\n",
    "an unknown section": b"[archives]\nname = 'x'\n",
    "a key outside a section": b"name = 'x'\n",
    "a number where words belong": b"[archive]\nname = 7\n",
    "words where a number belongs": b"[catalogue]\nwait_seconds = 'long'\n",
    "a journal that is none": b"[catalogue]\njournal = 'memory'\n",
    "bytes that are no text": b"[archive]\nname = '\xc9glise'\n",
    "a JPEG": JPEG,
}


@pytest.mark.parametrize("command", [("daybook",), ("undo",), ("upgrade",)], ids=" ".join)
@pytest.mark.parametrize("harm", SETTINGS)
def test_settings_that_cannot_be_followed_are_told_in_a_line_or_two(folder, capsys, harm, command):
    (folder / "tiebeam.toml").write_bytes(SETTINGS[harm])
    before = files(folder)

    said = tiebeam(capsys, command[0], "--archive", folder)

    assert (said.status, said.out) == (3, "")
    assert said.err.startswith("tiebeam: tiebeam.toml")
    assert said.err.count("\n") <= 2
    assert files(folder) == before


def test_a_folder_that_is_no_archive_is_told_with_what_to_do(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("TIEBEAM_ARCHIVE", raising=False)

    for words in (("daybook",), ("daybook", "--archive", str(tmp_path / "nowhere"))):
        said = tiebeam(capsys, *words)
        assert said.status == 3
        assert said.err.endswith("tiebeam new FOLDER\n")


def test_g01_a_share_in_wal_mode_is_brought_to_the_safer_journal(folder, capsys, monkeypatch):
    connection = sqlite3.connect(folder / "archive.db")
    connection.execute("PRAGMA journal_mode = wal")
    connection.close()
    monkeypatch.setattr(catalog.store.connections, "file_system_of", lambda _folder: "nfs4")

    assert tiebeam(capsys, "undo", "2", "--archive", folder).status == 0

    connection = sqlite3.connect(folder / "archive.db")
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_g03_a_second_window_waits_says_so_and_ends_in_a_refusal(folder, capsys):
    settings = folder / "tiebeam.toml"
    settings.write_text(settings.read_text("utf-8").replace("wait_seconds = 30", "wait_seconds = 1"), "utf-8")
    other = sqlite3.connect(folder / "archive.db", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")

    said = tiebeam(capsys, "undo", "2", "--archive", folder)

    assert said.status == 3
    assert said.err.splitlines() == [
        "Another tiebeam is writing to this archive; waiting for it to finish ...",
        "tiebeam: archive.db: another tiebeam is writing to this archive. Nothing was changed; try again.",
    ]
    other.execute("ROLLBACK")
    assert tiebeam(capsys, "undo", "2", "--archive", folder).status == 0


@pytest.mark.parametrize("statement", ["UPDATE sheet SET lens_id = 999", "DELETE FROM kit WHERE id = 1"])
def test_g04_a_link_to_nothing_is_refused_by_the_database_itself(folder, statement):
    connection = connect(folder / "archive.db", writing=True)

    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        connection.execute(statement)


def test_a_full_disk_is_told_in_one_line_and_nothing_is_half_done(folder, capsys, monkeypatch):
    def filled(path: Path, **how: object) -> sqlite3.Connection:
        connection = connect(path, **how)  # type: ignore[arg-type]
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")
        return connection

    connection = sqlite3.connect(folder / "archive.db")
    connection.execute("DELETE FROM deed_file")
    connection.executemany(  # a deed whose undo needs more room than its doing left
        "INSERT INTO deed_change (deed_id, record_table, record_id, change) VALUES (1, 'person', ?, 'added')",
        [(n,) for n in range(1000, 1400)],
    )
    connection.executemany(
        "INSERT INTO person (id, name, address) VALUES (?, 'x', ?)", [(n, "y" * 200) for n in range(1000, 1400)]
    )
    connection.commit()
    connection.close()
    assert tiebeam(capsys, "undo", "2", "--archive", folder).status == 0
    before = files(folder)["archive.db"]
    monkeypatch.setattr(catalog.store.locking, "connect", filled)

    said = tiebeam(capsys, "undo", "1", "--archive", folder)

    assert said.status == 3
    assert "is full" in said.err
    assert said.err.endswith("Nothing was changed; make room on the disk and try again.\n")
    assert said.err.count("\n") == 1
    monkeypatch.undo()
    (folder / "archive.db").touch()
    assert tiebeam(capsys, "check", "--archive", folder).out.count("damage") == 0
    assert len(before) == len(files(folder)["archive.db"])
    assert tiebeam(capsys, "undo", "1", "--archive", folder).status == 0


def test_a_copy_of_the_archive_made_by_hand_works_like_the_first(folder, tmp_path, capsys):
    shutil.copytree(folder, tmp_path / "copy")

    assert tiebeam(capsys, "undo", "2", "--archive", tmp_path / "copy").status == 0
    assert tiebeam(capsys, "check", "--archive", folder).status == 0
