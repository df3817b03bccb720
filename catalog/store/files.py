"""Files: how a path is written down, found again, and read back as rows."""

from __future__ import annotations

import os
import sqlite3
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePath

from catalog.rules.references import format_reference


@dataclass(frozen=True, slots=True)
class FileAddress:
    """Where a file lies, as the catalogue writes it down: see ``catalog.model.files.File``."""

    drive_id: int | None
    path: str
    raw_path: bytes | None
    path_key: str


@dataclass(frozen=True, slots=True)
class FileRow:
    """A file of the catalogue, with the scan or the edit version it is; one that is neither is a copy of one."""

    id: int
    scan_id: int | None
    drive_id: int | None
    path: str
    raw_path: bytes | None
    path_key: str
    size_bytes: int
    modified_ns: int
    sha256: str
    picture_sha256: str | None
    state: str
    damage: str | None
    last_checked_at: str
    last_good_at: str | None
    version_id: int | None = None

    @property
    def reference(self) -> str | None:
        """The permanent short name of what it is the file of; ``None`` for a copy."""
        if self.scan_id is not None:
            return format_reference("scan", self.scan_id)
        return None if self.version_id is None else format_reference("edit_version", self.version_id)

    @property
    def name(self) -> str:
        """The file's name alone."""
        return self.path.rpartition("/")[2]


_FILE_ROWS = """
    SELECT f.id, c.id, f.drive_id, f.path, f.raw_path, f.path_key, f.size_bytes, f.modified_ns, f.sha256,
        f.picture_sha256, f.state, f.damage, f.last_checked_at, f.last_good_at, w.id
    FROM file f LEFT JOIN scan c ON c.file_id = f.id LEFT JOIN edit_version w ON w.file_id = f.id
"""


def file_rows(connection: sqlite3.Connection) -> list[FileRow]:
    """Return every file the catalogue knows, in the order of their places."""
    found = connection.execute(_FILE_ROWS + "ORDER BY ifnull(f.drive_id, 0), f.path")
    return [FileRow(*row) for row in found]


def file_of_scan(connection: sqlite3.Connection, scan_id: int) -> FileRow | None:
    """Return the file that is a scan, or ``None`` when there is no such scan."""
    row = connection.execute(_FILE_ROWS + "WHERE c.id = ?", (scan_id,)).fetchone()
    return FileRow(*row) if row else None


def shown_path(path: str | PurePath) -> str:
    r"""
    Return a path as it is shown and kept: bytes that are not UTF-8 as escapes.

    >>> shown_path("\udcc9glise.tif")
    '\\xC9glise.tif'
    """
    text = path.as_posix() if isinstance(path, PurePath) else path
    if text.isascii() or not any("\ud800" <= char <= "\udfff" for char in text):
        return text
    return "".join(_shown(char) for char in text)


def _shown(char: str) -> str:
    if "\udc80" <= char <= "\udcff":  # Python keeps an undecodable byte so (PEP 383)
        return f"\\x{ord(char) - 0xDC00:02X}"
    return f"\\u{ord(char):04X}" if "\ud800" <= char <= "\udfff" else char


def path_key(path: str) -> str:
    """Return what two spellings of one path share: composed Unicode, no case."""
    if path.isascii():
        return path.lower()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", path).casefold())


def file_address(absolute: Path, archive_folder: Path, drives: Mapping[int, Path]) -> FileAddress:
    """
    Return how the catalogue writes down the place of a file.

    ``drives`` maps the drives that are here to their folders. The innermost of
    them and of the archive's own folder counts; outside all of them the path is absolute.
    """
    homes: list[tuple[int, int | None, Path]] = [(len(archive_folder.parts), None, archive_folder)]
    homes += [(len(folder.parts), drive_id, folder) for drive_id, folder in drives.items()]
    holding = [home for home in homes if absolute.is_relative_to(home[2])]
    drive_id, written = None, absolute.as_posix()
    if holding:
        _, drive_id, folder = max(holding, key=lambda home: home[0])
        written = absolute.relative_to(folder).as_posix()
    shown = shown_path(written)
    raw = None if shown == written else os.fsencode(written)
    return FileAddress(drive_id, shown, raw, path_key(shown))


def place_of(row: FileRow | FileAddress, archive_folder: Path, drives: Mapping[int, Path]) -> Path | None:
    """Return where a file should lie now, or ``None`` when its drive is not here."""
    written = row.path if row.raw_path is None else os.fsdecode(row.raw_path)
    if row.drive_id is None:
        return archive_folder / written  # an absolute path stays what it is
    folder = drives.get(row.drive_id)
    return None if folder is None else folder / written


def has_own_name(path: Path, beside: Path) -> bool:
    """
    Return True if ``path`` is on the disk as a file of its own, not ``beside`` under another spelling.

    A disk that knows no case, or one Unicode form only, answers to both spellings of a name.
    """
    if not path.exists():
        return False
    try:
        if not path.samefile(beside):
            return True
        listed = [entry.name for entry in path.parent.iterdir()]
    except OSError:  # it went away meanwhile, so it is no file of its own
        return False
    return path.name in listed and path.name != beside.name


def file_of_version(connection: sqlite3.Connection, version_id: int) -> FileRow | None:
    """Return the file that is an edit version, or ``None`` when there is no such version or it has no file."""
    row = connection.execute(_FILE_ROWS + "WHERE w.id = ?", (version_id,)).fetchone()
    return FileRow(*row) if row else None


def copies_of(row: FileRow, rows: Iterable[FileRow]) -> list[FileRow]:
    """Return the other files that hold the same bytes, or the same picture under another caption."""
    return [other for other in rows if other.id != row.id and is_copy(other, row.sha256, row.picture_sha256)]


def is_copy(row: FileRow, sha256: str, picture_sha256: str | None) -> bool:
    """Return True if a recorded file holds these bytes or this picture."""
    return row.size_bytes > 0 and (
        row.sha256 == sha256 or (picture_sha256 is not None and row.picture_sha256 == picture_sha256)
    )
