"""``tiebeam visits``: days in the field."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import date_words, list_command, show_command
from catalog.cli.typed import Typed, said_by_option, source_option, typed_id, typed_origin

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive


@click.group()
def visits() -> None:
    """Days in the field."""


def _facts(command: Command) -> Command:
    for option in (
        click.option("--said", help="What was said there."),
        click.option("--company", help="Who came along."),
        click.option("--weather"),
        click.option("--light"),
        click.option("--at", metavar="PLACE", help="Where; doubt is kept (Osk?)."),
        click.option("--date", metavar="DATE", help="When, in words or EDTF."),
    ):
        command = option(command)
    return source_option(said_by_option(deed_options(command)))


def _typed(archive: Archive, date: str | None, at: str | None, **plain: str | None) -> Typed:
    return Typed(archive).plain(**plain).dates(date=date).record("place_id", at, "place")


@visits.command()
@_facts
def add(
    archive: Archive, *, date: str | None, at: str | None, light: str | None, weather: str | None,
    company: str | None, said: str | None, source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a day (or doubtful date) in the field."""
    from catalog.actions.visits import add_visit

    typed = _typed(archive, date, at, light=light, weather=weather, company=company, said=said)
    origin = typed_origin(archive, source, said_by)
    add_visit(archive, **typed.facts, wordings=typed.wordings, said_by=origin, desk=desk_for(dry_run))


@visits.command()
@click.argument("visit")
@_facts
def correct(
    archive: Archive, *, visit: str, date: str | None, at: str | None, light: str | None, weather: str | None,
    company: str | None, said: str | None, source: str | None, said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a visit (D3); what is not given stays, an empty text takes a fact away."""
    from catalog.actions.visits import correct_visit

    typed = _typed(archive, date, at, light=light, weather=weather, company=company, said=said)
    origin = typed_origin(archive, source, said_by)
    correct_visit(
        archive, typed_id(archive, visit, "visit"), **typed.facts, wordings=typed.wordings, said_by=origin,
        desk=desk_for(dry_run),
    )  # fmt: skip


visits.add_command(
    list_command(
        "VisitRow",
        "visit",
        [
            ("when", lambda row: date_words(row.date_edtf, row.date_words)),
            ("where", lambda row: row.place),
            ("light", lambda row: row.light),
            ("weather", lambda row: row.weather),
            ("company", lambda row: row.company),
        ],
        words="List the visits, in order of date.",
        empty="No visits yet. Add one with: tiebeam visits add --date DATE --at PLACE",
    )
)
visits.add_command(show_command("visit", words="Show a visit whole."))
