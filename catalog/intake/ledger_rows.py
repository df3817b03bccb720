"""What the rows of an old ledger would become: plain values to look over; nothing here is stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from catalog.intake.headings import Skipped
from catalog.intake.ledger_fields import PRIVATE
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.proposals import CardNote, Carried, Doubt, Trouble, UnreadableRow
from catalog.intake.when import Dated
from catalog.rules.money import Money

NO_DATE = Dated(None, None)


@dataclass(frozen=True, slots=True)
class Who:
    """A person as a cell names them; one without a ``person_id`` is not known yet and would be added."""

    name: str
    person_id: int | None = None


@dataclass(frozen=True, slots=True)
class OldEvent:
    """One thing that happened to a print, as its row says: an entry of the ledger to be."""

    kind: str
    when: Dated = NO_DATE
    who: Who | None = None
    place: str | None = None
    price: Money | None = None
    due: Dated = NO_DATE
    words: str | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """
    A place in a run. ``as_written`` is what stands on the print where a rule amended since would write otherwise.

    ``name`` is the edition and the number as sentences say them: ``E1 7/15``.
    """

    run_id: int
    series: str
    ordinal: int
    name: str
    as_written: str | None = None


@dataclass(frozen=True, slots=True)
class OldRow:
    """A row that tells more of a print than an earlier one did, as it stands in the file."""

    row: int
    digest: str
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class OldPrint:
    """
    A row that can become a print.

    ``key`` and ``digest`` tell that a row of an edited file is this one again, and whether it still says the same.
    ``facts`` are columns of the print. A row with ``questions`` is held back until the mapping file answers them:
    what is written in a ledger is never altered.
    """

    row: int
    key: str
    digest: str
    cells: dict[str, str]
    place: Place | None = None
    facts: Mapping[str, str | int] = field(default_factory=dict)
    pulled: Dated = NO_DATE
    pulled_by: Who | None = None
    events: tuple[OldEvent, ...] = ()
    is_replacement: bool = False
    proof: str = ""
    notes: tuple[CardNote, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    questions: tuple[Trouble, ...] = ()
    carried: tuple[Carried, ...] = ()
    repeats: int | None = None
    """An earlier row of this file that has the same number and says the same; this row adds nothing to it."""
    is_pulling: bool = False
    """Whether all that its row tells is that it was pulled, in a ledger with a row for each happening."""
    more_rows: tuple[OldRow, ...] = ()
    """The other rows that tell of it, in such a ledger; ``cells`` and ``row`` are those of the first."""

    @property
    def name(self) -> str:
        """The print as a list names it."""
        return self.place.name if self.place else "no number"


@dataclass(frozen=True, slots=True)
class OldLedger:
    """An old ledger read and taken apart."""

    name: str
    sha256: str
    encoding: str | None
    sheet: str | None
    mapping: LedgerMapping
    heading_row: int
    headings: tuple[str, ...]
    prints: tuple[OldPrint, ...]
    unreadable: tuple[UnreadableRow, ...]
    skipped: tuple[Skipped, ...]
    remarks: tuple[str, ...]


def told(trouble: Trouble, *, private: bool) -> str:
    """
    Return a trouble as a sentence; what might name a person or a price is left out unless ``private``.

    >>> told(Trouble(5, "H", "Sold to", "sold_to", "Wilf Arkel", "is nearly a known name"), private=False)
    'row 5, "Sold to" is nearly a known name. Look at it with --private.'
    """
    if private or trouble.field not in PRIVATE:
        return str(trouble)
    joint = "" if trouble.reason.startswith(",") else " "
    return f'row {trouble.row}, "{trouble.heading}"{joint}{trouble.reason}. Look at it with --private.'
