"""``prints read`` killed with ``kill -9`` at random moments: the catalogue holds all of the deed or none of it."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from catalog.store.archive import Archive, open_archive
from catalog.store.check import check_archive
from tests.builders import done, rows
from tests.editions import an_edition
from tests.old_ledgers import MAPPING, a_ledger, line

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")


def _file(archive: Archive, folder: Path, count: int) -> Path:
    """Write an old ledger of so many prints of E1, every third of them sold, with its mapping beside it."""
    said = [
        line(Title="E1", No=str(n), Pulled="2011", Signed="yes",
             **({} if n % 3 else {"Sold_to": f"Buyer {n % 40} of Halding", "Sold": "2013", "Price": "£450"}))
        for n in range(1, count + 1)
    ]  # fmt: skip
    path = a_ledger(archive, folder, *said).path
    # Names in a row of numbers are nearly each other: each is said to be a person of its own.
    people = "\n".join(f'"Buyer {n} of Halding" = "Buyer {n} of Halding"' for n in range(40))
    path.with_suffix(".toml").write_text(f"{MAPPING}[persons]\n{people}\n", "utf-8")
    return path


def _started(archive: Archive, path: Path) -> subprocess.Popen[bytes]:
    program = "from catalog.cli.main import run; run()"
    return subprocess.Popen(
        [sys.executable, "-c", program, "--archive", str(archive.folder), "prints", "read", str(path)],
        cwd=Path(__file__).parents[2], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip


def _seconds(archive: Archive, path: Path, folder: Path) -> float:
    shutil.copytree(archive.folder, folder)
    begun = time.monotonic()
    assert _started(open_archive(folder), path).wait(timeout=120) == 0
    return time.monotonic() - begun


def _held(archive: Archive, count: int) -> int:
    counts = {
        *rows(archive, "SELECT count(*) FROM print"),
        *rows(archive, "SELECT count(*) FROM card_row"),
        *rows(archive, "SELECT count(*) FROM print_number"),
        rows(archive, "SELECT count(*) FROM deed WHERE kind = 'prints read'")[0] * count,
    }
    assert len(counts) == 1, counts
    return int(counts.pop())


def _kill_again_and_again(archive: Archive, folder: Path, *, count: int, times: int, seed: int) -> int:
    an_edition(archive, limit=None, proofs=[])
    path = _file(archive, folder / "in", count)
    whole = _seconds(archive, path, folder / "measured")
    chance = random.Random(seed)
    print(f"seed {seed}; a whole reading takes {whole:.2f} s")
    killed = 0
    for time_number in range(times):
        mine = folder / f"archive-{time_number}"
        shutil.copytree(archive.folder, mine)
        process = _started(open_archive(mine), path)
        moment = whole * chance.uniform(0.4, 1.0)
        time.sleep(moment)
        process.send_signal(signal.SIGKILL)
        was_killed = process.wait() == -signal.SIGKILL
        killed += was_killed
        if not was_killed:
            whole = moment  # it was done by then: the machine was busier when the whole was measured

        struck = open_archive(mine)
        assert rows(struck, "PRAGMA integrity_check") == ["ok"]
        assert _held(struck, count) in (0, count)
        done(struck, "prints", "read", str(path))
        assert _held(struck, count) == count
        assert check_archive(struck) == []
        shutil.rmtree(mine)
    return killed


@pytest.mark.slow
def test_a_reading_of_an_old_ledger_killed_ten_times_leaves_all_or_nothing(archive: Archive, tmp_path: Path):
    assert _kill_again_and_again(archive, tmp_path, count=900, times=10, seed=1974) > 3
