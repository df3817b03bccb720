"""
Writing: one deed is one transaction, and the daybook keeps what each deed changed.

A session listener writes every changed row before and after; bulk loaders call ``Writing.record_added``.
"""

from __future__ import annotations

import base64
import json
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, exc, insert, inspect
from sqlalchemy.orm import Session
from sqlalchemy.pool import NullPool

from catalog import clock
from catalog.errors import ArchiveBusyError, ArchiveError, RefusedError
from catalog.model import Base, Deed, DeedChange, DeedFile
from catalog.store.archive import Archive
from catalog.store.connections import as_archive_error, connect, journal_for, set_journal
from catalog.store.interrupted import this_process
from catalog.store.schema import SCHEMA_HEAD, check_schema
from catalog.store.search import refresh_search

OnWait = Callable[[str], None]

_UNRECORDED = {"deed", "deed_change", "deed_file"}


@dataclass
class Writing:
    """An open deed: the session to write through, and what the deed has touched so far."""

    session: Session
    deed: Deed
    touched: dict[str, set[int]] = field(default_factory=dict)

    @property
    def raw(self) -> sqlite3.Connection:
        """The bare connection under the session, inside the same transaction."""
        driver = self.session.connection().connection.driver_connection
        assert isinstance(driver, sqlite3.Connection)
        return driver

    def say(self, words: str) -> None:
        """Give the daybook's words for this deed."""
        self.deed.words = words

    def record_added(self, table: str, ids: Iterable[int]) -> None:
        """Write down rows that a bulk loader added to ``table``."""
        ids = list(ids)
        self.raw.executemany(
            "INSERT INTO deed_change (deed_id, record_table, record_id, change) VALUES (?, ?, ?, 'added')",
            [(self.deed.id, table, record_id) for record_id in ids],
        )
        self.touched.setdefault(table, set()).update(ids)

    def record_change(self, table: str, record_id: int, change: str, before: Any, after: Any) -> None:
        """Write down one row changed with plain SQL; ``before`` and ``after`` map columns to values."""
        self.raw.execute(
            "INSERT INTO deed_change (deed_id, record_table, record_id, change, before, after)"
            " VALUES (?, ?, ?, ?, ?, ?)",
            (self.deed.id, table, record_id, change, to_json(before), to_json(after)),
        )
        self.touched.setdefault(table, set()).add(record_id)


def to_json(values: dict[str, Any] | None) -> str | None:
    """Return column values as the daybook keeps them; bytes become ``{"base64": ...}``."""
    if values is None:
        return None
    return json.dumps(
        {
            name: {"base64": base64.b64encode(value).decode("ascii")} if isinstance(value, bytes) else value
            for name, value in values.items()
        },
        ensure_ascii=False,
    )


def from_json(text: str | None) -> dict[str, Any]:
    """Return what ``to_json`` kept."""
    found: dict[str, Any] = json.loads(text) if text else {}
    return {
        name: base64.b64decode(value["base64"]) if isinstance(value, dict) and "base64" in value else value
        for name, value in found.items()
    }


def _engine(archive: Archive) -> Engine:
    def opened() -> sqlite3.Connection:
        # Waiting is done by _begin, which can say so; SQLite itself waits only a moment.
        connection = connect(archive.catalogue, timeout_s=0.25, writing=True)
        set_journal(connection, journal_for(archive.folder, archive.settings.catalogue_journal)[0])
        return connection

    return create_engine("sqlite://", creator=opened, poolclass=NullPool)


def _begin(connection: Connection, archive: Archive, on_wait: OnWait | None) -> None:
    """Take the write lock at once; a deferred BEGIN would meet busy errors half-way (engines, SQLite)."""
    said = False
    deadline = time.monotonic() + archive.settings.catalogue_wait_seconds
    while True:
        try:
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            return
        except exc.OperationalError as error:
            complaint = as_archive_error(error.orig or error, archive.catalogue)
            if not isinstance(complaint, ArchiveBusyError) or time.monotonic() >= deadline:
                raise complaint from error
            if on_wait and not said:
                on_wait("Another tiebeam is writing to this archive; waiting for it to finish ...")
                said = True


@contextmanager
def open_session(archive: Archive, on_wait: OnWait | None = None) -> Iterator[Session]:
    """
    Give a session inside one immediate transaction; it is committed at the end, or nothing of it stays.

    Raises:
        ArchiveBusyError: another process held the catalogue longer than the settings allow.
        RefusedError: the database itself refused a row.
        ArchiveError: the disk is full, the file is damaged.
    """
    engine = _engine(archive)
    try:
        with engine.connect() as connection:
            _begin(connection, archive, on_wait)
            driver = connection.connection.driver_connection
            assert isinstance(driver, sqlite3.Connection)
            check_schema(driver, archive.catalogue.name)
            with Session(connection, expire_on_commit=False, join_transaction_mode="control_fully") as session:
                yield session
                session.commit()
    except exc.IntegrityError as error:
        raise RefusedError(_refusal(str(error.orig))) from error
    except sqlite3.IntegrityError as error:
        raise RefusedError(_refusal(str(error))) from error
    except exc.DBAPIError as error:
        raise as_archive_error(error.orig or error, archive.catalogue) from error
    except sqlite3.OperationalError as error:
        raise as_archive_error(error, archive.catalogue) from error
    finally:
        engine.dispose()


