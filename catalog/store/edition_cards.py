"""An edition's card to read: the promise, what is left of it, and its ledger number by number, a window at a time."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from catalog.errors import NotFoundError
from catalog.rules.ledger import Hold, standing
from catalog.rules.money import Money
from catalog.rules.print_numbers import FRACTION, NUMBERED, SERIES, format_number
from catalog.rules.references import format_reference
from catalog.store.editions import EditionRow, PriceRow, find_edition, list_prices
from catalog.store.ledger import read_number_entries
from catalog.store.names import describe
from catalog.store.show import DateValue


@dataclass(frozen=True, slots=True)
class Series:
    """
    The numbered prints of a run, or its proofs of one kind: a stretch of the ledger, ``lines`` long.

    ``declared`` is how many there may be, ``None`` for an open run. ``pulled`` counts numbers that have a print,
    also one that came to its end: a number is given once. ``promised`` counts those promised or reserved beforehand.
    """

    run_id: int
    series: str
    declared: int | None
    numbering: str
    lines: int
    pulled: int
    promised: int

    @property
    def left(self) -> int | None:
        """How many were neither pulled nor promised; ``None`` for an open run."""
        return None if self.declared is None else max(self.declared - self.pulled - self.promised, 0)


@dataclass(frozen=True, slots=True)
class RunPart:
    """A run: its sizes as declared, and its series."""

    id: int
    limit: int | None
    numbering: str
    sizes: tuple[str, ...]
    series: tuple[Series, ...]

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference("run", self.id)


@dataclass(frozen=True, slots=True)
class Amendment:
    """A later change of rule: its words, what it changed, where it was published."""

    words: str
    changed: str
    published_in: str | None
    made: DateValue


@dataclass(frozen=True, slots=True)
class StateStep:
    """A state the edition came to, and why."""

    state: str
    words: str | None
    since: DateValue


@dataclass(frozen=True, slots=True)
class EditionCard:
    """An edition. ``prices`` are private: empty unless asked for, while ``has_prices`` says that there are any."""

    row: EditionRow
    view: str
    sheets: tuple[tuple[int, str], ...]
    stated: DateValue
    amendments: tuple[Amendment, ...]
    states: tuple[StateStep, ...]
    runs: tuple[RunPart, ...]
    documents: tuple[tuple[int, str], ...]
    prices: tuple[PriceRow, ...]
    has_prices: bool

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference("edition", self.row.id)

    @property
    def series(self) -> tuple[Series, ...]:
        """The stretches of its ledger, in order."""
        return tuple(series for run in self.runs for series in run.series)

    @property
    def lines(self) -> int:
        """How many lines its ledger has."""
        return sum(series.lines for series in self.series)

    @property
    def has_several_sizes(self) -> bool:
        """Whether a number does not say by itself which size it is of."""
        return sum(len(run.sizes) for run in self.runs) > 1


@dataclass(frozen=True, slots=True)
class NumberLine:
    """
    One line of the ledger: a number, and the print that carries it; ``state`` is ``free`` where nothing was given.

    Names and values are private: ``None`` unless they were asked for.
    """

    run_id: int
    series: str
    written: str
    state: str
    print_id: int | None = None
    size: str | None = None
    since: str | None = None
    custodian_id: int | None = None
    custodian: str | None = None
    hold: str | None = None
    held_for_id: int | None = None
    held_for: str | None = None
    held_until: str | None = None
    due: str | None = None
    replaces_id: int | None = None
    value: Money | None = None

    @property
    def reference(self) -> str | None:
        """The print that carries the number."""
        return None if self.print_id is None else format_reference("print", self.print_id)


_LAST_PRINT = """
    LEFT JOIN print p ON p.id = (SELECT max(id) FROM print WHERE print_number_id = n.id AND life <> 'void')
