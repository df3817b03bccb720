"""``cards read`` killed with ``kill -9`` at random moments: the catalogue holds all of the deed or none of it."""

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
from tests.card_indexes import HEADINGS, MAPPING, is_found_by_its_words

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")


def _cards(folder: Path, count: int) -> Path:
    """Write a card index of so many rows, with its mapping beside it."""
    path = folder / "cards.csv"
    lines = (
        f"{n // 100 + 10}-{n % 100:02},{'' if n % 50 else f'Village {n // 50}'},"
        f"Mill {n // 25}{'?' if n % 7 == 0 else ''},"
        f"{'NESW'[n % 4]},{n % 28 + 1}/{n % 12 + 1}/{74 + n % 20},{'90 or 120' if n % 9 == 0 else 150},Pan 100,"
        f"lane,,{n // 8},,{'wind' if n % 3 == 0 else ''},/"
        for n in range(count)
    )
    path.write_text("\n".join([HEADINGS, *lines, ""]), "utf-8")
    path.with_suffix(".toml").write_text(MAPPING, "utf-8")
    return path


def _started(archive: Archive, cards: Path) -> subprocess.Popen[bytes]:
    program = "from catalog.cli.main import run; run()"
    return subprocess.Popen(
        [sys.executable, "-c", program, "--archive", str(archive.folder), "cards", "read", str(cards)],
        cwd=Path(__file__).parents[2],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def _seconds_of_a_whole_reading(archive: Archive, cards: Path, folder: Path) -> float:
    shutil.copytree(archive.folder, folder)
    begun = time.monotonic()
    assert _started(open_archive(folder), cards).wait(timeout=60) == 0
    return time.monotonic() - begun


def _kill_at(archive: Archive, cards: Path, seconds: float) -> bool:
    """Kill a reading after so many seconds, and return whether it was still under way."""
    process = _started(archive, cards)
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    return process.wait() == -signal.SIGKILL


def _held(archive: Archive, count: int) -> int:
    counts = (
        rows(archive, "SELECT count(*) FROM sheet")[0],
        rows(archive, "SELECT count(*) FROM card_row")[0],
        rows(archive, "SELECT count(*) FROM deed WHERE kind = 'cards read'")[0] * count,
    )
    assert len(set(counts)) == 1, counts
    return counts[0]


def _kill_again_and_again(archive: Archive, folder: Path, *, count: int, times: int, seed: int) -> int:
    cards = _cards(folder, count)
    whole = _seconds_of_a_whole_reading(archive, cards, folder / "measured")
    chance = random.Random(seed)
    print(f"seed {seed}; a whole reading takes {whole:.2f} s")
    killed = 0
    for time_number in range(times):
        mine = folder / f"archive-{time_number}"
        shutil.copytree(archive.folder, mine)
        # Two in three of the moments are laid upon the end, where the rows go to the disk.
        moment = whole * (chance.uniform(0.5, 1.05) if time_number % 3 else chance.uniform(0.05, 0.4))
        was_killed = _kill_at(open_archive(mine), cards, moment)
        killed += was_killed
        if not was_killed and moment < whole:
            whole = moment  # it was done by then: the machine was busier when the whole was measured

        struck = open_archive(mine)
        assert rows(struck, "PRAGMA integrity_check") == ["ok"]
        assert rows(struck, "PRAGMA foreign_key_check") == []
        assert _held(struck, count) in (0, count)
        assert is_found_by_its_words(struck)
        done(struck, "cards", "read", str(cards))
        assert _held(struck, count) == count
        assert check_archive(struck) == []
        shutil.rmtree(mine)
    return killed


def test_a_reading_killed_three_times_leaves_all_or_nothing(archive: Archive, tmp_path: Path):
    assert _kill_again_and_again(archive, tmp_path, count=600, times=3, seed=1978) >= 1


@pytest.mark.slow
def test_a_reading_killed_at_fifty_random_moments_leaves_all_or_nothing(archive: Archive, tmp_path: Path):
    assert _kill_again_and_again(archive, tmp_path, count=4_000, times=50, seed=1979) >= 25
