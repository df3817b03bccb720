"""Small archives and commands for tests: what the test is not about is made here."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest
from click import ClickException
from click.testing import CliRunner

from catalog.actions.buildings import add_building
from catalog.actions.kit import add_lens
from catalog.actions.places import add_place
from catalog.actions.sheets import Number, add_sheet
from catalog.actions.views import Shown
from catalog.cli.main import tiebeam
from catalog.dates import parse_words
from catalog.errors import CatalogError
from catalog.model import RecordedDate
from catalog.store.archive import Archive


def dated(words: str) -> RecordedDate:
    """Return a date as typed in an archive of the nineteen hundreds."""
    return RecordedDate.of(parse_words(words, century=1900), words)


def a_village(archive: Archive, name: str = "Osk") -> int:
    """Add a village and return its id."""
    return add_place(archive, name=name, kind="village")


def a_mill(archive: Archive, name: str = "Osk Mill", place_id: int | None = None, from_: str | None = None) -> int:
    """Add a building and return its id."""
    return add_building(archive, name=name, place_id=place_id, from_=dated(from_) if from_ else None)


def a_sheet(
    archive: Archive, number: str = "78-14", date: str | None = None, shows: int | None = None, **facts: Any
) -> int:
    """Add a sheet, showing a building where one is given, and return its id."""
    shown = [Shown(building_id=shows)] if shows is not None else []
    if date is not None:
        facts["exposed"] = dated(date)
    return add_sheet(archive, numbers=[Number(number, "yearly")], shows=shown, **facts)


def a_lens(archive: Archive, focal_length_mm: float = 90) -> int:
    """Add a lens and return its id."""
    return add_lens(archive, focal_length_mm=focal_length_mm)


@dataclass
class Listener:
    """Hears what the daybook says of each deed."""

    heard: list[str] = field(default_factory=list)

    def __call__(self, words: str) -> None:
        self.heard.append(words)


def rows(archive: Archive, statement: str, *parameters: object) -> list[Any]:
    """Return what a statement reads; rows of one column as its values."""
    with archive.reading() as connection:
        found = connection.execute(statement, parameters).fetchall()
    return [row[0] if len(row) == 1 else tuple(row) for row in found]


@dataclass(frozen=True)
class Outcome:
    """How a command ended: its status and what it wrote."""

    status: int
    out: str
    err: str


def run(archive: Archive, *arguments: str) -> Outcome:
    """Run a command on an archive within this process; a refusal is status 3, as ``catalog.cli.main.run`` has it."""
    result = CliRunner().invoke(tiebeam, ["--archive", str(archive.folder), *arguments], standalone_mode=False)
    if isinstance(result.exception, CatalogError):
        return Outcome(3, result.stdout, f"{result.stderr}tiebeam: {result.exception}\n")
    if isinstance(result.exception, ClickException):
        said = f"{result.stderr}{result.exception.format_message()}\n"
        return Outcome(result.exception.exit_code, result.stdout, said)
    if result.exception is not None:
        raise result.exception
    return Outcome(result.return_value if isinstance(result.return_value, int) else 0, result.stdout, result.stderr)


def done(archive: Archive, *arguments: str) -> str:
    """Run a command that must succeed and return what it said."""
    outcome = run(archive, *arguments)
    if outcome.status != 0:
        pytest.fail(f"{' '.join(arguments)} ended with {outcome.status}: {outcome.err or outcome.out}")
    return outcome.out
