"""Files that a deed wrote, put back as they were before it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from hashlib import file_digest
from pathlib import Path

from catalog.errors import CatalogError, UndoError
from catalog.passing_files import force_folder, write_passing
from catalog.store.daybook import FileRow
from catalog.store.interrupted import decode_path

PutBack = Callable[[Path, "bytes | None", "str | None"], None]
"""Puts former bytes at a path, if what is there still has the digest given; ``None`` is no file in either."""


@dataclass(frozen=True, slots=True)
class FileToPutBack:
    """A file that still holds what a deed wrote, with what it is to hold again."""

    path: Path
    former: bytes | None
    former_sha256: str | None
    written_sha256: str | None


def put_back_bytes(path: Path, former: bytes | None, written_sha256: str | None) -> None:
    """
    Put former bytes back whole, under a passing name first; never through a link.

    Raises:
        UndoError: the file is no longer as it was written, or cannot be written.
    """
    try:
        if digest_of_file(path) != written_sha256:
            raise UndoError(f"{path} was changed meanwhile and was left as it is.")
        if former is None:
            path.unlink()
        else:
            _replace(path, former)
        force_folder(path.parent)
    except OSError as exc:
        raise UndoError(f"{path}: {exc.strerror or exc}") from exc


def _replace(path: Path, content: bytes) -> None:
    permissions = path.stat().st_mode & 0o777 if path.exists() else 0o666
    passing = write_passing(path.parent, content, permissions=permissions)
    try:
        passing.replace(path)
    finally:
        passing.unlink(missing_ok=True)


def _take_back_picture(path: Path, former: bytes | None, written_sha256: str | None) -> None:
    """Take a written picture away again; its bytes, hundreds of megabytes maybe, are kept nowhere."""
    if former is None and written_sha256 is None:
        raise UndoError(f"{path} was a picture, of which no copy was kept. Write it again: tiebeam versions write")
    put_back_bytes(path, former, written_sha256)


def _put_back_sidecar(path: Path, former: bytes | None, written_sha256: str | None) -> None:
    from catalog.outputs.sidecar_files import restore_sidecar, write_sidecar

    if former is not None:
        write_sidecar(path, former, expected=written_sha256)
    elif written_sha256 is not None:
        restore_sidecar(path, None, expected=written_sha256)


FILE_UNDO: dict[str, PutBack] = {
    "sidecars write": _put_back_sidecar,
    "versions make": _take_back_picture,
    "versions write": _take_back_picture,
}
"""How the files of a kind of deed are put back, where it is not ``put_back_bytes``."""
_NOT_KEPT = {"versions make", "versions write"}
MAKE_AGAIN = "It cannot be done again by an undo, since no copy of its pictures was kept: tiebeam versions make"


def are_bytes_kept(kind: str) -> bool:
    """Return whether what an undo takes away of this kind of deed's files is kept, so that it can itself be undone."""
    return kind not in _NOT_KEPT


def bytes_to_keep(kind: str, file: FileToPutBack) -> bytes | None:
    """Return what an undo keeps of a file that it takes away, so that it can itself be undone; of a picture nothing."""
    return None if file.written_sha256 is None or not are_bytes_kept(kind) else file.path.read_bytes()


def digest_of_file(path: Path) -> str | None:
    """
    Return the SHA-256 of a file, or ``None`` when its folder holds no such file.

    Raises:
        UndoError: the folder is not there (its drive may be away), it is no plain file, or it cannot be read.
    """
    if path.is_symlink() or (path.exists() and not path.is_file()):
        raise UndoError(f"{path} is a link or no file, and was left as it is.")
    try:
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        if path.parent.is_dir():
            return None
        raise UndoError(f"{path.parent} is not there; if it is on a drive, bring the drive back first.") from None
    except OSError as exc:
        raise UndoError(f"{path}: {exc.strerror or exc}") from exc


def files_to_put_back(files: Iterable[FileRow], deed_id: int) -> list[FileToPutBack]:
    """
    Return the files of a deed that still hold what it wrote; those that are as before already are left out.

    Raises:
        UndoError: one was changed since, or cannot be reached. Nothing has been done then.
    """
    written: dict[str, list[FileRow]] = {}
    for row in files:
        if row.state == "done":
            written.setdefault(row.path, []).append(row)
    found = []
    for rows in written.values():
        path = decode_path(rows[0].path)
        file = FileToPutBack(path, rows[0].before, rows[0].before_sha256, rows[-1].after_sha256)
        try:
            now = digest_of_file(path)
        except UndoError as exc:
            raise UndoError(f"Deed {deed_id} cannot be undone: {exc} Nothing was changed.") from exc
        if now == file.former_sha256:
            continue
        if file.former_sha256 is not None and file.former is None:
            raise UndoError(
                f"Deed {deed_id} cannot be undone: {path.name} was a picture, of which no copy was kept. "
                "Make it again with: tiebeam versions make. Nothing was changed."
            )
        if now != file.written_sha256:
            what = "is gone" if now is None else "was changed"
            raise UndoError(
                f"Deed {deed_id} cannot be undone: {path} {what} since it was written. "
                "Put it aside or back, then try again; nothing was changed."
            )
        found.append(file)
    return found


def put_back(kind: str, file: FileToPutBack) -> str | None:
    """Put one file back and return ``None``, or why it could not be."""
    try:
        FILE_UNDO.get(kind, put_back_bytes)(file.path, file.former, file.written_sha256)
    except CatalogError as exc:
        return str(exc)
    return None
