"""Field by field: what the catalogue says, what the sidecar says, what is embedded in the scan. Nothing is resolved."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from catalog.outputs.sidecar_merge import FieldMerge, ThreeWay
from catalog.rules.three_way import Change
from catalog.standards.iptc import PROPERTIES
from catalog.standards.packets import Embedded, embedded_iim
from catalog.standards.reconcile import Finding, Said, reconcile, reconcile_embedded
from catalog.standards.reconcile import Verdict as Agrees
from catalog.standards.text_repair import propose_repair
from catalog.standards.xmp import TIEBEAM, Array, Name, Packet, Struct, Text, Uri, Value, name, spell, texts

__all__ = ["READABLE", "Compared", "Standing", "compare_fields", "title_of", "value_words"]


class Standing(StrEnum):
    """How the three sides of a field stand to each other, the worst last."""

    EQUAL = "equal"
    CUT = "cut but equal"
    NOT_WRITTEN = "not yet in the sidecar"
    ONLY_CATALOGUE = "only in the catalogue"
    SETTLED = "left as the sidecar has it"
    ONLY_SCAN = "only in the scan"
    ONLY_SIDECAR = "only in the sidecar"
    SCAN_DIFFERS = "the scan says something else"
    THEIRS = "changed in the sidecar since we wrote"
    CONFLICT = "changed on both sides"


READABLE: Final = frozenset(
    map(
        name,
        (
            "dc:title", "dc:description", "dc:subject", "photoshop:DateCreated", "exifEX:LensModel", "exif:FNumber",
            "exif:ExposureTime", "Iptc4xmpExt:LocationShown", "Iptc4xmpExt:ArtworkOrObject", "photoshop:City",
            "Iptc4xmpCore:Location",
        ),
    )
)  # fmt: skip
"""The properties whose facts the catalogue has a place for."""
_TITLES: Final = {row.name: row.title for row in PROPERTIES.values()} | {
    name("xmp:CreateDate"): "Date Digitised",
    name("exifEX:LensModel"): "Lens",
    name("exif:FNumber"): "Aperture",
    name("exif:ExposureTime"): "Shutter",
    name("exif:FocalLength"): "Focal length",
}
_LOOK_AT: Final = frozenset((Standing.SCAN_DIFFERS, Standing.THEIRS, Standing.CONFLICT))


@dataclass(frozen=True, slots=True)
class Compared:
    """
    One field: how the sides stand, and what each says in words ("" for nothing).

    ``embedded`` is (block and field, words) of the scan itself; ``repairs`` is (where, proposed text) for a text
    that an earlier program seems to have stored wrongly. ``newer`` is the block of the scan that was changed last.
    """

    name: Name
    standing: Standing
    catalogue: str = ""
    sidecar: str = ""
    embedded: tuple[tuple[str, str], ...] = ()
    repairs: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    newer: str | None = None

    @property
    def xmp_id(self) -> str:
        """The property as it is usually spelled."""
        return spell(self.name)

    @property
    def is_finding(self) -> bool:
        """Whether there is something for a person to look at."""
        only = self.standing in (Standing.ONLY_SIDECAR, Standing.ONLY_SCAN) and self.name in READABLE
        return self.standing in _LOOK_AT or only or bool(self.repairs)


def title_of(named: Name) -> str:
    """Return a property as a person names it: the standard's title, else its own name."""
    return _TITLES.get(named) or (named.local if named.uri == TIEBEAM else spell(named))


def compare_fields(
    merged: ThreeWay, theirs: Packet | None, embedded: Embedded | None, *, is_dated: bool = False
) -> tuple[Compared, ...]:
    """
    Return every field that any side says something of, in the order catalogue, sidecar, scan.

    ``theirs`` is the sidecar as it is, ``None`` when there is none. ``is_dated`` says that the catalogue has the
    date of exposure, perhaps in doubt and then in no standard field, so that a date found elsewhere is none it lacks.
    """
    in_scan = _embedded_fields(merged, theirs, embedded)
    ours = {one.name: one for one in merged.fields}
    others = [named for named, _ in theirs or () if named not in ours and named in READABLE]
    found = []
    for named in dict.fromkeys((*ours, *others, *in_scan)):
        there = None if theirs is None else theirs.get(named)
        one = _compared(named, ours.get(named), there, in_scan.get(named), has_sidecar=theirs is not None)
        if one is not None:
            found.append(_as_dated(one) if is_dated and named == name("photoshop:DateCreated") else one)
    return tuple(found)


