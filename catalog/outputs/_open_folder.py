"""An opened folder and a file on its way into it: what makes a written file whole or absent."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from catalog.errors import SidecarError
from catalog.passing_files import passing_name

# A link is not followed and a pipe does not keep us waiting; what Windows lacks counts for nothing there.
_NO_FOLLOW: Final = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_REASONS: Final = {
    errno.ELOOP: "is a link; sidecars are not read or written through links",
    errno.ENOENT: "its folder is not there",
    errno.ENOTDIR: "its folder is not a folder",
    errno.EACCES: "may not be read or written here; see to the folder's permissions",
    errno.EPERM: "may not be read or written here; see to the folder's permissions",
    errno.EROFS: "the drive is read-only",
    errno.ENOSPC: "the drive is full",
    errno.ENAMETOOLONG: "the name is longer than the drive allows",
}


@contextmanager
def reasons(path: Path) -> Iterator[None]:
    """Turn what the system refuses into a sentence about the file."""
    try:
        yield
    except OSError as exc:
        reason = _REASONS.get(exc.errno or 0, (exc.strerror or str(exc)).lower())
        raise SidecarError(path, reason) from exc


class OpenFolder:
    """
    An opened folder. Names are looked up in it alone, so it stays the same if its path is changed meanwhile.

    Where the system cannot do that (Windows), whole paths are used.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.fd: int | None = None
        if os.open in os.supports_dir_fd:
            self.fd = os.open(path, os.O_RDONLY | os.O_DIRECTORY)

    def __enter__(self) -> OpenFolder:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the folder."""
        if self.fd is not None:
            os.close(self.fd)
            self.fd = None

    def at(self, file_name: str) -> str:
        """Return how the system is asked for a file of this folder."""
        return file_name if self.fd is not None else str(self.path / file_name)

    def read(self, file_name: str, max_bytes: int) -> bytes | None:
        """Return the bytes of a regular file, or ``None`` when there is none; refuse anything else."""
        try:
            fd = os.open(self.at(file_name), os.O_RDONLY | _NO_FOLLOW, dir_fd=self.fd)
        except FileNotFoundError:
            return None
        with os.fdopen(fd, "rb") as file:
            status = os.fstat(fd)
            if not stat.S_ISREG(status.st_mode):
                raise SidecarError(self.path / file_name, "is not a file")
            if status.st_size > max_bytes:
                reason = f"is {status.st_size:,} bytes; more than {max_bytes:,} are not read"
                raise SidecarError(self.path / file_name, reason)
            return file.read(max_bytes + 1)

    def mode_of(self, file_name: str) -> int | None:
        """Return the permissions of what will be replaced, or ``None``; refuse what must not be replaced."""
        try:
            status = os.stat(self.at(file_name), dir_fd=self.fd, follow_symlinks=False)
        except FileNotFoundError:
            return None
        if stat.S_ISLNK(status.st_mode):
            raise SidecarError(self.path / file_name, _REASONS[errno.ELOOP])
        if not stat.S_ISREG(status.st_mode):
            raise SidecarError(self.path / file_name, "is not a file")
        if not status.st_mode & stat.S_IWUSR:
            raise SidecarError(self.path / file_name, "is marked read-only; left as it is")
        return stat.S_IMODE(status.st_mode)

    def remove(self, file_name: str) -> None:
        """Remove a file; that it is gone already is no matter."""
        with suppress(FileNotFoundError):
            os.unlink(self.at(file_name), dir_fd=self.fd)

    def sync(self) -> None:
        """Force the names in the folder to disk, where the drive can do that."""
        if self.fd is None:
            return
        try:
            os.fsync(self.fd)
        except OSError as exc:  # some network drives cannot; the files themselves are on disk and in place
            if exc.errno not in (errno.EINVAL, errno.ENOTSUP):
                raise


class PassingFile:
    """
    Bytes on their way into a folder, under a name of their own until ``settle`` gives them theirs.

    Whatever fails, ``abandon`` leaves the folder as it was.
    """

    def __init__(self, folder: OpenFolder, file_name: str, data: bytes) -> None:
        mode = folder.mode_of(file_name)
        self.folder, self.file_name = folder, file_name
        self.name = passing_name()
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_FOLLOW
        self.fd: int | None = os.open(folder.at(self.name), flags, 0o666, dir_fd=folder.fd)
        try:
            if mode is not None and hasattr(os, "fchmod"):
                os.fchmod(self.fd, mode)
            left = memoryview(data)
            while left:
                left = left[os.write(self.fd, left) :]
        except BaseException:
            self.abandon()
            raise

    def force(self) -> None:
        """Wait until the bytes are on disk."""
        if self.fd is not None:
            os.fsync(self.fd)

    def settle(self) -> None:
        """Give the file its name, in place of whatever has it."""
        self._close()
        at, fd = self.folder.at, self.folder.fd
        os.replace(at(self.name), at(self.file_name), src_dir_fd=fd, dst_dir_fd=fd)

    def abandon(self) -> None:
        """Take the file away again; after ``settle`` there is nothing to take away."""
        self._close()
        self.folder.remove(self.name)

    def _close(self) -> None:
        if self.fd is not None:
            os.close(self.fd)
            self.fd = None
