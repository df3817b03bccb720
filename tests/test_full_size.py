"""One scan as large as the real ones, 9,600 x 12,000 in 16 bits, through the whole job."""

from __future__ import annotations

import json
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from sample_archive.draw import draw_full_size
from tests.sample import copy_sample

ROOT = Path(__file__).parent.parent

# Runs a command and tells the peak of its own memory.
TOLD = """
import sys
from catalog.cli.main import run
from tests.peak_memory import peak_mb
try:
    run(sys.argv[1:])
finally:
    print("peak", int(peak_mb()), file=sys.stderr)
"""


def tell(archive: Path, *words: str) -> tuple[str, int]:
    """Run a command as its own process; return what it said and its peak in megabytes."""
    done = subprocess.run(
        [sys.executable, "-c", TOLD, *words, "--archive", str(archive)],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout, int(done.stderr.rsplit("peak ", 1)[1])


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows counts memory otherwise")
def test_a_full_size_scan_goes_through_the_whole_job(sample: Path, tmp_path: Path):
    archive = copy_sample(sample, tmp_path / "archive")
    scan = draw_full_size(archive / "scans" / "87-03.tif")
    before = sha256(scan.read_bytes()).hexdigest()
    modified = scan.stat().st_mtime_ns
    assert scan.stat().st_size > 2 * 9600 * 12000

    registered, peak_add = tell(archive, "scans", "add", str(scan))
    found, _ = tell(archive, "find", "--place", "Osk", "--years", "1987", "--json")
    tell(archive, "sidecars", "write", "--number", "87-03")
    verified, peak_verify = tell(archive, "scans", "verify")

    assert "1 matched" in registered
    frame = next(one for one in json.loads(found)["items"] if one["numbers"][0]["text"] == "87-03")
    assert frame["certainty"] == "certainly"
    assert frame["scans"][0]["path"] == str(scan)
    assert b"1987-06-14" in scan.with_suffix(".xmp").read_bytes()
    assert "1 file fine, 0 findings" in verified
    assert sha256(scan.read_bytes()).hexdigest() == before
    assert scan.stat().st_mtime_ns == modified
    # Issue A, "Shown by" 4: memory under 300 MB.
    assert max(peak_add, peak_verify) < 300
