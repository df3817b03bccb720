"""Frames as contact sheets show them: the facts of a caption, and the scans to choose a picture from."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from catalog.store.captions import ScanToCaption
from catalog.store.index_pictures import STEPS_OF_SCAN


@dataclass(frozen=True, slots=True)
class ScanOfFrame:
    """A scan of a sheet, as far as it decides which scan is shown, and how large."""

    sheet_id: int
    scan_id: int
    region: str | None
    sheets_on_it: int
    """How many sheets the scan shows together."""
    width_px: int | None
    height_px: int | None
    ppi: float | None
    """What its header says, else what its pixels and the film's size make."""
    steps: str | None
    """The tone steps that its index picture is made by, if any."""


# Without a scan: a frame has its caption whether it was scanned or not.
_SHEETS = """
    SELECT 0, s.id, NULL, '', NULL, NULL, NULL, NULL,
        s.exposed_edtf, s.exposed_words, s.exposed_earliest, s.exposed_latest, s.exposed_doubt,
        s.medium, s.base, s.format, s.aperture_f, s.shutter_s, s.filter,
        s.rise_mm, s.shift_mm, s.tilt_deg, s.swing_deg, coalesce(s.development, r.development), s.fate,
        lk.name, lk.maker, l.focal_length_mm, fk.name, fs.tones, fs.base, NULL
    FROM json_each(:sheets) wanted
    CROSS JOIN sheet s ON s.id = wanted.value
    LEFT JOIN roll r ON r.id = s.roll_id
    LEFT JOIN lens l ON l.id = s.lens_id LEFT JOIN kit lk ON lk.id = s.lens_id
    LEFT JOIN film_stock fs ON fs.id = coalesce(s.film_id, r.film_id)
    LEFT JOIN kit fk ON fk.id = coalesce(s.film_id, r.film_id)
    ORDER BY wanted.key
"""
_SCANS = f"""
    SELECT sp.sheet_id, sp.scan_id, sp.region,
        (SELECT count(*) FROM scan_part other WHERE other.scan_id = sp.scan_id), c.width_px, c.height_px,
        coalesce(c.recorded_ppi, c.worked_out_ppi), {STEPS_OF_SCAN}
    FROM scan_part sp JOIN scan c ON c.id = sp.scan_id
    WHERE sp.sheet_id IN (SELECT value FROM json_each(:sheets)) ORDER BY sp.sheet_id, sp.scan_id
"""


def sheets_to_caption(connection: sqlite3.Connection, sheet_ids: Iterable[int]) -> list[ScanToCaption]:
    """Return these sheets in their order, as a caption is made of them; of a scan nothing is told."""
    return [ScanToCaption(*row) for row in connection.execute(_SHEETS, {"sheets": str(list(sheet_ids))})]


def scans_of_frames(connection: sqlite3.Connection, sheet_ids: Iterable[int]) -> dict[int, list[ScanOfFrame]]:
    """Return the scans of these sheets, by sheet."""
    found: dict[int, list[ScanOfFrame]] = {}
    for row in connection.execute(_SCANS, {"sheets": str(list(sheet_ids))}):
        found.setdefault(row[0], []).append(ScanOfFrame(*row))
    return found
