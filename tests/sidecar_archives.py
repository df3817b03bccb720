"""Archives with scans to write sidecars beside: the sample with a small scan of every frame, and plain ones."""

from __future__ import annotations

import shutil
from hashlib import shake_128
from pathlib import Path

from catalog.actions.scan_matches import match_scan_to_sheet
from catalog.actions.scans import add_scans
from catalog.actions.sidecars import SidecarDone, write_sidecars
from catalog.model import Sheet, SheetNumber
from catalog.store.archive import Archive, open_archive
from catalog.store.writing import deed
from sample_archive.draw import SCANNER
from sample_archive.frames import FRAMES
from tests.builders import rows
from tests.picture_files import ASCII, a_tiff
from tests.scan_archives import a_scan

# TIFF 6.0 section 8: Make, Model, DateTime.
_MAKE, _MODEL, _DATE_TIME = 271, 272, 306


def a_scan_as_scanned(path: Path, seed: int, *, scanned: str) -> Path:
    """Write a small scan with what the sample's scanner says of itself."""
    maker, model, _ = SCANNER
    said = ((_MAKE, maker), (_MODEL, model), (_DATE_TIME, scanned))
    entries = tuple((tag, ASCII, text.encode() + b"\0") for tag, text in said)
    return a_scan(path, seed, entries=entries)


def scan_the_sample(made: Path, folder: Path) -> Archive:
    """
    Return a copy of the sample archive with a small scan of every frame, under the names the drawn ones have.

    Two scans whose numbers leave the choice of two sheets are matched by hand: 78-14 of the year, and of the box.
    """
    shutil.copytree(made, folder)
    archive = open_archive(folder)
    for seed, frame in enumerate(FRAMES):
        a_scan_as_scanned(folder / "scans" / frame.path, seed, scanned=frame.scanned)
    add_scans(archive, [folder / "scans"])
    for path, day in (("scans/1978/78-14.tif", "1978~"), ("scans/box 78/78-14 ferry.tif", "1991-08")):
        (scan,) = rows(archive, "SELECT c.id FROM scan c JOIN file f ON f.id = c.file_id WHERE f.path = ?", path)
        (sheet,) = rows(
            archive,
            "SELECT s.id FROM sheet s JOIN sheet_number n ON n.sheet_id = s.id"
            " WHERE n.text = '78-14' AND s.exposed_edtf = ?",
            day,
        )
        match_scan_to_sheet(archive, scan, sheet)
    return archive


def an_archive_with_scans(archive: Archive, folder: Path, count: int, **facts: object) -> list[int]:
    """Add ``count`` sheets numbered from 80-0, with a small scan of each in ``folder``; return the sheets."""
    with deed(archive, "sheets add", "many sheets") as writing:
        sheets = [Sheet(numbers=[SheetNumber(text=f"80-{n}", folded=f"80-{n}")], **facts) for n in range(count)]
        writing.session.add_all(sheets)
        writing.session.flush()
        ids = [sheet.id for sheet in sheets]
    folder.mkdir(parents=True, exist_ok=True)
    for n in range(count):
        # No two pictures alike: the same one twice would be taken for a copy.
        (folder / f"80-{n}.tif").write_bytes(a_tiff(picture=shake_128(str(n).encode()).digest(64)))
    add_scans(archive, [folder])
    return ids


def every_sheet(archive: Archive) -> list[int]:
    """Return every sheet of an archive."""
    return [int(sheet) for sheet in rows(archive, "SELECT id FROM sheet ORDER BY id")]


def write_all(archive: Archive) -> list[SidecarDone]:
    """Write every sidecar there is to write."""
    return list(write_sidecars(archive, every_sheet(archive)))
