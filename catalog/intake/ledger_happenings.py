"""Old ledgers with a row for each happening: what a row says happened, and the rows of one print put together."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from hashlib import sha256

from catalog.intake.cells import split_doubt
from catalog.intake.ledger_cells import CellReader, Draft
from catalog.intake.ledger_events import Happened, in_order
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_names import AskError
from catalog.intake.ledger_rows import OldEvent, OldPrint, OldRow, Who
from catalog.intake.proposals import Trouble
from catalog.rules.folding import fold
from catalog.rules.ledger_kinds import KINDS

_PERSON_NEEDED = frozenset(word for word, kind in KINDS.items() if "person" in kind.needs)
_UNDER_WHAT = 'Say what it means under [what] in the mapping file ("" for words alone).'


class HappeningReader:
    """Reads what a row says happened: its kind, when, with whom, at what place, for what price."""

    def __init__(self, cells: CellReader, mapping: LedgerMapping) -> None:
        self._cells, self._mapping = cells, mapping

    def read(self, draft: Draft) -> Happened:
        """Return the one event of a row; the pulling of its print is told by the fields of the print itself."""
        kind, words = self._kind(draft)
        if kind in ("pulled", "replacement"):
            draft.said.update({
                own: draft.said[name] for own, name in (("pulled", "when"), ("pulled_by", "who")) if name in draft.said
            })  # fmt: skip
            self._keep_rest(draft, ("where", "price", "due"))
            is_pulling = kind == "pulled" or "pulled" in draft.said
            return Happened((), kind == "replacement", is_pulling)
        if not kind:
            self._keep_rest(draft, ("what", "when", "who", "where", "price", "due"))
            return Happened(())
        return Happened((self._event(draft, kind, words),))

    def _kind(self, draft: Draft) -> tuple[str, str]:
        """Return what the words mean, by the longest that they begin with, and all the words."""
        words = draft.text("what")
        folded, table = fold(words), self._mapping.whats
        if folded in table:
            return table[folded], words
        begun = [known for known in table if known and re.match(rf"{re.escape(known)}\b(?!\?)", folded)]
        with self._cells.asking(draft, "what"):
            if not words:
                raise AskError("is empty: nothing says what happened", _UNDER_WHAT)
            if split_doubt(words).is_doubtful or not begun:
                raise AskError("is nothing known here that happens to a print", _UNDER_WHAT)
            return table[max(begun, key=len)], words
        return "", ""

    def _event(self, draft: Draft, kind: str, words: str) -> OldEvent:
        known = KINDS[kind]
        used = {part for part in ("person", "place", "price", "due") if part in (*known.needs, *known.may)}
        columns = {"person": "who", "place": "where", "price": "price", "due": "due"}
        self._keep_rest(draft, [name for part, name in columns.items() if part not in used])
        event = OldEvent(
            kind,
            self._cells.date(draft, "when"),
            self._person(draft, kind) if "person" in used else None,
            self._place(draft, kind) if "place" in used else None,
            self._cells.amount(draft, "price") if "price" in used else None,
            words=self._words(draft, kind, words),
        )
        return replace(event, due=self._cells.date(draft, "due")) if "due" in used else event

    def _person(self, draft: Draft, kind: str) -> Who | None:
        if draft.text("who") or kind not in _PERSON_NEEDED:
            return self._cells.person(draft, "who")
        with self._cells.asking(draft, "who"):
            nobody = self._cells.names.nobody_named()
            if nobody is None:
                raise AskError(
                    f"is empty, but the print was {kind}",
                    'Fill it in, or say under [persons] who stands for somebody not named: "" = "not known".',
                )
            return nobody
        return None

    def _place(self, draft: Draft, kind: str) -> str | None:
        place = draft.text("where") or None
        with self._cells.asking(draft, "where"):
            if place is None and "place" in KINDS[kind].needs:
                raise AskError(f"is empty, but what happened is {kind!r}", "Fill it in.")
        return place

    def _words(self, draft: Draft, kind: str, words: str) -> str | None:
        """Return the words of an entry: those of its kind where they say more, or where it needs some."""
        is_bare = fold(words) in self._mapping.whats
        if "words" not in KINDS[kind].needs:
            return None if is_bare or kind == "signed" else words
        return f"{words}: {draft.notes[0].text}" if is_bare and draft.notes else words

    def _keep_rest(self, draft: Draft, names: Iterable[str]) -> None:
        """Keep as notes what the cells say that an entry of this kind has no use for."""
        for name in names:
            if draft.text(name):
                self._cells.keep(draft, draft.said[name][0], draft.text(name))


# ---- the rows of one print


def gathered(rows: Sequence[OldPrint], headings: Mapping[str, str]) -> list[OldPrint]:
    """
    Return the prints of rows that tell of one happening each, a print at the place of its first row.

    Rows of one number are of one print, in the order of the file; behind a row that says it was replaced, they are of
    its replacement. A row that says word for word what an earlier one of its print says is taken once. ``headings``
    are those of the columns, by field.
    """
    groups: dict[str, list[OldPrint]] = {}
    latest: dict[str, str] = {}
    for row in rows:
        name = row.place.name if row.place else f"row {row.row}"
        if row.is_replacement:
            latest[name] = f"{name} replacement {row.row}"
        groups.setdefault(latest.get(name, name), []).append(row)
    return [_Joining(headings).joined(several) for several in groups.values()]


class _Joining:
    """Puts the rows of one print together, and asks where they do not fit."""

    def __init__(self, headings: Mapping[str, str]) -> None:
        self._headings = headings
        self._questions: list[Trouble] = []
        self._troubles: list[Trouble] = []

    def joined(self, rows: Sequence[OldPrint]) -> OldPrint:
        """Return the print of some rows; those of several rows are held back together."""
        first, distinct = rows[0], self._distinct(rows)
        pulled = [row for row in distinct if row.is_pulling]
        for row in pulled[1:]:
            self._ask(row, "number", f"is pulled a second time: row {pulled[0].row} says so too",
                      "If this one took the place of the first, say replacement; a number is given once.")  # fmt: skip
        if first.place is None and not first.questions and not pulled:
            self._ask(first, "number", "is no number of an edition: which print it happened to is not told",
                      "Name it in the row; one that stands for the rows below is carried: carry = true.")  # fmt: skip
        made = pulled[0] if pulled else first
        facts = self._facts(distinct)
        return replace(
            first,
            digest=_digest(distinct),
            place=next((row.place for row in distinct if row.place and row.place.as_written), first.place),
            facts=facts,
            pulled=made.pulled,
            pulled_by=made.pulled_by,
            events=in_order(event for row in distinct for event in row.events),
            notes=tuple(note for row in distinct for note in row.notes),
            doubts=tuple(dict.fromkeys(doubt for row in distinct for doubt in row.doubts)),
            troubles=(*(trouble for row in distinct for trouble in row.troubles), *self._troubles),
            questions=(*(question for row in distinct for question in row.questions), *self._questions),
            carried=tuple(carried for row in distinct for carried in row.carried),
            more_rows=tuple(OldRow(row.row, row.digest, row.cells) for row in rows[1:]),
        )

    def _distinct(self, rows: Sequence[OldPrint]) -> list[OldPrint]:
        told: dict[str, OldPrint] = {}
        for row in rows:
            earlier = told.setdefault(row.digest, row)
            if earlier is not row:
                reason = f"is in a row that says the same as row {earlier.row}"
                self._troubles.append(self._trouble(row, "number", reason, "It is taken once.", "inconsistent"))
        return list(told.values())

    def _facts(self, rows: Sequence[OldPrint]) -> dict[str, str | int]:
        """Return what rows say of the print itself; where two say otherwise it is asked."""
        facts: dict[str, str | int] = {}
        said_in: dict[str, int] = {}
        for row in rows:
            for name, value in row.facts.items():
                before, place = facts.setdefault(name, value), said_in.setdefault(name, row.row)
                if before != value and fold(str(before)) != fold(str(value)):
                    what = name.removesuffix("_id")
                    self._ask(row, what, f"is not what row {place} says", "Mend the row that is wrong.")
        return facts

    def _ask(self, row: OldPrint, field: str, reason: str, remedy: str) -> None:
        self._questions.append(self._trouble(row, field, reason, remedy, "asked"))

    def _trouble(self, row: OldPrint, field: str, reason: str, remedy: str, kind: str) -> Trouble:
        heading = self._headings.get(field, field.replace("_", " "))
        return Trouble(row.row, "", heading, field, row.cells.get(heading, ""), reason, remedy, kind)


def _digest(rows: Sequence[OldPrint]) -> str:
    if len(rows) == 1:
        return rows[0].digest
    return sha256("\0".join(row.digest for row in rows).encode()).hexdigest()
