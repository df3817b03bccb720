"""Documents: issuing, voiding and having them again. An issued one is never altered."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace

from catalog import clock
from catalog.actions._document_issue import Draft, Issued, issue
from catalog.actions._document_prints import certificate_facts, house, is_limited, line_of, party
from catalog.actions._edition_facts import amendments_of, edition_statement
from catalog.actions.desk import AT_DESK, Desk, at_desk, get_record
from catalog.dates import edtf_in_words, parse_edtf
from catalog.errors import RefusedError
from catalog.model import Document
from catalog.outputs import document_facts as facts
from catalog.rules.disclosure import answer, choose_list, text_followed
from catalog.rules.invoices import parse_tax_line
from catalog.rules.money import Money
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.document_facts import (
    DocumentPrint,
    last_sale,
    prints_of_the_house,
    prints_sold_to,
    prints_with,
    read_edition,
    read_prints,
)
from catalog.store.document_files import (
    FOLDER,
    read_kept,
)
from catalog.store.documents import get_document

# ---- each kind


def issue_certificate(
    archive: Archive,
    print_id: int,
    *,
    law: str | None = None,
    price: Money | None = None,
    said: Mapping[str, str] | None = None,
    remarks: Sequence[str] = (),
    desk: Desk = AT_DESK,
) -> Issued:
    """
    Issue a certificate of one print, by the list of a law (else the one of the settings).

    ``said`` answers items by hand, before those of the settings; "not known" is an answer. ``price`` without
    frame tells whether the law asks at all.

    Raises:
        DisclosureError: items that the law asks for were never answered; all are named.
    """
    told = {**archive.settings.said_on_certificates(), **(said or {})}

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        (row,) = read_prints(connection, [print_id])
        _refuse_ended(row)
        printed = parse_edtf(row.pulled_edtf) if row.pulled_edtf else None
        chosen = choose_list(law or archive.settings.documents_law, printed)
        answers = answer(
            chosen,
            certificate_facts(archive, connection, row, told),
            what=format_reference("print", print_id),
            is_limited=is_limited(connection, row),
            is_reproduction=told.get("reproduction", "no").casefold().startswith("yes"),
            is_artist_dead="dead" in told,
            price=price,
        )
        edition = read_edition(connection, row.edition_id) if row.edition_id is not None else None
        page = facts.Certificate(
            reference=reference,
            dated=dated,
            line=line_of(archive, connection, row),
            answers=answers,
            followed=text_followed(chosen, price),
            statement=edition.statement if edition else "",
            statement_from=f"of {edtf_in_words(edition.stated_edtf)}" if edition and edition.stated_edtf else "",
            amendments=amendments_of(edition) if edition else (),
            remarks=tuple(remarks),
            signatory=house(archive),
        )
        return Draft(page, "certificate", (print_id,), edition_id=row.edition_id, law=chosen.cites or None)

    return issue(archive, "certificate", draft, desk=desk)


def _refuse_ended(row: DocumentPrint) -> None:
    if row.state in ("spoiled", "destroyed", "replaced", "never made"):
        raise RefusedError(f"{format_reference('print', row.id)} is {row.state}; it gets no certificate.")


def issue_consignment_note(
    archive: Archive,
    person_id: int,
    print_ids: Sequence[int] = (),
    *,
    return_by: str = "",
    commission: str = "",
    terms: Sequence[str] = (),
    desk: Desk = AT_DESK,
) -> Issued:
    """
    Issue the note for prints consigned to a person: those named, which must be all that no note lists yet.

    Raises:
        RefusedError: the prints named are not the prints delivered; each difference is named.
    """

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        rows, delivered = _delivered(connection, person_id, print_ids, "consigned")
        page = facts.ConsignmentNote(
            reference=reference,
            dated=dated,
            to=party(connection, person_id),
            lines=tuple(line_of(archive, connection, row) for row in rows),
            delivered=delivered,
            return_by=return_by or _one_due(rows),
            commission=commission,
            terms=tuple(terms),
            signatory=house(archive),
        )
        return Draft(page, "consignment note", tuple(row.id for row in rows), person_id)

    return issue(archive, "consignment-note", draft, desk=desk)


def issue_loan_form(
    archive: Archive,
    person_id: int,
    print_ids: Sequence[int] = (),
    *,
    purpose: str = "",
    place: str = "",
    until: str = "",
    insured_by: str = "",
    terms: Sequence[str] = (),
    desk: Desk = AT_DESK,
) -> Issued:
    """
    Issue the form for prints lent to a person: those named, which must be all that no form lists yet.

    Raises:
        RefusedError: the prints named are not the prints lent; each difference is named.
    """

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        rows, delivered = _delivered(connection, person_id, print_ids, "lent")
        lines = tuple(line_of(archive, connection, row) for row in rows)
        page = facts.LoanForm(
            reference=reference,
            dated=dated,
            to=party(connection, person_id),
            lines=lines,
            delivered=delivered,
            purpose=purpose,
            place=place or _alike([row.place or "" for row in rows]),
            from_=_alike([line.since for line in lines]),
            until=until or _one_due(rows),
            insured_by=insured_by,
            terms=tuple(terms),
            signatory=house(archive),
        )
        return Draft(page, "loan form", tuple(row.id for row in rows), person_id)

    return issue(archive, "loan-form", draft, desk=desk)


def _delivered(
    connection: sqlite3.Connection, person_id: int, print_ids: Sequence[int], state: str
) -> tuple[list[DocumentPrint], tuple[str, ...]]:
    """
    Return the lines asked for, and the references of what was delivered and is on no document yet.

    Raises:
        RefusedError: one that is asked for is on a document that is in force.
    """
    with_them = read_prints(connection, prints_with(connection, person_id, (state,)))
    open_ones = [row for row in with_them if row.signed_for_id is None]
    for row in with_them:
        if row.id in print_ids and row.signed_for_id is not None:
            kept = format_reference("document", row.signed_for_id)
            raise RefusedError(
                f"{format_reference('print', row.id)} is on {kept} already, which is in force. If that is wrong: "
                f"tiebeam documents void {kept} --because TEXT. Nothing was issued."
            )
    rows = read_prints(connection, print_ids) if print_ids else open_ones
    return rows, tuple(format_reference("print", row.id) for row in open_ones)


def _one_due(rows: Sequence[DocumentPrint]) -> str:
    return _alike([edtf_in_words(row.due_edtf) if row.due_edtf else "" for row in rows])


def _alike(words: Sequence[str]) -> str:
    """Return what all say, or that they differ; empty where none says anything."""
    said = set(words)
    return said.pop() if len(said) == 1 else "differs from print to print" if said else ""


def issue_invoice(
    archive: Archive,
    person_id: int,
    print_ids: Sequence[int] = (),
    *,
    commission: Money | None = None,
    terms: Sequence[str] = (),
    desk: Desk = AT_DESK,
) -> Issued:
    """
    Issue an invoice for prints sold to a person: those named, else all that no invoice lists yet.

    Raises:
        RefusedError: one was not sold to them or has no price, or the currencies differ.
    """
    settings = archive.settings

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        sold = prints_sold_to(connection, person_id)
        rows = read_prints(connection, print_ids or sold)
        wrong = [format_reference("print", row.id) for row in rows if row.id not in sold]
        if wrong:
            raise RefusedError(
                f"{', '.join(wrong)}: not sold to {format_reference('person', person_id)}, or on an invoice already. "
                "Nothing was issued."
            )
        page = facts.Invoice(
            reference=reference,
            dated=dated,
            to=party(connection, person_id),
            lines=tuple(_sold_line(archive, connection, row, person_id) for row in rows),
            tax=tuple(parse_tax_line(line) for line in settings.documents_tax),
            tax_included=settings.documents_tax_included,
            commission=commission,
            terms=tuple(terms),
        )
        return Draft(page, "invoice", tuple(row.id for row in rows), person_id)

    return issue(archive, "invoice", draft, desk=desk)


def _sold_line(archive: Archive, connection: sqlite3.Connection, row: DocumentPrint, person_id: int) -> facts.PrintLine:
    minor, currency, sold = last_sale(connection, row.id, person_id) or (None, "", None)
    line = line_of(archive, connection, row)
    return replace(
        line,
        price=Money(minor, currency) if minor is not None else None,
        sold=edtf_in_words(sold) if sold else "",
    )


def issue_letter(archive: Archive, person_id: int, *, answer_by: str = "", desk: Desk = AT_DESK) -> Issued:
    """Issue the letter that asks a person to confirm which prints they hold."""

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        rows = read_prints(connection, prints_with(connection, person_id))
        page = facts.YearlyLetter(
            reference=reference,
            dated=dated,
            to=party(connection, person_id),
            lines=tuple(line_of(archive, connection, row) for row in rows),
            answer_by=answer_by,
            signatory=house(archive),
        )
        return Draft(page, "yearly letter", tuple(row.id for row in rows), person_id)

    return issue(archive, "letter", draft, desk=desk)


def issue_held_by(archive: Archive, person_id: int, *, desk: Desk = AT_DESK) -> Issued:
    """Issue the list of the prints a person holds: owner, value, since when, signed for under which document."""

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        rows = read_prints(connection, prints_with(connection, person_id))
        page = facts.HeldBy(
            reference=reference,
            dated=dated,
            to=party(connection, person_id),
            lines=tuple(line_of(archive, connection, row) for row in rows),
            signatory=house(archive),
        )
        return Draft(page, "prints held", tuple(row.id for row in rows), person_id)

    return issue(archive, "held-by", draft, desk=desk)


def issue_insurance_list(archive: Archive, *, desk: Desk = AT_DESK) -> Issued:
    """Issue the list of the photographer's own prints by place and value."""

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        rows = read_prints(connection, prints_of_the_house(connection))
        lines = sorted((line_of(archive, connection, row) for row in rows), key=_by_place_and_value)
        page = facts.InsuranceList(reference=reference, dated=dated, lines=tuple(lines), as_of=dated)
        return Draft(page, "insurance list", tuple(row.id for row in rows))

    return issue(archive, "insurance-list", draft, desk=desk)


