"""Prints from the catalogue as documents name them, and the facts of a certificate."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping

from catalog.dates import edtf_in_words
from catalog.errors import RefusedError
from catalog.outputs.document_facts import Party, PrintLine
from catalog.rules.counting import counted
from catalog.rules.disclosure import ITEMS, NOT_KNOWN, NOT_KNOWN_WORDS, Fact
from catalog.rules.editions import copies_in_words
from catalog.rules.money import Money
from catalog.rules.print_numbers import NUMBERED, format_series, parse_number
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.document_facts import (
    DocumentPrint,
    DocumentRun,
    count_prints,
    count_unnumbered,
    other_editions,
    picture_words,
    read_addressee,
    read_runs,
)
from catalog.store.documents import get_document


def party(connection: sqlite3.Connection, person_id: int) -> Party:
    """Return a person as a document addresses them."""
    found = read_addressee(connection, person_id)
    lines = tuple(line.strip() for line in (found.address or "").replace(";", "\n").splitlines() if line.strip())
    return Party(found.name, lines, format_reference("person", found.id))


def house(archive: Archive) -> str:
    """Return the name of the photographer's house: the first line of the heading, else the photographer."""
    settings = archive.settings
    return settings.documents_heading[0] if settings.documents_heading else settings.archive_photographer


def line_of(archive: Archive, connection: sqlite3.Connection, row: DocumentPrint) -> PrintLine:
    """Return one print as a line; its price is that of its last entry."""
    return PrintLine(
        reference=format_reference("print", row.id),
        title=picture_words(connection, row.view_id) or "picture not recorded",
        number=row.number or "",
        edition=format_reference("edition", row.edition_id) if row.edition_id is not None else "",
        date=edtf_in_words(row.exposed_edtf),
        printed=_said(row.pulled_edtf),
        process=row.process or "",
        paper=row.paper or "",
        image_size=row.image_size or "",
        paper_size=row.paper_size or "",
        signature=signature_words(row),
        condition=row.condition or "",
        price=_money(row.entry_price_minor, row.entry_currency),
        value=_money(row.value_minor, row.currency),
        since=_said(row.since_edtf),
        due=_said(row.due_edtf),
        place=", ".join(filter(None, (row.custodian, row.place))) or "",
        owner=row.owner or house(archive),
        custodian=row.custodian or "",
        signed_for=_signed_for(connection, row.signed_for_id),
        markings=row.markings or "",
    )


def _signed_for(connection: sqlite3.Connection, document_id: int | None) -> str:
    if document_id is None:
        return ""
    document = get_document(connection, document_id)
    return f"{format_reference('document', document_id)} of {edtf_in_words(document.issued_at[:10])}"


def signature_words(row: DocumentPrint) -> str:
    """Return how a print is signed, in words; empty where nothing was recorded."""
    if row.is_estate_stamp:
        return ", ".join(filter(None, ("stamp of the estate", row.signed_where)))
    said = " ".join(
        filter(None, ("signed", f"in {row.signed_with}" if row.signed_with else "", row.signed_where or ""))
    )
    return said if row.is_signed or row.signed_where or row.signed_with else ""


def _said(edtf: str | None) -> str:
    return edtf_in_words(edtf) if edtf is not None else ""


def _money(minor: int | None, currency: str | None) -> Money | None:
    return Money(minor, currency) if minor is not None and currency is not None else None


# ---- the facts of a certificate


def certificate_facts(
    archive: Archive, connection: sqlite3.Connection, row: DocumentPrint, said: Mapping[str, str]
) -> dict[str, Fact]:
    """
    Return what the catalogue knows of a print, by item; what was said by hand (``said``) comes first.

    Raises:
        RefusedError: something was said of an item that no list has.
    """
    line = line_of(archive, connection, row)
    known = {
        "artist": archive.settings.archive_photographer,
        "title": f"{line.title}, {line.date}",
        "signature": line.signature,
        "process": line.process,
        "material": line.paper,
        "size": _size(line),
        "reproduction": _reproduction(row),
        "master": _master(row),
        "artists_part": _artists_part(row),
        "workshop": row.pulled_by or "",
        "prior": _prior(connection, row),
        "year": line.printed,
        "number": line.number or "no number",
        **_edition_facts(connection, row),
    }
    facts = {key: Fact(words) for key, words in known.items() if words}
    return {**facts, **{key: _as_fact(key, words) for key, words in said.items()}}


