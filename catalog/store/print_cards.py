"""A print's card to read: the print with its ledger, and the ways on to what it was made from."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from catalog.errors import NotFoundError
from catalog.rules.references import format_reference
from catalog.store.names import describe
from catalog.store.prints import find_print
from catalog.store.show import Record, read_record
from catalog.store.trails import Step, trail_of

STATEMENT = """
    SELECT coalesce(p.sheet_id, (SELECT es.sheet_id FROM edition_sheet es WHERE es.edition_id = r.edition_id
        AND (SELECT count(*) FROM edition_sheet WHERE edition_id = r.edition_id) = 1)) AS sheet,
        p.version_id AS edit_version, p.scan_id AS scan, p.view_id AS "view", p.replaces_id AS print,
        r.edition_id AS edition
    FROM print p LEFT JOIN print_number n ON n.id = p.print_number_id LEFT JOIN run r ON r.id = n.run_id
    WHERE p.id = ?
"""
"""What a print was made from; an edition printed from one sheet alone says it for a print that does not."""


@dataclass(frozen=True, slots=True)
class WayOn:
    """A record that a card leads on to."""

    table: str
    reference: str
    words: str


@dataclass(frozen=True, slots=True)
class PrintCard:
    """A print. Names and values are in ``record`` only where they were asked for."""

    record: Record
    edition: Step | None
    written: str | None
    ways: tuple[WayOn, ...]
    trail: tuple[Step, ...]
    """The guide cards of its sheet, for a print of no edition."""


def read_print_card(
    connection: sqlite3.Connection, print_id: int, about_days: int, *, is_private: bool = False
) -> PrintCard:
    """
    Return a print's card.

    Raises:
        NotFoundError: there is no such print.
    """
    cursor = connection.execute(STATEMENT, (print_id,))
    row = cursor.fetchone()
    if row is None:
        raise NotFoundError(f"There is no print {format_reference('print', print_id)}.")
    made_from = dict(zip((column[0] for column in cursor.description), row, strict=True))
    ways = tuple(
        WayOn(table, format_reference(table, found), describe(connection, table, found) or "")
        for table, found in made_from.items()
        if found is not None
    )
    standing = find_print(connection, print_id)
    edition = next((Step(way.reference, way.words) for way in ways if way.table == "edition"), None)
    sheet = made_from["sheet"]
    return PrintCard(
        read_record(connection, "print", print_id, about_days, is_private=is_private),
        edition,
        standing.written if standing is not None else None,
        ways,
        trail_of(connection, "sheet", sheet) if edition is None and sheet is not None else (),
    )
