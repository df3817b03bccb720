"""Documents killed with ``kill -9`` at random moments: at the next opening catalogue and ``documents/`` agree."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from catalog.store.archive import Archive
from catalog.store.check import check_archive
from catalog.store.interrupted import settle_interrupted
from tests.builders import done, rows
from tests.editions import an_edition, pull

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9"),
]
# One issue after another, so that whenever the kill comes it meets one at work.
PROGRAM = """
import sys
from pathlib import Path
from catalog.actions.documents import issue_certificate
from catalog.actions.prints import pull_prints
from catalog.store.archive import open_archive
archive, run_id = open_archive(sys.argv[1]), int(sys.argv[2])
Path(sys.argv[3]).touch()
while True:
    print_id = pull_prints(archive, run_id).print_ids[0]
    issue_certificate(archive, print_id)
"""


def _kill_after(archive: Archive, run_id: int, begun: Path, seconds: float) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(archive.folder), str(run_id), str(begun)], cwd=Path(__file__).parents[2]
    )
    while not begun.exists():
        assert process.poll() is None
        time.sleep(0.005)
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    assert process.wait() == -signal.SIGKILL
    begun.unlink()


def test_fifty_kills_leave_whole_documents_or_none(archive: Archive, tmp_path: Path):
    run_id, chance = an_edition(archive, limit=None).run_id, random.Random(31)
    pull(archive, run_id)

    for _ in range(50):
        _kill_after(archive, run_id, tmp_path / "begun", chance.uniform(0.1, 0.6))

        assert settle_interrupted(archive) == []
        assert rows(archive, "SELECT count(*) FROM deed WHERE state <> 'done'") == [0]
        assert check_archive(archive) == []
        listed = set(rows(archive, "SELECT file_name FROM document"))
        found = {path.name for path in (archive.folder / "documents").glob("A*.pdf")}
        assert found == listed

    prints = rows(archive, "SELECT count(*) FROM print")[0]
    assert rows(archive, "SELECT max(ordinal), count(*) FROM print_number") == [(prints, prints)]
    done(archive, "documents", "certificate", "P1")
    assert list((archive.folder / "documents").glob(".tiebeam-*")) == []
    assert rows(archive, "SELECT count(*) FROM document")[0] > 20
