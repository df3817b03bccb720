"""Register scans where they lie. A scan is opened for reading only, whatever is done about it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from catalog import clock
from catalog.actions._late_deeds import LateDeed, said_paths
from catalog.actions._scan_records import match_scan, new_file, place_file, row_of, take_bytes, take_facts
from catalog.actions.drives import note_sighting
from catalog.actions.scan_matches import found_again
from catalog.errors import FileFormatError, RefusedError
from catalog.imaging import ScanFile
from catalog.intake.scan_folders import FoundScan, ScanFolders, walk_scan_folders
from catalog.intake.scan_proposals import KnownFiles, ScanProposal, Standing, is_unchanged, propose
from catalog.intake.scan_reading import read_scan_files
from catalog.model import File, Scan
from catalog.rules.references import format_reference
from catalog.rules.scan_names import NameMatch, NumberIndex, check_pattern, match_name
from catalog.store.archive import FOLDERS, Archive
from catalog.store.drives import DriveSighting, drive_rows, here, sight_drives
from catalog.store.files import FileRow, file_rows, shown_path
from catalog.store.scans import WaitingScan, sheet_numbers, waiting_scans
from catalog.store.writing import OnWait, Writing

OnProgress = Callable[[int, int], None]
"""Told how many files are done, and how many there are."""


@dataclass(frozen=True, slots=True)
class ScanOutcome:
    """What became of one file. ``words`` says it in a line, without the path."""

    standing: str
    path: str
    words: str
    scan_id: int | None = None
    sheet_id: int | None = None
    damage: str | None = None
    why_waiting: str | None = None
    is_finding: bool = False


@dataclass(frozen=True, slots=True)
class ScansAdded:
    """What became of a walk: an outcome for each file that was read, and counts of the rest."""

    outcomes: tuple[ScanOutcome, ...]
    unchanged: int
    litter: int
    others: int
    matched_again: int = 0

    @property
    def has_findings(self) -> bool:
        """Whether something is to be looked at."""
        return any(outcome.is_finding for outcome in self.outcomes)


@dataclass(frozen=True, slots=True)
class _Ground:
    """What is known before the first file is read."""

    known: KnownFiles
    index: NumberIndex
    waiting: tuple[WaitingScan, ...]
    sightings: dict[int, DriveSighting]


def add_scans(
    archive: Archive,
    paths: Sequence[Path],
    *,
    dry_run: bool = False,
    mounts: Sequence[Path] | None = None,
    workers: int | None = None,
    on_progress: OnProgress | None = None,
    on_wait: OnWait | None = None,
) -> ScansAdded:
    """
    Register every picture in files and folders, and return what became of each.

    One transaction a file, one daybook entry; a file already registered and not
    changed since is not read. ``dry_run`` reads and decides alike and writes nothing.

    Raises:
        SettingsError: the pattern for numbers in names is none.
        AmbiguousDriveError: a path lies on a drive that cannot be told from its copy.
    """
    pattern = check_pattern(archive.settings.scans_number_pattern)
    ground = _survey(archive, paths, mounts)
    walk = walk_scan_folders(paths, leave_out=[archive.folder / name for name in FOLDERS])
    outcomes = [ScanOutcome("not read", shown_path(path), reason, is_finding=True) for path, reason in walk.problems]
    matched_again = 0
    with LateDeed(archive, "scans add", said_paths(paths), on_wait) as deed:
        adding = _Adding(ground, deed, walk, lambda name: match_name(name, ground.index, pattern), dry_run)
        outcomes += _with_progress(adding.run(workers), len(walk.scans), adding, on_progress)
        if not dry_run:
            matched_again = _match_waiting(deed, archive, ground)
            _note_drives(deed, ground.sightings, adding.drives_met, mounts)
        deed.finish(_said(outcomes, paths))
    return ScansAdded(tuple(outcomes), adding.unchanged, walk.litter, walk.others, matched_again)


def _survey(archive: Archive, paths: Sequence[Path], mounts: Sequence[Path] | None) -> _Ground:
    with archive.reading() as connection:
        rows, drives = file_rows(connection), drive_rows(connection)
        index, waiting = NumberIndex.of(sheet_numbers(connection)), waiting_scans(connection)
    resolved = [path.resolve() for path in paths]
    sightings = sight_drives(drives, mounts=mounts, near=resolved)
    for sighting in sightings.values():
        if any(path.is_relative_to(other) for path in resolved for other in sighting.others):
            raise sighting.ask()
    return _Ground(KnownFiles(rows, archive.folder, here(sightings), mounts), index, tuple(waiting), sightings)


def _with_progress(
    outcomes: Iterator[ScanOutcome], length: int, adding: _Adding, on_progress: OnProgress | None
) -> Iterator[ScanOutcome]:
    for outcome in outcomes:
        yield outcome
        if on_progress:
            on_progress(adding.done, length)
    if on_progress:
        on_progress(length, length)


class _Adding:
    """One run over the files of a walk."""

    def __init__(
        self,
        ground: _Ground,
        deed: LateDeed,
        walk: ScanFolders,
        match: Callable[[str], NameMatch],
        dry_run: bool,
    ) -> None:
        self._known, self._deed, self._match = ground.known, deed, match
        self._scans, self._dry_run = walk.scans, dry_run
        self._namesakes = Counter(scan.path.name for scan in walk.scans)
        self._held: list[ScanProposal] = []
        self.unchanged = self.done = 0
        self.drives_met: set[int] = set()

    def run(self, workers: int | None) -> Iterator[ScanOutcome]:
        """Yield what becomes of each file that had to be read."""
        for found, read in read_scan_files(self._changed(), workers):
            self.done += 1
            if isinstance(read, FileFormatError):
                yield ScanOutcome("not read", shown_path(found.path), read.reason, is_finding=True)
                continue
            proposal = propose(self._known, found, read)
            if proposal.standing is Standing.MOVED and not self._is_plain_move(proposal):
                self._held.append(proposal)
                continue
            yield self._settled(proposal)
        yield from self._settle_held()

    def _changed(self) -> Iterator[tuple[FoundScan, Path]]:
        for found in self._scans:
            address = self._known.address(found.path)
            if address.drive_id is not None:
                self.drives_met.add(address.drive_id)
            row = self._known.recorded_at(address, found.path)
            if row is not None and is_unchanged(row, found, address) and self._known.scan_with(row):
                self.unchanged += 1
                self.done += 1
            else:
                yield found, found.path

    def _is_plain_move(self, proposal: ScanProposal) -> bool:
        """Return True if a moved file kept its name and nothing else found has it: no second candidate."""
        name = proposal.found.path.name
        return proposal.file is not None and proposal.file.name == name and self._namesakes[name] == 1

    def _settle_held(self) -> Iterator[ScanOutcome]:
        """Decide about files moved under another name once all were read: two may hold the same bytes."""
        by_record: dict[int, list[ScanProposal]] = {}
        for proposal in self._held:
            again = propose(self._known, proposal.found, proposal.facts)
            if again.standing is Standing.MOVED and again.file is not None:
                by_record.setdefault(again.file.id, []).append(again)
            else:
                yield self._settled(again)
        for rivals in by_record.values():
            named = [one for one in rivals if one.file and one.file.name == one.found.path.name]
            chosen = rivals if len(rivals) == 1 else named
            if len(chosen) == 1:
                yield self._settled(chosen[0])
                rest = [one for one in rivals if one is not chosen[0]]
                for one in rest:
                    yield self._settled(propose(self._known, one.found, one.facts))
            else:
                for one in rivals:
                    record = (one.file,) if one.file else ()
                    yield self._settled(replace(one, standing=Standing.ASKS, file=None, candidates=record))

    def _settled(self, proposal: ScanProposal) -> ScanOutcome:
        """Do what a proposal says and return what became of the file; a refusal is that file's alone."""
        try:
            return self._do(proposal)
        except RefusedError as error:
            return ScanOutcome("refused", shown_path(proposal.found.path), str(error), is_finding=True)

    def _do(self, proposal: ScanProposal) -> ScanOutcome:
        match proposal.standing:
            case Standing.NEW:
                return self._register(proposal)
            case Standing.COPIED:
                return self._record_copy(proposal)
            case Standing.ASKS:
                return self._ask(proposal)
            case Standing.PICTURE_CHANGED:
                return self._warn(proposal)
            case _:
                return self._follow(proposal)

    def _register(self, proposal: ScanProposal) -> ScanOutcome:
        found, facts = proposal.found, proposal.facts
        match = self._match(found.path.name)
        scan_id = None
        if not self._dry_run:
            with self._deed.step() as writing:
                file = self._file(writing, proposal)
                scan = Scan(file_id=file.id)
                take_facts(scan, facts)
                writing.session.add(scan)
                if match.sheet is not None:
                    match_scan(writing, scan, match.sheet, matched_by="name", text=match.text)
                writing.session.flush()
                scan_id, row = scan.id, row_of(file, scan.id)
            self._known.put(row)
        else:
            self._pretend(proposal)
        sheet = f"{format_reference('sheet', match.sheet)} by {match.text}" if match.sheet else f"waits: {match.why}"
        words = f"{facts.damage}; {sheet}" if facts.damage else sheet
        return ScanOutcome(
            "new", shown_path(found.path), words, scan_id, match.sheet, facts.damage,
            None if match.sheet else match.why, is_finding=facts.damage is not None,
        )  # fmt: skip

    def _file(self, writing: Writing, proposal: ScanProposal) -> File:
        """Return the record of the file: a new one, or that of a copy that is one no longer."""
        if proposal.file is not None:
            file = writing.session.get_one(File, proposal.file.id)
            place_file(file, proposal.address)
            take_bytes(file, proposal.found, proposal.facts)
        else:
            file = new_file(proposal.address, proposal.found, proposal.facts)
            writing.session.add(file)
        writing.session.flush()
        return file

    def _pretend(self, proposal: ScanProposal) -> None:
        """Let a rehearsal know the file, so that a second one with its bytes is called a copy."""
        address, found, facts = proposal.address, proposal.found, proposal.facts
        now = clock.timestamp()
        number = -1 - self.done
        self._known.put(
            FileRow(
                number, number, address.drive_id, address.path, address.raw_path, address.path_key,
                found.size_bytes, found.modified_ns, facts.file_sha256, facts.picture_sha256, "present",
                facts.damage, now, now,
            )
        )  # fmt: skip

    def _record_copy(self, proposal: ScanProposal) -> ScanOutcome:
        """Record another file with a scan's bytes as its copy: no second scan of the sheet comes of it."""
        same = proposal.candidates or tuple(self._known.same_content(proposal.facts))
        original = next((scan for row in same if (scan := self._known.scan_with(row))), None)
        if not self._dry_run:
            with self._deed.step() as writing:
                row = row_of(self._file(writing, proposal), None)
            self._known.put(row)
        words = "a copy"
        if original is not None:
            is_away = self._known.place(original) is None
            caption = "" if original.sha256 == proposal.facts.file_sha256 else ", with another caption"
            away = ", whose drive is away" if is_away else ""
            words = f"a copy of {self._named(original)} ({original.path}{away}){caption}; no scan of its own"
        scan_id = original.scan_id if original and (original.scan_id or 0) > 0 else None
        return ScanOutcome("copied", shown_path(proposal.found.path), words, scan_id)

    def _named(self, row: FileRow) -> str:
        is_kept = row.scan_id is None or row.scan_id > 0
        return (row.reference if is_kept else None) or "another file here"

    def _ask(self, proposal: ScanProposal) -> ScanOutcome:
        named = [scan for row in proposal.candidates if (scan := self._known.scan_with(row))]
        listed = ", ".join(dict.fromkeys(f"{self._named(row)} ({row.path})" for row in named))
        words = (
            f"holds the bytes of {listed}, no longer there, and is not the only candidate. "
            "Say which it is: tiebeam scans locate SCAN FILE"
        )
        return ScanOutcome("asks", shown_path(proposal.found.path), words, is_finding=True)

    def _warn(self, proposal: ScanProposal) -> ScanOutcome:
        row = proposal.file
        assert row is not None
        return ScanOutcome(
            proposal.standing, shown_path(proposal.found.path), changed_words(row, proposal.facts),
            row.scan_id, damage=proposal.facts.damage, is_finding=True,
        )  # fmt: skip

    def _follow(self, proposal: ScanProposal) -> ScanOutcome:
        """Let a record follow its file: to another place, another spelling, another caption."""
        row, facts = proposal.file, proposal.facts
        assert row is not None
        if self._dry_run:
            now = replace(row, **asdict(proposal.address))
        else:
            with self._deed.step() as writing:
                follow_file(writing, row, proposal)
                now = row_of(writing.session.get_one(File, row.id), row.scan_id, row.version_id)
        self._known.put(now)
        return ScanOutcome(
            proposal.standing, shown_path(proposal.found.path), _followed_words(proposal, row), row.scan_id,
            damage=facts.damage, is_finding=facts.damage is not None,
        )  # fmt: skip


