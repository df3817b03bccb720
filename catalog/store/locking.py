"""Writing beside others: the journal that is safe where the archive lies, and what the database refuses, in words."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable

from catalog import clock
from catalog.errors import ArchiveBusyError, RefusedError
from catalog.store.archive import Archive
from catalog.store.connections import connect, journal_for, set_journal

OnWait = Callable[[str], None]


def in_its_journal(archive: Archive) -> sqlite3.Connection:
    """
    Return a connection for writing, in the journal that is safe where the archive lies.

    The safer one can be taken only while nobody else has the catalogue open. Whoever waits for it closes it
    meanwhile, for a while that differs from the others', or all would wait for each other.
    """
    mode = journal_for(archive.folder, archive.settings.catalogue_journal)[0]
    deadline = time.monotonic() + archive.settings.catalogue_wait_seconds
    while True:
        connection = connect(archive.catalogue, timeout_s=archive.settings.catalogue_wait_seconds, writing=True)
        try:
            set_journal(connection, mode)
        except BaseException as error:
            connection.close()
            if not isinstance(error, ArchiveBusyError) or time.monotonic() >= deadline:
                raise
            time.sleep(0.02 + int(clock.random_token(1), 16) / 1000)
        else:
            return connection


def as_refusal(error: Exception) -> RefusedError:
    """Return what the database itself refused, in words."""
    return RefusedError(refusal_words(str(error)))


def refusal_words(said: str) -> str:
    """Return the sentence for a constraint or a trigger that a row broke."""
    if "FOREIGN KEY" in said:
        return "Other records point to this one still, or it to one that is not there. Nothing was changed."
    if said.startswith("UNIQUE constraint failed: "):
        columns = [column.rpartition(".")[2] for column in said.partition(": ")[2].split(", ")]
        return f"There is one already with the same {' and '.join(columns)}. Nothing was changed."
    return f"The catalogue refuses this: {said}. Nothing was changed."
