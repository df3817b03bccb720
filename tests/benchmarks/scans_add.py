"""
``scans add`` against one thread that does nothing but digest the same files.

Ten files of 115 megapixels, 16-bit grey (9,600 x 12,000; 230 MB each), are registered in a new archive,
each round in a process of its own, and digested by ``hashlib.file_digest`` in turn. Registering makes two
digests of each file, on every core; the bare pass makes one, on one.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from tests.benchmarks.rows import Row, print_rows
from tests.benchmarks.scan_digests import digest_all, write_scan
from tests.peak_memory import peak_mb

FILES, ROUNDS, SMALL_FILES = 10, 3, 400
GOAL_RATIO, GOAL_MB = 1.3, 300


def register(folder: str, archive_folder: str) -> None:
    """Register a folder in a new archive; print the seconds of the deed and the peak memory in MB."""

    from catalog.actions.scans import add_scans
    from tests.scan_archives import an_archive

    archive = an_archive(Path(archive_folder))
    begun = time.perf_counter()
    added = add_scans(archive, [Path(folder)])
    seconds = time.perf_counter() - begun
    assert not added.has_findings
    assert len(added.outcomes) in (FILES, SMALL_FILES)
    print(json.dumps([seconds, peak_mb()]))


def digest(folder: str) -> None:
    """Digest a folder's files in one thread; print the seconds."""
    begun = time.perf_counter()
    digest_all(sorted(Path(folder).iterdir()))
    print(json.dumps([time.perf_counter() - begun]))


def _said(call: str) -> list[float]:
    code = f"from tests.benchmarks import scans_add; scans_add.{call}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    said: list[float] = json.loads(done.stdout)
    return said


def measure() -> list[Row]:
    """Return what was measured, beside the goals."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-scans-") as name:
        scans = Path(name) / "scans"
        scans.mkdir()
        for index in range(FILES):
            write_scan(scans / f"80-{index:02}.tif", seed=index)
        _said(f"digest({str(scans)!r})")  # both find the files in memory, as far as there is room for them
        ours, bare = [], []
        for turn in range(ROUNDS):
            ours.append(_said(f"register({str(scans)!r}, {str(Path(name) / f'archive{turn}')!r})"))
            bare.append(_said(f"digest({str(scans)!r})")[0])
        few = Path(name) / "few"
        few.mkdir()
        for index in range(SMALL_FILES):
            write_scan(few / f"81-{index:03}.tif", seed=index % 256, width=120, height=120)
        small_s, _ = _said(f"register({str(few)!r}, {str(Path(name) / 'small')!r})")
    ratios = sorted(one[0] / other for one, other in zip(ours, bare, strict=True))
    return [
        Row("scans add, ten of 115 MP, against one file_digest", median(ratios), GOAL_RATIO, "x its time"),
        Row("  peak memory", max(one[1] for one in ours), GOAL_MB, "MB"),
        Row("  scans add", median(one[0] for one in ours), None, "s"),
        Row("  file_digest", median(bare), None, "s"),
        Row("  lowest ratio", ratios[0], None, "x its time"),
        Row("  highest ratio", ratios[-1], None, "x its time"),
        Row("  a small file, with its transaction", small_s / SMALL_FILES * 1000, None, "ms"),
    ]  # fmt: skip


if __name__ == "__main__":
    print_rows(measure())
