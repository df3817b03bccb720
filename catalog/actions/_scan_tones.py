"""What is measured in a scan's pixels: looked up if it was measured before, else measured, and what a person says."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalog import clock
from catalog.model import ScanReading
from catalog.store.versions import find_reading
from catalog.store.writing import OnWait, open_session

if TYPE_CHECKING:
    import sqlite3

    from catalog.imaging.scan_reading import ScanReading as Reading
    from catalog.store.archive import Archive
    from catalog.store.scans import ScanRow

_POSITIVE = ("transparency", "lantern slide", "print")


def known_reading(connection: sqlite3.Connection, scan: ScanRow) -> Reading | None:
    """Return what this program measured in the bytes that the scan has now; ``None`` if it has to be measured."""
    row = find_reading(connection, scan.id, scan.sha256)
    return parse_reading(row.readings) if row is not None and row.program == clock.program_version() else None


def measure(path: Path) -> Reading:
    """
    Measure a scan's pixels.

    Raises:
        PictureError: it cannot be opened, or not be read to its end.
    """
    from catalog.imaging.scan_reading import read_tones

    return read_tones(path)


def keep_measured(archive: Archive, scan: ScanRow, reading: Reading, on_wait: OnWait | None = None) -> None:
    """
    Keep what was measured, so that it is not measured twice, and so that a side in question is known everywhere.

    No deed: nothing is said that the file does not say itself, and the daybook would have nothing to take back.
    """
    kept = ScanReading(
        scan_id=scan.id,
        sha256=scan.sha256,
        measured_at=clock.timestamp(),
        program=clock.program_version(),
        polarity=None if reading.polarity == "unknown" else reading.polarity,
        density_range=reading.density_range,
        is_reversed=reading.is_reversed,
        evidence=reading.reversed_reason,
        readings=format_reading(reading),
    )
    with open_session(archive, on_wait) as session:
        session.merge(kept)


def as_said(connection: sqlite3.Connection, scan: ScanRow, reading: Reading, usual_medium: str) -> Reading:
    """
    Return a reading with what a person says of the scan in the place of what was measured.

    A polarity that neither says is that of the sheet's medium, else of the medium that scans are of by the settings.
    """
    said: dict[str, Any] = {}
    if scan.polarity is not None:
        said = {"polarity": scan.polarity, "polarity_reason": "as said of the scan"}
    elif reading.polarity == "unknown":
        row = connection.execute(
            "SELECT s.medium FROM scan_part p JOIN sheet s ON s.id = p.sheet_id WHERE p.scan_id = ? ORDER BY p.id",
            (scan.id,),
        ).fetchone()
        medium = (row[0] if row else None) or usual_medium
        polarity = "positive" if medium in _POSITIVE else "negative"
        said = {"polarity": polarity, "polarity_reason": f"as a {medium} is"}
    if scan.is_reversed is not None:
        said |= {"is_reversed": bool(scan.is_reversed), "reversed_reason": "as said of the scan"}
    return replace(reading, **said)


def format_reading(reading: Reading) -> str:
    """Return a reading as JSON; ``parse_reading`` gives an equal one back."""
    return json.dumps(asdict(reading), ensure_ascii=False)


def parse_reading(text: str) -> Reading | None:
    """Return the reading that JSON holds; ``None`` if it is not one of this program's."""
    from catalog.imaging.scan_reading import Area
    from catalog.imaging.scan_reading import ScanReading as Reading

    try:
        found = json.loads(text)
        for name in ("film", "rebate", "picture"):
            found[name] = Area(**found[name]) if found[name] is not None else None
        found["densities"] = tuple(tuple(curve) for curve in found["densities"])
        found["base"] = tuple(found["base"]) if found["base"] is not None else None
        return Reading(**found)
    except (ValueError, TypeError, KeyError):  # kept by a program with other readings: it is measured again
        return None
