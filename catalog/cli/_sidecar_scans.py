"""Which scans a ``tiebeam sidecars`` command is about: named by reference or file, or found as ``find`` finds."""

from __future__ import annotations

import os
import sqlite3
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from catalog.store.archive import Archive


@dataclass(frozen=True, slots=True)
class AskedScans:
    """
    The sheets whose scans are meant.

    When scans or whole sheets were named themselves, they stand in ``scans`` and ``sheets``: then only the named
    scans are meant, and every scan of the named sheets.
    """

    sheet_ids: list[int]
    scans: frozenset[int] = frozenset()
    sheets: frozenset[int] = frozenset()

    def holds(self, scan_id: int, sheet_ids: tuple[int, ...]) -> bool:
        """Return True if a scan of these sheets is meant."""
        return not self.scans or scan_id in self.scans or not self.sheets.isdisjoint(sheet_ids)


def scans_asked(archive: Archive, asked: dict[str, Any]) -> AskedScans:
    """
    Return the scans that the words and options of a command ask for; say so when they find no frame.

    Raises:
        NotFoundError: a word names a record that is not there, or a file that is no scan of this archive.
        AmbiguousNameError: several scans lie under a file's name; they are listed.
    """
    from catalog.store.asking import ask
    from catalog.store.find import find_frames

    with archive.reading() as connection:
        named = _named(connection, archive, asked.get("words", ()))
        if named is not None:
            return named
        answer = find_frames(connection, ask(connection, archive, **asked))
    if not answer.frames and any(asked.values()):
        click.echo("No frame is found by that; look for it with: tiebeam find", err=True)
    return AskedScans([frame.id for frame in answer.frames if frame.scans])


def _named(connection: sqlite3.Connection, archive: Archive, words: tuple[str, ...]) -> AskedScans | None:
    """Return what the words name, when each is a reference of a scan or sheet, or a file on the disk."""
    from catalog.errors import NotFoundError
    from catalog.rules.references import format_reference, parse_reference
    from catalog.store.scans import find_scan, scan_parts

    scans: set[int] = set()
    sheets: set[int] = set()
    for word in words:
        kind, record_id = parse_reference(word) or (None, 0)
        if kind == "sheet":
            if connection.execute("SELECT 1 FROM sheet WHERE id = ?", (record_id,)).fetchone() is None:
                raise NotFoundError(f"There is no sheet {word}. Look for it with: tiebeam find")
            sheets.add(record_id)
        elif kind == "scan" or os.path.isfile(word):  # noqa: PTH113  never an error, however long the words
            scans.add(find_scan(connection, archive, word))
        else:
            return None
    meant = set(sheets)
    for scan_id in sorted(scans):
        shown = {part.sheet_id for part in scan_parts(connection, scan_id)}
        if not shown:
            click.echo(
                f"{format_reference('scan', scan_id)} is of no sheet yet. See: tiebeam scans unmatched", err=True
            )
        meant |= shown
    return AskedScans(sorted(meant), frozenset(scans), frozenset(sheets)) if words else None
