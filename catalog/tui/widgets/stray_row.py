"""A scan that waits for a sheet as one line of a list: reference, file, when it was scanned, why it waits."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.store.strays import StrayRow
from catalog.tui.widgets.frame_row import date_told
from catalog.tui.widgets.paper import Row, cut

_REFERENCE, _DRIVE, _SCANNED = 7, 14, 16


@dataclass(frozen=True, slots=True)
class ToldStray:
    """A stray with why it waits; the reason is empty until it was looked for."""

    row: StrayRow
    why: str


def stray_row(told: ToldStray, width: int) -> Row:
    """Return the line of a stray; narrow, the drive and the date are left to its own card."""
    stray = told.row
    has_scanned, has_drive = width >= 90, width >= 110
    rest = width - _REFERENCE - (_SCANNED if has_scanned else 0) - (_DRIVE if has_drive else 0)
    name = max(min(rest * 45 // 100, 44), 10)
    row: Row = ((cut(stray.reference, _REFERENCE), "faint"), (cut(stray.name, name - 1) + " ", "strong"))
    if has_drive:
        row = (*row, (cut(stray.drive_name or "", _DRIVE - 1) + " ", "ink"))
    if has_scanned:
        when = date_told(stray.scanned_edtf) if stray.scanned_edtf else ""
        row = (*row, (cut(when, _SCANNED - 1) + " ", "ink"))
    return (*row, (cut(told.why, max(rest - name, 4)), "faint"))
