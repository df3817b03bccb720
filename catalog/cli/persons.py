"""``tiebeam persons``: persons and firms. Addresses are private."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli.common import archive_option, csv_option, json_option
from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import print_rows, show_command
from catalog.cli.typed import Typed, typed_id
from catalog.rules.vocabulary import PERSON_KINDS

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive


@click.group()
def persons() -> None:
    """Persons and firms."""


def _facts(command: Command) -> Command:
    for option in (
        click.option("--contact", help="Telephone, mail; private."),
        click.option("--address", help="Private: told only where it is asked for."),
        click.option("--role", help="Photographer, lab, gallery, buyer, builder, historian ..."),
        click.option("--kind", type=click.Choice(PERSON_KINDS)),
    ):
        command = option(command)
    return deed_options(command)


@persons.command()
@click.argument("name")
@_facts
def add(
    archive: Archive, *, name: str, kind: str | None, role: str | None, address: str | None, contact: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Add a person or firm."""
    from catalog.actions.persons import add_person

    typed = Typed(archive).plain(name=name, kind=kind, role=role, address=address, contact=contact)
    add_person(archive, **typed.facts, desk=desk_for(dry_run))


@persons.command()
@click.argument("person")
@click.option("--name")
@_facts
def correct(
    archive: Archive, *, person: str, name: str | None, kind: str | None, role: str | None, address: str | None,
    contact: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a person or firm; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.persons import correct_person

    typed = Typed(archive).plain(name=name, kind=kind, role=role, address=address, contact=contact)
    correct_person(archive, typed_id(archive, person, "person"), **typed.facts, desk=desk_for(dry_run))


@persons.command("list")
@click.option("--private", is_flag=True, help="Tell addresses and contacts too.")
@archive_option
@json_option
@csv_option
def list_persons(archive: Archive, *, private: bool, as_json: bool, as_csv: bool) -> None:
    """List the persons and firms; addresses and contacts only with --private."""
    from catalog.store.lists import PersonRow, list_rows

    with archive.reading() as connection:
        rows = list(list_rows(connection, PersonRow, private=private))
    columns = [("name", lambda row: row.name), ("role", lambda row: row.role), ("kind", lambda row: row.kind)]
    if private:
        columns += [("address", lambda row: row.address), ("contact", lambda row: row.contact)]
    print_rows(
        rows, "person", columns, empty="No persons yet. Add one with: tiebeam persons add NAME", as_json=as_json,
        as_csv=as_csv, without=() if private else ("address", "contact"),
    )  # fmt: skip


persons.add_command(show_command("person", words="Show a person or firm."))
