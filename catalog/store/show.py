"""One record whole, as rows to read: its facts, and what belongs to it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass

from catalog.errors import AmbiguousNameError, NotFoundError
from catalog.rules.print_numbers import parse_number
from catalog.rules.references import SHOWN, WORDS, format_reference, parse_reference
from catalog.store import (
    _show_buildings,
    _show_documents,
    _show_field,
    _show_prints,
    _show_sheets,
    _show_versions,
)
from catalog.store._show_reader import DateValue, Fact, Line, Reader, Section
from catalog.store.find import FoundScan
from catalog.store.names import candidates, describe, find_by_name, find_by_number, plural
from catalog.store.print_names import resolve_print

__all__ = ["SHOWN", "DateValue", "Fact", "Line", "Record", "identify", "read_record"]


@dataclass(frozen=True, slots=True)
class Record:
    """A record whole."""

    table: str
    id: int
    title: str
    facts: tuple[Fact, ...]
    sections: tuple[tuple[str, tuple[Line, ...]], ...]
    scan: FoundScan | None = None
    """Where its file lies, if it is a scan, or an edit version with a file."""

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference(self.table, self.id)


_READERS: dict[str, Callable[[Reader], tuple[list[Fact], list[Section]]]] = {
    **_show_sheets.READERS,
    **_show_buildings.READERS,
    **_show_field.READERS,
    **_show_versions.READERS,
    **_show_documents.READERS,
    **_show_prints.READERS,
}
# What belongs to a record beside what its own reader tells.
_BESIDE: dict[str, tuple[str, Callable[[Reader], list[Line]]]] = {
    "sheet": ("editions", _show_prints.edition_lines),
    "view": ("editions", _show_prints.edition_lines),
    "person": ("prints", _show_prints.held_lines),
}
_BY_NAME = ("building", "place", "person", "kit", "source", "drive", "roll", "edition")


def identify(connection: sqlite3.Connection, typed: str) -> tuple[str, int]:
    """
    Return the table and id that ``typed`` means: a reference, then a number, then a name.

    Raises:
        NotFoundError: nothing answers to it.
        AmbiguousNameError: several records do; they are listed.
    """
    referred = parse_reference(typed)
    if referred is not None and referred[0] in SHOWN and describe(connection, *referred) is not None:
        return referred
    number = parse_number(typed)
    if number is not None and (number.edition_id is not None or number.run_id is not None):
        return "print", resolve_print(connection, typed)
    found = [("sheet", record_id) for record_id in find_by_number(connection, typed)]
    if not found:
        found = [(table, i) for table in _BY_NAME for i in find_by_name(connection, typed, table)]
    if len(found) == 1:
        return found[0]
    if found:
        listed = [line for table, i in found for line in candidates(connection, table, [i])]
        tables = {table for table, _ in found}
        raise AmbiguousNameError(typed, listed, plural(*tables) if len(tables) == 1 else "records")
    raise NotFoundError(f"No reference, number or name is {typed!r}. Look for its words with: tiebeam find")


def read_record(
    connection: sqlite3.Connection, table: str, record_id: int, about_days: int, *, is_private: bool = False
) -> Record:
    """
    Return a record with everything that belongs to it; who has a print by name, and prices, only when private.

    Raises:
        NotFoundError: it is not there.
    """
    title = describe(connection, table, record_id)
    if title is None:
        raise NotFoundError(f"There is no {WORDS[table]} {format_reference(table, record_id)}.")
    reader = Reader(connection, table, record_id, about_days, is_private)
    facts, sections = _READERS[table](reader)
    if table in _BESIDE:
        heading, lines_of = _BESIDE[table]
        sections = [*sections, (heading, lines_of(reader))]
    told = tuple((name, tuple(lines)) for name, lines in [*sections, *reader.said()] if lines)
    return Record(table, record_id, title, tuple(facts), told, reader.file_of(table))
