"""Scans as rows for lists and screens: what each is, what it is of, and what waits."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalog.errors import AmbiguousNameError, NotFoundError
from catalog.rules.references import format_reference, parse_reference
from catalog.store.archive import Archive
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import file_address, path_key, shown_path


@dataclass(frozen=True, slots=True)
class ScanRow:
    """A scan, with its file and its drive. The field names are the columns' own."""

    id: int
    file_id: int
    drive_id: int | None
    drive_name: str | None
    path: str
    raw_path: bytes | None
    state: str
    damage: str | None
    size_bytes: int
    modified_ns: int
    sha256: str
    picture_sha256: str | None
    first_seen_at: str
    last_checked_at: str
    last_good_at: str | None
    scanned_edtf: str | None
    scanned_words: str | None
    scanned_earliest: int | None
    scanned_latest: int | None
    kind: str
    device_maker: str | None
    device_model: str | None
    software: str | None
    width_px: int | None
    height_px: int | None
    bits: int | None
    channels: int | None
    extra_channels: int | None
    colour: str | None
    compression: str | None
    recorded_ppi: float | None
    worked_out_ppi: float | None
    profile: str | None
    white_is_zero: int | None
    orientation: int | None
    polarity: str | None
    is_reversed: int | None
    pages: int | None
    description: str | None
    facts: str | None

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference("scan", self.id)

    @property
    def name(self) -> str:
        """The file's name alone."""
        return self.path.rpartition("/")[2]


@dataclass(frozen=True, slots=True)
class ScanPartRow:
    """What a scan shows of a sheet, and how the two came together."""

    scan_id: int
    sheet_id: int
    region: str | None
    matched_by: str
    matched_text: str | None
    numbers: str | None


@dataclass(frozen=True, slots=True)
class WaitingScan:
    """
    A scan that is matched to no sheet.

    ``taken_apart``: a person took it off a sheet, so its name no longer decides.
    """

    id: int
    name: str
    path: str
    drive_id: int | None
    taken_apart: bool


_SCANS = """
    SELECT c.id, f.id AS file_id, f.drive_id, d.name AS drive_name, f.path, f.raw_path, f.state, f.damage,
        f.size_bytes, f.modified_ns, f.sha256, f.picture_sha256, f.first_seen_at, f.last_checked_at,
        f.last_good_at, c.scanned_edtf, c.scanned_words, c.scanned_earliest, c.scanned_latest, c.kind,
        c.device_maker, c.device_model, c.software, c.width_px, c.height_px, c.bits, c.channels,
        c.extra_channels, c.colour, c.compression, c.recorded_ppi, c.worked_out_ppi, c.profile,
        c.white_is_zero, c.orientation, c.polarity, c.is_reversed, c.pages, c.description, c.facts
    FROM scan c JOIN file f ON f.id = c.file_id LEFT JOIN drive d ON d.id = f.drive_id
"""
_PARTS = """
    SELECT p.scan_id, p.sheet_id, p.region, p.matched_by, p.matched_text,
        (SELECT group_concat(n.text, ', ') FROM sheet_number n WHERE n.sheet_id = p.sheet_id) AS numbers
    FROM scan_part p
"""
_WAITING = """
    SELECT c.id, f.path, f.drive_id, EXISTS (
        SELECT 1 FROM deed_change h JOIN deed e ON e.id = h.deed_id
        WHERE h.record_table = 'scan_part' AND h.change = 'removed' AND e.kind = 'scans unmatch'
            AND e.undone_by_id IS NULL AND json_extract(h.before, '$.scan_id') = c.id)
    FROM scan c JOIN file f ON f.id = c.file_id
    WHERE NOT EXISTS (SELECT 1 FROM scan_part p WHERE p.scan_id = c.id) ORDER BY c.id
"""


