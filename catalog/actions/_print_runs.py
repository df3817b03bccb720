"""The run a print is pulled for: its edition's state, its limits, and the number that comes next."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from catalog.actions._ledger_desk import Subject, settled
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.editions import PLANNED, check_promising
from catalog.rules.ledger import standing
from catalog.rules.print_numbers import NUMBERED, SERIES_WORDS, check_ordinal, format_number
from catalog.rules.references import format_reference
from catalog.store.ledger import read_number_entries
from catalog.store.plain_writing import PlainDeed


@dataclass(frozen=True, slots=True)
class RunNow:
    """A run as it stands when a print is pulled."""

    id: int
    edition_id: int
    limit: int | None
    numbering: str
    view_id: int
    state: str

    @property
    def words(self) -> str:
        """The edition's reference."""
        return format_reference("edition", self.edition_id)


def get_run(connection: sqlite3.Connection, run_id: int) -> RunNow:
    """
    Return a run with its edition's state.

    Raises:
        NotFoundError: there is none.
    """
    row = connection.execute(
        "SELECT r.id, r.edition_id, r.limit_count, r.numbering, e.view_id, (SELECT state FROM edition_state"
        " WHERE edition_id = e.id ORDER BY id DESC LIMIT 1) FROM run r JOIN edition e ON e.id = r.edition_id"
        " WHERE r.id = ?",
        (run_id,),
    ).fetchone()
    if row is None:
        raise NotFoundError(f"There is no run {format_reference('run', run_id)}. Nothing was changed.")
    return RunNow(row[0], row[1], row[2], row[3], row[4], row[5] or PLANNED)


def allowed(connection: sqlite3.Connection, run: RunNow, series: str) -> int | None:
    """Return how many numbers of a series the run declares; ``None`` is no limit."""
    if series == NUMBERED:
        return run.limit
    row = connection.execute(
        "SELECT allowed FROM proof_allowance WHERE run_id = ? AND kind = ?", (run.id, series)
    ).fetchone()
    return row[0] if row else 0


def place_of(connection: sqlite3.Connection, run: RunNow, series: str, ordinal: int | None) -> tuple[str, int]:
    """
    Return the series and place that a print is to have: the one named, else the next.

    Raises:
        RefusedError: it lies beyond what was declared, or all are given.
    """
    most = allowed(connection, run, series)
    if ordinal is not None:
        check_ordinal(series, ordinal, most, run.words)
        return series, ordinal
    found = next_place(connection, run.id, series)
    if most is not None and found > most:
        if not most:
            check_ordinal(series, 1, 0, run.words)
        raise RefusedError(
            f"{run.words}: every {SERIES_WORDS[series]} of its {most} is given or promised. Nothing was changed. "
            f"Who has them: tiebeam editions show {run.words}"
        )
    return series, found


# Numbers without a print that carries them: promised once, or their pulling was taken back. A run as photographers
# have them is gone through; in one of thousands that would take longer than pulling the print, and those numbers of
# the whole archive are fewer.
_IS_FREED = "NOT EXISTS (SELECT 1 FROM print WHERE print_number_id = n.id AND life <> 'void') ORDER BY n.ordinal"
_FREED_OF_FEW = (
    f"SELECT n.ordinal, n.id FROM print_number n WHERE n.run_id = :run AND n.series = :series AND {_IS_FREED}"
)
_FREED_OF_MANY = f"""
    SELECT n.ordinal, n.id FROM (
        SELECT print_number_id AS id FROM print WHERE life = 'void' AND print_number_id IS NOT NULL
        UNION SELECT print_number_id FROM ledger_entry WHERE print_number_id IS NOT NULL
    ) freed CROSS JOIN print_number n ON n.id = freed.id
    WHERE n.run_id = :run AND n.series = :series AND {_IS_FREED}
"""
_FEW = 200
# The lowest number whose predecessor was never given, and the highest given below that.
_AHEAD = """
    SELECT min(n.ordinal) FROM print_number n WHERE n.is_ahead = 1 AND n.run_id = :run AND n.series = :series
    AND NOT EXISTS (SELECT 1 FROM print_number WHERE run_id = :run AND series = :series AND ordinal = n.ordinal - 1)
"""
_LAST = "SELECT max(ordinal) FROM print_number WHERE run_id = :run AND series = :series"


