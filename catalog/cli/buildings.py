"""``tiebeam buildings``: buildings, their names, sites, elevations and chronicle."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import joined, list_command, show_command
from catalog.cli.places import from_option, latitude_option, longitude_option, until_option
from catalog.cli.typed import Typed, choose_part, said_by_option, source_option, typed_elevation, typed_id, typed_origin
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.vocabulary import CHRONICLE_KINDS

if TYPE_CHECKING:
    from catalog.store.archive import Archive

number_argument = click.argument("number", type=int, required=False)
bearing_option = click.option(
    "--bearing",
    type=click.FloatRange(0, 360, max_open=True),
    help="Degrees from north, where it was measured.",
)


@click.group()
def buildings() -> None:
    """Buildings, their names, sites, elevations and chronicle."""


@buildings.command()
@click.argument("name")
@click.option("--kind", help="Water mill, granary, hall ...")
@click.option("--identifier", help="A heritage or land-register number, with its scheme.")
@click.option("--at", metavar="PLACE", help="Where it stands; doubt is kept (Osk?).")
@click.option("--site", help="Where in the place, in words.")
@latitude_option
@longitude_option
@from_option
@until_option
@source_option
@said_by_option
@deed_options
def add(
    archive: Archive, *, name: str, kind: str | None, identifier: str | None, at: str | None, site: str | None,
    latitude: float | None, longitude: float | None, from_: str | None, until: str | None, source: str | None,
    said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a building, standing at a place from and until the dates given."""
    from catalog.actions.buildings import add_building

    typed = Typed(archive).plain(
        name=name,
        kind=kind,
        identifier=identifier,
        site_words=site,
        latitude_deg=latitude,
        longitude_deg=longitude,
    )
    typed.dates(from_=from_, until=until).record("place_id", at, "place", "site").record("source_id", source, "source")
    add_building(
        archive, **typed.facts, wordings=typed.wordings, said_by=typed_origin(archive, source, said_by),
        desk=desk_for(dry_run),
    )  # fmt: skip


@buildings.command()
@click.argument("building")
@click.option("--name", help="A better spelling of its present name; a former name is added with: buildings name")
@click.option("--kind")
@click.option("--identifier")
@deed_options
def correct(
    archive: Archive,
    *,
    building: str,
    name: str | None,
    kind: str | None,
    identifier: str | None,
    dry_run: bool,
) -> None:
    """Correct a building; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.buildings import correct_building

    typed = Typed(archive).plain(name=name, kind=kind, identifier=identifier)
    correct_building(archive, typed_id(archive, building, "building"), **typed.facts, desk=desk_for(dry_run))


@buildings.command("name")
@click.argument("building")
@click.argument("name")
@from_option
@until_option
@source_option
@deed_options
def add_name(
    archive: Archive, *, building: str, name: str, from_: str | None, until: str | None, source: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Add another name that a building had, and while when."""
    from catalog.actions.buildings import add_building_name

    typed = Typed(archive).plain(name=name).dates(from_=from_, until=until).record("source_id", source, "source")
    add_building_name(archive, typed_id(archive, building, "building"), **typed.facts, desk=desk_for(dry_run))


