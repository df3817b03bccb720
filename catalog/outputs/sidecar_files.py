"""
Sidecars on disk: read and written whole or not at all, never through a link, never over a change.

A sidecar is written under a passing name in its own folder and forced to disk; what is there is compared with
what was read; then it is renamed and the folder forced to disk. A process killed in between leaves at most a
file whose name ``find_leftovers`` knows.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final, Literal

from catalog import clock
from catalog.errors import CatalogError, SidecarChangedError, SidecarError, XmpError
from catalog.outputs.sidecar_captions import FrameCaption
from catalog.outputs.sidecar_names import FolderNames, sidecar_path
from catalog.outputs.sidecars import ReplacedWords, plan_sidecar
from catalog.standards.xmp import MAX_BYTES, name, parse_packet, texts

__all__ = [
    "SidecarOutcome",
    "SidecarTask",
    "digest_of",
    "find_leftovers",
    "locate_sidecar",
    "read_sidecar",
    "restore_sidecar",
    "write_many",
    "write_sidecar",
]

_PASSING: Final = re.compile(r"\.tiebeam-[0-9a-f]{16}\.part")
# A link is not followed and a pipe does not keep us waiting; what Windows lacks counts for nothing there.
_NO_FOLLOW: Final = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_SIDECAR_FOR: Final = name("photoshop:SidecarForExtension")


def digest_of(data: bytes | None) -> str | None:
    """Return the SHA-256 of a sidecar's bytes in hexadecimal, or ``None`` for no sidecar."""
    return None if data is None else sha256(data).hexdigest()


# ---- one sidecar


def read_sidecar(path: Path) -> bytes | None:
    """
    Return the bytes of a sidecar, or ``None`` when there is none.

    Raises:
        SidecarError: it is a link, no regular file, too large, or cannot be read.
    """
    with _reasons(path), _Folder(path.parent) as folder:
        return folder.read(path)


def write_sidecar(path: Path, data: bytes, *, expected: str | None, inside: Path | None = None) -> None:
    """
    Write a sidecar whole, if what is there still has the digest ``expected`` (``None``: nothing is there).

    With ``inside``, the folder of ``path`` must really lie in that folder, links followed.

    Raises:
        SidecarChangedError: it changed, appeared or went since it was read; nothing was written.
        SidecarError: it cannot be written there; nothing was changed.
    """
    _check_place(path, inside)
    with _reasons(path), _Folder(path.parent) as folder:
        mode = folder.mode_of(path)
        passing = folder.write_passing(data, mode)
        try:
            _check_unchanged(folder, path, expected)
            folder.rename(passing, path.name)
        except BaseException:
            folder.remove(passing)
            raise
        folder.sync()


def restore_sidecar(path: Path, former: bytes | None, *, expected: str, inside: Path | None = None) -> None:
    """
    Put back the bytes a sidecar had before (``None``: there was none), if it is still as we wrote it.

    Raises:
        SidecarChangedError: someone changed it since; it is left as it is.
        SidecarError: it cannot be written there.
    """
    if former is not None:
        write_sidecar(path, former, expected=expected, inside=inside)
        return
    _check_place(path, inside)
    with _reasons(path), _Folder(path.parent) as folder:
        _check_unchanged(folder, path, expected)
        folder.remove(path.name)
        folder.sync()


def find_leftovers(folder: Path) -> list[Path]:
    """Return the passing files that a killed process left in a folder; what they hold is made again."""
    return sorted(path for path in folder.iterdir() if _PASSING.fullmatch(path.name) and path.is_file())


def locate_sidecar(scan_path: Path, names: FolderNames | None = None) -> Path:
    """
    Return the path of a scan's sidecar, asking a ``NAME.xmp`` that is there which picture it speaks for.

    ``names`` are those of the scan's folder; without them the folder is listed.
    """
    names = names or FolderNames(entry.name for entry in os.scandir(scan_path.parent))
    short = names.find_sidecar(f"{scan_path.stem}.xmp", scan_path.name)
    said = {} if short is None else {short: _speaks_for(scan_path.with_name(short))}
    return sidecar_path(scan_path, names, said)


def _speaks_for(path: Path) -> str:
    try:
        data = read_sidecar(path)
        found = texts(parse_packet(data).get(_SIDECAR_FOR)) if data else ()
    except (SidecarError, XmpError):
        return ""  # writing will read it again and then name the reason
    return found[0] if found else ""


def _check_place(path: Path, inside: Path | None) -> None:
    # The last guard of the rule that scans are read-only: nothing but a sidecar is ever written here.
    if path.suffix.lower() != ".xmp":
        raise SidecarError(path, "is not the name of a sidecar, which ends in .xmp")
    if inside is not None and not path.parent.resolve().is_relative_to(inside.resolve()):
        raise SidecarError(path, f"its folder lies outside {inside.name or inside}; nothing was written")


def _check_unchanged(folder: _Folder, path: Path, expected: str | None) -> None:
    found = digest_of(folder.read(path))
    if found == expected:
        return
    what = "went" if found is None else "appeared" if expected is None else "changed"
    raise SidecarChangedError(path, f"{what} while it was being written; left as it is. Write it again.")


