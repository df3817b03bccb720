"""A field on the writing card: its word, what stands in it, and below it, while it is open, what there is to say."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.tui.widgets.paper import Row, cut, in_rows

LABEL = 18
"""Columns for the word of a field."""


@dataclass(frozen=True, slots=True)
class FieldLine:
    """
    A field. ``reference`` is its key: what the page opens.

    ``room`` lines are left free while it is open, for what is typed; ``below`` are words under it, each with the sign
    before it and its role.
    """

    label: str
    words: str
    role: str = "ink"
    room: int = 0
    below: tuple[tuple[str, str, str], ...] = ()
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        label = label_width(width)
        lead, blank = cut(self.label, label) + " ", " " * (label + 1)
        room: list[Row] = [((" ", "ink"),)] * self.room
        rows = room or (in_rows(self.words, width - label - 1, self.role) if self.words else [(("·", "rule"),)])
        rows = [((lead if not number else blank, "faint"), *row) for number, row in enumerate(rows)]
        for sign, words, role in self.below:
            under = in_rows(words, width - label - 1 - len(sign), role)
            rows += [((blank + (sign if not n else " " * len(sign)), "margin"), *row) for n, row in enumerate(under)]
        return rows


def label_width(width: int) -> int:
    """Return how many columns the word of a field takes on a page of this width."""
    return min(LABEL, max(width // 3, 4))
