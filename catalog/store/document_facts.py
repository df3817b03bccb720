"""The facts that documents are made from: prints, whom they go to, editions. Plain SQL, frozen rows."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.errors import NotFoundError
from catalog.rules.references import format_reference
from catalog.store.names import describe


@dataclass(frozen=True, slots=True)
class DocumentPrint:
    """
    One print with everything a document may say of it.

    ``entry_*`` is the entry of the ledger that brought it where it is; ``condition`` is from the last report of
    its condition, or of damage, that was not corrected. ``signed_for_id`` is the document under which its
    custodian has it.
    """

    id: int
    number: str | None
    series: str | None
    run_id: int | None
    edition_id: int | None
    view_id: int | None
    sheet_id: int | None
    copied_from_id: int | None
    scan_id: int | None
    version_id: int | None
    size: str | None
    process: str | None
    image_size: str | None
    paper_size: str | None
    paper: str | None
    pulled_edtf: str | None
    pulled_by: str | None
    signed_where: str | None
    signed_with: str | None
    is_estate_stamp: bool | None
    is_signed: bool
    markings: str | None
    exposed_edtf: str | None
    state: str
    custodian_id: int | None
    custodian: str | None
    owner_id: int | None
    owner: str | None
    since_edtf: str | None
    due_edtf: str | None
    place: str | None
    value_minor: int | None
    currency: str | None
    entry_id: int | None
    entry_kind: str | None
    entry_person_id: int | None
    entry_price_minor: int | None
    entry_currency: str | None
    condition: str | None
    signed_for_id: int | None


_PRINTS = """
    SELECT p.id, n.written AS number, n.series, n.run_id, r.edition_id,
        coalesce(e.view_id, p.view_id, (SELECT view_id FROM sheet_view WHERE sheet_id = s.id ORDER BY id LIMIT 1))
            AS view_id,
        s.id AS sheet_id, s.copied_from_id, p.scan_id, p.version_id, z.name AS size,
        coalesce(p.process, e.process) AS process, coalesce(p.image_size, z.image) AS image_size,
        coalesce(p.paper_size, z.paper) AS paper_size, p.paper, p.pulled_edtf, puller.name AS pulled_by,
        p.signed_where, p.signed_with, p.is_estate_stamp, t.is_signed, p.markings, s.exposed_edtf,
        t.state, t.custodian_id, holder.name AS custodian, t.owner_id, owner.name AS owner, t.since AS since_edtf,
        t.due AS due_edtf, t.place, t.value_minor, t.currency, t.entry_id, g.kind AS entry_kind,
        g.person_id AS entry_person_id, g.price_minor AS entry_price_minor, g.currency AS entry_currency,
        (SELECT words FROM ledger_entry c WHERE c.print_id = p.id AND c.kind IN ('condition report', 'damaged')
            AND NOT EXISTS (SELECT 1 FROM ledger_entry x WHERE x.corrects_id = c.id) ORDER BY c.id DESC LIMIT 1)
            AS condition,
        (SELECT a.id FROM document_line l JOIN document a ON a.id = l.document_id
            WHERE l.print_id = p.id AND a.person_id = t.custodian_id AND a.state = 'issued'
            AND a.kind IN ('consignment note', 'loan form') AND a.issued_at >= g.written_at ORDER BY a.id DESC LIMIT 1)
            AS signed_for_id
    FROM print p
    JOIN print_standing t ON t.print_id = p.id
    LEFT JOIN print_number n ON n.id = p.print_number_id
    LEFT JOIN run r ON r.id = n.run_id
    LEFT JOIN edition e ON e.id = r.edition_id
    LEFT JOIN size z ON z.id = p.size_id
    LEFT JOIN sheet s ON s.id = coalesce(p.sheet_id,
        (SELECT sheet_id FROM edition_sheet WHERE edition_id = e.id ORDER BY id LIMIT 1))
    LEFT JOIN person puller ON puller.id = p.pulled_by_id
    LEFT JOIN person holder ON holder.id = t.custodian_id
    LEFT JOIN person owner ON owner.id = t.owner_id
    LEFT JOIN ledger_entry g ON g.id = t.entry_id