def _by_place_and_value(line: facts.PrintLine) -> tuple[bool, str, str, int]:
    """Order by place, within it the dearest first; what has no place, or no value, comes last."""
    value = line.value
    return (not line.place, line.place, value.currency if value else "~", -value.minor if value else 0)


def issue_edition_statement(archive: Archive, edition_id: int, *, desk: Desk = AT_DESK) -> Issued:
    """Issue the statement of an edition: its promise, its amendments, what became of every number."""

    def draft(connection: sqlite3.Connection, reference: str, dated: str) -> Draft:
        page = edition_statement(connection, edition_id, reference=reference, dated=dated, signatory=house(archive))
        return Draft(page, "edition statement", edition_id=edition_id)

    return issue(archive, "edition-statement", draft, desk=desk)


# ---- after it was issued


def void_document(archive: Archive, document_id: int, *, because: str, desk: Desk = AT_DESK) -> None:
    """
    Void an issued document; its page stays in ``documents/`` as it was.

    Raises:
        RefusedError: it is voided already, or no reason was given.
    """
    if not because.strip():
        raise RefusedError("Say why the document is voided. Nothing was changed.")
    with at_desk(archive, "documents void", desk) as writing:
        document = get_record(writing.session, Document, document_id)
        reference = format_reference("document", document_id)
        if document.state == "voided":
            day = (document.voided_at or "")[:10]
            raise RefusedError(f"{reference} was voided already, on {day}. Nothing was changed.")
        document.state, document.voided_at, document.voided_because = "voided", clock.timestamp(), because.strip()
        writing.say(f"voided {reference}, {document.kind}: {because.strip()}")


def read_again(archive: Archive, document_id: int) -> bytes:
    """
    Return the page of a document, just as it was issued.

    Raises:
        NotFoundError: there is no such document.
        DocumentError: its page is gone or was changed since.
    """
    with archive.reading() as connection:
        row = get_document(connection, document_id)
    return read_kept(archive.folder / FOLDER, row.file_name, row.sha256)


__all__ = [
    "Draft",
    "Issued",
    "issue",
    "issue_certificate",
    "issue_consignment_note",
    "issue_edition_statement",
    "issue_held_by",
    "issue_insurance_list",
    "issue_invoice",
    "issue_letter",
    "issue_loan_form",
    "read_again",
    "void_document",
]
