"""
Where every print is, and how one print stands, among 200,000 prints and 1,000,000 ledger entries.

Ten thousand editions of twenty prints are built with the migrated schema, its triggers and its rules: each print has
lived one of a dozen stories, entries are numbered in the order they were dated, and how each print stands is reckoned
by the rules from its ledger, as ``tiebeam check --mend`` does. One print in a hundred is out (two thousand, with four
hundred galleries and lenders); the same list of ten times as many is told for information.
"""

from __future__ import annotations

import io
import os
import random
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import redirect_stdout
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter

from catalog import clock
from catalog.store.archive import Archive
from catalog.store.editions import list_editions
from catalog.store.ledger import (
    STANDING_COLUMNS,
    life_faults,
    list_entries,
    number_faults,
    read_standing,
    rebuild_standings,
    standing_values,
)
from catalog.store.new import make_archive
from catalog.store.prints import find_print
from catalog.store.show import read_record
from tests.benchmarks.rows import Row, interleaved
from tests.benchmarks.start_up import ROOT, command

EDITIONS, LIMIT, PERSONS = 10_000, 20, 2_000
PRINTS, ENTRIES = EDITIONS * LIMIT, 1_000_000
GOAL_OUT_S, GOAL_ONE_MS = 0.3, 5.0
LOOKED_AT = 2_000
"""Prints whose standing is reckoned anew when the archive is built, and that are asked for one by one."""


@dataclass(frozen=True, slots=True)
class Step:
    """One entry of a story: its kind, days after the pulling, and what it says."""

    kind: str
    days: int
    who: str = ""
    words: str | None = None
    place: str | None = None
    price: int | None = None
    due_days: int | None = None
    is_on_number: bool = False


_BEGUN = (Step("pulled", 0), Step("signed", 2))
_PUT_BY = Step("drawer", 3, place="plan chest, drawer 3")
_REPORT = Step("condition report", 40, words="good; a soft corner lower left")
_CONSIGNED = Step("consigned", 90, "gallery", price=60_000, due_days=365)
_SOLD = Step("sold", 200, "buyer", price=62_500)
# (how many in a thousand prints, the story); 5 entries a print on the whole
STORIES: tuple[tuple[int, tuple[Step, ...]], ...] = (
    (430, (*_BEGUN, _PUT_BY, _CONSIGNED, _SOLD)),
    (120, (*_BEGUN, _PUT_BY, _REPORT, _SOLD)),
    (200, (*_BEGUN, _PUT_BY, _REPORT, Step("framed", 60))),
    (70, (*_BEGUN, _PUT_BY, Step("lent", 60, "gallery", due_days=100), Step("returned", 150, "gallery"))),
    (50, (*_BEGUN, _CONSIGNED, Step("returned", 190, "gallery"), Step("given", 400, "buyer"))),
    (60, (Step("promised", -30, "buyer", is_on_number=True), *_BEGUN, _PUT_BY, _SOLD)),
    (20, (*_BEGUN, _SOLD, Step("bought back", 900, "buyer", price=70_000), Step("drawer", 901, place="box 4"))),
    (15, (*_BEGUN, _CONSIGNED, Step("damaged", 120, words="water"), Step("lost", 130))),
    (15, (*_BEGUN, _PUT_BY, Step("damaged", 50, words="a crease"), Step("destroyed", 60, words="cut up; corner kept"))),
    (10, (*_BEGUN, _PUT_BY, Step("reserved", 60, "buyer", due_days=30), Step("released", 95, "buyer"))),
)  # fmt: skip
OUT = (*_BEGUN, _PUT_BY, _REPORT, _CONSIGNED)
_FIRST_DAY, _LAST_DAY = date(1985, 1, 1).toordinal(), date(2022, 12, 31).toordinal()
_BITS = 4
"""A story has fewer than sixteen steps: print and step go into one number, so that a million can be put in order."""


