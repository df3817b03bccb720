"""What the cells of a row say happened to a print, as entries of the ledger to be, in the order they happened."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from catalog.intake.cells import split_doubt
from catalog.intake.ledger_cells import CellReader, Draft
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_names import AskError
from catalog.intake.ledger_rows import NO_DATE, OldEvent, Who
from catalog.intake.proposals import Doubt
from catalog.intake.when import Dated
from catalog.rules.doubt import POSSIBLE
from catalog.rules.folding import fold
from catalog.rules.ledger_kinds import KINDS

MOVING = frozenset(word for word, kind in KINDS.items() if kind.moves)
_YES = frozenset({"yes", "y", "x", "✓", "✔", "√", "true", "signed", "1", "ja", "si", "oui"})
_NO = frozenset({"no", "n", "unsigned", "not signed", "not yet", "false", "0"})
_GIFT = frozenset({"gift", "given", "gratis", "free", "donation", "donated"})
_HOME = re.compile(
    r"(?:drawer|box|plan chest|plan-chest|chest|solander|shelf|cabinet|portfolio|folder|rack|store|studio|home|house|"
    r"here|archive|safe|in hand)\b",
    re.IGNORECASE,
)
_UNDER_STATUS = 'Say what it means under [status] in the mapping file ("" for nothing that happened).'
_UNDER_PLACES = (
    'Say under [places] in the mapping file what it means: drawer (it is at home), consigned, lent, shown, or "" for '
    "words alone."
)


@dataclass(frozen=True, slots=True)
class Happened:
    """What a row says happened, whether its print took another's place, and whether it says no more than its making."""

    events: tuple[OldEvent, ...]
    is_replacement: bool = False
    is_pulling: bool = False


