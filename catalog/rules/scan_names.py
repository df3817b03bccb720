"""Which sheet a scan is of, by the numbers in its file's name."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field

from catalog.errors import SettingsError
from catalog.rules.folding import fold

Key = tuple[str, ...]

# Whatever is no letter or digit stands between the parts of a number: "78-14", "78_14", "78.14", "78/14".
_PARTS = re.compile(r"[^\W_]+")
_ZEROS = re.compile(r"^0+(?=\d)")
# A digit after one of these counts scans, not sheets: "82-07 scan 2".
_COUNTED = frozenset(("scan", "copy", "part", "page", "version", "ver", "v", "crop", "proof", "test"))


@dataclass(frozen=True, slots=True)
class NumberFound:
    """A sheet number found in a name: as the name writes it, and the sheets that carry it."""

    text: str
    sheets: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NameMatch:
    """
    What a name says: the one ``sheet`` and the number that named it, or why there is none.

    ``candidates`` are the numbers that were found, with every sheet that carries them.
    """

    sheet: int | None
    text: str | None
    candidates: tuple[NumberFound, ...] = ()
    why: str = ""


@dataclass
class NumberIndex:
    """The numbers of an archive's sheets, by their parts."""

    sheets: dict[Key, dict[int, None]] = field(default_factory=dict)
    longest: int = 0

    @classmethod
    def of(cls, numbers: Iterable[tuple[int, str]]) -> NumberIndex:
        """Return the index of (sheet, number as written)."""
        index = cls()
        for sheet, text in numbers:
            key = number_key(text)
            if key:
                index.sheets.setdefault(key, {})[sheet] = None
                index.longest = max(index.longest, len(key))
        return index


def number_key(text: str) -> Key:
    """
    Return the parts of a number as they are compared: separators alike, no case, no leading zeros.

    >>> number_key("1979_031") == number_key("1979-31")
    True
    """
    return tuple(part for part, _, _ in _parts(text))


def numbers_in(text: str, index: NumberIndex) -> tuple[tuple[NumberFound, bool], ...]:
    """Return the numbers of the archive that stand whole in a text, each with whether it stands there on its own."""
    return tuple(_find_numbers(text, index))


def stem_of(name: str) -> str:
    """Return a file's name without its ending, in which numbers are looked for."""
    return name.rpartition(".")[0] or name


def check_pattern(pattern: str) -> re.Pattern[str] | None:
    """
    Return the archive's pattern for numbers in names, ``None`` if it has none.

    Raises:
        SettingsError: it is no regular expression, or has no group ``number``.
    """
    if not pattern:
        return None
    try:
        compiled = re.compile(pattern)
    except re.error as exc:
        raise SettingsError(f"[scans] number_pattern {pattern!r} is no regular expression: {exc}.") from exc
    if "number" not in compiled.groupindex:
        raise SettingsError(f"[scans] number_pattern {pattern!r} has no group (?P<number>...).")
    return compiled


def match_name(name: str, index: NumberIndex, pattern: re.Pattern[str] | None = None) -> NameMatch:
    """
    Return the one sheet that a file's name means, or why it means none.

    With a ``pattern`` the number is its group ``number`` and nothing else; without,
    any number of the archive that stands whole in the name.
    """
    stem = stem_of(name)
    if pattern is None:
        return _judged(_find_numbers(stem, index), stem)
    found = pattern.search(name)
    if found is None or not found["number"]:
        return NameMatch(None, None, why="the number pattern of the settings finds no number in its name")
    text = found["number"]
    sheets = tuple(index.sheets.get(number_key(text), ()))
    if not sheets:
        return NameMatch(None, None, why=f"no sheet has the number {text}")
    return _judged([(NumberFound(text, sheets), True)], stem)


def _judged(found: list[tuple[NumberFound, bool]], stem: str) -> NameMatch:
    """Return what numbers found in a name say; each comes with whether it stands on its own."""
    numbers = tuple(number for number, _ in found)
    alone = [number for number, is_alone in found if is_alone]
    sheets = tuple(dict.fromkeys(sheet for number in alone for sheet in number.sheets))
    if len(sheets) == 1:
        return NameMatch(sheets[0], alone[0].text, numbers)
    if sheets:
        return NameMatch(None, None, numbers, _several(alone, len(sheets)))
    if numbers:
        return NameMatch(None, None, numbers, f"{numbers[0].text} is only part of a longer number")
    has_digit = any(char.isdigit() for char in stem)
    return NameMatch(None, None, why="no sheet has a number of its name" if has_digit else "its name holds no number")


def _several(numbers: list[NumberFound], sheets: int) -> str:
    if len(numbers) == 1:
        return f"{sheets} sheets have the number {numbers[0].text}"
    return "its name holds several numbers: " + ", ".join(number.text for number in numbers)


def _find_numbers(stem: str, index: NumberIndex) -> list[tuple[NumberFound, bool]]:
    """
    Return the numbers of the archive in a name, longest first, none within another.

    Each comes with whether it stands on its own: one part of a chain of digits ("14" in
    "78-14") is most likely not a number by itself.
    """
    parts = _parts(stem)
    keys = [part for part, _, _ in parts]
    taken: list[tuple[int, int]] = []
    found: list[tuple[int, NumberFound, bool]] = []
    for length in range(min(index.longest, len(parts)), 0, -1):
        for start in range(len(parts) - length + 1):
            end = start + length
            sheets = index.sheets.get(tuple(keys[start:end]))
            if not sheets or any(low <= start and end <= high for low, high in taken):
                continue
            if length == 1 and _is_count(keys, start):
                continue
            taken.append((start, end))
            text = unicodedata.normalize("NFC", stem)[parts[start][1] : parts[end - 1][2]]
            alone = length > 1 or not _is_chained(stem, parts, start)
            found.append((start, NumberFound(text, tuple(sheets)), alone))
    return [(number, alone) for _, number, alone in sorted(found, key=lambda one: one[0])]


def _is_count(keys: list[str], at: int) -> bool:
    return at > 0 and keys[at - 1] in _COUNTED and keys[at].isdigit()


def _is_chained(stem: str, parts: list[tuple[str, int, int]], at: int) -> bool:
    """Return True if a part of digits hangs on other digits by a separator other than a blank."""
    if not parts[at][0].isdigit():
        return False
    text = unicodedata.normalize("NFC", stem)
    neighbours = [(left, left + 1) for left in (at - 1, at) if 0 <= left < len(parts) - 1]
    return any(
        parts[left][0][-1:].isdigit()
        and parts[right][0][:1].isdigit()
        and not any(char.isspace() for char in text[parts[left][2] : parts[right][1]])
        for left, right in neighbours
    )


def _parts(text: str) -> list[tuple[str, int, int]]:
    """Return each part, folded and without leading zeros, and where it stands in the composed text."""
    composed = unicodedata.normalize("NFC", text)
    return [(_ZEROS.sub("", fold(part[0])), *part.span()) for part in _PARTS.finditer(composed)]
