"""A number of an edition as one line of its ledger: number, print, state, since when, who has it or waits for it."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.rules.ledger_kinds import ENDED, GONE
from catalog.rules.references import format_reference
from catalog.store.edition_cards import NumberLine
from catalog.tui.widgets.frame_row import date_told
from catalog.tui.widgets.paper import Piece, Row, cut

_NUMBER, _PRINT, _STATE, _SINCE = 10, 6, 11, 16
_WIDE = 60
_RULE: Piece = ("│ ", "margin")


def who_words(person_id: int | None, name: str | None) -> str:
    """
    Return a person as a card names one: the name where it is shown, else the reference alone.

    >>> who_words(14, None), who_words(14, "Corin Tasker"), who_words(None, None)
    ('N14', 'Corin Tasker (N14)', 'the house')
    """
    if person_id is None:
        return "the house"
    reference = format_reference("person", person_id)
    return f"{name} ({reference})" if name else reference


@dataclass(frozen=True, slots=True)
class LedgerHead:
    """The names of the columns, with the rule under them."""

    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        names = _columns(width, "number", "print", "state", "since", "with")
        head: Row = tuple((words, "margin" if words == _RULE[0] else "faint") for words, _ in names)
        return [head, (("─" * width, "rule"),)]


def _columns(width: int, number: str, made: str, state: str, since: str, rest: str) -> list[Piece]:
    """Return the columns of a line; a narrow page leaves out the print's reference and the day."""
    pieces: list[Piece] = [(cut(number, _NUMBER), "strong")]
    if width >= _WIDE:
        pieces.append((cut(made, _PRINT), "faint"))
    pieces += [_RULE, (cut(state, _STATE), "ink"), _RULE]
    if width >= _WIDE:
        pieces += [(cut(since, _SINCE), "ink"), _RULE]
    taken = sum(len(words) for words, _ in pieces)
    return [*pieces, (cut(rest, max(width - taken, 4)).rstrip(), "ink")]


def number_row(line: NumberLine, width: int, *, with_size: bool = False, run: str = "") -> Row:
    """Return the line of a number; ``run`` stands before it where an edition has several."""
    number = f"{run} {line.written}" if run else line.written
    if line.state == "free":
        return tuple((words, role if role == "margin" else "faint")
                     for words, role in _columns(width, number, "", "", "", "not pulled yet"))  # fmt: skip
    since = date_told(line.since) if line.since else ""
    pieces = _columns(width, number, line.reference or "", line.state, since, _rest(line, with_size=with_size))
    return tuple((words, "strong" if role == "ink" and line.hold and words.strip() == line.state else role)
                 for words, role in pieces)  # fmt: skip


def _rest(line: NumberLine, *, with_size: bool) -> str:
    told = [line.size if with_size else None]
    if line.print_id is not None and line.state not in ENDED | GONE:
        told.append(who_words(line.custodian_id, line.custodian))
    if line.due:
        told.append(f"due {date_told(line.due)}")
    if line.hold:
        waits = who_words(line.held_for_id, line.held_for)
        until = f" until {date_told(line.held_until)}" if line.held_until else ""
        told.append((f"for {waits}" if line.state == line.hold else f"{line.hold} to {waits}") + until)
    if line.replaces_id is not None:
        told.append(f"replaces {format_reference('print', line.replaces_id)}")
    told.append(str(line.value) if line.value is not None else None)
    return ", ".join(part for part in told if part)
