"""Sessions of the mapped classes: one immediate transaction each, committed whole or not at all."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from functools import lru_cache

from sqlalchemy import Connection, Engine, create_engine, exc
from sqlalchemy.orm import Session
from sqlalchemy.pool import NullPool, StaticPool

from catalog.errors import ArchiveBusyError, RefusedError
from catalog.store.archive import Archive
from catalog.store.connections import as_archive_error
from catalog.store.locking import OnWait, in_its_journal, refusal_words
from catalog.store.schema import check_schema


def driver(connection: Connection) -> sqlite3.Connection:
    """Return the bare connection under one of the library."""
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    return driver


_opener: ContextVar[Callable[[], sqlite3.Connection]] = ContextVar("opener")


@lru_cache(maxsize=1)
def _common_engine() -> Engine:
    """Return the engine of single transactions: what it compiled for one is there for the next, in any archive."""
    return create_engine("sqlite://", creator=lambda: _opener.get()(), poolclass=NullPool)


def _opened(archive: Archive, *, undoing: bool) -> sqlite3.Connection:
    connection = in_its_journal(archive)
    if undoing:
        connection.execute("PRAGMA foreign_keys = OFF")
    return connection


def lasting_engine(archive: Archive, *, undoing: bool) -> Engine:
    """Return an engine that keeps one connection over many transactions, until it is disposed of."""
    return create_engine("sqlite://", creator=lambda: _opened(archive, undoing=undoing), poolclass=StaticPool)


@contextmanager
def _connected(archive: Archive, engine: Engine | None, *, undoing: bool) -> Iterator[Connection]:
    """Give a connection of an engine, or one that is closed again at the end."""
    if engine is not None:
        with engine.connect() as connection:
            yield connection
        return
    token = _opener.set(lambda: _opened(archive, undoing=undoing))
    try:
        opened = _common_engine().connect()
    finally:
        _opener.reset(token)
    with opened as connection:
        yield connection


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
def open_session(
    archive: Archive, on_wait: OnWait | None = None, engine: Engine | None = None, *, undoing: bool = False
) -> Iterator[Session]:
    """
    Give a session inside one immediate transaction; it is committed at the end, or nothing of it stays.

    ``engine`` is one that the caller keeps open over many transactions (``lasting_engine``). While ``undoing``,
    SQLite does not follow links row by row (for every row removed it would read whole tables that have no index
    for it); the undo checks them all at once before it ends.

    Raises:
        ArchiveBusyError: another process held the catalogue longer than the settings allow.
        RefusedError: the database itself refused a row.
        ArchiveError: the disk is full, the file is damaged.
    """
    try:
        with _given_up_at_once() as drivers, _connected(archive, engine, undoing=undoing) as connection:
            drivers.append(driver(connection))
            _begin(connection, archive, on_wait)
            check_schema(driver(connection), archive.catalogue.name)
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