def _as_dated(one: Compared) -> Compared:
    if one.catalogue or one.standing not in (Standing.ONLY_SCAN, Standing.ONLY_SIDECAR):
        return one
    return Compared(one.name, Standing.SETTLED, "in doubt, and told in words", one.sidecar, one.embedded,
                    one.repairs, one.notes, one.newer)  # fmt: skip


def _compared(
    named: Name, field: FieldMerge | None, theirs: Value | None, in_scan: _InScan | None, *, has_sidecar: bool
) -> Compared | None:
    ours = None if field is None else field.ours
    standing = _standing(field, theirs, has_sidecar=has_sidecar)
    if in_scan is not None:
        agrees = in_scan.standing
        if ours is None and theirs is None:
            standing = Standing.ONLY_SCAN
        else:
            standing = max(standing, agrees, key=list(Standing).index)
    if standing is None:
        return None
    sides = (("catalogue", ours), ("sidecar", theirs))
    wrong = [(side, repaired) for side, value in sides for text in texts(value) if (repaired := propose_repair(text))]
    return Compared(
        named, standing, value_words(ours), value_words(theirs),
        () if in_scan is None else tuple((one.where, one.words) for one in in_scan.said),
        (*dict.fromkeys(wrong), *(() if in_scan is None else in_scan.repairs)),
        () if in_scan is None else in_scan.notes,
        None if in_scan is None else in_scan.newer,
    )  # fmt: skip


def _standing(field: FieldMerge | None, theirs: Value | None, *, has_sidecar: bool) -> Standing:
    if field is None:
        return Standing.ONLY_SIDECAR if theirs is not None else Standing.EQUAL
    if not has_sidecar:
        return Standing.ONLY_CATALOGUE
    if field.change is Change.CONFLICT:
        return Standing.CONFLICT
    if field.change is Change.THEIRS:
        if field.is_settled:
            return Standing.SETTLED
        return Standing.THEIRS if field.base is not None else Standing.ONLY_SIDECAR
    return Standing.NOT_WRITTEN if field.change is Change.OURS else Standing.EQUAL


# ---- what is embedded in the scan


@dataclass(frozen=True, slots=True)
class _InScan:
    """What the blocks of a scan say of a property, and how that stands to the sidecar, or to what we say."""

    said: tuple[Said, ...]
    standing: Standing
    repairs: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    newer: str | None


def _embedded_fields(merged: ThreeWay, theirs: Packet | None, embedded: Embedded | None) -> dict[Name, _InScan]:
    if embedded is None:
        return {}
    wanted = {one.name: value for one in merged.fields if (value := one.ours or one.theirs) is not None}
    wanted = {**dict(theirs or ()), **wanted}
    wanted |= _same_resolution(wanted, embedded)
    packet = Packet(tuple(wanted.items()))
    against = {name(one.xmp_id): one for one in reconcile(packet, embedded_iim(embedded), embedded.exif)}
    return {
        name(one.xmp_id): _in_scan(one, against.get(name(one.xmp_id)), wanted.get(name(one.xmp_id)))
        for one in reconcile_embedded(embedded)
    }


_RESOLUTION: Final = tuple(map(name, ("tiff:XResolution", "tiff:YResolution", "tiff:ResolutionUnit")))
# TIFF 6.0 tag 296: 2 is the inch, 3 the centimetre.
_INCHES: Final = {"2": Fraction(1), "3": Fraction(254, 100)}


def _same_resolution(wanted: Mapping[Name, Value], embedded: Embedded) -> dict[Name, Value]:
    """Return the scan's own spelling of its resolution (to the inch, to the cm) if it is the one that is wanted."""
    own = embedded.exif.properties()
    ours, scans = (_ppi(said, _RESOLUTION[0]) for said in (wanted, own))
    # The catalogue keeps two decimals.
    if ours is None or scans is None or abs(ours - scans) > Fraction(1, 100):
        return {}
    if _ppi(own, _RESOLUTION[1]) != scans:
        return {}
    return {named: own[named] for named in _RESOLUTION}


