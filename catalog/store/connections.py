"""Connections to the catalogue file: the pragmas every one of them has, and which journal is safe where."""

from __future__ import annotations

import os
import sqlite3
import sys
from pathlib import Path

from catalog.errors import ArchiveBusyError, ArchiveError

# File systems over a network, where WAL's shared memory does not work (SQLite, "Write-Ahead Logging",
# section 1: "WAL does not work over a network filesystem").
NETWORK_FILE_SYSTEMS = {
    "nfs", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "afs", "ncpfs", "9p", "fuse.sshfs", "fuse.rclone", "davfs",
    "fuse.davfs2", "glusterfs", "fuse.glusterfs", "ceph", "lustre", "afpfs", "webdav", "vboxsf", "prl_fs", "virtiofs",
}  # fmt: skip


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
        connection = sqlite3.connect(path, timeout=timeout_s, isolation_level=None, check_same_thread=False)
        connection.execute("PRAGMA foreign_keys = ON")
        if (
            not writing
        ):  # the triggers that keep the search words write to a virtual table, so writing trusts them
            connection.execute("PRAGMA trusted_schema = OFF")
            connection.execute("PRAGMA query_only = ON")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.DatabaseError as exc:
        raise as_archive_error(exc, path) from exc
    return connection


def as_archive_error(exc: Exception, path: Path) -> ArchiveError:
    """Return SQLite's complaint in the words of the archive."""
    said = str(exc).lower()
    if "locked" in said or "busy" in said:
        return ArchiveBusyError(
            f"{path.name}: another tiebeam is writing to this archive. Nothing was changed; try again."
        )
    if "not a database" in said or "malformed" in said:
        return ArchiveError(
            f"{path.name} is damaged ({exc}). Keep it, and restore the newest file of backups/."
        )
    if "disk is full" in said or "disk i/o" in said:
        return ArchiveError(f"{path.name}: {exc}. Nothing was changed; make room on the disk and try again.")
    if "readonly" in said or "unable to open" in said:
        return ArchiveError(f"{path} cannot be opened for this ({exc}). Check who may write to its folder.")
    return ArchiveError(f"{path.name}: {exc}")


def file_system_of(path: Path) -> str | None:
    """Return the kind of file system that holds ``path``, or ``None`` where the system does not say."""
    if sys.platform == "linux":
        return _linux_file_system(path)
    if sys.platform == "win32":
        import ctypes

        drive = os.path.splitdrive(path.resolve())[0] + "\\"
        # GetDriveTypeW: 4 is DRIVE_REMOTE.
        return (
            "smb" if drive.startswith("\\\\") or ctypes.windll.kernel32.GetDriveTypeW(drive) == 4 else "local"
        )
    return None


def _linux_file_system(path: Path) -> str | None:
    # proc(5), mountinfo: field 5 is the mount point (blanks as \040); the type follows the lone hyphen.
    try:
        lines = Path("/proc/self/mountinfo").read_text("utf-8", "surrogateescape").splitlines()
    except OSError:
        return None
    resolved = path.resolve()
    best: tuple[int, str] | None = None
    for line in lines:
        before, _, after = line.partition(" - ")
        mount = Path(before.split()[4].replace("\\040", " "))
        if resolved.is_relative_to(mount) and (best is None or len(mount.parts) >= best[0]):
            best = (len(mount.parts), after.split()[0])
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
    """Bring the catalogue to a journal mode and return the one it has; full syncs in either."""
    current: str = connection.execute("PRAGMA journal_mode").fetchone()[0]
    if current != mode:
        current = connection.execute(f"PRAGMA journal_mode = {mode}").fetchone()[0]
    connection.execute("PRAGMA synchronous = FULL")
    return current
