"""
Many sidecars: one group is built while the one before it is on its way to the disk.

Building is work for the processor, making files and forcing them to disk is waiting; so the two overlap, and
names are forced to disk once a folder and group. Each sidecar is whole or absent all the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Final, Literal

from catalog.errors import CatalogError, SidecarError, XmpError
from catalog.outputs._open_folder import OpenFolder, PassingFile, reasons
from catalog.outputs.sidecar_captions import FrameCaption
from catalog.outputs.sidecar_files import check_folder, check_name, check_unchanged, digest_of, read_sidecar
from catalog.outputs.sidecars import plan_sidecar, program_name

__all__ = ["THREADS", "SidecarGroup", "SidecarOutcome", "SidecarTask", "SidecarWrite", "write_group", "write_many"]

# Enough for the disk to take several at once; few enough that little is lost when the work is broken off.
_GROUP: Final = 64
THREADS: Final = 8


@dataclass(frozen=True, slots=True)
class SidecarWrite:
    """Bytes for a sidecar, and the digest of what must be there still; arguments as for ``write_sidecar``."""

    path: Path
    data: bytes
    expected: str | None
    inside: Path | None = None
    digest: str = field(init=False, compare=False)
    """The digest the sidecar will have: what is intended and what is remembered, reckoned once."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "digest", sha256(self.data).hexdigest())


def write_group(writes: Sequence[SidecarWrite]) -> list[CatalogError | None]:
    """
    Write some sidecars at once and return, for each, ``None`` or why it was left alone.

    They go to the disk together, so that this takes far less time than one after the other.
    """
    with ThreadPoolExecutor(THREADS, thread_name_prefix="sidecars") as pool:
        group = SidecarGroup(writes)
        try:
            group.start(pool)
            return group.finish()
        finally:
            group.abandon()


@dataclass(frozen=True, slots=True)
class SidecarTask:
    """A sidecar to write: where (``locate_sidecar``), what it says, ``inside`` as in ``write_sidecar``."""

    path: Path
    caption: FrameCaption
    inside: Path | None = None


@dataclass(frozen=True, slots=True)
class SidecarOutcome:
    """
    What became of a task.

    ``digest`` is that of the sidecar as it is now, ``former`` the bytes it had (for undo); ``held``
    names properties that both sides changed, where theirs stays; ``error`` says why a failed one was left alone.
    """

    task: SidecarTask
    state: Literal["written", "unchanged", "failed"]
    digest: str | None = None
    former: bytes | None = None
    held: tuple[str, ...] = ()
    error: CatalogError | None = None


def write_many(tasks: Iterable[SidecarTask]) -> Iterator[SidecarOutcome]:
    """
    Write many sidecars and tell what became of each, in the order of the tasks.

    Tasks are drawn as they are needed. A sidecar that cannot be read or written is a failed outcome, never an
    end of the batch. When the caller stops asking, at most a group has been written and not been told of.
    """
    drawn = iter(tasks)
    written_by = program_name()
    under_way: tuple[list[SidecarOutcome], SidecarGroup] | None = None
    with ThreadPoolExecutor(THREADS, thread_name_prefix="sidecars") as pool:
        try:
            while chunk := list(islice(drawn, _GROUP)):
                planned = [_plan(task, written_by) for task in chunk]
                told = _finish(under_way)
                under_way = [outcome for outcome, _ in planned], SidecarGroup([write for _, write in planned])
                under_way[1].start(pool)
                yield from told
            yield from _finish(under_way)
        finally:
            if under_way is not None:
                under_way[1].abandon()


def _plan(task: SidecarTask, written_by: str) -> tuple[SidecarOutcome, SidecarWrite | None]:
    """Return what will become of a task if all goes well, and what is to be written for it."""
    try:
        former = read_sidecar(task.path)
        plan = plan_sidecar(former, task.caption, written_by)
    except XmpError as exc:
        return _failed(task, SidecarError(task.path, f"{exc}; left as it is")), None
    except CatalogError as exc:
        return _failed(task, exc), None
    expected = digest_of(former)
    if not plan.is_changed:
        return SidecarOutcome(task, "unchanged", expected, former, plan.held), None
    write = SidecarWrite(task.path, plan.data, expected, task.inside)
    return SidecarOutcome(task, "written", write.digest, former, plan.held), write


