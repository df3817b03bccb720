"""What the rows of a card index would become: plain values to look over; nothing here is stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from catalog.dates import EdtfDate
from catalog.intake.headings import Skipped
from catalog.intake.known import Named
from catalog.intake.mapping import CardMapping


@dataclass(frozen=True, slots=True)
class CardNumber:
    """
    A number written for the sheet, always text. ``is_old`` marks one it had before, or that others gave it.
    """

    text: str
    scheme: str = ""
    is_old: bool = False


@dataclass(frozen=True, slots=True)
class Subject:
    """
    What the sheet shows: a building, or the place itself (``is_place``), with side and part.

    One building whose side is in doubt gives one subject as sure as the building is, and one for each side it
    may be, each ``possible``: no side is stated that the card did not state.
    """

    named: Named
    is_place: bool = False
    elevation: str | None = None
    part: str | None = None
    certainty: str = "certain"
    is_principal: bool = False


@dataclass(frozen=True, slots=True)
class Doubt:
    """How a doubtful fact was put: for the table of wordings."""

    field: str
    as_written: str
    certainty: str
    alternatives: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CardNote:
    """Words kept under a heading: an unmapped column, a remark, or what could not be understood."""

    heading: str
    text: str


@dataclass(frozen=True, slots=True)
class Carried:
    """A value that stands in another row: a ditto mark, a merged cell, or a village typed once per block."""

    field: str
    heading: str
    from_row: int


@dataclass(frozen=True, slots=True)
class Trouble:
    """
    Something in a row to look at: where it stands, what was found, why it matters, what to do.

    ``kind`` is ``not understood``, ``inconsistent`` or ``unknown name``. None of them stops the row.
    """

    row: int
    column: str
    heading: str
    field: str
    found: str
    reason: str
    remedy: str = ""
    kind: str = "not understood"

    def __str__(self) -> str:
        remedy = f" {self.remedy}" if self.remedy else ""
        joint = "" if self.reason.startswith(",") else " "
        return f'row {self.row}, "{self.heading}": {self.found!r}{joint}{self.reason}.{remedy}'


@dataclass(frozen=True, slots=True)
class Card:
    """
    A row that can become a sheet.

    ``key`` says that a row of an edited file is this one again (its first number; the manual says how),
    ``digest`` whether it still says the same. ``cells`` are the cells as written, before anything was carried
    or spelled out. ``facts`` holds what is settled, by field: text, or a number for ``lens`` (mm),
    ``aperture`` and ``shutter`` (seconds). What is doubtful is in ``doubts`` as well, or only there when the
    card leaves it open.
    """

    row: int
    key: str
    digest: str
    cells: dict[str, str]
    numbers: tuple[CardNumber, ...] = ()
    village: Named | None = None
    taken_from: Named | None = None
    subjects: tuple[Subject, ...] = ()
    exposed: EdtfDate | None = None
    exposed_words: str | None = None
    facts: Mapping[str, str | float] = field(default_factory=dict)
    keywords: tuple[str, ...] = ()
    notes: tuple[CardNote, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    carried: tuple[Carried, ...] = ()
    section: str | None = None
    repeats: int | None = None
    """An earlier row of this file that has the same number and says the same; this row adds nothing to it."""


@dataclass(frozen=True, slots=True)
class UnreadableRow:
    """A row that no sheet can be made of, with the reasons."""

    row: int
    cells: Mapping[str, str]
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnknownName:
    """A name the catalogue does not know, how many cards have it, and the known names nearest to it."""

    kind: str
    """``place`` or ``building``."""
    name: str
    cards: int
    near: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class CardFile:
    """A card index read and taken apart."""

    name: str
    sha256: str
    encoding: str | None
    sheet: str | None
    mapping: CardMapping
    heading_row: int
    headings: tuple[str, ...]
    cards: tuple[Card, ...]
    unreadable: tuple[UnreadableRow, ...]
    skipped: tuple[Skipped, ...]
    unknown_names: tuple[UnknownName, ...]
    remarks: tuple[str, ...]