def _ppi(said: Mapping[Name, Value], axis: Name) -> Fraction | None:
    pixels, unit = value_words(said.get(axis)), value_words(said.get(_RESOLUTION[2]))
    if unit not in _INCHES or _RATIONAL.fullmatch(pixels) is None:
        return None
    return Fraction(pixels) * _INCHES[unit]


_RATIONAL: Final = re.compile(r"[0-9]{1,10}/[1-9][0-9]{0,9}")


def _in_scan(own: Finding, against: Finding | None, wanted: Value | None) -> _InScan:
    standing, notes = Standing.EQUAL, list(own.notes)
    if wanted is not None:
        if against is not None and len(against.said) > 1:
            standing = _STANDS[against.verdict]
            notes += [note for note in against.notes if note not in notes]
        in_xmp = next((one for one in own.said if one.side == "XMP"), None)
        if in_xmp is not None and not _alike(in_xmp.words, wanted):
            standing = Standing.SCAN_DIFFERS
        if standing is not Standing.EQUAL and _is_same_day(own.said, wanted):
            standing, notes = Standing.CUT, ["the catalogue keeps the day without its time"]
        if standing is Standing.SCAN_DIFFERS and own.xmp_id == "dc:description" and _is_among(own.said, wanted):
            standing, notes = Standing.EQUAL, ["the scan's words are among these"]
    elif own.verdict is Agrees.CONFLICT:
        notes.append("its blocks disagree")
    repairs = tuple((one.where, one.repair) for one in own.said if one.repair)
    return _InScan(own.said, standing, repairs, tuple(notes), own.newer)


def _is_among(said: Iterable[Said], wanted: Value) -> bool:
    """Return True if every block's words stand among the lines that are wanted: they were read in, and more is told."""
    lines = {line.strip() for text in texts(wanted) for line in text.splitlines()}
    return all(line.strip() in lines for one in said for line in one.words.splitlines() if line.strip())


_STANDS: Final = {
    Agrees.EQUAL: Standing.EQUAL, Agrees.CUT: Standing.CUT, Agrees.ONE_SIDE: Standing.EQUAL,
    Agrees.CONFLICT: Standing.SCAN_DIFFERS,
}  # fmt: skip


def _is_same_day(said: Iterable[Said], wanted: Value) -> bool:
    """Return True if every block says the day that ``wanted`` is, some with a time of day that is not kept here."""
    day = value_words(wanted)
    return _DAY.fullmatch(day) is not None and all(one.words.partition("T")[0] == day for one in said)


_DAY: Final = re.compile(r"\d{4}-\d\d-\d\d")


def _alike(words: str, wanted: Value) -> bool:
    """Return True if an embedded packet says the same as ``wanted``: its default, or all of its items."""
    said = texts(wanted)
    items = {part.strip() for part in words.split(";")}
    return words in said or words == value_words(wanted) or items == {text.strip() for text in said}


def value_words(value: Value | None) -> str:
    """
    Return a value for a person: of a language alternative its default, of a structure its texts.

    >>> from catalog.standards.xmp import bag, lang_alt
    >>> value_words(lang_alt("Osk Mill", "en")), value_words(bag(["mill", "Hill, East"]))
    ('Osk Mill', 'mill; Hill, East')
    """
    if isinstance(value, Text | Uri):
        return value.value
    if isinstance(value, Struct):
        return ", ".join(words for _, part in value.fields if (words := value_words(part)))
    if isinstance(value, Array):
        return "; ".join(words for item in _spoken(value) if (words := value_words(item)))
    return ""


def _spoken(array: Array) -> Iterable[Value]:
    """Return the items of an array; of a language alternative each text once, the default first."""
    if array.kind != "Alt":
        return array.items
    first = _default_first(array)
    seen: dict[str, Value] = {}
    for item in first:
        seen.setdefault(value_words(item), item)
    return seen.values()


def _default_first(array: Array) -> Iterator[Value]:
    yield from (item for item in array.items if (item.language or "").lower() == "x-default")
    yield from (item for item in array.items if (item.language or "").lower() != "x-default")
