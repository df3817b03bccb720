"""The card of any record that has none of its own: its facts, and what belongs to it, to move along."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from catalog.errors import NotFoundError
from catalog.rules.references import SHOWN, WORDS
from catalog.store.record_words import fact_words, line_words
from catalog.store.show import Record, read_record
from catalog.store.trails import Step, trail_of
from catalog.tui.screens.card import CardScreen
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, LabelledLine, Space, Words, doubtful


@dataclass(frozen=True, slots=True)
class RecordRows:
    """A record, and the guide cards that lead to it."""

    record: Record
    trail: tuple[Step, ...]


class RecordCardScreen(CardScreen):
    """A plain card: one side."""

    has_back = False

    def load(self, connection: sqlite3.Connection) -> RecordRows:
        """Return the record."""
        assert self.record_id is not None
        if self.table not in SHOWN:
            raise NotFoundError(f"{WORDS.get(self.table, self.table)} {self.reference} has no card.")
        record = read_record(connection, self.table, self.record_id, self.archive.about_days,
                             is_private=self.browse.is_private)  # fmt: skip
        return RecordRows(record, trail_of(connection, self.table, self.record_id))

    def lay_out(self, rows: RecordRows, choose: str | None) -> tuple[Step, ...]:
        """Show it."""
        self.query_one("#face-page", Page).show([*fact_items(rows.record), *section_items(rows.record)], choose)
        word = WORDS[rows.record.table]
        return (*rows.trail[:-1], Step(rows.record.reference, f"{word} {rows.record.reference}"))


def fact_items(record: Record) -> list[PageItem]:
    """Return the facts of a record, the doubtful ones in the ink of doubt."""
    return [
        LabelledLine(
            fact.field, fact_words(fact),
            role="doubt" if fact.doubt is not None or doubtful(fact_words(fact)) else "ink",
        )
        for fact in record.facts
    ]  # fmt: skip


def section_items(record: Record, *, leave_out: tuple[str, ...] = (), only: tuple[str, ...] = ()) -> list[PageItem]:
    """Return what belongs to a record, each section under its heading; a line with a reference can be opened."""
    items: list[PageItem] = []
    for heading, lines in record.sections:
        if heading in leave_out or (only and heading not in only):
            continue
        items += [Space(), Heading(heading)]
        for line in lines:
            words = line_words(line)
            role = "doubt" if doubtful(words) else "ink"
            if line.reference:
                items.append(LabelledLine(line.reference, words, role=role, label_width=5, reference=line.reference))
            else:
                items.append(Words(words, role))
    return items
