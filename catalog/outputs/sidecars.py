"""
Sidecars: what is known of a scan, in the fields that standards give it, beside whatever others wrote there.

The facts are in ``sidecar_captions``, their places in ``sidecar_fields``, the files in ``sidecar_files``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from catalog import clock
from catalog.outputs.sidecar_captions import FrameCaption
from catalog.outputs.sidecar_fields import properties_of
from catalog.outputs.sidecar_merge import STAMPS, ThreeWay, merge_three, read_base
from catalog.outputs.sidecar_pieces import Prepared, pieces_of, prepare_properties, record_of
from catalog.rules.three_way import Change
from catalog.standards.iim_limits import OverLimit
from catalog.standards.xmp import (
    TIEBEAM,
    Name,
    Packet,
    Text,
    Value,
    bag,
    format_packet,
    join_pieces,
    name,
    parse_packet,
    spell,
    write_piece,
)
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
    ours = properties_of(caption)
    prepared = prepare_properties(ours)
    long = tuple(over for one in prepared for over in one.long)
    if existing is not None and kept == existing and _says_just_this(existing, prepared):
        return SidecarPlan(existing, is_changed=False, long=long)
    before = parse_packet(existing) if existing is not None else Packet()
    base = read_base(None if kept == existing else kept, before)
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
        return SidecarPlan(existing, is_changed=False, held=held, theirs=theirs, long=long)
    after[_METADATA_DATE] = Text(clock.timestamp())
    after[_WRITTEN_BY] = Text(written_by or program_name())
    data = format_packet(before.with_properties(after), pieces_of(after))
    kept_base = data if _is_all_ours(merged) else merged.base.to_bytes()
    return SidecarPlan(data, True, held, theirs, kept_base, long)


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
    prepared = prepare_properties(ours)
    data = _first_data(prepared, clock.timestamp(), written_by or program_name())
    return SidecarPlan(data, is_changed=True, base=data, long=tuple(over for one in prepared for over in one.long))


def _first_data(prepared: Sequence[Prepared], at: str, written_by: str) -> bytes:
    """Return a sidecar that holds our properties and nothing else."""
    record = [one.record for one in prepared if one.record is not None]
    stamps: dict[Name, Value] = {_WRITTEN: bag(record)} if record else {}
    stamps |= {_METADATA_DATE: Text(at), _WRITTEN_BY: Text(written_by)}
    # Our properties are all in namespaces that have a prefix of their own.
    pieces = (*(one.piece for one in prepared), *(write_piece(*stamp) for stamp in stamps.items()))
    return join_pieces(piece for piece in pieces if piece is not None)


_STAMPED: Final = re.compile(
    rb"\n   <xmp:MetadataDate>([^<&]*)</xmp:MetadataDate>\n.*\n   <tiebeam:WrittenBy>([^<&]*)</tiebeam:WrittenBy>\n",
    re.DOTALL,
)


def _says_just_this(existing: bytes, prepared: Sequence[Prepared]) -> bool:
    """Return True if a sidecar is what would be written first, but for when and by what: it need not be read at all."""
    found = _STAMPED.search(existing)
    return found is not None and existing == _first_data(
        prepared, found[1].decode("utf-8", "replace"), found[2].decode("utf-8", "replace")
    )


def _without_stamps(properties: Mapping[Name, Value]) -> dict[Name, Value]:
    return {named: value for named, value in properties.items() if named not in _STAMPS}