def _size(line: PrintLine) -> str:
    said = (("image", line.image_size), ("sheet", line.paper_size))
    return ", ".join(f"{part} {size}" for part, size in said if size)


def _as_fact(key: str, words: str) -> Fact:
    if key not in ITEMS:
        raise RefusedError(f"{key!r} is no item of a certificate. There are: {', '.join(ITEMS)}.")
    return NOT_KNOWN if words.strip().casefold() == NOT_KNOWN_WORDS else Fact(words.strip())


def _reproduction(row: DocumentPrint) -> str:
    if row.sheet_id is None:
        return ""
    sheet = format_reference("sheet", row.sheet_id)
    if row.copied_from_id is not None:
        return f"no; printed from a copy ({sheet}) of the photographer's film"
    return f"no; printed from the photographer's own film ({sheet})"


def _master(row: DocumentPrint) -> str:
    said = [
        format_reference(table, record)
        for table, record in (("edit_version", row.version_id), ("scan", row.scan_id), ("sheet", row.sheet_id))
        if record is not None
    ]
    return f"printed from {' of '.join(said)}" if said else ""


def _artists_part(row: DocumentPrint) -> str:
    return f"printed by {row.pulled_by}" if row.pulled_by else ""


def _prior(connection: sqlite3.Connection, row: DocumentPrint) -> str:
    """Return earlier editions and prints of the view that the archive knows; that there are none it cannot say."""
    if row.view_id is None:
        return ""
    said = [
        f"{format_reference('edition', edition)}, stated {edtf_in_words(stated)}"
        for edition, stated in other_editions(connection, row.view_id, row.edition_id)
    ]
    loose = count_unnumbered(connection, row.view_id)
    if loose:
        said.append(f"{counted(loose, 'print')} without a number")
    return "; ".join(said) or "none recorded in the archive"


def _edition_facts(connection: sqlite3.Connection, row: DocumentPrint) -> dict[str, str]:
    if row.edition_id is None:
        return {}
    runs = read_runs(connection, row.edition_id)
    counts, proofs = count_prints(connection, row.edition_id), _proofs(runs)
    loose = count_unnumbered(connection, row.view_id) if row.view_id is not None else 0
    total = copies_in_words([run.limit for run in runs], list(proofs.items()))
    of = _limit_written(row)
    if of is not None and of not in {run.limit for run in runs}:  # the rule was amended since
        total = f"{of} when it was numbered; since it was amended, {total}"
    return {
        "total": total,
        "numbered": copies_in_words([run.limit for run in runs], ()),
        "signed": f"{counts.signed} of the {counts.made} made so far",
        "unsigned": f"{counts.made - counts.signed} of the {counts.made} made so far",
        "unnumbered": f"{loose} recorded in the archive" if loose else "none recorded in the archive",
        "proofs": ", ".join(format_series(kind, count) for kind, count in proofs.items()) or "none declared",
        "hors_commerce": str(proofs["HC"]) if "HC" in proofs else "none declared",
    }


def _limit_written(row: DocumentPrint) -> int | None:
    """Return what stands after the stroke of a numbered print's number, if anything does."""
    name = parse_number(row.number) if row.number and row.series == NUMBERED else None
    return name.of if name is not None else None


def _proofs(runs: list[DocumentRun]) -> dict[str, int]:
    counted: dict[str, int] = {}
    for run in runs:
        for kind, allowed in run.proofs:
            counted[kind] = counted.get(kind, 0) + allowed
    return counted


def is_limited(connection: sqlite3.Connection, row: DocumentPrint) -> bool:
    """Return True if the print is of an edition that has a limit, or was numbered as one of so many."""
    if row.edition_id is None:
        return False
    if _limit_written(row) is not None:
        return True
    return all(run.limit is not None for run in read_runs(connection, row.edition_id))
