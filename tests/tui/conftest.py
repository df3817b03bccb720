"""What all tests of the screens share."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.tui.screens import find_card, sheet_finder

HERE = Path(__file__).parent


@pytest.fixture(autouse=True)
def asks_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the cards that find ask sooner after the last letter."""
    monkeypatch.setattr(find_card, "_WAIT_S", 0.03)
    monkeypatch.setattr(sheet_finder, "_WAIT_S", 0.03)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    # textual-image 0.12 draws half blocks through a method that Pillow 13 calls outdated and 14 takes away: a matter
    # between those two libraries, and no warning of ours.
    ignored = pytest.mark.filterwarnings("ignore:Image.Image.getdata is deprecated:DeprecationWarning")
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(ignored)
