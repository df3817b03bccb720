"""What each scan found is to the catalogue: new, known, moved, copied, changed. Nothing is written."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from catalog.imaging import ScanFile
from catalog.intake.scan_folders import FoundScan
from catalog.store.drives import mount_away
from catalog.store.files import (
    FileAddress,
    FileRow,
    file_address,
    has_own_name,
    is_copy,
    place_of,
)


class Standing(StrEnum):
    """How a file that was found stands to the catalogue."""

    NEW = "new"
    UNCHANGED = "unchanged"
    TOUCHED = "touched"  # the same bytes, another modification time
    RETURNED = "returned"  # it was missing, or its picture had changed, and the recorded bytes are there again
    RENAMED = "renamed"  # only the case or the Unicode form of its path changed
    MOVED = "moved"
    COPIED = "copied"
    MENDED = "mended"  # it was damaged when it was registered, and holds something else now
    CAPTION_CHANGED = "caption changed"
    PICTURE_CHANGED = "picture changed"
    ASKS = "asks"


@dataclass(frozen=True, slots=True)
class ScanProposal:
    """What to do about one file. ``file`` is its record; ``candidates`` are records to choose from."""

    standing: Standing
    found: FoundScan
    address: FileAddress
    facts: ScanFile
    file: FileRow | None = None
    candidates: tuple[FileRow, ...] = ()


class KnownFiles:
    """The files of the catalogue by place and by content, kept up to date while more are added."""

    def __init__(
        self,
        rows: Iterable[FileRow],
        archive_folder: Path,
        drives: Mapping[int, Path],
        mounts: Sequence[Path] | None = None,
    ) -> None:
        self.archive_folder, self.drives, self.mounts = archive_folder, drives, mounts
        self._rows: dict[int, FileRow] = {}
        self._by_place: dict[tuple[int | None, str], int] = {}
        self._by_key: dict[tuple[int | None, str], list[int]] = {}
        self._by_content: dict[str, list[int]] = {}
        for row in rows:
            self.put(row)

    def put(self, row: FileRow) -> None:
        """Take in a row that was added or changed."""
        before = self._rows.get(row.id)
        if before is not None:
            self._by_place.pop((before.drive_id, before.path), None)
            self._by_key[before.drive_id, before.path_key].remove(row.id)
            for digest in _digests(before):
                self._by_content[digest].remove(row.id)
        self._rows[row.id] = row
        self._by_place[row.drive_id, row.path] = row.id
        self._by_key.setdefault((row.drive_id, row.path_key), []).append(row.id)
        for digest in _digests(row):
            self._by_content.setdefault(digest, []).append(row.id)

    def address(self, path: Path) -> FileAddress:
        """Return how a path is written down."""
        return file_address(path, self.archive_folder, self.drives)

    def place(self, row: FileRow) -> Path | None:
        """Return where a recorded file should lie, or ``None`` when its drive is away."""
        return place_of(row, self.archive_folder, self.drives)

    def recorded_at(self, address: FileAddress, path: Path) -> FileRow | None:
        """Return the record of this place, whatever case or Unicode form its path was written in."""
        exact = self._by_place.get((address.drive_id, address.path))
        if exact is not None:
            return self._rows[exact]
        for row_id in self._by_key.get((address.drive_id, address.path_key), ()):
            place = self.place(self._rows[row_id])
            if place is not None and not has_own_name(place, path):
                return self._rows[row_id]
        return None

    def same_content(self, facts: ScanFile) -> list[FileRow]:
        """Return the records that hold these bytes, else those that hold this picture."""
        if facts.damage is not None or facts.size_bytes == 0:
            return []
        for digest in (facts.file_sha256, facts.picture_sha256):
            found = [self._rows[row_id] for row_id in self._by_content.get(digest or "", ())]
            found = [row for row in found if is_copy(row, facts.file_sha256, facts.picture_sha256)]
            if found:
                return found
        return []

    def common_folder(self) -> list[Path]:
        """Return the folder below which all files outside the archive and of no drive lie, if any."""
        places = [self.place(row) for row in self._rows.values() if row.drive_id is None]
        outside = [place for place in places if place and not place.is_relative_to(self.archive_folder)]
        parents = [place.parent for place in outside]
        if not parents or len({parent.anchor for parent in parents}) > 1:
            return []
        return [Path(os.path.commonpath(parents))]

    def same_bytes(self, row: FileRow) -> list[FileRow]:
        """Return the other records that hold a file's bytes."""
        alike = [self._rows[i] for i in self._by_content.get(row.sha256, ())]
        return [other for other in alike if other.id != row.id and other.sha256 == row.sha256]

    def scan_with(self, row: FileRow) -> FileRow | None:
        """Return the record, a scan or an edit version, of which ``row`` is a copy: ``row`` itself when it is one."""
        if row.reference is not None:
            return row
        alike = {i for digest in _digests(row) for i in self._by_content.get(digest, ())}
        return next((self._rows[i] for i in sorted(alike) if self._rows[i].reference is not None), None)

    def is_gone(self, row: FileRow) -> bool:
        """Return True if a file is not where it was, and not because its drive is away."""
        place = self.place(row)
        return place is not None and not place.exists() and mount_away(place, self.mounts) is None