def follow_file(writing: Writing, row: FileRow, proposal: ScanProposal) -> None:
    """Write down where a record's file is and what it holds now; its facts too when its bytes are others."""
    file = writing.session.get_one(File, row.id)
    place_file(file, proposal.address)
    take_bytes(file, proposal.found, proposal.facts)
    if row.scan_id is not None and proposal.facts.file_sha256 != row.sha256:
        take_facts(writing.session.get_one(Scan, row.scan_id), proposal.facts)


def changed_words(row: FileRow, facts: ScanFile) -> str:
    """Return the alarm about a file whose picture is no longer the one recorded."""
    good = f"last good {row.last_good_at[:10]}" if row.last_good_at else "never checked good"
    scan = row.reference or "the copy"
    if row.picture_sha256 is None:
        said = f"its bytes are others than {scan} recorded ({good}), and it has no picture digest to compare"
    else:
        said = f"its picture is not the one recorded for {scan} ({good})"
    damage = f"; {facts.damage}" if facts.damage else ""
    accept = "scans accept" if row.version_id is None else "versions accept"
    return f"{said}{damage}. Restore a good copy; if the change was meant: tiebeam {accept} {scan}"


def _followed_words(proposal: ScanProposal, row: FileRow) -> str:
    other_caption = proposal.facts.file_sha256 != row.sha256
    match proposal.standing:
        case Standing.MOVED:
            return f"moved here from {row.path}" + (", with another caption" if other_caption else "")
        case Standing.RENAMED:
            return f"renamed, from {row.path}"
        case Standing.RETURNED:
            return "is there again, as recorded"
        case Standing.MENDED:
            return proposal.facts.damage or f"whole now; was: {row.damage}"
        case Standing.CAPTION_CHANGED:
            return "caption changed, the picture is the same"
        case _:
            return "the same bytes, another file time"


