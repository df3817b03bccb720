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
from catalog.outputs.sidecar_merge import STAMPS, ThreeWay, merge_three, read_base, record_of
from catalog.rules.three_way import Change
from catalog.standards.iim_limits import OverLimit, over_iim
from catalog.standards.xmp import TIEBEAM, Name, Packet, Text, Value, format_packet, name, parse_packet, spell
from catalog.standards.xmp_tiebeam import tiebeam

__all__ = ["SidecarPlan", "plan_sidecar", "prepare", "program_name"]

_WRITTEN, _WRITTEN_BY = tiebeam("Written"), tiebeam("WrittenBy")
_METADATA_DATE = name("xmp:MetadataDate")
# These say when and by what a sidecar was written; alone they are no reason to write it again.
_STAMPS = frozenset((_METADATA_DATE, _WRITTEN_BY))


@dataclass(frozen=True, slots=True)
class SidecarPlan:
    """
    What a sidecar will be. When it says all this now, ``is_changed`` is false and ``data`` as it was.

    ``held`` names the properties that both sides changed, ``theirs`` those that only others did since we wrote; in
    the file both stay as they are. ``base`` is what the catalogue keeps of the writing: the bytes, or, where words
    of others stay, what we last said. ``long`` are the texts of ours that are longer than IIM has room for.
    """

    data: bytes
    is_changed: bool
    held: tuple[str, ...] = ()
    theirs: tuple[str, ...] = ()
    base: bytes = b""
    long: tuple[OverLimit, ...] = ()


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


def plan_sidecar(
    existing: bytes | None, caption: FrameCaption, written_by: str = "", kept: bytes | None = None
) -> SidecarPlan:
    """
    Return what ``prepare`` does, with what others changed meanwhile. Raises as ``prepare`` does.

    ``kept`` is the base that the catalogue kept at the last writing (``SidecarPlan.base``); empty for a catalogue
    that never wrote there. Without it the record in the sidecar itself says what was ours. ``written_by`` spares a
    batch from asking for ``program_name`` again and again.
    """
    if existing is None and not kept:
        return _plan_first(properties_of(caption), written_by)
    before = parse_packet(existing) if existing is not None else Packet()
    base = read_base(None if kept == existing else kept, before)
    ours = properties_of(caption)
    merged = merge_three(base, ours, before)
    after = dict(merged.properties)
    after.pop(_WRITTEN, None)
    record = record_of(merged.base.said)
    if record.items:
        after[_WRITTEN] = record
    held = tuple(spell(one.name) for one in merged.fields if one.is_held)
    # What was there before we ever wrote is simply theirs; only what was changed since is news.
    theirs = tuple(spell(one.name) for one in merged.fields if one.is_theirs and one.base is not None)
    is_same = existing is not None and _without_stamps(after) == _without_stamps(dict(before))
    if existing is not None and is_same and not merged.is_base_behind:
        return SidecarPlan(existing, is_changed=False, held=held, theirs=theirs, long=over_iim(ours))
    after[_METADATA_DATE] = Text(clock.timestamp())
    after[_WRITTEN_BY] = Text(written_by or program_name())
    data = format_packet(before.with_properties(after))
    kept_base = data if _is_all_ours(merged) else merged.base.to_bytes()
    return SidecarPlan(data, True, held, theirs, kept_base, over_iim(ours))


def _is_all_ours(merged: ThreeWay) -> bool:
    """
    Return True if the sidecar itself tells what we last said.

    It does not where words of others stay in our fields; nor where another catalogue's stand in our namespace, which
    the record does not tell from ours.
    """
    if any(one.change in (Change.CONFLICT, Change.THEIRS) for one in merged.fields):
        return False
    said = merged.base.said
    return all(named in said or named in STAMPS for named in merged.properties if named.uri == TIEBEAM)


def _plan_first(ours: Mapping[Name, Value], written_by: str) -> SidecarPlan:
    """Return the plan of a first sidecar: nothing is there to be merged with, and nothing was said before."""
    record = record_of(ours)
    after = {**ours, **({_WRITTEN: record} if record.items else {})}
    after[_METADATA_DATE] = Text(clock.timestamp())
    after[_WRITTEN_BY] = Text(written_by or program_name())
    data = format_packet(Packet(tuple(after.items())))
    return SidecarPlan(data, is_changed=True, base=data, long=over_iim(ours))


def _without_stamps(properties: Mapping[Name, Value]) -> dict[Name, Value]:
    return {named: value for named, value in properties.items() if named not in _STAMPS}