def next_place(connection: sqlite3.Connection, run_id: int, series: str) -> int:
    """Return the lowest place that is neither given nor held for somebody."""
    asked = {"run": run_id, "series": series}
    ahead = connection.execute(_AHEAD, asked).fetchone()[0]
    below, asked["ahead"] = ("", 0) if ahead is None else (" AND ordinal < :ahead", ahead)
    following: int = (connection.execute(_LAST + below, asked).fetchone()[0] or 0) + 1
    freed = _FREED_OF_FEW if following <= _FEW else _FREED_OF_MANY
    for ordinal, number_id in connection.execute(freed, asked).fetchall():
        if ordinal > following:
            break
        if standing(read_number_entries(connection, number_id)).hold is None:
            return int(ordinal)
    return following


def give_number(
    deed: PlainDeed, run: RunNow, series: str, ordinal: int, *, as_written: str | None = None
) -> tuple[int, str, bool]:
    """
    Return the id of a place in a run, what is written for it, and whether it was given only now.

    ``as_written`` is what stands on an old print, numbered by a rule that was amended since.
    """
    given = deed.raw.execute(
        "SELECT ordinal, id, written FROM print_number WHERE run_id = ? AND series = ? AND ordinal IN (?, ?)",
        (run.id, series, ordinal - 1, ordinal),
    ).fetchall()
    found = next((row for row in given if row[0] == ordinal), None)
    if found is not None:
        return found[1], found[2], False
    most = allowed(deed.raw, run, series)
    check_ordinal(series, ordinal, most, run.words)
    written = as_written or format_number(series, ordinal, most, run.numbering)
    is_ahead = int(ordinal > 1 and not given)
    number = {"run_id": run.id, "series": series, "ordinal": ordinal, "written": written, "is_ahead": is_ahead,
              "given_at": deed.at}  # fmt: skip
    return deed.add("print_number", number), written, True


def on_the_spot(deed: PlainDeed, subject: Subject) -> Subject:
    """
    Return the print or number that a subject means, giving a number that was not given yet.

    Raises:
        RefusedError: the place lies beyond what was declared, or the edition is closed.
    """
    if subject.place is None:
        return settled(deed.raw, subject)
    run_id, series, ordinal = subject.place
    run = get_run(deed.raw, run_id)
    found = deed.raw.execute(
        "SELECT id FROM print_number WHERE run_id = ? AND series = ? AND ordinal = ?", (run_id, series, ordinal)
    ).fetchone()
    if found is None:
        check_promising(run.state, run.words)
        found = give_number(deed, run, *place_of(deed.raw, run, series, ordinal))
    return settled(deed.raw, Subject(number_id=found[0]))


def size_of(connection: sqlite3.Connection, run: RunNow, size_id: int | None) -> int | None:
    """
    Return the size of a print: the one named, else the only one the run has.

    Raises:
        RefusedError: the run has several and none was named, or it has not this one.
    """
    sizes = connection.execute("SELECT id, name FROM size WHERE run_id = ? ORDER BY id", (run.id,)).fetchall()
    if size_id is not None and size_id not in {row[0] for row in sizes}:
        raise RefusedError(f"{run.words} has no such size in this run. Nothing was changed.")
    if size_id is None and len(sizes) > 1:
        names = ", ".join(row[1] for row in sizes)
        raise RefusedError(f"{run.words} is printed in several sizes: {names}. Say which; nothing was changed.")
    return size_id if size_id is not None else sizes[0][0] if sizes else None


def run_of_number(connection: sqlite3.Connection, number_id: int | None) -> RunNow | None:
    """Return the run that a print number belongs to; ``None`` for a print without one."""
    if number_id is None:
        return None
    run_id = connection.execute("SELECT run_id FROM print_number WHERE id = ?", (number_id,)).fetchone()[0]
    return get_run(connection, run_id)
