"""
Index pictures are made: small JPEGs in the archive's folder, on every core, whole or not at all.

Decoding goes on one core a file, so several files are under way in processes of their own, started afresh: a copy
of a process that has used the picture engine would wait for ever. A process of its own also keeps a file that
brings the decoder down from taking the batch with it.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import resource_tracker
from multiprocessing.connection import wait
from pathlib import Path
from typing import Final

from catalog.errors import FileFormatError, PictureError, PictureKindError, ToneStepError
from catalog.passing_files import write_passing
from catalog.rules.index_pictures import PictureRecipe

__all__ = ["PictureJob", "PictureResult", "make_pictures"]

_FEW_PIXELS: Final = 60_000_000
"""So little is made sooner here than other processes are started (about 0.4 s)."""
_MOMENTS, _MOMENT_S = 400, 0.005


@dataclass(frozen=True, slots=True)
class PictureJob:
    """A picture to make: the scan's file, what was recorded of it, how, and where the picture goes."""

    scan_id: int
    source: Path
    target: Path
    recipe: PictureRecipe
    size_bytes: int
    modified_ns: int
    picture_sha256: str | None
    pixels: int


@dataclass(frozen=True, slots=True)
class PictureResult:
    """
    What became of a job: ``made``, ``missing``, ``changed`` (the file is not the one recorded), ``damaged``,
    ``undecodable`` (whole, of a kind that cannot be read here), ``unfollowed`` (by its version's tone steps) or
    ``unwritable`` (no room, no leave).
    """

    scan_id: int
    outcome: str
    reason: str | None = None


def make_pictures(jobs: Sequence[PictureJob], workers: int | None = None) -> Iterator[PictureResult]:
    """
    Make pictures, and tell what became of each, in the order given.

    Broken off, or stopped by Ctrl-C, it leaves no process and no half picture behind.
    """
    workers = min(workers or os.cpu_count() or 1, len(jobs))
    if workers < 2 or sum(job.pixels for job in jobs) < _FEW_PIXELS:
        yield from (_kept(job, render(job)) for job in jobs)
        return
    with _Workshop(workers) as workshop:
        yield from (_kept(job, rendered) for job, rendered in workshop.render(jobs))


@dataclass(frozen=True, slots=True)
class Rendered:
    """A picture's bytes, or the outcome and the reason why there are none."""

    data: bytes | None
    outcome: str = "made"
    reason: str | None = None


def _kept(job: PictureJob, rendered: Rendered) -> PictureResult:
    """Put a picture in its place. The first process does it alone, so that ending the others leaves nothing behind."""
    if rendered.data is None:
        return PictureResult(job.scan_id, rendered.outcome, rendered.reason)
    try:
        _put(rendered.data, job.target)
    except OSError as exc:
        return PictureResult(job.scan_id, "unwritable", f"{job.target.parent}: {exc.strerror or exc}")
    return PictureResult(job.scan_id, "made")


class _Workshop:
    """Processes that render pictures. One that a file brings down is replaced, and the file named."""

    def __init__(self, workers: int) -> None:
        self._workers = workers
        self._strangers = set(multiprocessing.active_children())
        self._pool = self._open(workers)

    def __enter__(self) -> _Workshop:
        return self

    def __exit__(self, *_: object) -> None:
        self._close()

    def render(self, jobs: Sequence[PictureJob]) -> Iterator[tuple[PictureJob, Rendered]]:
        """Render pictures in order; no more than twice as many are under way as there are processes."""
        left = deque(jobs)
        under_way: deque[tuple[PictureJob, Future[Rendered]]] = deque()
        while left or under_way:
            while left and len(under_way) < 2 * self._workers:
                with _deaf_to_ctrl_c():
                    under_way.append((left[0], self._pool.submit(render, left[0])))
                left.popleft()
            job, future = under_way.popleft()
            try:
                yield job, future.result()
            except BrokenProcessPool:
                suspects = [job, *(one for one, _ in under_way)]
                under_way.clear()
                yield from self._one_by_one(suspects)

    def _one_by_one(self, jobs: Sequence[PictureJob]) -> Iterator[tuple[PictureJob, Rendered]]:
        """Render pictures one after the other, to find which file brings its process down."""
        self._open_anew(1)
        for job in jobs:
            try:
                with _deaf_to_ctrl_c():
                    future = self._pool.submit(render, job)
                yield job, future.result()
            except BrokenProcessPool:
                yield job, Rendered(None, "damaged", "reading it brings the decoder down; try another copy")
                self._open_anew(1)
        self._open_anew(self._workers)

    def _open_anew(self, workers: int) -> None:
        self._close()
        self._pool = self._open(workers)

    @staticmethod
    def _open(workers: int) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"), initializer=_begin_work)

    def _close(self) -> None:
        self._pool.shutdown(wait=False, cancel_futures=True)
        for process in set(multiprocessing.active_children()) - self._strangers:
            process.terminate()
            process.join()
            # The pool's own thread waits for it as well: when it hears first, it notes the end a moment later.
            for _ in range(_MOMENTS):
                if process.exitcode is not None:
                    break
                time.sleep(_MOMENT_S)


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """
    Let the processes that are started meanwhile be born deaf to Ctrl-C; one given meanwhile is heard afterwards.

    A terminal gives it to all of them, and one that has not come as far as ``_begin_work`` would print a traceback.
    """
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    resource_tracker.ensure_running()  # its own start would open the ears again
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


def _begin_work() -> None:
    """Make a fresh process ready: one thread a picture, Ctrl-C left to the first process, gone when that is gone."""
    os.environ["VIPS_CONCURRENCY"] = "1"
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()


def _leave_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def render(job: PictureJob) -> Rendered:
    """Render one picture; whatever is wrong with its file is told, not raised."""
    from catalog.imaging.index_pictures import render_index_picture

    recipe = job.recipe
    try:
        changed = _what_changed(job)
        if changed is not None:
            return changed
        return Rendered(
            render_index_picture(
                job.source, long_side_px=recipe.long_side_px, polarity=recipe.polarity,
                is_reversed=recipe.is_reversed, steps=recipe.steps,
            )
        )  # fmt: skip
    except ToneStepError as exc:
        return Rendered(None, "unfollowed", f"the tone steps of its version cannot be followed ({exc.reason})")
    except PictureKindError as exc:
        return Rendered(None, "undecodable", exc.reason)
    except (PictureError, FileFormatError) as exc:
        return Rendered(None, "damaged", exc.reason)


def _what_changed(job: PictureJob) -> Rendered | None:
    """Return why a picture must not be made of a file: it is gone, or its picture is no longer the recorded one."""
    from catalog.imaging.scan_files import holds_registered_picture

    try:
        is_same = holds_registered_picture(
            job.source, size_bytes=job.size_bytes, modified_ns=job.modified_ns, picture_sha256=job.picture_sha256
        )
    except FileNotFoundError:
        return Rendered(None, "missing", "is not there; see: tiebeam scans verify")
    except OSError as exc:
        return Rendered(None, "missing", f"cannot be read ({exc.strerror or exc})")
    return (
        None if is_same else Rendered(None, "changed", "is not the file that was registered; see: tiebeam scans verify")
    )


def _put(data: bytes, target: Path) -> None:
    """Write a picture under a passing name, force it to disk, and give it its own name."""
    target.parent.mkdir(parents=True, exist_ok=True)
    passing = write_passing(target.parent, data)
    try:
        passing.replace(target)
    except BaseException:
        with suppress(OSError):
            passing.unlink(missing_ok=True)
        raise
