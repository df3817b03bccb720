"""Persons and firms: photographer, lab, gallery, buyer, builder, historian."""

from __future__ import annotations

from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, one_of, strict
from catalog.rules.vocabulary import PERSON_KINDS as PERSON_KINDS


class Person(Base):
    """A person or firm. Address and contact are private: they leave only on a document addressed to them."""

    __tablename__ = "person"
    __table_args__ = strict(one_of("kind", *PERSON_KINDS))

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    kind: Mapped[str] = mapped_column(default="person", server_default="person")
    role: Mapped[str | None]
    address: Mapped[str | None]
    contact: Mapped[str | None]
