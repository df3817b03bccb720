"""
A contact sheet of 1,000 frames from index pictures that are ready: finding, captions, pages, writing.

The index pictures are real ones in size and kind: JPEGs of 1,200 x 960, about 200 kB each. Goal: under 2 s, the
file forced to disk. Beside it stands what writing as many bytes and forcing them to disk takes by itself.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from hashlib import sha256
from pathlib import Path

from catalog.actions.contact_sheets import ContactSheetAsked, make_contact_sheet
from catalog.store.archive import Archive, open_archive
from catalog.store.find import Question
from catalog.store.index_pictures import index_picture_path, picture_scans
from tests.benchmarks.rows import Row, interleaved, print_rows
from tests.peak_memory import peak_mb

FRAMES, ROUNDS = 1_000, 3
GOAL_S = 2.0


def an_archive_of_frames(folder: Path) -> Archive:
    """Return an archive of 1,000 scanned frames of twenty buildings, each with its index picture ready."""
    from catalog.actions.buildings import add_building
    from catalog.actions.places import add_place
    from catalog.model import File, Scan, ScanPart, Sheet, SheetNumber, SheetView, View, ViewSubject
    from catalog.rules.folding import fold
    from catalog.store.writing import deed
    from tests.builders import dated
    from tests.scan_archives import an_archive

    archive = an_archive(folder)
    place = add_place(archive, name="Osk", kind="village")
    mills = [add_building(archive, name=f"Osk Mill {one}", place_id=place) for one in range(20)]
    with deed(archive, "test", "frames") as writing:
        for number in range(FRAMES):
            text = f"{74 + number // 25}-{number % 25:02}"
            sheet = Sheet(format="4x5", exposed=dated(f"c. {1974 + number // 25}"))
            sheet.numbers = [SheetNumber(text=text, folded=fold(text), scheme="yearly")]
            view = View(subjects=[ViewSubject(building_id=mills[number % 20], elevation="S")])
            file = File(path=f"{text}.tif", path_key=f"{text}.tif", size_bytes=8, modified_ns=1,
                        sha256=sha256(text.encode()).hexdigest(), first_seen_at="2026-11-25T09:30:00Z",
                        last_checked_at="2026-11-25T09:30:00Z")  # fmt: skip
            writing.session.add_all((sheet, view, file))
            writing.session.flush()
            scan = Scan(file_id=file.id, kind="TIFF", width_px=6000, height_px=4800, bits=16, colour="grey",
                        recorded_ppi=1200.0)  # fmt: skip
            scan.parts = [ScanPart(sheet_id=sheet.id, matched_by="name")]
            writing.session.add_all((scan, SheetView(sheet_id=sheet.id, view_id=view.id)))
    _make_ready(archive)
    return open_archive(archive.folder)


def _make_ready(archive: Archive) -> None:
    import io

    import numpy as np
    from PIL import Image

    rng = np.random.default_rng(7814)
    tones = np.linspace(40, 220, 1200)[None, :] + rng.normal(0, 9, (960, 1200))
    buffer = io.BytesIO()
    Image.fromarray(tones.clip(0, 255).astype(np.uint8)).convert("RGB").save(buffer, "JPEG", quality=80)
    with archive.reading() as connection:
        scans = picture_scans(connection)
    for scan in scans:
        path = index_picture_path(archive, scan)
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(buffer.getvalue())


def make(folder: str, picture_mm: float | None = None) -> int:
    """Make the contact sheet; return the size of its file."""
    archive = open_archive(folder)
    output = archive.folder / "sheet.pdf"
    wanted = ContactSheetAsked(output=output, replace=True, picture_mm=picture_mm)
    made = make_contact_sheet(archive, Question(about_days=archive.about_days), wanted)
    assert made.frames == FRAMES
    assert not made.without
    return output.stat().st_size


def peak(folder: str) -> None:
    """Make it in this process alone; print its peak memory in MB."""
    make(folder)
    print(json.dumps(peak_mb()))


def write(path: Path, size_bytes: int) -> None:
    """Write as many bytes and force them to disk."""
    with path.open("wb") as file:
        file.write(bytes(size_bytes))
        os.fsync(file.fileno())


def measure() -> list[Row]:
    """Return what was measured, beside the goals."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-contact-") as name:
        archive = an_archive_of_frames(Path(name) / "archive")
        folder = str(archive.folder)
        size = make(folder)
        own_s, small_s, bare_s = interleaved(
            lambda: float(make(folder) and 0) or None, lambda: float(make(folder, 45) and 0) or None,
            lambda: write(Path(name) / "bare", size), rounds=ROUNDS,
        )  # fmt: skip
        code = f"from tests.benchmarks import contact_sheet; contact_sheet.peak({folder!r})"
        said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return [
        Row(f"contact sheet of {FRAMES} frames at their own size", own_s, GOAL_S, "s"),
        Row("  at 45 mm", small_s, GOAL_S, "s"),
        Row("  its file", size / 1e6, None, "MB"),
        Row("  writing as many bytes", bare_s, None, "s"),
        Row("  peak memory", float(json.loads(said.stdout)), None, "MB"),
    ]


if __name__ == "__main__":
    print_rows(measure())
