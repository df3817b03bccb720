"""
``tiebeam find`` as a whole process, on a small archive, against ``python -c pass``.

Both are started by the same interpreter, in turn; what is measured is the time until the process has ended.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.rows import Row, interleaved
from tests.sample import make_sample

ROUNDS = 40
GOAL_RATIO = 6.0
ROOT = Path(__file__).parent.parent.parent
# What the console script of an installed ``tiebeam`` runs.
SCRIPT = "import sys; from catalog.cli.main import run; sys.exit(run())"


def command() -> list[str]:
    """Return the installed command beside this interpreter, or the same started from the source tree."""
    script = shutil.which("tiebeam", path=str(Path(sys.executable).parent))
    return [script] if script else [sys.executable, "-c", SCRIPT]


def measure(rounds: int = ROUNDS) -> list[Row]:
    """Return what was measured, beside the goal."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-start-") as name:
        folder = make_sample(Path(name) / "wenn").folder
        # An installed program has its bytecode beside it; here the first, untimed round makes it.
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(Path(name) / "bytecode")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)

        def started(*words: str) -> None:
            subprocess.run(words, cwd=folder, check=True, stdout=subprocess.DEVNULL, env=environment)

        jobs = {
            "python -c pass": (sys.executable, "-c", "pass"),
            "find": (*command(), "find", "--place", "Osk", "--years", "1975/1990"),
            "find, words": (*command(), "find", "ferry"),
            "show": (*command(), "show", "Osk Mill"),
            "--help": (*command(), "--help"),
        }
        for words in jobs.values():
            started(*words)
        seconds = interleaved(*(lambda words=words: started(*words) for words in jobs.values()), rounds=rounds)
    taken = dict(zip(jobs, seconds, strict=True))
    bare = taken.pop("python -c pass")
    return [
        Row("tiebeam find, a whole process, against python -c pass", taken["find"] / bare, GOAL_RATIO, "x its time"),
        Row("  python -c pass", bare * 1000, None, "ms"),
        *(Row(f"  tiebeam {words}", taken[words] * 1000, None, "ms") for words in taken),
    ]


if __name__ == "__main__":
    from tests.benchmarks.rows import print_rows

    print_rows(measure())
