"""The documents that leave the house, one function a kind: plain values in, the bytes of a PDF out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

from catalog.errors import RefusedError
from catalog.outputs._document_parts import (
    amount_words,
    count_words,
    described,
    joined,
    over_two,
    refuse_empty,
    set_address,
    set_prints,
    set_promise,
    set_terms,
    since_words,
    sums_of_values,
    value_totals,
)
from catalog.outputs.document_facts import (
    Certificate,
    ConsignmentNote,
    Document,
    EditionStatement,
    HeldBy,
    InsuranceList,
    Invoice,
    LetterPaper,
    LoanForm,
    PrintLine,
    RunFacts,
    YearlyLetter,
)
from catalog.outputs.document_pages import Column, Pages
from catalog.rules.invoices import invoice_totals
from catalog.rules.money import Money


def make_document(document: Document, letter_paper: LetterPaper) -> bytes:
    """
    Return a document as the bytes of a PDF, typefaces embedded.

    The same facts at the same moment (``clock``) give the same bytes.

    Raises:
        LettersError: a letter cannot be set; the field and the letters are named.
        FontError: the typeface that the settings name cannot be used.
        RefusedError: the facts do not agree (lines and prints delivered, currencies), or there are no lines.
    """
    pages = Pages(document.title, document.reference, document.dated, letter_paper)
    _MAKERS[type(document)](pages, document)
    return pages.finish()


# ---- a certificate


def _certificate(pages: Pages, document: Certificate) -> None:
    pages.title(under=joined(document.line.reference, document.line.number))
    pages.facts((each.item.label, each.words) for each in document.answers)
    set_promise(pages, document.statement, document.statement_from, document.amendments)
    for remark in document.remarks:
        pages.paragraph(remark, field="the remark")
    pages.sign((document.signatory or "Signature", "Place and date"), after=document.followed)


# ---- what goes to a gallery or a borrower


def _consignment_note(pages: Pages, document: ConsignmentNote) -> None:
    check_delivered(document.reference, document.lines, document.delivered)
    set_address(pages, document.to)
    pages.paragraph(f"Delivered to be sold: {count_words(document.lines)}.")
    pages.facts((("To be returned by", document.return_by), ("Commission", document.commission)))
    set_prints(pages, document.lines, "Price", [line.price for line in document.lines])
    set_terms(pages, document.terms)
    received = f"Received in the condition stated: {count_words(document.lines)}, as listed."
    pages.sign((f"For {document.to.name}, date", f"For {document.signatory or 'the house'}, date"), before=(received,))


def _loan_form(pages: Pages, document: LoanForm) -> None:
    check_delivered(document.reference, document.lines, document.delivered)
    set_address(pages, document.to)
    pages.paragraph(f"Lent: {count_words(document.lines)}. What is lent remains its owner's.")
    pages.facts(
        (
            ("Purpose", document.purpose),
            ("Place", document.place),
            ("From", document.from_),
            ("Until", document.until),
            ("Insured by", document.insured_by),
        )
    )
    set_prints(pages, document.lines, "Value", [line.value for line in document.lines])
    set_terms(pages, document.terms)
    house = document.signatory or "the house"
    received = f"Received in the condition stated: {count_words(document.lines)}, as listed."
    pages.sign((f"For {document.to.name}, date", f"For {house}, date"), before=(received,))
    pages.sign((f"For {house}, date", "Condition on return"), before=("Returned as listed, but for what is noted:",))


def check_delivered(reference: str, lines: Sequence[PrintLine], delivered: Iterable[str]) -> None:
    """
    See that the lines of a document are the prints delivered, each once.

    Raises:
        RefusedError: they are not; every print that is too much, lacking or named twice is said.
    """
    listed, left = Counter(line.reference for line in lines), Counter(delivered)
    faults = [
        *(f"{one} is listed but was not delivered" for one in listed if one not in left),
        *(f"{one} was delivered but is not listed" for one in left if one not in listed),
        *(f"{one} is listed twice" for one, count in listed.items() if count > 1),
        *(f"{one} is said to be delivered twice" for one, count in left.items() if count > 1),
    ]
    if faults:
        raise RefusedError(f"{reference}: {'; '.join(faults)}. Nothing was issued.")
    refuse_empty(reference, lines)


# ---- an invoice


def _invoice(pages: Pages, document: Invoice) -> None:
    refuse_empty(document.reference, document.lines)
    unpriced = [line.reference for line in document.lines if line.price is None]
    if unpriced:
        raise RefusedError(f"{document.reference}: no price for {', '.join(unpriced)}. Nothing was issued.")
    prices = [line.price for line in document.lines if line.price is not None]
    sums = invoice_totals(prices, document.tax, included=document.tax_included, commission=document.commission)
    set_address(pages, document.to)
    said: list[tuple[str, Money]] = []
    if document.commission is not None:
        said += [("Prints", sums.prints), ("Less commission", Money(-document.commission.minor, sums.prints.currency))]
    if document.tax and not document.tax_included:
        said.append(("Without tax", sums.net))
        said += sums.taxes
    said.append(("To pay", sums.to_pay))
    if document.tax and document.tax_included:
        said += [(f"Contains {words}", amount) for words, amount in sums.taxes]
    pages.table(
        (
            Column("Print", 10),
            Column("Number", 14),
            Column("Title", 60),
            Column("Sold", 24),
            Column("Price", 24, is_amount=True),
        ),
        [
            (line.reference, line.number, described(line), line.sold or "not recorded", str(line.price))
            for line in document.lines
        ],
        totals=[(words, str(amount)) for words, amount in said],
    )
    set_terms(pages, document.terms)


# ---- who has what


def _yearly_letter(pages: Pages, document: YearlyLetter) -> None:
    refuse_empty(document.reference, document.lines)
    set_address(pages, document.to)
    pages.paragraph(
        f"Our records say that you hold the {count_words(document.lines)} listed here. Please tick what is so, correct "
        "what is not, and send a signed copy back" + (f" by {document.answer_by}." if document.answer_by else ".")
    )
    boxes = [Column(heading, 13, is_box=True) for heading in ("Here", "Sold", "Sent back", "Otherwise")]
    pages.table(
        (Column("Print", 10), Column("Number", 14), Column("Title", 50), Column("Since", 24), *boxes),
        [(line.reference, line.number, described(line), since_words(line), "", "", "", "") for line in document.lines],
    )
    pages.paragraph("Otherwise: please say here what became of it, and where it is now.")
    pages.gap(22)
    pages.sign((f"For {document.to.name}, date", document.signatory or "For the house"))


def _held_by(pages: Pages, document: HeldBy) -> None:
    refuse_empty(document.reference, document.lines)
    set_address(pages, document.to)
    pages.paragraph(f"Held by {document.to.name}: {count_words(document.lines)}.")
    columns = (
        Column("Print", 10),
        Column("Number", 14),
        Column("Title", 44),
        Column("Owner", 24),
        Column("Since, signed for", 31),
        Column("Value", 24, is_amount=True),
    )
    rows = [
        (
            line.reference,
            line.number,
            described(line),
            line.owner or "not recorded",
            since_words(line),
            amount_words(line.value),
        )
        for line in document.lines
    ]
    pages.table(columns, rows, totals=value_totals(document.lines))
    confirmed = "The prints listed are here, belong to those named as owners, and are in good order but for:"
    pages.sign(
        (f"For {document.to.name}, date", document.signatory or "For the house"), before=(confirmed,), room_mm=28
    )


def _insurance_list(pages: Pages, document: InsuranceList) -> None:
    refuse_empty(document.reference, document.lines)
    pages.title(under=f"as of {document.as_of}" if document.as_of else "")
    places: dict[str, list[PrintLine]] = {}
    for line in document.lines:
        places.setdefault(line.place or "Place not recorded", []).append(line)
    for place, lines in places.items():
        pages.table(
            (
                Column("Print", 10),
                Column("Number", 14),
                Column("Title", 56),
                Column("Since", 26),
                Column("Value", 26, is_amount=True),
            ),
            [
                (one.reference, one.number, described(one), one.since or "not recorded", amount_words(one.value))
                for one in lines
            ],
            name=("the place", place),
            totals=value_totals(lines),
        )
    pages.subtitle("All places", room_mm=45)
    pages.facts(
        [
            ("Prints", str(len(document.lines))),
            ("Without a value", str(sum(line.value is None for line in document.lines))),
            *((f"Value in {each.currency}", str(each)) for each in sums_of_values(document.lines)),
        ]
    )


# ---- an edition for a curator


def _edition_statement(pages: Pages, document: EditionStatement) -> None:
    pages.title(under=document.picture)
    pages.facts(
        (
            ("Edition", document.edition),
            ("State", document.state),
            ("How sizes count", document.sizes_count),
        )
    )
    set_promise(pages, document.statement, document.statement_from, document.amendments)
    for run in document.runs:
        _run(pages, run)
    pages.sign((document.signatory or "Signature", "Place and date"))


def _run(pages: Pages, run: RunFacts) -> None:
    pages.subtitle(run.title, field="the run")
    counts = ", ".join(f"{count} {words}" for words, count in run.counts)
    pages.facts(
        (
            ("Limit", run.limit),
            ("Sizes", ", ".join(run.sizes)),
            ("Proofs", run.proofs or "none declared"),
            ("So far", counts or "no print yet"),
        )
    )
    if run.fates:
        pages.table(
            (
                Column("Number", 28),
                Column("Print", 12),
                Column("Size", 24),
                Column("What became of it", 56),
                Column("Since", 30),
            ),
            [
                (fate.number, fate.reference, fate.size, over_two(fate.fate, fate.words), fate.since)
                for fate in run.fates
            ],
        )


_MAKERS: Final[dict[type, Callable[[Pages, Any], None]]] = {
    Certificate: _certificate,
    ConsignmentNote: _consignment_note,
    LoanForm: _loan_form,
    Invoice: _invoice,
    YearlyLetter: _yearly_letter,
    InsuranceList: _insurance_list,
    EditionStatement: _edition_statement,
    HeldBy: _held_by,
}
