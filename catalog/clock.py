"""Time, chance and version come in through this door, so that tests and golden files can fix them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from itertools import count
from typing import NamedTuple

__all__ = ["fixed", "now", "program_version", "random_token", "timestamp", "today"]


class _Fixed(NamedTuple):
    moment: datetime
    version: str
    tokens: Iterator[int]


_fixed: _Fixed | None = None


def now() -> datetime:
    """Return the present moment in UTC, to the second."""
    moment = _fixed.moment if _fixed else datetime.now(UTC)
    return moment.replace(microsecond=0)


def timestamp() -> str:
    """Return ``now`` as records keep it: ``2026-11-25T09:30:00Z``."""
    return now().strftime("%Y-%m-%dT%H:%M:%SZ")


def today() -> date:
    """Return the date on the wall of the person at the desk (local time)."""
    return _fixed.moment.date() if _fixed else datetime.now().astimezone().date()


def random_token(length: int = 16) -> str:
    """Return ``length`` random bytes as hexadecimal digits."""
    if _fixed:
        return f"{next(_fixed.tokens):0{length * 2}x}"
    import secrets

    return secrets.token_hex(length)


def program_version() -> str:
    """Return the version of the installed program, as its distribution states it."""
    if _fixed:
        return _fixed.version
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("tiebeam")
    except PackageNotFoundError:  # run from a source tree that was never installed
        return "0+source"


@contextmanager
def fixed(moment: datetime = datetime(2026, 11, 25, 9, 30, tzinfo=UTC), version: str = "1.0") -> Iterator[None]:
    """Hold the clock, the version and the sequence of tokens still."""
    global _fixed
    before, _fixed = _fixed, _Fixed(moment, version, count(1))
    try:
        yield
    finally:
        _fixed = before
