"""``tiebeam rolls``: rolls of film."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import list_command, show_command
from catalog.cli.typed import Typed, typed_id

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive


@click.group()
def rolls() -> None:
    """Rolls of film."""


def _facts(command: Command) -> Command:
    for option in (
        click.option("--development", help="How it was developed."),
        click.option("--docket", help="The lab's docket."),
        click.option("--camera", metavar="CAMERA"),
        click.option("--film", metavar="FILM", help="Doubt is kept."),
    ):
        command = option(command)
    return deed_options(command)


def _typed(
    archive: Archive, name: str | None, film: str | None, camera: str | None, docket: str | None,
    development: str | None,
) -> Typed:  # fmt: skip
    typed = Typed(archive).plain(name=name, docket=docket, development=development)
    return typed.record("film_id", film, "film_stock").record("camera_id", camera, "camera")


@rolls.command()
@click.argument("name", required=False)
@_facts
def add(
    archive: Archive, *, name: str | None, film: str | None, camera: str | None, docket: str | None,
    development: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a roll, by the NAME it goes by."""
    from catalog.actions.rolls import add_roll

    typed = _typed(archive, name, film, camera, docket, development)
    add_roll(archive, **typed.facts, wordings=typed.wordings, desk=desk_for(dry_run))


@rolls.command()
@click.argument("roll")
@click.option("--name")
@_facts
def correct(
    archive: Archive, *, roll: str, name: str | None, film: str | None, camera: str | None, docket: str | None,
    development: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a roll; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.rolls import correct_roll

    typed = _typed(archive, name, film, camera, docket, development)
    roll_id = typed_id(archive, roll, "roll")
    correct_roll(archive, roll_id, **typed.facts, wordings=typed.wordings, desk=desk_for(dry_run))


rolls.add_command(
    list_command(
        "RollRow",
        "roll",
        [
            ("roll", lambda row: row.name),
            ("film", lambda row: row.film),
            ("camera", lambda row: row.camera),
            ("docket", lambda row: row.docket),
            ("sheets", lambda row: str(row.sheets)),
        ],
        words="List the rolls.",
        empty="No rolls yet. Add one with: tiebeam rolls add NAME",
    )
)
rolls.add_command(show_command("roll", words="Show a roll whole."))
