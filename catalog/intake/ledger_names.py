"""What the words of an old ledger mean in this catalogue: its editions, sheets, persons, amounts of money."""

from __future__ import annotations

import re
import sqlite3
from dataclasses import dataclass, field
from decimal import Decimal

from catalog.errors import RefusedError
from catalog.intake.cells import split_doubt
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_rows import Who
from catalog.intake.tables import CellDate, Raw
from catalog.rules.folding import fold
from catalog.rules.money import Money, minor_digits, parse_money
from catalog.rules.print_numbers import NUMBERED
from catalog.rules.references import format_reference, parse_reference
from catalog.store.names import find_by_name, find_by_number

_NEAR_SCORE = 84  # as ``known``: of 100, by the share of letters in common
_SHORT_NAME = 5
_DOLLARS = frozenset({"USD", "CAD", "AUD", "NZD", "SGD", "HKD"})
LONGEST = 200
"""A print number or an amount of more signs than this is none."""
NOTHING = frozenset(
    {"", "-", "--", "---", "n/a", "na", "none", "nil", "/", "unsold", "not sold", "available", "in stock", "stock"}
)
"""What stands in a cell, folded, where nothing is to be said."""


class AskError(Exception):
    """A cell must be settled by the person first; ``reason`` reads on after the words found."""

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(reason)


@dataclass(frozen=True, slots=True)
class KnownSize:
    """A size of a run, with its measures in words."""

    id: int
    name: str
    image: str | None
    paper: str | None


@dataclass(slots=True)
class KnownRun:
    """A run of an edition: what it declares now, and declared before it was amended, by series."""

    id: int
    edition_id: int
    view_id: int
    numbering: str
    declared: dict[str, int | None]
    sizes: list[KnownSize] = field(default_factory=list)
    former: dict[str, set[int]] = field(default_factory=dict)

    def of_size(self, words: str) -> KnownSize | None:
        """Return the one size that ``words`` name, by its name or a measure."""
        wanted = plain_measure(words)
        found = [
            size for size in self.sizes if wanted in {plain_measure(w) for w in (size.name, size.image, size.paper)}
        ]
        return found[0] if len(found) == 1 else None


@dataclass(frozen=True, slots=True)
class Target:
    """What a title means: an edition (and its run, where named), else a view or a sheet."""

    edition_id: int | None = None
    run_id: int | None = None
    view_id: int | None = None
    sheet_id: int | None = None


