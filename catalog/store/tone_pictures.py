"""Which picture a person means when they ask for the tones of a frame, and where its file lies now."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from catalog.errors import NotFoundError, RefusedError
from catalog.rules.references import format_reference, parse_reference
from catalog.rules.versions import final_replacements
from catalog.store.archive import Archive
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import FileAddress, place_of
from catalog.store.index_pictures import PictureScan, picture_scans
from catalog.store.names import describe, resolve
from catalog.store.scans import ScanRow, find_scan, get_scan, scan_parts
from catalog.store.versions import (
    VersionRow,
    get_version,
    list_versions,
    replacements,
    scans_of_sheet,
    scans_of_version,
    sheets_of_versions,
    version_sources,
)


@dataclass(frozen=True, slots=True)
class TonePicture:
    """
    A picture to read tones from: a scan, or a version.

    ``path`` is the file to read: a version's own, or the scan's that its ``steps`` are replayed on. ``scans`` are
    those that it comes from; ``others`` the references of the sheet's other pictures.
    """

    reference: str
    path: Path
    sheets: tuple[tuple[int, str], ...]
    """The sheets it shows, each with the line that tells it from others."""
    version: VersionRow | None
    steps: str | None
    scans: tuple[ScanRow, ...]
    polarity: str | None
    """What the card or a person says of the scan; ``None`` where the pixels are to tell."""
    others: tuple[str, ...] = ()
    replaced_by: tuple[str, ...] = ()


def find_tone_picture(
    connection: sqlite3.Connection,
    archive: Archive,
    typed: str,
    *,
    scan: str | None = None,
    version: str | None = None,
) -> TonePicture:
    """
    Return the picture that ``typed`` means: a scan or a version by its reference, else the sheet's.

    Of a sheet it is the newest version that nothing replaces, else the scan of the most pixels; ``scan`` and
    ``version`` name another one.

    Raises:
        NotFoundError: nothing answers to what was typed, or the sheet has no picture yet.
        AmbiguousNameError: several sheets carry the number.
        RefusedError: the picture named is not of this sheet, or its file is not here.
    """
    referred = parse_reference(typed)
    if referred is not None and referred[0] in ("scan", "edit_version"):
        if scan is not None or version is not None:
            raise RefusedError(f"{typed} is a picture itself. Leave out --scan and --version, or give the sheet.")
        scan, version = (typed, None) if referred[0] == "scan" else (None, typed)
        return _Finder(connection, archive, None).named(scan, version)
    sheet_id = resolve(connection, typed, "sheet")
    finder = _Finder(connection, archive, sheet_id)
    return finder.named(scan, version) if scan or version else finder.best()


class _Finder:
    def __init__(self, connection: sqlite3.Connection, archive: Archive, sheet_id: int | None) -> None:
        self._connection, self._archive, self._sheet_id = connection, archive, sheet_id
        self._drives = here(sight_drives(drive_rows(connection)))

    def named(self, scan: str | None, version: str | None) -> TonePicture:
        if scan is not None and version is not None:
            raise RefusedError("Name a scan or a version, not both.")
        if version is not None:
            return self._of_version(self._typed_version(version))
        assert scan is not None
        return self._of_scan(find_scan(self._connection, self._archive, scan))

    def best(self) -> TonePicture:
        """Return the sheet's newest version that stands, else its scan of the most pixels."""
        assert self._sheet_id is not None
        versions = [row for row in list_versions(self._connection, [self._sheet_id]) if not self._replaced(row.id)]
        readable = [row for row in versions if self._is_readable(row)]
        if readable:
            return self._of_version(readable[-1])
        scans = [get_scan(self._connection, one) for one in scans_of_sheet(self._connection, self._sheet_id)]
        whole = sorted((row for row in scans if row), key=lambda row: (self._rank(row), row.id))
        if not whole:
            name = format_reference("sheet", self._sheet_id)
            said = describe(self._connection, "sheet", self._sheet_id)
            raise NotFoundError(f"{name} ({said}) has no scan yet. Register its scans with: tiebeam scans add PATH")
        return self._of_scan(whole[0].id)

    def _rank(self, row: ScanRow) -> tuple[bool, bool, int]:
        """Return what puts a scan behind others: damage, a drive that is away, few pixels."""
        return row.damage is not None, self._place(row) is None, -(row.width_px or 0) * (row.height_px or 0)

    def _place(self, row: ScanRow | VersionRow) -> Path | None:
        if row.path is None:
            return None
        return place_of(FileAddress(row.drive_id, row.path, row.raw_path, ""), self._archive.folder, self._drives)

    def _replaced(self, version_id: int) -> tuple[str, ...]:
        standing = final_replacements(version_id, replacements(self._connection))
        return tuple(format_reference("edit_version", one) for one in standing if one != version_id)

    def _is_readable(self, row: VersionRow) -> bool:
        """Whether the tones of a version can be read at all: from its file, or by its steps on one scan."""
        return row.path is not None or (row.steps is not None and self._only_scan(row.id) is not None)

    def _only_scan(self, version_id: int) -> int | None:
        sources = version_sources(self._connection, version_id)
        return sources[0].scan_id if len(sources) == 1 else None

    def _typed_version(self, typed: str) -> VersionRow:
        referred = parse_reference(typed)
        row = get_version(self._connection, referred[1]) if referred and referred[0] == "edit_version" else None
        if row is None:
            raise NotFoundError(f"No version answers to {typed!r}. A version is named by its reference, such as W3.")
        return row

    def _of_version(self, row: VersionRow) -> TonePicture:
        sheets = sheets_of_versions(self._connection, row.id).get(row.id, [])
        self._require_of_sheet(row.reference, sheets)
        place, steps = self._place(row), None
        only = self._only_scan(row.id)
        if (place is None or not place.exists()) and row.steps is not None and only is not None:
            # The steps make the same pixels again, so the scan serves where the version's own file is not at hand.
            return self._of_scan(only, row)
        if place is None and row.path is None:
            raise RefusedError(f"{row.reference} has neither a file nor steps that can be followed on one scan.")
        return self._picture(row.reference, self._at(row.reference, row), sheets, row, steps)

    def _of_scan(self, scan_id: int, version: VersionRow | None = None) -> TonePicture:
        row = get_scan(self._connection, scan_id)
        assert row is not None
        sheets = [part.sheet_id for part in scan_parts(self._connection, scan_id)]
        self._require_of_sheet(row.reference, sheets)
        reference = version.reference if version else row.reference
        return self._picture(
            reference, self._at(row.reference, row), sheets, version, version.steps if version else None, row
        )

    def _picture(
        self,
        reference: str,
        path: Path,
        sheets: Iterable[int],
        version: VersionRow | None,
        steps: str | None,
        scan: ScanRow | None = None,
    ) -> TonePicture:
        sheets = list(dict.fromkeys(sheets))
        ids = [scan.id] if scan else scans_of_version(self._connection, version.id) if version else []
        scans = tuple(row for one in ids if (row := get_scan(self._connection, one)) is not None)
        known: PictureScan | None = next(iter(picture_scans(self._connection, ids)), None) if ids else None
        recipe = known.recipe(self._archive.settings) if known else None
        return TonePicture(
            reference=reference,
            path=path,
            sheets=tuple((one, describe(self._connection, "sheet", one) or "") for one in sheets),
            version=version,
            steps=steps,
            scans=scans,
            polarity=recipe.polarity if recipe else None,
            others=self._others(sheets, reference),
            replaced_by=self._replaced(version.id) if version else (),
        )

    def _others(self, sheets: list[int], reference: str) -> tuple[str, ...]:
        versions = [row.reference for row in list_versions(self._connection, sheets)] if sheets else []
        scans = [format_reference("scan", one) for sheet in sheets for one in scans_of_sheet(self._connection, sheet)]
        return tuple(other for other in dict.fromkeys(scans + versions) if other != reference)

    def _require_of_sheet(self, reference: str, sheets: list[int]) -> None:
        if self._sheet_id is None or self._sheet_id in sheets:
            return
        of = ", ".join(format_reference("sheet", one) for one in sheets) or "no sheet yet"
        raise RefusedError(f"{reference} is not of {format_reference('sheet', self._sheet_id)}; it is of {of}.")

    def _at(self, reference: str, row: ScanRow | VersionRow) -> Path:
        """Return where a file lies, or refuse with where it should."""
        place = self._place(row)
        if place is None:
            raise RefusedError(
                f"{reference} lies on the drive “{row.drive_name}”, which is away. Connect it, and ask again."
            )
        if not place.exists():
            raise RefusedError(f"{reference}: {place.name} is not where it was. Look for it with: tiebeam scans verify")
        return place
