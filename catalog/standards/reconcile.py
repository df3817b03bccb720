"""
How XMP, IIM and Exif of one picture agree, property by property. Nothing is resolved: it is all said.

Source: XMP part 3 (January 2020) §2.1 and table 38; IPTC Photo Metadata Standard 2025.1 for the mapped
properties. See docs/standards/embedded.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from catalog.standards._agreement import (
    CONFLICT,
    EQUAL,
    Agreement,
    Verdict,
    dates_agree,
    numbers_agree,
    same_text,
    text_in_iim,
    texts_in_iim,
)
from catalog.standards.exif_values import FIELDS, ExifFact, ExifValues
from catalog.standards.iim import Iim
from catalog.standards.iim_datasets import DATASETS, Dataset
from catalog.standards.iim_mapping import default_text, iim_properties
from catalog.standards.packets import Embedded, embedded_iim, embedded_packet, is_iim_changed
from catalog.standards.text_repair import propose_repair
from catalog.standards.xmp_names import name
from catalog.standards.xmp_values import Packet, Value, texts

__all__ = ["Finding", "Said", "Verdict", "reconcile", "reconcile_embedded"]

Side = Literal["XMP", "IIM", "Exif"]
Kind = Literal["text", "bag", "seq", "date", "number", "numbers"]


@dataclass(frozen=True, slots=True)
class Said:
    """
    What one side says of a property.

    ``where`` names the block and the field; ``value`` is the same in XMP's form; ``repair`` is what the text may
    have been before an earlier program stored it wrongly, if it looks so.
    """

    side: Side
    where: str
    words: str
    value: Value | None
    repair: str | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """
    How the sides of one property agree.

    ``newer`` is the side that the digest of the IIM shows to have been changed last, None where it does not say.
    """

    xmp_id: str
    title: str
    verdict: Verdict
    said: tuple[Said, ...]
    newer: Side | None = None
    notes: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """Return one or two sentences for a person."""
        *first, last = (one.side for one in self.said)
        sides = f"{', '.join(first)} and {last}"
        quoted = "; ".join(f"{one.side} {one.words[:60]!r} ({one.where})" for one in self.said)
        notes = "".join(f"; {note}" for note in self.notes)
        if self.verdict is Verdict.ONE_SIDE:
            return f"{self.title}: only in {quoted}{notes}"
        if self.verdict is Verdict.CONFLICT:
            newer = f". By the digest of the IIM, {self.newer} was changed last" if self.newer else ""
            return f"{self.title}: in conflict: {quoted}{notes}{newer}"
        return f"{self.title}: {sides} are {self.verdict.value}{notes}"


@dataclass(frozen=True, slots=True)
class _Row:
    xmp_id: str
    title: str
    kind: Kind
    dataset: str | None
    exif_tag: int | None


# XMP part 3, table 38 for IIM and those for Exif and TIFF: the properties that more than one block can hold.
_DESCRIPTIVE: Final = (
    _Row("dc:title", "Title", "text", "2:05", None),
    _Row("photoshop:Headline", "Headline", "text", "2:105", None),
    _Row("dc:description", "Description", "text", "2:120", 270),
    _Row("dc:subject", "Keywords", "bag", "2:25", None),
    _Row("photoshop:DateCreated", "Date Created", "date", "2:55", 36867),
    _Row("xmp:CreateDate", "Date Digitised", "date", "2:62", 36868),
    _Row("xmp:ModifyDate", "Date Modified", "date", None, 306),
    _Row("xmp:CreatorTool", "Creator Tool", "text", None, 305),
    _Row("dc:creator", "Creator", "seq", "2:80", 315),
    _Row("photoshop:AuthorsPosition", "Creator's jobtitle", "text", "2:85", None),
    _Row("dc:rights", "Copyright Notice", "text", "2:116", 33432),
    _Row("photoshop:Credit", "Credit Line", "text", "2:110", None),
    _Row("photoshop:Source", "Source", "text", "2:115", None),
    _Row("photoshop:City", "City", "text", "2:90", None),
    _Row("Iptc4xmpCore:Location", "Sublocation", "text", "2:92", None),
    _Row("photoshop:State", "Province or State", "text", "2:95", None),
    _Row("photoshop:Country", "Country", "text", "2:101", None),
    _Row("Iptc4xmpCore:CountryCode", "Country Code", "text", "2:100", None),
    _Row("photoshop:Instructions", "Instructions", "text", "2:40", None),
    _Row("photoshop:TransmissionReference", "Job Id", "text", "2:103", None),
    _Row("photoshop:CaptionWriter", "Description Writer", "text", "2:122", None),
    _Row("photoshop:Category", "Category", "text", "2:15", None),
    _Row("photoshop:SupplementalCategories", "Supplemental Categories", "bag", "2:20", None),
    _Row("photoshop:Urgency", "Urgency", "text", "2:10", None),
    _Row("Iptc4xmpCore:IntellectualGenre", "Intellectual Genre", "text", "2:04", None),
    _Row("Iptc4xmpCore:SubjectCode", "Subject Code", "bag", "2:12", None),
    _Row("exif:UserComment", "User Comment", "text", None, 37510),
)
_USED: Final = frozenset(row.exif_tag for row in _DESCRIPTIVE)
_KINDS: Final[dict[str, Kind]] = {"integer": "number", "rational": "number", "code": "number", "rationals": "numbers"}
# What describes the device and the file stands in Exif; a copy in XMP is compared, its absence means nothing.
_TECHNICAL: Final = (
    *(
        _Row(field.xmp_id, field.title, "date" if field.form == "date" else _KINDS.get(field.form, "text"), None, tag)
        for tag, field in FIELDS.items()
        if field.xmp_id and tag not in _USED
    ),
    _Row("exif:DateTimeOriginal", "DateTimeOriginal", "date", None, 36867),
    _Row("exif:GPSLatitude", "GPSLatitude", "number", None, None),
    _Row("exif:GPSLongitude", "GPSLongitude", "number", None, None),
    _Row("exif:GPSAltitude", "GPSAltitude", "number", None, None),
    _Row("exif:GPSAltitudeRef", "GPSAltitudeRef", "number", None, None),
)


def reconcile(
    xmp: Packet | None,
    iim: Iim | None,
    exif: ExifValues | None,
    *,
    is_iim_changed: bool | None = None,
    places: Mapping[Side, str] | None = None,
) -> tuple[Finding, ...]:
    """
    Return a finding for each property that more than one of XMP, IIM and Exif can hold and one at least does.

    The IIM value is predicted from the XMP value, in the characters and within the octets of its dataset: a
    text cut there is equal. Without XMP, Exif and IIM are held against each other. ``is_iim_changed`` is what the
    digest says (``packets.is_iim_changed``); ``places`` names the blocks.
    """
    sides = _Sides(xmp, iim, exif, is_iim_changed, places or {})
    found = [_finding(row, sides) for row in _DESCRIPTIVE]
    both = [_finding(row, sides) for row in _TECHNICAL]
    return tuple(one for one in found if one) + tuple(one for one in both if one and len(one.said) > 1)


def reconcile_embedded(embedded: Embedded) -> tuple[Finding, ...]:
    """Return the findings on the blocks of one file."""
    packet, _ = embedded_packet(embedded)
    places: dict[Side, str] = {"Exif": embedded.exif.where}
    if embedded.xmp:
        places["XMP"] = embedded.xmp[0].where
    if embedded.iim:
        places["IIM"] = embedded.iim[0].where
    changed = is_iim_changed(embedded)
    return reconcile(packet, embedded_iim(embedded), embedded.exif, is_iim_changed=changed, places=places)


class _Sides:
    """The blocks of one picture, and what each says of a property."""

    def __init__(
        self,
        xmp: Packet | None,
        iim: Iim | None,
        exif: ExifValues | None,
        is_iim_changed: bool | None,
        places: Mapping[Side, str],
    ) -> None:
        self.xmp = xmp or Packet()
        self.iim = iim or Iim()
        self.exif = exif or ExifValues()
        self.is_iim_changed = is_iim_changed
        self._places = places
        self._iim_values = iim_properties(self.iim)
        self._iim_repairs = {repair.reads: repair.proposed for repair in self.iim.repairs}

    def said(self, row: _Row) -> tuple[Said, ...]:
        """Return what each side says, XMP first; a side that says nothing is not among them."""
        in_xmp = self.xmp.get(name(row.xmp_id))
        fact = self.fact(row)
        told = (
            self._said("XMP", row.xmp_id, in_xmp),
            self._said("IIM", row.dataset or "", self._iim_value(row)),
            self._said("Exif", fact.title, fact.value) if fact else None,
        )
        return tuple(one for one in told if one is not None)

    def fact(self, row: _Row) -> ExifFact | None:
        if row.exif_tag is None:
            return self.exif.get_named(row.title) if row.title.startswith("GPS") else None
        return self.exif.get(row.exif_tag)

    def _iim_value(self, row: _Row) -> Value | None:
        return self._iim_values.get(name(row.xmp_id)) if row.dataset else None

    def _said(self, side: Side, field: str, value: Value | None) -> Said | None:
        words = _words(value)
        if value is None or not words.strip():
            return None
        place = self._places.get(side)
        return Said(side, f"{place}, {field}" if place else field, words, value, self._repair(side, value))

    def _repair(self, side: Side, value: Value) -> str | None:
        """Return what the texts of a value may have been; None if none looks wrongly stored."""
        shown = _shown(value)
        mended = [(self._iim_repairs.get(text) if side == "IIM" else propose_repair(text)) or text for text in shown]
        return "; ".join(mended) if mended != shown else None


def _words(value: Value | None) -> str:
    return "; ".join(_shown(value))


def _shown(value: Value | None) -> list[str]:
    """Return the texts of a value for a person: of a language alternative its default, of an array all."""
    if value is not None and getattr(value, "kind", "") == "Alt":
        return [default_text(value) or ""]
    return list(texts(value))


def _finding(row: _Row, sides: _Sides) -> Finding | None:
    said = sides.said(row)
    if not said:
        return None
    repairs = tuple(
        f"{one.side} seems stored wrongly by an earlier program; it may be {one.repair[:60]!r}"
        for one in said
        if one.repair
    )
    if len(said) == 1:
        return Finding(row.xmp_id, row.title, Verdict.ONE_SIDE, said, None, repairs)
    pairs = list(_agreements(row, sides, said))
    verdict = max((one.verdict for _, one in pairs), key=list(Verdict).index)
    notes = tuple(dict.fromkeys(note for _, one in pairs for note in one.notes))
    if verdict is Verdict.CONFLICT and _agree_once_repaired(said):
        notes = (*notes, "equal once that is repaired")
    in_conflict = {side for side, one in pairs if one.verdict is Verdict.CONFLICT}
    return Finding(row.xmp_id, row.title, verdict, said, _newer(sides, said, in_conflict), (*repairs, *notes))


def _agreements(row: _Row, sides: _Sides, said: tuple[Said, ...]) -> Iterator[tuple[Side, Agreement]]:
    """Yield how each side stands to XMP, without XMP how IIM stands to Exif."""
    by_side = {one.side: one for one in said}
    wanted = by_side.get("XMP") or by_side["Exif"]
    for one in said:
        if one is wanted or one.value is None or wanted.value is None:
            continue
        if one.side == "IIM":
            yield one.side, _iim_agrees(row, sides.iim, wanted.value, one.value)
        else:
            yield one.side, _values_agree(row, wanted.value, one.value, one.side)


def _newer(sides: _Sides, said: tuple[Said, ...], in_conflict: set[Side]) -> Side | None:
    # XMP part 3 §2.1: an IIM that has the digest kept beside it is as the last writer of XMP left it.
    if "IIM" not in in_conflict or said[0].side != "XMP" or sides.is_iim_changed is None:
        return None
    return "IIM" if sides.is_iim_changed else "XMP"


def _agree_once_repaired(said: tuple[Said, ...]) -> bool:
    if not any(one.repair for one in said):
        return False
    first, *others = (one.repair or one.words for one in said)
    return all(same_text(first, other) for other in others)


def _iim_agrees(row: _Row, iim: Iim, wanted: Value, have: Value) -> Agreement:
    dataset = DATASETS[row.dataset or ""]
    if row.kind == "date":
        return dates_agree(default_text(wanted) or "", default_text(have) or "", "IIM")
    values = [value for value in iim.all(dataset.id) if value.text and value.text.strip()]
    is_guess = not iim.charset.is_declared
    if row.kind == "text":
        # Of a repeated dataset the last counts (XMP part 3 table 38); of one that may not be repeated, the first.
        value = values[-1] if dataset.is_repeatable else values[0]
        found = text_in_iim(default_text(wanted) or "", value, dataset, is_guess=is_guess)
        return _with_country_note(dataset, wanted, value.text or "", found)
    names = [text for text in texts(wanted) if text.strip()]
    found = texts_in_iim(names, values, dataset, is_guess=is_guess)
    if row.kind == "bag":
        return found
    if found.verdict is Verdict.CONFLICT and len(values) == 1 and len(names) > 1:
        # Programs that know one creator only put all of them into one dataset.
        joined = text_in_iim("; ".join(names), values[0], dataset, is_guess=is_guess)
        return joined if joined.verdict is not Verdict.CONFLICT else found
    if found.verdict is Verdict.CONFLICT:
        return found
    in_order = all(
        text_in_iim(text, value, dataset, is_guess=is_guess).verdict is not Verdict.CONFLICT
        for text, value in zip(names, values, strict=False)
    )
    return found if in_order else Agreement(Verdict.CONFLICT, ("the same names in another order",))


def _with_country_note(dataset: Dataset, wanted: Value, have: str, found: Agreement) -> Agreement:
    lengths = {len((default_text(wanted) or "").strip()), len(have.strip())}
    if dataset.id == "2:100" and found.verdict is Verdict.CONFLICT and lengths == {2, 3}:
        # ISO 3166-1 has a code of two letters and one of three for each country.
        return Agreement(Verdict.CONFLICT, ("a code of two letters and one of three; they may mean one country",))
    return found


def _values_agree(row: _Row, wanted: Value, have: Value, side: Side) -> Agreement:
    if row.kind == "date":
        return dates_agree(default_text(wanted) or "", default_text(have) or "", side)
    if row.kind == "number":
        return EQUAL if numbers_agree(default_text(wanted) or "", default_text(have) or "") else CONFLICT
    if row.kind == "text":
        return EQUAL if same_text(default_text(wanted) or "", default_text(have) or "") else CONFLICT
    one, other = texts(wanted), texts(have)
    if row.kind == "numbers":
        same = len(one) == len(other) and all(map(numbers_agree, one, other))
    else:
        same = len(one) == len(other) and all(map(same_text, one, other))
        same = same or same_text("; ".join(one), "; ".join(other))
    return EQUAL if same else CONFLICT
