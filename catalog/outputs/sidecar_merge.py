"""
What we say, what we last said, and what a sidecar says now: merged property by property, nothing of theirs lost.

The base is what we last said and they knew. A field only one side changed takes that change; a field both changed
keeps theirs in the file and is named, until a person settles it. See docs/manual/sidecars.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from catalog.outputs.sidecar_pieces import pieces_of, record_of
from catalog.rules.three_way import Change, combine, compare_three, merge_sets
from catalog.standards.xmp import (
    TIEBEAM,
    Array,
    Mine,
    Name,
    Packet,
    Struct,
    Text,
    Uri,
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

__all__ = [
    "STAMPS",
    "Base",
    "FieldMerge",
    "ThreeWay",
    "merge_three",
    "mine_of",
    "read_base",
]

_WRITTEN = tiebeam("Written")
# A mark of the catalogue's own copy. It stands in no sidecar, so that it is no property of the namespace.
_SETTLED = Name(TIEBEAM, "Settled")
STAMPS: Final = frozenset((name("xmp:MetadataDate"), tiebeam("WrittenBy"), _WRITTEN))
"""What says when and by what a sidecar was written; no statement of either side."""
_OURS: Final = frozenset(tiebeam(row[0]) for row in PROPERTIES)


@dataclass(frozen=True, slots=True)
class Base:
    """
    What we last said in a sidecar, and what of theirs was settled to stay.

    ``settled`` holds, by property, the check sum of the value that stays though it is not what we say.
    """

    said: Mapping[Name, Value] = field(default_factory=dict)
    settled: Mapping[Name, str] = field(default_factory=dict)

    def to_bytes(self) -> bytes:
        """Return the base as the catalogue keeps it; ``read_base`` reads it."""
        lines = [f"{spell(named)} {digits}" for named, digits in self.settled.items()]
        marks = {_WRITTEN: record_of(self.said), _SETTLED: bag(lines)}
        marks = {named: value for named, value in marks.items() if value.items}
        return format_packet(Packet(tuple({**self.said, **marks}.items())), pieces_of(self.said))


@dataclass(frozen=True, slots=True)
class FieldMerge:
    """What became of one property: what was last said, what each side says now, and what the sidecar is to say."""

    name: Name
    change: Change
    base: Value | None
    ours: Value | None
    theirs: Value | None
    merged: Value | None
    next_base: Value | None
    is_settled: bool = False

    @property
    def is_held(self) -> bool:
        """Whether theirs stays because both sides changed it."""
        return self.change is Change.CONFLICT

    @property
    def is_theirs(self) -> bool:
        """Whether they changed it and nobody has looked at it yet."""
        return self.change is Change.THEIRS and not self.is_settled


@dataclass(frozen=True, slots=True)
class ThreeWay:
    """A sidecar merged three ways: its properties, what became of each of ours, and the base from then on."""

    properties: dict[Name, Value]
    fields: tuple[FieldMerge, ...]
    base: Base

    @property
    def is_base_behind(self) -> bool:
        """Whether both sides came to say the same, which is to be remembered."""
        return any(one.change is Change.ALIKE for one in self.fields)


def merge_three(base: Base, ours: Mapping[Name, Value], theirs: Packet) -> ThreeWay:
    """
    Return what a sidecar is to say, and what became of each property of ours.

    What was never ours stays in value, structure and order. A bag is merged item by item and a language
    alternative language by language; of everything else the whole value is compared.
    """
    there = dict(theirs)
    base, ours = _yield_identity(base, ours, there)
    fields = tuple(
        _field(named, base, ours.get(named), there.get(named))
        for named in dict.fromkeys((*ours, *base.said))
        if named not in STAMPS
    )
    by_name = {one.name: one for one in fields}
    merged: dict[Name, Value] = {}
    for named, value in there.items():
        kept = by_name[named].merged if named in by_name else value
        if kept is not None:
            merged[named] = kept
    merged |= {one.name: one.merged for one in fields if one.name not in there and one.merged is not None}
    said = {one.name: one.next_base for one in fields if one.next_base is not None}
    settled = {one.name: base.settled[one.name] for one in fields if one.is_settled}
    return ThreeWay(merged, fields, Base(said, settled))


_IDENTITY: Final = frozenset(
    map(name, ("xmpMM:DocumentID", "xmpMM:InstanceID", "xmpMM:OriginalDocumentID", "xmpMM:DerivedFrom"))
)


def _yield_identity(
    base: Base, ours: Mapping[Name, Value], there: Mapping[Name, Value]
) -> tuple[Base, Mapping[Name, Value]]:
    """
    Return both without the identities that another program gave the picture: whoever names it first has named it.

    A program gives a new one with each saving; that is no statement about the picture that could be in conflict.
    """
    taken = {
        named for named in _IDENTITY if named in there and there[named] not in (ours.get(named), base.said.get(named))
    }
    if not taken:
        return base, ours
    said = {named: value for named, value in base.said.items() if named not in taken}
    return Base(said, base.settled), {named: value for named, value in ours.items() if named not in taken}


def _field(named: Name, base: Base, ours: Value | None, theirs: Value | None) -> FieldMerge:
    said = base.said.get(named)
    if ours == theirs == said:
        return FieldMerge(named, Change.SAME, said, ours, theirs, ours, ours)
    if theirs is None and said is None:  # as most, when a sidecar of others is met first
        return FieldMerge(named, Change.OURS, None, ours, None, ours, ours)
    known = ours if ours is not None else said
    if isinstance(known, Array) and known.kind == "Bag":
        change, merged, after = _merge_bags(said, ours, theirs)
    elif isinstance(known, Array) and known.is_lang_alt:
        change, merged, after = _merge_languages(named, said, ours, theirs)
    else:
        change, merged, after = _merge_whole(named, said, ours, theirs)
    is_settled = change is Change.THEIRS and base.settled.get(named) == digits_of(theirs)
    return FieldMerge(named, change, said, ours, theirs, merged, after, is_settled)


def digits_of(value: Value | None) -> str:
    """Return the check sum of a value, or ``-`` for none."""
    return "-" if value is None else fingerprint(value)


_Merged = tuple[Change, "Value | None", "Value | None"]
"""What became of a value, what it is to be, and what will have been said last."""


def _merge_whole(named: Name, base: Value | None, ours: Value | None, theirs: Value | None) -> _Merged:
    if ours is not None and theirs is not None and _says_as_much(named, ours, theirs):
        return (Change.SAME if base == ours else Change.ALIKE), theirs, ours
    if base is not None and theirs is not None and _says_as_much(named, base, theirs):
        change = Change.SAME if ours == base else Change.OURS
    else:
        change = compare_three(base, ours, theirs)
    if change in (Change.THEIRS, Change.CONFLICT):
        return change, theirs, base
    return change, ours, ours


def _says_as_much(named: Name, said: Value, theirs: Value) -> bool:
    """Return True if theirs is ours in another spelling, or with a time of day that we do not keep."""
    if said == theirs:
        return True
    if not isinstance(said, Text | Uri) or not isinstance(theirs, Text | Uri):
        return False
    one, other = said.value.strip(), theirs.value.strip()
    if one == other or (named == _FOR_EXTENSION and one.lower() == other.lower()):
        return True
    # XMP part 1 §8.2.1.1: a date may go on with its time; the day is what the catalogue keeps.
    if named in _DAYS and other.startswith(f"{one}T") and len(one) == 10:
        return True
    return named in _RATIONALS and _fraction(one) is not None and _fraction(one) == _fraction(other)


_FOR_EXTENSION: Final = name("photoshop:SidecarForExtension")
_DAYS: Final = frozenset(map(name, ("xmp:CreateDate", "photoshop:DateCreated")))
_RATIONALS: Final = frozenset(
    map(
        name,
        ("exif:FNumber", "exif:ExposureTime", "exif:FocalLength", "tiff:XResolution", "tiff:YResolution"),
    )
)


def _fraction(text: str) -> Fraction | None:
    try:
        return Fraction(text) if len(text) <= 40 else None
    except (ValueError, ZeroDivisionError):
        return None


def _merge_bags(base: Value | None, ours: Value | None, theirs: Value | None) -> _Merged:
    before, wanted, found = _items(base), _items(ours), _items(theirs)
    merged = merge_sets(before, wanted, found)
    we_changed, they_changed = set(before) != set(wanted), set(before) != set(found)
    if set(wanted) == set(found):
        change = Change.ALIKE if we_changed else Change.SAME
    else:
        change = Change.THEIRS if they_changed and set(merged) != set(wanted) else Change.OURS
    if _is_edited_twice(before, wanted, found):
        return Change.CONFLICT, theirs, base
    after = bag(wanted) if wanted else None
    if tuple(merged) == found and theirs is not None:
        return change, theirs, after
    if not merged:
        return change, None, after
    like = theirs if isinstance(theirs, Array) else Array("Bag", ())
    return change, Array("Bag", tuple(merged), language=like.language, qualifiers=like.qualifiers), after


def _is_edited_twice(before: tuple[Value, ...], ours: tuple[Value, ...], theirs: tuple[Value, ...]) -> bool:
    """Return True if both sides put something else in the place of a structure, each its own."""
    gone = [item for item in before if isinstance(item, Struct) and item not in ours and item not in theirs]
    our_new = [item for item in ours if item not in before and item not in theirs]
    return bool(gone and our_new and [item for item in theirs if item not in before and item not in ours])


def _items(value: Value | None) -> tuple[Value, ...]:
    if value is None:
        return ()
    return value.items if isinstance(value, Array) else (value,)


def _merge_languages(named: Name, base: Value | None, ours: Value | None, theirs: Value | None) -> _Merged:
    before, wanted, found = _by_language(base), _by_language(ours), _by_language(theirs)
    spoken = dict.fromkeys((*wanted, *before))
    changes = {each: compare_three(before.get(each), wanted.get(each), found.get(each)) for each in spoken}
    change = combine(list(changes.values()))
    if change is Change.CONFLICT:
        return change, theirs, base
    after = _alternatives(before.get(each) if changes[each] is Change.THEIRS else wanted.get(each) for each in spoken)
    if Change.OURS not in changes.values():
        return change, theirs, after
    said = _alternatives(found.get(each) if changes[each] is Change.THEIRS else wanted.get(each) for each in spoken)
    left = tuple(item for each, item in found.items() if changes.get(each) is not Change.OURS or wanted.get(each))
    if said is None:  # we say nothing more; languages of others stay
        like = theirs if isinstance(theirs, Array) else Array("Alt", ())
        kept = Array("Alt", left, language=like.language, qualifiers=like.qualifiers)
        return change, (kept if left else None), after
    if not isinstance(theirs, Array):
        return change, said, after
    existing = Array("Alt", left, language=theirs.language, qualifiers=theirs.qualifiers)
    return change, merge(Packet(((named, existing),)), {named: said}).get(named), after


def _by_language(value: Value | None) -> dict[str, Value]:
    """Return the items of a language alternative by language; a lone text is its default."""
    if isinstance(value, Text) and value.language is None:
        value = Text(value.value, language="x-default", qualifiers=value.qualifiers)
    found: dict[str, Value] = {}
    for item in _items(value):
        found.setdefault((item.language or "").lower(), item)
    return found


def _alternatives(items: Iterator[Value | None]) -> Array | None:
    kept = tuple(item for item in items if item is not None)
    return Array("Alt", kept) if kept else None


# ---- what is whose


def mine_of(packet: Packet) -> Mine:
    """Return the judge of what a sidecar's record says we wrote; without a record everything is of others."""
    lines = (text.split() for text in texts(packet.get(_WRITTEN)))
    record = {line[0]: frozenset(line[1:]) for line in lines if line}

    def mine(named: Name, value: Value) -> bool:
        if named.uri == TIEBEAM:  # a property that is not in our table is a later program's
            return named in _OURS
        written = record.get(spell(named))
        return written is not None and fingerprint(value) in written

    return mine


