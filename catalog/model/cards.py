"""Card indexes and old ledgers that were read in: each file and each row, kept as it stood."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, strict


class CardFile(Base):
    """A card index file as it was read at one moment."""

    __tablename__ = "card_file"
    __table_args__ = strict(CheckConstraint("length(sha256) = 64", name="sha256_whole"), Index(None, "name"))

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    sha256: Mapped[str]
    encoding: Mapped[str | None]
    mapping: Mapped[str]
    """The mapping it was read with, as TOML."""
    read_at: Mapped[str]


class CardRow(Base):
    """A row of a card index or of an old ledger: the facts of a sheet or a print say which row they came from."""

    __tablename__ = "card_row"
    __table_args__ = strict(
        UniqueConstraint("card_file_id", "row"),
        CheckConstraint("sheet_id IS NULL OR print_id IS NULL", name="of_one"),
        Index(None, "sheet_id"),
        Index(None, "print_id", sqlite_where=text("print_id IS NOT NULL")),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    card_file_id: Mapped[int] = mapped_column(ForeignKey("card_file.id"))
    row: Mapped[int]
    """The row's number as the file counts it."""
    row_key: Mapped[str]
    """What tells that a row of an edited file is this one again."""
    digest: Mapped[str]
    cells: Mapped[str]
    """The cells as written, as a JSON object by heading."""
    facts: Mapped[str | None]
    """What was taken from it into the catalogue, as a JSON object by field."""
    sheet_id: Mapped[int | None] = mapped_column(ForeignKey("sheet.id"))
    print_id: Mapped[int | None] = mapped_column(ForeignKey("print.id"))
    """The print an old ledger's row tells of."""
