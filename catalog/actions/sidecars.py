"""
Writing sidecars: one daybook entry, and what was intended of each file is written down before it is written.

Files go in small batches: what each sidecar will hold is committed first, then the files are written while
their neighbours wait for the disk, then what became of them is committed. A killed process leaves whole
sidecars and a list of what was intended; the next opening settles it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import sha256
from itertools import islice
from pathlib import Path

from catalog import clock
from catalog.errors import CatalogError, SidecarError, XmpError
from catalog.model import Sidecar
from catalog.outputs.captions import Rights, make_caption
from catalog.outputs.sidecar_captions import FrameCaption
from catalog.outputs.sidecar_files import digest_of, locate_sidecar, read_sidecar, write_sidecar
from catalog.outputs.sidecar_names import FolderNames
from catalog.outputs.sidecars import plan_sidecar
from catalog.store.archive import Archive
from catalog.store.captions import ScanToCaption, read_gazette, read_said, scans_to_caption
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import FileAddress, place_of, shown_path
from catalog.store.writing import FileDeed, OnWait, Writing, begin_file_deed

_BATCH = 64
_WRITERS = 4


@dataclass(frozen=True, slots=True)
class SidecarDone:
    """
    What became of one scan's sidecar: ``written``, ``here`` (says it all already), ``away``, ``missing`` or ``failed``.

    ``reason`` says why one was not written; ``replaced`` names words of another program that ours replaced.
    """

    scan_id: int
    sheet_id: int
    outcome: str
    path: str
    reason: str | None = None
    replaced: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Prepared:
    """A sidecar ready to be written: what was there, what will be."""

    scan: ScanToCaption
    path: Path
    former: bytes | None
    data: bytes
    replaced: tuple[str, ...]


def write_sidecars(
    archive: Archive,
    sheet_ids: Sequence[int],
    *,
    dry_run: bool = False,
    on_wait: OnWait | None = None,
    on_progress: Callable[[int], None] = lambda _count: None,
    left_to_do: str = "Run it again: tiebeam sidecars write",
) -> Iterator[SidecarDone]:
    """
    Write the sidecar of every scan of these sheets, and tell what became of each.

    A sidecar that cannot be parsed is left alone and named; a drive that is away is no failure. Without
    anything to write no deed is begun. Everything is done once the iterator is exhausted.
    """
    deed: FileDeed | None = None
    written = failed = 0
    try:
        for batch in _batches(_prepare(archive, sheet_ids), _BATCH):
            prepared = [one for one in batch if isinstance(one, _Prepared)]
            yield from (one for one in batch if isinstance(one, SidecarDone))
            on_progress(len(batch) - len(prepared))
            if dry_run:
                yield from (_done(one, "written") for one in prepared)
                continue
            if prepared and deed is None:
                deed = begin_file_deed(
                    archive, "sidecars write", "writing sidecars", left_to_do=left_to_do, on_wait=on_wait
                )
            if deed is not None:
                for done in _write_batch(deed, prepared):
                    written += done.outcome == "written"
                    failed += done.outcome == "failed"
                    on_progress(1)
                    yield done
    except BaseException:
        if deed is not None:
            deed.break_off(f"wrote {written} sidecars, then stopped", left_to_do)
        raise
    if deed is not None:
        deed.finish(f"wrote {written} sidecars" + (f"; {failed} failed" if failed else ""))


def _batches(items: Iterable[_Prepared | SidecarDone], size: int) -> Iterator[list[_Prepared | SidecarDone]]:
    iterator = iter(items)
    while batch := list(islice(iterator, size)):
        yield batch


def _prepare(archive: Archive, sheet_ids: Sequence[int]) -> Iterator[_Prepared | SidecarDone]:
    """Build each scan's sidecar beside what is there now; scans of one folder share one look at its names."""
    settings = archive.settings
    rights = Rights(
        settings.archive_photographer, settings.rights_notice, settings.rights_usage_terms, settings.sidecars_language
    )
    with archive.reading() as connection:
        scans = scans_to_caption(connection, sheet_ids)
        said, gazette = read_said(connection, sheet_ids), read_gazette(connection)
        drives = here(sight_drives(drive_rows(connection)))
    folders: dict[Path, FolderNames] = {}
    for together in _by_scan(scans):
        scan = together[0]
        path = place_of(FileAddress(scan.drive_id, scan.path, scan.raw_path, ""), archive.folder, drives)
        if path is None:
            yield SidecarDone(scan.scan_id, scan.sheet_id, "away", scan.path, "its drive is away")
            continue
        captions = [make_caption(one, said, gazette, rights) for one in together]
        try:
            yield _plan(scan, path, joined(captions), folders)
        except (CatalogError, OSError) as exc:
            outcome = "missing" if isinstance(exc, FileNotFoundError) else "failed"
            reason = f"no file {path.name}" if outcome == "missing" else str(exc)
            yield SidecarDone(scan.scan_id, scan.sheet_id, outcome, scan.path, reason)


