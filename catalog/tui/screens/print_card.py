"""A print's card: how it stands and its ledger, entry by entry, as a ruled page; on the back how it was made."""

from __future__ import annotations

import sqlite3

from catalog.rules.references import WORDS, parse_reference
from catalog.store.print_cards import PrintCard, read_print_card
from catalog.store.record_words import date_words, fact_words
from catalog.store.show import Fact, Line
from catalog.store.trails import Step
from catalog.tui.screens.card import CardScreen
from catalog.tui.screens.edition_card import NAMES_HIDDEN
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Entry, Heading, LabelledLine, Space, Words

_STANDS = ("state", "with", "belongs to", "since", "due", "place", "promised", "reserved", "value")
_TOLD_AS_WAYS = ("number", "edition", "sheet", "view", "scan", "edit version", "replaces")


class PrintCardScreen(CardScreen):
    """The card of a print."""

    face_share = 62

    def load(self, connection: sqlite3.Connection) -> PrintCard:
        """Return the print."""
        assert self.record_id is not None
        return read_print_card(connection, self.record_id, self.archive.about_days, is_private=self.browse.is_private)

    def lay_out(self, rows: PrintCard, choose: str | None) -> tuple[Step, ...]:
        """Show it: how it stands and its ledger on the face, how it was made on the back."""
        self.query_one("#face-page", Page).show(ledger_items(rows, is_private=self.browse.is_private), choose)
        self.query_one("#back-page", Page).show(made_items(rows))
        own = Step(rows.record.reference, rows.written or f"print {rows.record.reference}")
        if rows.edition is not None:
            return (Step("editions", "editions"), rows.edition, own)
        return (*rows.trail, own)


def ledger_items(card: PrintCard, *, is_private: bool) -> list[PageItem]:
    """Return how a print stands, where one can go on from it, and its ledger."""
    facts = {fact.field: fact for fact in card.record.facts}
    items: list[PageItem] = [LabelledLine(name, fact_words(facts[name]), role="strong" if name == "state" else "ink",
                                          label_width=11) for name in _STANDS if name in facts]  # fmt: skip
    sections = dict(card.record.sections)
    items += [
        LabelledLine(line.reference or "", line.words, label_width=5, reference=line.reference)
        for line in sections.get("replaced by", ())
    ]
    if not is_private:
        items.append(Words(NAMES_HIDDEN, "faint"))
    items += [Space(), Heading("made from"), *_ways(card)]
    items += [Space(), Heading("ledger"), *(_entry(line) for line in sections.get("ledger", ()))]
    return items


def _ways(card: PrintCard) -> list[PageItem]:
    said = {"print": "it replaces", "edit_version": "version"}
    return [
        LabelledLine(
            way.reference,
            f"{said.get(way.table, WORDS[way.table])}: {way.words}",
            label_width=5,
            reference=way.reference,
        )
        for way in card.ways
    ] or [Words("nothing recorded", "faint")]


def _entry(line: Line) -> Entry:
    """Return an entry of the ledger; one that a page was issued for opens that page."""
    when = date_words(line.date) if line.date is not None and line.date.edtf else "undated"
    number = f"{line.number}." if line.number is not None else "·"
    referred = [mark for mark in line.marks if (parse_reference(mark) or ("",))[0] == "document"]
    return Entry(when, number, line.words, line.marks, referred[0] if referred else None)


def made_items(card: PrintCard) -> list[PageItem]:
    """Return the back: how the print was made, and what is written on it."""
    kept: list[Fact] = [
        fact for fact in card.record.facts if fact.field not in (*_STANDS, *_TOLD_AS_WAYS)
    ]  # fmt: skip
    items: list[PageItem] = [Heading("how it was made")]
    items += [LabelledLine(fact.field, fact_words(fact), label_width=16) for fact in kept]
    if not kept:
        items.append(Words("nothing recorded", "faint"))
    for heading, lines in card.record.sections:
        if heading not in ("ledger", "replaced by"):
            items += [Space(), Heading(heading)]
            items += [LabelledLine(line.reference or "", line.words, label_width=5, reference=line.reference)
                      for line in lines]  # fmt: skip
    return items
