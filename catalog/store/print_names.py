"""What a person typed for a print: its reference, or an edition and a number."""

from __future__ import annotations

import sqlite3

from catalog.errors import AmbiguousNameError, NotFoundError
from catalog.rules.print_numbers import NumberName, parse_number
from catalog.rules.references import parse_reference
from catalog.store.names import candidates

_ON_NUMBER = """
    SELECT p.id, p.life FROM print p JOIN print_number n ON n.id = p.print_number_id JOIN run r ON r.id = n.run_id
    WHERE n.series = :series AND n.ordinal = :ordinal AND p.life <> 'void'
        AND (:edition IS NULL OR r.edition_id = :edition) AND (:run IS NULL OR r.id = :run)
        AND (:of IS NULL OR n.written LIKE '%/' || :of OR n.series <> 'numbered')
    ORDER BY p.id
"""


def resolve_print(connection: sqlite3.Connection, typed: str) -> int:
    """
    Return the id of the print that ``typed`` means: ``P88``, ``E3 7/15``, ``M2 AP II``, or ``7/15`` where it is one.

    A print that carries its number wins over one that came to its end and was replaced.

    Raises:
        NotFoundError: none answers to it.
        AmbiguousNameError: several editions have such a number; they are listed.
    """
    referred = parse_reference(typed)
    if referred is not None and referred[0] == "print":
        found = [row[0] for row in connection.execute("SELECT id FROM print WHERE id = ?", (referred[1],))]
    else:
        name = parse_number(typed)
        found = _on_number(connection, name) if name is not None and name.ordinal is not None else []
    if not found:
        raise NotFoundError(f"No print answers to {typed!r}. Name it by its reference (P88) or its edition and number "
                            "(E3 7/15).")  # fmt: skip
    if len(found) > 1:
        raise AmbiguousNameError(typed, candidates(connection, "print", found), "prints")
    return int(found[0])


def _on_number(connection: sqlite3.Connection, name: NumberName) -> list[int]:
    asked = {
        "series": name.series, "ordinal": name.ordinal, "edition": name.edition_id, "run": name.run_id, "of": name.of,
    }  # fmt: skip
    rows = connection.execute(_ON_NUMBER, asked).fetchall()
    return [row[0] for row in rows if row[1] == "live"] or [row[0] for row in rows]