class LedgerNames:
    """Looks words up in the catalogue; the same words are looked up once."""

    def __init__(self, connection: sqlite3.Connection, mapping: LedgerMapping) -> None:
        self._connection, self._mapping = connection, mapping
        self._runs = _runs(connection)
        self._people = connection.execute("SELECT id, name FROM person ORDER BY id").fetchall()
        self._known: dict[tuple[str, str], Target | Who | int | AskError | None] = {}
        self.new_persons: dict[str, str] = {}
        """Names not known, by their folds: persons to be added."""

    def person_names(self) -> list[str]:
        """Return every name of a person in the catalogue or in the file."""
        return [name for _, name in self._people] + list(self.new_persons.values())

    # ---- editions and sheets

    def runs_of(self, target: Target) -> list[KnownRun]:
        """Return the runs that a target may mean."""
        return [
            run
            for run in self._runs
            if (target.run_id == run.id if target.run_id is not None else target.edition_id == run.edition_id)
        ]

    def sheet_of(self, edition_id: int) -> int | None:
        """Return the sheet an edition is printed from, where it is one alone."""
        found = self._connection.execute(
            "SELECT sheet_id FROM edition_sheet WHERE edition_id = ?", (edition_id,)
        ).fetchall()
        return found[0][0] if len(found) == 1 else None

    def editions_from(self, sheet_id: int) -> list[str]:
        """Return the editions printed from a sheet, by reference."""
        found = self._connection.execute("SELECT edition_id FROM edition_sheet WHERE sheet_id = ?", (sheet_id,))
        return [format_reference("edition", edition_id) for (edition_id,) in found]

    def target(self, words: str) -> Target | None:
        """
        Return what a title or a reference means; ``None`` for one that nothing answers to, or that stays words.

        Raises:
            AskError: several answer to it, or it is in doubt.
        """
        return self._once("target", words, self._target)  # type: ignore[return-value]

    def _once(self, kind: str, words: str, look: object) -> object:
        key = (kind, fold(words))
        if key not in self._known:
            try:
                self._known[key] = look(words)  # type: ignore[operator]
            except AskError as exc:
                self._known[key] = exc
        found = self._known[key]
        if isinstance(found, AskError):
            raise found
        return found

    def _target(self, words: str) -> Target | None:
        settled = self._mapping.editions.get(fold(words))
        if settled is not None:
            return self._referred(settled, is_settled=True) if settled else None
        if not words:
            return None
        found = self._referred(words)
        if found is not None:
            return found
        if split_doubt(words).is_doubtful and not self._titled(words):
            raise AskError("is put in doubt", _UNDER_EDITIONS)
        titled = self._titled(words)
        if len(titled) > 1:
            listed = " or ".join(_told(each) for each in titled)
            raise AskError(f"may mean {listed}", _UNDER_EDITIONS)
        return titled[0] if titled else None

    def _referred(self, words: str, *, is_settled: bool = False) -> Target | None:
        referred = parse_reference(words)
        tables = {"edition": "edition_id", "run": "run_id", "view": "view_id", "sheet": "sheet_id"}
        if referred is None or referred[0] not in tables:
            return None
        table, record_id = referred
        if self._connection.execute(f"SELECT 1 FROM {table} WHERE id = ?", (record_id,)).fetchone() is None:
            if not is_settled:
                return None
            raise AskError(f"stands for {words}, which is not there", "Mend it under [editions] in the mapping file.")
        run = next((run for run in self._runs if table == "run" and run.id == record_id), None)
        return Target(edition_id=run.edition_id, run_id=run.id) if run else Target(**{tables[table]: record_id})

    def _titled(self, words: str) -> list[Target]:
        editions = find_by_name(self._connection, words, "edition")
        views = find_by_name(self._connection, words, "view")
        bare = []
        for view_id in views:
            of_view = [
                row[0] for row in self._connection.execute("SELECT id FROM edition WHERE view_id = ?", (view_id,))
            ]
            editions += of_view
            bare += [] if of_view else [Target(view_id=view_id)]
        return [Target(edition_id=each) for each in dict.fromkeys(editions)] + bare

    def sheet(self, words: str) -> int | None:
        """
        Return the sheet of a number or reference; ``None`` where none carries it.

        Raises:
            AskError: several carry it.
        """
        return self._once("sheet", words, self._sheet)  # type: ignore[return-value]

    def _sheet(self, words: str) -> int | None:
        referred = self._referred(words)
        if referred is not None and referred.sheet_id is not None:
            return referred.sheet_id
        found = find_by_number(self._connection, words)
        if len(found) > 1:
            listed = " or ".join(format_reference("sheet", each) for each in found)
            raise AskError(f"is carried by several sheets: {listed}", "Write the reference of the one in the cell.")
        return found[0] if found else None

    # ---- persons

    def person(self, words: str) -> Who:
        """
        Return whom a name means; one that nobody has is a person to be added.

        Raises:
            AskError: it is in doubt, several have it, or somebody's name is nearly the same.
        """
        return self._once("person", words, self._person)  # type: ignore[return-value]

    def nobody_named(self) -> Who | None:
        """Return whom the mapping file names for a buyer who was not named."""
        return self.person("") if "" in self._mapping.persons else None

    def _person(self, words: str) -> Who:
        settled = self._mapping.persons.get(fold(words))
        if settled is not None:
            return self._settled_person(settled)
        if split_doubt(words).is_doubtful and not find_by_name(self._connection, words, "person"):
            raise AskError("is put in doubt", _UNDER_PERSONS)
        found = self._found_person(words)
        if found is not None:
            return found
        near = self._near(words)
        if near:
            raise AskError("is nearly a known name", f"Is it {' or '.join(near)}? {_UNDER_PERSONS}")
        return self._new(words)

    def _settled_person(self, settled: str) -> Who:
        referred = parse_reference(settled)
        if referred is not None and referred[0] == "person":
            name = next((name for person_id, name in self._people if person_id == referred[1]), None)
            if name is None:
                raise AskError("stands for a person who is not there", "Mend it under [persons] in the mapping file.")
            return Who(name, referred[1])
        return self._found_person(settled) or self._new(settled)

    def _found_person(self, words: str) -> Who | None:
        referred = parse_reference(words)
        if referred is not None and referred[0] == "person":
            name = next((name for person_id, name in self._people if person_id == referred[1]), None)
            if name is None and not find_by_name(self._connection, words, "person"):
                raise AskError("is the reference of nobody here", _UNDER_PERSONS)
            if name is not None:
                return Who(name, referred[1])
        found = find_by_name(self._connection, words, "person")
        if len(found) > 1:
            listed = " or ".join(format_reference("person", each) for each in found)
            raise AskError(f"is the name of several: {listed}", _UNDER_PERSONS)
        return Who(" ".join(words.split()), found[0]) if found else None

    def is_person(self, words: str) -> bool:
        """Return whether a text is the name of a person, known or new, or is settled as one."""
        return (
            fold(words) in self._mapping.persons
            or fold(words) in self.new_persons
            or bool(find_by_name(self._connection, words, "person"))
        )

    def _new(self, words: str) -> Who:
        name = self.new_persons.setdefault(fold(words), " ".join(words.split()))
        return Who(name)

    def _near(self, words: str) -> list[str]:
        """Return the persons of the catalogue, and of the rows above, whose names are nearly these words."""
        folded = fold(words)
        if len(folded) < _SHORT_NAME or not (self._people or self.new_persons):
            return []
        from rapidfuzz import fuzz

        known = {fold(name): f"{name} ({format_reference('person', i)})" for i, name in self._people}
        others = {**self.new_persons, **known}
        return [told for name, told in others.items() if fuzz.ratio(folded, name) >= _NEAR_SCORE][:3]

    # ---- money

    def money(self, words: str, raw: Raw) -> Money | None:
        """
        Return an amount; ``None`` where the mapping file keeps it as words.

        Raises:
            AskError: it is no plain amount, names no currency, or its cell shows another than it holds.
        """
        if len(words) > LONGEST:
            raise AskError("is too long for an amount", _UNDER_MONEY)
        settled = self._mapping.money_readings.get(fold(words))
        if settled is not None:
            return parse_money(settled) if settled else None
        if isinstance(raw, CellDate):
            raise AskError("was turned into a date by the spreadsheet", "Type the amount again.")
        currency = self._mapping.currency
        plain = words.replace("$", "") if currency in _DOLLARS else words
        try:
            amount = parse_money(plain, currency)
        except RefusedError as exc:
            raise AskError(_money_fault(str(exc), words), _UNDER_MONEY) from exc
        if isinstance(raw, int | float) and not isinstance(raw, bool) and not _is_as_held(amount, raw):
            raise AskError(f"is what the cell shows, but it holds {raw}", _UNDER_MONEY)
        return amount


