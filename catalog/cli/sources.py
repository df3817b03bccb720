"""``tiebeam sources``: what statements of fact rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import date_words, list_command, show_command
from catalog.cli.typed import Typed, typed_id

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive


@click.group()
def sources() -> None:
    """Sources that statements rest on."""


def _facts(command: Command) -> Command:
    for option in (
        click.option("--kept-at", help="Where it can be seen."),
        click.option("--published", metavar="DATE", help="When it was published, made or told."),
        click.option("--author"),
        click.option("--kind", help="Book, land record, newspaper, map, oral account ..."),
    ):
        command = option(command)
    return deed_options(command)


@sources.command()
@click.argument("title")
@_facts
def add(
    archive: Archive, *, title: str, kind: str | None, author: str | None, published: str | None,
    kept_at: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a source."""
    from catalog.actions.sources import add_source

    typed = Typed(archive).plain(title=title, kind=kind, author=author, kept_at=kept_at).dates(published=published)
    add_source(archive, **typed.facts, desk=desk_for(dry_run))


@sources.command()
@click.argument("source")
@click.option("--title")
@_facts
def correct(
    archive: Archive, *, source: str, title: str | None, kind: str | None, author: str | None,
    published: str | None, kept_at: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a source; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.sources import correct_source

    typed = Typed(archive).plain(title=title, kind=kind, author=author, kept_at=kept_at).dates(published=published)
    correct_source(archive, typed_id(archive, source, "source"), **typed.facts, desk=desk_for(dry_run))


sources.add_command(
    list_command(
        "SourceRow",
        "source",
        [
            ("source", lambda row: row.title),
            ("kind", lambda row: row.kind),
            ("author", lambda row: row.author),
            ("published", lambda row: date_words(row.published_edtf, row.published_words)),
            ("kept at", lambda row: row.kept_at),
        ],
        words="List the sources.",
        empty="No sources yet. Add one with: tiebeam sources add TITLE",
    )
)
sources.add_command(show_command("source", words="Show a source whole."))
