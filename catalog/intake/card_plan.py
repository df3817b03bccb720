"""
What reading a card file would do to the catalogue, row by row; nothing here is stored.

A row is known again by what it says, else by its number. One whose number is not known is a row that is no longer
there, edited, if all its cells but one are the same, or if it stands in that row's place and half of them are.
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from catalog.intake.card_changes import Describer, FieldChange, compare
from catalog.intake.card_facts import Adds, CardTaker, Taken
from catalog.intake.proposals import Card, CardFile


@dataclass(frozen=True, slots=True)
class RowPlan:
    """
    What becomes of one row: ``new``, ``here`` (read already), ``changed``, or ``repeat`` (of an earlier row).

    ``taken`` is what a new or changed row gives the catalogue, ``before`` what a changed one gave it when last read.
    """

    card: Card
    outcome: str
    taken: Taken = field(default_factory=dict)
    sheet_id: int | None = None
    before: Taken = field(default_factory=dict)
    changes: tuple[FieldChange, ...] = ()
    said: tuple[tuple[str, str, str], ...] = ()
    """Each of ``changes`` in words: before, after, and what the catalogue holds."""


@dataclass(frozen=True, slots=True)
class EarlierRow:
    """A row as it was last read: ``number`` is its row in that file; one that ``is_repeat`` gave nothing of its own."""

    id: int
    file: str
    number: int
    key: str
    digest: str
    sheet_id: int
    is_repeat: int


@dataclass(frozen=True, slots=True)
class CardPlan:
    """What reading a file would do. ``added`` holds (table, name) of records the cards name and the catalogue lacks."""

    rows: tuple[RowPlan, ...]
    added: tuple[tuple[str, str], ...] = ()
    gone: tuple[EarlierRow, ...] = ()
    """Rows that an earlier state of the file had, and this one lacks; their sheets stay."""
    also_called: tuple[str, ...] = ()
    """Other names under which most of these rows were read."""
    is_unlike: bool = False
    """Most rows differ from those read under the same name: it may be another index altogether."""

    def count(self, outcome: str) -> int:
        """Return how many rows have this outcome."""
        return sum(row.outcome == outcome for row in self.rows)


_A_FEW = 5


def plan_cards(connection: sqlite3.Connection, file: CardFile, adds: Adds | None = None) -> CardPlan:
    """
    Return what reading ``file`` would do to the catalogue.

    ``adds`` adds the records that cards name and the catalogue lacks; without it (a rehearsal) they only get
    numbers below zero.
    """
    added: list[tuple[str, str]] = []

    def pretend(table: str, name: str, row: int, **_more: Any) -> int:
        added.append((table, name))
        return -len(added)

    def remember(table: str, name: str, row: int, **more: Any) -> int:
        added.append((table, name))
        assert adds is not None
        return adds(table, name, row, **more)

    taker = CardTaker(connection, file, remember if adds else pretend)
    describe = Describer(connection, added)
    matched, gone, names = _match(connection, file)
    rows = []
    for card in file.cards:
        earlier = matched.get(card.row)
        if earlier is None:
            outcome = "new" if card.repeats is None else "repeat"
            rows.append(RowPlan(card, outcome, taker.take(card) if outcome == "new" else {}))
        elif earlier.digest == card.digest:
            rows.append(RowPlan(card, "here", sheet_id=earlier.sheet_id))
        else:
            rows.append(_changed_row(connection, card, earlier, taker, describe))
    return CardPlan(tuple(rows), tuple(added), gone, names, _is_unlike(connection, file, matched))


def _changed_row(
    connection: sqlite3.Connection, card: Card, earlier: EarlierRow, taker: CardTaker, describe: Describer
) -> RowPlan:
    (facts,) = connection.execute("SELECT facts FROM card_row WHERE id = ?", (earlier.id,)).fetchone()
    before = json.loads(facts)
    after = taker.take(card, before)
    changes = compare(connection, earlier.sheet_id, before, after)
    said = tuple(
        (describe(c.field, c.before), describe(c.field, c.after), describe(c.field, c.current)) for c in changes
    )
    return RowPlan(card, "changed" if changes else "here", after, earlier.sheet_id, before, changes, said)


def _is_unlike(connection: sqlite3.Connection, file: CardFile, matched: Mapping[int, EarlierRow]) -> bool:
    """Return whether most of the rows known by the name of the file have less than half of their cells in common."""
    pairs = [(card, matched[card.row]) for card in file.cards if card.row in matched]
    pairs = [(card, earlier) for card, earlier in pairs if earlier.file == file.name]
    differing = [(card, earlier) for card, earlier in pairs if card.digest != earlier.digest]
    if len(pairs) < _A_FEW or len(differing) * 2 <= len(pairs):
        return False
    cells = _cells_of(connection, [earlier for _, earlier in differing])
    unlike = sum(
        len(card.cells.items() & cells[earlier.id].items()) * 2 < max(len(card.cells), len(cells[earlier.id]))
        for card, earlier in differing
    )
    return unlike * 2 > len(pairs)


# ---- rows known again

_Match = tuple[dict[int, EarlierRow], tuple[EarlierRow, ...], tuple[str, ...]]


def _match(connection: sqlite3.Connection, file: CardFile) -> _Match:
    """Return the earlier row of each row that was read before, the earlier rows that are gone, and former names."""
    ever = [
        EarlierRow(*row)
        for row in connection.execute(
            "SELECT r.id, f.name, r.row, r.row_key, r.digest, r.sheet_id, r.facts IS NULL FROM card_row r"
            " JOIN card_file f ON f.id = r.card_file_id WHERE r.sheet_id IS NOT NULL ORDER BY r.id"  # else of prints
        )
    ]
    if not ever:
        return {}, (), ()
    names = _names_of(file, ever)
    sheets = {row.sheet_id for row in ever if row.file in names}
    latest = {row.sheet_id: row for row in ever if not row.is_repeat}
    ours = [latest[sheet] for sheet in sorted(sheets) if sheet in latest]
    cards = [card for card in file.cards if card.repeats is None]
    matched = _by_key(cards, ours)
    _match_repeats(file, ever, matched)
    used = {row.id for row in matched.values()}
    elsewhere = {row.digest: row for row in latest.values() if row.id not in used}
    for card in cards:
        if card.row not in matched and card.digest in elsewhere:
            matched[card.row] = elsewhere.pop(card.digest)
    used = {row.id for row in matched.values()}
    left = [row for row in ours if row.id not in used]
    if left:
        cells = _cells_of(connection, left)
        matched.update(_by_all_cells_but_one([card for card in cards if card.row not in matched], left, cells))
        matched.update(_by_place(cards, matched, ours, cells))
        used = {row.id for row in matched.values()}
    whole = _whole_files(file, ever, names)
    gone = (row for row in left if row.id not in used and row.file in whole)
    return matched, tuple(gone), tuple(sorted(names - {file.name}))


def _names_of(file: CardFile, ever: Iterable[EarlierRow]) -> set[str]:
    """Return the names this index was read under: its own, and those of files that had most of its rows."""
    digests = {card.digest for card in file.cards}
    shared: dict[str, set[str]] = defaultdict(set)
    for row in ever:
        if row.digest in digests:
            shared[row.file].add(row.digest)
    return {file.name} | {name for name, same in shared.items() if len(same) * 2 > len(digests)}


def _whole_files(file: CardFile, ever: Iterable[EarlierRow], names: Iterable[str]) -> set[str]:
    """Return the names of files of which this one is more than a part: a row it lacks is gone."""
    digests = {card.digest for card in file.cards}
    whole = {file.name}
    for name in names:
        theirs = {row.digest for row in ever if row.file == name}
        if len(theirs & digests) * 2 > len(theirs):
            whole.add(name)
    return whole


def _match_repeats(file: CardFile, ever: Iterable[EarlierRow], matched: dict[int, EarlierRow]) -> None:
    known = {(row.file, row.digest): row for row in ever if row.is_repeat}
    for card in file.cards:
        if card.repeats is not None and (file.name, card.digest) in known:
            matched[card.row] = known[file.name, card.digest]


_COUNTED = re.compile(r"#\d+$")


def _by_key(cards: Iterable[Card], ours: Iterable[EarlierRow]) -> dict[int, EarlierRow]:
    """Match rows of one number: those that say the same, then those that stand in the same place among them."""
    earlier: dict[str, list[EarlierRow]] = defaultdict(list)
    for row in ours:
        earlier[_COUNTED.sub("", row.key)].append(row)
    now: dict[str, list[Card]] = defaultdict(list)
    for card in cards:
        now[_COUNTED.sub("", card.key)].append(card)
    matched: dict[int, EarlierRow] = {}
    for key, group in now.items():
        rows = earlier.get(key, [])
        for is_it in (_says_the_same, _has_the_key, _comes_next):
            for card in group:
                found = next((row for row in rows if is_it(card, row)), None) if card.row not in matched else None
                if found is not None:
                    matched[card.row] = found
                    rows.remove(found)
    return matched


def _says_the_same(card: Card, row: EarlierRow) -> bool:
    return card.digest == row.digest


def _has_the_key(card: Card, row: EarlierRow) -> bool:
    return card.key == row.key


def _comes_next(card: Card, row: EarlierRow) -> bool:
    return True


def _cells_of(connection: sqlite3.Connection, rows: Iterable[EarlierRow]) -> dict[int, dict[str, str]]:
    found = (connection.execute("SELECT id, cells FROM card_row WHERE id = ?", (row.id,)).fetchone() for row in rows)
    return {row_id: json.loads(cells) for row_id, cells in found}


_Cells = Mapping[int, Mapping[str, str]]


def _by_all_cells_but_one(cards: list[Card], left: list[EarlierRow], cells: _Cells) -> dict[int, EarlierRow]:
    """Match rows whose number (or village, building, date) was edited: one earlier row alone has all else the same."""
    headings = {heading for one in (*cells.values(), *(card.cells for card in cards)) for heading in one}
    lacking: dict[tuple[str, frozenset[tuple[str, str]]], list[EarlierRow]] = defaultdict(list)
    for row in left:
        for heading in headings:
            lacking[heading, _but(cells[row.id], heading)].append(row)
    wanted: dict[int, list[Card]] = defaultdict(list)
    for card in cards:
        likely = {row.id for h in headings for row in lacking.get((h, _but(card.cells, h)), ()) if _says_much(card, h)}
        for row_id in likely:
            wanted[row_id].append(card)
    claims: dict[int, list[EarlierRow]] = defaultdict(list)
    for row in left:
        near = wanted.get(row.id, [])
        for card in near if len(near) == 1 else [card for card in near if card.row == row.number]:
            claims[card.row].append(row)
    return {number: rows[0] for number, rows in claims.items() if len(rows) == 1}


def _by_place(
    cards: Iterable[Card], matched: Mapping[int, EarlierRow], ours: Iterable[EarlierRow], cells: _Cells
) -> dict[int, EarlierRow]:
    """Match rows that follow the same row as one that is no longer there, and have half of its cells in common."""
    used = {row.id for row in matched.values()}
    follows: dict[int | None, EarlierRow] = {}
    before: int | None = None
    for row in sorted(ours, key=lambda row: row.number):
        follows[before], before = row, row.id
    found: dict[int, EarlierRow] = {}
    last: int | None = None
    for card in cards:
        known = matched.get(card.row)
        if known is None:
            candidate = follows.get(last)
            if candidate is None or candidate.id in used or not _is_alike(card.cells, cells[candidate.id]):
                continue
            known = found[card.row] = candidate
        last = known.id
    return found


def _is_alike(cells: Mapping[str, str], others: Mapping[str, str]) -> bool:
    same = len(cells.items() & others.items())
    return same >= 2 and same * 2 >= max(len(cells), len(others))


def _but(cells: Mapping[str, str], heading: str) -> frozenset[tuple[str, str]]:
    return frozenset((name, text) for name, text in cells.items() if name != heading)


def _says_much(card: Card, heading: str) -> bool:
    return len(card.cells) - (heading in card.cells) >= 2
