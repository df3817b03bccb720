"""
Issued documents on the disk: kept once under their reference, had again unchanged.

A page is first set aside whole, then the catalogue says that it is issued, then it gets its name. Killed between
the last two, it gets its name at the next opening: what the catalogue calls issued is there, and nothing else.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from typing import Final

from catalog.errors import DocumentError
from catalog.passing_files import PASSING_GLOB, give_name, write_passing

_MAX_BYTES: Final = 256 << 20
_NAME: Final = re.compile(r"A[1-9]\d*-[a-z-]+\.pdf")
FOLDER: Final = "documents"
_TAKEN: Final = "another file has this name; put it aside, then open the archive again."


def document_file_name(reference: str, kind: str) -> str:
    """
    Return the name that a document is kept under.

    >>> document_file_name("A12", "consignment note")
    'A12-consignment-note.pdf'
    """
    return f"{reference}-{kind.replace(' ', '-')}.pdf"


def set_aside(folder: Path, file_name: str, content: bytes) -> Path:
    """
    Write a document whole, and force it to disk, under a passing name; ``put_in_place`` gives it its own.

    Raises:
        DocumentError: another file has its name, there is no room, or no leave to write there.
    """
    path = _path(folder, file_name)
    if os.path.lexists(path):
        raise DocumentError(path, "another file has this name; put it aside. Documents are never written over.")
    with _reasons(path):
        folder.mkdir(exist_ok=True)
        return write_passing(folder, content)


def put_in_place(passing: Path, file_name: str) -> Path:
    """
    Give a document that was set aside its name, never over another file.

    Raises:
        DocumentError: something has the name by now, or it cannot be given.
    """
    path = _path(passing.parent, file_name)
    with _reasons(path):
        try:
            give_name(passing, path)
        except FileExistsError:
            raise DocumentError(path, _TAKEN) from None
    return path


def read_kept(folder: Path, file_name: str, recorded_sha256: str) -> bytes:
    """
    Return the bytes of an issued document, just as they were issued.

    Raises:
        DocumentError: it is gone, cannot be read, or was changed since.
    """
    path = _path(folder, file_name)
    if path.is_symlink() or not path.is_file():
        raise DocumentError(path, f"is not in {folder.name} any more; bring it back from a backup.")
    if path.stat().st_size > _MAX_BYTES:
        raise DocumentError(path, "was changed since it was issued; bring it back from a backup.")
    with _reasons(path):
        content = path.read_bytes()
    found = sha256(content).hexdigest()
    if found != recorded_sha256:
        raise DocumentError(
            path,
            f"was changed since it was issued (sha256 was {recorded_sha256[:12]}, now {found[:12]}); "
            "bring it back from a backup.",
        )
    return content


def remove_passing(passing: Path) -> None:
    """Remove what was set aside; that it is gone already is no matter."""
    with suppress(FileNotFoundError):
        passing.unlink()


def remove_leftovers(connection: sqlite3.Connection, folder: Path) -> None:
    """
    Remove what killed processes set aside and never issued; the write lock must be held.

    While another process is between issuing and naming, nothing is removed.
    """
    at_work = connection.execute(
        "SELECT 1 FROM deed WHERE state = 'under way' AND kind LIKE 'documents %' LIMIT 1"
    ).fetchone()
    if at_work is None and not folder.is_symlink():
        for passing in folder.glob(PASSING_GLOB):
            remove_passing(passing)


def settle_documents(connection: sqlite3.Connection, folder: Path, deed_id: int) -> bool:
    """Give the documents that a killed deed had issued their names, and return whether all are in place."""
    issued = connection.execute(
        "SELECT a.file_name, a.sha256 FROM deed_change c JOIN document a ON a.id = c.record_id"
        " WHERE c.deed_id = ? AND c.record_table = 'document' AND c.change = 'added'",
        (deed_id,),
    ).fetchall()
    in_place = [_settle(folder, file_name, digest) for file_name, digest in issued]
    return all(in_place)


def document_faults(connection: sqlite3.Connection, folder: Path) -> Iterator[str]:
    """Yield where the catalogue and ``documents/`` disagree: pages gone or changed, pages that nobody issued."""
    if not folder.is_dir():
        return  # that the folder is gone is a finding of its own
    listed = dict(connection.execute("SELECT file_name, sha256 FROM document ORDER BY id").fetchall())
    for file_name, digest in listed.items():
        try:
            read_kept(folder, file_name, digest)
        except DocumentError as exc:
            yield str(exc)
    for path in sorted(folder.iterdir()):
        if _NAME.fullmatch(path.name) and path.name not in listed:
            yield f"{path.name} in {folder.name} is no document of this catalogue; put it aside."


def _settle(folder: Path, file_name: str, digest: str) -> bool:
    path = _path(folder, file_name)
    if path.is_file():
        return True
    for passing in folder.glob(PASSING_GLOB):
        if not passing.is_symlink() and passing.stat().st_size <= _MAX_BYTES:
            with suppress(DocumentError, OSError):
                if sha256(passing.read_bytes()).hexdigest() == digest:
                    put_in_place(passing, file_name)
                    return True
    return False


def _path(folder: Path, file_name: str) -> Path:
    path = folder / file_name
    if not _NAME.fullmatch(file_name):
        raise DocumentError(path, "is no name of a document, such as A12-certificate.pdf")
    if folder.is_symlink():
        raise DocumentError(path, f"{folder.name} is a link; documents are kept in the archive's own folder.")
    return path


@contextmanager
def _reasons(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as exc:
        raise DocumentError(path, f"{(exc.strerror or str(exc)).lower()}; nothing was issued.") from exc
