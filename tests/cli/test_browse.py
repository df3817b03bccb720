"""``tiebeam browse`` before its cards lie on the desk: what cannot be opened is said as by every other command."""

from __future__ import annotations

import sqlite3

import pytest

from catalog.cli.main import run
from tests.sample import copy_sample


def browse(*arguments: str) -> int:
    try:
        run(["browse", *arguments])
    except SystemExit as left:
        return int(left.code or 0)
    raise AssertionError("a command always leaves with a status")


@pytest.fixture
def terminal(monkeypatch):
    """Let the command believe in a terminal; the cards themselves are opened by name only."""
    opened = []
    monkeypatch.setattr("catalog.cli.browse._has_terminal", lambda: True)
    monkeypatch.setattr(
        "catalog.cli.browse._open", lambda archive, reference, said, is_private=False: opened.append((reference, said))
    )  # fmt: skip
    return opened


def test_without_a_terminal_it_names_the_commands_to_use(sample, capsys):
    assert browse("--archive", str(sample)) == 3
    assert "The cards need a terminal" in capsys.readouterr().err


@pytest.mark.parametrize(("typed", "reference"), [("S1", "S1"), ("78-15", "S6"), ("Osk Mill", "B1"), ("Oske", "L4"),
                                                  ("l4", "L4")])  # fmt: skip
def test_it_opens_at_what_is_named(sample, terminal, typed, reference):
    assert browse(typed, "--archive", str(sample)) == 0
    assert terminal == [(reference, [])]


def test_it_opens_at_the_first_guide_card(sample, terminal):
    assert browse("--archive", str(sample)) == 0
    assert terminal == [(None, [])]


def test_a_number_of_several_sheets_is_asked_about(sample, terminal, capsys):
    assert browse("78-14", "--archive", str(sample)) == 3
    assert "S5" in capsys.readouterr().err
    assert terminal == []


def test_a_name_of_nothing_is_refused(sample, terminal, capsys):
    assert browse("Lighthouse", "--archive", str(sample)) == 3
    assert "'Lighthouse'" in capsys.readouterr().err


def test_no_archive_is_said_in_one_line(tmp_path, terminal, capsys):
    assert browse("--archive", str(tmp_path)) == 3
    assert "is no archive" in capsys.readouterr().err


def test_an_older_catalogue_names_the_command_that_upgrades_it(tmp_path, sample, terminal, capsys):
    folder = copy_sample(sample, tmp_path / "wenn")
    with sqlite3.connect(folder / "archive.db") as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0000'")
    connection.close()

    assert browse("--archive", str(folder)) == 3
    assert "tiebeam upgrade" in capsys.readouterr().err
    assert terminal == []


def test_a_deed_cut_short_is_settled_and_said_on_the_first_card(tmp_path, sample, terminal):
    folder = copy_sample(sample, tmp_path / "wenn")
    with sqlite3.connect(folder / "archive.db") as connection:
        connection.execute(
            "INSERT INTO deed (kind, words, at, state, schema, process) VALUES ('sidecars write', 'x',"
            " '2026-11-25T09:30:00Z', 'under way', '0003', NULL)"
        )
    connection.close()

    assert browse("--archive", str(folder)) == 0
    ((reference, said),) = terminal
    assert reference is None
    assert len(said) == 1
    with sqlite3.connect(folder / "archive.db") as connection:
        assert connection.execute("SELECT count(*) FROM deed WHERE state = 'under way'").fetchone() == (0,)
    connection.close()


def test_opening_the_command_imports_no_screens():
    import subprocess
    import sys

    code = "import sys, catalog.cli.browse; print([m for m in sys.modules if m.split('.')[0] == 'textual'])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert out.stdout.strip() == "[]"
