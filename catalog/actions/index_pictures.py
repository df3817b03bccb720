"""Making index pictures and clearing out stale ones. The catalogue is not changed, so the daybook has no entry."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from catalog.outputs.index_pictures import PictureJob, PictureResult, make_pictures
from catalog.passing_files import PASSING_GLOB
from catalog.store.archive import Archive
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import place_of, shown_path
from catalog.store.index_pictures import (
    FOLDER,
    PictureScan,
    index_picture_path,
    is_whole,
    kept_pictures,
    picture_scans,
)

FINDINGS = ("missing", "changed", "damaged", "undecodable", "unfollowed", "unwritable", "left")
_OLD_S = 3600
"""A half-written file this old is no other window's work in hand."""


@dataclass(frozen=True, slots=True)
class IndexPictureDone:
    """
    What became of a scan's index picture.

    ``made``, ``here`` (made before), ``away`` (its drive is not here), ``missing``, ``changed``, ``damaged``,
    ``undecodable``, ``unfollowed`` (its version's tone steps), ``unwritable``, or ``left`` (not begun because nothing
    could be written). ``path`` is where it is; ``None`` when there is none.
    """

    scan_id: int
    file: str
    outcome: str
    path: Path | None = None
    reason: str | None = None

    @property
    def is_finding(self) -> bool:
        """Whether there is something to look at."""
        return self.outcome in FINDINGS


def make_index_pictures(
    archive: Archive,
    scan_ids: Iterable[int] | None = None,
    *,
    again: bool = False,
    dry_run: bool = False,
    workers: int | None = None,
    on_begin: Callable[[int], None] = lambda _count: None,
    on_progress: Callable[[int], None] = lambda _count: None,
) -> Iterator[IndexPictureDone]:
    """
    Make the index pictures of these scans, or of all, and tell what became of each.

    One that is there already stays; ``again`` makes it anew. ``on_begin`` hears how many will be made. When a
    picture cannot be written (no room, no leave) the rest are left.

    Raises:
        ArchiveError: the catalogue cannot be read.
    """
    with archive.reading() as connection:
        scans = picture_scans(connection, scan_ids)
        drives = here(sight_drives(drive_rows(connection))) if any(scan.drive_id for scan in scans) else {}
    settled, jobs = _sorted_out(archive, scans, drives, again=again)
    on_begin(len(jobs))
    yield from settled
    by_id = {scan.scan_id: scan for scan in scans}
    if dry_run:
        yield from (_done(by_id[job.scan_id], "made", job.target) for job in jobs)
        return
    yield from _made(jobs, by_id, workers, on_progress)


def make_index_picture(archive: Archive, scan_id: int) -> IndexPictureDone | None:
    """Return what became of one scan's index picture, making it if need be; ``None`` when there is no such scan."""
    return next(make_index_pictures(archive, [scan_id]), None)


def _sorted_out(
    archive: Archive, scans: Sequence[PictureScan], drives: dict[int, Path], *, again: bool
) -> tuple[list[IndexPictureDone], list[PictureJob]]:
    """Return what need not or cannot be made, and the jobs. Scans of the same picture have one picture together."""
    settled: list[IndexPictureDone] = []
    jobs: dict[Path, PictureJob] = {}
    for scan in scans:
        target, place = index_picture_path(archive, scan), place_of(scan.address, archive.folder, drives)
        if is_whole(target) and (not again or place is None):
            settled.append(_done(scan, "here", target))
        elif place is None:
            settled.append(_done(scan, "away", reason=f"on the drive “{scan.drive_name}”, which is away"))
        elif scan.damage is not None:
            settled.append(_done(scan, "damaged", reason=scan.damage))
        elif target in jobs:
            settled.append(_done(scan, "here", target))
        else:
            jobs[target] = PictureJob(
                scan.scan_id, place, target, scan.recipe(archive.settings), scan.size_bytes, scan.modified_ns,
                scan.picture_sha256, (scan.width_px or 0) * (scan.height_px or 0),
            )  # fmt: skip
    return settled, list(jobs.values())


def _made(
    jobs: Sequence[PictureJob],
    scans: dict[int, PictureScan],
    workers: int | None,
    on_progress: Callable[[int], None],
) -> Iterator[IndexPictureDone]:
    results = make_pictures(jobs, workers)
    for number, (job, result) in enumerate(zip(jobs, results, strict=True), 1):
        on_progress(1)
        yield _told(scans[job.scan_id], job, result)
        if result.outcome == "unwritable":
            results.close()  # type: ignore[attr-defined]
            yield from (_done(scans[left.scan_id], "left") for left in jobs[number:])
            return


def _told(scan: PictureScan, job: PictureJob, result: PictureResult) -> IndexPictureDone:
    return _done(scan, result.outcome, job.target if result.outcome == "made" else None, result.reason)


def _done(scan: PictureScan, outcome: str, path: Path | None = None, reason: str | None = None) -> IndexPictureDone:
    return IndexPictureDone(scan.scan_id, shown_path(scan.path), outcome, path, reason)


@dataclass(frozen=True, slots=True)
class Tidied:
    """What was cleared out of the folder of index pictures, or would be."""

    pictures: int
    half_written: int
    size_bytes: int
    kept: int


def tidy_index_pictures(archive: Archive, *, dry_run: bool = False) -> Tidied:
    """
    Remove the index pictures that no scan has any more, and what killed processes left half written.

    A scan that was corrected, removed or given another version has another picture than before. Files in the
    folder that this program did not name are left alone.

    Raises:
        OutputFileError: one cannot be removed.
    """
    from catalog.outputs.handed_out import reasons

    with archive.reading() as connection:
        wanted = {index_picture_path(archive, scan) for scan in picture_scans(connection)}
    kept = list(kept_pictures(archive))
    stale = [path for path in kept if path not in wanted]
    passed = time.time() - _OLD_S
    halves = [one for one in (archive.folder / FOLDER).glob(f"??/{PASSING_GLOB}") if one.stat().st_mtime < passed]
    size = sum(path.stat().st_size for path in (*stale, *halves))
    for path in () if dry_run else (*stale, *halves):
        with reasons(path):
            path.unlink(missing_ok=True)
    return Tidied(len(stale), len(halves), size, len(kept) - len(stale))
