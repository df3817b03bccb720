"""The permanent short name of every record: a letter and a number, given once for ever."""

from __future__ import annotations

import re

LETTERS = {
    "S": "sheet",
    "C": "scan",
    "W": "edit_version",
    "E": "edition",
    "M": "run",
    "P": "print",
    "B": "building",
    "L": "place",
    "V": "view",
    "T": "standpoint",
    "D": "visit",
    "N": "person",
    "R": "source",
    "G": "book_plate",
    "Q": "open_question",
    "O": "roll",
    "K": "kit",
    "U": "drive",
    "A": "document",
}
TABLES = {table: letter for letter, table in LETTERS.items()}
WORDS = {
    "sheet": "sheet", "scan": "scan", "edit_version": "edit version", "edition": "edition", "run": "run",
    "print": "print", "building": "building", "place": "place", "view": "view", "standpoint": "standpoint",
    "visit": "visit", "person": "person", "source": "source", "book_plate": "book plate",
    "open_question": "open question", "roll": "roll", "kit": "lens, camera or film", "drive": "drive",
    "document": "document",
}  # fmt: skip

SHOWN = (
    "sheet", "building", "place", "scan", "edit_version", "view", "standpoint", "visit", "roll", "kit", "person",
    "source", "open_question", "drive", "document", "edition", "run", "print",
)  # fmt: skip
"""The kinds of records that ``tiebeam show`` shows whole, and that have a card."""

_REFERENCE = re.compile(r"\s*([A-Za-z])([1-9][0-9]{0,17})\s*")


def parse_reference(text: str) -> tuple[str, int] | None:
    """
    Return the table and the id that ``text`` refers to, or ``None`` if it is no reference.

    >>> parse_reference("s412")
    ('sheet', 412)
    """
    match = _REFERENCE.fullmatch(text)
    if match is None or match[1].upper() not in LETTERS:
        return None
    return LETTERS[match[1].upper()], int(match[2])


def format_reference(table: str, record_id: int) -> str:
    """
    Return the reference of a record.

    >>> format_reference("sheet", 412)
    'S412'
    """
    return f"{TABLES[table]}{record_id}"
