"""Documents: pages the archive issues. An issued one is voided, never altered or removed."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, one_of, strict

DOCUMENT_KINDS = (
    "certificate", "consignment note", "loan form", "invoice", "yearly letter", "insurance list", "edition statement",
    "prints held",
)  # fmt: skip
DOCUMENT_STATES = ("issued", "voided")


class Document(Base):
    """A page as it was issued, and the facts it was made from."""

    __tablename__ = "document"
    __table_args__ = strict(
        one_of("kind", *DOCUMENT_KINDS),
        one_of("state", *DOCUMENT_STATES),
        CheckConstraint("(state = 'voided') = (voided_at IS NOT NULL)", name="voided_whole"),
        CheckConstraint("length(sha256) = 64", name="sha256_whole"),
        Index(None, "person_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    """To whom it is addressed."""
    edition_id: Mapped[int | None] = mapped_column(ForeignKey("edition.id"))
    """The edition it is about, if it is about one."""
    law: Mapped[str | None]
    """The text whose list of items a certificate follows."""
    file_name: Mapped[str] = mapped_column(unique=True)
    """Its file in ``documents/``."""
    sha256: Mapped[str]
    facts: Mapped[str]
    """What it was made from, frozen, as JSON."""
    issued_at: Mapped[str]
    state: Mapped[str] = mapped_column(default="issued", server_default="issued")
    voided_at: Mapped[str | None]
    voided_because: Mapped[str | None]


class DocumentLine(Base):
    """A print that a document lists."""

    __tablename__ = "document_line"
    __table_args__ = strict(UniqueConstraint("document_id", "print_id"), Index(None, "print_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    document_id: Mapped[int] = mapped_column(ForeignKey("document.id"))
    print_id: Mapped[int] = mapped_column(ForeignKey("print.id"))
