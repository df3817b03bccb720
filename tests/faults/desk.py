"""A command as a person types it, and how it left; the whole catalogue as text, to see that nothing changed."""

from __future__ import annotations

import shlex
import sqlite3
from dataclasses import dataclass
from pathlib import Path

import pytest

from catalog.cli.main import run


@dataclass(frozen=True)
class Left:
    """How a command left: its status, what it said, what it complained of."""

    status: int
    out: str
    err: str


def leave(capsys: pytest.CaptureFixture[str], archive: Path, typed: str) -> Left:
    """Run a command on an archive and return how it left; a traceback would end the test."""
    words = shlex.split(typed)
    if "--archive" not in words and words[0] not in ("new", "demo"):
        words += ["--archive", str(archive)]
    capsys.readouterr()
    try:
        run(words)
    except SystemExit as left:
        status = left.code
    captured = capsys.readouterr()
    assert isinstance(status, int)
    return Left(status, captured.out, captured.err)


def catalogue_text(archive: Path) -> list[str]:
    """Return every row of the catalogue as SQL text."""
    connection = sqlite3.connect(archive / "archive.db")
    try:
        return list(connection.iterdump())
    finally:
        connection.close()
