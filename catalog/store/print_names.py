"""What a person typed for a print: its reference, or an edition and a number."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence

from catalog.errors import AmbiguousNameError, NotFoundError, RefusedError
from catalog.rules.print_numbers import FRACTION, NUMBERED, NumberName, parse_number
from catalog.rules.references import format_reference, parse_reference
from catalog.store.names import candidates

# From the runs named to the number and its prints: "CROSS JOIN" keeps that order.
_ON_NUMBER = """
    SELECT p.id, p.life FROM run r
    CROSS JOIN print_number n ON n.run_id = r.id AND n.series = :series AND n.ordinal = :ordinal
    CROSS JOIN print p ON p.print_number_id = n.id AND p.life <> 'void'
    WHERE {runs} AND (:of IS NULL OR n.written LIKE '%/' || :of OR n.series <> 'numbered')
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
    referred, name = parse_reference(typed), None
    if referred is not None and referred[0] == "print":
        found = [row[0] for row in connection.execute("SELECT id FROM print WHERE id = ?", (referred[1],))]
    else:
        name = parse_number(typed)
        found = _on_number(connection, name) if name is not None and name.ordinal is not None else []
    if not found and name is not None and _is_given(connection, name):
        raise NotFoundError(f'{typed} has no print yet. What is written on the number: tiebeam ledger "{typed}"')
    if not found:
        raise NotFoundError(f"No print answers to {typed!r}. Name it by its reference (P88) or its edition and number "
                            "(E3 7/15).")  # fmt: skip
    if len(found) > 1:
        raise AmbiguousNameError(typed, candidates(connection, "print", found), "prints")
    return int(found[0])


def resolve_place(connection: sqlite3.Connection, typed: str) -> tuple[int, str, int | None]:
    """
    Return the run, the series and the place that ``typed`` means, given or not: ``E3 7/15``, ``E3 AP``, ``M2``, ``E3``.

    The place is ``None`` where none was said: the next.

    Raises:
        NotFoundError: it names no edition or run, or not one that is there.
        RefusedError: the edition has several runs, or the number after the stroke is not the run's.
    """
    referred = parse_reference(typed)
    name = parse_number(typed)
    if referred is not None and referred[0] in ("edition", "run"):
        name = NumberName(
            NUMBERED, None, None, *((referred[1], None) if referred[0] == "edition" else (None, referred[1]))
        )
    if name is None or (name.edition_id is None and name.run_id is None):
        raise NotFoundError(f"{typed!r} names no place in an edition. Name one by its reference and number (E3 7/15).")
    column, value = ("edition_id", name.edition_id) if name.edition_id is not None else ("id", name.run_id)
    runs = connection.execute(f"SELECT id, limit_count, numbering FROM run WHERE {column} = ?", (value,)).fetchall()
    if not runs:
        raise NotFoundError(f"There is no edition or run that {typed!r} names. See: tiebeam editions list")
    if len(runs) > 1:
        listed = ", ".join(format_reference("run", row[0]) for row in runs)
        raise RefusedError(f"{typed!r}: the edition has a run for each size. Name one of them: {listed}.")
    run_id, limit, numbering = runs[0]
    if name.series == NUMBERED and name.of is not None and numbering == FRACTION and name.of != limit:
        raise RefusedError(f"{typed!r}: the run is limited to {limit if limit is not None else 'no number'}.")
    return run_id, name.series, name.ordinal


def _is_given(connection: sqlite3.Connection, name: NumberName) -> bool:
    """Return whether a number of an edition was given (promised, or its print was never made)."""
    column, value = ("r.edition_id", name.edition_id) if name.edition_id is not None else ("r.id", name.run_id)
    asked = (value, name.series, name.ordinal)
    return value is not None and connection.execute(
        "SELECT 1 FROM run r CROSS JOIN print_number n ON n.run_id = r.id"
        f" WHERE {column} = ? AND n.series = ? AND n.ordinal = ?",
        asked,
    ).fetchone() is not None  # fmt: skip


def split_names(words: Sequence[str]) -> list[str]:
    """
    Return the prints that several words name: an edition takes the words after it up to the next reference.

    >>> split_names(["P88", "E3", "7/15", "E3", "AP", "II", "8/15"])
    ['P88', 'E3 7/15', 'E3 AP II', '8/15']
    """
    found: list[str] = []
    for word in words:
        before = parse_number(found[-1]) if found else None
        is_open = bool(found) and (_names_edition(found[-1]) or (before is not None and before.ordinal is None))
        joined = f"{found[-1]} {word}" if found else word
        if is_open and parse_reference(word) is None and parse_number(joined) is not None:
            found[-1] = joined
        else:
            found.append(word)
    return found


def _names_edition(text: str) -> bool:
    referred = parse_reference(text)
    return referred is not None and referred[0] in ("edition", "run")


def _on_number(connection: sqlite3.Connection, name: NumberName) -> list[int]:
    asked = {
        "series": name.series, "ordinal": name.ordinal, "edition": name.edition_id, "run": name.run_id, "of": name.of,
    }  # fmt: skip
    named = (("r.edition_id = :edition", name.edition_id), ("r.id = :run", name.run_id))
    runs = " AND ".join(condition for condition, value in named if value is not None) or "true"
    rows = connection.execute(_ON_NUMBER.format(runs=runs), asked).fetchall()
    return [row[0] for row in rows if row[1] == "live"] or [row[0] for row in rows]