_UNDER_EDITIONS = "Say under [editions] in the mapping file which it is."
_UNDER_PERSONS = "Say under [persons] in the mapping file who it is: a reference, or the name itself if it is another."
_UNDER_MONEY = 'Say currency under [money] in the mapping file, or the amount under [money.readings] ("" keeps words).'


def _told(target: Target) -> str:
    if target.edition_id is not None:
        return format_reference("edition", target.edition_id)
    return format_reference("view", target.view_id or 0)


def _money_fault(said: str, words: str) -> str:
    """Return why an amount was refused, to read on after the words."""
    return "names no currency" if "names no currency" in said else (
        said.removeprefix(repr(words)).strip().partition(". ")[0].rstrip(".") or "is no amount of money"
    )  # fmt: skip


def _is_as_held(amount: Money, raw: float) -> bool:
    held = Decimal(f"{raw:.15g}")  # a spreadsheet keeps fifteen digits; what comes after is noise of its sums
    return Decimal(amount.minor).scaleb(-minor_digits(amount.currency)) == held


def plain_measure(words: str | None) -> str:
    """
    Return a size as it is compared: ``30x40 cm`` and ``30 × 40cm`` are one.

    >>> plain_measure("30 × 40cm") == plain_measure("30x40 cm")
    True
    """
    return re.sub(r"\s+", "", re.sub(r"\s*[x×*]\s*", "x", fold(words or "")))


def _runs(connection: sqlite3.Connection) -> list[KnownRun]:
    runs = [
        KnownRun(run_id, edition_id, view_id, numbering, {NUMBERED: limit})
        for run_id, edition_id, view_id, numbering, limit in connection.execute(
            "SELECT r.id, r.edition_id, e.view_id, r.numbering, r.limit_count FROM run r"
            " JOIN edition e ON e.id = r.edition_id ORDER BY r.id"
        )
    ]
    by_id = {run.id: run for run in runs}
    for run_id, kind, allowed in connection.execute("SELECT run_id, kind, allowed FROM proof_allowance"):
        by_id[run_id].declared[kind] = allowed
    for size_id, run_id, name, image, paper in connection.execute(
        "SELECT id, run_id, name, image, paper FROM size ORDER BY id"
    ):
        by_id[run_id].sizes.append(KnownSize(size_id, name, image, paper))
    for run_id, series, limit in connection.execute("SELECT run_id, series, limit_count FROM former_limit"):
        by_id[run_id].former.setdefault(series, set()).add(limit)
    return runs
