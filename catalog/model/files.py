"""Drives, and the files that lie on them."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, one_of, strict

FILE_STATES = ("present", "missing", "damaged")


class Drive(Base):
    """Where files live; may be away. It is known by its own marker, never by a letter or mount path."""

    __tablename__ = "drive"
    __table_args__ = strict(CheckConstraint("name <> ''", name="named"))

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    marker: Mapped[str] = mapped_column(unique=True)
    last_path: Mapped[str]
    """Where its folder was last seen."""
    depth: Mapped[int]
    """How many folders below a mount point or drive letter its folder lay."""
    last_seen_at: Mapped[str]


class File(Base):
    """A file, known by drive and relative path, and recognised by its content."""

    __tablename__ = "file"
    __table_args__ = strict(
        one_of("state", *FILE_STATES),
        # No drive means the archive itself (relative) or an absolute path; NULLs are never equal, hence ifnull.
        Index("uq_file_place", text("ifnull(drive_id, 0)"), "path", unique=True),
        Index("ix_file_path_key", "path_key"),
        Index("ix_file_sha256", "sha256"),
        Index("ix_file_picture_sha256", "picture_sha256"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    drive_id: Mapped[int | None] = mapped_column(ForeignKey("drive.id"))
    path: Mapped[str]
    """Relative, with ``/`` between folders; bytes that are not UTF-8 are shown as ``\\xC9``."""
    raw_path: Mapped[bytes | None]
    """The path's own bytes, kept only where they are not UTF-8."""
    path_key: Mapped[str]
    """The path folded for finding: composed Unicode, no case."""
    size_bytes: Mapped[int]
    modified_ns: Mapped[int]
    sha256: Mapped[str]
    picture_sha256: Mapped[str | None]
    state: Mapped[str] = mapped_column(default="present", server_default="present")
    damage: Mapped[str | None]
    first_seen_at: Mapped[str]
    last_checked_at: Mapped[str]
    last_good_at: Mapped[str | None]
