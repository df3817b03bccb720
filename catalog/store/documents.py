"""Documents that were issued, to read."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from typing import Any

from catalog.errors import NotFoundError
from catalog.rules.references import format_reference


@dataclass(frozen=True, slots=True)
class DocumentRow:
    """An issued document. To whom it is addressed is private."""

    id: int
    kind: str
    state: str
    issued_at: str
    voided_at: str | None
    voided_because: str | None
    person_id: int | None
    person: str | None
    edition_id: int | None
    law: str | None
    file_name: str
    sha256: str
    prints: tuple[int, ...]


_DOCUMENTS = """
    SELECT a.id, a.kind, a.state, a.issued_at, a.voided_at, a.voided_because, a.person_id, n.name AS person,
        a.edition_id, a.law, a.file_name, a.sha256,
        (SELECT group_concat(print_id) FROM (SELECT print_id FROM document_line WHERE document_id = a.id ORDER BY id))
            AS prints
    FROM document a LEFT JOIN person n ON n.id = a.person_id
"""


def list_documents(
    connection: sqlite3.Connection, *, print_id: int | None = None, person_id: int | None = None
) -> list[DocumentRow]:
    """Return the documents that were issued, oldest first: all, or those that list a print or address a person."""
    wanted = []
    if print_id is not None:
        wanted.append("a.id IN (SELECT document_id FROM document_line WHERE print_id = :print)")
    if person_id is not None:
        wanted.append("a.person_id = :person")
    where = f" WHERE {' AND '.join(wanted)}" if wanted else ""
    rows = connection.execute(f"{_DOCUMENTS}{where} ORDER BY a.id", {"print": print_id, "person": person_id})
    return [_document(row) for row in rows]


def get_document(connection: sqlite3.Connection, document_id: int) -> DocumentRow:
    """
    Return one document.

    Raises:
        NotFoundError: there is none.
    """
    row = connection.execute(f"{_DOCUMENTS} WHERE a.id = ?", (document_id,)).fetchone()
    if row is None:
        raise NotFoundError(f"There is no document {format_reference('document', document_id)}.")
    return _document(row)


def _document(row: tuple[Any, ...]) -> DocumentRow:
    found = DocumentRow(*row)
    ids = str(found.prints).split(",") if found.prints else []
    return replace(found, prints=tuple(map(int, ids)))
