"""Ditto marks and values typed once per block, resolved to what they stand for and marked as carried."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from catalog.intake.headings import CardRow, Layout, Skipped

DITTO_MARKS = frozenset(
    mark
    for base in [
        '"',
        "''",
        "〃",
        "″",
        "“",
        "”",
        "‘‘",
        "’’",
        '""',
        ",,",
        "„",
        "»",
        "do",
        "do.",
        "ditto",
        "id.",
        "idem",
        "dto",
        "dto.",
    ]
    for mark in (base, base.capitalize(), base.upper(), f"-{base}-", f"- {base} -", f"–{base}–")
)


@dataclass(frozen=True, slots=True)
class ResolvedRow:
    """A card row whose ditto marks and carried-down cells say what they stand for."""

    source: CardRow
    texts: tuple[str, ...]
    carried: dict[int, int]
    """The columns whose value stands elsewhere, with the row it stands in."""
    unresolved: tuple[tuple[int, str], ...] = ()
    """The columns whose mark has nothing to stand for, with the reason."""


def resolve_blocks(layout: Layout, carried_columns: frozenset[int]) -> Iterator[ResolvedRow]:
    """
    Yield the card rows with ditto marks and carried-down cells resolved.

    A mark repeats the cell above it within the same block; an empty cell of a carried column repeats the last
    value above it within the block. Neither reaches across a blank row, repeated headings or a section row.
    """
    openers = _openers(layout, carried_columns)
    above = _Above((), {}, 0)
    held: dict[int, tuple[str, int]] = {}
    for card in layout.cards:
        row = card.row
        if card.starts_block:
            above, held = _Above((), {}, 0), dict(openers.get(row.number, {}))
        texts: tuple[str, ...] | list[str] = row.texts
        carried: dict[int, int] = {}
        unresolved: list[tuple[int, str]] = []
        for column in row.carried:
            text, origin = above.cell(column) or ("", row.number)
            carried[column] = origin if text == texts[column] else row.number
        if not DITTO_MARKS.isdisjoint(texts):
            texts = list(texts)
            _resolve_dittos(texts, above, carried, unresolved, crossed=card.starts_block)
        for column in carried_columns:
            text = texts[column] if column < len(texts) else ""
            if text:
                held[column] = (text, carried.get(column, row.number))
            elif column in held and not any(column == at for at, _ in unresolved):
                texts = _with(texts, column, held[column][0])
                carried[column] = held[column][1]
            elif not text and card.starts_block and not any(column == at for at, _ in unresolved):
                unresolved.append((column, "is empty, and nothing stands above it in this block"))
        above = _Above(texts, carried, row.number)
        yield ResolvedRow(card, tuple(texts), carried, tuple(unresolved))


@dataclass(frozen=True, slots=True)
class _Above:
    """The row above, its marks resolved; ``carried`` says of a column in which row its value stands."""

    texts: Sequence[str]
    carried: Mapping[int, int]
    row: int

    def cell(self, column: int) -> tuple[str, int] | None:
        """Return what the row says in a column and in which row that stands; ``None`` where it says nothing."""
        if column >= len(self.texts) or not self.texts[column]:
            return None
        return self.texts[column], self.carried.get(column, self.row)


def _openers(layout: Layout, columns: frozenset[int]) -> dict[int, dict[int, tuple[str, int]]]:
    """
    Return the values that a section row gives to the carried column of the block below it, by first row.
    """
    sections: list[Skipped] = [skip for skip in layout.skipped if skip.kind == "section"]
    if not sections or len(columns) != 1:
        return {}
    column = next(iter(columns))
    found: dict[int, dict[int, tuple[str, int]]] = {}
    texts = {skip.row: skip for skip in sections}
    starts = [card.row.number for card in layout.cards if card.starts_block]
    for start in starts:
        before = texts.get(start - 1)
        if before is not None and before.column == column:
            found[start] = {column: (before.text, before.row)}
    return found


def _resolve_dittos(
    texts: list[str],
    above: _Above,
    carried: dict[int, int],
    unresolved: list[tuple[int, str]],
    *,
    crossed: bool,
) -> None:
    """Put what stands above in the place of each ditto mark."""
    for column, text in enumerate(texts):
        if text in DITTO_MARKS and column not in carried:
            found = above.cell(column)
            if found is not None:
                texts[column], carried[column] = found
            else:
                reason = "a break stands above it" if crossed else "the cell above it is empty"
                unresolved.append((column, f"is a ditto mark, but {reason}"))
                texts[column] = ""


def _with(texts: tuple[str, ...] | list[str], column: int, text: str) -> list[str]:
    """Return texts with one of them set."""
    changed = [*texts, *[""] * (column + 1 - len(texts))]
    changed[column] = text
    return changed