def _by_scan(scans: Sequence[ScanToCaption]) -> Iterator[list[ScanToCaption]]:
    """Yield the rows of one scan together: it may show several sheets."""
    together: dict[int, list[ScanToCaption]] = {}
    for scan in scans:
        together.setdefault(scan.scan_id, []).append(scan)
    yield from together.values()


def joined(captions: Sequence[FrameCaption]) -> FrameCaption:
    """
    Return one caption for a scan of several sheets: each sheet's facts in words, and plainly only what all share.

    A field that differs between the sheets is stated of none.
    """
    from dataclasses import fields, replace

    first = captions[0]
    if len(captions) == 1:
        return first
    empty = FrameCaption(reference="; ".join(caption.reference for caption in captions))
    shared = {
        field.name: getattr(first, field.name)
        for field in fields(FrameCaption)
        if field.name != "reference" and all(getattr(c, field.name) == getattr(first, field.name) for c in captions)
    }
    many = {
        name: tuple(dict.fromkeys(item for caption in captions for item in getattr(caption, name)))
        for name in ("numbers", "places", "buildings", "keywords", "doubts")
    }
    words = [f"{c.reference}: {c.title}. {c.description}".strip() for c in captions]
    return replace(empty, **{**shared, **many}, description="\n".join(words), title=shared.get("title") or "Several sheets")


def _plan(
    scan: ScanToCaption, path: Path, caption: FrameCaption, folders: dict[Path, FolderNames]
) -> _Prepared | SidecarDone:
    if not path.is_file():
        return SidecarDone(scan.scan_id, scan.sheet_id, "missing", scan.path, "the scan is not there")
    if path.parent not in folders:
        folders[path.parent] = FolderNames(entry.name for entry in os.scandir(path.parent))
    sidecar = locate_sidecar(path, folders[path.parent])
    former = read_sidecar(sidecar)
    try:
        plan = plan_sidecar(former, caption)
    except XmpError as exc:
        raise SidecarError(sidecar, f"{exc}; left as it is") from exc
    if not plan.is_changed:
        return SidecarDone(scan.scan_id, scan.sheet_id, "here", str(sidecar))
    replaced = tuple(f"{one.property}: {'; '.join(one.before)}" for one in plan.replaced)
    return _Prepared(scan, sidecar, former, plan.data, replaced)


def _done(one: _Prepared, outcome: str, reason: str | None = None) -> SidecarDone:
    return SidecarDone(one.scan.scan_id, one.scan.sheet_id, outcome, str(one.path), reason, one.replaced)


def _write_batch(deed: FileDeed, batch: Sequence[_Prepared]) -> Iterator[SidecarDone]:
    """Write down what is intended, write the files, write down what became of them."""
    if not batch:
        return
    ids = deed.intend((str(one.path), one.former, digest_of(one.former), digest_of(one.data)) for one in batch)
    with ThreadPoolExecutor(_WRITERS, thread_name_prefix="sidecars") as pool:
        outcomes = list(pool.map(_write_one, batch))
    deed.settle_files(
        (file_id, "done" if done.outcome == "written" else "not done", done.reason)
        for file_id, done in zip(ids, outcomes, strict=True)
    )
    with deed.step() as writing:
        for one, done in zip(batch, outcomes, strict=True):
            if done.outcome == "written":
                _remember(writing, one)
    yield from outcomes


def _remember(writing: Writing, one: _Prepared) -> None:
    """Keep what was written beside a scan, so that later changes by others can be told apart."""
    record = writing.session.get(Sidecar, one.scan.scan_id) or Sidecar(scan_id=one.scan.scan_id)
    record.name = shown_path(one.path.name)
    record.sha256 = sha256(one.data).hexdigest()
    record.written_at = clock.timestamp()
    record.content = one.data
    writing.session.add(record)


def _write_one(one: _Prepared) -> SidecarDone:
    try:
        write_sidecar(one.path, one.data, expected=digest_of(one.former))
    except CatalogError as exc:
        return _done(one, "failed", str(exc))
    return _done(one, "written")
