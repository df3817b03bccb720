"""The plain items of a page: words, headings, facts, the entries of a chronicle, the frames between them."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.rules.lines import display_width, one_line
from catalog.tui.widgets.paper import Piece, Row, cut, in_rows, pieces_in_rows, row_width

DATE_COLUMN = 21
"""Columns at the left of a ruled page, for the dates."""
_RULE = " ║ "


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    words: str
    role: str = "ink"
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        return in_rows(self.words, width, self.role)


@dataclass(frozen=True, slots=True)
class Space:
    """An empty line."""

    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return it."""
        return [()]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading with its rule."""

    words: str
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its line."""
        words = cut(self.words, min(display_width(self.words), width - 4))
        return [((words, "margin"), (" " + "─" * max(width - display_width(words) - 1, 0), "rule"))]


@dataclass(frozen=True, slots=True)
class LabelledLine:
    """A label in a column of its own, and words that go on below themselves; ``remark`` is fainter or in doubt."""

    label: str
    words: str
    remark: str = ""
    role: str = "ink"
    remark_role: str = "faint"
    label_width: int = 14
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        label_width = min(self.label_width, max(width // 3, 4))
        pieces: list[Piece] = [(self.words, self.role)]
        if self.remark:
            pieces += [(" ", "ink")] if not self.words else []
            pieces.append((self.remark if not self.words else f"; {self.remark}", self.remark_role))
        rows = _joined(pieces, width - label_width - 1)
        lead = cut(self.label, label_width) + " "
        blank = " " * (label_width + 1)
        return [((lead if not number else blank, "faint"), *row) for number, row in enumerate(rows)]


def _joined(pieces: list[Piece], width: int) -> list[Row]:
    """Return pieces in rows where each goes on directly after the one before it."""
    if row_width(pieces) <= width and not any("\n" in words for words, _ in pieces):
        return [tuple(pieces)]
    return pieces_in_rows(pieces, width)


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry of a ruled page: date, number, what happened, and who says so; a rule is drawn under it."""

    when: str
    number: str
    words: str
    said_by: tuple[str, ...]
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its lines, the last one ruled to the edge."""
        column = _date_column(width)
        text_width = width - column - len(_RULE)
        dates = in_rows(self.when, column)
        lead = f"{self.number} "
        text: list[Row] = [
            ((lead if not n else " " * len(lead), "margin"), *row)
            for n, row in enumerate(in_rows(self.words, text_width - len(lead), "strong"))
        ]
        for source in self.said_by:
            text += [((" " * len(lead), "ink"), *row) for row in in_rows(source, text_width - len(lead), "faint")]
        rows = _beside(dates, text, column, "strong")
        return [*rows[:-1], _ruled(rows[-1], width)]


@dataclass(frozen=True, slots=True)
class FrameLine:
    """A frame between the entries of a chronicle; ``spans`` says which entries its doubtful date spans."""

    when: str
    number: str
    shows: str
    spans: str
    reference: str | None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        column = _date_column(width)
        text_width = width - column - len(_RULE) - 5
        pieces: list[Piece] = [(self.number, "ink")]
        if self.shows:
            pieces.append((f"  {self.shows}", "faint"))
        if self.spans:
            pieces.append((f"  {self.spans}", "doubt"))
        text: list[Row] = [
            (("   ▫ " if not n else "     ", "rule"), *row) for n, row in enumerate(_joined(pieces, text_width))
        ]
        return _beside(in_rows(self.when, column), text, column, "ink")


def _date_column(width: int) -> int:
    return DATE_COLUMN if width >= 56 else 12


def _beside(dates: list[Row], text: list[Row], column: int, role: str) -> list[Row]:
    """Return dates and text in two columns with the double line of a ruled page between."""
    rows: list[Row] = []
    for n in range(max(len(dates), len(text))):
        date = dates[n][0][0] if n < len(dates) and dates[n] else ""
        blank = " " * max(column - display_width(date), 0)
        rows.append(((blank, "ink"), (date, role), (_RULE, "margin"), *(text[n] if n < len(text) else ())))
    return rows


def _ruled(row: Row, width: int) -> Row:
    return (*row, (" " + "▁" * max(width - row_width(row) - 1, 0), "rule"))


def doubtful(words: str) -> bool:
    """Return True if words say of themselves that something is not sure."""
    folded = one_line(words).casefold()
    return any(sign in folded for sign in ("may be", "possibly", "probably", "doubtful", "when it did not stand"))
