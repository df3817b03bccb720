"""Backups: SQLite's online copy, verified before it counts."""

from __future__ import annotations

import os
import sqlite3
from contextlib import suppress
from pathlib import Path

from catalog import clock
from catalog.errors import ArchiveError
from catalog.passing_files import force_folder
from catalog.store.archive import Archive
from catalog.store.connections import as_archive_error, connect


def back_up(archive: Archive, folder: Path | None = None, why: str = "") -> Path:
    """
    Copy the catalogue while others may use it, verify the copy, and return its path.

    The copy goes to ``folder`` (default: the archive's ``backups/``) under the moment's name. It is
    verified by ``integrity_check``, ``foreign_key_check`` and by counting every table against the original.

    Raises:
        ArchiveError: the copy could not be made or is not sound; nothing is left behind then.
    """
    target_folder = folder or archive.folder / "backups"
    stamp = clock.now().strftime("%Y-%m-%d_%H%M%S")
    target = _free_name(target_folder, f"archive_{stamp}" + (f"_{why}" if why else ""))
    unfinished = target.with_suffix(".unfinished")
    try:
        target_folder.mkdir(parents=True, exist_ok=True)
        _copy_and_verify(archive, unfinished)
        with unfinished.open("rb+") as file:
            os.fsync(file.fileno())
        unfinished.replace(target)
        force_folder(target_folder)
    except OSError as exc:
        reason = f"{exc.filename or target_folder}: {exc.strerror or exc}"
        raise ArchiveError(f"No backup was made: {reason}. Name another folder with --to.") from exc
    except sqlite3.Error as exc:
        raise as_archive_error(exc, target) from exc
    finally:
        with suppress(OSError):  # it may never have been made; another fault is already on its way
            unfinished.unlink(missing_ok=True)
    return target


def _free_name(folder: Path, stem: str) -> Path:
    for count in range(1, 1000):
        candidate = folder / (f"{stem}.db" if count == 1 else f"{stem}_{count}.db")
        if not candidate.exists():
            return candidate
    raise ArchiveError(f"{folder} holds a thousand backups of this second; name another folder.")


def _copy_and_verify(archive: Archive, target: Path) -> None:
    source = connect(archive.catalogue, timeout_s=archive.settings.catalogue_wait_seconds)
    target.touch(mode=0o600, exist_ok=False)  # names and addresses of persons are in it
    copy = sqlite3.connect(target, isolation_level=None)
    try:
        # One read transaction over copy and count, so that a deed done meanwhile cannot make them differ.
        source.execute("BEGIN")
        counted = table_counts(source)
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
        faults = faults_of(copy)
        if table_counts(copy) != counted:
            faults.append("it does not hold as many rows as the catalogue")
        if faults:
            raise ArchiveError(f"The copy is not sound: {faults[0]}. No backup was kept; check the disk.")
    finally:
        copy.close()
        source.close()


def faults_of(connection: sqlite3.Connection) -> list[str]:
    """Return what SQLite finds wrong with a catalogue: its pages, its indexes, its links."""
    found = [row[0] for row in connection.execute("PRAGMA integrity_check(20)") if row[0] != "ok"]
    found += [
        f"{table} row {row_id} points to a {parent} that is not there"
        for table, row_id, parent, _ in connection.execute("PRAGMA foreign_key_check").fetchmany(20)
    ]
    return found


def table_counts(connection: sqlite3.Connection) -> dict[str, int]:
    """Return how many rows each table of the catalogue holds."""
    names = [
        row[0]
        for row in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            " AND name NOT LIKE 'search_words%' ORDER BY name"
        )
    ]
    return {name: connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in names}
