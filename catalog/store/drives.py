"""Drives: the marker each is known by, and where its folder is now."""

from __future__ import annotations

import os
import re
import sqlite3
import string
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from catalog.errors import AmbiguousDriveError
from catalog.rules.references import format_reference

MARKER_NAME = ".tiebeam-drive"
DEEPEST = 4
"""Below a mount point no deeper than this is a drive's folder sought."""
MOST_FOLDERS = 10_000
_MARKER = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class DriveRow:
    """A drive of the catalogue."""

    id: int
    name: str
    marker: str
    last_path: str
    depth: int
    last_seen_at: str

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference("drive", self.id)


@dataclass(frozen=True, slots=True)
class DriveSighting:
    """Where a drive is: ``folder`` is ``None`` when it is away, or when two are alike, neither known."""

    drive: DriveRow
    folder: Path | None
    others: tuple[Path, ...] = ()
    """Folders that carry the same marker: a copied drive."""

    @property
    def is_unclear(self) -> bool:
        """Whether several folders carry its marker and none is where it was last."""
        return self.folder is None and bool(self.others)

    def ask(self) -> AmbiguousDriveError:
        """Return the error that asks which folder is the drive."""
        here = (self.folder,) if self.folder is not None else ()
        return AmbiguousDriveError(self.drive.name, (*here, *self.others))


def drive_rows(connection: sqlite3.Connection) -> list[DriveRow]:
    """Return every drive the archive knows."""
    found = connection.execute("SELECT id, name, marker, last_path, depth, last_seen_at FROM drive ORDER BY id")
    return [DriveRow(*row) for row in found]


def read_marker(folder: Path) -> str | None:
    """Return the marker that a folder carries, or ``None`` when it carries none that can be read."""
    try:
        with (folder / MARKER_NAME).open("rb") as file:
            text = file.read(200).decode("ascii", "replace").split("\n", 1)[0].strip()
    except OSError:  # no such folder, no marker in it, or a disk that cannot be read: all of them say "not here"
        return None
    return text if _MARKER.fullmatch(text) else None


def mount_points() -> list[Path]:
    """Return the folders and letters under which this system shows drives that come and go."""
    if sys.platform == "win32":
        letters = (Path(f"{letter}:/") for letter in string.ascii_uppercase)
        return [letter for letter in letters if letter.exists()]
    if sys.platform == "darwin":
        return list(_folders_in(Path("/Volumes")))
    # /mnt may be a mount point itself; /media and /run/media hold drives, or folders of them by person.
    found = [Path("/mnt"), *_folders_in(Path("/mnt"))]
    for base in (Path("/media"), Path("/run/media")):
        for folder in _folders_in(base):
            found += [folder, *_folders_in(folder)]
    return found


def depth_of(folder: Path, mounts: Sequence[Path] | None = None) -> int:
    """Return how many folders below its mount point or letter ``folder`` lies."""
    known = [mount for mount in (mount_points() if mounts is None else mounts) if folder.is_relative_to(mount)]
    if known:
        mount = max(known, key=lambda one: len(one.parts))
    else:
        mount = next((one for one in (folder, *folder.parents) if os.path.ismount(one)), Path(folder.anchor))
    return len(folder.parts) - len(mount.parts)


def sight_drives(
    drives: Iterable[DriveRow], *, mounts: Sequence[Path] | None = None, near: Iterable[Path] = ()
) -> dict[int, DriveSighting]:
    """
    Return where each drive is now, by id.

    Looked at are the folder where it was last, folders at its depth under the
    mount points, and those above the paths in ``near``. Where two carry its
    marker, the one where it was last is it; else neither is, until a person says so.
    """
    drives = list(drives)
    if not drives:
        return {}
    mounts = mount_points() if mounts is None else mounts
    above = list(dict.fromkeys(folder for path in near for folder in (path, *path.parents)))
    by_depth: dict[int, list[tuple[str, Path]]] = {}
    marked_above = [(marker, folder) for folder in above if (marker := read_marker(folder))]
    sightings = {}
    for drive in drives:
        if drive.depth not in by_depth:
            by_depth[drive.depth] = _marked_at(mounts, drive.depth)
        last = Path(drive.last_path)
        found = [folder for marker, folder in by_depth[drive.depth] + marked_above if marker == drive.marker]
        is_there = read_marker(last) == drive.marker
        distinct = _distinct([*([last] if is_there else []), *found])
        if is_there or len(distinct) == 1:
            sightings[drive.id] = DriveSighting(drive, distinct[0], tuple(distinct[1:]))
        else:
            sightings[drive.id] = DriveSighting(drive, None, tuple(distinct))
    return sightings


def here(sightings: dict[int, DriveSighting]) -> dict[int, Path]:
    """Return the folders of the drives that are here, by drive."""
    return {drive_id: sighting.folder for drive_id, sighting in sightings.items() if sighting.folder is not None}


def _distinct(folders: Iterable[Path]) -> list[Path]:
    """Return folders without those that are the same one by another way (a link, a second mount of it)."""
    kept: dict[tuple[int, int], Path] = {}
    for folder in folders:
        resolved = folder.resolve()
        try:
            status = resolved.stat()
        except OSError:  # gone between looking and now: it is not here
            continue
        kept.setdefault((status.st_dev, status.st_ino), resolved)
    return list(kept.values())


def _marked_at(mounts: Iterable[Path], depth: int) -> list[tuple[str, Path]]:
    """Return every marker and its folder at a depth below the mount points."""
    if depth > DEEPEST:
        return []
    level = [mount for mount in mounts if mount.is_dir()]
    for _ in range(depth):
        level = [below for folder in level for below in _folders_in(folder)][:MOST_FOLDERS]
    return [(marker, folder) for folder in level if (marker := read_marker(folder))]


def _folders_in(folder: Path) -> Iterator[Path]:
    from catalog.imaging import is_litter  # late: a list of scans must not wait for it

    try:
        with os.scandir(folder) as entries:
            names = sorted(entry.name for entry in entries if entry.is_dir() and not is_litter(entry.name))
    except OSError:  # absent, or not ours to look into: no drive is found there
        return
    for name in names:
        yield folder / name


def mount_away(path: Path, mounts: Sequence[Path] | None = None) -> Path | None:
    """
    Return the mount point that an absent path lay under, if nothing is mounted there now; else ``None``.

    A drive that is not plugged in leaves an empty folder, or none at all.
    """
    above = next((folder for folder in path.parents if folder.is_dir()), None)
    if above is None:  # the letter itself is not there
        return Path(path.anchor)
    mounts = mount_points() if mounts is None else mounts
    for mount in mounts:
        if path.is_relative_to(mount) and (not mount.is_dir() or (above == mount and is_empty(mount))):
            return mount
    bases = {
        Path("/media"),
        Path("/mnt"),
        Path("/run/media"),
        Path("/Volumes"),
        *(mount.parent for mount in mounts),
    }
    if above in bases and above.parent != above and above != path.parent:
        return above / path.relative_to(above).parts[0]
    return None


def is_empty(folder: Path) -> bool:
    """Return True if a folder holds nothing but what systems leave behind."""
    from catalog.imaging import is_litter

    try:
        return all(is_litter(entry.name) for entry in folder.iterdir())
    except OSError:  # it cannot be looked into, so nobody can say that it is empty
        return False


def files_on(connection: sqlite3.Connection) -> dict[int, int]:
    """Return how many files lie on each drive."""
    rows = connection.execute("SELECT drive_id, count(*) FROM file WHERE drive_id IS NOT NULL GROUP BY drive_id")
    return dict(rows.fetchall())
