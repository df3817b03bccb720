"""Many cases of one test: a few are tried each time, the others with the slow tests."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest


def some_fast(cases: Iterable[Any], *fast: Any) -> list[Any]:
    """
    Return cases for ``parametrize``; those that are not named as ``fast`` are marked as slow.

    A case of several values is named by the first of them.

    Raises:
        ValueError: one that is named is not among the cases.
    """
    cases = list(cases)
    missing = set(fast).difference(map(_name, cases))
    if missing:
        raise ValueError(f"no such case: {missing}")
    return [case if _name(case) in fast else _slow(case) for case in cases]


def _name(case: Any) -> Any:
    return case[0] if isinstance(case, tuple) else case


def _slow(case: Any) -> Any:
    values = case if isinstance(case, tuple) else (case,)
    return pytest.param(*values, marks=pytest.mark.slow)
