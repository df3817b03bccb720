"""``kill -9`` while sidecars are written: nothing is half written, and the next opening says what is left to do."""

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

from catalog.dates import parse_edtf
from catalog.model import RecordedDate, Sheet
from catalog.outputs.sidecar_files import find_leftovers
from catalog.standards.xmp import parse_packet
from catalog.store.archive import Archive
from catalog.store.interrupted import settle_interrupted
from catalog.store.writing import deed
from tests.builders import rows, run
from tests.sidecar_archives import an_archive_with_scans, write_all

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")

# Ready to go, the process says so and waits, so that the moment counts from the deed and not from Python's start.
WRITER = """
import sys
from catalog.cli.main import run
import catalog.actions.sidecars, catalog.store.find
sys.stdout.write("ready\\n"); sys.stdout.flush(); sys.stdin.readline()
run(["--archive", sys.argv[1], "sidecars", "write"])
"""


class Writer:
    """A process that writes every sidecar of an archive, and begins when it is told."""

    def __init__(self, archive: Archive) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(archive.folder)],
            cwd=Path(__file__).parents[2], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            text=True,
        )  # fmt: skip
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == "ready\n"

    def begin(self) -> None:
        """Let it begin."""
        assert self.process.stdin is not None
        self.process.stdin.write("\n")
        self.process.stdin.flush()

    def stop(self, after_s: float, number: int) -> tuple[int, str]:
        """Send it a signal some time after it began, and return its status and what it said of errors."""
        self.begin()
        time.sleep(after_s)
        return self.end(number)

    def end(self, number: int) -> tuple[int, str]:
        """Send it a signal now, and return its status and what it said of errors."""
        self.process.send_signal(number)
        _, err = self.process.communicate(timeout=60)
        return self.process.returncode, err


def date_them(archive: Archive, edtf: str) -> None:
    """Give every sheet another date, so that every sidecar is to be written anew."""
    with deed(archive, "sheets correct", "dated every sheet") as writing:
        for sheet in writing.session.query(Sheet):
            sheet.exposed = RecordedDate.of(parse_edtf(edtf))


def digests(archive: Archive) -> dict[str, str]:
    """Return the digest of every sidecar there is; each is a whole packet."""
    found = {}
    for path in (archive.folder / "scans").glob("*.xmp"):
        data = path.read_bytes()
        assert parse_packet(data).properties, path.name
        found[str(path)] = sha256(data).hexdigest()
    return found


def last_deed(archive: Archive) -> int:
    """Return the number of the newest deed."""
    return int(rows(archive, "SELECT max(id) FROM deed")[0])


def check_whole(archive: Archive, before: dict[str, str], since: int) -> None:
    """See that catalogue and files agree after a kill: each sidecar holds old bytes or new, and it is known which."""
    now = digests(archive)
    assert rows(archive, "PRAGMA integrity_check") == ["ok"]
    (open_deeds,) = rows(archive, "SELECT count(*) FROM deed WHERE state = 'under way'")

    said = settle_interrupted(archive)

    assert len(said) == open_deeds
    assert all("was cut short. What is left is done by: tiebeam sidecars write" in line for line in said)
    touched = set()
    for path, state, old, new in rows(
        archive, "SELECT path, state, before_sha256, after_sha256 FROM deed_file WHERE deed_id > ?", since
    ):
        touched.add(path)
        assert old == before.get(path), path
        assert (state, now.get(path)) in (("done", new), ("not done", old)), path
    assert {path: now.get(path) for path in before if path not in touched} == {
        path: digest for path, digest in before.items() if path not in touched
    }
    assert set(now) <= set(before) | touched


def kill_at(archive: Archive, moments: list[float]) -> int:
    """Kill a writer at each moment, look at what is left, and return how many were killed at work."""
    at_work = 0
    for writer, moment in zip([Writer(archive) for _ in moments], moments, strict=True):
        before, since = digests(archive), last_deed(archive)
        status, _ = writer.stop(moment, signal.SIGKILL)
        at_work += status == -signal.SIGKILL
        check_whole(archive, before, since)
    return at_work


def finish(archive: Archive, count: int) -> None:
    """Run once more and see that everything is done: every sidecar there and known, nothing left behind."""
    said = run(archive, "sidecars", "write")
    assert said.status == 0
    assert len(digests(archive)) == count
    assert find_leftovers(archive.folder / "scans") == []
    assert {one.outcome for one in write_all(archive)} == {"here"}
    assert rows(archive, "SELECT count(*) FROM deed_file WHERE state = 'intended'") == [0]


def test_a_run_killed_at_three_moments_leaves_whole_sidecars_and_is_finished_by_the_next(archive):
    seed = random.randrange(1 << 30)
    print(f"seed {seed}")
    chance = random.Random(seed)
    an_archive_with_scans(archive, archive.folder / "scans", 80)

    kill_at(archive, [chance.uniform(0.0, 0.25) for _ in range(3)])

    finish(archive, 80)


@pytest.mark.slow
def test_fifty_kills_at_random_moments_leave_whole_sidecars(archive):
    seed = random.randrange(1 << 30)
    print(f"seed {seed}")
    chance = random.Random(seed)
    an_archive_with_scans(archive, archive.folder / "scans", 300)
    at_work = 0

    for round_ in range(25):
        # Two kills over new sidecars, then over sidecars that are all to be written anew.
        date_them(archive, f"19{50 + round_}")
        at_work += kill_at(archive, [chance.uniform(0.02, 0.4) for _ in range(2)])

    finish(archive, 300)
    print(f"{at_work} of 50 killed before they were done")
    assert at_work >= 25


@pytest.mark.slow
def test_ctrl_c_leaves_130_and_every_file_settled(archive):
    an_archive_with_scans(archive, archive.folder / "scans", 300)
    before, since = digests(archive), last_deed(archive)

    writer = Writer(archive)
    writer.begin()
    while writer.process.poll() is None and not any((archive.folder / "scans").glob("*.xmp")):
        time.sleep(0.002)
    status, err = writer.end(signal.SIGINT)

    assert (status, "Traceback" in err) == (130, False)
    assert err.splitlines()[-1] == "Stopped."
    assert rows(archive, "SELECT count(*) FROM deed_file WHERE state = 'intended'") == [0]
    check_whole(archive, before, since)
    finish(archive, 300)
