"""
``tiebeam browse`` as a whole process, until its first card stands on the terminal, against an empty Textual program.

Both are started in a pseudo-terminal of 80 x 24 by the same interpreter, in turn. The terminal answers what a
terminal is asked (its attributes); what is measured is the time until the last line of the first screen is drawn.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import tempfile
import termios
from pathlib import Path
from time import perf_counter

from tests.benchmarks.rows import Row, interleaved
from tests.benchmarks.start_up import ROOT, command
from tests.sample import make_sample

ROUNDS = 15
GOAL_RATIO = 1.5
WAIT_S = 30.0
EMPTY = """
from textual.app import App
from textual.widgets import Static
class Empty(App[None]):
    ENABLE_COMMAND_PALETTE = False
    def compose(self):
        yield Static("nothing but this line", markup=False)
Empty().run()
"""


def seconds_until(words: list[str], sign: bytes, folder: Path, environment: dict[str, str]) -> float:
    """Return how long a program takes from its start until ``sign`` has come to its terminal."""
    begun = perf_counter()
    child, terminal = pty.fork()
    if child == 0:  # pragma: no cover - the other process
        os.chdir(folder)
        os.execvpe(words[0], words, environment)
    try:
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        seen = b""
        asked = 0
        while sign not in seen:
            if not select.select([terminal], [], [], WAIT_S)[0]:
                raise TimeoutError(f"{words[0]} drew nothing that holds {sign!r} in {WAIT_S:g} s: {seen[-300:]!r}")
            seen += os.read(terminal, 65536)
            while seen.count(b"\x1b[c") > asked:
                asked += 1
                os.write(terminal, b"\x1b[?62;22c")
        return perf_counter() - begun
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(terminal)


def measure(rounds: int = ROUNDS) -> list[Row]:
    """Return what was measured, beside the goal."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-paint-") as name:
        folder = make_sample(Path(name) / "wenn").folder
        environment = {
            **os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(Path(name) / "bytecode"),
            "TERM": "xterm-256color", "COLORTERM": "truecolor",
        }  # fmt: skip
        for one in ("PYTHONDONTWRITEBYTECODE", "TMUX"):
            environment.pop(one, None)
        empty = [sys.executable, "-c", EMPTY]
        browse = [*command(), "browse"]
        jobs = [
            lambda: seconds_until(empty, b"nothing but this line", folder, environment),
            lambda: seconds_until(browse, b"country", folder, environment),
        ]
        for job in jobs:
            job()  # makes the bytecode
        bare, ours = interleaved(*jobs, rounds=rounds)
    return [
        Row("tiebeam browse, until the first card, against an empty program", ours / bare, GOAL_RATIO, "x its time"),
        Row("  an empty Textual program", bare * 1000, None, "ms"),
        Row("  tiebeam browse", ours * 1000, None, "ms"),
    ]


if __name__ == "__main__":
    from tests.benchmarks.rows import print_rows

    print_rows(measure())
