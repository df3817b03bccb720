"""Rolls, sheets, the numbers written for a sheet, and the views a sheet holds."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.rules.vocabulary import FATES as FATES
from catalog.rules.vocabulary import MEDIUMS as MEDIUMS


class Roll(Base):
    """A roll of film that several sheets were cut from or lie on."""

    __tablename__ = "roll"
    __table_args__ = strict()

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str | None]
    film_id: Mapped[int | None] = mapped_column(ForeignKey("film_stock.id"))
    camera_id: Mapped[int | None] = mapped_column(ForeignKey("camera.id"))
    docket: Mapped[str | None]
    development: Mapped[str | None]


class Sheet(Base):
    """One piece of exposed film: a cut sheet, or one picture of a roll. Speech calls it a frame."""

    __tablename__ = "sheet"
    __table_args__ = strict(
        one_of("medium", *MEDIUMS, nullable=True),
        one_of("fate", *FATES),
        CheckConstraint("aperture_f > 0", name="aperture_sane"),
        CheckConstraint("shutter_s > 0", name="shutter_sane"),
        CheckConstraint("extension_mm > 0", name="extension_sane"),
        CheckConstraint("copied_from_id <> id", name="not_its_own_copy"),
        date_check("exposed"),
        date_check("fate_date"),
        # Design section 5: which frames may fall in a span of years is an indexed overlap.
        Index("ix_sheet_exposed", "exposed_earliest", "exposed_latest"),
        Index(None, "lens_id"),
        Index(None, "film_id"),
        Index(None, "roll_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    roll_id: Mapped[int | None] = mapped_column(ForeignKey("roll.id"))
    frame: Mapped[str | None]
    medium: Mapped[str | None]
    base: Mapped[str | None]
    format: Mapped[str | None]
    film_id: Mapped[int | None] = mapped_column(ForeignKey("film_stock.id"))
    holder_side: Mapped[str | None]
    exposed: Mapped[RecordedDate] = dated("exposed")
    lens_id: Mapped[int | None] = mapped_column(ForeignKey("lens.id"))
    camera_id: Mapped[int | None] = mapped_column(ForeignKey("camera.id"))
    aperture_f: Mapped[float | None]
    shutter_s: Mapped[float | None]
    filter: Mapped[str | None]
    rise_mm: Mapped[float | None]
    shift_mm: Mapped[float | None]
    tilt_deg: Mapped[float | None]
    swing_deg: Mapped[float | None]
    extension_mm: Mapped[float | None]
    development: Mapped[str | None]
    lab_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    docket: Mapped[str | None]
    box: Mapped[str | None]
    sleeve: Mapped[str | None]
    fate: Mapped[str] = mapped_column(default="exposed", server_default="exposed")
    fate_date: Mapped[RecordedDate] = dated("fate_date")
    condition: Mapped[str | None]
    copied_from_id: Mapped[int | None] = mapped_column(ForeignKey("sheet.id"))

    numbers: Mapped[list[SheetNumber]] = relationship(
        back_populates="sheet", cascade="all, delete-orphan", order_by="SheetNumber.id"
    )
    views: Mapped[list[SheetView]] = relationship(back_populates="sheet", cascade="all, delete-orphan")


class SheetNumber(Base):
    """Anything ever written for a sheet, with where it is written and its scheme. Numbers may collide."""

    __tablename__ = "sheet_number"
    __table_args__ = strict(
        CheckConstraint("text <> ''", name="written"),
        # The same number may stand on a sheet twice, in different places, under different schemes.
        UniqueConstraint("sheet_id", "text", "scheme", "written_on"),
        Index(None, "folded"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheet.id"))
    text: Mapped[str]
    folded: Mapped[str]
    scheme: Mapped[str] = mapped_column(default="", server_default="")
    written_on: Mapped[str] = mapped_column(default="", server_default="")

    sheet: Mapped[Sheet] = relationship(back_populates="numbers")


class SheetView(Base):
    """A view that a sheet holds: a double exposure has two, a blank sheet none."""

    __tablename__ = "sheet_view"
    __table_args__ = strict(UniqueConstraint("sheet_id", "view_id"), Index("ix_sheet_view_view", "view_id", "sheet_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheet.id"))
    view_id: Mapped[int] = mapped_column(ForeignKey("view.id"))

    sheet: Mapped[Sheet] = relationship(back_populates="views")
