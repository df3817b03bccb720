"""
Print numbers given a second by eight processes at once, against the same transaction in bare ``sqlite3``.

Both write the same rows (the number, the print, its ledger entry, how it stands, the daybook's entry and its
changes) into the same schema with its triggers, each pull synced to the disk on its own. The product also looks at
the edition, at what was promised and at the rules. Afterwards the numbers are counted: none twice, none left out.
"""

from __future__ import annotations

import multiprocessing
import sqlite3
import sys
import tempfile
from collections.abc import Callable
from multiprocessing.synchronize import Barrier
from pathlib import Path
from statistics import median
from time import perf_counter

from catalog import clock
from catalog.actions.prints import pull_prints
from catalog.dates import parse_edtf
from catalog.model import RecordedDate
from catalog.store.archive import Archive, open_archive
from catalog.store.check import check_archive
from catalog.store.new import make_archive
from catalog.store.plain_writing import writing_connection
from tests.benchmarks.rows import Row
from tests.editions import an_edition

PROCESSES, NUMBERS = 8, 2_000
GOAL_RATIO = 0.6
WAIT_S = 30.0


def build(folder: Path) -> Archive:
    """Make an archive with an open edition of one view, from one sheet, in one size: each has the id 1."""
    archive, _ = make_archive(folder)
    edition = an_edition(archive, limit=None)
    assert (edition.run_id, edition.sheet_id) == (1, 1)
    return archive


def pull_by_product(folder: str, count: int) -> Callable[[], None]:
    """Return the pulling of ``count`` prints by the product, ready to begin."""
    archive = open_archive(Path(folder))
    pulled = RecordedDate.of(parse_edtf("2026-11"))

    def pull() -> None:
        with writing_connection(archive) as connection:
            for _ in range(count):
                pull_prints(archive, 1, pulled=pulled, connection=connection)

    return pull


_NEXT = "SELECT ifnull(max(ordinal), 0) + 1 FROM print_number WHERE run_id = 1 AND series = 'numbered'"
_NUMBER = (
    "INSERT INTO print_number (run_id, series, ordinal, written, is_ahead, given_at) VALUES (1, 'numbered', ?, ?, 0, ?)"
)
_PRINT = (
    "INSERT INTO print (print_number_id, sheet_id, size_id, pulled_edtf, pulled_words, pulled_earliest,"
    " pulled_latest, pulled_doubt) VALUES (?, 1, 1, ?, ?, ?, ?, '')"
)
_ENTRY = (
    "INSERT INTO ledger_entry (print_id, kind, date_edtf, date_words, date_earliest, date_latest, date_doubt,"
    " due_doubt, written_at) VALUES (?, 'pulled', ?, ?, ?, ?, '', '', ?)"
)
_STANDING = (
    "INSERT INTO print_standing (print_id, state, entry_id, since, is_out, is_signed) VALUES (?, 'in hand', ?, ?, 0, 0)"
)
_DEED = "INSERT INTO deed (kind, words, at, state, schema) VALUES ('prints pull', ?, ?, 'done', '0003')"
_CHANGE = "INSERT INTO deed_change (deed_id, record_table, record_id, change) VALUES (?, ?, ?, 'added')"


def pull_bare(folder: str, count: int) -> Callable[[], None]:
    """Return the writing of the same rows by bare statements, ready to begin."""
    date = parse_edtf("2026-11")
    dated = (date.text, None, date.earliest, date.latest)

    def pull() -> None:
        connection = sqlite3.connect(Path(folder) / "archive.db", timeout=WAIT_S, isolation_level=None)
        for pragma in ("foreign_keys = ON", "synchronous = FULL", "cache_size = -65536"):
            connection.execute(f"PRAGMA {pragma}")
        for _ in range(count):
            now = clock.timestamp()
            connection.execute("BEGIN IMMEDIATE")
            ordinal = connection.execute(_NEXT).fetchone()[0]
            number = connection.execute(_NUMBER, (ordinal, str(ordinal), now)).lastrowid
            made = connection.execute(_PRINT, (number, *dated)).lastrowid
            entry = connection.execute(_ENTRY, (made, *dated, now)).lastrowid
            connection.execute(_STANDING, (made, entry, date.text))
            deed = connection.execute(_DEED, (f"pulled E1 {ordinal} (P{made})", now)).lastrowid
            changes = (("print_number", number), ("print", made), ("ledger_entry", entry))
            connection.executemany(_CHANGE, [(deed, *change) for change in changes])
            connection.execute("COMMIT")
        connection.close()

    return pull


_WAYS = {"product": pull_by_product, "bare": pull_bare}


def _work(way: str, folder: str, count: int, start: Barrier, end: Barrier) -> None:
    pull = _WAYS[way](folder, count)
    start.wait()
    pull()
    end.wait()


def numbers_a_second(archive: Archive, way: str, numbers: int = NUMBERS, processes: int = PROCESSES) -> float:
    """Return how many numbers a second several processes give; what starting them takes is left out."""
    context = multiprocessing.get_context("spawn")
    start, end = context.Barrier(processes + 1), context.Barrier(processes + 1)
    share = numbers // processes
    workers = [
        context.Process(target=_work, args=(way, str(archive.folder), share, start, end)) for _ in range(processes)
    ]
    for worker in workers:
        worker.start()
    start.wait(timeout=120)
    begun = perf_counter()
    end.wait(timeout=600)
    taken = perf_counter() - begun
    for worker in workers:
        worker.join()
    return share * processes / taken


def look_over(archive: Archive, numbers: int) -> None:
    """
    See that every number was given, once, and that the catalogue is sound.

    Raises:
        AssertionError: it is not.
    """
    with archive.reading() as connection:
        given = [row[0] for row in connection.execute("SELECT ordinal FROM print_number ORDER BY ordinal")]
        prints = connection.execute("SELECT count(*) FROM print").fetchone()[0]
    assert given == list(range(1, numbers + 1))
    assert prints == numbers
    found = check_archive(archive)
    assert not found, found


def measure(rounds: int = 3) -> list[Row]:
    """Return what was measured, beside the goal: the ways take turns, each on an archive of its own."""
    taken: dict[str, list[float]] = {"product": [], "bare": []}
    with tempfile.TemporaryDirectory(prefix="tiebeam-numbers-") as name:
        for number in range(rounds):
            for way in ("product", "bare") if number % 2 else ("bare", "product"):
                archive = build(Path(name) / f"{way}-{number}")
                taken[way].append(numbers_a_second(archive, way))
                look_over(archive, NUMBERS)
        alone = numbers_a_second(build(Path(name) / "alone"), "product", NUMBERS // PROCESSES, 1)
        alone_bare = numbers_a_second(build(Path(name) / "alone-bare"), "bare", NUMBERS // PROCESSES, 1)
    ours, bare = median(taken["product"]), median(taken["bare"])
    ratio = median(o / b for o, b in zip(taken["product"], taken["bare"], strict=True))
    return [
        Row(f"numbers by {PROCESSES} processes, against bare sqlite3", ratio, GOAL_RATIO, "x its rate", at_least=True),
        Row("  by the product", ours, None, "a second"),
        Row("  by the bare statements", bare, None, "a second"),
        Row("  by the product, one process", alone, None, "a second"),
        Row("  by the bare statements, one process", alone_bare, None, "a second"),
    ]


if __name__ == "__main__":
    from tests.benchmarks.rows import print_rows

    print_rows(measure(*map(int, sys.argv[1:2])))
