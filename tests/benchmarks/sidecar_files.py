"""
Sidecars built and written, against writing the same bytes and doing nothing else.

Each round writes N new sidecars, then N bare files of the very same bytes with ``write``, ``fsync`` and
``os.replace``, one after the other, in fresh folders of one drive; then merges N captions into sidecars that
another program wrote. Rates are medians of the rounds. Goal: built and written at 0.8 of the bare rate or more.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from catalog.outputs.sidecar_batches import SidecarTask, write_many
from catalog.outputs.sidecars import prepare
from catalog.standards.xmp import Packet, Text, bag, format_packet, lang_alt, name
from tests.outputs.a_caption import CERTAIN

SIDECARS, ROUNDS = 1_000, 5
GOAL_RATIO = 0.8

FOREIGN = format_packet(
    Packet(
        (
            (name("dc:title"), lang_alt("untitled", "en")),
            (name("dc:subject"), bag(["Hill, East", "river"])),
            (name("xmp:CreatorTool"), Text("scanner software")),
            (name("tiff:Orientation"), Text("1")),
            (name("xmp:Rating"), Text("3")),
        )
    )
)


def captions(count: int) -> list:
    """Return captions of usual length, no two alike."""
    return [replace(CERTAIN, reference=f"S{n}", title=f"Osk Mill, east elevation, {n}") for n in range(count)]


def write_sidecars(folder: Path, count: int) -> None:
    """Build and write sidecars as the program does."""
    tasks = (SidecarTask(folder / f"{n:05}.xmp", caption) for n, caption in enumerate(captions(count)))
    assert all(outcome.state == "written" for outcome in write_many(tasks))


def write_bare(folder: Path, contents: list[bytes]) -> None:
    """Write the bytes and force them to disk before they take their name."""
    for n, data in enumerate(contents):
        passing = folder / f"{n:05}.part"
        with passing.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        passing.replace(folder / f"{n:05}.xmp")


def seconds(work: Callable[[], None]) -> float:
    """Return how long ``work`` takes."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def measure(*, sidecars: int = SIDECARS, rounds: int = ROUNDS, folder: Path | None = None) -> dict[str, float | str]:
    """Return the rates and their ratios; ``folder`` is on the drive to measure, a temporary one otherwise."""
    contents = [prepare(None, caption) for caption in captions(sidecars)]
    times: dict[str, list[float]] = {"ours": [], "bare": [], "merged": [], "built": []}
    for turn in range(rounds):
        with tempfile.TemporaryDirectory(dir=folder) as base:
            ours, bare, merged = (Path(base) / part for part in ("ours", "bare", "merged"))
            for one in (ours, bare, merged):
                one.mkdir()
            for n in range(sidecars):
                (merged / f"{n:05}.xmp").write_bytes(FOREIGN)
            works = [
                ("ours", lambda place=ours: write_sidecars(place, sidecars)),
                ("bare", lambda place=bare: write_bare(place, contents)),
                ("merged", lambda place=merged: write_sidecars(place, sidecars)),
                ("built", lambda: [prepare(None, caption) for caption in captions(sidecars)]),
            ]
            for what, work in works if turn % 2 else reversed(works):
                times[what].append(seconds(work))
    rates = {what: sidecars / statistics.median(taken) for what, taken in times.items()}
    return {
        "written_per_s": round(rates["ours"]),
        "bare_per_s": round(rates["bare"]),
        "merged_and_written_per_s": round(rates["merged"]),
        "built_only_per_s": round(rates["built"]),
        "ratio_written": round(rates["ours"] / rates["bare"], 2),
        "ratio_merged": round(rates["merged"] / rates["bare"], 2),
        "goal": GOAL_RATIO,
        "bytes_each": round(statistics.mean(map(len, contents))),
        "verdict": "met" if rates["ours"] >= GOAL_RATIO * rates["bare"] else "missed",
    }


if __name__ == "__main__":
    print(json.dumps(measure(folder=Path(sys.argv[1]) if len(sys.argv) > 1 else None), indent=2))
