"""Commands run as the person runs them, in this process: what they say and the status they leave."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from catalog.cli.main import run


@dataclass(frozen=True, slots=True)
class Said:
    """What a command printed, and its status."""

    out: str
    err: str
    status: int


def tiebeam(capsys: pytest.CaptureFixture[str], *words: str | Path) -> Said:
    """Run ``tiebeam`` with these words."""
    capsys.readouterr()
    with pytest.raises(SystemExit) as left:
        run([str(word) for word in words])
    said = capsys.readouterr()
    return Said(said.out, said.err, int(left.value.code or 0))
