"""A card index as rows of cells, whatever kind of file it came in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path

from catalog.errors import IntakeError

MAX_FILE_BYTES = 256 * 1024 * 1024
"""A card index of half a million rows is a fifth of this; what is larger is no card index, or a trap."""

_WRONG_KINDS = (
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old or locked spreadsheet; save it as .xlsx, unlocked"),
    (b"\xff\xd8\xff", "a JPEG picture, not a card index"),
    (b"\x89PNG\r\n\x1a\n", "a PNG picture, not a card index"),
    (b"II*\x00", "a TIFF picture, not a card index; scans are read with: tiebeam scans add"),
    (b"MM\x00*", "a TIFF picture, not a card index; scans are read with: tiebeam scans add"),
    (b"II+\x00", "a TIFF picture, not a card index; scans are read with: tiebeam scans add"),
    (b"MM\x00+", "a TIFF picture, not a card index; scans are read with: tiebeam scans add"),
    (b"GIF8", "a GIF picture, not a card index"),
    (b"%PDF", "a PDF; export its table as .csv or .xlsx first"),
    (b"{\\rtf", "a word processor's file; save its table as .csv first"),
    (b"SQLite format 3\x00", "a database, not a card index; export the table as .csv first"),
    (b"\x1f\x8b", "a compressed file; unpack it first"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CellDate:
    """
    A date that a spreadsheet holds as a number, to the precision its cell shows.

    A cell that shows ``Aug 79`` holds the first of August as well; the day was never written, so ``edtf``
    is ``1979-08``. It is empty where the cell shows no year, for then the spreadsheet added the year in which
    it was typed. ``day`` is what the number says.
    """

    edtf: str
    day: date


Raw = str | int | float | bool | CellDate | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its text as shown, where it stands (columns count from 0), and what the file holds for it."""

    text: str
    row: int
    column: int
    carried: bool
    """The text stands in a merged cell of which this cell is a part, but not the first."""
    raw: Raw

    @property
    def letter(self) -> str:
        """The column as a spreadsheet names it."""
        return column_letter(self.column)


@dataclass(frozen=True, slots=True)
class Row:
    """A row as the file counts it. ``raws`` is empty where every cell is plain text."""

    number: int
    texts: tuple[str, ...]
    carried: frozenset[int] = frozenset()
    raws: tuple[Raw, ...] = ()
    faults: tuple[tuple[int, str], ...] = ()
    """Cells that hold no value that can be read, by column, with the reason."""

    def cells(self) -> Iterator[Cell]:
        """Yield the cells that have a text."""
        for column, text in enumerate(self.texts):
            if text:
                raw = self.raws[column] if self.raws else text
                yield Cell(text, self.number, column, column in self.carried, raw)


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of a file in order; rows that hold nothing at all are left out and listed in ``blank``."""

    name: str
    kind: str
    """``csv`` or ``xlsx``."""
    sha256: str
    rows: tuple[Row, ...]
    blank: tuple[int, ...] = ()
    encoding: str | None = None
    delimiter: str | None = None
    sheet: str | None = None
    remarks: tuple[str, ...] = ()
    """What was noticed about the file as a whole, for the person to read."""


def column_letter(column: int) -> str:
    """
    Return the name a spreadsheet gives to a column, counted from 0.

    >>> column_letter(0), column_letter(27)
    ('A', 'AB')
    """
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def read_table(
    path: Path, *, encoding: str | None = None, sheet: str | None = None, delimiter: str | None = None
) -> Table:
    """
    Return the rows of a CSV or XLSX file. What kind it is, its content says, not its name.

    ``encoding`` and ``delimiter`` are for text files, ``sheet`` for workbooks; each may be left to the file.

    Raises:
        EncodingUnsureError: the words of a text file differ with the encoding.
        IntakeError: there is no such file, or it is nothing this program reads as a table.
    """
    content = _read_bytes(path)
    digest = sha256(content).hexdigest()
    if content.startswith(b"PK"):
        from catalog.intake.xlsx_tables import read_xlsx

        return read_xlsx(content, name=path.name, digest=digest, sheet=sheet)
    if path.suffix.lower() in {".xlsx", ".xlsm", ".xltx"}:
        raise IntakeError(f"{path.name}: not a workbook, in spite of its name. If it is text, rename it to .csv.")
    if sheet is not None:
        raise IntakeError(f"{path.name}: a text file has no sheets; leave --sheet away.")
    from catalog.intake.csv_tables import read_csv

    return read_csv(content, path=path, digest=digest, encoding=encoding, delimiter=delimiter)


def _read_bytes(path: Path) -> bytes:
    """Return the content of a file that may be a table; refuse every other thing by name."""
    try:
        if path.is_dir():
            raise IntakeError(f"{path.name or path}: a folder, not a card index. Name the .csv or .xlsx file in it.")
        if not path.exists():
            raise IntakeError(f"{path}: no such file. Check the name and the folder.")
        if not path.is_file():
            raise IntakeError(f"{path.name}: a device or pipe, not a file. Save the card index as .csv or .xlsx first.")
        size = path.stat().st_size
        if size > MAX_FILE_BYTES:
            raise IntakeError(
                f"{path.name}: {size // 2**20} MB is more than a card index has "
                f"({MAX_FILE_BYTES // 2**20} MB). Split it."
            )
        content = path.read_bytes()
    except OSError as exc:
        raise IntakeError(f"{path.name}: cannot be opened ({exc.strerror or exc}). Check who may read it.") from exc
    except ValueError as exc:  # a name that holds a NUL byte
        raise IntakeError(f"{str(path)!r}: no name a file can have.") from exc
    if not content.strip(b"\x00 \t\r\n"):
        raise IntakeError(f"{path.name}: the file is empty. Export it again, or copy the file again.")
    for start, what in _WRONG_KINDS:
        if content.startswith(start):
            raise IntakeError(f"{path.name}: this is {what}.")
    head = content[:1024].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if head.startswith((b"<!doctype", b"<html", b"<?xml", b"<table")):
        raise IntakeError(f"{path.name}: a web page or XML file, whatever its name says. Open it and save it as .xlsx.")
    return content
