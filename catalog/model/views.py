"""Views: one subject from one standpoint at one time, and what each shows."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.model.base import Base, one_of, strict
from catalog.rules.compass import COMPASS
from catalog.rules.vocabulary import CERTAINTIES as CERTAINTIES
from catalog.rules.vocabulary import PARTS as PARTS


class View(Base):
    """One subject from one standpoint at one time. Several sheets may hold it (a bracket, colour beside grey)."""

    __tablename__ = "view"
    __table_args__ = strict(Index(None, "standpoint_id"), Index(None, "visit_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str | None]
    standpoint_id: Mapped[int | None] = mapped_column(ForeignKey("standpoint.id"))
    standpoint_certainty: Mapped[str] = mapped_column(default="certain", server_default="certain")
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visit.id"))

    subjects: Mapped[list[ViewSubject]] = relationship(back_populates="view", cascade="all, delete-orphan")


class ViewSubject(Base):
    """What a view shows: a building or a place, which side or part of it, and how sure that is."""

    __tablename__ = "view_subject"
    __table_args__ = strict(
        CheckConstraint("(building_id IS NULL) <> (place_id IS NULL)", name="one_subject"),
        one_of("elevation", *COMPASS, nullable=True),
        one_of("part", *PARTS, nullable=True),
        one_of("certainty", *CERTAINTIES),
        CheckConstraint("is_principal IN (0, 1)", name="principal_yes_no"),
        # Both carry what the village query needs, so that it never visits the table's own pages.
        Index("ix_view_subject_building", "building_id", "view_id", "certainty", "elevation"),
        Index("ix_view_subject_place", "place_id", "view_id", "certainty", "elevation"),
        Index(
            "uq_view_subject_principal",
            "view_id",
            unique=True,
            sqlite_where=text("is_principal = 1"),
        ),
        Index("ix_view_subject_view", "view_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    view_id: Mapped[int] = mapped_column(ForeignKey("view.id"))
    building_id: Mapped[int | None] = mapped_column(ForeignKey("building.id"))
    place_id: Mapped[int | None] = mapped_column(ForeignKey("place.id"))
    elevation: Mapped[str | None]
    part: Mapped[str | None]
    certainty: Mapped[str] = mapped_column(default="certain", server_default="certain")
    is_principal: Mapped[bool] = mapped_column(default=False, server_default="0")

    view: Mapped[View] = relationship(back_populates="subjects")
