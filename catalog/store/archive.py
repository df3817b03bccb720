"""An archive on the disk: where it is, what it is made of, opening it to read."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from catalog.errors import ArchiveError
from catalog.store.connections import as_archive_error, connect, is_of_the_file
from catalog.store.schema import check_schema
from catalog.store.settings import SETTINGS_NAME, Settings, read_settings

CATALOGUE_NAME = "archive.db"
FOLDERS = ("index-pictures", "documents", "backups")
ENVIRONMENT = "TIEBEAM_ARCHIVE"


@dataclass(frozen=True, slots=True)
class Archive:
    """A folder with ``tiebeam.toml`` and ``archive.db``."""

    folder: Path
    settings: Settings

    @property
    def catalogue(self) -> Path:
        """The SQLite file."""
        return self.folder / CATALOGUE_NAME

    @property
    def about_days(self) -> int:
        """How many days a date marked "about" may lie from what is written."""
        return round(self.settings.dates_about_years * 365.25)

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give a connection that cannot change anything, over one unchanging view of the catalogue."""
        connection = connect(self.catalogue, timeout_s=self.settings.catalogue_wait_seconds)
        try:
            connection.execute("BEGIN")
            check_schema(connection, self.catalogue.name)
            yield connection
        except sqlite3.DatabaseError as exc:
            if not is_of_the_file(exc):
                raise
            raise as_archive_error(exc, self.catalogue) from exc
        finally:
            connection.close()


def has_deeds_under_way(connection: sqlite3.Connection) -> bool:
    """Return True if the daybook holds a deed that is not closed: one at work, or one cut short."""
    return connection.execute("SELECT 1 FROM deed WHERE state = 'under way' LIMIT 1").fetchone() is not None


def locate_archive(named: str | os.PathLike[str] | None = None, start: Path | None = None) -> Path:
    """
    Return the folder of the archive.

    That is the one ``named``, else the nearest looking upwards from ``start``, else ``TIEBEAM_ARCHIVE``.

    Raises:
        ArchiveError: there is none.
    """
    if named is not None:
        folder = Path(named)
        if not (folder / SETTINGS_NAME).is_file():
            raise ArchiveError(
                f"{folder} is no archive: it holds no {SETTINGS_NAME}. Make one with: tiebeam new FOLDER"
            )
        return folder.resolve()
    here = (start or Path.cwd()).resolve()
    for folder in (here, *here.parents):
        if (folder / SETTINGS_NAME).is_file():
            return folder
    from_environment = os.environ.get(ENVIRONMENT)
    if from_environment:
        return locate_archive(from_environment)
    raise ArchiveError(
        f"No archive here or above. Go into one, name it with --archive, set {ENVIRONMENT}, "
        "or make one with: tiebeam new FOLDER"
    )


def open_archive(named: str | os.PathLike[str] | None = None, start: Path | None = None) -> Archive:
    """
    Return the archive that ``locate_archive`` finds, with its settings read; reading it checks its schema.

    Raises:
        ArchiveError: there is none, or its catalogue is not there.
        SettingsError: its settings cannot be followed.
    """
    folder = locate_archive(named, start)
    archive = Archive(folder, read_settings(folder))
    if not archive.catalogue.is_file():
        raise ArchiveError(f"{folder} has no {CATALOGUE_NAME}. Restore one from {folder / 'backups'}.")
    return archive
