"""Print numbers as old ledgers have them, and the place in a run that each means."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from catalog.intake.cells import split_doubt, split_number
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_names import LONGEST, NOTHING, AskError, KnownRun, LedgerNames
from catalog.intake.ledger_rows import Place
from catalog.intake.tables import CellDate, Raw
from catalog.rules.folding import fold
from catalog.rules.print_numbers import FRACTION, NUMBERED, NumberName, format_number, format_series, parse_number
from catalog.rules.references import format_reference

_BEFORE = re.compile(r"^(?:(?:print|copy|number|no|nr|num)\b\.?|#|№)\s*", re.IGNORECASE)
_OUT_OF = re.compile(r"\s*(?:\bout\s+of\b|\bof\b|\\|∕|⁄)\s*", re.IGNORECASE)
_UNNUMBERED = frozenset({*NOTHING, "?", "??", "unnumbered", "not numbered", "no number", "nn", "n n", "sn", "s n"})
_REMAKES = frozenset({"replacement", "repl", "replaced", "remake", "remade", "2nd print", "second print"})
_UNDER_NUMBERS = "Say the number under [numbers] in the mapping file."


@dataclass(frozen=True, slots=True)
class ReadNumber:
    """What a cell says of a print number: ``name`` as read, else only its ``words``; ``remark`` stood behind it."""

    name: NumberName | None
    words: str = ""
    remark: str | None = None


class NumberReader:
    """Reads print numbers; a doubtful one is asked about, and none is ever guessed."""

    def __init__(self, names: LedgerNames, mapping: LedgerMapping) -> None:
        self._names, self._settled = names, mapping.numbers

    def read(self, text: str, raw: Raw, of: str) -> ReadNumber:
        """
        Return what a cell says; ``of`` is what another column says the run has.

        Raises:
            AskError: it is in doubt, or the spreadsheet took it for a date.
        """
        if len(text) > LONGEST:
            raise AskError("is too long for a print number", _UNDER_NUMBERS)
        settled = self._settled.get(fold(text))
        if settled is not None:
            return ReadNumber(parse_number(settled), settled or _plain(text)) if settled else ReadNumber(None)
        if isinstance(raw, CellDate):
            raise AskError(
                f"was turned into a date ({raw.day}) by the spreadsheet",
                f"{_UNDER_NUMBERS} It may have been {raw.day.day}/{raw.day.month} or {raw.day.month}/{raw.day.day}.",
            )
        bare, remark = split_number(text)
        if fold(bare) in _UNNUMBERED:
            return ReadNumber(None, remark=remark)
        if split_doubt(bare).is_doubtful:
            raise AskError("is put in doubt", _UNDER_NUMBERS)
        name = parse_number(_plain(bare))
        if name is not None and name.ordinal is not None and name.of is None and of:
            if not (of.isdecimal() and of.isascii() and 0 < len(of) < 8):
                raise AskError(f"stands beside {of!r}, which does not say how many there are", _UNDER_NUMBERS)
            name = replace(name, of=int(of))
        if isinstance(raw, float) and name is not None and name.of is not None and "/" in text:
            raise AskError(
                f"is a fraction the spreadsheet may have reduced ({raw:g})", f"{_UNDER_NUMBERS} 5/15 is shown as 1/3."
            )
        return ReadNumber(name, _plain(bare), remark)

    def is_replacement(self, remark: str) -> bool:
        """Return whether a remark behind a number says that the print took the place of another."""
        return fold(remark.strip("()[] ")) in _REMAKES

    def run_for(self, runs: list[KnownRun], size: str) -> KnownRun:
        """
        Return the run of an edition that a print belongs to, told by its size where there is one for each.

        Raises:
            AskError: the size does not tell.
        """
        if len(runs) == 1:
            return runs[0]
        found = [run for run in runs if size and run.of_size(size)]
        if len(found) != 1:
            listed = ", ".join(f"{format_reference('run', run.id)} ({run.sizes[0].name})" for run in runs if run.sizes)
            raise AskError(
                f"is of an edition with a run for each size: {listed}",
                "Say the size in the row, or the run under [editions].",
            )
        return found[0]

    def place(self, run: KnownRun, number: ReadNumber) -> Place:
        """
        Return the place of a number in a run, with what is written on the print.

        A kind of proof without a figure is the only one of its kind, where the run declares one.

        Raises:
            AskError: it is out of another count than the run declares or ever declared, or one of several proofs.
        """
        assert number.name is not None
        name = self._only_one(run, number.name)
        assert name.ordinal is not None
        declared = run.declared.get(name.series, None if name.series == NUMBERED else 0)
        edition = format_reference("edition", run.edition_id)
        now = format_number(name.series, name.ordinal, declared, run.numbering)
        old = format_number(name.series, name.ordinal, name.of, FRACTION) if name.of is not None else None
        is_serial = name.series == NUMBERED and run.numbering != FRACTION
        if old is None or (name.of == declared and not is_serial) or declared == 0:
            return Place(run.id, name.series, name.ordinal, f"{edition} {now}")
        if name.of in run.former.get(name.series, ()) or (is_serial and name.of == declared):
            return Place(run.id, name.series, name.ordinal, f"{edition} {old}", as_written=old)
        if name.series == NUMBERED:
            declares = f"limited to {declared}" if declared is not None else "without a limit"
            raise AskError(f"is out of {name.of}, but {edition} is {declares}", _UNDER_NUMBERS)
        raise AskError(
            f"is out of {name.of}, but {edition} declares {format_series(name.series, declared or 0)}", _UNDER_NUMBERS
        )

    def _only_one(self, run: KnownRun, name: NumberName) -> NumberName:
        """Return a proof without a figure as the first, where no more than one was ever declared."""
        if name.ordinal is not None:
            return name
        declared = run.declared.get(name.series, 0) or 0
        if name.series != "BAT" and (declared != 1 or run.former.get(name.series)):
            edition = format_reference("edition", run.edition_id)
            raise AskError(
                f"is no print number: {edition} declares {format_series(name.series, declared)}", _UNDER_NUMBERS
            )
        return replace(name, ordinal=1)


def _plain(text: str) -> str:
    """
    Return a number without the words around it.

    >>> _plain("No. 7 of 15"), _plain("AP II out of III")
    ('7/15', 'AP II/III')
    """
    return _OUT_OF.sub("/", _BEFORE.sub("", " ".join(text.split())).strip(), count=1)
