"""Scans: one digitisation of a sheet, or of part of one, or of several."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.rules.vocabulary import POLARITIES

MATCHED_BY = ("name", "hand")


class Scan(Base):
    """A file that is never altered, and what its header says."""

    __tablename__ = "scan"
    __table_args__ = strict(
        one_of("polarity", *POLARITIES, nullable=True),
        CheckConstraint("recorded_ppi > 1 AND worked_out_ppi > 1", name="ppi_sane"),
        CheckConstraint("is_reversed IN (0, 1)", name="reversed_yes_no"),
        date_check("scanned"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    file_id: Mapped[int] = mapped_column(ForeignKey("file.id"), unique=True)
    scanned: Mapped[RecordedDate] = dated("scanned")
    kind: Mapped[str]
    device_maker: Mapped[str | None]
    device_model: Mapped[str | None]
    software: Mapped[str | None]
    width_px: Mapped[int | None]
    height_px: Mapped[int | None]
    bits: Mapped[int | None]
    channels: Mapped[int | None]
    extra_channels: Mapped[int | None]
    colour: Mapped[str | None]
    compression: Mapped[str | None]
    recorded_ppi: Mapped[float | None]
    worked_out_ppi: Mapped[float | None]
    profile: Mapped[str | None]
    white_is_zero: Mapped[bool | None]
    orientation: Mapped[int | None]
    polarity: Mapped[str | None]
    is_reversed: Mapped[bool | None]
    """Whether it was scanned wrong side up; ``None`` is not known."""
    pages: Mapped[int | None]
    description: Mapped[str | None]
    facts: Mapped[str | None]
    """What else the header said, one remark a line."""

    parts: Mapped[list[ScanPart]] = relationship(back_populates="scan", cascade="all, delete-orphan")


class ScanPart(Base):
    """What a scan shows of a sheet; without one it is unmatched."""

    __tablename__ = "scan_part"
    __table_args__ = strict(
        UniqueConstraint("scan_id", "sheet_id"),
        one_of("matched_by", *MATCHED_BY),
        Index("ix_scan_part_sheet", "sheet_id", "scan_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    scan_id: Mapped[int] = mapped_column(ForeignKey("scan.id"))
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheet.id"))
    region: Mapped[str | None]
    matched_by: Mapped[str]
    matched_text: Mapped[str | None]
    """The number found in the file's name, when that is what matched it."""

    scan: Mapped[Scan] = relationship(back_populates="parts")


class Sidecar(Base):
    """What the program last wrote beside a scan, so that later changes by others can be told apart."""

    __tablename__ = "sidecar"
    __table_args__ = strict(CheckConstraint("length(sha256) = 64", name="sha256_whole"), gives_ids=False)

    scan_id: Mapped[int] = mapped_column(ForeignKey("scan.id"), primary_key=True)
    name: Mapped[str]
    """The sidecar's file name, in the folder of its scan."""
    sha256: Mapped[str]
    written_at: Mapped[str]
    content: Mapped[bytes]
    """
    What we said in it, for a later merge that compares three ways: the bytes as written, or, where words of others
    stay in the file, what we last said of those fields.
    """
