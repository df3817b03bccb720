"""
What the daybook keeps of a deed: every row that it changed, before and after.

Listeners write down every row that the mapped classes change, as the database held it; bulk loaders call
``Writing.record_added``, plain SQL ``Writing.record_change``.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, event
from sqlalchemy.orm import Mapper, ORMExecuteState, Session, object_session

from catalog.model import Base, Deed
from catalog.store.rows import KEYS, encode_values, read_row
from catalog.store.search import former_subjects, refresh_search
from catalog.store.sessions import driver

_UNRECORDED = {"deed", "deed_change", "deed_file", "scan_reading", "print_standing"}  # made again
_INSERT_CHANGE = (
    "INSERT INTO deed_change (deed_id, record_table, record_id, change, before, after) VALUES (?, ?, ?, ?, ?, ?)"
)


@dataclass
class Writing:
    """An open deed: the session to write through, and what the deed has touched so far."""

    session: Session
    deed: Deed
    touched: dict[str, set[int]] = field(default_factory=dict)
    _former: dict[Any, dict[str, Any] | None] = field(default_factory=dict)
    """Rows about to be changed by the session, as the database holds them."""

    @property
    def raw(self) -> sqlite3.Connection:
        """The bare connection under the session, inside the same transaction."""
        return driver(self.session.connection())

    def say(self, words: str) -> None:
        """Give the daybook's words for this deed."""
        self.deed.words = words

    def first_free_id(self, table: str) -> int:
        """
        Return the id from which a bulk loader may number new rows of ``table``.

        No id is given twice, not even one whose row was removed: the daybook names rows by it.
        """
        key = KEYS.get(table, "id")
        last = self.raw.execute(f'SELECT max("{key}") FROM "{table}"').fetchone()[0] or 0
        given = self.raw.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
        return max(last, given[0] if given else 0) + 1

    def record_added(self, table: str, ids: Iterable[int], *, is_searched: bool = True) -> None:
        """
        Write down rows that a bulk loader added to ``table``.

        Without ``is_searched`` the loader itself sees to the words they are found by (``add_entries``).
        """
        ids = ids if isinstance(ids, range) else list(ids)
        if isinstance(ids, range) and ids.step == 1:  # many rows numbered in one go: SQLite counts them itself
            self.raw.execute(
                "INSERT INTO deed_change (deed_id, record_table, record_id, change)"
                " WITH RECURSIVE added(id) AS (VALUES (?) UNION ALL SELECT id + 1 FROM added WHERE id < ?)"
                " SELECT ?, ?, id, 'added' FROM added",
                (ids.start, ids.stop - 1, self.deed.id, table),
            )
        else:
            self.raw.executemany(
                "INSERT INTO deed_change (deed_id, record_table, record_id, change) VALUES (?, ?, ?, 'added')",
                [(self.deed.id, table, record_id) for record_id in ids],
            )
        if is_searched:
            self.touched.setdefault(table, set()).update(ids)

    def record_change(
        self,
        table: str,
        record_id: int,
        change: str,
        before: dict[str, Any] | None,
        after: dict[str, Any] | None,
    ) -> None:
        """
        Write down one row changed with plain SQL; ``before`` and ``after`` map columns to values.

        A removed row is given whole; of a changed one, the changed columns. What belongs to another record
        (a number of a sheet) says in ``before`` whose it was, if that changed.
        """
        self.raw.execute(
            _INSERT_CHANGE,
            (self.deed.id, table, record_id, change, encode_values(before), encode_values(after)),
        )
        self.touch(table, record_id, before)

    def touch(self, table: str, record_id: int, before: dict[str, Any] | None = None) -> None:
        """Remember that a row's words for searching are to be made anew, and those of its former record."""
        self.touched.setdefault(table, set()).add(record_id)
        for subject, subject_id in former_subjects(table, before or {}):
            self.touched.setdefault(subject, set()).add(subject_id)


@contextmanager
def recording(writing: Writing) -> Iterator[Writing]:
    """Let the listeners below write down what the session changes; then bring the search words up to date."""
    writing.session.info["writing"] = writing
    try:
        yield writing
        writing.session.flush()
        refresh_search(writing.raw, writing.touched)
    finally:
        del writing.session.info["writing"]


def _writing_of(record: Base) -> Writing | None:
    session = object_session(record)
    return session.info.get("writing") if session and record.__tablename__ not in _UNRECORDED else None


def _table_and_key(record: Base) -> tuple[str, str]:
    return record.__tablename__, KEYS.get(record.__tablename__, "id")


# The listeners stand on the mappers, not on the flush: they follow the order of the statements, so that a
# replay backwards never meets a record before what it needs, and they hear of rows that a flush itself
# decides to remove (a number taken out of its sheet's list).
def _remember(_mapper: Mapper[Any], connection: Connection, record: Base) -> None:
    writing = _writing_of(record)
    if writing is not None:
        table, key = _table_and_key(record)
        record_id = getattr(record, key)
        writing._former[record] = read_row(driver(connection), table, record_id)


def _record_update(_mapper: Mapper[Any], connection: Connection, record: Base) -> None:
    writing = _writing_of(record)
    if writing is None:
        return
    table, key = _table_and_key(record)
    former, now = (
        writing._former.pop(record) or {},
        read_row(driver(connection), table, getattr(record, key)) or {},
    )
    differing = [column for column in now if former.get(column) != now[column]]
    if differing:
        before, after = ({column: row.get(column) for column in differing} for row in (former, now))
        _write_down(writing, connection, (table, getattr(record, key), "changed", before, after), former)


def _record_delete(_mapper: Mapper[Any], connection: Connection, record: Base) -> None:
    writing = _writing_of(record)
    if writing is None:
        return
    table, key = _table_and_key(record)
    former = writing._former.pop(record)
    if former is not None:  # else it was removed already
        _write_down(writing, connection, (table, getattr(record, key), "removed", former, None), former)


def _record_insert(_mapper: Mapper[Any], connection: Connection, record: Base) -> None:
    writing = _writing_of(record)
    if writing is not None:
        table, key = _table_and_key(record)
        _write_down(writing, connection, (table, getattr(record, key), "added", None, None), None)


def _write_down(
    writing: Writing,
    connection: Connection,
    change: tuple[str, int, str, dict[str, Any] | None, dict[str, Any] | None],
    former: dict[str, Any] | None,
) -> None:
    table, record_id, kind, before, after = change
    driver(connection).execute(
        _INSERT_CHANGE, (writing.deed.id, table, record_id, kind, encode_values(before), encode_values(after))
    )
    writing.touch(table, record_id, former)


def _refuse_unheard(state: ORMExecuteState) -> None:
    """Stop a statement that would change rows past the listeners, so that the daybook cannot lie."""
    if (state.is_update or state.is_delete) and "writing" in state.session.info:
        raise TypeError("change records one by one, or use plain SQL with Writing.record_change: undo needs them")


event.listen(Base, "before_update", _remember, propagate=True)
event.listen(Base, "before_delete", _remember, propagate=True)
event.listen(Base, "after_insert", _record_insert, propagate=True)
event.listen(Base, "after_update", _record_update, propagate=True)
event.listen(Base, "after_delete", _record_delete, propagate=True)
event.listen(Session, "do_orm_execute", _refuse_unheard)