def read_base(kept: bytes | None, theirs: Packet) -> Base:
    """
    Return what we last said: by what the catalogue kept, with ``None`` by the record in the sidecar itself.

    Empty ``kept`` is a catalogue that never wrote there: whatever the sidecar says, this catalogue did not say it.

    Raises:
        XmpError: what the catalogue kept cannot be read.
    """
    if kept == b"":
        return Base()
    packet = theirs if kept is None else parse_packet(kept)
    mine = mine_of(packet)
    said: dict[Name, Value] = {}
    for named, value in packet:
        own = _own_part(named, value, mine) if named not in STAMPS and named != _SETTLED else None
        if own is not None:
            said[named] = own
    if kept is None:
        return Base(said)
    lines = (text.split() for text in texts(packet.get(_SETTLED)))
    settled = {line[0]: line[1] for line in lines if len(line) == 2}
    return Base(said, {named: settled[spell(named)] for named, _ in packet if spell(named) in settled})


def _own_part(named: Name, value: Value, mine: Mine) -> Value | None:
    # The record has the check sums of an array's items, not of the array; what is in our namespace is ours whole.
    if named.uri == TIEBEAM or not isinstance(value, Array):
        return value if mine(named, value) else None
    own = tuple(item for item in value.items if mine(named, item))
    return Array(value.kind, own) if own else None
