"""A document as it was issued. To whom it is addressed is told by reference alone: names are private."""

from __future__ import annotations

from catalog.rules.references import format_reference
from catalog.store._show_reader import Fact, Line, Reader, Section
from catalog.store.documents import get_document
from catalog.store.names import describe


def read_document(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a document's facts, and the prints it lists."""
    row = get_document(reader.connection, reader.id)
    said = (
        ("state", row.state),
        ("issued", row.issued_at),
        ("voided", row.voided_at),
        ("because", row.voided_because),
        ("addressed to", format_reference("person", row.person_id) if row.person_id is not None else None),
        ("edition", format_reference("edition", row.edition_id) if row.edition_id is not None else None),
        ("law", row.law),
        ("file", row.file_name),
        ("sha256", row.sha256),
    )
    prints = [
        Line(describe(reader.connection, "print", print_id) or "", format_reference("print", print_id))
        for print_id in row.prints
    ]
    return [Fact(field, value) for field, value in said if value is not None], [("prints", prints)]


READERS = {"document": read_document}