@buildings.command("correct-name")
@click.argument("building")
@click.argument("name")
@click.option("--to", help="A better spelling.")
@from_option
@until_option
@source_option
@deed_options
def correct_name(
    archive: Archive, *, building: str, name: str, to: str | None, from_: str | None, until: str | None,
    source: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct another name of a building."""
    from catalog.actions.buildings import correct_building_name

    typed = Typed(archive).plain(name=to).dates(from_=from_, until=until).record("source_id", source, "source")
    building_id = typed_id(archive, building, "building")
    correct_building_name(archive, building_id, name, **typed.facts, desk=desk_for(dry_run))


@buildings.command()
@click.argument("building")
@click.argument("place")
@from_option
@until_option
@click.option("--words", help="Where in the place, in words.")
@latitude_option
@longitude_option
@source_option
@said_by_option
@deed_options
def site(
    archive: Archive, *, building: str, place: str, from_: str | None, until: str | None, words: str | None,
    latitude: float | None, longitude: float | None, source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add where a building stood, and while when: one that was moved has several sites."""
    from catalog.actions.buildings import add_building_site

    typed = Typed(archive).plain(words=words, latitude_deg=latitude, longitude_deg=longitude)
    typed.dates(from_=from_, until=until).record("place_id", place, "place", "site")
    if typed.facts["place_id"] is None:
        raise RefusedError(f"A site is at one place; {place!r} names several. Ask it with: tiebeam questions add")
    typed.record("source_id", source, "source")
    add_building_site(
        archive, typed_id(archive, building, "building"), **typed.facts, wordings=typed.wordings,
        said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


@buildings.command("correct-site")
@click.argument("building")
@number_argument
@click.option("--at", metavar="PLACE", help="The place it is in.")
@from_option
@until_option
@click.option("--words", help="Where in the place, in words.")
@latitude_option
@longitude_option
@source_option
@said_by_option
@deed_options
def correct_site(
    archive: Archive, *, building: str, number: int | None, at: str | None, from_: str | None, until: str | None,
    words: str | None, latitude: float | None, longitude: float | None, source: str | None, said_by: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Correct a site; NUMBER says which where there are several (without it they are listed)."""
    from catalog.actions.buildings import correct_building_site

    building_id = typed_id(archive, building, "building")
    site_id = choose_part(archive, "building_site", building_id, number, "site")
    typed = Typed(archive).plain(words=words, latitude_deg=latitude, longitude_deg=longitude)
    typed.dates(from_=from_, until=until).record("source_id", source, "source")
    typed.record("place_id", at, "place", "place")
    if "place_id" in typed.facts and typed.facts["place_id"] is None:
        raise RefusedError(f"A site is at one place; {at!r} names none, or several.")
    correct_building_site(
        archive, building_id, site_id, **typed.facts, wordings=typed.wordings,
        said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


@buildings.command()
@click.argument("building")
@click.argument("compass")
@click.option("--name", help="What the side is called (street front).")
@bearing_option
@from_option
@until_option
@deed_options
def elevation(
    archive: Archive, *, building: str, compass: str, name: str | None, bearing: float | None, from_: str | None,
    until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a side of a building by the COMPASS (N, north-east ...), and while when it faced so."""
    from catalog.actions.buildings import add_elevation

    typed = Typed(archive).plain(compass=_side(compass), name=name, bearing_deg=bearing)
    typed.dates(from_=from_, until=until)
    add_elevation(archive, typed_id(archive, building, "building"), **typed.facts, desk=desk_for(dry_run))


@buildings.command("correct-elevation")
@click.argument("building")
@number_argument
@click.option("--compass", help="The side by the compass.")
@click.option("--name")
@bearing_option
@from_option
@until_option
@deed_options
def correct_side(
    archive: Archive, *, building: str, number: int | None, compass: str | None, name: str | None,
    bearing: float | None, from_: str | None, until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct an elevation; NUMBER says which where there are several (without it they are listed)."""
    from catalog.actions.buildings import correct_elevation

    building_id = typed_id(archive, building, "building")
    elevation_id = choose_part(archive, "elevation", building_id, number, "elevation")
    typed = Typed(archive).plain(compass=_side(compass) if compass else None, name=name, bearing_deg=bearing)
    typed.dates(from_=from_, until=until)
    correct_elevation(archive, building_id, elevation_id, **typed.facts, desk=desk_for(dry_run))


@buildings.command()
@click.argument("building")
@click.option("--kind", required=True, type=click.Choice(CHRONICLE_KINDS), help="What sort of thing happened.")
@click.option("--what", required=True, help="What happened, in words.")
@click.option("--date", metavar="DATE", help="When (1957 or 1958; c. 1866).")
@click.option("--by", metavar="WHO", help="Who did it: a person known, or words (by a pupil of ...).")
@source_option
@deed_options
def chronicle(
    archive: Archive, *, building: str, kind: str, what: str, date: str | None, by: str | None, source: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Add something that happened to a building to its chronicle."""
    from catalog.actions.buildings import add_chronicle_entry

    typed = Typed(archive).plain(kind=kind, text=what).dates(date=date).record("source_id", source, "source")
    typed.plain(**_doer(archive, by))
    add_chronicle_entry(archive, typed_id(archive, building, "building"), **typed.facts, desk=desk_for(dry_run))


@buildings.command("correct-chronicle")
@click.argument("building")
@number_argument
@click.option("--kind", type=click.Choice(CHRONICLE_KINDS))
@click.option("--what", help="What happened, in words.")
@click.option("--date", metavar="DATE")
@click.option("--by", metavar="WHO")
@source_option
@deed_options
def correct_chronicle(
    archive: Archive, *, building: str, number: int | None, kind: str | None, what: str | None, date: str | None,
    by: str | None, source: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct an entry of a chronicle; NUMBER says which where there are several (without it they are listed)."""
    from catalog.actions.buildings import correct_chronicle_entry

    building_id = typed_id(archive, building, "building")
    entry_id = choose_part(archive, "chronicle_entry", building_id, number, "entry of the chronicle")
    typed = Typed(archive).plain(kind=kind, text=what).dates(date=date).record("source_id", source, "source")
    if by is not None:
        typed.facts |= {"doer": None, "doer_id": None, **_doer(archive, by)}
    correct_chronicle_entry(archive, building_id, entry_id, **typed.facts, desk=desk_for(dry_run))


def _side(compass: str) -> str:
    side, doubt = typed_elevation(compass)
    if side is None or doubt is not None:
        raise RefusedError(f"An elevation faces one known side; {compass!r} is in doubt. Ask it: tiebeam questions add")
    return side


def _doer(archive: Archive, by: str | None) -> dict[str, Any]:
    """Return who did it: a person where the words are just a person's name, otherwise the words."""
    if not by:
        return {}
    try:
        return {"doer_id": typed_id(archive, by, "person")}
    except NotFoundError:
        return {"doer": by}


buildings.add_command(
    list_command(
        "BuildingRow",
        "building",
        [
            ("building", lambda row: row.name),
            ("kind", lambda row: row.kind),
            ("stands at", lambda row: ", then ".join(row.sites)),
            ("also", lambda row: joined(row.other_names)),
            ("chronicle", lambda row: str(row.chronicle_entries)),
            ("frames", lambda row: str(row.frames)),
        ],
        words="List the buildings.",
        empty="No buildings yet. Add one with: tiebeam buildings add NAME --at PLACE",
    )
)
buildings.add_command(show_command("building", words="Show a building whole, with its chronicle."))