def _refusal(said: str) -> str:
    if "FOREIGN KEY" in said:
        return "Other records still point to this one, or it points to one that is not there. Nothing was changed."
    if said.startswith("UNIQUE constraint failed: "):
        return f"There is one already with the same {said.removeprefix('UNIQUE constraint failed: ')}."
    return f"The catalogue refuses this: {said}. Nothing was changed."


@contextmanager
def deed(
    archive: Archive, kind: str, words: str, *, on_wait: OnWait | None = None, undoes: int | None = None
) -> Iterator[Writing]:
    """
    Do one deed: one transaction, one daybook entry with everything it changed.

    ``kind`` is the command's noun and verb, ``words`` what the daybook says; ``Writing.say`` may put it better.
    Raises what ``open_session`` raises.
    """
    with open_session(archive, on_wait) as session:
        entry = Deed(
            kind=kind, words=words, at=clock.timestamp(), state="done", schema=SCHEMA_HEAD, undoes_id=undoes
        )
        session.add(entry)
        session.flush()
        with _recording(Writing(session, entry)) as writing:
            yield writing


@contextmanager
def _recording(writing: Writing) -> Iterator[Writing]:
    """Listen to the session while it writes; afterwards bring the search words up to date."""

    def listener(session: Session, context: Any) -> None:
        _record_flush(writing, session)

    event.listen(writing.session, "after_flush", listener)
    try:
        yield writing
        writing.session.flush()
        refresh_search(writing.raw, writing.touched)
    finally:
        event.remove(writing.session, "after_flush", listener)


def _record_flush(writing: Writing, session: Session) -> None:
    rows = [change for record in session.new for change in _changes(record, "added")]
    rows += [change for record in session.dirty for change in _changes(record, "changed")]
    rows += [change for record in session.deleted for change in _changes(record, "removed")]
    if not rows:
        return
    for row in rows:
        row["deed_id"] = writing.deed.id
        writing.touched.setdefault(row["record_table"], set()).add(row["record_id"])
    session.connection().execute(insert(DeedChange), rows)


def _changes(record: Base, change: str) -> Iterator[dict[str, Any]]:
    """Yield the daybook's row for a flushed record: nothing when no column of it changed."""
    state = inspect(record)
    table = record.__table__.name  # type: ignore[attr-defined]
    if table in _UNRECORDED:
        return
    before: dict[str, Any] = {}
    after: dict[str, Any] = {}
    for attribute in state.mapper.column_attrs:
        column = attribute.columns[0].name
        history = state.attrs[attribute.key].history
        if change == "removed":
            before[column] = plain(getattr(record, attribute.key))
        elif change == "changed" and history.has_changes():
            before[column] = plain(history.deleted[0]) if history.deleted else None
            after[column] = plain(history.added[0]) if history.added else None
    if change == "changed" and not after:
        return
    yield {
        "record_table": table,
        "record_id": state.mapper.primary_key_from_instance(record)[0],
        "change": change,
        "before": to_json(before) if change != "added" else None,
        "after": to_json(after) if change == "changed" else None,
    }


def plain(value: Any) -> Any:
    """Return a value as its column keeps it."""
    return int(value) if isinstance(value, bool) else value


@dataclass
class FileDeed:
    """A deed over many files: one daybook entry, one transaction a file. Begin it with ``begin_file_deed``."""

    archive: Archive
    deed_id: int
    on_wait: OnWait | None = None

    @contextmanager
    def step(self) -> Iterator[Writing]:
        """Do the part of the deed that belongs to one file, as one transaction."""
        with open_session(self.archive, self.on_wait) as session:
            entry = session.get_one(Deed, self.deed_id)
            with _recording(Writing(session, entry)) as writing:
                yield writing

    def finish(self, words: str) -> None:
        """Close the daybook entry: the deed is done."""
        with open_session(self.archive, self.on_wait) as session:
            entry = session.get_one(Deed, self.deed_id)
            entry.words, entry.state, entry.process, entry.left_to_do = words, "done", None, None

    def intend(self, files: Iterable[tuple[str, bytes | None, str | None, str]]) -> list[int]:
        """Write down files about to be written: path, former bytes, their digest, the digest to come."""
        with open_session(self.archive, self.on_wait) as session:
            entries = [
                DeedFile(
                    deed_id=self.deed_id, path=path, state="intended", before=before, before_sha256=old, after_sha256=new
                )
                for path, before, old, new in files
            ]
            session.add_all(entries)
            session.flush()
            return [entry.id for entry in entries]


def begin_file_deed(
    archive: Archive, kind: str, words: str, *, left_to_do: str, on_wait: OnWait | None = None
) -> FileDeed:
    """
    Begin a deed over many files.

    ``left_to_do`` is what to tell the person at the next opening if the deed is cut short.
    """
    with open_session(archive, on_wait) as session:
        entry = Deed(
            kind=kind, words=words, at=clock.timestamp(), state="under way", schema=SCHEMA_HEAD,
            process=this_process(), left_to_do=left_to_do,
        )  # fmt: skip
        session.add(entry)
        session.flush()
        return FileDeed(archive, entry.id, on_wait)


def require(condition: object, message: str) -> None:
    """Raise ``RefusedError`` with ``message`` unless ``condition`` holds."""
    if not condition:
        raise RefusedError(message)


__all__ = [
    "ArchiveError", "FileDeed", "OnWait", "Writing", "begin_file_deed", "deed", "from_json", "open_session", "plain",
    "require", "to_json",
]  # fmt: skip
