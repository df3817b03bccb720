"""What the README says is true: its commands, and the output it shows."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")


def block_after(mark: str) -> str:
    """Return the fenced block that follows a mark."""
    match = re.search(rf"<!-- {re.escape(mark)} -->\n```(?:sh)?\n(.*?)```", README, re.DOTALL)
    assert match, f"README.md has no block marked {mark!r}"
    return match[1]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> str:
    """What the demo prints, run as its command says, in a folder of its own."""
    words = block_after("demo").strip().rpartition("&& .venv/bin/tiebeam ")[2].split()
    command = [sys.executable, "-c", "from catalog.cli.main import run; run()", *words]
    done = subprocess.run(
        command, cwd=tmp_path_factory.mktemp("readme"), capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    return done.stdout


def test_each_command_is_one_line_that_sets_itself_up():
    for mark in ("demo", "tests"):
        command = block_after(mark)

        assert command.count("\n") == 1
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install ")
        assert " -e " not in command


def test_the_output_shown_is_what_the_demo_prints(demo: str):
    for mark in ("output: find", "output: sidecars"):
        shown = block_after(mark).strip()

        assert shown, f"README.md shows nothing under {mark!r}"
        assert shown in demo


def test_every_command_of_the_walk_exists():
    from catalog.cli.main import COMMANDS

    walked = re.findall(r"^tiebeam (\w+)", README, re.MULTILINE)

    assert walked
    assert set(walked) <= COMMANDS.keys()


def test_ci_runs_exactly_the_command_for_the_tests():
    script = (ROOT / ".ci" / "run").read_text("utf-8")

    assert "<!-- tests -->" in script
    assert 'bash -c "$command"' in script
