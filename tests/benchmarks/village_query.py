"""
Every frame of one village across the years, against the same statements bare in ``sqlite3``.

An archive of 1,000,000 sheets, 20,000 buildings and 4,000 places, and one of 10,000 sheets, are built with the
migrated schema. Random villages with their hamlets are asked for ten years each; ``find_frames`` and the bare
statements (fetched, nothing made of them) take turns on one connection.
"""

from __future__ import annotations

import random
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from itertools import count
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter
from typing import Any

from catalog.dates import parse_edtf
from catalog.store.archive import Archive
from catalog.store.find import DETAIL_STATEMENTS, KIT_STATEMENT, Question, find_frames, frame_statement
from catalog.store.new import make_archive
from tests.benchmarks.rows import Row

SHEETS, BUILDINGS, PLACES = 1_000_000, 20_000, 4_000
SMALL_SHEETS, SMALL_BUILDINGS, SMALL_PLACES = 10_000, 2_000, 400
"""The small archive is as crowded in each village as a photographer's, not a hundredth of the large one."""
QUESTIONS = 300
GOAL_RATIO, GOAL_P95_MS = 1.3, 15.0
FIRST_YEAR, LAST_YEAR = 1974, 2021

_LENSES = (90, 120, 150, 210)
_CERTAINTIES = ("certain",) * 19 + ("possible",)
_ENDINGS = ("", "~", "?", "%")


