"""
Writing sidecars: one daybook entry, and what is intended of each file is written down before it is written.

Files go in small batches. While one batch is on its way to the disk the next is made ready; then one
transaction says what became of the first and what is intended of the second. A killed process leaves whole
sidecars and a list of what was intended; the next opening settles it (docs/decisions/0005).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from itertools import groupby, islice
from pathlib import Path

from catalog import clock
from catalog.errors import CatalogError, SidecarError, XmpError
from catalog.outputs.captions import CaptionMaker, House
from catalog.outputs.sidecar_batches import THREADS, SidecarGroup, SidecarWrite
from catalog.outputs.sidecar_captions import FrameCaption
from catalog.outputs.sidecar_files import ScanFolders, digest_of
from catalog.outputs.sidecars import SidecarPlan, plan_sidecar, program_name
from catalog.rules.counting import counted
from catalog.standards.iim_limits import OverLimit
from catalog.store.archive import Archive
from catalog.store.captions import (
    ScanToCaption,
    read_gazette,
    read_said,
    scans_of_sheets,
    scans_to_caption,
)
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import FileAddress, place_of, shown_path
from catalog.store.sidecar_facts import KeptSidecar, kept_sidecars, killed_writes, last_said
from catalog.store.sidecars import (
    IntendedFile,
    SettledFile,
    WrittenSidecar,
    intend_files,
    is_anyone_writing_files,
    remember_sidecars,
    settle_by_digest,
    settle_files,
)
from catalog.store.writing import FileDeed, OnWait, Writing, begin_file_deed

KIND = "sidecars write"
_BATCH = 64
_SLICE = 1024
"""So many scans are read from the catalogue at once: enough to be quick, few enough to be held."""
AGAIN = "What is left is done by: tiebeam sidecars write"


def _say_nothing(_sentence: str) -> None:
    pass


@dataclass(frozen=True, slots=True)
class SidecarDone:
    """
    What became of one scan's sidecar: ``written``, ``here`` (says it all already), ``away``, ``missing`` or ``failed``.

    ``reason`` says why one was not written. ``held`` names properties that both sides changed and ``theirs`` those that
    others changed since we wrote: in the file theirs stays. ``long`` are texts longer than IIM has room for, which are
    written whole.
    """

    scan_id: int
    sheet_id: int
    outcome: str
    path: str
    reason: str | None = None
    held: tuple[str, ...] = ()
    theirs: tuple[str, ...] = ()
    long: tuple[OverLimit, ...] = ()


@dataclass(frozen=True, slots=True)
class _Prepared:
    """A sidecar ready to be written: what was there, what will be, and the folder it must lie in."""

    scan: ScanToCaption
    write: SidecarWrite
    former: bytes | None
    plan: SidecarPlan

    def done(self, reason: str | None = None) -> SidecarDone:
        """Return what became of it."""
        outcome = "failed" if reason else "written"
        path = shown_path(self.write.path)
        plan = self.plan
        return SidecarDone(
            self.scan.scan_id, self.scan.sheet_id, outcome, path, reason, plan.held, plan.theirs, plan.long
        )


def write_sidecars(
    archive: Archive,
    sheet_ids: Sequence[int],
    *,
    dry_run: bool = False,
    on_wait: OnWait | None = None,
    on_progress: Callable[[int], None] = lambda _count: None,
    on_say: Callable[[str], None] = _say_nothing,
    left_to_do: str = AGAIN,
) -> Iterator[SidecarDone]:
    """
    Write the sidecar of every scan of these sheets, and tell what became of each.

    A sidecar that cannot be parsed is left alone and named; a drive that is away is no failure. Without
    anything to write no deed is begun. Everything is done once the iterator is exhausted; when it is broken
    off, the daybook says so, and ``left_to_do``. ``on_say`` hears what else is worth telling.

    Raises:
        ArchiveError: the catalogue cannot be read or written. Sidecars written so far stay, and are known.
    """
    ready = _prepare(archive, sheet_ids, _folders(archive, on_say, dry_run=dry_run))
    with _Writer(archive, left_to_do, on_wait) as writer:
        for batch in _batches(ready, _BATCH):
            prepared = [one for one in batch if isinstance(one, _Prepared)]
            done = [one for one in batch if isinstance(one, SidecarDone)]
            done += [one.done() for one in prepared] if dry_run else writer.advance(prepared)
            on_progress(len(done))
            yield from done
        done = writer.advance([])
        on_progress(len(done))
        yield from done


def _batches(items: Iterable[_Prepared | SidecarDone], size: int) -> Iterator[list[_Prepared | SidecarDone]]:
    iterator = iter(items)
    while batch := list(islice(iterator, size)):
        yield batch


# ---- what each sidecar will hold


def _folders(archive: Archive, on_say: Callable[[str], None], *, dry_run: bool) -> ScanFolders:
    """Return the folders of scans; what a killed run left half written in one goes, unless somebody writes now."""
    with archive.reading() as connection:
        may_tidy = not dry_run and not is_anyone_writing_files(connection)
    return ScanFolders(lambda folder, said: on_say(f"{shown_path(folder)}: {said}"), may_tidy=may_tidy)


def _prepare(archive: Archive, sheet_ids: Sequence[int], folders: ScanFolders) -> Iterator[_Prepared | SidecarDone]:
    """Build each scan's sidecar beside what is there now."""
    with archive.reading() as connection:
        drives = here(sight_drives(drive_rows(connection)))
        killed = killed_writes(connection)
    written_by = program_name()
    for scan, caption, kept in _captioned(archive, sheet_ids):
        path = place_of(FileAddress(scan.drive_id, scan.path, scan.raw_path, ""), archive.folder, drives)
        if path is None:
            yield SidecarDone(scan.scan_id, scan.sheet_id, "away", scan.path, "its drive is away")
            continue
        try:
            yield _plan(scan, path, _home(scan, path, archive, drives), caption, folders, written_by, kept, killed)
        except FileNotFoundError:
            yield SidecarDone(scan.scan_id, scan.sheet_id, "missing", scan.path, "the scan is not there")
        except CatalogError as exc:
            yield SidecarDone(scan.scan_id, scan.sheet_id, "failed", scan.path, str(exc))


