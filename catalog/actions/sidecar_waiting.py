"""Looking through the sidecars for those that say something else than the catalogue. Changes nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePath

from catalog.actions.sidecar_looking import Looked, ScanSeen, look_at_sidecars
from catalog.outputs.sidecar_compare import title_of
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.desk import WaitingRow

_SLICE = 200
"""So many sheets are looked at before it is told how far it is; what was seen of them is then put away."""
_HIDDEN = "[names a person]"


def sidecars_waiting(
    archive: Archive, *, is_private: bool = False, go_on: Callable[[int, int], bool] = lambda done, total: True
) -> tuple[WaitingRow, ...] | None:
    """
    Return the scans whose sidecars were changed elsewhere or cannot be read; a row opens the scan's sheet.

    ``go_on`` is told how many sheets were looked at, of how many; when it says no, ``None`` is returned. Scans that are
    away or missing are left out: they wait as what they are. What names a person is hidden unless it is asked for.
    """
    with archive.reading() as connection:
        rows = connection.execute("SELECT DISTINCT sheet_id FROM scan_part ORDER BY sheet_id")
        sheets = [row[0] for row in rows]
    found: dict[str, WaitingRow] = {}
    for start in range(0, len(sheets), _SLICE):
        if not go_on(start, len(sheets)):
            return None
        looked = look_at_sidecars(archive, sheets[start : start + _SLICE], embedded=False)
        for seen in looked.scans:
            row = _row(seen, looked, is_private=is_private)
            if row is not None:
                found.setdefault(row.label, row)
        for claim in looked.claims:
            words = _HIDDEN if not is_private and looked.private.finds(claim) else claim
            found.setdefault(words, WaitingRow(None, "folder", words))
    return tuple(found.values())


def _row(seen: ScanSeen, looked: Looked, *, is_private: bool) -> WaitingRow | None:
    if seen.state in ("away", "missing"):
        return None
    reference = (
        format_reference("sheet", seen.sheet_ids[0]) if seen.sheet_ids else format_reference("scan", seen.scan_id)
    )
    label, name = format_reference("scan", seen.scan_id), PurePath(seen.path).name
    if seen.fault is not None:
        fault = _HIDDEN if not is_private and looked.private.finds(seen.fault) else seen.fault
        return WaitingRow(reference, label, name, fault)
    told = [f"{title_of(one.name)} {one.standing}" for one in seen.fields if one.is_finding]
    return WaitingRow(reference, label, name, "; ".join(told)) if told else None