"""


def read_prints(connection: sqlite3.Connection, print_ids: Sequence[int]) -> list[DocumentPrint]:
    """
    Return prints in the order asked for.

    Raises:
        NotFoundError: one of them is not there.
    """
    found = []
    for print_id in print_ids:
        row = connection.execute(f"{_PRINTS} WHERE p.id = ?", (print_id,)).fetchone()
        if row is None:
            raise NotFoundError(f"There is no print {format_reference('print', print_id)}. Nothing was issued.")
        found.append(DocumentPrint(*row))
    return found


_LIVE = "t.state NOT IN ('spoiled', 'destroyed', 'replaced', 'never made')"


def prints_with(connection: sqlite3.Connection, person_id: int, states: Sequence[str] = ()) -> list[int]:
    """Return the prints that a person has, by the ledger; of ``states`` only, where any are given."""
    marks = ", ".join("?" * len(states))
    only = f" AND t.state IN ({marks})" if states else f" AND {_LIVE}"
    return _ids(connection, f"t.custodian_id = ?{only}", (person_id, *states))


def prints_sold_to(connection: sqlite3.Connection, person_id: int) -> list[int]:
    """Return the prints that the photographer sold to a person, owned by them still, that no invoice in force lists."""
    unbilled = (
        "t.owner_id = ? AND EXISTS (SELECT 1 FROM ledger_entry e WHERE e.print_id = t.print_id AND e.kind = 'sold'"
        " AND e.person_id = t.owner_id AND e.from_id IS NULL"
        " AND NOT EXISTS (SELECT 1 FROM ledger_entry x WHERE x.corrects_id = e.id))"
        " AND NOT EXISTS (SELECT 1 FROM document_line l JOIN document a ON a.id = l.document_id"
        " WHERE l.print_id = t.print_id AND a.kind = 'invoice' AND a.state = 'issued' AND a.person_id = t.owner_id)"
    )
    return _ids(connection, unbilled, (person_id,))


def prints_of_the_house(connection: sqlite3.Connection) -> list[int]:
    """Return the prints that the photographer owns, wherever they are, but for those that are gone."""
    return _ids(connection, f"t.owner_id IS NULL AND {_LIVE} AND t.state NOT IN ('lost', 'stolen')", ())


def _ids(connection: sqlite3.Connection, where: str, given: Sequence[object]) -> list[int]:
    rows = connection.execute(f"SELECT t.print_id FROM print_standing t WHERE {where} ORDER BY t.print_id", given)
    return [row[0] for row in rows]


def last_sale(connection: sqlite3.Connection, print_id: int, person_id: int) -> tuple[int, str, str | None] | None:
    """Return what a person paid the photographer for a print, in minor units with the currency, and when (EDTF)."""
    row: tuple[int, str, str | None] | None = connection.execute(
        "SELECT price_minor, currency, date_edtf FROM ledger_entry e WHERE print_id = ? AND kind = 'sold'"
        " AND person_id = ? AND from_id IS NULL AND price_minor IS NOT NULL"
        " AND NOT EXISTS (SELECT 1 FROM ledger_entry x WHERE x.corrects_id = e.id) ORDER BY id DESC LIMIT 1",
        (print_id, person_id),
    ).fetchone()
    return row


def picture_words(connection: sqlite3.Connection, view_id: int | None) -> str:
    """Return what a print shows, in words; empty where no view is known."""
    return (describe(connection, "view", view_id) or "") if view_id is not None else ""


@dataclass(frozen=True, slots=True)
class Addressee:
    """A person as a document addresses them."""

    id: int
    name: str
    address: str | None


def read_addressee(connection: sqlite3.Connection, person_id: int) -> Addressee:
    """
    Return name and address of a person.

    Raises:
        NotFoundError: there is none.
    """
    row = connection.execute("SELECT id, name, address FROM person WHERE id = ?", (person_id,)).fetchone()
    if row is None:
        raise NotFoundError(f"There is no person {format_reference('person', person_id)}. Nothing was issued.")
    return Addressee(*row)


# ---- editions, as documents tell them


@dataclass(frozen=True, slots=True)
class DocumentEdition:
    """An edition's promise, how it stands, and its amendments as (EDTF, words, what they changed)."""

    id: int
    view_id: int
    title: str | None
    statement: str
    stated_edtf: str | None
    published_in: str | None
    sizes_count: str
    state: str
    amendments: tuple[tuple[str | None, str, str], ...]


@dataclass(frozen=True, slots=True)
class DocumentRun:
    """One run: its limit, how numbers are written, its sizes, and the proofs declared by kind."""

    id: int
    limit: int | None
    numbering: str
    sizes: tuple[str, ...]
    proofs: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class DocumentNumber:
    """A number that was given, with its print if it has one, and how that stands; buyers are not named."""

    series: str
    ordinal: int
    written: str
    print_id: int | None
    state: str | None
    since_edtf: str | None
    size: str | None
    ends: str
    """How it came to its end, as JSON: [kind, EDTF, words] of each entry, in the order of writing."""
    replaced_by_id: int | None
    held: str | None


_EDITION_FIELDS = ("id", "view_id", "title", "statement", "stated_edtf", "published_in", "sizes_count", "state")


