"""``tiebeam notes``: notes, and wordings of doubt, about a record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli.common import archive_option, csv_option, json_option
from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import print_rows
from catalog.cli.typed import Typed, said_by_option, source_option, typed_origin
from catalog.rules.vocabulary import CERTAINTIES

if TYPE_CHECKING:
    from catalog.store.archive import Archive


@click.group()
def notes() -> None:
    """Notes and wordings of doubt about a record."""


def typed_about(archive: Archive, text: str) -> tuple[str, int]:
    """Return the table and id of the record something is said about."""
    from catalog.store.show import identify

    with archive.reading() as connection:
        return identify(connection, text)


@notes.command()
@click.argument("about")
@click.argument("text")
@click.option("--heading", help="What kind of remark it is.")
@source_option
@said_by_option
@deed_options
def add(
    archive: Archive, *, about: str, text: str, heading: str | None, source: str | None, said_by: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Add a note about a record (S12, a number or a name); the text is kept exactly."""
    from catalog.actions.notes import add_note

    table, record_id = typed_about(archive, about)
    origin = typed_origin(archive, source, said_by)
    add_note(
        archive,
        about=table,
        about_id=record_id,
        text=text,
        heading=heading,
        said_by=origin,
        desk=desk_for(dry_run),
    )


@notes.command()
@click.argument("number", type=int)
@click.option("--text")
@click.option("--heading")
@source_option
@said_by_option
@deed_options
def correct(
    archive: Archive, *, number: int, text: str | None, heading: str | None, source: str | None,
    said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a note, by the NUMBER that the list gives it."""
    from catalog.actions.notes import correct_note

    typed = Typed(archive).plain(heading=heading).record("source_id", source, "source")
    typed.record("said_by_id", said_by, "person")
    if text is not None:
        typed.facts["text"] = text
    correct_note(archive, number, **typed.facts, desk=desk_for(dry_run))


@notes.command()
@click.argument("about")
@click.argument("field")
@click.argument("words")
@click.option("--certainty", type=click.Choice(CERTAINTIES), help="Otherwise what the words themselves say.")
@source_option
@said_by_option
@deed_options
def doubt(
    archive: Archive, *, about: str, field: str, words: str, certainty: str | None, source: str | None,
    said_by: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """
    Add how a fact of a record was put: tiebeam notes doubt S12 lens "90 or 120" --said-by N1

    FIELD is lens, film, exposed, shows, standpoint ... A wording that is certain settles the doubts before it.
    """
    from dataclasses import replace

    from catalog.actions.notes import add_wording
    from catalog.rules.doubt import parse_doubt

    table, record_id = typed_about(archive, about)
    put = parse_doubt(words)
    put = replace(put, certainty=certainty) if certainty else put
    origin = typed_origin(archive, source, said_by)
    add_wording(
        archive,
        about=table,
        about_id=record_id,
        field=field,
        words=put,
        said_by=origin,
        desk=desk_for(dry_run),
    )


@notes.command("list")
@click.argument("about", required=False)
@archive_option
@json_option
@csv_option
def list_notes(archive: Archive, *, about: str | None, as_json: bool, as_csv: bool) -> None:
    """List notes and wordings of doubt: of one record, or all."""
    from catalog.store.lists import NoteRow, list_rows

    table, record_id = typed_about(archive, about) if about else (None, None)
    with archive.reading() as connection:
        rows = list(list_rows(connection, NoteRow, about=table, about_id=record_id))
    columns = [
        ("", lambda row: f"{row.sort} {row.id}"),
        ("heading", lambda row: row.heading),
        ("text", lambda row: row.text),
        ("how sure", lambda row: row.certainty),
        ("says who", lambda row: row.card or row.said_by or row.source),
    ]
    print_rows(rows, "note", columns, empty="No notes.", as_json=as_json, as_csv=as_csv)


@notes.command()
@click.argument("about")
@archive_option
@json_option
def show(archive: Archive, *, about: str, as_json: bool) -> None:
    """Show the record whole, with everything said about it."""
    from catalog.cli.show import show_record

    show_record(archive, *typed_about(archive, about), as_json)
