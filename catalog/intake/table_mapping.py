"""What mapping files of card indexes and of old ledgers have in common: which column is what, how it is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from catalog.intake.headings import Layout, lay_out
from catalog.intake.tables import Table, read_table


@dataclass(frozen=True, slots=True)
class ColumnUse:
    """
    What one column is. ``carry`` repeats its value down a block; ``scheme`` names the series of its numbers.
    """

    field: str
    carry: bool = False
    scheme: str = ""


@dataclass(frozen=True, slots=True)
class TableMapping:
    """
    How a table of somebody's is to be read: what its columns are, and how its file and its dates are written.

    ``century`` is that of two-digit years (1900). Whatever is not stated keeps its default.
    """

    columns: Mapping[str, ColumnUse]
    encoding: str | None = None
    delimiter: str | None = None
    sheet: str | None = None
    heading_row: int | None = None
    century: int | None = None
    day_order: str | None = None
    """``dmy`` or ``mdy`` for dates like 10/12/1979; unset, each is asked about."""
    date_readings: Mapping[str, str] = field(default_factory=dict)
    """EDTF for words that mean several dates, settled by the person; ``""`` keeps the words and no date."""

    def headings(self, *fields: str) -> frozenset[str]:
        """Return the headings of the columns that hold one of ``fields``."""
        return frozenset(heading for heading, use in self.columns.items() if use.field in fields)

    def carried_headings(self) -> frozenset[str]:
        """Return the headings of the columns whose values are carried down."""
        return frozenset(heading for heading, use in self.columns.items() if use.carry)

    def read_table(self, path: Path, *, encoding: str | None = None, sheet: str | None = None) -> Table:
        """Return the table of a file; ``encoding`` and ``sheet`` outrank the mapping. Raises as ``read_table``."""
        return read_table(path, encoding=encoding or self.encoding, delimiter=self.delimiter, sheet=sheet or self.sheet)

    def lay_out(self, table: Table, words: Mapping[str, str]) -> Layout:
        """Return headings and rows of a table; ``words`` are those that columns are known by. Raises as ``lay_out``."""
        return lay_out(
            table,
            heading_row=self.heading_row,
            known_headings=frozenset(self.columns),
            number_columns=self.headings("number"),
            carried_columns=self.carried_headings(),
            words=words,
        )
