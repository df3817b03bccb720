"""Rows of old ledgers that were read before: which a row is again, and what it says now that it did not say then."""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from catalog.intake.ledger_rows import OldEvent, OldPrint
from catalog.intake.when import Dated


@dataclass(frozen=True, slots=True)
class EarlierPrint:
    """
    A print that an old ledger gave, by the newest row that tells of it and was not taken back.

    ``is_undone`` says that every reading that told of it was taken back: the print stands, for its number left the
    house, or was in the catalogue before, but nothing else does. ``is_matched`` says that it was in the catalogue
    before a row told of it.
    """

    print_id: int
    file: str
    row: int
    key: str
    digest: str
    events: tuple[list[Any], ...] = ()
    said: dict[str, Any] = field(default_factory=dict)
    is_undone: bool = False
    is_matched: bool = False


_ROWS = """
    SELECT r.print_id, f.name, r.row, r.row_key, r.digest, r.facts, EXISTS (
        SELECT 1 FROM deed_change c JOIN deed d ON d.id = c.deed_id
        WHERE c.record_table = 'card_row' AND c.record_id = r.id AND c.change = 'added' AND d.undone_by_id IS NOT NULL)
    FROM card_row r JOIN card_file f ON f.id = r.card_file_id
    WHERE r.print_id IS NOT NULL AND r.facts IS NOT NULL ORDER BY r.id
"""


def earlier_prints(connection: sqlite3.Connection) -> list[EarlierPrint]:
    """Return every print that came from an old ledger; those that were never made after all are left out."""
    void = {row[0] for row in connection.execute("SELECT id FROM print WHERE life = 'void'")}
    found: dict[int, EarlierPrint] = {}
    for print_id, name, number, key, digest, facts, is_undone in connection.execute(_ROWS).fetchall():
        kept = json.loads(facts)
        if (is_undone and print_id in found) or (is_undone and print_id in void):
            continue
        found[print_id] = EarlierPrint(
            print_id, name, number, key, digest, tuple(kept["events"]), kept["said"], bool(is_undone),
            kept.get("is_matched", False),
        )  # fmt: skip
    return list(found.values())


def match(prints: Sequence[OldPrint], earlier: Iterable[EarlierPrint], file: str) -> dict[int, EarlierPrint]:
    """
    Return the earlier print of each row that was read before, by row.

    A row is known again by what it says, in whatever file; else, under the same name of the file, by its number, or
    by what tells of a print without one where that is told of one alone.
    """
    by_digest: dict[str, list[EarlierPrint]] = defaultdict(list)
    for each in earlier:
        by_digest[each.digest].append(each)
    matched: dict[int, EarlierPrint] = {}
    rows = [each for each in prints if each.repeats is None]
    for row in rows:
        alike = by_digest.get(row.digest)
        if alike:
            matched[row.row] = alike.pop(0)
    by_key: dict[str, list[EarlierPrint]] = defaultdict(list)
    for each in (each for several in by_digest.values() for each in several):
        if each.file == file:
            by_key[each.key].append(each)
    left: dict[str, list[OldPrint]] = defaultdict(list)
    for row in rows:
        if row.row not in matched:
            left[row.key].append(row)
    for key, several in left.items():
        if len(several) == 1 and len(by_key.get(key, ())) == 1:
            matched[several[0].row] = by_key[key][0]
    return matched


def kept_event(event: OldEvent, person_id: int | None) -> list[Any]:
    """Return an event as a row of the catalogue remembers it."""
    price = event.price
    return [
        event.kind, *_date(event.when), person_id, event.place, price.minor if price else None,
        price.currency if price else None, *_date(event.due), event.words,
    ]  # fmt: skip


def _date(dated: Dated) -> list[str | None]:
    return [dated.exposed.text if dated.exposed else None, dated.words]


def kept_facts(old: OldPrint, pulled_by_id: int | None) -> dict[str, Any]:
    """Return what a row says of the print itself."""
    return {**old.facts, "pulled": _date(old.pulled), "pulled_by": pulled_by_id, "number": old.name}


def lost_and_new(before: Iterable[list[Any]], now: Iterable[list[Any]]) -> tuple[list[list[Any]], list[int]]:
    """
    Return the events that a row no longer tells of, and the places of those it tells of for the first time.

    Of an event that stayed with its row, nobody may have been known who was named; they may be known since.
    """
    left, fresh = list(before), []
    for place, event in enumerate(now):
        found = next((one for one in left if one == event), None)
        found = found or next((one for one in left if one[_PERSON] is None and one == _of_nobody(event)), None)
        if found is None:
            fresh.append(place)
        else:
            left.remove(found)
    return left, fresh


_PERSON = 3


def _of_nobody(event: list[Any]) -> list[Any]:
    return [*event[:_PERSON], None, *event[_PERSON + 1 :]]
