"""What typed words name beside frames: a record by its reference, editions by their words."""

from __future__ import annotations

import sqlite3

from catalog.rules.references import WORDS, format_reference, parse_reference
from catalog.store.names import describe
from catalog.store.search import search_entries
from catalog.store.show import SHOWN
from catalog.store.trails import Step

_MOST = 3


def found_beside(connection: sqlite3.Connection, words: str) -> tuple[Step, ...]:
    """
    Return the record whose reference ``words`` are, else the first few editions that they find.

    ``name`` of a step tells what it is: "edition E1 Osk Mill, clad".
    """
    referred = parse_reference(words)
    if referred is not None:
        found = [referred] if referred[0] in SHOWN else []
    elif words.strip():
        found = [(table, i) for table, i, _ in search_entries(connection, words, ("edition",), _MOST)]
    else:
        found = []
    steps = []
    for table, record_id in found:
        told = describe(connection, table, record_id)
        if told is not None:
            reference = format_reference(table, record_id)
            steps.append(Step(reference, f"{WORDS[table]} {reference} {told}"))
    return tuple(steps)
