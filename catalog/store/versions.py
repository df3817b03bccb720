"""Edit versions as rows for lists and screens: what each was made from, what stands now, what was measured."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from catalog.rules.references import format_reference


@dataclass(frozen=True, slots=True)
class VersionRow:
    """An edit version, with its file where it has one. The field names are the columns' own."""

    id: int
    steps: str | None
    file_id: int | None
    purpose: str | None
    made_edtf: str | None
    made_words: str | None
    made_earliest: int | None
    made_latest: int | None
    made_with: str | None
    replaces_id: int | None
    kind: str | None
    width_px: int | None
    height_px: int | None
    bits: int | None
    channels: int | None
    colour: str | None
    recorded_ppi: float | None
    profile: str | None
    facts: str | None
    note: str | None
    drive_id: int | None
    drive_name: str | None
    drive_path: str | None
    path: str | None
    raw_path: bytes | None
    state: str | None
    damage: str | None
    sha256: str | None

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference("edit_version", self.id)


@dataclass(frozen=True, slots=True)
class SourceRow:
    """One thing a version was made from: a scan, an earlier version, or a sheet of which the scan is not known."""

    version_id: int
    position: int
    scan_id: int | None
    source_version_id: int | None
    sheet_id: int | None

    @property
    def reference(self) -> str:
        """The permanent short name of what it was made from."""
        if self.scan_id is not None:
            return format_reference("scan", self.scan_id)
        if self.source_version_id is not None:
            return format_reference("edit_version", self.source_version_id)
        return format_reference("sheet", self.sheet_id or 0)


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """What was measured in a scan's pixels. ``readings`` is the whole of it, as JSON."""

    scan_id: int
    sha256: str
    measured_at: str
    program: str
    polarity: str | None
    density_range: float | None
    is_reversed: int | None
    evidence: str | None
    readings: str


_VERSIONS = """
    SELECT w.id, w.steps, w.file_id, w.purpose, w.made_edtf, w.made_words, w.made_earliest, w.made_latest, w.made_with,
        w.replaces_id, w.kind, w.width_px, w.height_px, w.bits, w.channels, w.colour, w.recorded_ppi, w.profile,
        w.facts, w.note, f.drive_id, d.name, d.last_path, f.path, f.raw_path, f.state, f.damage, f.sha256
    FROM edit_version w LEFT JOIN file f ON f.id = w.file_id LEFT JOIN drive d ON d.id = f.drive_id
"""
# Every version with itself and with each version it descends from.
DESCENT = """
    descent(version_id, from_id) AS (
        SELECT id, id FROM edit_version {only}
        UNION
        SELECT descent.version_id, s.source_version_id FROM descent JOIN version_source s ON s.version_id = from_id
        WHERE s.source_version_id IS NOT NULL
    )
"""
_SHEETS_OF = """{descent}
    SELECT DISTINCT descent.version_id, coalesce(s.sheet_id, p.sheet_id) AS sheet_id
    FROM descent JOIN version_source s ON s.version_id = descent.from_id
    LEFT JOIN scan_part p ON p.scan_id = s.scan_id
    WHERE coalesce(s.sheet_id, p.sheet_id) IS NOT NULL ORDER BY 1, 2
"""
# The versions made from a sheet: without a scan between, from its scans, and from versions of those.
VERSIONS_OF_SHEET = """
    WITH RECURSIVE made(id) AS (
        SELECT version_id FROM version_source WHERE sheet_id = :id
        UNION
        SELECT s.version_id FROM version_source s JOIN scan_part p ON p.scan_id = s.scan_id WHERE p.sheet_id = :id
        UNION
        SELECT s.version_id FROM version_source s JOIN made ON s.source_version_id = made.id
    )
    SELECT id FROM made
"""
VERSIONS_OF_SCAN = """
    WITH RECURSIVE made(id) AS (
        SELECT version_id FROM version_source WHERE scan_id = :id
        UNION
        SELECT s.version_id FROM version_source s JOIN made ON s.source_version_id = made.id
    )
    SELECT id FROM made
"""


def list_versions(connection: sqlite3.Connection, sheets: Collection[int] | None = None) -> list[VersionRow]:
    """Return versions in the order of their references: all, or those made from certain sheets."""
    rows = [VersionRow(*row) for row in connection.execute(f"{_VERSIONS} ORDER BY w.id")]
    if sheets is None:
        return rows
    wanted = set(sheets)
    of = sheets_of_versions(connection)
    return [row for row in rows if wanted.intersection(of.get(row.id, ()))]


