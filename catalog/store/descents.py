"""The descent of a sheet: its scans, the versions made from them, the prints made from those, and who has each."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from catalog.rules.references import format_reference

_DEEPEST = 12


@dataclass(frozen=True, slots=True)
class DescentLine:
    """One step of a descent; ``level`` 0 is made from the sheet itself."""

    level: int
    table: str
    id: int
    words: str
    remark: str
    is_doubtful: bool = False

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference(self.table, self.id)


_SCANS = """
    SELECT c.id, f.path, sp.region, d.name, f.state, f.damage, c.is_reversed FROM scan_part sp
    JOIN scan c ON c.id = sp.scan_id JOIN file f ON f.id = c.file_id LEFT JOIN drive d ON d.id = f.drive_id
    WHERE sp.sheet_id = ? ORDER BY c.id
"""
_VERSIONS = """
    SELECT w.id, w.purpose, w.note, w.steps IS NOT NULL, f.path, f.state FROM version_source s
    JOIN edit_version w ON w.id = s.version_id LEFT JOIN file f ON f.id = w.file_id WHERE s.{column} = ? ORDER BY w.id
"""
_PRINTS = """
    SELECT p.id, n.written, r.edition_id, p.life, t.state, t.custodian_id, who.name, p.paper FROM print p
    LEFT JOIN print_number n ON n.id = p.print_number_id LEFT JOIN run r ON r.id = n.run_id
    LEFT JOIN print_standing t ON t.print_id = p.id LEFT JOIN person who ON who.id = t.custodian_id
    WHERE {which} ORDER BY p.id
"""
_OF_SHEET = """
    p.version_id IS NULL AND p.scan_id IS NULL AND p.life <> 'void' AND (p.sheet_id = ?1
        OR (p.sheet_id IS NULL AND r.edition_id IN (SELECT edition_id FROM edition_sheet WHERE sheet_id = ?1)))
"""


def read_descent(connection: sqlite3.Connection, sheet_id: int, *, is_private: bool = False) -> tuple[DescentLine, ...]:
    """
    Return the descent of a sheet, each thing below what it was made from.

    Who has a print is told by reference; by name only when private.
    """
    return tuple(_Reader(connection, is_private=is_private).sheet(sheet_id))


class _Reader:
    def __init__(self, connection: sqlite3.Connection, *, is_private: bool) -> None:
        self._connection, self._is_private = connection, is_private
        self._seen: set[tuple[str, int]] = set()

    def sheet(self, sheet_id: int) -> Iterator[DescentLine]:
        for scan, path, region, drive, state, damage, is_reversed in self._connection.execute(_SCANS, (sheet_id,)):
            remarks = [region, f"on {drive}" if drive else None, damage or (state if state != "present" else None)]
            remarks.append("reversed" if is_reversed else None)
            yield DescentLine(0, "scan", scan, path.rpartition("/")[2], ", ".join(filter(None, remarks)))
            yield from self._versions("scan_id", scan, 1)
            yield from self._prints("p.scan_id = ?1 AND p.version_id IS NULL AND p.life <> 'void'", scan, 1)
        yield from self._versions("sheet_id", sheet_id, 0)
        yield from self._prints(_OF_SHEET, sheet_id, 0)

    def _versions(self, column: str, made_from: int, level: int) -> Iterator[DescentLine]:
        rows = self._connection.execute(_VERSIONS.format(column=column), (made_from,)).fetchall()
        for version, purpose, note, has_steps, path, state in rows:
            how = "tone steps" if has_steps else "made elsewhere"
            remarks = [how if purpose else None, path.rpartition("/")[2] if path else None]
            remarks.append(state if state not in (None, "present") else None)
            words = purpose or note or how
            again = ("edit_version", version) in self._seen
            self._seen.add(("edit_version", version))
            said = ", ".join(filter(None, remarks))
            yield DescentLine(level, "edit_version", version, words, f"{said}; see above" if again else said)
            if not again and level < _DEEPEST:
                yield from self._versions("source_version_id", version, level + 1)
                yield from self._prints("p.version_id = ?1 AND p.life <> 'void'", version, level + 1)

    def _prints(self, which: str, value: int, level: int) -> Iterator[DescentLine]:
        for print_id, written, edition, life, state, custodian_id, custodian, paper in self._connection.execute(
            _PRINTS.format(which=which), (value,)
        ):
            of = f" of {format_reference('edition', edition)}" if edition else ""
            who = custodian if self._is_private else custodian_id and format_reference("person", custodian_id)
            remarks = [state, f"with {who}" if who else None, paper, "ended" if life == "ended" else None]
            words = f"print {written}{of}" if written else "print"
            yield DescentLine(level, "print", print_id, words, ", ".join(filter(None, remarks)))
