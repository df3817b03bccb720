"""What two sides made of a value that both once knew: nothing is lost, and nobody is overruled in silence."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import TypeVar

T = TypeVar("T")


class Change(StrEnum):
    """What became of a value since both sides said the same."""

    SAME = "same"
    OURS = "ours changed"
    THEIRS = "theirs changed"
    ALIKE = "both changed alike"
    CONFLICT = "both changed"


def compare_three(base: T | None, ours: T | None, theirs: T | None) -> Change:
    """
    Return which side changed a value; ``None`` says nothing, and coming to say nothing is a change too.

    >>> compare_three("Osk Mill", "Osk Mill", "The mill at Osk")
    <Change.THEIRS: 'theirs changed'>
    >>> compare_three(None, "Osk Mill", "The mill at Osk")
    <Change.CONFLICT: 'both changed'>
    """
    if ours == theirs:
        return Change.SAME if ours == base else Change.ALIKE
    if theirs == base:
        return Change.OURS
    return Change.THEIRS if ours == base else Change.CONFLICT


def combine(changes: Sequence[Change]) -> Change:
    """
    Return what became of a value from what became of its parts.

    Parts that both sides changed, each its own, are no conflict, but the value is then changed on both sides:
    ``OURS`` and ``THEIRS`` together are ``THEIRS``, which is what there is to look at.

    >>> combine([Change.SAME, Change.OURS, Change.THEIRS])
    <Change.THEIRS: 'theirs changed'>
    """
    for change in (Change.CONFLICT, Change.THEIRS, Change.OURS, Change.ALIKE):
        if change in changes:
            return change
    return Change.SAME


def merge_sets(base: Sequence[T], ours: Sequence[T], theirs: Sequence[T]) -> list[T]:
    """
    Return what a list without order holds after both sides added to it and took from it.

    Theirs comes first and in its order, repetitions too; then what is ours alone. What either side took away
    is gone, what either added is there.

    >>> merge_sets(["mill", "weir"], ["mill", "weir", "snow"], ["Osk", "mill"])
    ['Osk', 'mill', 'snow']
    """
    kept = [item for item in theirs if item not in base or item in ours]
    return kept + [item for item in dict.fromkeys(ours) if item not in theirs and item not in base]
