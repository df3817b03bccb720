"""Noticing that the catalogue was changed, by this program or by another one."""

from __future__ import annotations

import sqlite3
from threading import Lock

from catalog.errors import ArchiveBusyError
from catalog.store.archive import Archive
from catalog.store.connections import as_archive_error, connect, is_of_the_file


class ChangeWatch:
    """
    A connection that holds nothing, and is asked from time to time whether the catalogue changed.

    ``PRAGMA data_version`` differs between two readings when another connection committed between them
    (SQLite, "Pragma statements"). A catalogue that is locked just now is asked again the next time.
    """

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        self._connection: sqlite3.Connection | None = None
        self._version: int | None = None
        self._lock = Lock()

    def has_changed(self) -> bool:
        """
        Return True if something was committed since this was asked last; the first time it is False.

        Raises:
            ArchiveError: the catalogue is not there, or is damaged.
        """
        with self._lock:
            try:
                return self._look()
            except ArchiveBusyError:
                return False

    def _look(self) -> bool:
        if self._connection is None:
            self._connection = connect(self._archive.catalogue, timeout_s=0)
        try:
            found: int = self._connection.execute("PRAGMA data_version").fetchone()[0]
        except sqlite3.DatabaseError as exc:
            if not is_of_the_file(exc):
                raise
            raise as_archive_error(exc, self._archive.catalogue) from exc
        former, self._version = self._version, found
        return former is not None and former != found

    def close(self) -> None:
        """Close the connection; it is opened again when it is asked again."""
        with self._lock:
            if self._connection is not None:
                self._connection.close()
            self._connection, self._version = None, None