def list_scans(
    connection: sqlite3.Connection,
    *,
    drive_id: int | None = None,
    sheet_id: int | None = None,
    damaged: bool = False,
) -> list[ScanRow]:
    """Return scans in the order of their references, those that meet every condition given."""
    conditions: dict[str, Any] = {}
    clauses = []
    if drive_id is not None:
        clauses.append("f.drive_id = :drive")
        conditions["drive"] = drive_id
    if sheet_id is not None:
        clauses.append("EXISTS (SELECT 1 FROM scan_part p WHERE p.scan_id = c.id AND p.sheet_id = :sheet)")
        conditions["sheet"] = sheet_id
    if damaged:
        clauses.append("f.state = 'damaged'")
    where = f"WHERE {' AND '.join(clauses)} " if clauses else ""
    return [ScanRow(*row) for row in connection.execute(f"{_SCANS} {where} ORDER BY c.id", conditions)]


def get_scan(connection: sqlite3.Connection, scan_id: int) -> ScanRow | None:
    """Return one scan, or ``None`` when there is none of this number."""
    row = connection.execute(_SCANS + "WHERE c.id = ?", (scan_id,)).fetchone()
    return ScanRow(*row) if row else None


def scan_parts(connection: sqlite3.Connection, scan_id: int | None = None) -> list[ScanPartRow]:
    """Return what scans show of sheets: of one scan, or of all."""
    where, values = ("", ()) if scan_id is None else ("WHERE p.scan_id = ?", (scan_id,))
    found = connection.execute(f"{_PARTS} {where} ORDER BY p.scan_id, p.id", values)
    return [ScanPartRow(*row) for row in found]


def waiting_scans(connection: sqlite3.Connection) -> list[WaitingScan]:
    """Return the scans that are matched to no sheet."""
    return [
        WaitingScan(scan_id, path.rpartition("/")[2], path, drive_id, bool(taken_apart))
        for scan_id, path, drive_id, taken_apart in connection.execute(_WAITING)
    ]


def sheet_numbers(connection: sqlite3.Connection) -> list[tuple[int, str]]:
    """Return every number written for a sheet, with the sheet."""
    return connection.execute("SELECT sheet_id, text FROM sheet_number ORDER BY sheet_id, id").fetchall()


def find_scan(connection: sqlite3.Connection, archive: Archive, typed: str) -> int:
    """
    Return the scan that ``typed`` means: a reference, a path, or a file's name in any folder.

    Raises:
        NotFoundError: no scan answers to it.
        AmbiguousNameError: several do; they are listed.
    """
    referred = parse_reference(typed)
    if referred is not None and referred[0] == "scan" and get_scan(connection, referred[1]):
        return referred[1]
    found = _at_path(connection, archive, Path(typed)) or _of_name(connection, shown_path(typed))
    if not found:
        raise NotFoundError(f"No scan answers to {shown_path(typed)!r}. List them with: tiebeam scans list")
    if len(found) > 1:
        raise AmbiguousNameError(shown_path(typed), [(format_reference("scan", i), path) for i, path in found], "scans")
    return found[0][0]


def _at_path(connection: sqlite3.Connection, archive: Archive, path: Path) -> list[tuple[int, str]]:
    resolved = path.resolve()
    drives = here(sight_drives(drive_rows(connection), near=[resolved]))
    address = file_address(resolved, archive.folder, drives)
    found = connection.execute(
        "SELECT c.id, f.path FROM file f JOIN scan c ON c.file_id = f.id"
        " WHERE f.drive_id IS ? AND f.path_key = ? ORDER BY f.path = ? DESC",
        (address.drive_id, address.path_key, address.path),
    ).fetchall()
    exact = [row for row in found if row[1] == address.path]
    return exact or found


def _of_name(connection: sqlite3.Connection, typed: str) -> list[tuple[int, str]]:
    key = path_key(typed.replace("\\", "/") if "/" not in typed and "\\x" not in typed else typed)
    return connection.execute(
        "SELECT c.id, f.path FROM file f JOIN scan c ON c.file_id = f.id"
        " WHERE f.path_key = :key OR substr(f.path_key, -length(:key) - 1) = '/' || :key ORDER BY c.id",
        {"key": key},
    ).fetchall()
