"""The editions, one line each: what was promised, how much of it was made, sold, and is out of the house."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from catalog.rules.references import format_reference
from catalog.store.editions import EditionRow, list_editions
from catalog.store.trails import Step
from catalog.tui.screens.card import CardScreen
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Space, Words
from catalog.tui.widgets.paper import Piece, Row, cut

_WIDE = 60


@dataclass(frozen=True, slots=True)
class EditionsHead:
    """The names of the columns, with the rule under them."""

    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        head = _columns(width, "", "title", "state", "limit", ("made", "sold", "out"))
        return [tuple((words, "margin" if words == "│ " else "faint") for words, _ in head), (("─" * width, "rule"),)]


@dataclass(frozen=True, slots=True)
class EditionLine:
    """An edition as a line of the list."""

    row: EditionRow

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference("edition", self.row.id)

    def rows(self, width: int) -> list[Row]:
        """Return its line."""
        row = self.row
        limit = "open" if row.limit is None else f"{row.limit:,}"
        counts = (f"{row.given:,}", f"{row.sold:,}", f"{row.out:,}")
        return [tuple(_columns(width, self.reference, row.title or row.statement, row.state, limit, counts))]


def _columns(
    width: int, reference: str, title: str, state: str, limit: str, counts: tuple[str, str, str]
) -> list[Piece]:
    """Return the columns of a line; a narrow page leaves out what was sold and is out."""
    tail: list[Piece] = [("│ ", "margin"), (cut(state, 10), "ink"), (cut(limit, 6), "strong"), ("│ ", "margin")]
    tail += [(count.rjust(5), "ink") for count in (counts if width >= _WIDE else counts[:1])]
    room = max(width - 5 - sum(len(words) for words, _ in tail), 8)
    return [(cut(reference, 5), "faint"), (cut(title, room), "ink"), *tail]


class EditionsCardScreen(CardScreen):
    """The list of the editions."""

    has_back = False

    def load(self, connection: sqlite3.Connection) -> tuple[EditionRow, ...]:
        """Return the editions."""
        return tuple(list_editions(connection))

    def lay_out(self, rows: tuple[EditionRow, ...], choose: str | None) -> tuple[Step, ...]:
        """Show them."""
        self.query_one("#face-page", Page).show(edition_items(rows), choose)
        return (Step("editions", "editions"),)

    def action_guide(self) -> None:
        """Open the first guide card."""
        self.browse.open_card(None)


def edition_items(rows: tuple[EditionRow, ...]) -> list[PageItem]:
    """Return the lines of the list; without an edition, how one is opened."""
    if not rows:
        return [
            Words("No edition is declared yet.", "strong"),
            Words("A view becomes an edition by its statement:  tiebeam editions open VIEW", "ink"),
        ]
    told = "made, sold and out of the house: numbered prints; proofs are on the edition's own card."
    return [EditionsHead(), *(EditionLine(row) for row in rows), Space(), Words(told, "faint")]