def build(folder: Path, *, sheets: int, buildings: int, places: int, seed: int = 1) -> Archive:
    """Make an archive of this size: a tree of places, moved buildings, marked and missing dates."""
    archive, _ = make_archive(folder)
    chance = random.Random(seed)
    connection = sqlite3.connect(archive.catalogue, isolation_level=None)
    for pragma in ("foreign_keys = OFF", "synchronous = OFF", "cache_size = -400000", "temp_store = MEMORY"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute("BEGIN")
    _kit(connection)
    lowest = _places(connection, places)
    _buildings(connection, chance, buildings, lowest)
    _sheets(connection, chance, sheets, buildings, lowest)
    connection.execute("COMMIT")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return archive


def _insert(connection: sqlite3.Connection, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    marks = ", ".join("?" * len(columns))
    connection.executemany(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", rows)


def _dated(name: str) -> tuple[str, ...]:
    return tuple(f"{name}_{part}" for part in ("edtf", "words", "earliest", "latest", "doubt"))


def _kit(connection: sqlite3.Connection) -> None:
    _insert(connection, "kit", ("id", "kind", "name"), [(i, "lens", f"{mm} mm") for i, mm in enumerate(_LENSES, 1)])
    _insert(connection, "lens", ("id", "focal_length_mm"), list(enumerate(map(float, _LENSES), 1)))
    _insert(connection, "kit", ("id", "kind", "name"), [(9, "film_stock", "Ostrane Pan 100")])
    _insert(connection, "film_stock", ("id", "iso"), [(9, 100.0)])


def _places(connection: sqlite3.Connection, places: int) -> list[int]:
    """Make a country, counties, parishes, villages and hamlets; return the villages and hamlets."""
    counties = range(2, 2 + places // 200)
    parishes = range(counties.stop, counties.stop + places // 20)
    villages = range(parishes.stop, parishes.stop + (places - parishes.stop) // 4)
    hamlets = range(villages.stop, places + 1)
    kinds = (
        (range(1, 2), "country"), (counties, "county"), (parishes, "parish"), (villages, "village"), (hamlets, "hamlet")
    )  # fmt: skip
    for ids, kind in kinds:
        _insert(connection, "place", ("id", "name", "kind"), [(i, f"{kind} {i}", kind) for i in ids])
    for upper, lower in ((range(1, 2), counties), (counties, parishes), (parishes, villages), (villages, hamlets)):
        _insert(
            connection,
            "place_parent",
            ("place_id", "parent_id"),
            [(i, upper[n % len(upper)]) for n, i in enumerate(lower)],
        )
    return [*villages, *hamlets]


def _buildings(connection: sqlite3.Connection, chance: random.Random, buildings: int, lowest: list[int]) -> None:
    ids = range(1, buildings + 1)
    _insert(connection, "building", ("id", "name", "kind"), [(i, f"Mill {i}", "water mill") for i in ids])
    sites: list[tuple[Any, ...]] = []
    nothing = (None, None, None, None, "")
    for building in ids:
        place = lowest[building % len(lowest)]
        if chance.random() < 0.1:
            moved = _date(chance)
            sites += [(building, place, *nothing, *moved), (building, chance.choice(lowest), *moved, *nothing)]
        else:
            sites.append((building, place, *nothing, *nothing))
    _insert(connection, "building_site", ("building_id", "place_id", *_dated("from"), *_dated("until")), sites)


def _date(chance: random.Random) -> tuple[Any, ...]:
    """Return the five columns of a date: a day, month or year, one in ten of them marked, some a season or a set."""
    year = chance.randint(FIRST_YEAR, LAST_YEAR)
    kind = chance.random()
    if kind < 0.6:
        text = f"{year}-{chance.randint(1, 12):02d}-{chance.randint(1, 28):02d}"
    elif kind < 0.75:
        text = f"{year}-{chance.randint(1, 12):02d}"
    elif kind < 0.80:
        text = f"{year}-{chance.randint(21, 23)}"
    elif kind < 0.83:
        text = f"[{year},{year + 1}]"
    else:
        text = str(year)
    if text[0] != "[" and chance.random() < 0.1:
        text += chance.choice(_ENDINGS[1:])
    date = _DATES.get(text)
    if date is None:
        parsed = parse_edtf(text)
        date = _DATES[text] = (parsed.text, text, parsed.earliest, parsed.latest, parsed.doubt)
    return date


_DATES: dict[str, tuple[Any, ...]] = {}


def _sheets(
    connection: sqlite3.Connection, chance: random.Random, sheets: int, buildings: int, lowest: list[int]
) -> None:
    """Add sheets, most with a view of their own, some in a bracket; nine in ten views show a building."""
    undated = (None, "n.d.", None, None, "")
    sheet_columns = ("id", "lens_id", "film_id", "box", *_dated("exposed"))
    ids = range(1, sheets + 1)
    _insert(
        connection, "sheet", sheet_columns,
        (
            (i, chance.randint(1, 4), 9, str(i // 400), *(undated if chance.random() < 0.05 else _date(chance)))
            for i in ids
        ),
    )  # fmt: skip
    _insert(
        connection, "sheet_number", ("sheet_id", "text", "folded", "scheme", "written_on"),
        ((i, f"{i // 500:04d}-{i % 500:03d}", f"{i // 500:04d}-{i % 500:03d}", "yearly", "sleeve") for i in ids),
    )  # fmt: skip
    views = list(_views(chance, sheets))
    last_view = views[-1][1]
    _insert(connection, "view", ("id",), ((view,) for view in range(1, last_view + 1)))
    _insert(connection, "sheet_view", ("sheet_id", "view_id"), views)
    sides = ("N", "E", "S", "W")
    _insert(
        connection, "view_subject", ("view_id", "building_id", "place_id", "elevation", "certainty", "is_principal"),
        (
            (view, chance.randint(1, buildings), None, chance.choice(sides), chance.choice(_CERTAINTIES), 1)
            if chance.random() < 0.9
            else (view, None, chance.choice(lowest), None, "certain", 1)
            for view in range(1, last_view + 1)
        ),
    )  # fmt: skip
    _insert(
        connection, "wording", ("about", "about_id", "field", "as_written", "certainty", "noted_at"),
        (("sheet", i, "lens", "90 or 120", "possible", "2026-11-25T09:30:00Z") for i in ids if i % 20 == 0),
    )  # fmt: skip
    scanned = [i for i in ids if i % 3 == 0]
    now = "2026-11-25T09:30:00Z"
    _insert(
        connection, "file",
        ("id", "path", "path_key", "size_bytes", "modified_ns", "sha256", "first_seen_at", "last_checked_at"),
        ((i, f"scans/{i:07d}.tif", f"scans/{i:07d}.tif", 1, 1, f"{i:064x}", now, now) for i in scanned),
    )  # fmt: skip
    _insert(connection, "scan", ("id", "file_id", "kind"), ((i, i, "TIFF") for i in scanned))
    _insert(connection, "scan_part", ("scan_id", "sheet_id", "matched_by"), ((i, i, "name") for i in scanned))


def _views(chance: random.Random, sheets: int) -> Iterator[tuple[int, int]]:
    numbers = count(1)
    view = next(numbers)
    for sheet in range(1, sheets + 1):
        yield sheet, view
        if chance.random() < 0.8:
            view = next(numbers)


def ask_bare(connection: sqlite3.Connection, question: Question) -> int:
    """Run the statements of a question and fetch their rows; return how many frames there are."""
    frames = connection.execute(*frame_statement(question)).fetchall()
    ids = (str([row[0] for row in frames]),)
    for statement in DETAIL_STATEMENTS.values():
        connection.execute(statement, ids).fetchall()
    connection.execute(KIT_STATEMENT).fetchall()
    return len(frames)


def timed(archive: Archive, questions: int = QUESTIONS, seed: int = 2) -> dict[str, float]:
    """Return the milliseconds of both ways, and how many frames an answer has."""
    chance = random.Random(seed)
    ours: list[float] = []
    bare: list[float] = []
    rows: list[int] = []
    with archive.reading() as connection:
        villages = [i for (i,) in connection.execute("SELECT id FROM place WHERE kind = 'village' ORDER BY id")]
        for number in range(questions + 20):
            first = chance.randint(FIRST_YEAR, LAST_YEAR - 10)
            years = parse_edtf(f"{first}/{first + 9}")
            question = Question(place_id=chance.choice(villages), years=years, about_days=archive.about_days)
            taken: dict[str, float] = {}
            works = ("ours", "bare") if number % 2 else ("bare", "ours")
            # The first of the two finds the pages cold: each is asked once before either is timed.
            ask_bare(connection, question)
            for work in works:
                begun = perf_counter()
                if work == "ours":
                    found = find_frames(connection, question)
                else:
                    ask_bare(connection, question)
                taken[work] = (perf_counter() - begun) * 1000
            if number >= 20:
                ours.append(taken["ours"])
                bare.append(taken["bare"])
                rows.append(len(found.frames))
    return {
        "ours p50": median(ours), "ours p95": quantiles(ours, n=20)[-1], "bare p50": median(bare),
        "bare p95": quantiles(bare, n=20)[-1], "ratio": median(o / b for o, b in zip(ours, bare, strict=True)),
        "rows": median(rows),
    }  # fmt: skip


def measure() -> list[Row]:
    """Return what was measured, beside the goals."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-village-") as name:
        begun = perf_counter()
        large = build(Path(name) / "large", sheets=SHEETS, buildings=BUILDINGS, places=PLACES)
        built_s = perf_counter() - begun
        small = build(Path(name) / "small", sheets=SMALL_SHEETS, buildings=SMALL_BUILDINGS, places=SMALL_PLACES)
        found, few = timed(large), timed(small)
    return [
        Row("village query, 1,000,000 sheets, against the bare statements", found["ratio"], GOAL_RATIO, "x its time"),
        Row("village query, 1,000,000 sheets, p95", found["ours p95"], GOAL_P95_MS, "ms"),
        Row("  p50", found["ours p50"], None, "ms"),
        Row("  bare statements, p50", found["bare p50"], None, "ms"),
        Row("  bare statements, p95", found["bare p95"], None, "ms"),
        Row("  frames in an answer, median", found["rows"], None, "frames"),
        Row("village query, 10,000 sheets, against the bare statements", few["ratio"], GOAL_RATIO, "x its time"),
        Row("  p50", few["ours p50"], None, "ms"),
        Row("  frames in an answer, median", few["rows"], None, "frames"),
        Row("  growth: a frame among 1,000,000 against one among 10,000", _growth(found, few), None, "x its time"),
        Row("  building the large archive", built_s, None, "s"),
    ]


def _growth(found: dict[str, float], few: dict[str, float]) -> float:
    """Return how much longer one frame of the answer takes in the large archive."""
    return (found["ours p50"] / found["rows"]) / (few["ours p50"] / few["rows"])


if __name__ == "__main__":
    from tests.benchmarks.rows import print_rows

    print_rows(measure())