def get_version(connection: sqlite3.Connection, version_id: int) -> VersionRow | None:
    """Return one version, or ``None`` when there is none of this number."""
    row = connection.execute(_VERSIONS + "WHERE w.id = ?", (version_id,)).fetchone()
    return VersionRow(*row) if row else None


def version_sources(connection: sqlite3.Connection, version_id: int | None = None) -> list[SourceRow]:
    """Return what versions were made from, in order: of one version, or of all."""
    where, values = ("", ()) if version_id is None else ("WHERE version_id = ?", (version_id,))
    found = connection.execute(
        "SELECT version_id, position, scan_id, source_version_id, sheet_id FROM version_source"
        f" {where} ORDER BY version_id, position",
        values,
    )
    return [SourceRow(*row) for row in found]


def sheets_of_versions(connection: sqlite3.Connection, version_id: int | None = None) -> dict[int, list[int]]:
    """Return the sheets that each version shows, through every scan and version it descends from."""
    only, values = ("", ()) if version_id is None else ("WHERE id = ?", (version_id,))
    found: dict[int, list[int]] = {}
    statement = _SHEETS_OF.format(descent=f"WITH RECURSIVE {DESCENT.format(only=only)}")
    for version, sheet in connection.execute(statement, values):
        found.setdefault(version, []).append(sheet)
    return found


def scans_of_version(connection: sqlite3.Connection, version_id: int) -> list[int]:
    """Return the scans that a version descends from."""
    rows = connection.execute(
        f"WITH RECURSIVE {DESCENT.format(only='WHERE id = ?')} SELECT DISTINCT s.scan_id FROM descent"
        " JOIN version_source s ON s.version_id = descent.from_id WHERE s.scan_id IS NOT NULL ORDER BY 1",
        (version_id,),
    )
    return [row[0] for row in rows]


def replacements(connection: sqlite3.Connection) -> dict[int, list[int]]:
    """Return which versions name each version as the one they replace."""
    found: dict[int, list[int]] = {}
    rows = connection.execute("SELECT replaces_id, id FROM edit_version WHERE replaces_id IS NOT NULL ORDER BY id")
    for replaced, version in rows:
        found.setdefault(replaced, []).append(version)
    return found


def versions_made_of(connection: sqlite3.Connection, scan_id: int) -> list[int]:
    """Return the versions made from a scan and nothing else, directly."""
    rows = connection.execute(
        "SELECT version_id FROM version_source WHERE scan_id = ? AND NOT EXISTS (SELECT 1 FROM version_source o"
        " WHERE o.version_id = version_source.version_id AND o.id <> version_source.id) ORDER BY version_id",
        (scan_id,),
    )
    return [row[0] for row in rows]


def scans_of_sheet(connection: sqlite3.Connection, sheet_id: int) -> list[int]:
    """Return the scans of a sheet."""
    rows = connection.execute("SELECT scan_id FROM scan_part WHERE sheet_id = ? ORDER BY scan_id", (sheet_id,))
    return [row[0] for row in rows]


def sides_in_question(connection: sqlite3.Connection, scans: Iterable[int]) -> list[int]:
    """Return those of these scans that seem to be made from the wrong side of the film, with no answer yet."""
    from catalog.rules.versions import is_side_open

    found = []
    for scan_id in scans:
        row = connection.execute(
            "SELECT c.is_reversed, r.is_reversed FROM scan c JOIN file f ON f.id = c.file_id"
            " LEFT JOIN scan_reading r ON r.scan_id = c.id AND r.sha256 = f.sha256 WHERE c.id = ?",
            (scan_id,),
        ).fetchone()
        if row is not None and is_side_open(said=_yes_no(row[0]), seen=_yes_no(row[1])):
            found.append(scan_id)
    return found


def _yes_no(value: int | None) -> bool | None:
    return None if value is None else bool(value)


# ---- what was measured


def find_reading(connection: sqlite3.Connection, scan_id: int, sha256: str | None = None) -> ReadingRow | None:
    """Return what was measured of a scan; with ``sha256`` only if it was measured in these bytes."""
    row = connection.execute(
        "SELECT scan_id, sha256, measured_at, program, polarity, density_range, is_reversed, evidence, readings"
        " FROM scan_reading WHERE scan_id = ? AND (? IS NULL OR sha256 = ?)",
        (scan_id, sha256, sha256),
    ).fetchone()
    return ReadingRow(*row) if row else None
