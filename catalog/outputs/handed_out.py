"""Files that are handed out under a name the person chose: whole or not at all, never over another by mistake."""

from __future__ import annotations

import errno
import os
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from catalog.errors import OutputFileError
from catalog.passing_files import PASSING_GLOB, PASSING_NAME, Content, force_folder, give_name, write_passing

_OLD_S: Final = 3600
__all__ = ["Content", "check_free", "reasons", "write_files"]

_REASONS: Final = {
    errno.ENOENT: "its folder is not there",
    errno.ENOTDIR: "its folder is not a folder",
    errno.EISDIR: "is a folder; give the name of a file",
    errno.EACCES: "may not be written here; see to the folder's permissions",
    errno.EPERM: "may not be written here; see to the folder's permissions",
    errno.EROFS: "the drive is read-only",
    errno.ENOSPC: "the drive is full; nothing was kept",
    getattr(errno, "EDQUOT", -1): "there is no room left for this account; nothing was kept",  # not on every system
    errno.EFBIG: "is larger than the drive allows; nothing was kept",
    errno.ENAMETOOLONG: "the name is longer than the drive allows",
}


@contextmanager
def reasons(path: Path) -> Iterator[None]:
    """
    Turn what the system refuses into a sentence about the file.

    Raises:
        OutputFileError: it cannot be written.
    """
    try:
        yield
    except OSError as exc:
        raise OutputFileError(path, _REASONS.get(exc.errno or 0, (exc.strerror or str(exc)).lower())) from exc


def check_free(path: Path, *, replace: bool) -> None:
    """
    Refuse, before any work is done, a name at which no file can be written.

    Raises:
        OutputFileError: something is there (and is not to be replaced), or its folder is not.
    """
    if path.is_dir():
        raise OutputFileError(path, _REASONS[errno.EISDIR])
    if os.path.lexists(path) and not replace:
        raise OutputFileError(path, "is there already; name another file, or add --replace")
    if not path.parent.is_dir():
        raise OutputFileError(path, f"its folder {path.parent} is not there; make it first, or name another")


def write_files(files: Sequence[tuple[Path, Content]], *, replace: bool) -> None:
    """
    Write files that belong together; when one cannot be written, none is kept that was not there before.

    What a killed process left half written in these folders is taken away.

    Raises:
        OutputFileError: a name is taken meanwhile, there is no room or no leave.
    """
    passing: list[Path] = []
    for folder in {path.parent for path, _ in files}:
        _tidy(folder)
    try:
        for path, content in files:
            with reasons(path):
                passing.append(write_passing(path.parent, content))
        for (path, _), half in zip(files, passing, strict=True):
            with reasons(path):
                _settle(half, path, replace=replace)
    finally:
        for half in passing:
            with suppress(OSError):
                half.unlink(missing_ok=True)


def _tidy(folder: Path) -> None:
    """Take away half-written files of this program, if they are too old to be another window's work in hand."""
    with suppress(OSError):  # a folder that cannot be read, or written: what follows says so
        for half in folder.glob(PASSING_GLOB):
            if PASSING_NAME.fullmatch(half.name) and half.stat().st_mtime < time.time() - _OLD_S:
                half.unlink(missing_ok=True)


def _settle(half: Path, path: Path, *, replace: bool) -> None:
    """Give a passing file its name, over another only if that is asked for."""
    if replace:
        half.replace(path)
        force_folder(path.parent)
        return
    try:
        give_name(half, path)
    except FileExistsError:
        check_free(path, replace=False)
        raise
