"""The desk: what waits, a line a kind with how many; each opens the list where it is taken up."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import ClassVar

from catalog import clock
from catalog.errors import CatalogError
from catalog.store.desk import count_pile, drives_away, has_scans
from catalog.store.trails import Step
from catalog.tui.screens.card import CardScreen
from catalog.tui.screens.pile_words import DRIVES, PILE_WORDS, SIDECARS, STRAYS, UNSCANNED, WORDS_OF, PileWords
from catalog.tui.telling import Teller
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, Space, Words
from catalog.tui.widgets.waiting_row import PileLine

_PILE = "desk:"
"""What a line opens begins so: it stands for no record."""


@dataclass(frozen=True, slots=True)
class DeskRows:
    """How many wait of each kind, as far as they are counted; ``looking`` is what is being counted just now."""

    counts: dict[str, int] = field(default_factory=dict)
    has_scans: bool = False
    looking: str | None = None
    worst: str = ""
    """What the sheets that are worst at risk are, of those not scanned."""
    sidecars: int | None = None
    """How many sidecars wait, if somebody looked."""


class DeskCardScreen(CardScreen):
    """The card of the desk; its back says how each kind is settled."""

    face_share: ClassVar[int] = 54

    def load(self, connection: sqlite3.Connection) -> DeskRows:
        """Return the desk before anything is counted, which may take longer."""
        return DeskRows(has_scans=has_scans(connection), looking=PILE_WORDS[0].kind)

    def lay_out(self, rows: DeskRows, choose: str | None) -> tuple[Step, ...]:
        """Show what was counted before, until it is counted anew."""
        shown = self._rows if self._rows is not None else rows
        self._show(replace(shown, looking=rows.looking))
        return (Step("desk", "the desk"),)

    def _show(self, rows: DeskRows) -> None:
        self.query_one("#face-page", Page).show(desk_items(rows))
        self.query_one("#back-page", Page).show(how_items(rows))

    def after_rows(self) -> None:
        """Count, in a thread, kind by kind."""
        self.run_worker(self._count, thread=True, exclusive=True, group="counts", exit_on_error=True)

    def _count(self) -> None:
        teller = Teller(self.app)
        try:
            with self.reading("counts") as connection:
                for rows in self._counted(connection):
                    if not teller.is_wanted:
                        return
                    teller.tell(self._counted_so_far, rows)
        except CatalogError as exc:
            teller.tell(self.say, str(exc).splitlines()[0])

    def _counted(self, connection: sqlite3.Connection) -> Iterator[DeskRows]:
        today = clock.today().toordinal()
        rows: DeskRows = self._rows
        findings = self.browse.sidecar_findings
        rows = replace(rows, sidecars=None if findings is None else len(findings))
        for words in PILE_WORDS:
            if words.kind == SIDECARS:
                continue
            yield replace(rows, looking=words.kind)
            if words.kind == DRIVES:
                count = len(drives_away(connection))
            else:
                count, risks = count_pile(connection, words.kind, today)
                rows = replace(rows, worst=risks[0].words) if risks else rows
            rows = replace(rows, counts={**rows.counts, words.kind: count})
        yield replace(rows, looking=None)

    def _counted_so_far(self, rows: DeskRows) -> None:
        if self.is_mounted:
            self._rows = rows
            self._show(rows)

    def on_screen_resume(self) -> None:
        """Say what was found when the sidecars were looked through meanwhile."""
        findings = self.browse.sidecar_findings
        if self._rows is not None and findings is not None and self._rows.sidecars != len(findings):
            self._counted_so_far(replace(self._rows, sidecars=len(findings)))

    def on_page_line_opened(self, event: Page.LineOpened) -> None:
        """Open the list of that kind."""
        event.prevent_default()
        event.stop()
        kind = event.reference.removeprefix(_PILE)
        if kind == STRAYS:
            self.browse.open_card("stray")
        else:
            self.browse.open_pile(kind)

    def where_words(self, event: Page.LineChosen) -> str:
        """Return where the mark stands on the face; on the back nothing opens."""
        return super().where_words(event) if event.reference else ""

    def action_desk(self) -> None:
        """Say that this is the desk."""
        self.say("This is the desk. Enter opens what is marked.")

    def action_guide(self) -> None:
        """Open the first guide card."""
        self.browse.open_card(None)


def desk_items(rows: DeskRows) -> list[PageItem]:
    """Return what waits, under its headings; when nothing does, that it does not."""
    items: list[PageItem] = []
    heading = ""
    for words, line in _lines(rows):
        if words.heading != heading:
            items += [*([Space()] if items else []), Heading(words.heading)]
            heading = words.heading
        items.append(line)
    if rows.looking is not None:
        looked_for = WORDS_OF[rows.looking].many
        return [*items, *([Space()] if items else []), Words(f"looking for {looked_for} …", "faint")]
    if not any(rows.counts.values()) and not rows.sidecars:
        return [Words("Nothing waits.", "strong"), Words(_NOTHING, "faint"), *([Space()] if items else []), *items]
    rest = [words.many for words in PILE_WORDS if words.kind != SIDECARS and not rows.counts.get(words.kind)]
    return [*items, Space(), Words(f"No {_listed(rest)}.", "faint")] if rest else items


_NOTHING = (
    "No scan without its sheet, no doubt of an old card, no open question, no print overdue; no drive is away. What"
    " comes to wait stands here as soon as it is known."
)


def _listed(words: list[str]) -> str:
    return " and no ".join([", no ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _lines(rows: DeskRows) -> Iterator[tuple[PileWords, PileLine]]:
    for words in PILE_WORDS:
        count = rows.counts.get(words.kind, 0)
        if words.kind == SIDECARS and rows.has_scans and _is_reached(rows):
            yield words, _sidecar_line(words, rows.sidecars)
        elif count:
            remark = f"first: {rows.worst}" if words.kind == UNSCANNED else ""
            yield words, PileLine(f"{count:,}", words.named(count), remark, _PILE + words.kind)


def _is_reached(rows: DeskRows) -> bool:
    """Return True if what stands before the sidecars is counted: no line comes to stand above the mark later."""
    order = [words.kind for words in PILE_WORDS]
    return rows.looking is None or order.index(rows.looking) > order.index(SIDECARS)


def _sidecar_line(words: PileWords, found: int | None) -> PileLine:
    """Return the line of the sidecars: the disks are looked through only when it is opened."""
    if found is None:
        return PileLine("?", words.many, "not looked through yet; Enter looks", _PILE + SIDECARS)
    return PileLine(f"{found:,}" if found else "none", words.named(found), "when last looked", _PILE + SIDECARS)


def how_items(rows: DeskRows) -> list[PageItem]:
    """Return the back: how what waits is settled, kind by kind."""
    items: list[PageItem] = []
    for words, _ in _lines(rows):
        items += [*([Space()] if items else []), Heading(words.many), Words(words.how)]
    return items or [Words("Nothing waits, so there is nothing to settle.", "faint")]