def build(folder: Path, *, editions: int = EDITIONS, out_share: float = 0.01, seed: int = 5) -> Archive:
    """Make an archive of editions of twenty prints, each print with five entries; ``out_share`` of them are out."""
    archive, _ = make_archive(folder)
    chance = random.Random(seed)
    connection = sqlite3.connect(archive.catalogue, isolation_level=None)
    for pragma in ("foreign_keys = OFF", "synchronous = OFF", "cache_size = -400000", "temp_store = MEMORY"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute("BEGIN")
    _promises(connection, editions)
    _prints_and_ledger(connection, chance, editions * LIMIT, out_share)
    rebuild_standings(connection)
    connection.execute("COMMIT")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return archive


def _insert(connection: sqlite3.Connection, table: str, columns: str, rows: Iterator[tuple[object, ...]]) -> None:
    marks = ", ".join("?" * (columns.count(",") + 1))
    connection.executemany(f"INSERT INTO {table} ({columns}) VALUES ({marks})", rows)


def _promises(connection: sqlite3.Connection, editions: int) -> None:
    now, ids = clock.timestamp(), range(1, editions + 1)
    roles = ("gallery", "buyer")
    _insert(connection, "person", "id, name, role", ((i, f"Person {i}", roles[i % 2]) for i in range(1, PERSONS + 1)))
    _insert(connection, "sheet", "id", ((i,) for i in ids))
    _insert(connection, "view", "id, title", ((i, f"Mill {i} from the sluice") for i in ids))
    _insert(connection, "sheet_view", "sheet_id, view_id", ((i, i) for i in ids))
    _insert(
        connection, "edition", "id, view_id, statement, sizes_count",
        ((i, i, "Twenty prints in one size.", "across sizes") for i in ids),
    )  # fmt: skip
    _insert(connection, "edition_sheet", "edition_id, sheet_id", ((i, i) for i in ids))
    _insert(connection, "edition_state", "edition_id, state, noted_at", ((i, "open", now) for i in ids))
    _insert(connection, "run", "id, edition_id, limit_count", ((i, i, LIMIT) for i in ids))
    _insert(connection, "size", "id, run_id, name", ((i, i, "small") for i in ids))


def _prints_and_ledger(connection: sqlite3.Connection, chance: random.Random, prints: int, out_share: float) -> None:
    now = clock.timestamp()
    stories = chance.choices([story for _, story in STORIES], [share for share, _ in STORIES], k=prints)
    pulled = [chance.randint(_FIRST_DAY, _LAST_DAY) for _ in range(prints)]
    for number in chance.sample(range(prints), round(prints * out_share)):
        # What is out left lately: since the last three years, some of it overdue.
        stories[number], pulled[number] = OUT, clock.today().toordinal() - chance.randint(120, 1200)
    galleries = [chance.randrange(2, 402, 2) for _ in range(prints)]
    buyers = [chance.randrange(1, PERSONS, 2) for _ in range(prints)]
    ids = range(1, prints + 1)
    _insert(
        connection, "print_number", "id, run_id, series, ordinal, written, is_ahead, given_at",
        ((i, (i - 1) // LIMIT + 1, "numbered", (i - 1) % LIMIT + 1, f"{(i - 1) % LIMIT + 1}/{LIMIT}", 0, now)
         for i in ids),
    )  # fmt: skip
    _insert(
        connection, "print", "id, print_number_id, sheet_id, size_id, paper, pulled_edtf, pulled_earliest,"
        " pulled_latest",
        ((i, i, (i - 1) // LIMIT + 1, (i - 1) // LIMIT + 1, "cotton 310 g", *_day(pulled[i - 1])) for i in ids),
    )  # fmt: skip
    # A promise on a number comes before its print: "ledger_entry" does not ask, since the number is there.
    order = sorted(
        ((pulled[p] + step.days) << 24) | (p << _BITS) | n for p in range(prints) for n, step in enumerate(stories[p])
    )

    def entries() -> Iterator[tuple[object, ...]]:
        for packed in order:
            p, n = (packed >> _BITS) & 0xFFFFF, packed & 0xF
            step, day = stories[p][n], packed >> 24
            who = {"gallery": galleries[p], "buyer": buyers[p], "": None}[step.who]
            on = (None, p + 1) if step.is_on_number else (p + 1, None)
            due = _day(day + step.due_days) if step.due_days is not None else (None, None, None)
            currency = "EUR" if step.price is not None else None
            yield (*on, step.kind, *_day(day), who, step.place, step.price, currency, *due, step.words, now)

    _insert(
        connection, "ledger_entry", "print_id, print_number_id, kind, date_edtf, date_earliest, date_latest, person_id,"
        " place, price_minor, currency, due_edtf, due_earliest, due_latest, words, written_at",
        entries(),
    )  # fmt: skip


def _day(day: int) -> tuple[str, int, int]:
    return date.fromordinal(day).isoformat(), day, day


def look_over(archive: Archive, prints: int = LOOKED_AT, seed: int = 6) -> int:
    """
    See that the archive is one the product could have made; return how many ledger entries it has.

    Raises:
        AssertionError: a print is not kept as its ledger says, or a life or a number is not.
    """
    columns = ", ".join(STANDING_COLUMNS)
    with archive.reading() as connection:
        last = connection.execute("SELECT max(id) FROM print").fetchone()[0]
        for print_id in random.Random(seed).sample(range(1, last + 1), min(prints, last)):
            kept = connection.execute(
                f"SELECT {columns} FROM print_standing WHERE print_id = ?", (print_id,)
            ).fetchone()
            assert kept == standing_values(read_standing(connection, print_id)), print_id
        assert not [*life_faults(connection), *number_faults(connection)]
        entries: int = connection.execute("SELECT count(*) FROM ledger_entry").fetchone()[0]
    return entries


def one_by_one(archive: Archive, asked: Callable[[sqlite3.Connection, int], object], seed: int = 7) -> float:
    """Return the 95th percentile of the milliseconds that ``asked`` takes for one print, each another one."""
    taken = []
    with archive.reading() as connection:
        last = connection.execute("SELECT max(id) FROM print").fetchone()[0]
        for print_id in random.Random(seed).sample(range(1, last + 1), LOOKED_AT // 4):
            begun = perf_counter()
            asked(connection, print_id)
            taken.append((perf_counter() - begun) * 1000)
    return quantiles(taken, n=20)[-1]


def in_process(archive: Archive, *words: str) -> float:
    """Return the seconds of a whole command called in this process, its answer kept in memory."""
    from catalog.cli.main import run

    begun, answer, status = perf_counter(), io.TextIOWrapper(io.BytesIO(), "utf-8"), None
    try:
        with redirect_stdout(answer):
            run([*words, "--archive", str(archive.folder)])
    except SystemExit as left:
        status = left.code
    answer.flush()
    taken = perf_counter() - begun
    assert not status, f"{' '.join(words)}: status {status}"
    assert answer.buffer.getvalue().count(b"\n") > 1  # type: ignore[attr-defined]
    return taken


def as_process(archive: Archive, bytecode: Path, *words: str) -> None:
    """Run a command as a process of its own; its answer is read through a pipe."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(bytecode)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    subprocess.run([*command(), *words], cwd=archive.folder, check=True, capture_output=True, env=environment)


def measure(rounds: int = 15) -> list[Row]:
    """Return what was measured, beside the goals."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-ledger-") as name:
        begun = perf_counter()
        archive = build(Path(name) / "large")
        built_s = perf_counter() - begun
        entries = look_over(archive)
        many = build(Path(name) / "many-out", editions=EDITIONS // 10, out_share=1.0)
        bytecode = Path(name) / "bytecode"
        with archive.reading() as connection:
            out = connection.execute("SELECT count(*) FROM print_standing WHERE is_out = 1").fetchone()[0]
        jobs: dict[str, Callable[[], float | None]] = {
            "as a process": lambda: as_process(archive, bytecode, "prints", "out"),
            "in process": lambda: in_process(archive, "prints", "out"),
            "--overdue": lambda: in_process(archive, "prints", "out", "--overdue"),
            "--json": lambda: in_process(archive, "prints", "out", "--json"),
            "held-by": lambda: in_process(archive, "prints", "held-by", "N2"),
            "show": lambda: in_process(archive, "prints", "show", "P4711"),
            "ledger of a person": lambda: in_process(archive, "ledger", "N2"),
            "twenty thousand out": lambda: in_process(many, "prints", "out"),
        }
        for job in jobs.values():
            job()
        taken = dict(zip(jobs, interleaved(*jobs.values(), rounds=rounds), strict=True))
        about = archive.about_days
        state_ms = one_by_one(archive, read_standing)
        row_ms = one_by_one(archive, find_print)
        ledger_ms = one_by_one(archive, lambda connection, i: list_entries(connection, "print", i))
        show_ms = one_by_one(archive, lambda connection, i: read_record(connection, "print", i, about))
        editions_s = median(_listed(archive) for _ in range(3))
    return [
        Row(f"prints out, {PRINTS:,} prints, {entries:,} entries, in process", taken["in process"], GOAL_OUT_S, "s"),
        Row(
            f"prints out, {PRINTS:,} prints, {entries:,} entries, as a process", taken["as a process"], GOAL_OUT_S, "s"
        ),
        Row("  prints out --overdue, in process", taken["--overdue"], None, "s"),
        Row("  prints out --json, in process", taken["--json"], None, "s"),
        Row("  prints out", out, None, "prints"),
        Row("  the same with 20,000 prints out", taken["twenty thousand out"], None, "s"),
        Row("one print's state reckoned from its ledger, p95", state_ms, GOAL_ONE_MS, "ms"),
        Row("one print as it is listed, p95", row_ms, GOAL_ONE_MS, "ms"),
        Row("one print's ledger to show, p95", ledger_ms, GOAL_ONE_MS, "ms"),
        Row("one print whole (prints show), p95", show_ms, GOAL_ONE_MS, "ms"),
        Row("  prints show, in process", taken["show"], None, "s"),
        Row("  prints held-by, in process", taken["held-by"], None, "s"),
        Row("  ledger of a person, in process", taken["ledger of a person"], None, "s"),
        Row(f"  editions list, {EDITIONS:,} editions read", editions_s, None, "s"),
        Row("  building the archive", built_s, None, "s"),
    ]


def _listed(archive: Archive) -> float:
    begun = perf_counter()
    with archive.reading() as connection:
        list_editions(connection)
    return perf_counter() - begun


if __name__ == "__main__":
    from tests.benchmarks.rows import print_rows

    print_rows(measure(*map(int, sys.argv[1:2])))
