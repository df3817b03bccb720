"""Deeds that were cut short: what a killed process had under way is settled at the next opening."""

from __future__ import annotations

import hashlib
import os
import socket
import sqlite3
from pathlib import Path

from catalog.store.archive import Archive
from catalog.store.connections import connect


def this_process() -> str:
    """Return what tells this process from others: host and process number."""
    return f"{socket.gethostname()}:{os.getpid()}"


def is_alive(process: str | None) -> bool:
    """Return True if a deed's process may still be running. One on another host is taken to be."""
    if not process:
        return False
    host, _, number = process.rpartition(":")
    if host != socket.gethostname():
        return True
    if int(number) == os.getpid():
        return True
    if os.name == "nt":
        return _is_alive_on_windows(int(number))
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def _is_alive_on_windows(number: int) -> bool:
    import ctypes

    # PROCESS_QUERY_LIMITED_INFORMATION; os.kill would end the process there.
    kernel = ctypes.windll.kernel32  # type: ignore[attr-defined,unused-ignore]
    handle = kernel.OpenProcess(0x1000, False, number)
    if handle:
        kernel.CloseHandle(handle)
    return bool(handle)


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
            "SELECT id, kind, process, left_to_do FROM deed WHERE state = 'under way'"
        ).fetchall()
    dead = [row for row in open_deeds if not is_alive(row[2])]
    if not dead:
        return []
    connection = connect(archive.catalogue, timeout_s=archive.settings.catalogue_wait_seconds, writing=True)
    try:
        return [_settle(connection, *row) for row in dead]
    finally:
        connection.close()


def _settle(
    connection: sqlite3.Connection, deed_id: int, kind: str, process: str, left_to_do: str | None
) -> str:
    connection.execute("BEGIN IMMEDIATE")
    with connection:
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
        left = f"was cut short. {left_to_do or ''}".strip()
        connection.execute(
            "UPDATE deed SET state = 'interrupted', process = NULL, left_to_do = ? WHERE id = ? AND state = 'under way'",
            (left_to_do, deed_id),
        )
    return f"Deed {deed_id} ({kind}) {left}"


def _digest(path: Path) -> str | None:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
