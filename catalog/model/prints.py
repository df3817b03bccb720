"""Prints: the numbers a run gives, the physical impressions, and how each stands as its ledger says."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.rules.ledger_kinds import HOLDS, PRINT_STATES
from catalog.rules.print_numbers import SERIES

LIVES = ("live", "ended", "void")
_MADE_FROM = ("view_id", "scan_id", "version_id", "replaces_id")


class PrintNumber(Base):
    """A place in a run, given once. Triggers refuse one beyond the limit or the allowance, a change, a removal."""

    __tablename__ = "print_number"
    __table_args__ = strict(
        UniqueConstraint("run_id", "series", "ordinal"),
        one_of("series", *SERIES),
        CheckConstraint("ordinal > 0 AND written <> ''", name="sane"),
        CheckConstraint("is_ahead IN (0, 1)", name="ahead_yes_no"),
        Index("ix_print_number_ahead", "run_id", "series", "ordinal", sqlite_where=text("is_ahead = 1")),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("run.id"))
    series: Mapped[str]
    ordinal: Mapped[int]
    written: Mapped[str]
    """The number as it stands on the print, by the rule of its day: ``7/250`` stays after the run was abandoned."""
    is_ahead: Mapped[bool] = mapped_column(default=False, server_default="0")
    """Whether the place before it was free when it was given: there the gaps are, without going through the run."""
    given_at: Mapped[str]


class Print(Base):
    """One physical impression, with its number or with none."""

    __tablename__ = "print"
    __table_args__ = strict(
        CheckConstraint("coalesce(print_number_id, sheet_id, view_id) IS NOT NULL", name="of_something"),
        CheckConstraint("replaces_id <> id", name="replaces_another"),
        CheckConstraint("is_estate_stamp IN (0, 1)", name="estate_yes_no"),
        one_of("life", *LIVES),
        date_check("pulled"),
        Index(None, "print_number_id"),
        Index("ix_print_void", "print_number_id", sqlite_where=text("life = 'void'")),
        Index("uq_print_live", "print_number_id", unique=True, sqlite_where=text("life = 'live'")),
        Index(None, "sheet_id"),
        *(Index(None, column, sqlite_where=text(f"{column} IS NOT NULL")) for column in _MADE_FROM),
        Index("uq_print_replaces_id", "replaces_id", unique=True, sqlite_where=text("life <> 'void'")),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    print_number_id: Mapped[int | None] = mapped_column(ForeignKey("print_number.id"))
    sheet_id: Mapped[int | None] = mapped_column(ForeignKey("sheet.id"))
    view_id: Mapped[int | None] = mapped_column(ForeignKey("view.id"))
    size_id: Mapped[int | None] = mapped_column(ForeignKey("size.id"))
    version_id: Mapped[int | None] = mapped_column(ForeignKey("edit_version.id"))
    scan_id: Mapped[int | None] = mapped_column(ForeignKey("scan.id"))
    process: Mapped[str | None]
    image_size: Mapped[str | None]
    paper_size: Mapped[str | None]
    paper: Mapped[str | None]
    inks: Mapped[str | None]
    printer: Mapped[str | None]
    profile: Mapped[str | None]
    rendering_intent: Mapped[str | None]
    pulled_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    """Who pulled it; ``None`` is the photographer."""
    pulled: Mapped[RecordedDate] = dated("pulled")
    signed_where: Mapped[str | None]
    signed_with: Mapped[str | None]
    is_estate_stamp: Mapped[bool | None]
    markings: Mapped[str | None]
    """What is written or stamped on an old print, word for word."""
    replaces_id: Mapped[int | None] = mapped_column(ForeignKey("print.id"))
    life: Mapped[str] = mapped_column(default="live", server_default="live")
    """Kept by triggers from the ledger: it carries its number (``live``), no longer (``ended``), or never did."""


class PrintStanding(Base):
    """
    How a print stands: what its ledger says, kept for speed. ``check`` reckons it anew and compares.

    ``since`` and ``due`` are EDTF; a person who is ``None`` is the photographer.
    """

    __tablename__ = "print_standing"
    __table_args__ = strict(
        one_of("state", *PRINT_STATES),
        one_of("hold", *HOLDS, nullable=True),
        CheckConstraint("is_out IN (0, 1) AND is_signed IN (0, 1)", name="yes_no"),
        Index("ix_print_standing_out", "due_latest", "print_id", sqlite_where=text("is_out = 1")),
        Index(None, "custodian_id", sqlite_where=text("custodian_id IS NOT NULL")),
        Index(None, "owner_id", sqlite_where=text("owner_id IS NOT NULL")),
        gives_ids=False,
    )

    print_id: Mapped[int] = mapped_column(ForeignKey("print.id"), primary_key=True)
    state: Mapped[str]
    custodian_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    owner_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    entry_id: Mapped[int | None]
    """The ledger entry that brought it there."""
    since: Mapped[str | None]
    due: Mapped[str | None]
    due_latest: Mapped[int | None]
    place: Mapped[str | None]
    value_minor: Mapped[int | None]
    currency: Mapped[str | None]
    is_out: Mapped[bool]
    is_signed: Mapped[bool]
    hold: Mapped[str | None]
    held_for_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    held_until: Mapped[str | None]
