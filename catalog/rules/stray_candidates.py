"""Which sheets a scan that waits may be of, and why: by the numbers and the names in what its file says."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.rules.scan_names import NumberFound, NumberIndex, match_name, number_key, numbers_in, stem_of

BY_NAME, BY_WORDS, BY_PART, BY_SUBJECT_AND_YEAR, BY_SUBJECT, TAKEN_OFF = range(6)
"""How well a reason speaks for a sheet, the best first."""

_YEAR = re.compile(r"(?<!\d)(1[89]\d\d|20\d\d)(?!\d)")
_SHORTEST_NAME = 3
"""A place called "Ao" is found in too many names of files to say anything."""


@dataclass(frozen=True, slots=True)
class StrayWords:
    """What the file of a stray says: its name, the folders it lies in, the words embedded in it."""

    name: str
    folders: str = ""
    embedded: str = ""

    def parts(self) -> tuple[tuple[str, str], ...]:
        """Return each of them with the words that cite it."""
        return (("its name", stem_of(self.name)), ("its embedded words", self.embedded), ("its folder", self.folders))


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A sheet that a stray may be of; ``rank`` is one of ``BY_NAME`` and so on."""

    sheet: int
    rank: int
    why: str


def suggested_by_numbers(
    said: StrayWords, index: NumberIndex, pattern: re.Pattern[str] | None = None
) -> list[Suggestion]:
    """
    Return the sheets whose numbers stand in what a stray says, the best reason first.

    The name is read as ``match_name`` reads it; the embedded words, which it passes over, speak less.
    """
    found: list[Suggestion] = []
    if pattern is None:
        for number, is_alone in numbers_in(stem_of(said.name), index):
            found += _of_number(number, "its name holds", BY_NAME if is_alone else BY_PART)
    else:
        for number in match_name(said.name, index, pattern).candidates:
            found += _of_number(number, "its name holds", BY_NAME)
    for number, is_alone in numbers_in(said.embedded, index):
        found += _of_number(number, "its embedded words hold", BY_WORDS if is_alone else BY_PART)
    return best_of(found)


def _of_number(number: NumberFound, lead: str, rank: int) -> Iterable[Suggestion]:
    many = f", which {len(number.sheets)} sheets carry" if len(number.sheets) > 1 else ""
    part = ", though only as part of a longer number" if rank == BY_PART else ""
    return [Suggestion(sheet, rank, f"{lead} {number.text}{many}{part}") for sheet in number.sheets]


def best_of(found: Iterable[Suggestion]) -> list[Suggestion]:
    """Return each sheet once, with its best reason, in the order of the reasons."""
    best: dict[int, Suggestion] = {}
    for one in found:
        known = best.get(one.sheet)
        if known is None or one.rank < known.rank:
            best[one.sheet] = one
    return sorted(best.values(), key=lambda one: one.rank)


def names_said(said: StrayWords, names: Iterable[tuple[int, str]]) -> dict[int, tuple[str, str]]:
    """
    Return the records whose names stand whole in what a stray says: by id, the name and where it stands.

    A name that is part of a longer one found in the same place is left out: "Osk" in "Osk Mill".

    >>> names_said(StrayWords("osk-mill_north.tif"), [(1, "Osk Mill"), (2, "Osk"), (3, "Halding")])
    {1: ('Osk Mill', 'its name')}
    """
    texts = [(where, f" {' '.join(number_key(text))} ") for where, text in said.parts() if text]
    found: list[tuple[int, str, str, str]] = []
    for record, name in names:
        words = " ".join(number_key(name))
        if len(words) < _SHORTEST_NAME:
            continue
        where = next((where for where, text in texts if f" {words} " in text), None)
        if where is not None:
            found.append((record, name, where, words))
    found.sort(key=lambda one: -len(one[3]))
    kept: dict[int, tuple[str, str]] = {}
    spoken: list[tuple[str, str]] = []
    for record, name, where, words in found:
        is_within = any(where == w and f" {words} " in f" {longer} " and words != longer for w, longer in spoken)
        if not is_within:
            spoken.append((where, words))
            kept.setdefault(record, (name, where))
    return kept


def year_said(said: StrayWords) -> str | None:
    """
    Return the one year that a stray's name, words or folders hold, ``None`` if there is none or there are several.

    >>> year_said(StrayWords("osk 1978 n.tif"))
    '1978'
    """
    for _, text in said.parts():
        years = set(_YEAR.findall(text))
        if years:
            return years.pop() if len(years) == 1 else None
    return None


def keys_within(texts: Iterable[str], longest: int = 24) -> set[tuple[str, ...]]:
    """Return every number key that could stand whole in one of the texts, of at most ``longest`` parts."""
    keys: set[tuple[str, ...]] = set()
    for text in texts:
        parts = number_key(text)
        keys.update(
            parts[start:end]
            for start in range(len(parts))
            for end in range(start + 1, min(start + longest, len(parts)) + 1)
        )
    return keys


def in_order(
    suggestions: Sequence[Suggestion], *, scanned: Iterable[int], taken_off: Iterable[int]
) -> list[Suggestion]:
    """Return suggestions with the likeliest first: sheets without a scan before others, those taken off last."""
    have_scans, were_taken = set(scanned), set(taken_off)
    return sorted(
        suggestions,
        key=lambda one: (one.sheet in were_taken, one.rank, one.sheet in have_scans),
    )
