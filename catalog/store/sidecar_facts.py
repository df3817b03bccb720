"""What the catalogue holds of sheets and of the sidecars it wrote, as rows to compare others with."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class KeptSidecar:
    """A sidecar as it was last written; ``content`` is what we said in it."""

    scan_id: int
    name: str
    sha256: str
    written_at: str
    content: bytes


@dataclass(frozen=True, slots=True)
class SheetHeld:
    """What the catalogue holds of one sheet that a sidecar may tell too; ``None`` and empty is what it lacks."""

    id: int
    exposed_edtf: str | None
    scanned_edtf: str | None
    lens_id: int | None
    film_id: int | None
    aperture_f: float | None
    shutter_s: float | None
    filter: str | None
    development: str | None
    format: str | None
    medium: str | None
    fate: str
    view_ids: tuple[int, ...] = ()
    titles: tuple[str, ...] = ()
    places: frozenset[int] = frozenset()
    buildings: frozenset[int] = frozenset()
    notes: tuple[tuple[str, str], ...] = ()
    """Heading and text."""
    doubted: frozenset[str] = frozenset()
    """Fields that have a wording, settled or not: a person has looked at them."""


_SHEET = """
    SELECT s.id, s.exposed_edtf, (SELECT c.scanned_edtf FROM scan c WHERE c.id = :scan), s.lens_id,
        coalesce(s.film_id, r.film_id), s.aperture_f, s.shutter_s, s.filter, coalesce(s.development, r.development),
        s.format, s.medium, s.fate
    FROM sheet s LEFT JOIN roll r ON r.id = s.roll_id WHERE s.id = :sheet
"""


def kept_sidecars(connection: sqlite3.Connection, scan_ids: Iterable[int]) -> dict[int, KeptSidecar]:
    """Return what was last written beside these scans, by scan."""
    listed = f"[{','.join(str(int(scan_id)) for scan_id in scan_ids)}]"
    found = connection.execute(
        "SELECT scan_id, name, sha256, written_at, content FROM sidecar"
        " WHERE scan_id IN (SELECT value FROM json_each(?))",
        (listed,),
    )
    return {row[0]: KeptSidecar(*row) for row in found}


def killed_writes(connection: sqlite3.Connection) -> dict[str, str]:
    """
    Return the digests of sidecars that a killed process wrote, and when it began: it could not say what it wrote.

    Such a file is ours though the catalogue remembers another; see ``last_said``.
    """
    return dict(
        connection.execute(
            "SELECT f.after_sha256, max(d.at) FROM deed d JOIN deed_file f ON f.deed_id = d.id"
            " WHERE d.kind = 'sidecars write' AND d.state = 'interrupted' AND f.state = 'done'"
            " AND f.after_sha256 IS NOT NULL GROUP BY f.after_sha256"
        )
    )


def last_said(kept: KeptSidecar | None, sha256: str | None, killed: Mapping[str, str]) -> bytes | None:
    """
    Return what the catalogue keeps of what we last said in a sidecar that now has the digest ``sha256``.

    It is empty where this catalogue never wrote one. ``None`` leaves it to the record in the sidecar itself: a killed
    process wrote the file after what is kept.
    """
    written_at = "" if kept is None else kept.written_at
    is_kept = kept is not None and kept.sha256 == sha256
    if sha256 is not None and not is_kept and sha256 in killed and killed[sha256] >= written_at:
        return None
    return b"" if kept is None else kept.content


def sheet_held(connection: sqlite3.Connection, sheet_id: int, scan_id: int) -> SheetHeld:
    """Return what the catalogue holds of a sheet, with the day one of its scans was made."""
    row = connection.execute(_SHEET, {"sheet": sheet_id, "scan": scan_id}).fetchone()
    views = connection.execute(
        "SELECT v.id, v.title FROM sheet_view sv JOIN view v ON v.id = sv.view_id WHERE sv.sheet_id = ? ORDER BY sv.id",
        (sheet_id,),
    ).fetchall()
    shown = connection.execute(
        "SELECT vs.place_id, vs.building_id FROM sheet_view sv JOIN view_subject vs ON vs.view_id = sv.view_id"
        " WHERE sv.sheet_id = ?",
        (sheet_id,),
    ).fetchall()
    notes = connection.execute(
        "SELECT coalesce(heading, ''), text FROM note WHERE about = 'sheet' AND about_id = ? ORDER BY id", (sheet_id,)
    ).fetchall()
    worded = connection.execute(
        "SELECT DISTINCT field FROM wording WHERE about = 'sheet' AND about_id = ?", (sheet_id,)
    ).fetchall()
    return replace(
        SheetHeld(*row),
        view_ids=tuple(view_id for view_id, _ in views),
        titles=tuple(title for _, title in views if title),
        places=frozenset(place for place, _ in shown if place is not None),
        buildings=frozenset(building for _, building in shown if building is not None),
        notes=tuple(notes),
        doubted=frozenset(field for (field,) in worded),
    )


def last_changed_at(connection: sqlite3.Connection, sheet_id: int) -> str | None:
    """Return when a deed last changed a sheet, its views or what is said of it; ``None`` when none is known."""
    row = connection.execute(
        """
        SELECT max(d.at) FROM deed d WHERE d.id IN (
            SELECT deed_id FROM deed_change WHERE record_table = 'sheet' AND record_id = :sheet
            UNION SELECT deed_id FROM deed_change WHERE record_table = 'view'
                AND record_id IN (SELECT view_id FROM sheet_view WHERE sheet_id = :sheet)
            UNION SELECT deed_id FROM deed_change WHERE record_table = 'view_subject' AND record_id IN (
                SELECT vs.id FROM view_subject vs JOIN sheet_view sv ON sv.view_id = vs.view_id
                WHERE sv.sheet_id = :sheet)
            UNION SELECT deed_id FROM deed_change WHERE record_table = 'note'
                AND record_id IN (SELECT id FROM note WHERE about = 'sheet' AND about_id = :sheet)
        )
        """,
        {"sheet": sheet_id},
    ).fetchone()
    return None if row is None or row[0] is None else str(row[0])
