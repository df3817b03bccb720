"""Editions to read: the promise, its runs, sizes and prices, and what became of every number."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace

from catalog.rules.editions import PriceStep, price_now
from catalog.rules.ledger import Hold, standing
from catalog.rules.money import Money
from catalog.store.ledger import read_number_entries


@dataclass(frozen=True, slots=True)
class EditionRow:
    """
    An edition as it is listed. ``limit`` counts every run; ``None`` is open.

    ``given`` are the numbers that prints carry, ``sold`` those sold or given away; proofs are not counted in either,
    and a replacement is no number more.
    """

    id: int
    title: str | None
    view_id: int
    state: str
    since_edtf: str | None
    since_words: str | None
    since_earliest: int | None
    since_latest: int | None
    limit: int | None
    sizes_count: str
    sizes: str | None
    given: int
    sold: int
    out: int
    process: str | None
    crop: str | None
    statement: str
    stated_edtf: str | None
    stated_words: str | None
    stated_earliest: int | None
    stated_latest: int | None
    published_in: str | None


_MADE = """
    (SELECT count(DISTINCT n.id) FROM run r JOIN print_number n ON n.run_id = r.id AND n.series = 'numbered'
        JOIN print p ON p.print_number_id = n.id JOIN print_standing t ON t.print_id = p.id
        WHERE r.edition_id = e.id AND {which})
"""
_EDITIONS = f"""
    SELECT e.id, e.title, e.view_id, coalesce(s.state, 'planned') AS state, s.since_edtf, s.since_words,
        s.since_earliest, s.since_latest,
        (SELECT CASE WHEN count(*) = count(limit_count) THEN sum(limit_count) END FROM run WHERE edition_id = e.id)
            AS "limit",
        e.sizes_count,
        (SELECT group_concat(name, '; ') FROM (SELECT z.name FROM run r JOIN size z ON z.run_id = r.id
            WHERE r.edition_id = e.id ORDER BY z.id)) AS sizes,
        {_MADE.format(which="t.state <> 'never made'")} AS given,
        {_MADE.format(which="t.owner_id IS NOT NULL")} AS sold,
        {_MADE.format(which="t.is_out = 1 AND t.owner_id IS NULL")} AS out,
        e.process, e.crop, e.statement, e.stated_edtf, e.stated_words, e.stated_earliest, e.stated_latest,
        e.published_in
    FROM edition e LEFT JOIN edition_state s
        ON s.id = (SELECT id FROM edition_state WHERE edition_id = e.id ORDER BY id DESC LIMIT 1)
"""
EDITION_STATEMENTS = {
    "all": f"{_EDITIONS} ORDER BY e.id",
    "one": f"{_EDITIONS} WHERE e.id = :id",
    "of view": f"{_EDITIONS} WHERE e.view_id = :id ORDER BY e.id",
    "of sheet": f"{_EDITIONS} WHERE e.id IN (SELECT edition_id FROM edition_sheet WHERE sheet_id = :id) ORDER BY e.id",
}


def list_editions(connection: sqlite3.Connection) -> list[EditionRow]:
    """Return every edition."""
    return [EditionRow(*row) for row in connection.execute(EDITION_STATEMENTS["all"])]


def editions_of(connection: sqlite3.Connection, table: str, record_id: int) -> list[EditionRow]:
    """Return the editions of a view or of a sheet."""
    return [EditionRow(*row) for row in connection.execute(EDITION_STATEMENTS[f"of {table}"], {"id": record_id})]


def find_edition(connection: sqlite3.Connection, edition_id: int) -> EditionRow | None:
    """Return one edition, or ``None``."""
    row = connection.execute(EDITION_STATEMENTS["one"], {"id": edition_id}).fetchone()
    return EditionRow(*row) if row else None


@dataclass(frozen=True, slots=True)
class RunRow:
    """A run: its limit, its sizes and proofs in words, how many of it were sold, and what the next one costs."""

    id: int
    edition_id: int
    limit: int | None
    numbering: str
    sizes: str | None
    proofs: str | None
    sold: int
    price: Money | None = None


RUNS = """
    SELECT r.id, r.edition_id, r.limit_count AS "limit", r.numbering,
        (SELECT group_concat(told, '; ') FROM (SELECT name || coalesce(': ' || image, '')
            || coalesce(' on ' || paper, '') AS told FROM size WHERE run_id = r.id ORDER BY id)) AS sizes,
        (SELECT group_concat(allowed || ' ' || kind, ', ') FROM proof_allowance WHERE run_id = r.id) AS proofs,
        (SELECT count(DISTINCT n.id) FROM print_number n JOIN print p ON p.print_number_id = n.id
            JOIN print_standing t ON t.print_id = p.id
            WHERE n.run_id = r.id AND n.series = 'numbered' AND t.owner_id IS NOT NULL)
            AS sold
    FROM run r WHERE r.edition_id = :id ORDER BY r.id