"""
STATEMENTS = {
    "runs": "SELECT id, limit_count, numbering FROM run WHERE edition_id = :id ORDER BY id",
    "sizes": "SELECT z.run_id, z.name || coalesce(': ' || z.image, '') || coalesce(' on ' || z.paper, '')"
    " FROM size z JOIN run r ON r.id = z.run_id WHERE r.edition_id = :id ORDER BY z.run_id, z.id",
    "proofs": "SELECT a.run_id, a.kind, a.allowed FROM proof_allowance a JOIN run r ON r.id = a.run_id"
    " WHERE r.edition_id = :id",
    "given": f"SELECT n.run_id, n.series, count(*), max(n.ordinal), count(p.id) FROM run r"
    f" JOIN print_number n ON n.run_id = r.id {_LAST_PRINT} WHERE r.edition_id = :id GROUP BY n.run_id, n.series",
    "bare": "SELECT n.id, n.run_id, n.series FROM run r JOIN print_number n ON n.run_id = r.id"
    " WHERE r.edition_id = :id AND NOT EXISTS (SELECT 1 FROM print WHERE print_number_id = n.id AND life <> 'void')"
    " AND EXISTS (SELECT 1 FROM ledger_entry WHERE print_number_id = n.id)",
    "sheets": "SELECT sheet_id FROM edition_sheet WHERE edition_id = :id ORDER BY id",
    "stated": "SELECT stated_edtf, stated_words, stated_earliest, stated_latest, stated_doubt FROM edition"
    " WHERE id = :id",
    "amendments": "SELECT words, changed, published_in, made_edtf, made_words, made_earliest, made_latest, made_doubt"
    " FROM edition_amendment WHERE edition_id = :id ORDER BY id",
    "states": "SELECT state, words, since_edtf, since_words, since_earliest, since_latest, since_doubt"
    " FROM edition_state WHERE edition_id = :id ORDER BY id",
    "documents": "SELECT id, kind || CASE state WHEN 'voided' THEN ', voided' ELSE '' END FROM document"
    " WHERE edition_id = :id ORDER BY id",
    "priced": "SELECT count(*) FROM price_step s JOIN run r ON r.id = s.run_id WHERE r.edition_id = :id",
}
"""What a card is read by; ``:id`` is the edition."""


def read_edition_card(connection: sqlite3.Connection, edition_id: int, *, is_private: bool = False) -> EditionCard:
    """
    Return an edition's card; the lines of its ledger are read by ``numbers_of``.

    Raises:
        NotFoundError: there is no such edition.
    """
    row = find_edition(connection, edition_id)
    if row is None:
        raise NotFoundError(f"There is no edition {format_reference('edition', edition_id)}.")

    def rows(name: str) -> list[Any]:
        return connection.execute(STATEMENTS[name], {"id": edition_id}).fetchall()

    return EditionCard(
        row,
        describe(connection, "view", row.view_id) or "",
        tuple((sheet, describe(connection, "sheet", sheet) or "") for (sheet,) in rows("sheets")),
        DateValue(*rows("stated")[0]),
        tuple(
            Amendment(words, changed, published_in, DateValue(*made))
            for words, changed, published_in, *made in rows("amendments")
        ),
        tuple(StateStep(state, words, DateValue(*since)) for state, words, *since in rows("states")),
        tuple(_runs(connection, edition_id)),
        tuple(rows("documents")),
        tuple(list_prices(connection, edition_id)) if is_private else (),
        bool(rows("priced")[0][0]),
    )


def _runs(connection: sqlite3.Connection, edition_id: int) -> Iterator[RunPart]:
    asked = {"id": edition_id}
    sizes = connection.execute(STATEMENTS["sizes"], asked).fetchall()
    proofs = connection.execute(STATEMENTS["proofs"], asked).fetchall()
    given = {(run, series): rest for run, series, *rest in connection.execute(STATEMENTS["given"], asked)}
    promised: dict[tuple[int, str], int] = {}
    for number_id, run, series in connection.execute(STATEMENTS["bare"], asked).fetchall():
        if _hold_of(connection, number_id) is not None:
            promised[run, series] = promised.get((run, series), 0) + 1
    for run, limit, numbering in connection.execute(STATEMENTS["runs"], asked).fetchall():
        declared: dict[str, int | None] = {NUMBERED: limit}
        declared |= {kind: allowed for of, kind, allowed in proofs if of == run}
        told = []
        for series in SERIES:
            count, last, pulled = given.get((run, series), (0, 0, 0))
            if series not in declared and not count:
                continue
            most = declared.get(series, 0)
            # A number beyond what was declared is there only where the catalogue was altered by hand: it is shown.
            lines = count if most is None else max(most, last)
            if lines or series == NUMBERED:
                told.append(Series(run, series, most, numbering, lines, pulled, promised.get((run, series), 0)))
        yield RunPart(run, limit, numbering, tuple(words for of, words in sizes if of == run), tuple(told))


def _hold_of(connection: sqlite3.Connection, number_id: int) -> Hold | None:
    """Return what was promised on a number that has no print."""
    return standing(read_number_entries(connection, number_id)).hold


NUMBERS = f"""
    SELECT n.id, n.ordinal, n.written, p.id, z.name, coalesce(t.state, 'free'), t.since, t.custodian_id, holder.name,
        t.hold, t.held_for_id, waiting.name, t.held_until, t.due, p.replaces_id, t.value_minor, t.currency
    FROM print_number n {_LAST_PRINT}
    LEFT JOIN print_standing t ON t.print_id = p.id
    LEFT JOIN size z ON z.id = p.size_id
    LEFT JOIN person holder ON holder.id = t.custodian_id
    LEFT JOIN person waiting ON waiting.id = t.held_for_id
    WHERE n.run_id = :run AND n.series = :series
