"""Verify scans: is each file there, and does it hold what was recorded? Nothing is dropped or altered."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from catalog import clock
from catalog.actions._late_deeds import LateDeed
from catalog.actions.drives import note_sighting
from catalog.actions.scans import OnProgress, ScanOutcome, changed_words, follow_file
from catalog.errors import FileFormatError
from catalog.imaging import ScanFile
from catalog.intake.scan_folders import FoundScan, walk_scan_folders
from catalog.intake.scan_proposals import KnownFiles, ScanProposal, Standing, propose
from catalog.intake.scan_reading import read_scan_files
from catalog.model import File
from catalog.rules.references import format_reference
from catalog.store.archive import FOLDERS, Archive
from catalog.store.drives import DriveSighting, drive_rows, here, is_empty, mount_away, sight_drives
from catalog.store.files import FileRow, file_rows, shown_path
from catalog.store.writing import OnWait

_BATCH_FILES = 200
_BATCH_S = 5.0


@dataclass(frozen=True, slots=True)
class Away:
    """A drive, or a place where one was mounted, that is not here, and how many files lie on it."""

    name: str
    last_seen: str | None
    files: int


@dataclass(frozen=True, slots=True)
class ScansVerified:
    """What verifying found: how many files are fine, what is to be looked at, what is away."""

    fine: int
    outcomes: tuple[ScanOutcome, ...]
    away: tuple[Away, ...]

    @property
    def has_findings(self) -> bool:
        """Whether something is to be looked at. What is away is not."""
        return any(outcome.is_finding for outcome in self.outcomes)


def verify_scans(
    archive: Archive,
    *,
    drive_id: int | None = None,
    quick: bool = False,
    mounts: Sequence[Path] | None = None,
    workers: int | None = None,
    on_progress: OnProgress | None = None,
    on_wait: OnWait | None = None,
) -> ScansVerified:
    """
    Compare every file that is here with what was recorded of it; with ``drive_id`` those of one drive.

    ``quick`` reads only files whose size or time changed. A file that is not where
    it was is sought by its content on the drives that are here. When each was
    checked, and what was found, is one deed, in steps of some files each.

    Raises:
        AmbiguousDriveError: ``drive_id`` cannot be told from its copy.
    """
    with archive.reading() as connection:
        rows, drives = file_rows(connection), drive_rows(connection)
    sightings = sight_drives(drives, mounts=mounts)
    if drive_id is not None and sightings[drive_id].is_unclear:
        raise sightings[drive_id].ask()
    known = KnownFiles(rows, archive.folder, here(sightings), mounts)
    asked = [row for row in rows if drive_id is None or row.drive_id == drive_id]
    arguments = " ".join(
        [
            *([f"--drive {format_reference('drive', drive_id)}"] if drive_id else []),
            *(["--quick"] if quick else []),
        ]
    )
    with LateDeed(archive, "scans verify", arguments, on_wait) as deed:
        verifying = _Verifying(archive, known, deed, quick, on_progress)
        outcomes = list(verifying.run(asked, sightings, workers))
        for drive in sorted({row.drive_id for row in asked if row.drive_id is not None} & known.drives.keys()):
            with deed.step() as writing:
                note_sighting(writing, sightings[drive], mounts)
        counts = Counter(outcome.standing for outcome in outcomes)
        counted = "".join(f", {count} {standing}" for standing, count in counts.items())
        deed.finish(f"scans verify {arguments}".strip() + f": {verifying.fine} fine{counted}")
    return ScansVerified(verifying.fine, tuple(outcomes), tuple(verifying.away))


class _Verifying:
    """One verification."""

    def __init__(
        self, archive: Archive, known: KnownFiles, deed: LateDeed, quick: bool, on_progress: OnProgress | None
    ) -> None:
        self._archive, self._known, self._deed, self._quick = archive, known, deed, quick
        self._on_progress = on_progress
        self._good: list[tuple[FileRow, ScanProposal | None]] = []
        self._last_step = time.monotonic()
        self._missing: list[FileRow] = []
        self._done = 0
        self.fine = 0
        self.away: list[Away] = []

    def run(
        self, rows: Sequence[FileRow], sightings: dict[int, DriveSighting], workers: int | None
    ) -> Iterator[ScanOutcome]:
        """Yield what is to be said; count what is fine."""
        placed = list(self._without_those_away(rows, sightings))
        yield from (
            ScanOutcome("asks", sighting.drive.name, str(sighting.ask()), is_finding=True)
            for sighting in sightings.values()
            if sighting.is_unclear and any(row.drive_id == sighting.drive.id for row in rows)
        )
        for (row, found), read in read_scan_files(self._to_read(placed), workers):
            outcome = self._checked(row, found, read)
            self._advance(len(placed))
            if outcome is not None:
                yield outcome
        self._keep_good(at_once=True)
        yield from self._seek_missing(workers)

    def _advance(self, length: int) -> None:
        self._done += 1
        if self._on_progress:
            self._on_progress(self._done, length)

    # -- what is here ------------------------------------------------------------------------------

    def _without_those_away(
        self, rows: Sequence[FileRow], sightings: dict[int, DriveSighting]
    ) -> Iterator[tuple[FileRow, Path]]:
        """Yield files with their places; count those whose drive is away, one line a drive."""
        drives_away: Counter[int] = Counter()
        places_away: Counter[Path] = Counter()
        for row in rows:
            place = self._known.place(row)
            if place is None:
                drives_away[row.drive_id or 0] += 1
            elif row.drive_id is None and not place.exists() and (mount := self._empty_mount(place)):
                places_away[mount] += 1
            else:
                yield row, place
        for drive_id, count in drives_away.items():
            drive = sightings[drive_id].drive
            if not sightings[drive_id].is_unclear:
                self.away.append(Away(drive.name, drive.last_seen_at, count))
        self.away += [Away(shown_path(place), None, count) for place, count in places_away.items()]

    def _empty_mount(self, place: Path) -> Path | None:
        """Return where a drive was mounted that held a file of no named drive, if nothing is there now."""
        if place.is_relative_to(self._archive.folder):
            return None
        mount = mount_away(place, self._known.mounts)
        if mount is not None:
            return mount
        above = next((folder for folder in place.parents if folder.is_dir()), None)
        return above if above is not None and above != place.parent and is_empty(above) else None

    def _to_read(self, placed: Iterable[tuple[FileRow, Path]]) -> Iterator[tuple[tuple[FileRow, FoundScan], Path]]:
        for row, place in placed:
            try:
                status = place.stat()
            except OSError:  # not there, or not to be reached: it is sought elsewhere, and named if not found
                self._missing.append(row)
                self._done += 1
                continue
            found = FoundScan(place, status.st_size, status.st_mtime_ns)
            is_as_recorded = (row.size_bytes, row.modified_ns) == (found.size_bytes, found.modified_ns)
            if self._quick and is_as_recorded and row.state == "present":
                self._done += 1
                self._good.append((row, None))
                self.fine += 1
                self._keep_good()
            else:
                yield (row, found), place

    def _checked(self, row: FileRow, found: FoundScan, read: ScanFile | FileFormatError) -> ScanOutcome | None:
        """Return what is to be said of a file that was read, ``None`` when it is fine."""
        if isinstance(read, FileFormatError):
            good = f"last good {row.last_good_at[:10]}" if row.last_good_at else "never checked good"
            return self._say(row, found.path, "not readable", f"{read.reason} ({good})")
        proposal = replace(propose(self._known, found, read), file=row)
        standing = proposal.standing
        is_same = read.file_sha256 == row.sha256
        if standing is Standing.PICTURE_CHANGED or (standing is Standing.NEW and not is_same):
            return self._alarm(row, proposal)
        if is_same or standing is Standing.COPIED:
            self._good.append((row, proposal))
            self._keep_good()
            if read.damage:
                return self._say(row, found.path, "damaged", f"{read.damage} (as registered)")
            self.fine += 1
            return None
        with self._deed.step() as writing:
            follow_file(writing, row, proposal)
        if standing is Standing.CAPTION_CHANGED:
            words = "the caption was changed elsewhere, the picture is the same; the record follows"
            return self._say(row, found.path, standing, words)
        whole = read.damage or f"whole now; was: {row.damage}"
        return self._say(row, found.path, standing, whole)

    def _alarm(self, row: FileRow, proposal: ScanProposal) -> ScanOutcome:
        words = changed_words(row, proposal.facts)
        with self._deed.step() as writing:
            file = writing.session.get_one(File, row.id)
            # The digests stay those of the good file: they are what a restored copy is known by.
            file.state, file.damage = "damaged", "its picture is not the one recorded"
            file.last_checked_at = clock.timestamp()
        return self._say(row, proposal.found.path, Standing.PICTURE_CHANGED, words)

    def _say(self, row: FileRow, path: Path, standing: str, words: str) -> ScanOutcome:
        return ScanOutcome(standing, shown_path(path), words, row.scan_id, is_finding=True)

    def _keep_good(self, *, at_once: bool = False) -> None:
        """Write down in one step that some files are fine."""
        is_due = len(self._good) >= _BATCH_FILES or time.monotonic() - self._last_step >= _BATCH_S
        if not self._good or not (at_once or is_due):
            return
        now = clock.timestamp()
        with self._deed.step() as writing:
            for row, proposal in self._good:
                if proposal is not None:
                    follow_file(writing, row, proposal)
                else:
                    writing.session.get_one(File, row.id).last_checked_at = now
        self._good.clear()
        self._last_step = time.monotonic()

    # -- what is not where it was ------------------------------------------------------------------

    def _seek_missing(self, workers: int | None) -> Iterator[ScanOutcome]:
        """Look for missing files by content; what is found in one place is followed there."""
        if not self._missing:
            return
        wanted = {row.sha256 for row in self._missing if row.size_bytes}
        found: dict[str, list[tuple[FoundScan, ScanFile]]] = {}
        for scan, read in read_scan_files(self._candidates(), workers):
            if isinstance(read, ScanFile) and read.file_sha256 in wanted:
                found.setdefault(read.file_sha256, []).append((scan, read))
        taken: set[Path] = set()
        for row in self._missing:
            yield self._found_again(row, found.get(row.sha256, []), taken)

    def _candidates(self) -> Iterator[tuple[FoundScan, Path]]:
        """Yield files that are not registered and have the size of one that is missing."""
        sizes = {row.size_bytes for row in self._missing if row.size_bytes}
        folders = [self._archive.folder, *self._known.drives.values(), *self._folders_of_no_drive()]
        walk = walk_scan_folders(dict.fromkeys(folders), [self._archive.folder / name for name in FOLDERS])
        for scan in walk.scans:
            if scan.size_bytes in sizes and not self._is_registered(scan.path):
                yield scan, scan.path

    def _folders_of_no_drive(self) -> list[Path]:
        """Return where files of no drive may have gone: beside their places, or below where all lie."""
        undriven = [row for row in self._missing if row.drive_id is None]
        lost = [place for row in undriven if (place := self._known.place(row)) is not None]
        above = [next(folder for folder in place.parents if folder.is_dir()) for place in lost]
        near = [folder for one in above for folder in (one, one.parent)]
        if lost:
            near += self._known.common_folder()
        # A folder near the root would mean looking through the whole machine.
        return [folder for folder in near if len(folder.parts) > 2]

    def _is_registered(self, path: Path) -> bool:
        row = self._known.recorded_at(self._known.address(path), path)
        return row is not None and row.path == self._known.address(path).path

    def _found_again(self, row: FileRow, places: Sequence[tuple[FoundScan, ScanFile]], taken: set[Path]) -> ScanOutcome:
        free = [one for one in places if one[0].path not in taken]
        rivals = [other for other in self._missing if other.sha256 == row.sha256]
        if len(free) > 1 or (free and len(rivals) > 1):
            named = [one for one in free if one[0].path.name == row.name]
            is_sole = len([other for other in rivals if other.name == row.name]) == 1
            if len(named) == 1 and is_sole:
                free = named
            else:
                return self._ask(row, [scan.path for scan, _ in free])
        if not free:
            return self._is_missing(row)
        scan, facts = free[0]
        taken.add(scan.path)
        proposal = ScanProposal(Standing.MOVED, scan, self._known.address(scan.path), facts, row)
        with self._deed.step() as writing:
            follow_file(writing, row, proposal)
        return self._say(row, scan.path, Standing.MOVED, f"moved here from {row.path}; the record follows")

    def _ask(self, row: FileRow, places: Sequence[Path]) -> ScanOutcome:
        listed = ", ".join(shown_path(path) for path in places)
        self._mark_missing(row)
        words = (
            f"is not there, and its bytes are at {listed}: more than one candidate. "
            f"Say which: tiebeam scans locate {self._named(row)} FILE"
        )
        return ScanOutcome("asks", row.path, words, row.scan_id, is_finding=True)

    def _is_missing(self, row: FileRow) -> ScanOutcome:
        self._mark_missing(row)
        good = f"last good {row.last_good_at[:10]}" if row.last_good_at else "never checked good"
        copies = [copy.path for copy in self._known.same_bytes(row) if self._is_there(copy)]
        hint = f"a copy is at {copies[0]}" if copies else "put it back, or add it where it is: tiebeam scans add"
        return ScanOutcome("missing", row.path, f"is not there ({good}); {hint}", row.scan_id, is_finding=True)

    def _is_there(self, row: FileRow) -> bool:
        place = self._known.place(row)
        return place is not None and place.exists()

    def _named(self, row: FileRow) -> str:
        scan = self._known.scan_with(row)
        return (scan.reference if scan else None) or "SCAN"

    def _mark_missing(self, row: FileRow) -> None:
        if row.state != "missing":
            with self._deed.step() as writing:
                file = writing.session.get_one(File, row.id)
                file.state, file.last_checked_at = "missing", clock.timestamp()
