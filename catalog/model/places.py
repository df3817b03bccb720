"""Places, the names they had and when, and what they belonged to and when."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.model.base import Base, RecordedDate, date_check, dated, strict


def position_checks() -> tuple[CheckConstraint, CheckConstraint]:
    """Return the checks of a position: both angles within the globe."""
    return (
        CheckConstraint("latitude_deg BETWEEN -90 AND 90", name="latitude_sane"),
        CheckConstraint("longitude_deg BETWEEN -180 AND 180", name="longitude_sane"),
    )


class Place(Base):
    """A village, town, parish, county or country. ``name`` is what it is called now."""

    __tablename__ = "place"
    __table_args__ = strict(CheckConstraint("name <> ''", name="named"), *position_checks())

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    kind: Mapped[str | None]
    latitude_deg: Mapped[float | None]
    longitude_deg: Mapped[float | None]

    names: Mapped[list[PlaceName]] = relationship(back_populates="place", cascade="all, delete-orphan")
    parents: Mapped[list[PlaceParent]] = relationship(
        back_populates="place", foreign_keys="PlaceParent.place_id", cascade="all, delete-orphan"
    )


class PlaceName(Base):
    """Another name of a place, and while when it was used (``from`` and ``until`` may be unknown)."""

    __tablename__ = "place_name"
    __table_args__ = strict(
        UniqueConstraint("place_id", "name"),
        CheckConstraint("name <> ''", name="named"),
        date_check("from"),
        date_check("until"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"))
    name: Mapped[str]
    from_: Mapped[RecordedDate] = dated("from")
    until: Mapped[RecordedDate] = dated("until")
    note: Mapped[str | None]
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"))

    place: Mapped[Place] = relationship(back_populates="names")


class PlaceParent(Base):
    """What a place belonged to, and while when. Several may hold at one time (parish and county)."""

    __tablename__ = "place_parent"
    __table_args__ = strict(
        CheckConstraint("place_id <> parent_id", name="not_itself"),
        Index(None, "parent_id", "place_id"),
        Index(None, "place_id"),
        date_check("from"),
        date_check("until"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"))
    parent_id: Mapped[int] = mapped_column(ForeignKey("place.id"))
    from_: Mapped[RecordedDate] = dated("from")
    until: Mapped[RecordedDate] = dated("until")
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"))

    place: Mapped[Place] = relationship(back_populates="parents", foreign_keys=[place_id])
    parent: Mapped[Place] = relationship(foreign_keys=[parent_id])