"""
PRICES = """
    SELECT s.run_id, s.size_id, z.name, s.from_sold, s.price_minor, s.currency FROM price_step s
    JOIN run r ON r.id = s.run_id LEFT JOIN size z ON z.id = s.size_id
    WHERE r.edition_id = :id ORDER BY s.run_id, s.size_id, s.from_sold
"""


@dataclass(frozen=True, slots=True)
class PriceRow:
    """A line of a price list: from so many sold on, for one size or all of a run."""

    run_id: int
    size_id: int | None
    size: str | None
    from_sold: int
    price_minor: int
    currency: str

    @property
    def price(self) -> Money:
        """The price."""
        return Money(self.price_minor, self.currency)


def list_prices(connection: sqlite3.Connection, edition_id: int) -> list[PriceRow]:
    """Return the price list of an edition."""
    return [PriceRow(*row) for row in connection.execute(PRICES, {"id": edition_id})]


def list_runs(connection: sqlite3.Connection, edition_id: int) -> list[RunRow]:
    """Return the runs of an edition, each with what its next print costs where one price holds for all its sizes."""
    prices = list_prices(connection, edition_id)
    rows = [RunRow(*row) for row in connection.execute(RUNS, {"id": edition_id})]
    return [replace(row, price=next_price(prices, row.id, None, row.sold)) for row in rows]


def next_price(prices: list[PriceRow], run_id: int, size_id: int | None, sold: int) -> Money | None:
    """Return what the next print of a run costs: by the price of its size, else by that of the run."""
    for size in dict.fromkeys((size_id, None)):
        steps = [PriceStep(row.from_sold, row.price) for row in prices if row.run_id == run_id and row.size_id == size]
        price = price_now(steps, sold)
        if price is not None:
            return price
    return None


@dataclass(frozen=True, slots=True)
class NumberRow:
    """A number that was given or promised, and what became of it; its last print, where it has one."""

    id: int
    run_id: int
    series: str
    ordinal: int
    written: str
    print_id: int | None
    replaces_id: int | None
    state: str
    custodian_id: int | None
    custodian: str | None
    owner_id: int | None
    since: str | None
    hold: str | None
    held_for_id: int | None
    held_for: str | None


NUMBERS = """
    SELECT n.id, n.run_id, n.series, n.ordinal, n.written, p.id AS print_id, p.replaces_id,
        coalesce(t.state, 'free') AS state, t.custodian_id, holder.name AS custodian, t.owner_id, t.since, t.hold,
        t.held_for_id, waiting.name AS held_for
    FROM run r JOIN print_number n ON n.run_id = r.id
    LEFT JOIN print p ON p.id = (SELECT max(id) FROM print WHERE print_number_id = n.id AND life <> 'void')
    LEFT JOIN print_standing t ON t.print_id = p.id
    LEFT JOIN person holder ON holder.id = t.custodian_id
    LEFT JOIN person waiting ON waiting.id = t.held_for_id
    WHERE r.edition_id = :id ORDER BY n.run_id, n.series <> 'numbered', n.series, n.ordinal
"""
_PERSON = "SELECT name FROM person WHERE id = ?"


def list_numbers(connection: sqlite3.Connection, edition_id: int) -> list[NumberRow]:
    """Return every number of an edition that was given, with its state and who has it."""
    rows = [NumberRow(*row) for row in connection.execute(NUMBERS, {"id": edition_id}).fetchall()]
    return [row if row.print_id is not None else _held(connection, row) for row in rows]


def _held(connection: sqlite3.Connection, row: NumberRow) -> NumberRow:
    """Return a number without a print with what was promised on it."""
    hold: Hold | None = standing(read_number_entries(connection, row.id)).hold
    if hold is None:
        return row
    person = connection.execute(_PERSON, (hold.person_id,)).fetchone()
    return replace(
        row, state=hold.kind, since=hold.since_edtf, hold=hold.kind, held_for_id=hold.person_id,
        held_for=person[0] if person else None,
    )  # fmt: skip
