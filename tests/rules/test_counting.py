"""Counts in words."""

from __future__ import annotations

import pytest

from catalog.rules.counting import counted


@pytest.mark.parametrize(("number", "words"), [(0, "0 scans"), (1, "1 scan"), (2, "2 scans"), (1200, "1200 scans")])
def test_one_thing_is_counted_in_the_singular_and_none_or_more_in_the_plural(number: int, words: str):
    assert counted(number, "scan") == words
