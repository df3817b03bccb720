"""
Sidecars: what is known of a scan, in the fields that standards give it, beside whatever others wrote there.

The facts are in ``sidecar_captions``, their places in ``sidecar_fields``, the files in ``sidecar_files``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalog import clock
from catalog.outputs.sidecar_captions import FrameCaption
from catalog.outputs.sidecar_fields import properties_of
from catalog.standards.xmp import (
    TIEBEAM,
    Array,
    Mine,
    Name,
    Packet,
    Text,
    Value,
    bag,
    fingerprint,
    format_packet,
    merge,
    name,
    parse_packet,
    spell,
    texts,
)
from catalog.standards.xmp_tiebeam import PROPERTIES, tiebeam

__all__ = ["ReplacedWords", "SidecarPlan", "plan_sidecar", "prepare", "program_name"]

_WRITTEN, _WRITTEN_BY = tiebeam("Written"), tiebeam("WrittenBy")
_METADATA_DATE = name("xmp:MetadataDate")
_OURS = frozenset(tiebeam(row[0]) for row in PROPERTIES)
# These say when and by what a sidecar was written; alone they are no reason to write it again.
_STAMPS = frozenset((_METADATA_DATE, _WRITTEN_BY))


@dataclass(frozen=True, slots=True)
class ReplacedWords:
    """Words of another program that ours replaced: the property, what it said."""

    property: str
    before: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SidecarPlan:
    """What a sidecar will be. When it says all this now, ``is_changed`` is false and ``data`` as it was."""

    data: bytes
    is_changed: bool
    replaced: tuple[ReplacedWords, ...] = ()


def prepare(existing: bytes | None, caption: FrameCaption) -> bytes:
    """
    Return the bytes of a sidecar for ``caption`` that keeps whatever others wrote in ``existing``.

    Raises:
        XmpError: ``existing`` cannot be read; it should be left alone and named.
    """
    return plan_sidecar(existing, caption).data


def program_name() -> str:
    """Return the name and version that a sidecar says it was written by."""
    return f"Tiebeam {clock.program_version()}"


def plan_sidecar(existing: bytes | None, caption: FrameCaption, written_by: str = "") -> SidecarPlan:
    """
    Return what ``prepare`` does, with what changes and what is replaced. Raises as ``prepare`` does.

    ``written_by`` spares a batch from asking for ``program_name`` again and again.
    """
    before = parse_packet(existing) if existing is not None else Packet()
    ours = properties_of(caption)
    mine = _mine(before)
    record = _record_of(ours)
    after = dict(merge(before, ours | ({_WRITTEN: record} if record.items else {}), mine))
    if existing is not None and _without_stamps(after) == _without_stamps(dict(before)):
        return SidecarPlan(existing, is_changed=False)
    after[_METADATA_DATE] = Text(clock.timestamp())
    after[_WRITTEN_BY] = Text(written_by or program_name())
    data = format_packet(before.with_properties(after))
    return SidecarPlan(data, is_changed=True, replaced=_replaced(before, ours, after, mine))


def _without_stamps(properties: Mapping[Name, Value]) -> dict[Name, Value]:
    return {named: value for named, value in properties.items() if named not in _STAMPS}


# ---- what is whose


def _record_of(ours: Mapping[Name, Value]) -> Array:
    """Return the record of what we write into fields that are not ours alone: property and check sums."""
    shared = ((named, value) for named, value in ours.items() if named.uri != TIEBEAM)
    return bag(" ".join((spell(named), *map(fingerprint, _parts(value)))) for named, value in shared)


def _mine(before: Packet) -> Mine:
    """Return the judge of what a sidecar's record says we wrote; without a record everything is of others."""
    lines = (text.split() for text in texts(before.get(_WRITTEN)))
    record = {line[0]: frozenset(line[1:]) for line in lines if line}

    def mine(named: Name, value: Value) -> bool:
        if named.uri == TIEBEAM:  # a property that is not in our table is a later program's
            return named in _OURS
        written = record.get(spell(named))
        return written is not None and fingerprint(value) in written

    return mine


def _parts(value: Value) -> tuple[Value, ...]:
    return value.items if isinstance(value, Array) else (value,)


def _replaced(
    before: Packet, ours: Mapping[Name, Value], after: Mapping[Name, Value], mine: Mine
) -> tuple[ReplacedWords, ...]:
    """Return what others had said in a property of ours and is no longer there."""
    found = []
    for named, value in before:
        if named in ours and named.uri != TIEBEAM:
            kept = _parts(after[named])
            lost = [part for part in _parts(value) if part not in kept and not mine(named, part)]
            if lost:
                said = tuple(text for part in lost for text in texts(part)) or ("a structure",)
                found.append(ReplacedWords(spell(named), said))
    return tuple(found)
