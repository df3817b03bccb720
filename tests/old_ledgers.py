"""Old ledgers of prints for tests: as a person types one, with its mapping, rehearsed and read. All is invented."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from catalog.actions.desk import Desk
from catalog.actions.old_ledgers import LedgerRead, RowDone, read_old_ledger
from catalog.intake.ledger_mapping import parse_ledger_mapping
from catalog.intake.ledger_rows import OldLedger, OldPrint
from catalog.intake.old_ledgers import read_old_ledger as read_file
from catalog.store.archive import Archive

HEADINGS = "Title,No,Neg,Size,Paper,Pulled,Signed,Gallery,Consigned,Due,Back,Sold to,Sold,Price,Status,Where,Notes"
MAPPING = """
version = 1
[columns]
Title = "edition"
No = "number"
Neg = "sheet"
Size = "size"
Paper = "paper"
Pulled = "pulled"
Signed = "signed"
Gallery = "consigned_to"
Consigned = "consigned"
Due = "due"
Back = "returned"
"Sold to" = "sold_to"
Sold = "sold"
Price = "price"
Status = "status"
Where = "where"
Notes = "note"
"""
_FIELDS = HEADINGS.split(",")


def line(**cells: str) -> str:
    """Return a row of the ledger: each cell by its heading, ``Sold_to`` for "Sold to"."""
    said = {name.replace("_", " "): text for name, text in cells.items()}
    assert set(said) <= set(_FIELDS), said
    return ",".join('"' + said.get(heading, "").replace('"', '""') + '"' for heading in _FIELDS)


@dataclass(frozen=True)
class Ledger:
    """An old ledger in a folder of its own, with what its mapping file adds to the usual one."""

    archive: Archive
    path: Path
    more: str = ""

    def taken_apart(self) -> OldLedger:
        """Return what the file says."""
        mapping = parse_ledger_mapping(MAPPING + self.more)
        with self.archive.reading() as connection:
            return read_file(self.path, mapping, connection)

    def rehearsed(self) -> LedgerRead:
        """Return what reading it would do."""
        return read_old_ledger(self.archive, self.taken_apart(), desk=Desk(dry_run=True))

    def read(self) -> LedgerRead:
        """Read it."""
        return read_old_ledger(self.archive, self.taken_apart())


def a_ledger(archive: Archive, folder: Path, *lines: str, more: str = "", name: str = "prints.csv") -> Ledger:
    """Write an old ledger of these rows."""
    folder.mkdir(exist_ok=True, parents=True)
    path = folder / name
    path.write_text("\n".join([HEADINGS, *lines, ""]), "utf-8")
    return Ledger(archive, path, more)


def the_print(ledger: Ledger) -> OldPrint:
    """Return the one print of a file of one row."""
    file = ledger.taken_apart()
    assert [row.reasons for row in file.unreadable] == []
    assert len(file.prints) == 1
    return file.prints[0]


def outcomes(done: LedgerRead) -> list[str]:
    """Return what became of each row."""
    return [row.outcome for row in done.rows]


def the_row(done: LedgerRead) -> RowDone:
    """Return the one row of a reading."""
    assert len(done.rows) == 1
    return done.rows[0]
