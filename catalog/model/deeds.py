"""The daybook: what was done at the desk, deed by deed, and what each deed changed."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, one_of, strict

DEED_STATES = ("under way", "done", "interrupted")


class Deed(Base):
    """One deed, one daybook entry."""

    __tablename__ = "deed"
    __table_args__ = strict(
        one_of("state", *DEED_STATES),
        CheckConstraint("undone_by_id IS NULL OR undone_by_id > id", name="undone_later"),
        Index("ix_deed_under_way", "state", sqlite_where=text("state = 'under way'")),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    """The command's noun and verb: ``cards read``."""
    words: Mapped[str]
    at: Mapped[str]
    state: Mapped[str]
    schema: Mapped[str]
    """The schema at the time: a deed older than the last migration cannot be undone."""
    process: Mapped[str | None]
    """Which process has it under way."""
    left_to_do: Mapped[str | None]
    """What an interrupted deed had not finished, and how to finish it."""
    undoes_id: Mapped[int | None] = mapped_column(ForeignKey("deed.id"))
    undone_by_id: Mapped[int | None] = mapped_column(ForeignKey("deed.id"))


class DeedChange(Base):
    """One row that a deed changed, before and after: undo replays these backwards."""

    __tablename__ = "deed_change"
    __table_args__ = strict(
        one_of("change", "added", "changed", "removed"),
        Index("ix_deed_change_record", "record_table", "record_id"),
        Index("ix_deed_change_deed", "deed_id"),
        gives_ids=False,
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    deed_id: Mapped[int] = mapped_column(ForeignKey("deed.id"))
    record_table: Mapped[str]
    record_id: Mapped[int]
    change: Mapped[str]
    before: Mapped[str | None]
    """The changed columns as they were; a removed row whole."""
    after: Mapped[str | None]
    """The changed columns as they became. An added row is its own record until it is removed."""


class DeedFile(Base):
    """A file outside the catalogue that a deed means to write, and whether it did."""

    __tablename__ = "deed_file"
    __table_args__ = strict(
        one_of("state", "intended", "done", "not done"),
        Index("ix_deed_file_deed", "deed_id"),
        Index("ix_deed_file_intended", "state", sqlite_where=text("state = 'intended'")),
        gives_ids=False,
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    deed_id: Mapped[int] = mapped_column(ForeignKey("deed.id"))
    path: Mapped[str]
    state: Mapped[str]
    before: Mapped[bytes | None]
    """The file's former bytes; ``None`` when there was no file."""
    before_sha256: Mapped[str | None]
    after_sha256: Mapped[str | None]
    """What the file holds when the writing succeeded."""
    reason: Mapped[str | None]
