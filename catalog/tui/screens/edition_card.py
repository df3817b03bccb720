"""An edition's card: its promise word for word, and its ledger, a line a number; on the back how it is made."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any, ClassVar

from catalog.rules.editions import CLOSED, PLANNED, SIZES_COUNT_WORDS, WITHDRAWN
from catalog.rules.print_numbers import NUMBERED, format_series
from catalog.rules.references import format_reference, parse_reference
from catalog.store.edition_cards import (
    EditionCard,
    NumberLine,
    RunPart,
    Series,
    numbers_of,
    place_of_print,
    read_edition_card,
)
from catalog.store.record_words import date_words
from catalog.store.trails import Step
from catalog.tui.screens.ruled_list import RuledListScreen
from catalog.tui.widgets.number_row import LedgerHead, number_row
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, LabelledLine, Space, Words
from catalog.tui.widgets.paper import Row

NAMES_HIDDEN = "Names and prices are hidden; n shows them."


@dataclass(frozen=True, slots=True)
class EditionRows:
    """An edition; ``place`` is the line of its ledger that the mark is to stand at, if one was named."""

    card: EditionCard
    place: int | None


class EditionCardScreen(RuledListScreen):
    """The card of an edition."""

    face_share: ClassVar[int] = 64

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self._card: EditionCard | None = None

    def load(self, connection: sqlite3.Connection) -> EditionRows:
        """Return the edition without the lines of its ledger, which are read as they come in sight."""
        assert self.record_id is not None
        card = read_edition_card(connection, self.record_id, is_private=self.browse.is_private)
        chosen = parse_reference(self._choose) if self._choose else None
        is_print = chosen is not None and chosen[0] == "print"
        return EditionRows(card, place_of_print(connection, card, chosen[1]) if chosen and is_print else None)

    def lay_out(self, rows: EditionRows, choose: str | None) -> tuple[Step, ...]:
        """Show it: the promise and the ledger on the face, the rest on the back."""
        self._card = card = rows.card
        place = self.lines.place if rows.place is None else rows.place
        self.lines.show(card.lines, place, promise_items(card, is_private=self.browse.is_private))
        self.query_one("#back-page", Page).show(back_items(card))
        return (Step("editions", "editions"), Step(card.reference, card.row.title or card.view or card.reference))

    def draw(self, row: NumberLine, width: int) -> Row:
        """Return a number as a line of the ledger."""
        card = self._card
        assert card is not None
        run = format_reference("run", row.run_id) if len(card.runs) > 1 else ""
        return number_row(row, width, with_size=card.has_several_sizes, run=run)

    def read_window(self, connection: sqlite3.Connection, first: int, count: int) -> tuple[NumberLine, ...]:
        """Return a stretch of the ledger."""
        card = self._card
        return () if card is None else numbers_of(connection, card, first, count, is_private=self.browse.is_private)

    def open_row(self, row: NumberLine, place: int) -> None:
        """Open the print that carries the number; of one without a print, say what can be done."""
        if row.reference is not None:
            self.browse.open_card(row.reference)
            return
        card = self._card
        named = (
            f"{format_reference('run', row.run_id) if card and len(card.runs) > 1 else self.reference} {row.written}"
        )
        if row.hold:
            self.say(f"{row.written} is {row.hold}, and not pulled yet. To pull it: tiebeam prints pull {named}")
        elif card is not None and card.row.state in (CLOSED, WITHDRAWN):
            self.say(f"{row.written} was never pulled, and will not be: the edition is {card.row.state}.")
        else:
            self.say(f"{row.written} was not pulled yet. To pull it: tiebeam prints pull {named}")

    def where_words(self, event: Page.LineChosen) -> str:
        """Return where the mark stands on the back, when the keys go there."""
        return super().where_words(event) if self.focused is self.query_one("#back-page") else ""


# -- the face ------------------------------------------------------------------------------------------------------


def promise_items(card: EditionCard, *, is_private: bool) -> list[PageItem]:
    """Return what stands above the ledger: the promise word for word, its amendments, and what is left of each run."""
    row = card.row
    stated = ", ".join(filter(None, (date_words(card.stated) if card.stated.edtf else "", row.published_in)))
    items: list[PageItem] = [
        Words(row.statement, "strong"),
        LabelledLine("stated", stated or "nobody wrote down when or where", role="ink" if stated else "faint",
                     label_width=9),
    ]  # fmt: skip
    for amendment in card.amendments:
        when = date_words(amendment.made) if amendment.made.edtf else "undated"
        told = "; ".join(filter(None, (when, amendment.changed, amendment.published_in)))
        items.append(LabelledLine("amended", amendment.words, told, role="strong", label_width=9))
    items.append(LabelledLine("state", state_words(card), label_width=9))
    for run in card.runs:
        items += _run_items(run, card)
    items.append(Words("Names and prices are shown; n hides them." if is_private else NAMES_HIDDEN, "faint"))
    return [*items, Space(), LedgerHead()]


def state_words(card: EditionCard) -> str:
    """Return in what state an edition is, since when and why."""
    if not card.states:
        return card.row.state
    last = card.states[-1]
    since = f" since {date_words(last.since)}" if last.since.edtf else ""
    return f"{last.state}{since}" + (f": {last.words}" if last.words else "")


def _run_items(run: RunPart, card: EditionCard) -> list[PageItem]:
    is_over = card.row.state in (CLOSED, WITHDRAWN)
    told = [LabelledLine("", series_words(series, is_over=is_over), label_width=9) for series in run.series]
    return [LabelledLine(run.reference, "; ".join(run.sizes), label_width=9), *told]


def series_words(series: Series, *, is_over: bool) -> str:
    """
    Return how many of a series there may be, were pulled, are promised, and are left.

    >>> series_words(Series(1, "AP", 2, "fraction", 2, 1, 1), is_over=False)
    "2 artist's proofs: 1 pulled, 1 promised, none left"
    """
    if series.declared is None:
        said = "no limit"
    elif series.series == NUMBERED:
        said = f"limited to {series.declared:,}"
    else:
        said = format_series(series.series, series.declared)
    told = [f"{series.pulled:,} pulled"]
    if series.promised:
        told.append(f"{series.promised:,} promised")
    left = series.left
    if left is not None and is_over:
        told += [f"{left:,} never pulled"] if left else []
    elif left is not None:
        told.append(f"{left:,} left" if left else "none left")
    numbering = ", serial numbers" if series.numbering != "fraction" and series.series == NUMBERED else ""
    return f"{said}{numbering}: {', '.join(told)}"


# -- the back ------------------------------------------------------------------------------------------------------


def back_items(card: EditionCard) -> list[PageItem]:
    """Return the back: what it shows and is printed from, how its sizes count, how it went, its prices and pages."""
    row = card.row
    view = format_reference("view", row.view_id)
    items: list[PageItem] = [Heading("view"), _way(view, card.view)]
    items += [Space(), Heading("printed from")]
    items += [_way(format_reference("sheet", sheet), words) for sheet, words in card.sheets]
    items += [Space(), Heading("how it is made"), LabelledLine("sizes", SIZES_COUNT_WORDS[row.sizes_count])]
    items += [LabelledLine(label, words) for label, words in (("process", row.process), ("crop", row.crop)) if words]
    items += [Space(), Heading("how it went")]
    for step in card.states or ():
        when = date_words(step.since) if step.since.edtf else "day not known"
        items.append(LabelledLine(step.state, when, step.words or ""))
    if not card.states:
        items.append(Words(PLANNED, "faint"))
    if card.has_prices:
        items += [Space(), Heading("prices"), *_price_items(card)]
    if card.documents:
        items += [Space(), Heading("pages issued")]
        items += [_way(format_reference("document", number), words) for number, words in card.documents]
    return items


def _way(reference: str, words: str) -> LabelledLine:
    return LabelledLine(reference, words, label_width=5, reference=reference)


def _price_items(card: EditionCard) -> list[PageItem]:
    if not card.prices:
        return [Words(NAMES_HIDDEN, "faint")]
    return [
        LabelledLine(
            format_reference("run", step.run_id), f"{step.price} from {step.from_sold:,} sold on", step.size or "",
            label_width=5,
        )
        for step in card.prices
    ]  # fmt: skip
