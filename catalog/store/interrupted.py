"""Deeds that were cut short: what a killed process had under way is settled at the next opening."""

from __future__ import annotations

import os
import sqlite3
import sys
from datetime import datetime, timedelta
from pathlib import Path

from catalog import clock
from catalog.errors import ArchiveError
from catalog.store.archive import Archive
from catalog.store.connections import connect


def this_process() -> str:
    """Return what tells this process from all others: host, process number, and when it began."""
    import socket  # late: every command opens an archive, few have a process to name

    return f"{socket.gethostname()}:{os.getpid()}:{began(os.getpid()) or ''}"


def is_alive(process: str | None, since: str | None = None) -> bool:
    """
    Return True if a deed's process may still be running; ``since`` is when the deed was begun.

    A number given anew to another process is told by when that one began. A process of another computer
    cannot be seen from here: it is taken to be at work for a day.
    """
    import socket

    if not process or process.count(":") < 2:
        return False
    host, number, beginning = process.rsplit(":", 2)
    if host != socket.gethostname():
        return since is None or clock.now() - datetime.fromisoformat(since) < _A_DAY
    if not _is_running(int(number)):
        return False
    now = began(int(number))
    return now is None or not beginning or now == beginning


_A_DAY = timedelta(days=1)


def began(number: int) -> str | None:
    """Return when a process of this computer began, in its system's own words; ``None`` if unknown."""
    if sys.platform == "linux":
        try:
            # proc(5), /proc/pid/stat: field 22 is the start time; the name, field 2, may hold brackets.
            fields = Path(f"/proc/{number}/stat").read_text("utf-8", "replace").rpartition(")")[2].split()
            boot = Path("/proc/sys/kernel/random/boot_id").read_text("ascii")[:8]
        except OSError:
            return None
        return f"{boot}-{fields[19]}"
    if sys.platform == "win32":
        return _began_on_windows(number)
    import subprocess

    asked = ["/bin/ps", "-o", "lstart=", "-p", str(number)]
    told = subprocess.run(asked, capture_output=True, text=True, check=False)  # noqa: S603 - no typed word in it
    return told.stdout.strip().replace(":", ".") or None


def _is_running(number: int) -> bool:
    if sys.platform == "win32":
        return _began_on_windows(number) is not None
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def _began_on_windows(number: int) -> str | None:
    import ctypes

    # PROCESS_QUERY_LIMITED_INFORMATION; os.kill would end the process there. STILL_ACTIVE is 259.
    kernel = ctypes.windll.kernel32  # type: ignore[attr-defined,unused-ignore]
    handle = kernel.OpenProcess(0x1000, False, number)
    if not handle:
        return None
    status, times = ctypes.c_ulong(), [ctypes.c_ulonglong() for _ in range(4)]
    try:
        kernel.GetExitCodeProcess(handle, ctypes.byref(status))
        kernel.GetProcessTimes(handle, *(ctypes.byref(moment) for moment in times))
    finally:
        kernel.CloseHandle(handle)
    return str(times[0].value) if status.value == 259 else None


def encode_path(path: str) -> str:
    """Return a file's path as the daybook keeps it: bytes that are not UTF-8 would be refused as text."""
    raw = os.fsencode(path)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return "bytes:" + raw.hex()


def decode_path(kept: str) -> Path:
    """Return the path that ``encode_path`` kept."""
    return Path(os.fsdecode(bytes.fromhex(kept[6:])) if kept.startswith("bytes:") else kept)


def settle_interrupted(archive: Archive) -> list[str]:
    """
    Close the daybook entries that killed processes left open, and return what is left to do, a line each.

    A file that was to be written counts as written when it holds what was intended, as not
    written otherwise: writing is by rename, so there is nothing between. Costs one indexed
    look when there is nothing to settle.
    """
    with archive.reading() as connection:
        open_deeds = connection.execute(
            "SELECT id, kind, process, left_to_do, at FROM deed WHERE state = 'under way'"
        ).fetchall()
    dead = [row for row in open_deeds if not is_alive(row[2], row[4])]
    if not dead:
        return []
    try:
        connection = connect(archive.catalogue, timeout_s=_PATIENCE_S, writing=True)
        try:
            return [line for row in dead for line in _settle(archive, connection, row[0], row[1], row[3])]
        finally:
            connection.close()
    except (ArchiveError, sqlite3.OperationalError):
        # Someone else writes, or the medium is read-only: reading goes on, and a later opening settles it.
        return [
            f"Deed {row[0]} ({row[1]}) was cut short; it is settled when the catalogue can be written." for row in dead
        ]


_PATIENCE_S = 1.0


def _settle(
    archive: Archive, connection: sqlite3.Connection, deed_id: int, kind: str, left_to_do: str | None
) -> list[str]:
    connection.execute("BEGIN IMMEDIATE")
    with connection:
        closed = connection.execute(
            "UPDATE deed SET state = 'interrupted', process = NULL WHERE id = ? AND state = 'under way'",
            (deed_id,),
        )
        if not closed.rowcount:  # another window was quicker
            return []
        if kind.startswith("documents ") and _settle_documents(archive, connection, deed_id):
            connection.execute("UPDATE deed SET state = 'done', left_to_do = NULL WHERE id = ?", (deed_id,))
            return []
        intended = connection.execute(
            "SELECT id, path, after_sha256 FROM deed_file WHERE deed_id = ? AND state = 'intended'",
            (deed_id,),
        ).fetchall()
        for file_id, path, after in intended:
            written = _digest(decode_path(path)) == after
            connection.execute(
                "UPDATE deed_file SET state = ?, reason = ? WHERE id = ?",
                ("done" if written else "not done", None if written else "cut short", file_id),
            )
    return [f"Deed {deed_id} ({kind}) was cut short. {left_to_do or ''}".strip()]


def _settle_documents(archive: Archive, connection: sqlite3.Connection, deed_id: int) -> bool:
    from catalog.store.document_files import FOLDER, settle_documents  # late: hardly ever needed

    return settle_documents(connection, archive.folder / FOLDER, deed_id)


def _digest(path: Path) -> str | None:
    import hashlib

    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
