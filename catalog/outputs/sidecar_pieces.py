"""
What sidecars have in common, written once: the frames of one valley share places, buildings, lenses and rights.

``sidecar_fields`` gives the same value, not only an equal one, for the same facts; so a value is known by its
identity, and its lines, its check sums and its length beyond IIM need not be made again. A value is held as long as
what is kept of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

from catalog.standards.iim_limits import OverLimit, over_iim
from catalog.standards.xmp import TIEBEAM, Array, Name, Piece, Text, Value, bag, fingerprint, name, spell, write_piece
from catalog.standards.xmp_tiebeam import tiebeam

__all__ = ["Prepared", "pieces_of", "prepare_properties", "record_of"]

_MANY: Final = 4096
_MOST_LETTERS: Final = 4_000
# No two scans say the same here, so that nothing is gained by keeping it.
_ITS_OWN: Final = frozenset(
    (
        *map(name, ("dc:source", "xmp:Identifier", "xmpMM:DocumentID", "xmpMM:InstanceID", "xmpMM:OriginalDocumentID")),
        *map(tiebeam, ("Sheet", "Scan", "Numbers", "Editions")),
    )
)


class Prepared(NamedTuple):
    """A property as a first sidecar has it: its lines, the line of the record about it, what IIM would cut of it."""

    value: Value
    piece: Piece | None
    record: Text | None
    long: tuple[OverLimit, ...]


_kept: dict[tuple[Name, int], Prepared] = {}


def prepare_properties(properties: Mapping[Name, Value]) -> list[Prepared]:
    """Return what is to be written of our properties, in their order."""
    return [_kept.get((named, id(value))) or _prepare(named, value) for named, value in properties.items()]


def pieces_of(properties: Mapping[Name, Value]) -> dict[Name, Piece]:
    """Return the lines of those properties that are known already."""
    known = ((named, _kept.get((named, id(value)))) for named, value in properties.items())
    return {named: one.piece for named, one in known if one is not None and one.piece is not None}


def record_of(said: Mapping[Name, Value]) -> Array:
    """Return the record of what we write into fields that are not ours alone: property and check sums."""
    known = ((named, value, _kept.get((named, id(value)))) for named, value in said.items() if named.uri != TIEBEAM)
    return bag([one.record if one and one.record else _record_line(named, value) for named, value, one in known])


def _record_line(named: Name, value: Value) -> Text:
    """Return what the record has of one property: its name and the check sum of each of its values."""
    items = value.items if isinstance(value, Array) else (value,)
    return Text(" ".join((spell(named), *map(fingerprint, items))))


def _prepare(named: Name, value: Value) -> Prepared:
    record = None if named.uri == TIEBEAM else _record_line(named, value)
    prepared = Prepared(value, write_piece(named, value), record, over_iim({named: value}))
    if named not in _ITS_OWN and prepared.piece is not None and len(prepared.piece.text) <= _MOST_LETTERS:
        if len(_kept) >= _MANY:
            _kept.clear()
        _kept[named, id(value)] = prepared
    return prepared
