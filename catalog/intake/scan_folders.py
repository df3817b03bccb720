"""Walk folders for scans: what is a picture, what is litter, what cannot be read. Nothing is written."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from catalog.imaging import is_litter, is_scan_name


@dataclass(frozen=True, slots=True)
class FoundScan:
    """A file that promises to be a scan, where it lies. ``path`` is absolute and goes through no link."""

    path: Path
    size_bytes: int
    modified_ns: int


@dataclass(frozen=True, slots=True)
class ScanFolders:
    """What a walk found: scans in the order of their paths, how much else, and what to say about it."""

    scans: tuple[FoundScan, ...] = ()
    litter: int = 0
    """Files that systems leave behind: ``._x`` companions, ``.DS_Store`` and their like."""
    others: int = 0
    """Other files in the folders, no pictures by their names."""
    problems: tuple[tuple[Path, str], ...] = ()


@dataclass
class _Walk:
    leave_out: frozenset[Path]
    scans: dict[Path, FoundScan] = field(default_factory=dict)
    seen_folders: set[tuple[int, int]] = field(default_factory=set)
    litter: int = 0
    others: int = 0
    problems: list[tuple[Path, str]] = field(default_factory=list)


def walk_scan_folders(paths: Iterable[Path], leave_out: Collection[Path] = ()) -> ScanFolders:
    """
    Return the scans in files and folders, walked to the bottom.

    A link is followed to what it names, no folder is walked twice, and a file
    reached by two ways is one file. Folders in ``leave_out`` are passed by. A
    path given by name that is no picture is a problem; one met in a folder is counted.
    """
    walk = _Walk(frozenset(folder.resolve() for folder in leave_out))
    for path in paths:
        resolved = path.resolve()
        if any(resolved.is_relative_to(folder) for folder in walk.leave_out):
            walk.problems.append((path, "belongs to the archive itself and holds no scans"))
        elif resolved.is_dir():
            _walk_folder(walk, resolved)
        elif not resolved.exists():
            walk.problems.append((path, "is not there; mend the path"))
        elif is_litter(resolved.name):
            walk.litter += 1
        elif not is_scan_name(resolved.name):
            walk.problems.append((path, "is no picture by its name (.tif .tiff .jpg .jpeg .png .dng)"))
        else:
            _take(walk, resolved)
    scans = tuple(sorted(walk.scans.values(), key=lambda scan: scan.path.parts))
    return ScanFolders(scans, walk.litter, walk.others, tuple(walk.problems))


def _walk_folder(walk: _Walk, top: Path) -> None:
    """Walk a folder without recursion, so that no depth of folders is too deep."""
    waiting = [top]
    while waiting:
        folder = waiting.pop()
        if folder in walk.leave_out or not _is_new(walk, folder):
            continue
        for path, is_folder in _entries(walk, folder):
            if is_folder:
                waiting.append(path)
            else:
                _take(walk, path)


def _is_new(walk: _Walk, folder: Path) -> bool:
    try:
        status = folder.stat()
    except OSError as exc:
        walk.problems.append((folder, f"cannot be looked into ({exc.strerror or exc})"))
        return False
    # st_ino is 0 where the file system numbers nothing; the path itself then tells folders apart.
    key = (status.st_dev, status.st_ino or hash(folder))
    if key in walk.seen_folders:
        return False
    walk.seen_folders.add(key)
    return True


def _entries(walk: _Walk, folder: Path) -> Iterator[tuple[Path, bool]]:
    """Yield the folders and scans of a folder; count the rest."""
    try:
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: os.fsencode(entry.name))
    except OSError as exc:
        walk.problems.append((folder, f"cannot be looked into ({exc.strerror or exc})"))
        return
    for entry in entries:
        # A drive's waste-basket on Linux is named for its owner: .Trash-1000.
        if is_litter(entry.name) or entry.name.lower().startswith(".trash"):
            walk.litter += 1
            continue
        path = folder / entry.name
        if entry.is_symlink():
            path = path.resolve()
            if not path.exists():
                if is_scan_name(entry.name):
                    walk.problems.append((folder / entry.name, f"is a link to {path}, which is not there"))
                continue
        if path.is_dir() if entry.is_symlink() else entry.is_dir(follow_symlinks=False):
            yield path, True
        elif is_scan_name(entry.name):
            yield path, False
        else:
            walk.others += 1


def _take(walk: _Walk, path: Path) -> None:
    if path in walk.scans:
        return
    try:
        status = path.stat()
    except OSError as exc:
        walk.problems.append((path, f"cannot be read ({exc.strerror or exc})"))
        return
    walk.scans[path] = FoundScan(path, status.st_size, status.st_mtime_ns)
