"""An archive for each test of the store."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.store.archive import Archive
from tests.store.archives import an_archive, fill_small, filled


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A new archive, empty."""
    return an_archive(tmp_path / "archive")


@pytest.fixture
def small_archive(archive: Archive) -> Archive:
    """An archive with at least one row in every table."""
    return filled(archive, fill_small)
