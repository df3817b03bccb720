"""What becomes of a packet when we write our properties into it: ours are replaced, everything else stays."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from hashlib import sha256
from operator import itemgetter
from typing import TypeAlias

from catalog.standards.xmp_names import Name
from catalog.standards.xmp_values import Array, Packet, Simple, Text, Uri, Value, shielded

__all__ = ["Mine", "fingerprint", "merge"]

Mine: TypeAlias = Callable[[Name, Value], bool]
"""Says of a value (of an array: of one item) whether it is what we wrote and nobody changed since."""


def merge(existing: Packet, ours: Mapping[Name, Value], mine: Mine = lambda _, __: False) -> Packet:
    """
    Return ``existing`` with our properties in it.

    - A property of ours replaces the one of that name; a language alternative keeps the other languages, a
      ``Bag`` keeps the items of others.
    - What ``mine`` knows as our own earlier words goes when we no longer say it. Whatever others wrote stays
      in value and structure: order, languages, qualifiers, unknown namespaces.
    """
    merged: dict[Name, Value] = {}
    for named, value in existing:
        kept = _keep(named, value, ours.get(named), mine)
        if kept is not None:
            merged[named] = kept
    merged |= {named: value for named, value in ours.items() if named not in merged}
    return existing.with_properties(merged)


def _keep(named: Name, existing: Value, ours: Value | None, mine: Mine) -> Value | None:
    if isinstance(ours, Array) and ours.kind == "Bag":
        return _merge_bag(named, existing, ours, mine)
    if isinstance(ours, Array) and ours.is_lang_alt and isinstance(existing, Array):
        return _merge_languages(existing, ours)
    if ours is not None:
        return ours
    if isinstance(existing, Array):
        left = tuple(item for item in existing.items if not mine(named, item))
        return _with_items(existing, left) if left or not existing.items else None
    return None if mine(named, existing) else existing


def _merge_bag(named: Name, existing: Value, ours: Array, mine: Mine) -> Array:
    """Keep what others put in and what is ours still, then add the rest. A lone value is an array of one."""
    if isinstance(existing, Array):
        found, language, qualifiers = existing.items, existing.language, existing.qualifiers
    else:
        found, language, qualifiers = (existing,), None, ()
    said = set(ours.items)
    kept = tuple(item for item in found if item in said or not mine(named, item))
    there = set(kept)
    added = tuple(item for item in ours.items if item not in there)
    return Array("Bag", kept + added, language=language, qualifiers=qualifiers)


def _merge_languages(existing: Array, ours: Array) -> Array:
    """
    Put our words under our languages and keep the other languages.

    XMP part 1 §8.2.2.4: the default is repeated under its real language, so an item that said the same as
    the old default is the same statement and follows it. Languages compare without case (RFC 3066 §2.1).
    """
    spoken = {_language(item) for item in ours.items}
    before = next((item for item in existing.items if _language(item) == "x-default"), None)
    after = next((item for item in ours.items if _language(item) == "x-default"), None)
    others = (item for item in existing.items if _language(item) not in spoken)
    followed = tuple(_follow(item, before, after) for item in others)
    items = shielded(ours.items + followed)
    return Array("Alt", items, language=existing.language, qualifiers=existing.qualifiers)


def _with_items(array: Array, items: tuple[Value, ...]) -> Array:
    return Array(array.kind, items, language=array.language, qualifiers=array.qualifiers)


def _language(value: Value) -> str:
    return (value.language or "").lower()


def _follow(item: Value, before: Value | None, after: Value | None) -> Value:
    if isinstance(item, Text) and isinstance(before, Text) and isinstance(after, Text):
        return replace(item, value=after.value) if item.value == before.value else item
    return item


def fingerprint(value: Value) -> str:
    """Return twelve hexadecimal digits, the same for equal values in every version of this program."""
    return _kept_digest(value) if _is_short(value) else _digest(value)


def _digest(value: Value) -> str:
    spelled: list[str] = []
    _spell_out(value, spelled)
    return sha256("\0".join(spelled).encode()).hexdigest()[:12]


# The sidecars of one archive repeat its photographer, its places and its buildings. Only short values are kept:
# those of strangers come by here too, and 2,048 of the largest take some 30 MB.
_kept_digest = lru_cache(maxsize=2048)(_digest)


def _is_short(value: Value, levels: int = 3) -> bool:
    if value.qualifiers or not levels:
        return False
    if isinstance(value, Simple):
        return len(value.value) <= 200 and len(value.language or "") <= 40
    parts = value.items if isinstance(value, Array) else [part for _, part in value.fields]
    return len(parts) <= 8 and all(_is_short(part, levels - 1) for part in parts)


def _spell_out(value: Value, spelled: list[str]) -> None:
    # Kinds and counts keep two different values from being spelled alike; no text holds the two separators.
    # An absent language is told from an empty one.
    language = "" if value.language is None else f"={value.language}"
    spelled.append(f"{language}\1{len(value.qualifiers)}")
    if value.qualifiers:
        _spell_pairs(value.qualifiers, spelled)
    if isinstance(value, Text):
        spelled += ("Text", value.value)
    elif isinstance(value, Uri):
        spelled += ("Uri", value.value)
    elif isinstance(value, Array):
        spelled.append(f"{value.kind}\1{len(value.items)}")
        for item in value.items:
            _spell_out(item, spelled)
    else:
        spelled.append(f"Struct\1{len(value.fields)}")
        # In the order of their names, whatever order they stand in: the same digits for what is equal.
        _spell_pairs(sorted(value.fields, key=itemgetter(0)), spelled)


def _spell_pairs(pairs: Iterable[tuple[Name, Value]], spelled: list[str]) -> None:
    for named, value in pairs:
        spelled.append("".join(named))
        _spell_out(value, spelled)
