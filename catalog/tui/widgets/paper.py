"""Lines drawn as pieces of words in roles (ink, faint, rule ...): what every widget that draws itself shares."""

from __future__ import annotations

from collections.abc import Iterable

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from catalog.rules.lines import display_width, fit, one_line, wrapped

Piece = tuple[str, str]
"""Words and their role. Words are shown exactly as they are: nothing in them is markup."""
Row = tuple[Piece, ...]

CLASSES = {
    f"paper--{role}" for role in ("ink", "strong", "faint", "rule", "margin", "doubt", "edge", "tab", "chosen")
}  # fmt: skip


class Inks:
    """The styles of a widget's roles, looked up once for each theme."""

    def __init__(self, widget: Widget) -> None:
        self._widget = widget
        self._styles: dict[tuple[str, bool], Style] = {}

    def forget(self) -> None:
        """Look everything up anew: the theme changed."""
        self._styles.clear()

    def __call__(self, role: str, *, chosen: bool = False) -> Style:
        """Return the style of a role, on plain paper or on that of the chosen line."""
        style = self._styles.get((role, chosen))
        if style is None:
            style = self._widget.get_component_rich_style(f"paper--{role}", partial=True)
            paper = self._widget.get_component_rich_style("paper--chosen") if chosen else self._widget.rich_style
            paper_of = style if style.bgcolor is not None else paper
            style = Style(
                color=(paper.color if chosen and role in ("ink", "strong") else style.color) or paper.color,
                bgcolor=paper_of.bgcolor, bold=style.bold or (chosen and role == "ink"), italic=style.italic,
                underline=style.underline,
            )  # fmt: skip
            self._styles[role, chosen] = style
        return style

    def strip(self, row: Iterable[Piece], width: int, *, chosen: bool = False, pad: str = "ink") -> Strip:
        """Return a row as a line of exactly ``width`` columns."""
        segments = [Segment(one_line(words), self(role, chosen=chosen)) for words, role in row if words]
        return Strip(segments).adjust_cell_length(width, self(pad, chosen=chosen))


def row_width(row: Iterable[Piece]) -> int:
    """Return how many columns a row takes."""
    return sum(display_width(one_line(words)) for words, _ in row)


def in_rows(words: str, width: int, role: str = "ink") -> list[Row]:
    """Return words in rows of at most ``width`` columns; line breaks in them are kept as rows."""
    width = max(width, 4)
    return [((line, role),) for part in words.split("\n") for line in wrapped(one_line(part), width)] or [()]


def pieces_in_rows(pieces: Iterable[Piece], width: int) -> list[Row]:
    """Return pieces of several roles in rows, broken at blanks; what is one word stays in one row where it can."""
    width = max(width, 4)
    rows: list[list[Piece]] = [[]]
    room = width
    for words, role in pieces:
        for number, word in enumerate(one_line(words).split(" ")):
            parts = wrapped(word, width)
            for part_number, part in enumerate(parts):
                blank = " " if number and not part_number and rows[-1] else ""
                taken = display_width(blank + part)
                if taken > room or part_number:
                    rows.append([])
                    room, blank, taken = width, "", display_width(part)
                rows[-1].append((blank + part, role))
                room -= taken
    return [tuple(row) for row in rows]


def cut(words: str, width: int) -> str:
    """Return words in exactly ``width`` columns; a cut is shown by an ellipsis."""
    return fit(words, width) if width > 0 else ""
