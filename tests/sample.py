"""The sample archive for tests: valley and cards read in once, copied for each who may change it."""

from __future__ import annotations

import shutil
from pathlib import Path

from catalog.actions.cards import read_cards
from catalog.intake.cards import read_card_file
from catalog.intake.known import read_known
from catalog.intake.mapping import read_mapping
from catalog.store.archive import Archive
from catalog.store.new import make_archive
from sample_archive.load import load_field_work, load_valley
from sample_archive.prints import load_prints

SAMPLE = Path(__file__).parent.parent / "sample_archive"


def make_sample(folder: Path) -> Archive:
    """Make the sample archive without its scans: valley, cards, field notebooks, prints."""
    archive, _ = make_archive(folder, name="Wenn valley", photographer="Ida Thornwick")
    load_valley(archive)
    mapping = read_mapping(SAMPLE / "cards.toml")
    with archive.reading() as connection:
        known = read_known(connection)
    read_cards(archive, read_card_file(SAMPLE / "cards.xlsx", mapping, known))
    load_field_work(archive)
    load_prints(archive)
    return archive


def copy_sample(made: Path, folder: Path) -> Path:
    """Return a copy of a made archive, to be changed."""
    shutil.copytree(made, folder)
    return folder
