"""The sample archive with a small scan of most sheets, made once for the tests that only read it."""

from __future__ import annotations

import atexit
import shutil
import sqlite3
import tempfile
from functools import lru_cache
from pathlib import Path

from catalog.cli.main import run
from catalog.store.archive import Archive, open_archive
from tests.sample import make_sample
from tests.scan_archives import a_scan


@lru_cache(maxsize=1)
def scanned_sample() -> Archive:
    """Return the sample archive with scans; it is to be read only."""
    folder = Path(tempfile.mkdtemp(prefix="tiebeam-sample-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    archive = make_sample(folder / "wenn")
    with sqlite3.connect(archive.catalogue) as connection:
        rows = connection.execute("SELECT DISTINCT text FROM sheet_number ORDER BY id LIMIT 40")
        numbers = [text for (text,) in rows]
    for seed, number in enumerate(numbers):
        a_scan(archive.folder / "scans" / f"{number}.tif", seed)
    a_scan(archive.folder / "scans" / "82-07 again.tif", 99)
    a_scan(archive.folder / "scans" / "stray.tif", 100)
    status("scans", "add", str(archive.folder / "scans"), "--archive", str(archive.folder))
    return open_archive(archive.folder)


def status(*arguments: str) -> int:
    """Run a command as a person types it, and return its status."""
    try:
        run(list(arguments))
    except SystemExit as left:
        return int(left.code or 0)
    raise AssertionError("a command always leaves with a status")