def _finish(under_way: tuple[list[SidecarOutcome], SidecarGroup] | None) -> list[SidecarOutcome]:
    if under_way is None:
        return []
    outcomes, group = under_way
    errors = group.finish()
    return [_failed(one.task, error) if error else one for one, error in zip(outcomes, errors, strict=True)]


def _failed(task: SidecarTask, error: CatalogError) -> SidecarOutcome:
    return SidecarOutcome(task, "failed", error=error)


class SidecarGroup:
    """Sidecars that go to the disk together; ``None`` stands for one that needs no writing."""

    def __init__(self, writes: Sequence[SidecarWrite | None]) -> None:
        self.writes = writes
        self.errors: list[CatalogError | None] = [None] * len(writes)
        self.folders: dict[Path, OpenFolder] = {}
        self.checked: set[tuple[Path, Path]] = set()
        self.passing: dict[int, PassingFile] = {}
        self.errands: list[Future[dict[int, CatalogError | OSError]]] = []

    def start(self, pool: ThreadPoolExecutor) -> None:
        """Set every sidecar on its way to the disk, under a passing name."""
        sent: list[tuple[int, OpenFolder, SidecarWrite]] = []
        for place, write in enumerate(self.writes):
            if write is not None:
                with self._noting(place, write):
                    sent.append((place, self._folder(write), write))
        # Few long errands rather than many short ones: whoever comes back from the disk must wait for its turn.
        shares = (sent[first::THREADS] for first in range(min(THREADS, len(sent))))
        self.errands = [pool.submit(_pass_all, share, self.passing) for share in shares]

    def finish(self) -> list[CatalogError | None]:
        """Wait for the disk, give each file its name, force the names to disk; return what went wrong."""
        faults = {place: fault for errand in self.errands for place, fault in errand.result().items()}
        settled: dict[Path, list[int]] = {}
        for place, write in enumerate(self.writes):
            if write is not None and self.errors[place] is None:
                with self._noting(place, write):
                    if place in faults:
                        raise faults[place]
                    file = self.passing[place]
                    check_unchanged(file.folder, write.path, write.expected)
                    file.settle()
                    settled.setdefault(file.folder.path, []).append(place)
        self._sync(settled)
        self.abandon()
        return self.errors

    def _folder(self, write: SidecarWrite) -> OpenFolder:
        check_name(write.path)
        parent = write.path.parent
        if write.inside is not None and (parent, write.inside) not in self.checked:
            check_folder(write.path, write.inside)
            self.checked.add((parent, write.inside))
        if parent not in self.folders:
            self.folders[parent] = OpenFolder(parent)
        return self.folders[parent]

    def _sync(self, settled: Mapping[Path, list[int]]) -> None:
        """Force the names of each folder to disk; should that fail, it is told of every sidecar in it."""
        for path, places in settled.items():
            for place in places:
                write = self.writes[place]
                if write is not None:
                    with self._noting(place, write):
                        self.folders[path].sync()
                        break  # once is for all

    @contextmanager
    def _noting(self, place: int, write: SidecarWrite) -> Iterator[None]:
        try:
            with reasons(write.path):
                yield
        except CatalogError as exc:
            self.errors[place] = exc

    def abandon(self) -> None:
        """Take away every file that has not got its name, and let go of the folders."""
        wait([errand for errand in self.errands if not errand.cancel()])
        for file in self.passing.values():
            with reasons(file.folder.path / file.file_name):
                file.abandon()
        for folder in self.folders.values():
            folder.close()
        self.passing, self.errands, self.folders = {}, [], {}


def _pass_all(
    share: Iterable[tuple[int, OpenFolder, SidecarWrite]], passing: dict[int, PassingFile]
) -> dict[int, CatalogError | OSError]:
    """
    Write bytes under passing names and wait until they are on disk; return what went wrong, by place.

    Each file is put into ``passing`` as soon as it is there, so that it can be taken away whatever happens.
    """
    faults: dict[int, CatalogError | OSError] = {}
    for place, folder, write in share:
        try:
            passing[place] = PassingFile(folder, write.path.name, write.data)
            passing[place].force()
        except (CatalogError, OSError) as exc:
            faults[place] = exc
    return faults
