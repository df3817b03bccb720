"""What a refusal leaves to choose from: the readings of a date, the records of a name, yours or theirs."""

from __future__ import annotations

import re
from dataclasses import dataclass

from catalog.clock import today
from catalog.errors import (
    AmbiguousDateError,
    AmbiguousNameError,
    CatalogError,
    ChangedMeanwhileError,
    ChoiceNeededError,
    SeveralRefusedError,
)
from catalog.store.fields import WrittenField

_FEW = 4


@dataclass(frozen=True, slots=True)
class Choice:
    """
    One of several things that may be meant.

    ``meant`` goes with the text as it was typed, ``text`` takes its place. ``now`` is the field as another left it,
    to be written over with open eyes; ``leave_out`` are references of what was refused. ``leaves`` writes nothing.
    ``read_as`` is what is said of the choice once it is written, where the text alone does not tell.
    """

    words: str
    meant: str | None = None
    text: str | None = None
    now: WrittenField | None = None
    leave_out: tuple[str, ...] = ()
    leaves: bool = False
    read_as: str = ""


@dataclass(frozen=True, slots=True)
class Choices:
    """What is asked, and what may be answered."""

    asked: str
    choices: tuple[Choice, ...]


def choices_of(refusal: CatalogError, text: str, now: WrittenField) -> Choices | None:
    """Return what a refusal asks; ``None`` when it only refuses. ``now`` is the field as it stands."""
    if isinstance(refusal, AmbiguousDateError):
        by_likelihood = sorted(refusal.readings, key=lambda reading: _centuries_ago(reading[0]))
        readings = tuple(Choice(f"{meaning} ({edtf})", meant=edtf, read_as=meaning) for edtf, meaning in by_likelihood)
        return Choices(f"“{refusal.words}” may mean:", readings)
    if isinstance(refusal, AmbiguousNameError):
        # Only the name gives way to the reference: a doubt that stands beside it stays.
        records = tuple(
            Choice(f"{reference} {words}", text=text.replace(refusal.typed, reference))
            for reference, words in refusal.candidates
        )
        return Choices(f"“{refusal.typed}” may be:", records)
    if isinstance(refusal, ChoiceNeededError):
        return Choices(refusal.asked, tuple(Choice(word, meant=word) for word in refusal.choices))
    if isinstance(refusal, ChangedMeanwhileError):
        was = refusal.opened or "nothing"
        asked = f"Another tiebeam wrote here meanwhile.\n{refusal.label}: {refusal.now or 'nothing'} (it was {was})"
        mine = Choice(f"write yours over it: {text or 'nothing'}", now=now)
        # Theirs first: two quick Enters are not to write over what nobody here has read.
        return Choices(asked, (Choice("leave theirs", now=now, leaves=True), mine))
    if isinstance(refusal, SeveralRefusedError):
        return _several(refusal)
    return None


def _centuries_ago(edtf: str) -> tuple[bool, int]:
    """Return what sorts readings: the latest century first, those of a day to come after all others."""
    year = re.search(r"-?\d{4}", edtf)
    if year is None:
        return False, 0
    return int(year[0]) > today().year, -(int(year[0]) // 100)


def _several(refusal: SeveralRefusedError) -> Choices | None:
    refused, left = refusal.refused, refusal.count - len(refusal.refused)
    listed = "\n".join(f"{reference}: {why}" for reference, why in refused[:_FEW])
    more = f"\nand {len(refused) - _FEW} more" if len(refused) > _FEW else ""
    asked = f"{len(refused)} of {refusal.count} cannot be written so:\n{listed}{more}"
    if not left:
        return None
    out = tuple(reference for reference, _ in refused)
    return Choices(
        asked, (Choice(f"write it for the other {left}", leave_out=out), Choice("write it for none", leaves=True))
    )