def _captioned(
    archive: Archive, sheet_ids: Sequence[int]
) -> Iterator[tuple[ScanToCaption, FrameCaption, KeptSidecar | None]]:
    """
    Yield each scan of these sheets with its caption and what was last written, a slice of the catalogue at a time.

    No view of the catalogue stays open meanwhile: where there is no WAL it would keep the deed from writing.
    """
    with archive.reading() as connection:
        scan_ids = scans_of_sheets(connection, sheet_ids)
        maker = CaptionMaker(read_gazette(connection, archive.about_days), House.of(archive.settings))
    for start in range(0, len(scan_ids), _SLICE):
        with archive.reading() as connection:
            rows = scans_to_caption(connection, scan_ids[start : start + _SLICE])
            said = read_said(connection, {row.sheet_id for row in rows})
            kept = kept_sidecars(connection, [row.scan_id for row in rows])
        for _, of_scan in groupby(rows, key=lambda row: row.scan_id):
            together = list(of_scan)
            last = kept.get(together[0].scan_id)
            yield together[0], maker.caption(together, said), last


def _home(scan: ScanToCaption, path: Path, archive: Archive, drives: dict[int, Path]) -> Path:
    """Return the folder that a scan's sidecar must lie in, links followed."""
    if scan.drive_id is not None:
        return drives[scan.drive_id]
    return archive.folder if path.is_relative_to(archive.folder) else path.parent


def _plan(
    scan: ScanToCaption,
    path: Path,
    home: Path,
    caption: FrameCaption,
    folders: ScanFolders,
    written_by: str,
    kept: KeptSidecar | None,
    killed: Mapping[str, str],
) -> _Prepared | SidecarDone:
    sidecar, former = folders.read_sidecar_of(path, home)
    try:
        plan = plan_sidecar(former, caption, written_by, last_said(kept, digest_of(former), killed))
    except XmpError as exc:
        raise SidecarError(sidecar, f"{exc}; left as it is") from exc
    if not plan.is_changed:
        shown = shown_path(sidecar)
        return SidecarDone(scan.scan_id, scan.sheet_id, "here", shown, None, plan.held, plan.theirs, plan.long)
    return _Prepared(scan, SidecarWrite(sidecar, plan.data, digest_of(former), home), former, plan)


