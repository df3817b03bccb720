"""Connections to the catalogue file: the pragmas every one of them has, and which journal is safe where."""

from __future__ import annotations

import errno
import os
import re
import sqlite3
import sys
from pathlib import Path

from catalog.errors import ArchiveBusyError, ArchiveError

# File systems over a network, where WAL's shared memory does not work (SQLite, "Write-Ahead Logging",
# section 1: "WAL does not work over a network filesystem").
NETWORK_FILE_SYSTEMS = {
    "nfs", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "afs", "ncpfs", "9p", "fuse.sshfs", "fuse.rclone",
    "davfs", "fuse.davfs2", "glusterfs", "fuse.glusterfs", "ceph", "lustre", "afpfs", "webdav", "vboxsf",
    "prl_fs", "virtiofs",
}  # fmt: skip


SYNCHRONOUS = "FULL"
"""A deed that was told as done is on the disk, whatever happens to the power (SQLite, "PRAGMA synchronous")."""


def connect(path: Path, *, timeout_s: float = 5.0, writing: bool = False) -> sqlite3.Connection:
    """
    Return a connection with foreign keys on, in autocommit: transactions are begun by hand.

    A connection that is not ``writing`` cannot change the catalogue.

    Raises:
        ArchiveError: the file is absent, unreadable or no database.
    """
    if not path.is_file():
        raise ArchiveError(f"{path} is not there. Restore it from backups/.")
    try:
        try:
            return _opened(path, timeout_s, writing)
        except sqlite3.OperationalError as exc:
            if writing or not _is_at_rest(path, exc):
                raise
            return _opened(path, timeout_s, writing, "?mode=ro&immutable=1")
    except sqlite3.DatabaseError as exc:
        raise as_archive_error(exc, path) from exc


def _opened(path: Path, timeout_s: float, writing: bool, how: str = "") -> sqlite3.Connection:
    name = path.absolute().as_uri() + how if how else path
    connection = sqlite3.connect(name, timeout=timeout_s, isolation_level=None, check_same_thread=False, uri=bool(how))
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        if not writing:
            # Writing trusts the schema: the triggers that keep the search words write to a virtual table.
            connection.execute("PRAGMA trusted_schema = OFF")
            connection.execute("PRAGMA query_only = ON")
            # KiB, taken as needed: a village among a million sheets touches more pages than the usual 2 MB hold.
            connection.execute("PRAGMA cache_size = -32768")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _is_at_rest(path: Path, exc: sqlite3.OperationalError) -> bool:
    """
    Return True if the catalogue can be read as it lies: nobody can write beside it, and no journal lies about.

    Reading in WAL mode makes files beside the catalogue, which a read-only medium or a full disk refuses.
    """
    journals = (path.with_name(path.name + suffix) for suffix in ("-wal", "-journal"))
    nobody = not os.access(path.parent, os.W_OK) or "disk i/o" in str(exc).lower()
    return nobody and not any(journal.exists() and journal.stat().st_size for journal in journals)


def as_archive_error(exc: Exception, path: Path) -> ArchiveError:
    """Return SQLite's complaint in the words of the archive."""
    said = str(exc).lower()
    if "locked" in said or "busy" in said:
        return ArchiveBusyError(
            f"{path.name}: another tiebeam is writing to this archive. Nothing was changed; try again."
        )
    if "not a database" in said or "malformed" in said or "corrupt" in said:
        return ArchiveError(
            f"{path.name} is damaged ({exc}). Keep it as it is, and restore the newest file of backups/."
        )
    if "is full" in said or "disk i/o" in said or getattr(exc, "errno", None) == errno.ENOSPC:
        return ArchiveError(f"{path.name}: {exc}. Nothing was changed; make room on the disk and try again.")
    if "readonly" in said or "unable to open" in said or isinstance(exc, PermissionError):
        return ArchiveError(f"{path} cannot be written ({exc}). Nothing was changed; see who may write to its folder.")
    return ArchiveError(f"{path.name}: {exc}. Nothing was changed.")


