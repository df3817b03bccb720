"""What is said about a record: notes, wordings of doubt, and open questions."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, one_of, strict
from catalog.rules.vocabulary import CERTAINTIES

ABOUT = (
    "sheet", "scan", "building", "place", "view", "standpoint", "visit", "person", "source", "roll", "kit", "drive",
    "edit_version", "edition", "print", "document",
)  # fmt: skip
"""The tables that a note, a wording or a question may be about; triggers keep such a record in being."""


def _about() -> CheckConstraint:
    """Return the check of ``about`` (a table) and ``about_id``; triggers see to it that the record is there."""
    return CheckConstraint("(about IS NULL) = (about_id IS NULL)", name="about_whole")


class Note(Base):
    """A remark about a record, in the words it was made in."""

    __tablename__ = "note"
    __table_args__ = strict(_about(), CheckConstraint("text <> ''", name="said"), Index(None, "about", "about_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    about: Mapped[str]
    about_id: Mapped[int]
    heading: Mapped[str | None]
    """What kind of remark it is: the heading of the card column it stood under, for one."""
    text: Mapped[str]
    card_row_id: Mapped[int | None] = mapped_column(ForeignKey("card_row.id"))
    said_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"))
    noted_at: Mapped[str]


class Wording(Base):
    """How a doubtful fact was put, how certain it is, and who says so."""

    __tablename__ = "wording"
    __table_args__ = strict(
        _about(),
        one_of("certainty", *CERTAINTIES),
        Index(None, "about", "about_id", "field"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    about: Mapped[str]
    about_id: Mapped[int]
    field: Mapped[str]
    as_written: Mapped[str]
    certainty: Mapped[str]
    alternatives: Mapped[str | None]
    """The other possibilities, as a JSON list of words."""
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"))
    card_row_id: Mapped[int | None] = mapped_column(ForeignKey("card_row.id"))
    said_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    noted_at: Mapped[str]


class OpenQuestion(Base):
    """Something not known, whom to ask, and the answer when it is settled."""

    __tablename__ = "open_question"
    __table_args__ = strict(
        _about(),
        CheckConstraint("(answer IS NULL) = (settled_at IS NULL)", name="settled_whole"),
        Index(None, "about", "about_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    about: Mapped[str | None]
    about_id: Mapped[int | None]
    text: Mapped[str]
    ask: Mapped[str | None]
    ask_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    asked_at: Mapped[str]
    answer: Mapped[str | None]
    settled_at: Mapped[str | None]