# ---- writing them


@dataclass(frozen=True, slots=True)
class _UnderWay:
    """A batch that was intended and is on its way to the disk."""

    batch: list[_Prepared]
    ids: range
    group: SidecarGroup


class _Writer:
    """
    Writes batch after batch within one deed, which it begins with the first sidecar there is to write.

    Left without a fault the deed is finished; otherwise it is broken off with what is left to do.
    """

    def __init__(self, archive: Archive, left_to_do: str, on_wait: OnWait | None) -> None:
        self._archive, self._left_to_do, self._on_wait = archive, left_to_do, on_wait
        self._pool = ThreadPoolExecutor(THREADS, thread_name_prefix="sidecars")
        self._deed: FileDeed | None = None
        self._under_way: _UnderWay | None = None
        self._intended: list[_Prepared] = []
        self._written = self._failed = 0

    def __enter__(self) -> _Writer:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        try:
            if self._deed is not None:
                self._break_off(self._deed) if kind else self._finish(self._deed)
        finally:
            self._pool.shutdown(cancel_futures=True)

    def advance(self, prepared: list[_Prepared]) -> list[SidecarDone]:
        """Finish the batch under way, set the next one on its way, and return what became of the first."""
        if not prepared and self._under_way is None:
            return []
        if self._deed is None:
            self._deed = begin_file_deed(
                self._archive, KIND, "writing sidecars", left_to_do=self._left_to_do, on_wait=self._on_wait
            )
        before, done = self._under_way, self._finish_group()
        with self._deed.step() as writing:
            if before is not None:
                _settle(writing, before, done)
            self._intended = prepared
            ids = intend_files(writing, [_as_intended(one) for one in prepared])
        self._written += sum(one.outcome == "written" for one in done)
        self._failed += sum(one.outcome == "failed" for one in done)
        self._under_way = None
        if prepared:
            self._under_way = _UnderWay(prepared, ids, SidecarGroup([one.write for one in prepared]))
            self._under_way.group.start(self._pool)
        return done

    def _finish_group(self) -> list[SidecarDone]:
        if self._under_way is None:
            return []
        errors = self._under_way.group.finish()
        batch = self._under_way.batch
        return [one.done(None if error is None else str(error)) for one, error in zip(batch, errors, strict=True)]

    def _finish(self, deed: FileDeed) -> None:
        deed.finish(f"wrote {counted(self._written, 'sidecar')}" + (f"; {self._failed} failed" if self._failed else ""))

    def _break_off(self, deed: FileDeed) -> None:
        """Take away what has no name yet, look at what has, and close the entry with what is left to do."""
        if self._under_way is not None:
            self._under_way.group.abandon()
        # When the catalogue itself cannot be written, the next opening does this, as after a kill.
        with suppress(CatalogError):
            with deed.step() as writing:
                written = settle_by_digest(writing)
                batch = [one for one in self._intended if str(one.write.path) in written]
                remember_sidecars(writing, [_as_remembered(one) for one in batch])
            deed.break_off(f"wrote {counted(self._written + len(written), 'sidecar')}, then stopped", self._left_to_do)


def _settle(writing: Writing, under_way: _UnderWay, done: Sequence[SidecarDone]) -> None:
    """Write down what became of a batch."""
    settle_files(writing, [SettledFile(i, one.reason) for i, one in zip(under_way.ids, done, strict=True)])
    written = [one for one, what in zip(under_way.batch, done, strict=True) if what.outcome == "written"]
    remember_sidecars(writing, [_as_remembered(one) for one in written])


def _as_intended(one: _Prepared) -> IntendedFile:
    return IntendedFile(str(one.write.path), one.former, one.write.expected, one.write.digest)


def _as_remembered(one: _Prepared) -> WrittenSidecar:
    write = one.write
    return WrittenSidecar(one.scan.scan_id, shown_path(write.path.name), write.digest, clock.timestamp(), one.plan.base)