def is_unchanged(row: FileRow, found: FoundScan, address: FileAddress) -> bool:
    """Return True if a file need not be read again: its name, size and moment are those recorded."""
    return (
        row.path == address.path
        and row.state != "missing"
        and row.size_bytes == found.size_bytes
        and row.modified_ns == found.modified_ns
    )


def propose(known: KnownFiles, found: FoundScan, facts: ScanFile) -> ScanProposal:
    """Return what a file that was read is to the catalogue."""
    address = known.address(found.path)
    row = known.recorded_at(address, found.path)
    if row is None:
        return _elsewhere(known, found, address, facts)
    if row.reference is None:
        # A copy: of another scan now if it was changed, or of none any more and so a scan itself.
        others = [other for other in known.same_content(facts) if other.id != row.id]
        if not others or facts.file_sha256 != row.sha256:
            return ScanProposal(Standing.COPIED if others else Standing.NEW, found, address, facts, row)
    return ScanProposal(_standing_of(row, address, facts), found, address, facts, row)


def _standing_of(row: FileRow, address: FileAddress, facts: ScanFile) -> Standing:
    """Return how the bytes at a recorded place stand to those recorded."""
    if facts.file_sha256 == row.sha256:
        was_good = row.picture_sha256 is not None or row.damage is None
        if row.state == "missing" or (row.state == "damaged" and was_good and facts.damage is None):
            return Standing.RETURNED
        return Standing.RENAMED if row.path != address.path else Standing.TOUCHED
    if row.damage is not None and row.last_good_at is None:
        return Standing.MENDED
    if row.picture_sha256 is not None and facts.picture_sha256 == row.picture_sha256:
        return Standing.CAPTION_CHANGED
    return Standing.PICTURE_CHANGED


def _elsewhere(known: KnownFiles, found: FoundScan, address: FileAddress, facts: ScanFile) -> ScanProposal:
    """Return what a file at a place not recorded is: moved, copied or new."""
    same = known.same_content(facts)
    gone = [row for row in same if known.is_gone(row)]
    if len(gone) > 1:
        by_name = [row for row in gone if row.name == found.path.name]
        if len(by_name) != 1:
            return ScanProposal(Standing.ASKS, found, address, facts, candidates=tuple(gone))
        gone = by_name
    if gone:
        return ScanProposal(Standing.MOVED, found, address, facts, gone[0])
    if same:
        return ScanProposal(Standing.COPIED, found, address, facts, candidates=tuple(same))
    return ScanProposal(Standing.NEW, found, address, facts)


def _digests(row: FileRow) -> list[str]:
    return list(dict.fromkeys(digest for digest in (row.sha256, row.picture_sha256) if digest and row.size_bytes))
