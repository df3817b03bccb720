"""Issued documents on the disk: kept once under their reference, had again unchanged."""

from __future__ import annotations

import re
from hashlib import sha256
from pathlib import Path
from typing import Final

from catalog.errors import DocumentError
from catalog.outputs.handed_out import reasons, write_files

_MAX_BYTES: Final = 256 << 20
_NAME: Final = re.compile(r"A[1-9]\d*-[a-z-]+\.pdf")


def document_file_name(reference: str, kind: str) -> str:
    """
    Return the name that a document is kept under.

    >>> document_file_name("A12", "consignment note")
    'A12-consignment-note.pdf'
    """
    return f"{reference}-{kind.replace(' ', '-')}.pdf"


def keep_document(folder: Path, file_name: str, content: bytes) -> Path:
    """
    Write an issued document into ``folder`` (the archive's ``documents/``), whole or not at all.

    A document is never written over: one of the same name that holds the same bytes is kept as it is.

    Raises:
        DocumentError: another file has the name, or the folder is a link.
        OutputFileError: there is no room, or no leave to write there.
    """
    path = _path(folder, file_name)
    with reasons(path):
        folder.mkdir(exist_ok=True)
    if path.is_file() and not path.is_symlink() and path.read_bytes() == content:
        return path
    if path.exists() or path.is_symlink():
        raise DocumentError(path, "another file has this name; put it aside. Documents are never written over.")
    write_files([(path, content)], replace=False)
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
    try:
        content = path.read_bytes()
    except OSError as exc:
        raise DocumentError(path, f"cannot be read: {(exc.strerror or str(exc)).lower()}.") from exc
    found = sha256(content).hexdigest()
    if found != recorded_sha256:
        raise DocumentError(
            path,
            f"was changed since it was issued (sha256 was {recorded_sha256[:12]}, now {found[:12]}); "
            "bring it back from a backup.",
        )
    return content


def _path(folder: Path, file_name: str) -> Path:
    path = folder / file_name
    if not _NAME.fullmatch(file_name):
        raise DocumentError(path, "is no name of a document, such as A12-certificate.pdf")
    if folder.is_symlink():
        raise DocumentError(path, f"{folder.name} is a link; documents are kept in the archive's own folder.")
    return path