class EventReader:
    """Reads what happened to a print; whatever would have to be guessed is asked about."""

    def __init__(self, cells: CellReader, mapping: LedgerMapping) -> None:
        self._cells, self._mapping = cells, mapping

    def read(self, draft: Draft) -> Happened:
        """Return the events of a row, still in the order of their columns."""
        status, words = self._status(draft)
        events = [*self._signed(draft), *self._away(draft, status), *self._passed_on(draft, status)]
        events += self._ended(draft, status, words)
        events += self._where(draft, events)
        return Happened(tuple(events), status == "replacement")

    # ---- status

    def _status(self, draft: Draft) -> tuple[str, str]:
        """Return what the status means, by the word it begins with, and all its words."""
        words = draft.text("status")
        folded = fold(words)
        table = self._mapping.statuses
        if not words:
            return "", ""
        if folded in table:
            return table[folded], words
        begun = [known for known in table if known and re.match(rf"{re.escape(known)}\b(?!\?)", folded)]
        with self._cells.asking(draft, "status"):
            if split_doubt(words).is_doubtful or not begun:
                raise AskError("is no status known here", _UNDER_STATUS)
            return table[max(begun, key=len)], words
        return "", ""

    # ---- signed

    def _signed(self, draft: Draft) -> list[OldEvent]:
        text = draft.text("signed")
        if not text or fold(text) in _NO:
            return []
        if fold(text) in _YES:
            return [OldEvent("signed")]
        wording = split_doubt(text)
        if wording.is_doubtful and not any(char.isdigit() for char in text):
            draft.doubts.append(Doubt("signed", text, POSSIBLE if not wording.readings else wording.certainty))
            return []
        dated = self._cells.read_date(draft, "signed") if any(char.isdigit() for char in text) else None
        if dated is None or (dated.reason is not None and not dated.alternatives):
            return [OldEvent("signed", words=text)]
        return [OldEvent("signed", self._cells.date(draft, "signed"))]

    # ---- away from the house

    def _away(self, draft: Draft, status: str) -> list[OldEvent]:
        found: list[OldEvent] = []
        for kind, field in (("consigned", "consigned_to"), ("lent", "lent_to")):
            if draft.text(field) or draft.text(kind) or status == kind:
                found.append(OldEvent(kind, self._when(draft, kind), self._whom(draft, field, kind)))
        due, value = self._cells.date(draft, "due"), self._cells.amount(draft, "value")
        if found and (due != NO_DATE or value is not None):
            found[0] = replace(found[0], due=due, price=value)
        came_back = bool(draft.text("returned")) and fold(draft.text("returned")) not in _NO
        if came_back or status == "returned":
            if len(found) > 1:
                with self._cells.asking(draft, "returned"):
                    raise AskError("does not say from whom: it was consigned and lent", "Part the row in two by hand.")
            found.append(OldEvent("returned", self._when(draft, "returned")))
        return found

    def _when(self, draft: Draft, field: str) -> Dated:
        """Return a date; a mere "yes" under its heading is no date."""
        return NO_DATE if fold(draft.text(field)) in _YES else self._cells.date(draft, field)

    def _whom(self, draft: Draft, field: str, kind: str) -> Who | None:
        who = self._cells.person(draft, field)
        if who is not None or draft.text(field):
            return who
        if kind in ("consigned", "lent") and self._cells.names.is_person(draft.text("where")):
            return self._cells.person(draft, "where")
        with self._cells.asking(draft, field):
            who = self._cells.names.nobody_named()
            if who is None:
                raise AskError(
                    f"is empty, but the print was {kind}",
                    'Fill it in, or say under [persons] who stands for somebody not named: "" = "not known".',
                )
        return who

    # ---- sold and given

    def _passed_on(self, draft: Draft, status: str) -> list[OldEvent]:
        is_gift = fold(draft.text("price")) in _GIFT
        found = []
        if draft.text("sold_to") or draft.text("sold") or status == "sold":
            kind = "given" if is_gift or status == "given" else "sold"
            price = None if is_gift else self._cells.amount(draft, "price")
            found.append(OldEvent(kind, self._when(draft, "sold"), self._whom(draft, "sold_to", kind), price=price))
        elif draft.text("given_to") or draft.text("given") or status == "given":
            found.append(OldEvent("given", self._when(draft, "given"), self._whom(draft, "given_to", "given")))
        if found and found[0].kind == "sold" and (draft.text("given_to") or draft.text("given")):
            found.append(OldEvent("given", self._when(draft, "given"), self._whom(draft, "given_to", "given")))
        return found

    # ---- its end

    def _ended(self, draft: Draft, status: str, words: str) -> list[OldEvent]:
        when = self._when(draft, "ended")
        if status in ("destroyed", "spoiled", "lost", "stolen"):
            told = words
            if fold(words) in self._mapping.statuses and draft.notes:
                told = f"{words}: {draft.notes[0].text}"
            return [OldEvent(status, when, words=told)]
        if draft.text("ended"):
            with self._cells.asking(draft, "ended"):
                raise AskError(
                    "says when the print came to an end, but not how",
                    "Say destroyed, spoiled, lost or stolen under the status.",
                )
        return []

    # ---- where it is now

    def _where(self, draft: Draft, events: list[OldEvent]) -> list[OldEvent]:
        text = draft.text("where")
        if not text:
            return []
        moved = [event for event in events if event.kind in MOVING]
        if moved and moved[-1].kind != "returned":
            self._after_moving(draft, text, moved[-1])
            return []
        meant = self._mapping.places.get(fold(text))
        if meant is None and _HOME.match(text) and not split_doubt(text).is_doubtful:
            meant = "drawer"
        if meant == "":
            return []
        if meant is not None:
            return self._at_place(draft, text, meant)
        with self._cells.asking(draft, "where"):
            raise AskError("is where the print is, but not why it is there", _UNDER_PLACES)
        return []

    def _at_place(self, draft: Draft, text: str, meant: str) -> list[OldEvent]:
        if meant == "drawer":
            return [OldEvent("drawer", place=text)]
        if meant == "shown":
            return [OldEvent("shown", place=text)]
        return [OldEvent(meant, who=self._cells.person(draft, "where"), price=self._cells.amount(draft, "value"))]

    def _after_moving(self, draft: Draft, text: str, last: OldEvent) -> None:
        """See whether where a print is now fits what last happened to it; a home after a sale is pointed out."""
        if last.who is not None and fold(last.who.name) == fold(text):
            return
        column = draft.said["where"][0]
        if _HOME.match(text):
            draft.troubles.append(self._cells.trouble(
                draft, column, text, f"is a place at home, but the print was {last.kind}",
                "The words stay with the row.", "inconsistent",
            ))  # fmt: skip


def in_order(events: Iterable[OldEvent]) -> tuple[OldEvent, ...]:
    """
    Return events as they happened: by their dates where these surely tell, else in the order given.

    What cannot have happened stays so; the ledger's own rules refuse it.
    """
    left, found = list(events), []
    while left:
        first = next((e for e in left if not any(_is_before(other, e) for other in left if other is not e)), left[0])
        found.append(first)
        left.remove(first)
    return tuple(found)


def _is_before(one: OldEvent, other: OldEvent) -> bool:
    a, b = one.when.exposed, other.when.exposed
    return a is not None and b is not None and not a.doubt and not b.doubt and a.surely_before(b)