@contextmanager
def _reasons(path: Path) -> Iterator[None]:
    """Turn what the system says into a sentence about the sidecar."""
    try:
        yield
    except OSError as exc:
        reasons = {
            errno.ELOOP: "is a link; sidecars are not read or written through links",
            errno.ENOENT: "its folder is not there",
            errno.ENOTDIR: "its folder is not a folder",
            errno.EACCES: "may not be read or written here; see to the folder's permissions",
            errno.EPERM: "may not be read or written here; see to the folder's permissions",
            errno.EROFS: "the drive is read-only",
            errno.ENOSPC: "the drive is full",
            errno.ENAMETOOLONG: "the name is longer than the drive allows",
        }
        reason = reasons.get(exc.errno or 0, (exc.strerror or str(exc)).lower())
        raise SidecarError(path, reason) from exc


class _Folder:
    """
    An opened folder. Names are looked up in it alone, so it stays the same if its path is changed meanwhile.

    Where the system cannot do that (Windows), whole paths are used.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.fd: int | None = None

    def __enter__(self) -> _Folder:
        if os.open in os.supports_dir_fd:
            self.fd = os.open(self.path, os.O_RDONLY | os.O_DIRECTORY)
        return self

    def __exit__(self, *_: object) -> None:
        if self.fd is not None:
            os.close(self.fd)

    def _at(self, file_name: str) -> str:
        return file_name if self.fd is not None else str(self.path / file_name)

    def read(self, path: Path) -> bytes | None:
        """Return the bytes of a regular file of this folder, or ``None`` when there is none."""
        try:
            fd = os.open(self._at(path.name), os.O_RDONLY | _NO_FOLLOW, dir_fd=self.fd)
        except FileNotFoundError:
            return None
        with os.fdopen(fd, "rb") as file:
            status = os.fstat(fd)
            if not stat.S_ISREG(status.st_mode):
                raise SidecarError(path, "is not a file")
            if status.st_size > MAX_BYTES:
                raise SidecarError(path, f"is {status.st_size:,} bytes; more than {MAX_BYTES:,} are not read")
            return file.read(MAX_BYTES + 1)

    def mode_of(self, path: Path) -> int | None:
        """Return the permissions of what will be replaced, or ``None``; refuse what must not be replaced."""
        try:
            status = os.stat(self._at(path.name), dir_fd=self.fd, follow_symlinks=False)
        except FileNotFoundError:
            return None
        if stat.S_ISLNK(status.st_mode):
            raise SidecarError(path, "is a link; sidecars are not written through links")
        if not stat.S_ISREG(status.st_mode):
            raise SidecarError(path, "is not a file")
        if not status.st_mode & stat.S_IWUSR:
            raise SidecarError(path, "is marked read-only; left as it is")
        return stat.S_IMODE(status.st_mode)

    def write_passing(self, data: bytes, mode: int | None) -> str:
        """Write bytes under a passing name, force them to disk, return the name."""
        passing = f".tiebeam-{clock.random_token(8)}.part"
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_FOLLOW
        fd = os.open(self._at(passing), flags, 0o666, dir_fd=self.fd)
        try:
            with os.fdopen(fd, "wb") as file:
                if mode is not None and hasattr(os, "fchmod"):
                    os.fchmod(fd, mode)
                file.write(data)
                file.flush()
                os.fsync(fd)
        except BaseException:
            self.remove(passing)
            raise
        return passing

    def rename(self, passing: str, file_name: str) -> None:
        os.replace(self._at(passing), self._at(file_name), src_dir_fd=self.fd, dst_dir_fd=self.fd)

    def remove(self, file_name: str) -> None:
        with suppress(FileNotFoundError):
            os.unlink(self._at(file_name), dir_fd=self.fd)

    def sync(self) -> None:
        if self.fd is None:
            return
        try:
            os.fsync(self.fd)
        except OSError as exc:  # some network drives cannot; the file itself is on disk and in place
            if exc.errno not in (errno.EINVAL, errno.ENOTSUP):
                raise


# ---- many sidecars


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

    ``digest`` is that of the sidecar as it is now, ``former`` the bytes it had (for undo); ``replaced`` are
    words of others that ours took the place of; ``error`` says why a failed one was left alone.
    """

    task: SidecarTask
    state: Literal["written", "unchanged", "failed"]
    digest: str | None = None
    former: bytes | None = None
    replaced: tuple[ReplacedWords, ...] = ()
    error: CatalogError | None = None


def write_many(tasks: Iterable[SidecarTask], *, workers: int = 4) -> Iterator[SidecarOutcome]:
    """
    Write many sidecars and tell what became of each, in the order of the tasks.

    While some wait for the disk others are built. Tasks are drawn as they are needed. A sidecar that cannot
    be read or written is a failed outcome, never an end of the batch. When the caller stops asking, what has
    begun is finished and nothing new begins.
    """
    waiting: deque[Future[SidecarOutcome]] = deque()
    with ThreadPoolExecutor(workers, thread_name_prefix="sidecars") as pool:
        try:
            for task in tasks:
                waiting.append(pool.submit(_write_one, task))
                if len(waiting) > 2 * workers:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()


def _write_one(task: SidecarTask) -> SidecarOutcome:
    try:
        former = read_sidecar(task.path)
        plan = plan_sidecar(former, task.caption)
        if not plan.is_changed:
            return SidecarOutcome(task, "unchanged", digest_of(former), former)
        write_sidecar(task.path, plan.data, expected=digest_of(former), inside=task.inside)
    except XmpError as exc:
        return SidecarOutcome(task, "failed", error=SidecarError(task.path, f"{exc}; left as it is"))
    except CatalogError as exc:
        return SidecarOutcome(task, "failed", error=exc)
    return SidecarOutcome(task, "written", digest_of(plan.data), former, plan.replaced)
