"""
``sidecars write`` as the whole deed, against writing the same bytes and doing nothing else.

An archive of the sample's valley with 1,000 sheets of its buildings, dated, doubtful, lensed like the cards, and a
scan of each. The deed reads the catalogue, builds each caption, looks for a sidecar that is there, writes down what
it intends, writes, and writes down what became of it. The bare pass writes the very same bytes with ``write``,
``fsync`` and ``os.replace``, one file after the other, on the same disk, in turn with the deed.
"""

from __future__ import annotations

import itertools
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from catalog.actions.sidecars import write_sidecars
from catalog.dates import parse_edtf
from catalog.model import (
    File,
    Note,
    RecordedDate,
    Scan,
    ScanPart,
    Sheet,
    SheetNumber,
    SheetView,
    View,
    ViewSubject,
    Wording,
)
from catalog.store.archive import Archive, open_archive
from catalog.store.new import make_archive
from catalog.store.writing import deed
from sample_archive.load import load_valley
from tests.benchmarks.rows import Row, print_rows
from tests.benchmarks.sidecar_files import write_bare

SIDECARS, ROUNDS = 1_000, 5
GOAL_RATIO = 0.8
_DATES = (
    ("1978-06-04", "4 June 1978"), ("1978~", "c. 1978"), ("1979-08?", "Aug 79?"), ("1982-22", "summer 82"),
    (None, None),
)  # fmt: skip
_NOW = "2026-11-25T09:30:00Z"


def make(folder: Path, count: int) -> Archive:
    """Make the archive that is copied for each round."""
    archive, _ = make_archive(folder, name="Wenn valley", photographer="Ida Thornwick")
    load_valley(archive)
    (folder / "scans").mkdir()
    with deed(archive, "demo", "many sheets") as writing:
        raw, add = writing.raw, writing.session.add
        buildings = [row[0] for row in raw.execute("SELECT id FROM building ORDER BY id")]
        standpoints = [row[0] for row in raw.execute("SELECT id FROM standpoint ORDER BY id")]
        lenses = [row[0] for row in raw.execute("SELECT id FROM lens ORDER BY id")]
        films = [row[0] for row in raw.execute("SELECT id FROM film_stock ORDER BY id")]
        turns = zip(
            range(count), itertools.cycle(buildings), itertools.cycle(standpoints), itertools.cycle(lenses),
            itertools.cycle(films), itertools.cycle(_DATES),
        )  # fmt: skip
        for n, building, standpoint, lens, film, (edtf, words) in turns:
            number = f"{50 + n // 100}-{n % 100:02}"
            sheet = Sheet(lens_id=lens, film_id=film, aperture_f=22, box=str(n % 17), docket=f"{n:06}")
            sheet.exposed = RecordedDate.of(parse_edtf(edtf) if edtf else None, words)
            sheet.numbers = [SheetNumber(text=number, folded=number, scheme="yearly")]
            view = View(standpoint_id=standpoint)
            view.subjects = [ViewSubject(building_id=building, elevation="S", part="elevation", is_principal=True)]
            path = f"scans/{number}.tif"
            file = File(path=path, path_key=path, size_bytes=4, modified_ns=1, sha256=f"{n:064x}",
                        first_seen_at=_NOW, last_checked_at=_NOW)  # fmt: skip
            for record in (sheet, view, file):
                add(record)
            writing.session.flush()
            sheet.views = [SheetView(view_id=view.id)]
            scan = Scan(file_id=file.id, kind="TIFF", scanned=RecordedDate.of(parse_edtf("2006-03-04")))
            scan.device_maker, scan.device_model = "Tessaly", "Flatfield 4800"
            scan.parts = [ScanPart(sheet_id=sheet.id, matched_by="name", matched_text=number)]
            add(scan)
            add(Note(about="sheet", about_id=sheet.id, heading="Remarks", text="Boards still on", noted_at=_NOW))
            if n % 7 == 0:
                add(Wording(about="sheet", about_id=sheet.id, field="lens", as_written="90 or 120",
                            certainty="possible", alternatives='["90", "120"]', noted_at=_NOW))  # fmt: skip
            (folder / path).write_bytes(b"II*\0")
    return archive


def write_all(archive: Archive, count: int) -> None:
    """Do the deed."""
    done = list(write_sidecars(archive, range(1, count + 1)))
    assert [one.outcome for one in done] == ["written"] * count


def timed(work: Callable[[], None]) -> tuple[float, float]:
    """Return the seconds on the clock and of the processor that ``work`` takes."""
    clock, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - clock, time.process_time() - processor


def one_round(made: Path, base: Path, count: int, *, bare_first: bool) -> dict[str, tuple[float, float]]:
    """Return what each part took in one round."""
    shutil.copytree(made, base / "archive")
    archive = open_archive(base / "archive")
    (base / "bare").mkdir()
    contents = [path.read_bytes() for path in sorted((made.parent / "once" / "scans").glob("*.xmp"))]
    parts = [
        ("deed", lambda: write_all(archive, count)),
        ("bare", lambda: write_bare(base / "bare", contents)),
    ]
    os.sync()
    taken = {name: timed(work) for name, work in (reversed(parts) if bare_first else parts)}
    taken["again"] = timed(lambda: list(write_sidecars(archive, range(1, count + 1))) and None)
    return taken


def measure(sidecars: int = SIDECARS, rounds: int = ROUNDS, folder: str | None = None) -> list[Row]:
    """Return what was measured, beside the goal; ``folder`` is on the disk to measure."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-sidecars-", dir=folder) as name:
        made = Path(name) / "made"
        make(made, sidecars)
        shutil.copytree(made, made.parent / "once")
        write_all(open_archive(made.parent / "once"), sidecars)
        all_taken = []
        for turn in range(rounds):
            base = Path(name) / f"round{turn}"
            base.mkdir()
            all_taken.append(one_round(made, base, sidecars, bare_first=bool(turn % 2)))
            shutil.rmtree(base)

    def each_ms(part: str, which: int = 0) -> float:
        return median(taken[part][which] for taken in all_taken) / sidecars * 1000

    ratio = median(taken["bare"][0] / taken["deed"][0] for taken in all_taken)
    return [
        Row("sidecars write, new ones, against write+fsync+rename", ratio, GOAL_RATIO, "x its rate", at_least=True),
        Row("  sidecars write", 1000 / each_ms("deed"), None, "a second"),
        Row("  bare", 1000 / each_ms("bare"), None, "a second"),
        Row("  processor, a sidecar written", each_ms("deed", 1), None, "ms"),
        Row("  processor, a bare file", each_ms("bare", 1), None, "ms"),
        Row("  nothing to do, a sidecar looked at", each_ms("again"), None, "ms"),
    ]  # fmt: skip


if __name__ == "__main__":
    print_rows(measure(folder=sys.argv[1] if len(sys.argv) > 1 else None))
