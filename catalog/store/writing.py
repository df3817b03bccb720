"""
Writing: one deed is one transaction, and the daybook keeps what each deed changed.

Listeners write down every row that the mapped classes change, as the database held it before and after;
bulk loaders call ``Writing.record_added``, plain SQL ``Writing.record_change``.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, exc
from sqlalchemy.orm import Mapper, ORMExecuteState, Session, object_session
from sqlalchemy.pool import NullPool, Pool, StaticPool

from catalog import clock
from catalog.errors import ArchiveBusyError, ArchiveError, RefusedError
from catalog.model import Base, Deed, DeedFile
from catalog.store.archive import Archive
from catalog.store.connections import as_archive_error
from catalog.store.files import shown_path
from catalog.store.interrupted import encode_path, this_process
from catalog.store.locking import OnWait, in_its_journal, refusal_words
from catalog.store.rows import KEYS, encode_values, read_row
from catalog.store.schema import SCHEMA_HEAD, check_schema
from catalog.store.search import former_subjects, refresh_search

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
        return _driver(self.session.connection())

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


def _driver(connection: Connection) -> sqlite3.Connection:
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    return driver


def _engine(archive: Archive, pool: type[Pool] = NullPool, *, undoing: bool = False) -> Engine:
    """
    Return what opens connections to write through.

    While ``undoing``, SQLite does not follow links row by row (for every row removed it would read whole tables
    that have no index for it); the undo checks them all at once before it ends.
    """

    def opened() -> sqlite3.Connection:
        connection = in_its_journal(archive)
        if undoing:
            connection.execute("PRAGMA foreign_keys = OFF")
        return connection

    return create_engine("sqlite://", creator=opened, poolclass=pool)


def _begin(connection: Connection, archive: Archive, on_wait: OnWait | None) -> None:
    """
    Take the write lock at once; a deferred BEGIN would meet busy errors half-way.

    SQLite itself waits only a moment at a time, so that the person can be told what is waited for.
    """
    connection.exec_driver_sql("PRAGMA busy_timeout = 250")
    said = False
    deadline = time.monotonic() + archive.settings.catalogue_wait_seconds
    while True:
        try:
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            # From here on only readers can be in the way, and only of the commit, where there is no WAL.
            connection.exec_driver_sql(f"PRAGMA busy_timeout = {archive.settings.catalogue_wait_seconds * 1000}")
            return
        except exc.OperationalError as error:
            complaint = as_archive_error(error.orig or error, archive.catalogue)
            if not isinstance(complaint, ArchiveBusyError) or time.monotonic() >= deadline:
                raise complaint from error
            if on_wait and not said:
                on_wait("Another tiebeam is writing to this archive; waiting for it to finish ...")
                said = True


@contextmanager
def _given_up_at_once() -> Iterator[list[sqlite3.Connection]]:
    """
    Take back the transaction of the connection that is put into the list, whatever cut it short.

    A Ctrl-C may come inside the library, which then complains of its own state and keeps the lock; who writes
    down that the deed was cut short would wait for itself. It is a Ctrl-C that the caller hears of.
    """
    used: list[sqlite3.Connection] = []
    try:
        yield used
    except BaseException as error:
        for connection in used:
            with suppress(sqlite3.ProgrammingError):  # closed already
                connection.rollback()
        cause = error.__context__
        while cause is not None and not isinstance(cause, KeyboardInterrupt):
            cause = cause.__context__
        if cause is not None and not isinstance(error, KeyboardInterrupt):
            raise KeyboardInterrupt from error
        raise


@contextmanager
def open_session(archive: Archive, on_wait: OnWait | None = None, engine: Engine | None = None) -> Iterator[Session]:
    """
    Give a session inside one immediate transaction; it is committed at the end, or nothing of it stays.

    ``engine`` is one that the caller keeps open over many transactions, and closes.

    Raises:
        ArchiveBusyError: another process held the catalogue longer than the settings allow.
        RefusedError: the database itself refused a row.
        ArchiveError: the disk is full, the file is damaged.
    """
    used = engine or _engine(archive)
    try:
        with _given_up_at_once() as drivers, used.connect() as connection:
            drivers.append(_driver(connection))
            _begin(connection, archive, on_wait)
            check_schema(_driver(connection), archive.catalogue.name)
            with Session(connection, expire_on_commit=False, join_transaction_mode="control_fully") as session:
                yield session
                session.commit()
    except exc.IntegrityError as error:
        raise RefusedError(refusal_words(str(error.orig))) from error
    except sqlite3.IntegrityError as error:
        raise RefusedError(refusal_words(str(error))) from error
    except exc.DBAPIError as error:
        raise as_archive_error(error.orig or error, archive.catalogue) from error
    except sqlite3.OperationalError as error:
        raise as_archive_error(error, archive.catalogue) from error
    finally:
        if engine is None:
            used.dispose()


_done_here: set[tuple[Path, int]] = set()


def was_done_here(archive: Archive, deed_id: int) -> bool:
    """Return True if a deed was done by this process, since it began."""
    return (archive.catalogue, deed_id) in _done_here


@contextmanager
def deed(
    archive: Archive, kind: str, words: str, *, on_wait: OnWait | None = None, undoes: int | None = None
) -> Iterator[Writing]:
    """
    Do one deed: one transaction, one daybook entry with everything it changed.

    ``kind`` is the command's noun and verb, ``words`` what the daybook says; see also ``Writing.say``.
    A deed that ``undoes`` another must see to links itself (``catalog.actions.deeds``).
    Raises what ``open_session`` raises.
    """
    engine = _engine(archive, undoing=undoes is not None)
    try:
        with open_session(archive, on_wait, engine) as session:
            entry = Deed(
                kind=kind, words=words, at=clock.timestamp(), state="done", schema=SCHEMA_HEAD, undoes_id=undoes
            )
            session.add(entry)
            session.flush()
            deed_id = entry.id  # the deed may expire what the session holds, and then it cannot be asked any more
            with _recording(Writing(session, entry)) as writing:
                yield writing
        _done_here.add((archive.catalogue, deed_id))
    finally:
        engine.dispose()


@contextmanager
def _recording(writing: Writing) -> Iterator[Writing]:
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
        writing._former[record] = read_row(_driver(connection), table, record_id)


def _record_update(_mapper: Mapper[Any], connection: Connection, record: Base) -> None:
    writing = _writing_of(record)
    if writing is None:
        return
    table, key = _table_and_key(record)
    former, now = (
        writing._former.pop(record) or {},
        read_row(_driver(connection), table, getattr(record, key)) or {},
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
    _driver(connection).execute(
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


@dataclass
class FileDeed:
    """A deed over many files: one daybook entry, one transaction a file. ``begin_file_deed`` begins it."""

    archive: Archive
    deed_id: int
    on_wait: OnWait | None = None
    is_undo: bool = False
    _kept: Engine | None = field(default=None, init=False, repr=False)

    @contextmanager
    def step(self) -> Iterator[Writing]:
        """
        Do the part of the deed that belongs to one file, as one transaction.

        The connection stays open from step to step (opening one, and letting its statements be put together
        anew, takes longer than writing a file's rows); ``finish``, ``break_off`` or ``close`` closes it.
        """
        if self._kept is None:
            self._kept = _engine(self.archive, StaticPool, undoing=self.is_undo)
        with open_session(self.archive, self.on_wait, self._kept) as session:
            entry = session.get_one(Deed, self.deed_id)
            with _recording(Writing(session, entry)) as writing:
                yield writing

    def settle_files(self, settled: Iterable[tuple[int, str, str | None]]) -> None:
        """Write down what became of files: id, ``done`` or ``not done``, and why."""
        with open_session(self.archive, self.on_wait) as session:
            for file_id, state, reason in settled:
                entry = session.get_one(DeedFile, file_id)
                entry.state, entry.reason = state, reason

    def break_off(self, words: str, left_to_do: str) -> None:
        """Close the daybook entry of a deed that could not be finished, with what is left to do."""
        self.close()
        with open_session(self.archive, self.on_wait) as session:
            entry = session.get_one(Deed, self.deed_id)
            entry.words, entry.state, entry.process = shown_path(words), "interrupted", None
            entry.left_to_do = shown_path(left_to_do)

    def close(self) -> None:
        """Close the connection that the steps shared; the daybook entry stays as it is."""
        if self._kept is not None:
            self._kept.dispose()
            self._kept = None

    def finish(self, words: str) -> None:
        """Close the daybook entry: the deed is done."""
        self.close()
        with open_session(self.archive, self.on_wait) as session:
            entry = session.get_one(Deed, self.deed_id)
            entry.words, entry.state, entry.process, entry.left_to_do = shown_path(words), "done", None, None

    def intend(self, files: Iterable[tuple[str, bytes | None, str | None, str | None]]) -> list[int]:
        """Write down files about to be written: path, former bytes, their digest, the digest to come."""
        with open_session(self.archive, self.on_wait) as session:
            entries = [
                DeedFile(
                    deed_id=self.deed_id,
                    path=encode_path(path),
                    state="intended",
                    before=before,
                    before_sha256=old,
                    after_sha256=new,
                )
                for path, before, old, new in files
            ]
            session.add_all(entries)
            session.flush()
            return [entry.id for entry in entries]


def begin_file_deed(
    archive: Archive,
    kind: str,
    words: str,
    *,
    left_to_do: str,
    on_wait: OnWait | None = None,
    undoes: int | None = None,
) -> FileDeed:
    """
    Begin a deed over many files.

    ``left_to_do`` is what to tell the person at the next opening if the deed is cut short. Names of files that are
    no text are shown with escapes in both.
    """
    with open_session(archive, on_wait) as session:
        entry = Deed(
            kind=kind, words=shown_path(words), at=clock.timestamp(), state="under way", schema=SCHEMA_HEAD,
            process=this_process(), left_to_do=shown_path(left_to_do), undoes_id=undoes,
        )  # fmt: skip
        session.add(entry)
        session.flush()
    _done_here.add((archive.catalogue, entry.id))
    return FileDeed(archive, entry.id, on_wait, is_undo=undoes is not None)


def require_text(*texts: str | None) -> None:
    """Raise ``RefusedError`` if one of these, typed on a terminal, holds bytes that are not text."""
    for text in filter(None, texts):
        if not text.isascii() and any("\ud800" <= letter <= "\udfff" for letter in text):
            raise RefusedError(f"{text!r} holds bytes that are not text. Type it anew; nothing was changed.")


def require(condition: object, message: str) -> None:
    """Raise ``RefusedError`` with ``message`` unless ``condition`` holds."""
    if not condition:
        raise RefusedError(message)


__all__ = [
    "ArchiveError",
    "FileDeed",
    "OnWait",
    "Writing",
    "begin_file_deed",
    "deed",
    "open_session",
    "require",
    "require_text",
]
