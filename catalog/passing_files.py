"""Files made whole under a passing name and given their own last, never over another file by mistake."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import BinaryIO, Final

from catalog import clock

__all__ = ["PASSING_GLOB", "PASSING_NAME", "Content", "force_folder", "give_name", "passing_name", "write_passing"]

PASSING_GLOB: Final = ".tiebeam-*.part"
PASSING_NAME: Final = re.compile(r"\.tiebeam-[0-9a-f]{16}\.part")
"""What a killed process may leave behind; what is older than the work in hand can be deleted."""
Content = bytes | Callable[[BinaryIO], None]
"""What goes into a file: its bytes, or what writes them into it, opened."""


def passing_name() -> str:
    """Return a passing name that no other file has."""
    return f".tiebeam-{clock.random_token(8)}.part"


def write_passing(folder: Path, content: Content, *, permissions: int = 0o666) -> Path:
    """
    Write a file whole under a passing name, force its bytes to disk, and return its path.

    ``permissions`` are those of a new file, less what the system takes from them.

    Raises:
        OSError: it cannot be written; nothing of it is left.
    """
    passing = folder / passing_name()
    try:
        with open(passing, "xb", opener=partial(os.open, mode=permissions)) as file:
            if callable(content):
                content(file)
            else:
                file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        passing.unlink(missing_ok=True)
        raise
    return passing


def give_name(passing: Path, target: Path) -> None:
    """
    Give a passing file its own name in the same folder, never over another; the passing name is gone then.

    Whatever is raised, the passing file is still there and has no other name. On a drive without hard links (FAT,
    some shares) one that came between the look and the renaming would be lost: there a moment remains.

    Raises:
        FileExistsError: something has the name, be it a link to nothing.
        OSError: the name cannot be given, or not be forced to disk.
    """
    try:
        os.link(passing, target)  # fails, as a renaming would not, if something is there
    except FileExistsError:
        raise
    except OSError:
        if os.path.lexists(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from None
        passing.rename(target)
    try:
        force_folder(target.parent)
    except BaseException:
        _take_back_name(passing, target)
        raise
    with suppress(OSError):  # the file has its name; this one is in nobody's way, and is tidied with the leftovers
        passing.unlink(missing_ok=True)


def _take_back_name(passing: Path, target: Path) -> None:
    if passing.exists():  # both name one file, and of two such a renaming removes neither
        target.unlink()
    else:
        target.rename(passing)


def force_folder(folder: Path) -> None:
    """Force the names in a folder to disk, where the drive can do that."""
    if os.name == "nt":  # Windows opens no folders; its renaming is durable by itself
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as exc:  # some network drives cannot; the files themselves are on disk and in place
        if exc.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(handle)
