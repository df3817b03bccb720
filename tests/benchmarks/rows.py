"""A measured figure beside its goal, and measuring several things in turn within one run."""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from statistics import median
from time import perf_counter


@dataclass(frozen=True, slots=True)
class Row:
    """One figure. ``goal`` is the most it should be, or the least when ``at_least``; ``None`` is for information."""

    label: str
    measured: float
    goal: float | None
    unit: str
    at_least: bool = False

    @property
    def is_reached(self) -> bool | None:
        """Whether the goal is reached; ``None`` without one."""
        if self.goal is None:
            return None
        return self.measured >= self.goal if self.at_least else self.measured <= self.goal


def interleaved(*jobs: Callable[[], float | None], rounds: int = 5) -> list[float]:
    """
    Return the median seconds of each job, run in turn so that a drifting machine meets all alike.

    A job that returns a number is taken at its word; otherwise the clock is.
    """
    seconds: list[list[float]] = [[] for _ in jobs]
    for _ in range(rounds):
        for taken, job in zip(seconds, jobs, strict=True):
            begun = perf_counter()
            said = job()
            taken.append(perf_counter() - begun if said is None else said)
    return [median(taken) for taken in seconds]


def machine() -> str:
    """Return what machine this is, and how busy."""
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores{load}, Python {sys.version.split()[0]}"


def print_rows(rows: Iterable[Row]) -> None:
    """Print figures, goals and verdicts in columns."""
    for row in rows:
        goal = "" if row.goal is None else f"goal {'≥' if row.at_least else '≤'} {row.goal:g}"
        verdict = {True: "reached", False: "NOT REACHED", None: ""}[row.is_reached]
        print(f"{row.label:<62} {row.measured:>12.4g} {row.unit:<12} {goal:<12} {verdict}".rstrip(), flush=True)
