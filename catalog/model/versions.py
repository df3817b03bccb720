"""Edit versions: pictures made from scans, with recorded tone steps that can be replayed, and with working files."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.rules.vocabulary import POLARITIES


class EditVersion(Base):
    """
    A picture made from scans: tone steps that can be replayed, a file, or both.

    One of which neither is left still stands when something is known of it: an old print came from it.
    """

    __tablename__ = "edit_version"
    __table_args__ = strict(
        CheckConstraint("steps IS NOT NULL OR file_id IS NOT NULL OR note IS NOT NULL", name="known"),
        CheckConstraint("replaces_id <> id", name="replaces_another"),
        CheckConstraint("width_px > 0 AND height_px > 0 AND bits > 0 AND channels > 0", name="size_sane"),
        CheckConstraint("recorded_ppi > 1", name="ppi_sane"),
        date_check("made"),
        Index(None, "replaces_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    steps: Mapped[str | None]
    """The tone steps as a JSON list, in the order they are taken; ``None`` when it was made elsewhere by hand."""
    file_id: Mapped[int | None] = mapped_column(ForeignKey("file.id"), unique=True)
    purpose: Mapped[str | None]
    made: Mapped[RecordedDate] = dated("made")
    made_with: Mapped[str | None]
    """The program and library whose replay gives the same pixels, or the software or hand that made the file."""
    replaces_id: Mapped[int | None] = mapped_column(ForeignKey("edit_version.id"))
    kind: Mapped[str | None]
    """The kind of its file; this and what follows are facts of the file's header."""
    width_px: Mapped[int | None]
    height_px: Mapped[int | None]
    bits: Mapped[int | None]
    channels: Mapped[int | None]
    colour: Mapped[str | None]
    recorded_ppi: Mapped[float | None]
    profile: Mapped[str | None]
    """The name of its colour profile; ``None`` in a version with a file says that the file has none."""
    facts: Mapped[str | None]
    """What else the header said or was found wanting, one remark a line."""
    note: Mapped[str | None]

    sources: Mapped[list[VersionSource]] = relationship(
        back_populates="version",
        cascade="all, delete-orphan",
        order_by="VersionSource.position",
        foreign_keys="VersionSource.version_id",
    )


class VersionSource(Base):
    """What a version was made from: a scan, an earlier version, or a sheet of which the scan is not known."""

    __tablename__ = "version_source"
    __table_args__ = strict(
        CheckConstraint(
            "(scan_id IS NOT NULL) + (source_version_id IS NOT NULL) + (sheet_id IS NOT NULL) = 1", name="from_one"
        ),
        CheckConstraint("source_version_id <> version_id", name="from_another"),
        UniqueConstraint("version_id", "position"),
        UniqueConstraint("version_id", "scan_id"),
        UniqueConstraint("version_id", "source_version_id"),
        UniqueConstraint("version_id", "sheet_id"),
        Index(None, "scan_id"),
        Index(None, "source_version_id"),
        Index(None, "sheet_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    version_id: Mapped[int] = mapped_column(ForeignKey("edit_version.id"))
    position: Mapped[int]
    """Its place among what the version was made from, from 1: a stitched picture has several."""
    scan_id: Mapped[int | None] = mapped_column(ForeignKey("scan.id"))
    source_version_id: Mapped[int | None] = mapped_column(ForeignKey("edit_version.id"))
    sheet_id: Mapped[int | None] = mapped_column(ForeignKey("sheet.id"))

    version: Mapped[EditVersion] = relationship(back_populates="sources", foreign_keys=[version_id])


class ScanReading(Base):
    """
    What was measured in a scan's pixels, kept so that it is not measured twice.

    It stands as long as the file has the bytes it was measured in. The daybook does not keep it: it can be measured
    again, and it goes with its scan.
    """

    __tablename__ = "scan_reading"
    __table_args__ = strict(
        CheckConstraint("length(sha256) = 64", name="sha256_whole"),
        one_of("polarity", *POLARITIES, nullable=True),
        CheckConstraint("is_reversed IN (0, 1)", name="reversed_yes_no"),
        gives_ids=False,
    )

    scan_id: Mapped[int] = mapped_column(ForeignKey("scan.id"), primary_key=True)
    sha256: Mapped[str]
    """The digest of the file it was measured in."""
    measured_at: Mapped[str]
    program: Mapped[str]
    """The version of the program that measured."""
    polarity: Mapped[str | None]
    density_range: Mapped[float | None]
    """From the clearest to the densest part of the picture, above base and fog."""
    is_reversed: Mapped[bool | None]
    """What the notch says; ``None`` is not known. What the person says stands in ``scan.is_reversed``."""
    evidence: Mapped[str | None]
    """What was seen that says so, in words."""
    readings: Mapped[str]
    """Everything measured, as JSON."""
