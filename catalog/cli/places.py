"""``tiebeam places``: places, their names and what they belonged to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import joined, list_command, show_command
from catalog.cli.typed import Typed, said_by_option, source_option, typed_id, typed_origin
from catalog.errors import RefusedError

if TYPE_CHECKING:
    from catalog.store.archive import Archive

latitude_option = click.option("--latitude", type=click.FloatRange(-90, 90), help="Degrees north.")
longitude_option = click.option("--longitude", type=click.FloatRange(-180, 180), help="Degrees east.")
from_option = click.option("--from", "from_", metavar="DATE", help="Since when (c. 1790, 1894-05).")
until_option = click.option("--until", metavar="DATE", help="Until when.")


@click.group()
def places() -> None:
    """Places, their names and what they belonged to."""


@places.command()
@click.argument("name")
@click.option("--kind", help="Village, town, parish, county ...")
@click.option("--in", "within", metavar="PLACE", help="What it belongs to; doubt is kept (Wennshire?).")
@latitude_option
@longitude_option
@source_option
@said_by_option
@deed_options
def add(
    archive: Archive, *, name: str, kind: str | None, within: str | None, latitude: float | None,
    longitude: float | None, source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a place."""
    from catalog.actions.places import add_place

    typed = Typed(archive).plain(name=name, kind=kind, latitude_deg=latitude, longitude_deg=longitude)
    typed.record("parent_id", within, "place", "within")
    origin = typed_origin(archive, source, said_by)
    add_place(archive, **typed.facts, wordings=typed.wordings, said_by=origin, desk=desk_for(dry_run))


@places.command()
@click.argument("place")
@click.option("--name", help="A better spelling of its present name; a former name is added with: places name")
@click.option("--kind")
@latitude_option
@longitude_option
@deed_options
def correct(
    archive: Archive, *, place: str, name: str | None, kind: str | None, latitude: float | None,
    longitude: float | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a place; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.places import correct_place

    typed = Typed(archive).plain(name=name, kind=kind, latitude_deg=latitude, longitude_deg=longitude)
    correct_place(archive, typed_id(archive, place, "place"), **typed.facts, desk=desk_for(dry_run))


@places.command("name")
@click.argument("place")
@click.argument("name")
@from_option
@until_option
@click.option("--note", help="A remark on this name.")
@source_option
@deed_options
def add_name(
    archive: Archive, *, place: str, name: str, from_: str | None, until: str | None, note: str | None,
    source: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add another name that a place had, and while when."""
    from catalog.actions.places import add_place_name

    typed = Typed(archive).plain(name=name, note=note).dates(from_=from_, until=until)
    typed.record("source_id", source, "source")
    add_place_name(archive, typed_id(archive, place, "place"), **typed.facts, desk=desk_for(dry_run))


@places.command("correct-name")
@click.argument("place")
@click.argument("name")
@click.option("--to", help="A better spelling.")
@from_option
@until_option
@click.option("--note", help="A remark on this name.")
@source_option
@deed_options
def correct_name(
    archive: Archive, *, place: str, name: str, to: str | None, from_: str | None, until: str | None,
    note: str | None, source: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct another name of a place."""
    from catalog.actions.places import correct_place_name

    typed = Typed(archive).plain(name=to, note=note).dates(from_=from_, until=until)
    typed.record("source_id", source, "source")
    correct_place_name(archive, typed_id(archive, place, "place"), name, **typed.facts, desk=desk_for(dry_run))


@places.command()
@click.argument("place")
@click.argument("parent")
@from_option
@until_option
@source_option
@said_by_option
@deed_options
def within(
    archive: Archive, *, place: str, parent: str, from_: str | None, until: str | None, source: str | None,
    said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add what a place belonged to, and while when; several may hold at one time."""
    from catalog.actions.places import add_place_parent

    typed = Typed(archive).dates(from_=from_, until=until).record("parent_id", parent, "place", "within")
    if typed.facts["parent_id"] is None:
        raise RefusedError(f"A place belongs to one place an entry; {parent!r} names none, or several.")
    typed.record("source_id", source, "source")
    add_place_parent(
        archive, typed_id(archive, place, "place"), **typed.facts, wordings=typed.wordings,
        said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


@places.command("correct-within")
@click.argument("place")
@click.argument("parent")
@click.option("--to", metavar="PLACE", help="What it belonged to instead; PARENT itself settles a doubt.")
@from_option
@until_option
@source_option
@said_by_option
@deed_options
def correct_within(
    archive: Archive, *, place: str, parent: str, to: str | None, from_: str | None, until: str | None,
    source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct what a place belonged to."""
    from catalog.actions.places import correct_place_parent

    typed = Typed(archive).dates(from_=from_, until=until).record("source_id", source, "source")
    typed.record("parent_id", to, "place", "within")
    if "parent_id" in typed.facts and typed.facts["parent_id"] is None:
        raise RefusedError(f"A place belongs to one place an entry; {to!r} names none, or several.")
    correct_place_parent(
        archive, typed_id(archive, place, "place"), typed_id(archive, parent, "place"), **typed.facts,
        wordings=typed.wordings, said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


places.add_command(
    list_command(
        "PlaceRow",
        "place",
        [
            ("place", lambda row: row.name),
            ("kind", lambda row: row.kind),
            ("in", lambda row: joined(row.within)),
            ("also", lambda row: joined(row.other_names)),
        ],
        words="List the places.",
        empty="No places yet. Add one with: tiebeam places add NAME",
    )
)
places.add_command(show_command("place", words="Show a place whole."))
