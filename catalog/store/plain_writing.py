"""
A deed in plain SQL: one immediate transaction and one daybook entry, without the mapped classes.

For deeds that are done by the thousand, or by several windows at once: what the ledger takes down. The daybook's
entry and what the deed changed are written last, in one go.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from catalog import clock
from catalog.errors import ArchiveBusyError
from catalog.store.archive import Archive
from catalog.store.connections import as_archive_error, is_of_the_file
from catalog.store.locking import OnWait, as_refusal, in_its_journal
from catalog.store.rows import encode_values
from catalog.store.schema import SCHEMA_HEAD, check_schema
from catalog.store.search import former_subjects, refresh_search

_INSERT_CHANGE = (
    "INSERT INTO deed_change (deed_id, record_table, record_id, change, before, after) VALUES (?, ?, ?, ?, ?, ?)"
)
_INSERT_DEED = "INSERT INTO deed (kind, words, at, state, schema) VALUES (?, ?, ?, 'done', ?)"


@lru_cache(maxsize=256)
def _insert(table: str, columns: tuple[str, ...]) -> str:
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"


@dataclass
class PlainDeed:
    """An open deed in plain SQL: its connection, its words, and what it has changed so far."""

    raw: sqlite3.Connection
    kind: str
    words: str
    at: str
    touched: dict[str, set[int]] = field(default_factory=dict)
    changes: list[tuple[str, int, str, str | None, str | None]] = field(default_factory=list)

    def say(self, words: str) -> None:
        """Give the daybook's words for this deed."""
        self.words = words

    def add(self, table: str, row: dict[str, Any], *, is_searched: bool = False) -> int:
        """Add a row, write it down, and return its id; with ``is_searched`` its words are made findable."""
        added = self.raw.execute(_insert(table, tuple(row)), tuple(row.values())).lastrowid
        assert added is not None
        self.record_added(table, (added,), is_searched=is_searched)
        return added

    def record_added(self, table: str, ids: Iterable[int], *, is_searched: bool = True) -> None:
        """Write down rows that were added to ``table``."""
        for record_id in ids:
            self.changes.append((table, record_id, "added", None, None))
            if is_searched:
                self.touched.setdefault(table, set()).add(record_id)

    def record_change(
        self, table: str, record_id: int, change: str, before: dict[str, Any] | None, after: dict[str, Any] | None
    ) -> None:
        """Write down one row that was changed; ``before`` and ``after`` map columns to values."""
        self.changes.append((table, record_id, change, encode_values(before), encode_values(after)))
        self.touched.setdefault(table, set()).add(record_id)
        for subject, subject_id in former_subjects(table, before or {}):
            self.touched.setdefault(subject, set()).add(subject_id)

    def changed(self, table: str) -> list[int]:
        """Return the ids of the rows of a table that were changed so far."""
        return [record_id for name, record_id, change, _, _ in self.changes if (name, change) == (table, "changed")]

    def finish(self) -> int:
        """Write the daybook's entry and return its number."""
        if self.touched:
            refresh_search(self.raw, self.touched)
        deed_id = self.raw.execute(_INSERT_DEED, (self.kind, self.words, self.at, SCHEMA_HEAD)).lastrowid
        assert deed_id is not None
        self.raw.executemany(_INSERT_CHANGE, [(deed_id, *change) for change in self.changes])
        return deed_id


@contextmanager
def writing_connection(archive: Archive) -> Iterator[sqlite3.Connection]:
    """Give a connection to write through, for one deed or for many (``plain_deed``)."""
    connection = in_its_journal(archive)
    try:
        check_schema(connection, archive.catalogue.name)
        yield connection
    finally:
        connection.close()


@contextmanager
def plain_deed(
    archive: Archive,
    kind: str,
    words: str,
    *,
    connection: sqlite3.Connection | None = None,
    on_wait: OnWait | None = None,
) -> Iterator[PlainDeed]:
    """
    Do one deed in plain SQL; it is kept whole at the end, or nothing of it stays.

    ``connection`` is one of ``writing_connection`` that the caller keeps open over many deeds.

    Raises:
        ArchiveBusyError: another process held the catalogue longer than the settings allow.
        RefusedError: the database itself refused a row.
        ArchiveError: the disk is full, the file is damaged.
    """
    if connection is None:
        with (
            writing_connection(archive) as opened,
            plain_deed(archive, kind, words, connection=opened, on_wait=on_wait) as deed,
        ):
            yield deed
        return
    try:
        _begin(connection, archive, on_wait)
        try:
            check_schema(connection, archive.catalogue.name)  # someone may have upgraded it meanwhile
            deed = PlainDeed(connection, kind, words, clock.timestamp())
            yield deed
            deed.finish()
            connection.execute("COMMIT")
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
    except sqlite3.IntegrityError as error:
        raise as_refusal(error) from error
    except sqlite3.DatabaseError as error:
        if not is_of_the_file(error):
            raise
        raise as_archive_error(error, archive.catalogue) from error


def _begin(connection: sqlite3.Connection, archive: Archive, on_wait: OnWait | None) -> None:
    """Take the write lock at once; SQLite waits a moment at a time, so that the person can be told."""
    deadline = time.monotonic() + archive.settings.catalogue_wait_seconds
    said = on_wait is None
    if not said:
        connection.execute("PRAGMA busy_timeout = 250")
    while True:
        try:
            connection.execute("BEGIN IMMEDIATE")
            if on_wait is not None:  # from here on only readers can be in the way, and only where there is no WAL
                connection.execute(f"PRAGMA busy_timeout = {archive.settings.catalogue_wait_seconds * 1000}")
            return
        except sqlite3.OperationalError as error:
            complaint = as_archive_error(error, archive.catalogue)
            if not isinstance(complaint, ArchiveBusyError) or time.monotonic() >= deadline:
                raise complaint from error
            if on_wait is not None and not said:
                on_wait("Another tiebeam is writing to this archive; waiting for it to finish ...")
                said = True
