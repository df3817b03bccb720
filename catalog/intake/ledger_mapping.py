"""The mapping file of an old ledger: what each column is, and what the person settled."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from catalog.errors import EdtfError, IntakeError, RefusedError
from catalog.intake.ledger_fields import (
    AT_PLACE,
    FIELDS,
    NOT_BESIDE_WHAT,
    STATUS_MEANINGS,
    STATUSES,
    WHAT_MEANINGS,
    WHATS,
)
from catalog.intake.mapping import (
    MappingParser,
    column_item,
    parse_toml,
    read_mapping_text,
)
from catalog.intake.mapping_files import add_columns, add_table, begin_document
from catalog.intake.table_mapping import ColumnUse, TableMapping
from catalog.rules.folding import fold
from catalog.rules.money import parse_money
from catalog.rules.print_numbers import parse_number

GUESS = "tiebeam prints guess FILE"


@dataclass(frozen=True, slots=True)
class LedgerMapping(TableMapping):
    """
    How an old ledger is to be read. Whatever is not stated keeps its default; folded words are the keys of tables.

    ``editions`` say what a title means: an edition, run, view or sheet by reference, or nothing (``""``). An empty
    word stands for a cell without one, so ``"" = "E1"`` makes every row a print of E1. ``persons`` say whom a name
    means, by reference or name (itself: a person to be added); the empty word stands for a buyer who was not named.
    """

    currency: str | None = None
    """The currency of amounts that name none; unset, each is asked about."""
    money_readings: Mapping[str, str] = field(default_factory=dict)
    """Amounts for words that say none plainly; ``""`` keeps the words and no amount."""
    editions: Mapping[str, str] = field(default_factory=dict)
    numbers: Mapping[str, str] = field(default_factory=dict)
    """Print numbers for words that say none plainly; ``""`` is a print without a number."""
    persons: Mapping[str, str] = field(default_factory=dict)
    places: Mapping[str, str] = field(default_factory=dict)
    statuses: Mapping[str, str] = field(default_factory=lambda: STATUSES)
    whats: Mapping[str, str] = field(default_factory=lambda: WHATS)
    text: str = ""

    @property
    def is_by_happening(self) -> bool:
        """Whether a row tells of one happening, and several rows may tell of one print."""
        return bool(self.headings("what"))


def read_ledger_mapping(path: Path) -> LedgerMapping:
    """Return the mapping that a file states. Raises ``IntakeError`` with all its faults."""
    return parse_ledger_mapping(read_mapping_text(path, guess=GUESS), name=path.name)


def parse_ledger_mapping(text: str, *, name: str = "mapping file") -> LedgerMapping:
    """Return the mapping that a TOML text states. Raises ``IntakeError`` with all its faults."""
    document = parse_toml(text, name)
    faults: list[str] = []
    mapping = _LedgerParser(faults).parse_ledger(document)
    if faults:
        raise IntakeError("\n".join(f"{name}: {fault}" for fault in faults))
    return replace(mapping, text=text)


class _LedgerParser(MappingParser):
    fields = FIELDS

    def parse_ledger(self, document: dict[str, Any]) -> LedgerMapping:
        """Return the mapping; the faults were collected."""
        known = {"version", "file", "dates", "columns", "money", "editions", "numbers", "persons", "places", "status",
                 "what"}  # fmt: skip
        self._unknown(document, known, "the mapping file")
        if document.get("version", 1) != 1:
            self._faults.append("version: this program knows version 1 only.")
        of_table, money = self._of_table(document), self._table(document, "money")
        self._unknown(money, {"currency", "readings"}, "[money]")
        self._refuse_beside_what(of_table["columns"])
        return LedgerMapping(
            **of_table,
            currency=self._currency(money),
            money_readings=self._money(money),
            editions=self._words(document, "editions", r"[EMVS][1-9]\d*|", 'a reference (E1, M2, V3, S4) or ""'),
            numbers=self._numbers(document),
            persons=self._words(document, "persons", r".*\S.*", "a person by reference or name"),
            places=self._choices(document, "places", AT_PLACE),
            statuses={**STATUSES, **self._choices(document, "status", STATUS_MEANINGS)},
            whats={**WHATS, **self._choices(document, "what", WHAT_MEANINGS)},
        )

    def _refuse_beside_what(self, columns: Mapping[str, ColumnUse]) -> None:
        is_by_happening = any(use.field == "what" for use in columns.values())
        for heading, use in columns.items():
            if is_by_happening and use.field in NOT_BESIDE_WHAT:
                self._faults.append(
                    f"[columns] {heading!r}: {use.field} has no place beside a column 'what', with a row for each "
                    "happening: say when, who, where, price or due."
                )
            if not is_by_happening and use.field in ("when", "who"):
                self._faults.append(
                    f"[columns] {heading!r}: {use.field} needs a column 'what', which says what happened."
                )

    def _dates(self, dates: dict[str, Any]) -> dict[str, str]:
        from catalog.dates import parse_edtf

        readings = {}
        for words, edtf in self._table(dates, "readings").items():
            try:
                if edtf != "":
                    parse_edtf(str(edtf))
            except EdtfError as exc:
                self._faults.append(f"[dates.readings] {words!r}: {exc}")
            readings[" ".join(words.split())] = str(edtf)
        return readings

    def _currency(self, money: dict[str, Any]) -> str | None:
        currency = self._text(money, "currency")
        if currency is not None and re.fullmatch("[A-Z]{3}", currency) is None:
            self._faults.append(f'[money] currency: {currency!r} should be three letters, like "GBP".')
        return currency

    def _money(self, money: dict[str, Any]) -> dict[str, str]:
        readings = {}
        for words, amount in self._table(money, "readings").items():
            try:
                if amount != "":
                    parse_money(str(amount))
            except RefusedError as exc:
                self._faults.append(f"[money.readings] {words!r}: {exc}")
            readings[fold(words)] = str(amount)
        return readings

    def _numbers(self, document: dict[str, Any]) -> dict[str, str]:
        found = {}
        for words, number in self._table(document, "numbers").items():
            name = parse_number(number) if isinstance(number, str) else None
            if number != "" and (name is None or name.ordinal is None):
                self._faults.append(f'[numbers] {words!r}: {number!r} should be a print number like "7/15", or "".')
            found[fold(words)] = str(number)
        return found

    def _words(self, document: dict[str, Any], key: str, pattern: str, what: str) -> dict[str, str]:
        found = {}
        for words, meant in self._table(document, key).items():
            if not isinstance(meant, str) or re.fullmatch(pattern, meant.strip(), re.IGNORECASE) is None:
                self._faults.append(f"[{key}] {words!r}: {meant!r} should be {what}.")
                continue
            found[fold(words)] = meant.strip()
        return found

    def _choices(self, document: dict[str, Any], key: str, choices: Sequence[str]) -> dict[str, str]:
        found = {}
        for words, meant in self._table(document, key).items():
            if meant not in choices:
                told = ", ".join(choice or '""' for choice in choices)
                self._faults.append(f"[{key}] {words!r}: {meant!r} should be one of {told}.")
                continue
            found[fold(words)] = meant
        return found


def format_ledger_mapping(mapping: LedgerMapping, questions: Sequence[str] = ()) -> str:
    """Return a mapping as TOML for a person to edit: what to answer first, then every column with what it is."""
    import tomlkit

    document = begin_document(
        "What each column of an old ledger is. Change what is wrong; see the manual, old-ledgers.", questions
    )
    add_table(document, "file", {
        "encoding": mapping.encoding, "delimiter": mapping.delimiter, "sheet": mapping.sheet,
        "heading_row": mapping.heading_row,
    })  # fmt: skip
    add_columns(document, {heading: column_item(use) for heading, use in mapping.columns.items()})
    dates: dict[str, Any] = {"century": mapping.century, "day_order": mapping.day_order}
    add_table(document, "dates", {**dates, "readings": dict(mapping.date_readings)})
    add_table(document, "money", {"currency": mapping.currency, "readings": dict(mapping.money_readings)})
    add_table(document, "editions", dict(mapping.editions), keep_empty=True)
    add_table(document, "numbers", dict(mapping.numbers), keep_empty=True)
    add_table(document, "persons", dict(mapping.persons))
    return tomlkit.dumps(document)
