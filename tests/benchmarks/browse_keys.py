"""
A key in the list of every frame, at 1,000,000 sheets and at 1,000: how long until its answer is drawn.

Each archive is browsed in a process of its own, without a terminal but with everything that is drawn for one. A key
is answered when the list has drawn itself after it and every line in sight has its words. Before each key the mark
is put somewhere else in the list, so that most keys meet rows that were not read yet.
"""

from __future__ import annotations

import asyncio
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter

from tests.benchmarks.rows import Row
from tests.benchmarks.start_up import ROOT
from tests.peak_memory import peak_mb

SHEETS, SMALL = 1_000_000, 1_000
KEYS = 300
ROUNDS = 3
REPEAT_S = 0.033
"""Between two keys: a key held down comes thirty times a second."""
GOAL_P95_MS, GOAL_RATIO, GOAL_MB = 50.0, 1.2, 250.0


async def _browse(folder: Path, keys: int) -> dict[str, float]:
    from textual import events
    from textual._context import active_app, active_message_pump

    import catalog.cli.main  # noqa: F401  (sets how often rubbish is looked for, as in the program itself)
    from catalog.store.archive import open_archive
    from catalog.tui.app import BrowseApp
    from catalog.tui.screens.frames_card import FramesCardScreen
    from catalog.tui.widgets.card_list import CardList

    drawn_at = 0.0

    class Watched(BrowseApp):
        def _display(self, screen, renderable):  # type: ignore[no-untyped-def]
            nonlocal drawn_at
            super()._display(screen, renderable)
            drawn_at = perf_counter()

    app = Watched(open_archive(folder))
    taken: list[float] = []
    begun = perf_counter()
    opened = 0.0

    def is_answered(frames: CardList, since: float) -> bool:
        top = round(frames.scroll_y)
        rows = range(top, min(top + frames.size.height, frames.count))
        return drawn_at > since and all(frames.row(place) is not None for place in rows)

    async def until(frames: CardList, since: float) -> None:
        while not is_answered(frames, since):
            await asyncio.sleep(0.0005)

    async def drive() -> None:
        nonlocal opened
        active_app.set(app)
        active_message_pump.set(app)
        while not app.is_running or app.card is None:
            await asyncio.sleep(0.01)
        await asyncio.sleep(0.5)
        started = perf_counter()
        app.open_frames(None)
        while not isinstance(app.screen, FramesCardScreen) or not app.screen.query(CardList):
            await asyncio.sleep(0.01)
        frames = app.screen.query_one(CardList)
        while not frames.count:
            await asyncio.sleep(0.01)
        await until(frames, started)
        opened = perf_counter() - started
        chance = random.Random(3)
        pressed = ("down", "up", "pagedown", "pageup", "end", "home")
        for number in range(keys + 20):
            moved = perf_counter()
            frames.choose(chance.randrange(frames.count))
            frames.refresh()
            await until(frames, moved)
            await asyncio.sleep(REPEAT_S)
            key = pressed[number % len(pressed)]
            at = perf_counter()
            app.post_message(events.Key(key, None))
            await until(frames, at)
            if number >= 20:
                taken.append((drawn_at - at) * 1000)
        app.exit()

    async with asyncio.TaskGroup() as group:
        group.create_task(app.run_async(headless=True, size=(80, 24)))
        group.create_task(drive())
    return {
        "p50": median(taken), "p95": quantiles(taken, n=20)[-1], "opened": opened, "peak_mb": peak_mb(),
        "whole": perf_counter() - begun,
    }  # fmt: skip


def browsed(folder: Path, keys: int = KEYS) -> dict[str, float]:
    """Return the milliseconds of a key and the memory of a process that browses an archive."""
    words = [sys.executable, "-m", "tests.benchmarks.browse_keys", str(folder), str(keys)]
    out = subprocess.run(words, check=True, capture_output=True, text=True, cwd=ROOT, timeout=900)
    found: dict[str, float] = json.loads(out.stdout.splitlines()[-1])
    return found


def _middle(runs: list[dict[str, float]]) -> dict[str, float]:
    return {name: median(run[name] for run in runs) for name in runs[0]}


def measure() -> list[Row]:
    """Return what was measured, beside the goals; both archives are browsed in turn, and the middle run counts."""
    from tests.benchmarks.village_query import build

    with tempfile.TemporaryDirectory(prefix="tiebeam-keys-") as name:
        large = build(Path(name) / "large", sheets=SHEETS, buildings=20_000, places=4_000).folder
        small = build(Path(name) / "small", sheets=SMALL, buildings=200, places=300).folder
        runs = [(browsed(small), browsed(large)) for _ in range(ROUNDS)]
    few, many = _middle([run[0] for run in runs]), _middle([run[1] for run in runs])
    return [
        Row("browse, a key at 1,000,000 sheets, p95", many["p95"], GOAL_P95_MS, "ms"),
        Row("browse, a key at 1,000,000 sheets against 1,000, p95", many["p95"] / few["p95"], GOAL_RATIO, "x its time"),
        Row("browse, memory at 1,000,000 sheets", many["peak_mb"], GOAL_MB, "MB"),
        Row("  a key at 1,000,000 sheets, p50", many["p50"], None, "ms"),
        Row("  a key at 1,000 sheets, p50", few["p50"], None, "ms"),
        Row("  a key at 1,000 sheets, p95", few["p95"], None, "ms"),
        Row("  memory at 1,000 sheets", few["peak_mb"], None, "MB"),
        Row("  the list opened, 1,000,000 sheets", many["opened"], None, "s"),
        Row("  the list opened, 1,000 sheets", few["opened"], None, "s"),
    ]


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(json.dumps(asyncio.run(_browse(Path(sys.argv[1]), int(sys.argv[2])))))
    else:
        from tests.benchmarks.rows import print_rows

        print_rows(measure())
