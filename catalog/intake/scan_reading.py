"""Read many scan files at once, on every core, and hand them on in order."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

from catalog.errors import FileFormatError
from catalog.imaging import ScanFile, read_scan_file

Asked = TypeVar("Asked")


def read_scan_files(
    asked: Iterable[tuple[Asked, Path]], workers: int | None = None
) -> Iterator[tuple[Asked, ScanFile | FileFormatError]]:
    """
    Yield each thing asked about with the facts of its file, or the reason there are none, in the order given.

    Digests are made side by side: they let other threads run. No more than twice
    as many files are under way as there are workers, so memory does not grow
    with the number of files. Leaving the loop early reads no further file.
    """
    workers = workers or os.cpu_count() or 1
    waiting: deque[tuple[Asked, Future[ScanFile | FileFormatError]]] = deque()
    pool = ThreadPoolExecutor(workers, thread_name_prefix="scan")
    try:
        for one, path in asked:
            waiting.append((one, pool.submit(_read, path)))
            if len(waiting) >= 2 * workers:
                done, future = waiting.popleft()
                yield done, future.result()
        while waiting:
            done, future = waiting.popleft()
            yield done, future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _read(path: Path) -> ScanFile | FileFormatError:
    try:
        return read_scan_file(path)
    except FileFormatError as error:
        return error
