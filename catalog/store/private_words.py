"""What lists leave out unasked: the names, addresses and contacts of persons, as they are and as they once were."""

from __future__ import annotations

import re
import sqlite3
from typing import Protocol

from catalog.rules.privacy import PrivateWords
from catalog.store.archive import Archive

# What a person was called before is still in the words of earlier deeds.
_PERSONS = """
    SELECT name, address, contact FROM person
    UNION SELECT before ->> 'name', before ->> 'address', before ->> 'contact' FROM deed_change
        WHERE record_table = 'person' AND before IS NOT NULL
"""
# A builder or a historian of a building is told with it, and a village may be called like a person.
_PUBLIC = """
    SELECT name FROM place UNION SELECT name FROM place_name UNION SELECT name FROM building
    UNION SELECT name FROM building_name
    UNION SELECT p.name FROM chronicle_entry c JOIN person p ON p.id = c.doer_id
"""


def read_private_words(connection: sqlite3.Connection, photographer: str) -> PrivateWords:
    """Return what no list tells unasked; each line of an address is private by itself."""
    private = {part for row in connection.execute(_PERSONS) for said in row if said for part in (said, *_lines(said))}
    return PrivateWords(private, (photographer, *(row[0] for row in connection.execute(_PUBLIC))))


def _lines(address: str) -> list[str]:
    """Return the parts of an address that lead to a door: its lines with a figure among several words."""
    parts = [part.strip() for part in re.split(r"[;,\n]", address)]
    return [part for part in parts if " " in part and any(letter.isdigit() for letter in part)]


class Hide(Protocol):
    """Takes persons, and amounts of money unless they may stay, out of a text."""

    def __call__(self, text: str, /, *, amounts: bool = True) -> str: ...


def hiding(archive: Archive, *, private: bool) -> Hide:
    """
    Return what takes the persons, and amounts of money, out of a text; asked for ``private``, it leaves all in.

    The catalogue is read when the first text comes.
    """
    known: list[PrivateWords] = []

    def hide(text: str, /, *, amounts: bool = True) -> str:
        if private:
            return text
        if not known:
            with archive.reading() as connection:
                known.append(read_private_words(connection, archive.settings.archive_photographer))
        return known[0].hide(text, amounts=amounts)

    return hide
