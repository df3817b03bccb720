"""The ledger: dated facts about prints and print numbers. Rows are only ever added; triggers refuse the rest."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.rules.ledger_kinds import LEDGER_KINDS

_POINTS_TO = ("person_id", "from_id", "document_id", "replacement_id")


class LedgerEntry(Base):
    """One fact on a print, or on a print number that has no print yet: exactly one of them."""

    __tablename__ = "ledger_entry"
    __table_args__ = strict(
        CheckConstraint("(print_id IS NULL) <> (print_number_id IS NULL)", name="one_subject"),
        one_of("kind", *LEDGER_KINDS),
        CheckConstraint("(kind = 'corrected') = (corrects_id IS NOT NULL)", name="corrects_one"),
        CheckConstraint("(kind = 'replaced') = (replacement_id IS NOT NULL)", name="replaced_by_one"),
        CheckConstraint("(price_minor IS NULL) = (currency IS NULL)", name="price_whole"),
        CheckConstraint("price_minor >= 0 AND length(currency) = 3", name="price_sane"),
        date_check("date"),
        date_check("due"),
        Index(None, "print_id"),
        Index(None, "print_number_id", sqlite_where=text("print_number_id IS NOT NULL")),
        *(Index(None, column, sqlite_where=text(f"{column} IS NOT NULL")) for column in _POINTS_TO),
        Index("uq_ledger_entry_corrects_id", "corrects_id", unique=True, sqlite_where=text("corrects_id IS NOT NULL")),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    print_id: Mapped[int | None] = mapped_column(ForeignKey("print.id"))
    print_number_id: Mapped[int | None] = mapped_column(ForeignKey("print_number.id"))
    kind: Mapped[str]
    date: Mapped[RecordedDate] = dated("date")
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    from_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    """Who passed it on, where that was not the photographer."""
    place: Mapped[str | None]
    price_minor: Mapped[int | None]
    currency: Mapped[str | None]
    due: Mapped[RecordedDate] = dated("due")
    document_id: Mapped[int | None] = mapped_column(ForeignKey("document.id"))
    words: Mapped[str | None]
    corrects_id: Mapped[int | None] = mapped_column(ForeignKey("ledger_entry.id"))
    replacement_id: Mapped[int | None] = mapped_column(
        ForeignKey("print.id", deferrable=True, initially="DEFERRED")  # the first print ends before the next is there
    )
    written_at: Mapped[str]