def _match_waiting(deed: LateDeed, archive: Archive, ground: _Ground) -> int:
    """Match what waited to sheets whose numbers have come since; return how many."""
    found = found_again(archive, list(ground.waiting), ground.index)
    for scan_id, sheet_id, text in found:
        with deed.step() as writing:
            scan = writing.session.get_one(Scan, scan_id)
            match_scan(writing, scan, sheet_id, matched_by="name", text=text)
    return len(found)


def _note_drives(
    deed: LateDeed, sightings: dict[int, DriveSighting], met: set[int], mounts: Sequence[Path] | None
) -> None:
    """Write down where the drives met on the way are now, if that is news."""
    for drive_id in sorted(met):
        sighting = sightings[drive_id]
        if sighting.folder is None or (Path(sighting.drive.last_path) == sighting.folder and deed.begun is None):
            continue
        with deed.step() as writing:
            note_sighting(writing, sighting, mounts)


def _said(outcomes: Sequence[ScanOutcome], paths: Sequence[Path]) -> str:
    counts = Counter(outcome.standing for outcome in outcomes)
    counted = ", ".join(f"{count} {standing}" for standing, count in counts.items()) or "nothing new"
    named = ", ".join(shown_path(path) for path in paths[:3])
    more = f" and {len(paths) - 3} more" if len(paths) > 3 else ""
    return f"scans add {named}{more}: {counted}"


__all__ = ["OnProgress", "ScanOutcome", "ScansAdded", "add_scans", "changed_words", "follow_file"]
