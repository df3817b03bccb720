"""``tiebeam ledger``: what was written about a print, a number, an edition or a person, entry by entry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from catalog.cli._print_words import print_entries, private_option
from catalog.cli.common import archive_option, csv_option, json_option

if TYPE_CHECKING:
    import sqlite3

    from catalog.store.archive import Archive


@click.command()
@click.argument("what", nargs=-1, required=True)
@private_option
@archive_option
@json_option
@csv_option
def ledger(archive: Archive, *, what: tuple[str, ...], private: bool, as_json: bool, as_csv: bool) -> None:
    """
    List the ledger of WHAT: a print (P88, E3 7/15), an edition (E3), or a person (N4, or a name).

    Entries are in the order they were written. Those that were corrected stay, with the correction after them.
    """
    from catalog.store.ledger import list_entries
    from catalog.store.private_words import hiding

    with archive.reading() as connection:
        table, record_id = _meant(connection, " ".join(what))
        rows = list_entries(connection, table, record_id)
    print_entries(
        rows, hide=hiding(archive, private=private), private=private, as_json=as_json, as_csv=as_csv,
        empty="Nothing is written there.",
    )  # fmt: skip


def _meant(connection: sqlite3.Connection, typed: str) -> tuple[str, int]:
    """Return the table and id that the ledger is asked of; a number without a print has a ledger, too."""
    from catalog.errors import NotFoundError
    from catalog.rules.print_numbers import parse_number
    from catalog.rules.references import parse_reference
    from catalog.store.names import resolve
    from catalog.store.print_names import resolve_place, resolve_print

    referred = parse_reference(typed)
    if referred is not None and referred[0] in ("edition", "person"):
        return referred[0], resolve(connection, typed, referred[0])
    if referred is None and parse_number(typed) is None:
        try:
            return "person", resolve(connection, typed, "person")
        except NotFoundError:
            return "edition", resolve(connection, typed, "edition")
    try:
        return "print", resolve_print(connection, typed)
    except NotFoundError:
        number = parse_number(typed)
        if number is None or (number.edition_id is None and number.run_id is None):
            raise
    row = connection.execute(
        "SELECT id FROM print_number WHERE run_id = ? AND series = ? AND ordinal = ?", resolve_place(connection, typed)
    ).fetchone()
    if row is None:
        raise NotFoundError(f"{typed!r} was neither given nor promised yet.")
    return "print_number", row[0]
