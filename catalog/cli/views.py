"""``tiebeam views``: what the frames show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import joined, list_command, show_command
from catalog.cli.typed import (
    Typed,
    choose_part,
    said_by_option,
    source_option,
    typed_elevation,
    typed_id,
    typed_origin,
    typed_subject,
)
from catalog.errors import RefusedError
from catalog.rules.references import format_reference
from catalog.rules.vocabulary import CERTAINTIES, PARTS

if TYPE_CHECKING:
    from catalog.actions.views import Shown
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive

elevation_option = click.option("--elevation", metavar="SIDE", help="Which side (E, north front); doubt is kept (E?).")
part_option = click.option("--part", type=click.Choice(PARTS), help="Which part of it.")


@click.group()
def views() -> None:
    """What the frames show."""


def typed_shown(
    archive: Archive, subjects: tuple[str, ...], elevation: str | None, part: str | None,
    is_principal: bool | None = None,
) -> list[Shown]:  # fmt: skip
    """Return what a view shows; side and part belong to the first subject typed, and to each it may be."""
    from catalog.actions.views import Shown

    if not subjects and (elevation or part):
        raise click.UsageError("--elevation and --part say which side of something: name it with --shows.")
    side, side_words = typed_elevation(elevation)
    shown = []
    for count, text in enumerate(subjects):
        for table, record_id, certainty, words in typed_subject(archive, text):
            at_first = count == 0
            shown.append(
                Shown(
                    building_id=record_id if table == "building" else None,
                    place_id=record_id if table == "place" else None,
                    elevation=side if at_first else None,
                    part=part if at_first else None,
                    certainty=certainty,
                    is_principal=is_principal,
                    words=words,
                    elevation_words=side_words if at_first else None,
                )
            )
    return shown


def _facts(command: Command) -> Command:
    for option in (
        click.option("--visit", metavar="VISIT", help="The day in the field (D3)."),
        click.option("--standpoint", metavar="STANDPOINT", help="Where the camera stood; doubt is kept."),
        click.option("--title"),
    ):
        command = option(command)
    return source_option(said_by_option(deed_options(command)))


def typed_view(archive: Archive, title: str | None, standpoint: str | None, visit: str | None) -> Typed:
    """Return the facts of a view itself, its standpoint with how certain that is."""
    typed = Typed(archive).plain(title=title).record("standpoint_id", standpoint, "standpoint")
    typed.record("visit_id", visit, "visit")
    if standpoint is not None:
        words = typed.wordings.get("standpoint")
        typed.facts["standpoint_certainty"] = words.certainty if words else "certain"
    return typed


@views.command()
@click.option("--shows", multiple=True, metavar="WHAT", help="A building or place; doubt is kept (Osk Mill?).")
@elevation_option
@part_option
@_facts
def add(
    archive: Archive, *, shows: tuple[str, ...], elevation: str | None, part: str | None, title: str | None,
    standpoint: str | None, visit: str | None, source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a view; --elevation and --part are of the first thing it shows, which is its principal one."""
    from catalog.actions.views import add_view

    shown = typed_shown(archive, shows, elevation, part)
    typed = typed_view(archive, title, standpoint, visit)
    if not shown and not typed.facts:
        raise click.UsageError("Say what the view shows (--shows), or give it a title, a standpoint or a visit.")
    add_view(
        archive, shows=shown, **typed.facts, wordings=typed.wordings,
        said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


@views.command()
@click.argument("view")
@_facts
def correct(
    archive: Archive, *, view: str, title: str | None, standpoint: str | None, visit: str | None,
    source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a view itself; what it shows is corrected with: views correct-shown"""
    from catalog.actions.views import correct_view

    typed = typed_view(archive, title, standpoint, visit)
    correct_view(
        archive, typed_id(archive, view, "view"), **typed.facts, wordings=typed.wordings,
        said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


@views.command("shows")
@click.argument("view")
@click.argument("what")
@elevation_option
@part_option
@click.option("--principal", is_flag=True, help="It is what the view is of.")
@source_option
@said_by_option
@deed_options
def add_shown(
    archive: Archive, *, view: str, what: str, elevation: str | None, part: str | None, principal: bool,
    source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a building or place that a view shows; doubt is kept (Osk Mill?)."""
    from catalog.actions.views import add_subject

    view_id = typed_id(archive, view, "view")
    origin = typed_origin(archive, source, said_by)
    shown = typed_shown(archive, (what,), elevation, part, principal or None)
    if len(shown) > 1:
        raise RefusedError(f"{what!r} is several; add each one, with its doubt, by itself.")
    add_subject(archive, view_id, shown[0], said_by=origin, desk=desk_for(dry_run))


@views.command("correct-shown")
@click.argument("view")
@click.argument("number", type=int, required=False)
@click.option("--is", "becomes", metavar="WHAT", help="What it shows, said anew: Brome Hall, or probably Brome Hall.")
@click.option("--certainty", type=click.Choice(CERTAINTIES), help="How sure that is.")
@elevation_option
@click.option("--part", type=click.Choice([*PARTS, ""]), help="Which part of it.")
@click.option("--principal/--not-principal", default=None, help="Whether it is what the view is of.")
@source_option
@said_by_option
@deed_options
def correct_shown(
    archive: Archive, *, view: str, number: int | None, becomes: str | None, certainty: str | None,
    elevation: str | None, part: str | None, principal: bool | None, source: str | None, said_by: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Correct something a view shows; NUMBER says which where it shows several (without it they are listed)."""
    from catalog.actions.views import correct_subject

    view_id = typed_id(archive, view, "view")
    subject_id = choose_part(archive, "view_subject", view_id, number, "thing shown")
    typed = Typed(archive).plain(certainty=certainty, part=part, is_principal=principal)
    words = side_words = None
    if becomes is not None:
        found = typed_subject(archive, becomes)
        if len(found) > 1:
            raise RefusedError(f"{becomes!r} is several; correct this one, and add the others with: views shows")
        table, record_id, said, words = found[0]
        typed.facts[f"{table}_id"] = record_id
        typed.facts.setdefault("certainty", said)
    if elevation is not None:
        typed.facts["elevation"], side_words = typed_elevation(elevation)
    correct_subject(
        archive, view_id, subject_id, **typed.facts, words=words, elevation_words=side_words,
        said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


def _standpoint(row: Any) -> str:
    if row.standpoint_id is None:
        return ""
    doubt = "" if row.standpoint_certainty == "certain" else f" ({row.standpoint_certainty})"
    return format_reference("standpoint", row.standpoint_id) + doubt


views.add_command(
    list_command(
        "ViewRow",
        "view",
        [
            ("title", lambda row: row.title),
            ("shows", lambda row: joined(row.shows)),
            ("from", _standpoint),
            ("visit", lambda row: format_reference("visit", row.visit_id) if row.visit_id else ""),
            ("sheets", lambda row: joined(row.sheets)),
        ],
        words="List the views.",
        empty="No views yet. Add one with: tiebeam views add --shows BUILDING",
    )
)
views.add_command(show_command("view", words="Show a view whole, with the sheets that hold it."))
