"""
Where a table's headings stand, which rows are cards, and which only part one block of cards from the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from catalog.errors import IntakeError
from catalog.intake.fields import FIELD_OF
from catalog.intake.tables import Row, Table, column_letter
from catalog.rules.folding import fold

_SOUGHT_ROWS = 60


@dataclass(frozen=True, slots=True)
class Skipped:
    """
    A row that is no card, and what it was taken for: ``title``, ``headings``, ``headings again``,
    ``section``, ``blank``.
    """

    row: int
    kind: str
    text: str = ""
    column: int = 0
    """The column of a section's text, counted from 0."""


@dataclass(frozen=True, slots=True)
class CardRow:
    """
    A row that should be a card. ``starts_block`` says that a break stands above it: nothing is carried
    across.
    """

    row: Row
    starts_block: bool
    section: str | None
    """The section row it stands under."""


@dataclass(frozen=True, slots=True)
class Layout:
    """A table taken apart: its headings by column, its card rows, and every row that is none."""

    heading_row: int
    headings: tuple[str, ...]
    cards: tuple[CardRow, ...]
    skipped: tuple[Skipped, ...]


def lay_out(
    table: Table,
    *,
    heading_row: int | None = None,
    known_headings: frozenset[str] = frozenset(),
    number_columns: frozenset[str] = frozenset(),
    carried_columns: frozenset[str] = frozenset(),
    words: Mapping[str, str] = FIELD_OF,
) -> Layout:
    """
    Return the headings and the card rows of a table.

    ``heading_row`` names the row; otherwise the row is sought that has most of ``known_headings``, or,
    without these, most of ``words``, by which columns of card indexes are known. ``number_columns`` and
    ``carried_columns`` are headings: a lone text in a column of numbers or of carried values decides whether
    its row is a section.

    Raises:
        IntakeError: no row looks like headings, or the row named is not there.
    """
    place = _find_headings(table, heading_row, known_headings, words)
    row = table.rows[place]
    headings = name_columns(row, max(len(other.texts) for other in table.rows))
    keys = [fold(text) for text in row.texts]
    numbers = {column for column, heading in enumerate(headings) if heading in number_columns}
    carried = {column for column, heading in enumerate(headings) if heading in carried_columns}
    skipped = [Skipped(above.number, "title", _joined(above)) for above in table.rows[:place]]
    skipped.append(Skipped(row.number, "headings", _joined(row)))
    cards: list[CardRow] = []
    section, previous, is_break = None, row.number, True
    for below in table.rows[place + 1 :]:
        is_break = is_break or below.number != previous + 1
        previous = below.number
        if _is_repeat(below, keys):
            if skipped[-1].kind == "section" and skipped[-1].row == below.number - 1:
                skipped[-1], section = replace(skipped[-1], kind="title"), None  # the title of a new page
            skipped.append(Skipped(below.number, "headings again", _joined(below)))
            is_break = True
        elif (column := _section(below, numbers, carried)) is not None:
            section, is_break = below.texts[column], True
            skipped.append(Skipped(below.number, "section", section, column))
        else:
            cards.append(CardRow(below, is_break, section))
            is_break = False
    skipped.extend(Skipped(number, "blank") for number in table.blank)
    return Layout(row.number, headings, tuple(cards), tuple(sorted(skipped, key=lambda skip: skip.row)))


def name_columns(row: Row, width: int) -> tuple[str, ...]:
    """Return a name for each column: its heading, made unique; ``column H`` where it has none."""
    names: list[str] = []
    for column in range(max(width, len(row.texts))):
        text = " ".join(row.texts[column].split()) if column < len(row.texts) else ""
        if not text:
            text = f"column {column_letter(column)}"
        elif text in names:
            text = f"{text} ({column_letter(column)})"
        names.append(text)
    return tuple(names)


def _find_headings(table: Table, heading_row: int | None, known: frozenset[str], words: Mapping[str, str]) -> int:
    """Return the place among the rows of the one that holds the headings."""
    if heading_row is not None:
        for place, row in enumerate(table.rows):
            if row.number == heading_row:
                return place
        raise IntakeError(f"{table.name}: row {heading_row} should hold the headings, but it is empty or not there.")
    wanted = {fold(heading) for heading in known}
    best, best_score = -1, 0
    for place, row in enumerate(table.rows[:_SOUGHT_ROWS]):
        own = {fold(text) for column, text in enumerate(row.texts) if text and column not in row.carried}
        score = len(own & wanted) if wanted else sum(1 for text in own if text in words)
        if score > best_score and (len(own) > 1 or len(wanted) == 1):
            best, best_score = place, score
    if best < 0 or (not wanted and best_score < 2):
        looked = f"the first {min(len(table.rows), _SOUGHT_ROWS)} rows"
        raise IntakeError(
            f"{table.name}: no headings found in {looked}. "
            "Say in the mapping file which row holds them (heading_row)"
            + (", or mend the headings under [columns] there." if wanted else ".")
        )
    return best


def _is_repeat(row: Row, keys: list[str]) -> bool:
    """Return whether a row says the headings again."""
    said = same = 0
    for column, text in enumerate(row.texts):
        if text:
            said += 1
            if column >= len(keys) or fold(text) != keys[column]:
                return False
            same += 1
    return said > 0 and same * 2 >= sum(1 for key in keys if key)


def _section(row: Row, numbers: set[int], carried: set[int]) -> int | None:
    """
    Return where the text stands in a row that only parts two blocks: a lone text that is no number.

    A lone text in a carried column (the village on a line of its own) opens a block as well. A lone text
    further right is no section: it may be the rest of a remark, and is left for a person to see.
    """
    texts = set(row.texts) - {""}
    if len(texts) != 1 or row.faults:
        return None
    text = texts.pop()
    column = row.texts.index(text)
    if column in carried:
        return column
    if column in numbers:
        return column if not any(char.isdigit() for char in text) or _is_wordy(text) else None
    return column if column == 0 or len(row.carried) > 0 else None


def _is_wordy(text: str) -> bool:
    """Return whether a text begins with a word of three letters and more, like ``Box 3``."""
    first = text.split()[0]
    return len(first) >= 3 and first.isalpha() and first != text


def _joined(row: Row) -> str:
    """Return what a row says, each text once."""
    return " | ".join(dict.fromkeys(text for text in row.texts if text))
