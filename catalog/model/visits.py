"""Visits in the field, and the standpoints where the camera stood."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, RecordedDate, date_check, dated, strict
from catalog.model.places import position_checks


class Visit(Base):
    """A day (or doubtful date) in the field: where, light, weather, company, what was said."""

    __tablename__ = "visit"
    __table_args__ = strict(date_check("date"))

    id: Mapped[int] = mapped_column(primary_key=True)
    date: Mapped[RecordedDate] = dated("date")
    place_id: Mapped[int | None] = mapped_column(ForeignKey("place.id"), index=True)
    light: Mapped[str | None]
    weather: Mapped[str | None]
    company: Mapped[str | None]
    said: Mapped[str | None]


class Standpoint(Base):
    """Where the camera stood: position, height, alignments in words. Revisits share it."""

    __tablename__ = "standpoint"
    __table_args__ = strict(
        CheckConstraint("words <> ''", name="described"),
        CheckConstraint("height_m > 0", name="height_sane"),
        Index(None, "place_id"),
        *position_checks(),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    words: Mapped[str]
    place_id: Mapped[int | None] = mapped_column(ForeignKey("place.id"))
    latitude_deg: Mapped[float | None]
    longitude_deg: Mapped[float | None]
    height_m: Mapped[float | None]
    alignments: Mapped[str | None]