"""
WINDOWS = {
    "declared": f"{NUMBERS} AND n.ordinal BETWEEN :first AND :last ORDER BY n.ordinal",
    "open": f"{NUMBERS} ORDER BY n.ordinal LIMIT :last - :first + 1 OFFSET :first - 1",
}
"""A stretch of the ledger: of a declared run by its numbers, of an open one by those that were given."""


def numbers_of(
    connection: sqlite3.Connection, card: EditionCard, first: int, count: int, *, is_private: bool = False
) -> tuple[NumberLine, ...]:
    """Return the lines of an edition's ledger from ``first`` on, the numbers not given yet among them."""
    found: list[NumberLine] = []
    before = 0
    for series in card.series:
        begin, end = max(first - before, 0), min(first + count - before, series.lines)
        if begin < end:
            found += _lines(connection, series, begin + 1, end, is_private=is_private)
        before += series.lines
    return tuple(found)


def _lines(
    connection: sqlite3.Connection, series: Series, first: int, last: int, *, is_private: bool
) -> Iterator[NumberLine]:
    """Yield the lines from the ``first`` to the ``last`` of a series, counted from 1."""
    which = "open" if series.declared is None else "declared"
    asked = {"run": series.run_id, "series": series.series, "first": first, "last": last}
    rows = connection.execute(WINDOWS[which], asked).fetchall()
    if which == "open":
        yield from (_line(connection, series, row, is_private=is_private) for row in rows)
        return
    given = {row[1]: row for row in rows}
    for ordinal in range(first, last + 1):
        row = given.get(ordinal)
        if row is not None:
            yield _line(connection, series, row, is_private=is_private)
        else:
            of = series.declared if series.series != NUMBERED or series.numbering == FRACTION else None
            yield NumberLine(
                series.run_id, series.series, format_number(series.series, ordinal, of, series.numbering), "free"
            )


def _line(connection: sqlite3.Connection, series: Series, row: tuple[Any, ...], *, is_private: bool) -> NumberLine:
    number_id, _, written, print_id, size, state, since, custodian_id, custodian, *rest = row
    hold, held_for_id, held_for, held_until, due, replaces_id, value_minor, currency = rest
    held = _hold_of(connection, number_id) if print_id is None else None
    if held is not None:
        state = hold = held.kind
        since, held_for_id, held_until = held.since_edtf, held.person_id, held.until_edtf
        held_for = _name_of(connection, held_for_id)
    value = Money(value_minor, currency) if is_private and value_minor is not None else None
    return NumberLine(
        series.run_id, series.series, written, state, print_id, size, since, custodian_id,
        custodian if is_private else None, hold, held_for_id, held_for if is_private else None, held_until, due,
        replaces_id, value,
    )  # fmt: skip


def _name_of(connection: sqlite3.Connection, person_id: int | None) -> str | None:
    row = connection.execute("SELECT name FROM person WHERE id = ?", (person_id,)).fetchone()
    return row[0] if row else None


def place_of_print(connection: sqlite3.Connection, card: EditionCard, print_id: int) -> int | None:
    """Return on which line of an edition's ledger (from 0) a print's number stands, or ``None``."""
    row = connection.execute(
        "SELECT n.run_id, n.series, n.ordinal FROM print p JOIN print_number n ON n.id = p.print_number_id"
        " WHERE p.id = ?",
        (print_id,),
    ).fetchone()
    before = 0
    for series in card.series:
        if row is not None and (series.run_id, series.series) == row[:2]:
            if series.declared is not None:
                return before + int(row[2]) - 1
            found = connection.execute(
                "SELECT count(*) FROM print_number WHERE run_id = ? AND series = ? AND ordinal < ?", row
            ).fetchone()
            return before + int(found[0])
        before += series.lines
    return None
