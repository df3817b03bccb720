"""The guide card of a place: what stands behind it, each with its year line; on its back what is known of it."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import ClassVar

from textual.binding import BindingType

from catalog.errors import CatalogError
from catalog.store.guide_cards import GuideCard, GuideLine, read_guide_card
from catalog.store.trails import Step
from catalog.store.year_lines import (
    ChronicleMark,
    YearLine,
    buildings_year_lines,
    chronicle_marks,
    place_year_line,
    whole_year_line,
)
from catalog.tui.keys import key
from catalog.tui.screens.card import CardScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, LabelledLine, Space, Words
from catalog.tui.widgets.year_line import Legend, RulerHead, Scale, YearLineItem

ALL_FRAMES = "frames"
"""What the line that stands for all frames of the card opens."""


@dataclass(frozen=True, slots=True)
class _Counts:
    """The year lines of a card as far as they are counted."""

    whole: YearLine | None
    buildings: dict[int, YearLine]
    places: dict[int, YearLine]
    marks: dict[int, tuple[ChronicleMark, ...]]


class GuideCardScreen(CardScreen):
    """The guide card of a place, or the first one: that of the whole archive."""

    BINDINGS: ClassVar[list[BindingType]] = [key("a", "all_frames", "all its frames, one by one")]

    def load(self, connection: sqlite3.Connection) -> GuideCard:
        """Return the card without its counts, which may take longer."""
        name = self.archive.settings.archive_name or "The archive"
        return read_guide_card(connection, self.record_id, self.archive.about_days, name)

    def lay_out(self, rows: GuideCard, choose: str | None) -> tuple[Step, ...]:
        """Show the card."""
        self._show_face(rows, None, choose)
        self.query_one("#back-page", Page).show(_back(rows))
        return rows.trail or (Step("", rows.name),)

    def _show_face(self, card: GuideCard, counts: _Counts | None, choose: str | None = None) -> None:
        self.query_one("#face-page", Page).show(_face(card, counts), choose)

    def after_rows(self) -> None:
        """Count the frames, in a thread."""
        self.run_worker(self._count, thread=True, exclusive=True, group="counts", exit_on_error=True)

    def _count(self) -> None:
        teller = Teller(self.app)
        card: GuideCard = self._rows
        about = self.archive.about_days
        try:
            with self.reading("counts") as connection:
                marks = chronicle_marks(connection, [line.id for line in card.buildings], about)
                counts = _Counts(self._whole(connection), self._of_buildings(connection, card), {}, marks)
                for number, line in enumerate(card.places):
                    if not teller.is_wanted:
                        return
                    if number % 20 == 0:
                        teller.tell(self._counted, card, counts)
                    counts.places[line.id] = place_year_line(connection, line.id, about)
        except CatalogError as exc:
            teller.tell(self.say, str(exc).splitlines()[0])
            return
        teller.tell(self._counted, card, counts)

    def _whole(self, connection: sqlite3.Connection) -> YearLine:
        about = self.archive.about_days
        if self.record_id is None:
            return whole_year_line(connection, about)
        return place_year_line(connection, self.record_id, about)

    def _of_buildings(self, connection: sqlite3.Connection, card: GuideCard) -> dict[int, YearLine]:
        if self.record_id is None or not card.buildings:
            return {}
        return buildings_year_lines(connection, self.record_id, self.archive.about_days)

    def _counted(self, card: GuideCard, counts: _Counts) -> None:
        if card is self._rows and self.is_mounted:
            self._show_face(card, counts)

    def on_page_line_opened(self, event: Page.LineOpened) -> None:
        """Open the frames, or the card of that line."""
        if event.reference == ALL_FRAMES:
            event.prevent_default()
            event.stop()
            self.action_all_frames()

    def action_all_frames(self) -> None:
        """Open the run of all frames that show this place."""
        self.browse.open_frames(self.reference)


def _face(card: GuideCard, counts: _Counts | None) -> list[PageItem]:
    """Return what stands behind a guide card."""
    if card.place_id is None and not card.sheets and not card.places:
        return [
            Words("This archive holds nothing yet.", "strong"),
            Words("Read in an old card index:  tiebeam cards read FILE", "ink"),
            Words("or write the first card by hand:  tiebeam places add NAME, tiebeam sheets add", "ink"),
            Words("This card shows them as soon as they are there.", "faint"),
        ]
    whole = counts.whole if counts else None
    places = {line.id: counts.places.get(line.id) if counts else None for line in card.places}
    buildings = {line.id: counts.buildings.get(line.id, YearLine()) if counts else None for line in card.buildings}
    scale = Scale.of([whole, *places.values(), *buildings.values()])
    marks = counts.marks if counts else {}
    named = f"all of {card.name}" if card.place_id is not None else "all frames"
    items: list[PageItem] = [RulerHead(scale), YearLineItem(named, "", whole, scale, reference=ALL_FRAMES)]
    items += _group("places" if card.place_id is None else f"belonging to {card.name}", [
        YearLineItem(line.name, _remark(line), places[line.id], scale, reference=line.reference)
        for line in card.places
    ])  # fmt: skip
    items += _group("buildings", [
        YearLineItem(
            line.name, _remark(line), buildings[line.id], scale, marks.get(line.id, ()), reference=line.reference
        )
        for line in card.buildings
    ])  # fmt: skip
    legend = Legend.of([whole, *places.values(), *buildings.values()], [m for one in marks.values() for m in one])
    return [*items, Space(), legend]


def _group(heading: str, lines: list[YearLineItem]) -> list[PageItem]:
    return [Space(), Heading(heading), *lines] if lines else []


def _remark(line: GuideLine) -> str:
    return ", ".join(filter(None, (line.when, line.kind)))


def _back(card: GuideCard) -> list[PageItem]:
    """Return what is known of a place."""
    items: list[PageItem] = [Words(card.name, "strong")]
    if card.kind:
        items.append(Words(card.kind, "faint"))
    heading = ""
    for said, words in card.said:
        if said != heading:
            items += [Space(), Heading(said)]
            heading = said
        items.append(Words(words))
    times = [LabelledLine(line.name, line.when, label_width=22, reference=line.reference) for line in
             (*card.places, *card.buildings) if line.when]  # fmt: skip
    if times:
        items += [Space(), Heading("here for a time only"), *times]
    return items
