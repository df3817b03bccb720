"""Buildings: their names over time, their sites over time, their elevations and their chronicle."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.model.places import position_checks
from catalog.rules.compass import COMPASS as COMPASS
from catalog.rules.vocabulary import CHRONICLE_KINDS as CHRONICLE_KINDS


class Building(Base):
    """A building. ``name`` is what it is called now."""

    __tablename__ = "building"
    __table_args__ = strict(CheckConstraint("name <> ''", name="named"))

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    kind: Mapped[str | None]
    identifier: Mapped[str | None]
    """A heritage or land-register number, with its scheme in words."""

    names: Mapped[list[BuildingName]] = relationship(back_populates="building", cascade="all, delete-orphan")
    sites: Mapped[list[BuildingSite]] = relationship(back_populates="building", cascade="all, delete-orphan")
    elevations: Mapped[list[Elevation]] = relationship(back_populates="building", cascade="all, delete-orphan")
    chronicle: Mapped[list[ChronicleEntry]] = relationship(
        back_populates="building", cascade="all, delete-orphan", order_by="ChronicleEntry.date_earliest"
    )


class BuildingName(Base):
    """Another name of a building, and while when it was used."""

    __tablename__ = "building_name"
    __table_args__ = strict(
        UniqueConstraint("building_id", "name"),
        CheckConstraint("name <> ''", name="named"),
        date_check("from"),
        date_check("until"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[int] = mapped_column(ForeignKey("building.id"))
    name: Mapped[str]
    from_: Mapped[RecordedDate] = dated("from")
    until: Mapped[RecordedDate] = dated("until")
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"))

    building: Mapped[Building] = relationship(back_populates="names")


class BuildingSite(Base):
    """Where a building stood, and while when: one that was moved has several."""

    __tablename__ = "building_site"
    __table_args__ = strict(
        Index(None, "place_id", "building_id"),
        Index(None, "building_id"),
        *position_checks(),
        date_check("from"),
        date_check("until"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[int] = mapped_column(ForeignKey("building.id"))
    place_id: Mapped[int] = mapped_column(ForeignKey("place.id"))
    words: Mapped[str | None]
    latitude_deg: Mapped[float | None]
    longitude_deg: Mapped[float | None]
    from_: Mapped[RecordedDate] = dated("from")
    until: Mapped[RecordedDate] = dated("until")
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"))

    building: Mapped[Building] = relationship(back_populates="sites")


class Elevation(Base):
    """A side of a building, by the point of the compass it faced, and while when (a building may be turned)."""

    __tablename__ = "elevation"
    __table_args__ = strict(
        one_of("compass", *COMPASS),
        CheckConstraint("bearing_deg >= 0 AND bearing_deg < 360", name="bearing_sane"),
        Index(None, "building_id"),
        date_check("from"),
        date_check("until"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[int] = mapped_column(ForeignKey("building.id"))
    compass: Mapped[str]
    name: Mapped[str | None]
    bearing_deg: Mapped[float | None]
    from_: Mapped[RecordedDate] = dated("from")
    until: Mapped[RecordedDate] = dated("until")

    building: Mapped[Building] = relationship(back_populates="elevations")


class ChronicleEntry(Base):
    """Something that happened to a building: when, what, who did it, and the source that says so."""

    __tablename__ = "chronicle_entry"
    __table_args__ = strict(
        one_of("kind", *CHRONICLE_KINDS), Index(None, "building_id", "date_earliest"), date_check("date")
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[int] = mapped_column(ForeignKey("building.id"))
    kind: Mapped[str]
    date: Mapped[RecordedDate] = dated("date")
    text: Mapped[str]
    doer: Mapped[str | None]
    doer_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"))

    building: Mapped[Building] = relationship(back_populates="chronicle")
