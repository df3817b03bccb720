"""
What the catalogue keeps of sidecars: what was intended of each file, what became of it, what was last written.

Plain SQL for many files at once, inside the transaction of a deed; the daybook is told of every row.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from catalog.store.interrupted import decode_path, encode_path
from catalog.store.writing import Writing


@dataclass(frozen=True, slots=True)
class IntendedFile:
    """A file about to be written: what it holds now, the digests of that and of what it is to hold."""

    path: str
    before: bytes | None
    before_sha256: str | None
    after_sha256: str | None


@dataclass(frozen=True, slots=True)
class SettledFile:
    """What became of an intended file, by the id that ``intend_files`` gave it; ``reason`` if it was not written."""

    file_id: int
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class WrittenSidecar:
    """A scan's sidecar as it was written."""

    scan_id: int
    name: str
    sha256: str
    written_at: str
    content: bytes


def intend_files(writing: Writing, files: Sequence[IntendedFile]) -> range:
    """Write down files about to be written, and return their ids, in order."""
    first = writing.first_free_id("deed_file")
    writing.raw.executemany(
        "INSERT INTO deed_file (id, deed_id, path, state, before, before_sha256, after_sha256)"
        " VALUES (?, ?, ?, 'intended', ?, ?, ?)",
        [
            (file_id, writing.deed.id, encode_path(file.path), file.before, file.before_sha256, file.after_sha256)
            for file_id, file in enumerate(files, start=first)
        ],
    )
    return range(first, first + len(files))


def settle_files(writing: Writing, settled: Sequence[SettledFile]) -> None:
    """Write down what became of intended files."""
    writing.raw.executemany(
        "UPDATE deed_file SET state = ?, reason = ? WHERE id = ?",
        [("not done" if one.reason else "done", one.reason, one.file_id) for one in settled],
    )


def remember_sidecars(writing: Writing, written: Sequence[WrittenSidecar]) -> None:
    """Keep what was written beside scans, so that later changes by others can be told apart."""
    connection = writing.raw
    listed = f"[{','.join(str(one.scan_id) for one in written)}]"
    former = {
        row[0]: dict(zip(("name", "sha256", "written_at", "content"), row[1:], strict=True))
        for row in connection.execute(
            "SELECT scan_id, name, sha256, written_at, content FROM sidecar"
            " WHERE scan_id IN (SELECT value FROM json_each(?))",
            (listed,),
        )
    }
    connection.executemany(
        "INSERT INTO sidecar (scan_id, name, sha256, written_at, content) VALUES (?, ?, ?, ?, ?) ON CONFLICT (scan_id)"
        " DO UPDATE SET name = excluded.name, sha256 = excluded.sha256, written_at = excluded.written_at,"
        " content = excluded.content",
        [(one.scan_id, one.name, one.sha256, one.written_at, one.content) for one in written],
    )
    writing.record_added("sidecar", [one.scan_id for one in written if one.scan_id not in former])
    for one in written:
        before = former.get(one.scan_id)
        if before is not None:
            after = {"name": one.name, "sha256": one.sha256, "written_at": one.written_at, "content": one.content}
            changed = [column for column in after if after[column] != before[column]]
            writing.record_change(
                "sidecar", one.scan_id, "changed",
                {column: before[column] for column in changed}, {column: after[column] for column in changed},
            )  # fmt: skip


def settle_by_digest(writing: Writing) -> set[str]:
    """
    Settle what this deed intended and has not settled, by what the files hold now; return the paths that were written.

    Writing is by rename, so that a file holds either what was intended or what it held before.
    """
    connection = writing.raw
    rows = connection.execute(
        "SELECT id, path, after_sha256 FROM deed_file WHERE deed_id = ? AND state = 'intended'", (writing.deed.id,)
    ).fetchall()
    held = [(file_id, decode_path(path), after) for file_id, path, after in rows]
    written = {str(path): file_id for file_id, path, after in held if _digest(path) == after}
    settle_files(
        writing,
        [SettledFile(file_id, None if file_id in written.values() else "stopped") for file_id, _, _ in held],
    )
    return set(written)


def _digest(path: Path) -> str | None:
    try:
        return sha256(path.read_bytes()).hexdigest()
    except OSError:  # not there, or not to be read: it does not hold what was intended, as far as anyone can tell
        return None


def is_anyone_writing_files(connection: sqlite3.Connection) -> bool:
    """Return True if a deed over files is under way, in this process or another."""
    return connection.execute("SELECT 1 FROM deed WHERE state = 'under way' LIMIT 1").fetchone() is not None
