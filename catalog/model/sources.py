"""Sources: what a statement of fact rests on."""

from __future__ import annotations

from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, RecordedDate, date_check, dated, strict


class Source(Base):
    """A book, a land record, a newspaper, a map, an oral account."""

    __tablename__ = "source"
    __table_args__ = strict(date_check("published"))

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str]
    kind: Mapped[str | None]
    author: Mapped[str | None]
    published: Mapped[RecordedDate] = dated("published")
    kept_at: Mapped[str | None]