def is_of_the_file(exc: sqlite3.Error) -> bool:
    """Return True if SQLite complains of the catalogue or the disk, not of this program's own statement."""
    return type(exc) in (sqlite3.OperationalError, sqlite3.DatabaseError)


def file_system_of(path: Path) -> str | None:
    """Return the kind of file system that holds ``path``, or ``None`` where the system does not say."""
    if sys.platform == "linux":
        try:
            mounts = Path("/proc/self/mountinfo").read_text("utf-8", "surrogateescape")
        except OSError:
            return None
        return file_system_in(mounts, path.resolve())
    if sys.platform == "win32":
        import ctypes

        drive = os.path.splitdrive(path.resolve())[0] + "\\"
        # GetDriveTypeW: 4 is DRIVE_REMOTE.
        remote = drive.startswith("\\\\") or ctypes.windll.kernel32.GetDriveTypeW(drive) == 4
        return "smb" if remote else "local"
    return None


_OCTAL = re.compile(r"\\([0-7]{3})")


def file_system_in(mounts: str, path: Path) -> str | None:
    """
    Return the kind of file system that holds ``path``, from the text of ``/proc/self/mountinfo``.

    Source: proc(5), "/proc/pid/mountinfo": field 5 is the mount point, with blank, tab, line feed and
    backslash in octal; the type follows the lone hyphen; a later line covers an earlier one.
    """
    best: tuple[int, str] | None = None
    for line in mounts.splitlines():
        before, hyphen, after = line.partition(" - ")
        fields = before.split(" ")
        if not hyphen or len(fields) < 5 or not after:
            continue
        mount = Path(_OCTAL.sub(lambda match: chr(int(match[1], 8)), fields[4]))
        if path.is_relative_to(mount) and (best is None or len(mount.parts) >= best[0]):
            best = (len(mount.parts), after.split(" ")[0])
    return best[1] if best else None


def journal_for(folder: Path, setting: str) -> tuple[str, str | None]:
    """
    Return the journal mode that is safe in ``folder``, and a sentence to say where it is not the usual one.

    ``setting`` is the archive's ``[catalogue] journal``: ``auto``, ``wal`` or ``delete``.
    """
    if setting == "delete":
        return "delete", None
    kind = file_system_of(folder)
    if kind is not None and kind.lower() in NETWORK_FILE_SYSTEMS:
        return "delete", (
            f"{folder} lies on a network share ({kind}): the catalogue uses its slower, safer journal here, "
            "and one window at a time should write."
        )
    return "wal", None


def set_journal(connection: sqlite3.Connection, mode: str) -> str:
    """
    Bring the catalogue to a journal mode and return the one it has; full syncs in either.

    Raises:
        ArchiveBusyError: others have it open, so that the safer journal of a network share cannot be taken.
    """
    current: str = connection.execute("PRAGMA journal_mode").fetchone()[0]
    if current != mode:
        current = _switched(connection, current, mode)
    if mode == "delete" and current == "wal":
        raise ArchiveBusyError("Another tiebeam has this archive open. Close it first; nothing was changed.")
    connection.execute(f"PRAGMA synchronous = {SYNCHRONOUS}")
    connection.execute("PRAGMA cache_size = -65536")  # KiB: a card index of thousands fits, its indexes too
    return current


def _switched(connection: sqlite3.Connection, current: str, mode: str) -> str:
    """Return the journal mode after trying to change it; while others use the catalogue it stays as it is."""
    wait_ms = connection.execute("PRAGMA busy_timeout").fetchone()[0]
    connection.execute("PRAGMA busy_timeout = 0")  # it is only a matter of speed, and tried again at the next deed
    try:
        current = connection.execute(f"PRAGMA journal_mode = {mode}").fetchone()[0]
    except sqlite3.OperationalError as exc:
        if "locked" not in str(exc):
            raise
    finally:
        connection.execute(f"PRAGMA busy_timeout = {wait_ms}")
    return current
