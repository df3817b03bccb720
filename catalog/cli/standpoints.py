"""``tiebeam standpoints``: where the camera stood."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import list_command, show_command
from catalog.cli.places import latitude_option, longitude_option
from catalog.cli.typed import Typed, said_by_option, source_option, typed_id, typed_origin

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive


@click.group()
def standpoints() -> None:
    """Where the camera stood; revisits share a standpoint."""


def _facts(command: Command) -> Command:
    for option in (
        click.option("--alignments", help="What lined up with what, in words."),
        click.option("--height", metavar="METRES", help="Height of the lens above ground."),
        longitude_option,
        latitude_option,
        click.option("--in", "place", metavar="PLACE", help="The place it is in; doubt is kept (Osk?)."),
    ):
        command = option(command)
    return source_option(said_by_option(deed_options(command)))


def _typed(
    archive: Archive, words: str | None, place: str | None, latitude: float | None, longitude: float | None,
    height: str | None, alignments: str | None,
) -> Typed:  # fmt: skip
    typed = Typed(archive).plain(words=words, latitude_deg=latitude, longitude_deg=longitude, alignments=alignments)
    return typed.measure("height_m", height).record("place_id", place, "place")


@standpoints.command()
@click.argument("words")
@_facts
def add(
    archive: Archive, *, words: str, place: str | None, latitude: float | None, longitude: float | None,
    height: str | None, alignments: str | None, source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a standpoint, described in WORDS ("on the weir, left bank")."""
    from catalog.actions.standpoints import add_standpoint

    typed = _typed(archive, words, place, latitude, longitude, height, alignments)
    origin = typed_origin(archive, source, said_by)
    add_standpoint(archive, **typed.facts, wordings=typed.wordings, said_by=origin, desk=desk_for(dry_run))


@standpoints.command()
@click.argument("standpoint")
@click.option("--words", help="A better description.")
@_facts
def correct(
    archive: Archive, *, standpoint: str, words: str | None, place: str | None, latitude: float | None,
    longitude: float | None, height: str | None, alignments: str | None, source: str | None, said_by: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Correct a standpoint; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.standpoints import correct_standpoint

    typed = _typed(archive, words, place, latitude, longitude, height, alignments)
    origin = typed_origin(archive, source, said_by)
    correct_standpoint(
        archive, typed_id(archive, standpoint, "standpoint"), **typed.facts, wordings=typed.wordings,
        said_by=origin, desk=desk_for(dry_run),
    )  # fmt: skip


standpoints.add_command(
    list_command(
        "StandpointRow",
        "standpoint",
        [
            ("standpoint", lambda row: row.words),
            ("in", lambda row: row.place),
            ("alignments", lambda row: row.alignments),
            ("views", lambda row: str(row.views)),
        ],
        words="List the standpoints.",
        empty="No standpoints yet. Add one with: tiebeam standpoints add WORDS --in PLACE",
    )
)
standpoints.add_command(show_command("standpoint", words="Show a standpoint whole, with the views from it."))
