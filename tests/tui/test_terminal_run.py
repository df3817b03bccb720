"""The program itself in a real terminal of 80 x 24: started, driven by keys, read from the screen, left."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
# tmux is a terminal without a window; CI installs it, a bare machine may lack it.
pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux (Debian: tmux)")
SCRIPT = "import sys; from catalog.cli.main import run; sys.exit(run())"
WAIT_S = 30.0


class Terminal:
    """A terminal of its own server, so that none of the person's is touched."""

    def __init__(self, folder: Path, size: tuple[int, int] = (80, 24)) -> None:
        self._name = f"tiebeam-{uuid.uuid4().hex[:12]}"
        width, height = size
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "LC_ALL": "C.UTF-8"}
        # Whoever runs the tests may say their own size in COLUMNS and LINES; here the terminal says it.
        for one in ("TMUX", "TMUX_PANE", "TEXTUAL", "NO_COLOR", "COLUMNS", "LINES"):
            environment.pop(one, None)
        self._run("new-session", "-d", "-x", str(width), "-y", str(height), "-s", "cards", "-c", str(folder), "sh",
                  environment=environment)  # fmt: skip

    def _run(self, *words: str, environment: dict[str, str] | None = None) -> str:
        ran = subprocess.run(["tmux", "-u", "-f", os.devnull, "-L", self._name, *words], capture_output=True,
                             text=True, check=True, env=environment, timeout=WAIT_S)  # fmt: skip
        return ran.stdout

    def type(self, *keys: str) -> None:
        self._run("send-keys", "-t", "cards", *keys)

    def resize(self, width: int, height: int) -> None:
        self._run("resize-window", "-t", "cards", "-x", str(width), "-y", str(height))

    @property
    def screen(self) -> str:
        return self._run("capture-pane", "-p", "-t", "cards")

    def until(self, *signs: str) -> str:
        """Wait until all of these stand on the screen, and return it."""
        ends = time.monotonic() + WAIT_S
        while time.monotonic() < ends:
            screen = self.screen
            if all(sign in screen for sign in signs):
                return screen
            time.sleep(0.05)
        raise AssertionError(f"{signs} did not all come to the screen:\n{self.screen}")

    def close(self) -> None:
        self._run("kill-server")


@pytest.fixture
def terminal(sample: Path) -> Iterator[Terminal]:
    opened = Terminal(sample)
    yield opened
    opened.close()


def test_the_cards_are_walked_in_a_real_terminal(terminal):
    terminal.type(f"{sys.executable} -c '{SCRIPT}' browse Osk; echo left with $?", "Enter")
    screen = terminal.until("╭ Osk ╮", "all of Osk", "Osk Mill")
    assert "L4" in screen.splitlines()[0]

    terminal.type("Down", "Down", "Down", "Enter")
    terminal.until("╭ Osk Mill ╮", "One question is open")
    terminal.type("Down", "Enter")
    terminal.until("╭ 74-02 ╮", "no scan yet", "frame 1 of 16")
    terminal.type("Space")
    terminal.until("back of the card", "105 mm of the folding camera")
    terminal.type("f")
    terminal.until("╭ find ╮")
    terminal.type("-l", "ferry [/")
    terminal.until("ferry [/", "Nothing found.")
    terminal.type("BSpace", "BSpace")
    terminal.until("Wennmouth Ferry House")
    terminal.type("Down", "Enter")
    terminal.until("╭ 83-01 ╮", "frame 1 of 6")

    terminal.resize(40, 10)
    terminal.until("40 x 10 is too small")
    terminal.resize(80, 24)
    terminal.until("╭ 83-01 ╮")

    terminal.type("q")
    terminal.until("left with 0")
