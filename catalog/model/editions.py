"""Editions: the promise made for a view, the runs its limits count, and every later change of rule."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from catalog.model.base import Base, RecordedDate, date_check, dated, one_of, strict
from catalog.rules.editions import EDITION_STATES, SIZES_COUNT
from catalog.rules.print_numbers import FRACTION, NUMBERINGS, PROOFS, SERIES


class Edition(Base):
    """A declared set of prints of a view, with its exact statement, which only an amendment changes."""

    __tablename__ = "edition"
    __table_args__ = strict(
        one_of("sizes_count", *SIZES_COUNT),
        CheckConstraint("statement <> ''", name="stated"),
        date_check("stated"),
        Index(None, "view_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    view_id: Mapped[int] = mapped_column(ForeignKey("view.id"))
    title: Mapped[str | None]
    statement: Mapped[str]
    """The promise, word for word."""
    stated: Mapped[RecordedDate] = dated("stated")
    published_in: Mapped[str | None]
    sizes_count: Mapped[str]
    process: Mapped[str | None]
    crop: Mapped[str | None]


class EditionSheet(Base):
    """A sheet that an edition is printed from."""

    __tablename__ = "edition_sheet"
    __table_args__ = strict(UniqueConstraint("edition_id", "sheet_id"), Index(None, "sheet_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    edition_id: Mapped[int] = mapped_column(ForeignKey("edition.id"))
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheet.id"))


class EditionState(Base):
    """From when an edition was planned, open, held, closed or withdrawn; the newest row is how it stands."""

    __tablename__ = "edition_state"
    __table_args__ = strict(one_of("state", *EDITION_STATES), date_check("since"), Index(None, "edition_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    edition_id: Mapped[int] = mapped_column(ForeignKey("edition.id"))
    state: Mapped[str]
    since: Mapped[RecordedDate] = dated("since")
    words: Mapped[str | None]
    noted_at: Mapped[str]


class EditionAmendment(Base):
    """A later change of rule, dated and in its exact words; old prints keep what was written on them."""

    __tablename__ = "edition_amendment"
    __table_args__ = strict(
        CheckConstraint("words <> ''", name="worded"), date_check("made"), Index(None, "edition_id")
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    edition_id: Mapped[int] = mapped_column(ForeignKey("edition.id"))
    made: Mapped[RecordedDate] = dated("made")
    words: Mapped[str]
    published_in: Mapped[str | None]
    changed: Mapped[str]
    """What it changed, in a phrase: ``limit 250 to none; serial numbers from 31``."""
    noted_at: Mapped[str]


class Run(Base):
    """What an edition's limit counts: all its sizes together, or one of them."""

    __tablename__ = "run"
    __table_args__ = strict(
        CheckConstraint("limit_count > 0", name="limit_sane"),
        one_of("numbering", *NUMBERINGS),
        Index(None, "edition_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    edition_id: Mapped[int] = mapped_column(ForeignKey("edition.id"))
    limit_count: Mapped[int | None]
    """How many numbered prints there may be; ``None`` is open."""
    numbering: Mapped[str] = mapped_column(default=FRACTION, server_default=FRACTION)
    amendment_id: Mapped[int | None] = mapped_column(ForeignKey("edition_amendment.id"))
    """The amendment that last changed it: without one, the database refuses a change."""


class Size(Base):
    """A size that a run is printed in; measures are words, as the statement has them."""

    __tablename__ = "size"
    __table_args__ = strict(UniqueConstraint("run_id", "name"), CheckConstraint("name <> ''", name="named"))

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("run.id"))
    name: Mapped[str]
    image: Mapped[str | None]
    paper: Mapped[str | None]


class ProofAllowance(Base):
    """How many proofs of a kind were declared beside a run."""

    __tablename__ = "proof_allowance"
    __table_args__ = strict(
        one_of("kind", *PROOFS),
        CheckConstraint("allowed >= 0", name="allowed_sane"),
        UniqueConstraint("run_id", "kind"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("run.id"))
    kind: Mapped[str]
    allowed: Mapped[int]
    amendment_id: Mapped[int | None] = mapped_column(ForeignKey("edition_amendment.id"))


class FormerLimit(Base):
    """How many prints or proofs a run declared before an amendment; where it was open there is none."""

    __tablename__ = "former_limit"
    __table_args__ = strict(
        one_of("series", *SERIES),
        CheckConstraint("limit_count >= 0", name="sane"),
        UniqueConstraint("amendment_id", "run_id", "series"),
        Index(None, "run_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    amendment_id: Mapped[int] = mapped_column(ForeignKey("edition_amendment.id"))
    run_id: Mapped[int] = mapped_column(ForeignKey("run.id"))
    series: Mapped[str]
    limit_count: Mapped[int]


class PriceStep(Base):
    """What a print of a run costs from so many sold on; for one size where it names one."""

    __tablename__ = "price_step"
    __table_args__ = strict(
        CheckConstraint("from_sold >= 0", name="from_sane"),
        CheckConstraint("price_minor >= 0 AND length(currency) = 3", name="price_sane"),
        Index("uq_price_step", "run_id", text("ifnull(size_id, 0)"), "from_sold", unique=True),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("run.id"))
    size_id: Mapped[int | None] = mapped_column(ForeignKey("size.id"))
    from_sold: Mapped[int]
    price_minor: Mapped[int]
    currency: Mapped[str]
