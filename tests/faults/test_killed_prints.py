"""Ledger deeds killed with ``kill -9`` at random moments: each is there whole or not at all, and all of it agrees."""

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
from tests.editions import a_gallery, an_edition

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9"),
]
# One deed after another, so that whenever the kill comes it meets one at work; each says that it is done.
PROGRAM = """
import sys
from catalog.actions.deeds import undo_deed
from catalog.actions.ledger import EntryFacts, Subject, write_in_ledger
from catalog.actions.prints import pull_prints, replace_print
from catalog.store.archive import open_archive
archive, run_id, gallery = open_archive(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
print("ready", flush=True)
while True:
    a, b, c = pull_prints(archive, run_id, count=3).print_ids
    print("pull", a, b, c, flush=True)
    write_in_ledger(archive, "consigned", [Subject(a), Subject(b)], EntryFacts(person_id=gallery))
    print("consign", a, b, flush=True)
    write_in_ledger(archive, "spoiled", [Subject(c)], EntryFacts(words="a crease"))
    print("replace", c, replace_print(archive, c, proof="the two halves"), flush=True)
    undo_deed(archive)
    print("undo", c, flush=True)
"""
# What a deed of each kind adds when it is whole: numbers, prints and entries.
WHOLE = {
    "prints pull": (3, 3, 3), "prints consign": (0, 0, 2), "prints spoil": (0, 0, 1), "prints replace": (0, 1, 2),
    "undo": (0, 0, 2),
}  # fmt: skip
DEEDS = """
    SELECT d.kind, (SELECT count(*) FROM deed_change WHERE deed_id = d.id AND record_table = 'print_number'),
        (SELECT count(*) FROM deed_change WHERE deed_id = d.id AND record_table = 'print'),
        (SELECT count(*) FROM deed_change WHERE deed_id = d.id AND record_table = 'ledger_entry')
    FROM deed d WHERE d.kind IN ('prints pull', 'prints consign', 'prints spoil', 'prints replace', 'undo')
"""


def _kill_after(archive: Archive, run_id: int, gallery: int, seconds: float) -> list[list[str]]:
    """Kill the program some time after its first deed began and return what it said was done."""
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(archive.folder), str(run_id), str(gallery)],
        cwd=Path(__file__).parents[2], stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    said, _ = process.communicate(timeout=60)
    assert process.returncode == -signal.SIGKILL
    return [line.split() for line in said.splitlines(keepends=True) if line.endswith("\n")]


def _is_kept(archive: Archive, line: list[str]) -> bool:
    """Return whether what a killed program had said was done is there."""
    verb, *prints = line
    kinds = {"pull": "pulled", "consign": "consigned", "replace": "replaced", "undo": "corrected"}
    of = prints[:1] if verb in ("replace", "undo") else prints
    return all(
        rows(archive, "SELECT count(*) > 0 FROM ledger_entry WHERE print_id = ? AND kind = ?", int(each), kinds[verb])
        == [1]
        for each in of
    )


def test_fifty_kills_leave_whole_deeds_or_none(archive: Archive) -> None:
    run_id, gallery, chance = an_edition(archive, limit=None).run_id, a_gallery(archive), random.Random(37)

    for _ in range(50):
        said = _kill_after(archive, run_id, gallery, chance.uniform(0, 0.3))

        assert settle_interrupted(archive) == []
        assert check_archive(archive) == []
        assert [line for line in said if not _is_kept(archive, line)] == []
        assert [row for row in rows(archive, DEEDS) if row[1:] != WHOLE[row[0]]] == []

    numbers = rows(archive, "SELECT ordinal FROM print_number ORDER BY ordinal")
    assert numbers == list(range(1, len(numbers) + 1))
    assert rows(archive, "SELECT count(*) FROM print WHERE replaces_id IS NULL") == [len(numbers)]
    assert len(numbers) > 50
    assert f"E1 {len(numbers) + 1}" in done(archive, "prints", "pull", "E1")