def read_edition(connection: sqlite3.Connection, edition_id: int) -> DocumentEdition:
    """
    Return an edition.

    Raises:
        NotFoundError: there is none.
    """
    row = connection.execute(
        "SELECT id, view_id, title, statement, stated_edtf, published_in, sizes_count, coalesce((SELECT state FROM"
        " edition_state WHERE edition_id = edition.id ORDER BY id DESC LIMIT 1), 'planned') FROM edition WHERE id = ?",
        (edition_id,),
    ).fetchone()
    if row is None:
        raise NotFoundError(f"There is no edition {format_reference('edition', edition_id)}. Nothing was issued.")
    amendments = connection.execute(
        "SELECT made_edtf, words, changed FROM edition_amendment WHERE edition_id = ? ORDER BY id", (edition_id,)
    ).fetchall()
    return DocumentEdition(**dict(zip(_EDITION_FIELDS, row, strict=True)), amendments=tuple(amendments))


def read_runs(connection: sqlite3.Connection, edition_id: int) -> list[DocumentRun]:
    """Return the runs of an edition."""
    runs = connection.execute(
        "SELECT id, limit_count, numbering FROM run WHERE edition_id = ? ORDER BY id", (edition_id,)
    )
    return [
        DocumentRun(
            run_id,
            limit,
            numbering,
            tuple(
                row[0] for row in connection.execute("SELECT name FROM size WHERE run_id = ? ORDER BY id", (run_id,))
            ),
            tuple(
                connection.execute(
                    "SELECT kind, allowed FROM proof_allowance WHERE run_id = ? AND allowed > 0 ORDER BY id", (run_id,)
                ).fetchall()
            ),
        )
        for run_id, limit, numbering in runs.fetchall()
    ]


def read_numbers(connection: sqlite3.Connection, run_id: int) -> list[DocumentNumber]:
    """Return every number given in a run with each of its prints, the first before its replacement."""
    rows = connection.execute(
        """
        SELECT n.series, n.ordinal, n.written, p.id, t.state, t.since, z.name,
            (SELECT json_group_array(json_array(kind, date_edtf, words)) FROM (
                SELECT x.kind, x.date_edtf, x.words FROM ledger_entry x WHERE x.print_id = p.id
                AND p.life = 'ended' AND x.kind IN ('lost', 'stolen', 'spoiled', 'destroyed', 'replaced')
                AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = x.id) ORDER BY x.id)),
            replacement.id,
            (SELECT kind FROM ledger_entry h WHERE h.print_number_id = n.id ORDER BY h.id DESC LIMIT 1)
        FROM print_number n
        LEFT JOIN print p ON p.print_number_id = n.id AND p.life <> 'void'
        LEFT JOIN print_standing t ON t.print_id = p.id
        LEFT JOIN size z ON z.id = p.size_id
        LEFT JOIN print replacement ON replacement.replaces_id = p.id AND replacement.life <> 'void'
        WHERE n.run_id = ? ORDER BY n.series <> 'numbered', n.series, n.ordinal, p.id
        """,
        (run_id,),
    )
    return [DocumentNumber(*row) for row in rows]


@dataclass(frozen=True, slots=True)
class PrintCounts:
    """How many prints an edition has made so far that still stand: all, the signed, those without a number."""

    made: int
    signed: int


def count_prints(connection: sqlite3.Connection, edition_id: int) -> PrintCounts:
    """Return how many prints of an edition were made so far and not ended, and how many of them are signed."""
    row = connection.execute(
        "SELECT count(*), ifnull(sum(t.is_signed), 0) FROM print p JOIN print_standing t ON t.print_id = p.id"
        " JOIN print_number n ON n.id = p.print_number_id JOIN run r ON r.id = n.run_id"
        " WHERE r.edition_id = ? AND p.life = 'live'",
        (edition_id,),
    ).fetchone()
    return PrintCounts(*row)


def other_editions(
    connection: sqlite3.Connection, view_id: int, edition_id: int | None
) -> list[tuple[int, str | None]]:
    """Return the other editions of a view: id, and when each was stated."""
    return connection.execute(
        "SELECT id, stated_edtf FROM edition WHERE view_id = ? AND id IS NOT ? ORDER BY id", (view_id, edition_id)
    ).fetchall()


def count_unnumbered(connection: sqlite3.Connection, view_id: int) -> int:
    """Return how many prints of a view without a number the archive knows."""
    count: int = connection.execute(
        "SELECT count(*) FROM print p WHERE p.print_number_id IS NULL AND p.life <> 'void' AND (p.view_id = :view"
        " OR p.sheet_id IN (SELECT sheet_id FROM sheet_view WHERE view_id = :view))",
        {"view": view_id},
    ).fetchone()[0]
    return count
