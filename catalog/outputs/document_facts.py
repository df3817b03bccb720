"""
What documents are made from: plain values, ready in words.

Dates come in words with their doubt ("probably August 1979"). An empty text is a fact that was not recorded.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from catalog.rules.disclosure import Answer
from catalog.rules.invoices import TaxLine
from catalog.rules.money import Money


@dataclass(frozen=True, slots=True)
class Party:
    """Whom a document is addressed to: a person or firm."""

    name: str
    address: tuple[str, ...] = ()
    reference: str = ""


@dataclass(frozen=True, slots=True)
class PrintLine:
    """
    One print as a document names it.

    ``number`` is as pencilled (``7/15``), empty for a print without one. ``date`` is the picture's, ``printed``
    the print's own. ``price`` is what was asked or paid, ``value`` what it is insured for. ``since`` is when it
    came to where it is, ``signed_for`` the document that says so, ``custodian`` who has it. ``sold`` is the day of
    the sale at hand. ``markings`` are what is on the back of an old print.
    """

    reference: str
    title: str
    number: str = ""
    edition: str = ""
    date: str = ""
    printed: str = ""
    process: str = ""
    paper: str = ""
    image_size: str = ""
    paper_size: str = ""
    signature: str = ""
    condition: str = ""
    price: Money | None = None
    value: Money | None = None
    since: str = ""
    due: str = ""
    place: str = ""
    owner: str = ""
    custodian: str = ""
    signed_for: str = ""
    sold: str = ""
    markings: str = ""


@dataclass(frozen=True, slots=True)
class NumberFate:
    """What became of one print number: ``7/15``, its print if it has one, the state it is in, and since when."""

    number: str
    fate: str
    reference: str = ""
    since: str = ""
    size: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class RunFacts:
    """One run of an edition: what it counts, its limit and proofs in words, and the fate of each number."""

    title: str
    limit: str
    sizes: tuple[str, ...]
    fates: tuple[NumberFate, ...]
    proofs: str = ""
    counts: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Amendment:
    """A change of an edition's promise: when, the words, and what it changed of the rule."""

    date: str
    words: str
    changed: str = ""


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate of one print. ``answers`` and ``followed`` come from ``rules.disclosure``."""

    kind: ClassVar[str] = "certificate"
    title: ClassVar[str] = "Certificate"
    reference: str
    dated: str
    line: PrintLine
    answers: tuple[Answer, ...]
    followed: tuple[str, ...]
    statement: str = ""
    statement_from: str = ""
    amendments: tuple[Amendment, ...] = ()
    remarks: tuple[str, ...] = ()
    signatory: str = ""


@dataclass(frozen=True, slots=True)
class ConsignmentNote:
    """Prints given to a gallery to sell. ``delivered`` are the references of the prints that left the house."""

    kind: ClassVar[str] = "consignment-note"
    title: ClassVar[str] = "Consignment note"
    reference: str
    dated: str
    to: Party
    lines: tuple[PrintLine, ...]
    delivered: tuple[str, ...]
    return_by: str = ""
    commission: str = ""
    terms: tuple[str, ...] = ()
    signatory: str = ""


@dataclass(frozen=True, slots=True)
class LoanForm:
    """Prints lent: for what, where to, from when until when, and who insures them."""

    kind: ClassVar[str] = "loan-form"
    title: ClassVar[str] = "Loan form"
    reference: str
    dated: str
    to: Party
    lines: tuple[PrintLine, ...]
    delivered: tuple[str, ...]
    purpose: str = ""
    place: str = ""
    from_: str = ""
    until: str = ""
    insured_by: str = ""
    terms: tuple[str, ...] = ()
    signatory: str = ""


@dataclass(frozen=True, slots=True)
class Invoice:
    """Prints sold: each line has its price; tax is added, or shown as contained with ``tax_included``."""

    kind: ClassVar[str] = "invoice"
    title: ClassVar[str] = "Invoice"
    reference: str
    dated: str
    to: Party
    lines: tuple[PrintLine, ...]
    tax: tuple[TaxLine, ...] = ()
    tax_included: bool = False
    commission: Money | None = None
    terms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class YearlyLetter:
    """The letter that asks a holder to confirm what we believe they hold."""

    kind: ClassVar[str] = "letter"
    title: ClassVar[str] = "Prints we believe you hold"
    reference: str
    dated: str
    to: Party
    lines: tuple[PrintLine, ...]
    answer_by: str = ""
    signatory: str = ""


@dataclass(frozen=True, slots=True)
class InsuranceList:
    """Prints by place and value; ``as_of`` is the day it describes."""

    kind: ClassVar[str] = "insurance-list"
    title: ClassVar[str] = "Insurance list"
    reference: str
    dated: str
    lines: tuple[PrintLine, ...]
    as_of: str = ""


@dataclass(frozen=True, slots=True)
class EditionStatement:
    """An edition for a curator: the promise word for word, its amendments, and what became of every number."""

    kind: ClassVar[str] = "edition-statement"
    title: ClassVar[str] = "Edition statement"
    reference: str
    dated: str
    edition: str
    picture: str
    state: str
    statement: str
    statement_from: str
    runs: tuple[RunFacts, ...]
    sizes_count: str = ""
    amendments: tuple[Amendment, ...] = ()
    signatory: str = ""


@dataclass(frozen=True, slots=True)
class HeldBy:
    """Everything a holder has, who owns it, its value and since when: the list a gallery signs."""

    kind: ClassVar[str] = "held-by"
    title: ClassVar[str] = "Prints held"
    reference: str
    dated: str
    to: Party
    lines: tuple[PrintLine, ...]
    signatory: str = ""


Document = Certificate | ConsignmentNote | LoanForm | Invoice | YearlyLetter | InsuranceList | EditionStatement | HeldBy


@dataclass(frozen=True, slots=True)
class LetterPaper:
    """How the archive's pages look: the photographer's heading, the size (a4, letter), a typeface of one's own."""

    heading: tuple[str, ...] = ()
    paper: str = "a4"
    font: Path | None = None
