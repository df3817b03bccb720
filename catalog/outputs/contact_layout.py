"""Where everything of a contact sheet stands on its pages. Lengths are millimetres, from the page's top left."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

from catalog.rules.film_formats import film_size_mm

__all__ = ["PAPERS", "Cell", "Page", "Paper", "Placed", "lay_out", "opening_mm", "wrap"]


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper, and the room that is left around what stands on it."""

    width_mm: float
    height_mm: float
    side_mm: float
    top_mm: float
    foot_mm: float
    """From the last caption to the paper's edge, with the foot line in it."""
    row_gap_mm: float

    @property
    def room_mm(self) -> float:
        """Return the width between the margins."""
        return self.width_mm - 2 * self.side_mm


# ISO 216 and ANSI/ASME Y14.1. At the sides two openings of a 4x5 sheet and the gap between them find room; at top
# and foot nothing comes nearer to the edge than 6 mm, which office printers can reach (common practice, from memory).
PAPERS: Final = {"a4": Paper(210, 297, 7.5, 9, 13, 4.5), "letter": Paper(215.9, 279.4, 10.45, 6, 9, 2.8)}

GAP_MM: Final = 5.0
CAPTION_GAP_MM: Final = 1.3
MOST_APART_MM: Final = 9.0
"""Rows are moved this far apart, and no farther, to fill a page."""
LEADING_MM: Final = 3.15
CAPTION_PT: Final = 7.2
FOOT_PT: Final = 6.6
MOST_LINES: Final = 7
"""A caption longer than this says where the rest of it is."""

# The clear opening of a 4x5 holder, in which the picture lies on the sheet; from memory, common practice.
_OPENINGS: Final = {(101.6, 127.0): (95.0, 120.0)}


def opening_mm(film_format: str | None) -> tuple[float, float] | None:
    """
    Return the short and the long side of the picture on a piece of film, or ``None`` when its format does not say.

    >>> opening_mm("4x5"), opening_mm("6x9")
    ((95.0, 120.0), (56.0, 84.0))
    """
    size = film_size_mm(film_format)
    return None if size is None else _OPENINGS.get(size, size)


@dataclass(frozen=True, slots=True)
class Cell:
    """A picture's place as wide and high as it will be, and the lines of its caption."""

    width_mm: float
    height_mm: float
    lines: int

    @property
    def caption_mm(self) -> float:
        """Return the height of the caption, with the gap above it."""
        return CAPTION_GAP_MM + self.lines * LEADING_MM


@dataclass(frozen=True, slots=True)
class Placed:
    """The cell of this index, with its left edge and the top and bottom of its picture."""

    index: int
    left_mm: float
    top_mm: float
    bottom_mm: float


Page = tuple[Placed, ...]


def lay_out(cells: Sequence[Cell], paper: Paper) -> list[Page]:
    """
    Return the pages on which cells stand in their order, row by row.

    The pictures of a row stand on one line, their captions below it. A row that is not full begins where a full
    one does. A cell higher than the page has a page of its own; making it fit is the caller's business.
    """
    pages: list[list[tuple[list[Placed], float]]] = []
    top = inf
    for row in _rows(cells, paper):
        picture = max(cells[index].height_mm for index in row)
        whole = picture + max(cells[index].caption_mm for index in row)
        if top + whole > paper.height_mm - paper.foot_mm + 0.01:
            pages.append([])
            top = paper.top_mm
        left, placed = _left_of(row, cells, paper), []
        for index in row:
            placed.append(Placed(index, left, top + picture - cells[index].height_mm, top + picture))
            left += cells[index].width_mm + GAP_MM
        pages[-1].append((placed, top + whole))
        top += whole + paper.row_gap_mm
    return [tuple(page) for page in _spread(pages, paper)]


def _spread(pages: list[list[tuple[list[Placed], float]]], paper: Paper) -> Iterator[list[Placed]]:
    """Yield pages with their rows moved apart where there is room, so that a full page is not all foot."""
    apart = 0.0
    for number, rows in enumerate(pages, 1):
        free = paper.height_mm - paper.foot_mm - rows[-1][1]
        if number < len(pages) or len(pages) == 1:
            apart = min(free / len(rows), MOST_APART_MM)
        apart = min(apart, free / len(rows))
        yield [
            Placed(one.index, one.left_mm, one.top_mm + apart * count, one.bottom_mm + apart * count)
            for count, (placed, _) in enumerate(rows)
            for one in placed
        ]


def _rows(cells: Sequence[Cell], paper: Paper) -> Iterator[list[int]]:
    row: list[int] = []
    used = 0.0
    for index, cell in enumerate(cells):
        if row and used + GAP_MM + cell.width_mm > paper.room_mm + 0.01:
            yield row
            row, used = [], 0.0
        used += cell.width_mm + (GAP_MM if row else 0)
        row.append(index)
    if row:
        yield row


def _left_of(row: Sequence[int], cells: Sequence[Cell], paper: Paper) -> float:
    widths = [cells[index].width_mm for index in row]
    if len(set(widths)) == 1:
        most = max(int((paper.room_mm + GAP_MM + 0.01) // (widths[0] + GAP_MM)), 1)
        widths = widths[:1] * most
    return (paper.width_mm - sum(widths) - GAP_MM * (len(widths) - 1)) / 2


def wrap(text: str, room_mm: float, measure: Callable[[str], float]) -> list[str]:
    """
    Return ``text`` in lines no wider than ``room_mm``, broken at blanks; inside a word only where it must be.

    ``measure`` gives the width of a text in millimetres.
    """
    lines: list[str] = []
    for word in text.split():
        if lines and measure(f"{lines[-1]} {word}") <= room_mm:
            lines[-1] = f"{lines[-1]} {word}"
            continue
        while measure(word) > room_mm and len(word) > 1:
            fits = next((end for end in range(len(word) - 1, 1, -1) if measure(word[:end]) <= room_mm), 1)
            lines.append(word[:fits])
            word = word[fits:]
        lines.append(word)
    return lines
