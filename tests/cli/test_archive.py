"""``new``, ``check``, ``backup``, ``upgrade``, ``completion``."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

import catalog.store.connections
from catalog.store.schema import SCHEMA_HEAD
from tests.cli.command_runs import tiebeam
from tests.store.archives import an_archive, fill_small, raw


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The folder of an archive with at least one row in every table."""
    fill_small(an_archive(tmp_path / "archive"))
    return tmp_path / "archive"


def test_new_makes_an_archive_that_says_whose_it_is(tmp_path, capsys):
    said = tiebeam(capsys, "new", tmp_path / "wenn", "--name", "The Wenn valley", "--photographer", "Ida Thornwick")

    assert said.status == 0
    assert said.out.startswith(f"Started the archive 'The Wenn valley' in {tmp_path / 'wenn'}.\n")
    assert said.err == ""
    names = {path.name for path in (tmp_path / "wenn").iterdir()}
    assert names == {"tiebeam.toml", "archive.db", "index-pictures", "documents", "backups"}
    assert 'photographer = "Ida Thornwick"' in (tmp_path / "wenn" / "tiebeam.toml").read_text("utf-8")
    assert tiebeam(capsys, "--archive", tmp_path / "wenn", "check").status == 0


def test_new_takes_any_name_a_person_can_type(tmp_path, capsys):
    name = 'Ida\'s "valley" [sic] \\ Łódź'

    assert tiebeam(capsys, "new", tmp_path / "wenn", "--name", name).status == 0
    assert repr(name) in tiebeam(capsys, "new", tmp_path / "other", "--name", name).out


def test_new_says_what_a_network_share_means(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(catalog.store.connections, "file_system_of", lambda _folder: "cifs")

    assert "network share (cifs)" in tiebeam(capsys, "new", tmp_path / "wenn").out


def test_new_does_not_write_over_what_is_there(folder, tmp_path, capsys):
    (tmp_path / "a file").write_text("x")

    for place, words in ((folder, "is an archive already"), (tmp_path / "a file", "is a file")):
        said = tiebeam(capsys, "new", place)
        assert (said.status, said.out) == (3, "")
        assert words in said.err
        assert said.err.count("\n") == 1


def test_check_of_a_sound_catalogue_says_so(folder, capsys):
    said = tiebeam(capsys, "check", "--archive", folder)

    assert (said.out, said.status) == ("The catalogue is sound.\n", 0)


def test_check_gives_a_line_for_each_finding_and_status_1(folder, capsys):
    raw(an_open(folder)).execute("UPDATE building SET name = 'Brome Hall'")

    said = tiebeam(capsys, "check", "--archive", folder)
    told = json.loads(tiebeam(capsys, "check", "--archive", folder, "--json").out)

    assert said.status == 1
    assert said.out == "search: B1 is not found by its own words. Run: tiebeam check --mend\n"
    assert told["count"] == 1
    assert told["items"][0]["kind"] == "search"
    assert tiebeam(capsys, "check", "--archive", folder, "--mend").status == 0


def an_open(folder: Path):  # type: ignore[no-untyped-def]
    """Return the archive in a folder."""
    from catalog.store.archive import open_archive

    return open_archive(folder)


def test_backup_says_where_the_copy_is(folder, tmp_path, capsys):
    said = tiebeam(capsys, "backup", "--archive", folder, "--to", tmp_path / "elsewhere")

    (copy,) = (tmp_path / "elsewhere").iterdir()
    assert str(copy) in said.out
    assert said.status == 0
    assert sqlite3.connect(copy).execute("SELECT count(*) FROM sheet").fetchone() == (1,)


def test_a_restored_backup_is_the_archive_again(folder, capsys):
    tiebeam(capsys, "backup", "--archive", folder)
    (copy,) = (folder / "backups").iterdir()
    for path in folder.glob("archive.db*"):
        path.unlink()
    said = tiebeam(capsys, "check", "--archive", folder)
    assert said.status == 3
    assert "has no archive.db. Restore one from" in said.err

    shutil.copy(copy, folder / "archive.db")

    assert tiebeam(capsys, "check", "--archive", folder).status == 0


def test_upgrade_with_nothing_to_do_says_so(folder, capsys):
    said = tiebeam(capsys, "upgrade", "--archive", folder)

    assert said.out == f"The catalogue has schema {SCHEMA_HEAD} already; nothing was changed.\n"


def test_a_newer_catalogue_is_refused_in_one_line_by_every_command(folder, capsys):
    raw(an_open(folder)).execute("UPDATE alembic_version SET version_num = '9999'")

    for command in ("daybook", "undo", "check", "backup", "upgrade"):
        said = tiebeam(capsys, command, "--archive", folder)
        if command == "backup":  # a copy of it is no harm
            assert said.status in (0, 3)
            continue
        assert said.status == 3, command
        assert said.err.count("\n") == 1
        assert "schema 9999" in said.err


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_prints_lines_for_the_shell(shell, capsys):
    said = tiebeam(capsys, "completion", shell)

    assert said.status == 0
    assert "_TIEBEAM_COMPLETE" in said.out


def test_completion_lines_are_bash_and_complete_the_nouns(capsys, tmp_path):
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("no bash on this machine")
    script = tmp_path / "completion.bash"
    script.write_text(tiebeam(capsys, "completion", "bash").out)
    subprocess.run([bash, "-n", str(script)], check=True)

    asked = {**os.environ, "_TIEBEAM_COMPLETE": "bash_complete", "COMP_WORDS": "tiebeam day", "COMP_CWORD": "1"}
    code = "from catalog.cli.main import run; run([])"
    told = subprocess.run([sys.executable, "-c", code], env=asked, capture_output=True, text=True, check=False)

    assert told.stdout.split() == ["plain,daybook"]
