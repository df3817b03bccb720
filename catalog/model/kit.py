"""Lenses, cameras and film stocks; one counter gives all three their references."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.rules.vocabulary import FILM_BASES, FILM_TONES
from catalog.rules.vocabulary import KIT_KINDS as KIT_KINDS


class Kit(Base):
    """The counter that lenses, cameras and film stocks share, with the name each goes by."""

    __tablename__ = "kit"
    __table_args__ = strict(
        one_of("kind", *KIT_KINDS),
        CheckConstraint("name <> ''", name="named"),
        UniqueConstraint("kind", "name"),
        date_check("known_from"),
        date_check("known_until"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    name: Mapped[str]
    maker: Mapped[str | None]
    known_from: Mapped[RecordedDate] = dated("known_from")
    known_until: Mapped[RecordedDate] = dated("known_until")


class Lens(Base):
    """A lens: focal length, widest aperture and coverage."""

    __tablename__ = "lens"
    __table_args__ = strict(
        CheckConstraint("focal_length_mm > 0", name="focal_length_sane"),
        CheckConstraint("widest_f_number > 0", name="aperture_sane"),
        CheckConstraint("coverage_deg > 0 AND coverage_deg < 180", name="coverage_sane"),
        gives_ids=False,
    )

    id: Mapped[int] = mapped_column(ForeignKey("kit.id"), primary_key=True)
    focal_length_mm: Mapped[float] = mapped_column(index=True)
    widest_f_number: Mapped[float | None]
    coverage_deg: Mapped[float | None]


class Camera(Base):
    """A camera: the film it takes and the opening of its holder."""

    __tablename__ = "camera"
    __table_args__ = strict(
        CheckConstraint("opening_width_mm > 0 AND opening_height_mm > 0", name="opening_sane"),
        gives_ids=False,
    )

    id: Mapped[int] = mapped_column(ForeignKey("kit.id"), primary_key=True)
    format: Mapped[str | None]
    opening_width_mm: Mapped[float | None]
    opening_height_mm: Mapped[float | None]


class FilmStock(Base):
    """A film: what it records, its speed and its base."""

    __tablename__ = "film_stock"
    __table_args__ = strict(
        one_of("tones", *FILM_TONES, nullable=True),
        one_of("base", *FILM_BASES, nullable=True),
        CheckConstraint("iso > 0", name="speed_sane"),
        gives_ids=False,
    )

    id: Mapped[int] = mapped_column(ForeignKey("kit.id"), primary_key=True)
    tones: Mapped[str | None]
    iso: Mapped[float | None]
    base: Mapped[str | None]
