"""``kill -9`` and Ctrl-C while versions are written: no half picture, no half record, and the next run finishes."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from hashlib import sha256
from pathlib import Path

import pytest
import tifffile

from catalog.actions.versions import make_versions, write_versions
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from catalog.store.interrupted import settle_interrupted
from tests.scan_archives import as_it_is, rows
from tests.version_archives import an_archive_with_negatives

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")

COUNT = 5
# Ready to go, the process says so and waits, so that the moment counts from the deed and not from Python's start.
WRITER = f"""
import sys
from catalog.cli.main import run
import catalog.actions.versions, catalog.imaging.positives, catalog.store.find
sys.stdout.write("ready\\n"); sys.stdout.flush(); sys.stdin.readline()
run(["--archive", sys.argv[1], "versions", "make", *{[f"80-{number}" for number in range(COUNT)]}, "--write"])
"""


def _started(archive: Archive) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(archive.folder)], cwd=Path(__file__).parents[2], stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def _begin(process: subprocess.Popen[str]) -> None:
    assert process.stdin is not None
    process.stdin.write("\n")
    process.stdin.flush()


def _seconds_of_a_whole_run(folder: Path) -> float:
    process = _started(an_archive_with_negatives(folder, COUNT, width=1500, height=1200))
    begun = time.monotonic()
    _begin(process)
    process.communicate(timeout=120)
    assert process.returncode == 0
    return time.monotonic() - begun


def _pictures(archive: Archive) -> list[Path]:
    folder = archive.folder / "versions"
    return sorted(path for path in folder.glob("*") if not path.name.startswith(".")) if folder.is_dir() else []


def _look_over(archive: Archive) -> None:
    """See that each picture there is whole, and that the catalogue names only pictures that are there."""
    assert rows(archive, "PRAGMA integrity_check") == [("ok",)]
    for path in _pictures(archive):
        assert tifffile.imread(path).shape == (1200, 1500)
    recorded = rows(archive, "SELECT f.path, f.sha256 FROM edit_version w JOIN file f ON f.id = w.file_id")
    for path, digest in recorded:
        assert sha256((archive.folder / path).read_bytes()).hexdigest() == digest
    # A version is whole as soon as it is there: its steps and what it was made from.
    assert rows(archive, "SELECT 1 FROM edit_version WHERE steps IS NULL") == []
    assert rows(archive, "SELECT id FROM edit_version WHERE id NOT IN (SELECT version_id FROM version_source)") == []


def _kill_and_finish(archive: Archive, moment: float) -> bool:
    before = as_it_is(archive.folder / "scans")
    process = _started(archive)
    _begin(process)
    time.sleep(moment)
    process.send_signal(signal.SIGKILL)
    process.communicate(timeout=60)

    said = settle_interrupted(archive)

    _look_over(archive)
    assert all("is done by: tiebeam versions make 80-0" in line for line in said)
    assert rows(archive, "SELECT count(*) FROM deed_file WHERE state = 'intended'") == [(0,)]
    done = list(make_versions(archive, range(1, COUNT + 1), write=True, reuse=True))
    assert [one.reason for one in done if one.is_finding] == []
    assert rows(archive, "SELECT count(*), count(file_id) FROM edit_version") == [(COUNT, COUNT)]
    assert len(_pictures(archive)) == COUNT
    assert [path.name for path in (archive.folder / "versions").iterdir() if path.name.startswith(".")] == []
    assert [one.words for one in check_archive(archive) if "was cut short" not in one.words] == []
    assert as_it_is(archive.folder / "scans") == before
    return process.returncode == -signal.SIGKILL and bool(said)


def _kill_at_random(folder: Path, times: int) -> int:
    seed = random.randrange(1 << 30)
    chance = random.Random(seed)
    whole = _seconds_of_a_whole_run(folder / "whole")
    print(f"seed {seed}; a whole run takes {whole:.2f} s")
    at_work = 0
    for number in range(times):
        archive = an_archive_with_negatives(folder / f"archive-{number}", COUNT, width=1500, height=1200)
        at_work += _kill_and_finish(archive, whole * chance.uniform(0.05, 0.95))
    return at_work


@pytest.mark.slow
def test_a_run_killed_at_random_moments_leaves_whole_pictures_and_is_finished_by_the_next(tmp_path):
    assert _kill_at_random(tmp_path, 12) >= 4


# The moment between the file's name and its record: the process ends there, and nothing is cleared up.
DIES = """
import os, sys
import catalog.actions._version_files
from catalog.actions.versions import make_versions
from catalog.store.archive import open_archive
catalog.actions._version_files.keep_file = lambda *_: os._exit(9)
list(make_versions(open_archive(sys.argv[1]), [1], write=True))
"""


def test_a_picture_named_before_its_record_was_made_is_taken_up_by_the_next_run(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", 1)
    died = subprocess.run(
        [sys.executable, "-c", DIES, str(archive.folder)], cwd=Path(__file__).parents[2], timeout=60, check=False
    )
    assert died.returncode == 9
    settle_interrupted(archive)
    assert rows(archive, "SELECT file_id FROM edit_version") == [(None,)]
    assert rows(archive, "SELECT state FROM deed_file") == [("done",)]
    (picture,) = _pictures(archive)
    before = picture.read_bytes()

    (one,) = write_versions(archive, [1])

    assert (one.outcome, one.reason) == ("written", None)
    assert rows(archive, "SELECT f.path FROM edit_version w JOIN file f ON f.id = w.file_id") == [
        ("versions/80-0 W1.tif",)
    ]
    assert _pictures(archive) == [picture]
    assert picture.read_bytes() == before


def test_a_picture_that_somebody_changed_since_a_run_was_killed_is_left_as_it_is(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", 1)
    subprocess.run(
        [sys.executable, "-c", DIES, str(archive.folder)], cwd=Path(__file__).parents[2], timeout=60, check=False
    )
    (picture,) = _pictures(archive)
    picture.write_bytes(b"somebody's")

    (one,) = write_versions(archive, [1])

    assert (one.outcome, picture.read_bytes()) == ("failed", b"somebody's")
    assert "a file of this name already" in str(one.reason)


def test_ctrl_c_ends_with_130_and_says_how_to_go_on(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", COUNT, width=1500, height=1200)
    process = _started(archive)
    _begin(process)
    deadline = time.monotonic() + 60
    while not _pictures(archive) and time.monotonic() < deadline:
        time.sleep(0.005)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)

    _look_over(archive)

    if process.returncode != 0:  # else it was done before the signal came
        assert process.returncode == 130, err
        assert err.endswith("Stopped.\n")
        assert "Traceback" not in err
        settle_interrupted(archive)  # if the signal came between two steps, the next opening says so
        assert rows(archive, "SELECT state FROM deed ORDER BY id DESC LIMIT 1") == [("interrupted",)]
    assert [path.name for path in (archive.folder / "versions").iterdir() if path.name.startswith(".")] == []
