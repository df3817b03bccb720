"""Card indexes for tests of reading them in: a small one as a person types it, edited, and read again."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalog.actions.cards import CardsRead, read_cards
from catalog.intake.card_plan import CardPlan, plan_cards
from catalog.intake.cards import read_card_file
from catalog.intake.known import read_known
from catalog.intake.mapping import parse_mapping
from catalog.intake.proposals import CardFile
from catalog.store.archive import Archive, open_archive
from catalog.store.search import stale_entries

SAMPLE = Path(__file__).parent.parent / "sample_archive"

HEADINGS = "Neg,Village,Building,Side,Date,Lens,Film,From,Lab,Docket,Status,Remarks,Tk."
MAPPING = """
version = 1
[columns]
Neg = "number"
Village = { field = "village", carry = true }
Building = "building"
Side = "elevation"
Date = "date"
Lens = "lens"
Film = "film"
From = "taken_from"
Lab = "lab"
Docket = "docket"
Status = "fate"
Remarks = "remarks"
[numbers]
scheme = "yearly"
[dates]
century = 1900
day_order = "dmy"
"""
CARDS = """\
78-14,Osk,Osk Mill,S,c. 1978,150,Pan 100,mill bridge,,412,ok,Boards still on,//
78-17,,Osk Mill?,W,78 or 79,90 or 120,Pan 100,far bank,,412,,Could be the granary,
79-21,,Osk Mill,E,Aug 79?,150,Pan 400,weir,,447,,,
80-05,,Osk Mill; Reading Room,,Feb 80,90,Pan 400,,,460,dbl exp,,
82-09,,Osk Mill,W,summer 82,210,Pan 100,far bank,,512,blank,Slide not drawn,
X4,,Osk Granary,,n.d.,,,,,,,,

77-02,Halding,Toll House,N,Mar 77,90,Pan 100,bridge foot,,233,,,
85-14 (sold),,Town Mill,S,1985,210,Pan 100,weir,,556,,Print sold,
"""


@dataclass(frozen=True)
class Index:
    """A card index on disk and the archive it is read into."""

    archive: Archive
    path: Path
    mapping: str = MAPPING

    def write(self, cards: str = CARDS) -> Index:
        """Write the file anew."""
        self.path.write_text(f"{HEADINGS}\n{cards}", "utf-8")
        return self

    def edit(self, *changes: tuple[str, str]) -> Index:
        """Change what the file says; each text to be changed stands in it once."""
        text = self.path.read_text("utf-8")
        for before, after in changes:
            assert text.count(before) == 1, before
            text = text.replace(before, after)
        self.path.write_text(text, "utf-8")
        return self

    def file(self) -> CardFile:
        """Return the file taken apart."""
        with self.archive.reading() as connection:
            return read_card_file(self.path, parse_mapping(self.mapping), read_known(connection))

    def read(self, **options: Any) -> CardsRead:
        """Read the file into the archive."""
        return read_cards(self.archive, self.file(), **options)

    def rehearse(self) -> CardPlan:
        """Return what reading would do."""
        with self.archive.reading() as connection:
            return plan_cards(connection, self.file())

    def renamed(self, name: str) -> Index:
        """Return the same file under another name."""
        path = self.path.with_name(name)
        shutil.copyfile(self.path, path)
        return Index(self.archive, path, self.mapping)


def an_index(archive: Archive, folder: Path, cards: str = CARDS, mapping: str = MAPPING) -> Index:
    """Return a card index that is not read yet."""
    return Index(archive, folder / "cards.csv", mapping).write(cards)


def a_read_index(archive: Archive, folder: Path, cards: str = CARDS) -> Index:
    """Return a card index that was read."""
    index = an_index(archive, folder, cards)
    index.read()
    return index


def a_copy(folder: Path, sample: Path) -> Archive:
    """Return a copy of the sample archive, to be changed."""
    shutil.copytree(sample, folder)
    return open_archive(folder)


def changes(plan: CardPlan) -> list[tuple[int, str, bool]]:
    """Return what differs: row, field in words, whether it stays as corrected."""
    return [(row.card.row, change.label, change.is_kept) for row in plan.rows for change in row.changes]


def is_found_by_its_words(archive: Archive) -> bool:
    """Return whether every search entry says what its record says."""
    with archive.reading() as connection:
        return stale_entries(connection) == []
