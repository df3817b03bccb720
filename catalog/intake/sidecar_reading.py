"""What sidecars and embedded blocks hold that the catalogue lacks: proposals to look over. Writes nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

from catalog.dates import parse_edtf
from catalog.errors import CatalogError
from catalog.rules.doubt import DoubtfulWords, parse_doubt
from catalog.rules.folding import fold
from catalog.standards.exif import exif_date_to_edtf
from catalog.standards.iim_mapping import default_text
from catalog.standards.text_repair import propose_repair
from catalog.standards.xmp import Array, Name, Struct, Value, name, spell, texts
from catalog.standards.xmp_tiebeam import tiebeam
from catalog.store.sidecar_facts import SheetHeld

__all__ = ["FIELDS", "FoundIn", "Proposal", "propose"]

FIELDS: Final = (
    "title", "description", "keywords", "exposed", "places", "buildings", "lens", "aperture", "shutter", "film",
    "filter", "development",
)  # fmt: skip
"""The fields that can be read in, in the order in which they are shown."""

FindByName = Callable[[str, str], "list[int]"]
"""Returns the records of a table that a name means."""


@dataclass(frozen=True, slots=True)
class FoundIn:
    """One place where facts stand: the sidecar, or a block of the scan; ``is_camera`` if it may be a camera's own."""

    where: str
    properties: Mapping[Name, Value]
    is_camera: bool = False


@dataclass(frozen=True, slots=True)
class Proposal:
    """
    A fact that the catalogue lacks, where it was found, and what it would become.

    ``words`` are those found; ``value`` is what would be kept: an EDTF text, a number, an id, or text. ``reason``
    says why it is not taken unless its field is named, or, with ``can_be_taken`` false, why it cannot be taken.
    """

    field: str
    words: str
    value: Any
    where: str
    doubt: DoubtfulWords | None = None
    reason: str = ""
    can_be_taken: bool = True
    also: tuple[str, ...] = ()
    """Other places that say the same."""
    repair: str | None = None
    """What the text may have been before an earlier program stored it wrongly."""


def propose(
    held: SheetHeld, sources: Sequence[FoundIn], said: Sequence[Mapping[Name, Value]], find: FindByName
) -> tuple[Proposal, ...]:
    """
    Return what the sources hold that the catalogue lacks; the first source that says a thing speaks for it.

    ``said`` is what we say and what we last said, which is nobody else's word. Two sources that say different
    things are both proposed, and neither is taken unasked.
    """
    own = _Own(said)
    found = [
        proposal
        for source in sources
        for read in _READERS
        for proposal in read(held, source, own, find)
        if proposal.words.strip()
    ]
    joined = _joined(found)
    return tuple(sorted(joined, key=lambda one: FIELDS.index(one.field)))


_SEVERAL: Final = frozenset(("keywords", "places", "buildings"))


def _joined(found: Iterable[Proposal]) -> list[Proposal]:
    """Return each thing proposed once; of a field that holds one thing, those that disagree say so."""
    once: dict[tuple[str, object], Proposal] = {}
    for one in found:
        one = _with_repair(one)
        key = (one.field, one.value if one.value is not None else fold(one.words))
        known = once.get(key)
        once[key] = one if known is None else replace(known, also=(*known.also, one.where))
    result = list(once.values())
    for field in {one.field for one in result} - _SEVERAL:
        of_field = [one for one in result if one.field == field]
        if len(of_field) > 1:
            others = {id(one): [each.words for each in of_field if each is not one] for one in of_field}
            result = [
                replace(one, reason=f"elsewhere it is {' or '.join(map(repr, others[id(one)]))}", can_be_taken=False)
                if id(one) in others
                else one
                for one in result
            ]
    return result


def _with_repair(one: Proposal) -> Proposal:
    repair = propose_repair(one.words) if isinstance(one.value, str) and one.field != "exposed" else None
    if repair is None:
        return one
    return replace(one, repair=repair, reason=one.reason or f"it seems stored wrongly; it may be {repair[:60]!r}")


class _Own:
    """What we say or said last, to be told from the words of others."""

    def __init__(self, said: Sequence[Mapping[Name, Value]]) -> None:
        self._said = said

    def has(self, named: Name, text: str) -> bool:
        return any(text.strip() in [own.strip() for own in texts(one.get(named))] for one in self._said)

    def has_item(self, named: Name, item: Value) -> bool:
        return any(isinstance(own := one.get(named), Array) and item in own.items for one in self._said)

    def places(self) -> set[str]:
        """Return the references of places that we say are shown, named themselves or by a building in them."""
        told = (item for one in self._said for item in _items(one.get(tiebeam("Places"))))
        return {text for item in told if isinstance(item, Struct) for text in texts(item.get(tiebeam("Reference")))}

    def lines(self, named: Name) -> set[str]:
        return {line.strip() for one in self._said for text in texts(one.get(named)) for line in text.splitlines()}


def _where(source: FoundIn, named: Name) -> str:
    return f"{source.where}, {spell(named)}"


_Proposals = Iterator[Proposal]


def _title(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    named = name("dc:title")
    text = (default_text(source.properties.get(named)) or "").strip()
    if not text or held.titles or own.has(named, text) or held.fate == "blank":
        return
    several = len(held.view_ids) > 1
    reason = "the sheet holds several views; give it to one with: tiebeam views correct" if several else ""
    yield Proposal("title", text, text, _where(source, named), reason=reason, can_be_taken=not several)


def _description(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    named = name("dc:description")
    text = default_text(source.properties.get(named)) or ""
    ours = own.lines(named) | {line.strip() for _, note in held.notes for line in note.splitlines()}
    new = [line for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n") if line.strip() not in ours]
    words = "\n".join(new).strip()
    if words:
        yield Proposal("description", words, words, _where(source, named))


def _keywords(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    named = name("dc:subject")
    noted = {fold(word.strip()) for heading, text in held.notes if fold(heading) == "keywords"
             for word in text.split(";")}  # fmt: skip
    for word in texts(source.properties.get(named)):
        if not word.strip() or fold(word.strip()) in noted or own.has(named, word):
            continue
        # The card index parts keywords by semicolons; a comma is part of one (case C03).
        is_parted = ";" in word
        reason = "it holds a semicolon, which would part it; it stays where it is" if is_parted else ""
        yield Proposal("keywords", word, word.strip(), _where(source, named), reason=reason, can_be_taken=not is_parted)


def _exposed(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    if held.exposed_edtf is not None:
        return
    named, words, written = _date_in(source)
    if named is None or own.has(named, words):
        return
    try:
        date = parse_edtf(words)
    except CatalogError as exc:
        reason = str(exc)
        yield Proposal("exposed", words, None, _where(source, named), reason=reason, can_be_taken=False)
        return
    reason = ""
    if held.scanned_edtf is not None and not date.surely_before(parse_edtf(held.scanned_edtf)):
        # D01: scanners and copying cameras put their own day where the picture's belongs.
        reason = f"not before the scan was made ({held.scanned_edtf}): it may be the scan's own date"
    elif source.is_camera:
        reason = "beside a camera's name: it may be the day the film was copied"
    doubt = None if not written else parse_doubt(written)
    yield Proposal("exposed", written or words, date.text, _where(source, named), doubt, reason)


def _date_in(source: FoundIn) -> tuple[Name | None, str, str]:
    """Return the property that dates the picture, its EDTF, and how it was written if the sidecar tells."""
    ours = source.properties.get(tiebeam("Exposed"))
    if isinstance(ours, Struct):
        edtf = next(iter(texts(ours.get(tiebeam("Edtf")))), "")
        if edtf:
            return tiebeam("Exposed"), edtf, next(iter(texts(ours.get(tiebeam("AsWritten")))), "")
    for named in map(name, ("photoshop:DateCreated", "exif:DateTimeOriginal")):
        text = (default_text(source.properties.get(named)) or "").strip()
        day = _day_of(text)
        if day is not None:
            return named, day, ""
    return None, "", ""


def _day_of(text: str) -> str | None:
    """
    Return the day of an XMP or Exif date as EDTF, zeros and blanks as unknown; ``None`` if it names none.

    >>> _day_of("1978-08-00"), _day_of("0000-00-00"), _day_of("1978-08-03T10:00:00+01:00")
    ('1978-08', None, '1978-08-03')
    """
    day = text.partition("T")[0].strip()
    return exif_date_to_edtf(day.replace("-", ":") if len(day) > 4 else f"{day}:  :  ") if day else None


def _lens(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    if held.lens_id is not None or "lens" in held.doubted:
        return
    for named in (name("exifEX:LensModel"), name("aux:Lens"), tiebeam("Lens")):
        words = (default_text(source.properties.get(named)) or "").strip()
        if words and not own.has(named, words):
            yield _known("lens", "lens", words, _where(source, named), find, source)
            return


def _film(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    words = (default_text(source.properties.get(tiebeam("Film"))) or "").strip()
    if held.film_id is None and "film" not in held.doubted and words and not own.has(tiebeam("Film"), words):
        yield _known("film", "film_stock", words, _where(source, tiebeam("Film")), find, source)


def _known(field: str, table: str, words: str, where: str, find: FindByName, source: FoundIn | None = None) -> Proposal:
    """Return a proposal for a record known by name; of an unknown or ambiguous one it says so."""
    doubt = parse_doubt(words)
    meant = find(doubt.readings[0], table) if len(doubt.readings) == 1 else []
    kind = table.removesuffix("_stock").replace("_", " ")
    if len(meant) == 1:
        reason = _CAMERAS if source is not None and source.is_camera else ""
        return Proposal(field, words, meant[0], where, doubt if doubt.is_doubtful else None, reason)
    why = f"several {kind}s have that name" if meant else f"no {kind} of that name is known"
    return Proposal(field, words, None, where, doubt, why, can_be_taken=False)


_CAMERAS: Final = "beside a camera's name: it may be of the camera that copied the film"


def _numbers(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    rows = (
        ("aperture", name("exif:FNumber"), held.aperture_f, ("aperture", "aperture_f")),
        ("shutter", name("exif:ExposureTime"), held.shutter_s, ("shutter", "shutter_s")),
    )
    for field, named, known, worded in rows:
        text = (default_text(source.properties.get(named)) or "").strip()
        if known is not None or not text or own.has(named, text) or held.doubted & set(worded):
            continue
        number = _number(text)
        if number is None:
            yield Proposal(field, text, None, _where(source, named), reason="no number", can_be_taken=False)
        else:
            yield Proposal(field, text, number, _where(source, named), reason=_CAMERAS if source.is_camera else "")


def _number(text: str) -> float | None:
    try:
        number = float(Fraction(text)) if len(text) <= 40 else 0.0
    except (ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if 0 < number < 1e9 else None


def _texts(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    rows = (("filter", "Filter", held.filter), ("development", "Development", held.development))
    for field, local, known in rows:
        named = tiebeam(local)
        words = (default_text(source.properties.get(named)) or "").strip()
        if known or not words or field in held.doubted or own.has(named, words):
            continue
        doubt = parse_doubt(words)
        if len(doubt.readings) == 1:
            told = doubt if doubt.is_doubtful else None
            yield Proposal(field, words, doubt.readings[0], _where(source, named), told)
        else:
            yield Proposal(field, words, None, _where(source, named), doubt, "it names several", can_be_taken=False)


def _places(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    named = name("Iptc4xmpExt:LocationShown")
    locations = _items(source.properties.get(named))
    artworks = _items(source.properties.get(name("Iptc4xmpExt:ArtworkOrObject")))
    titles = {fold(_of_struct(item, "AOTitle")) for item in artworks}
    for item in locations:
        words = _of_struct(item, "LocationName", "Sublocation", "City")
        # A building may stand among the locations too, for its position; it is proposed as what it is.
        if not own.has_item(named, item) and fold(words) not in titles:
            yield from _place(words, _where(source, named), held, own, find)
    # The fields of old readers repeat one of the locations; a hamlet's parish is no second place that is shown.
    told = {fold(_of_struct(item, member)) for item in locations for member in ("Sublocation", "City")}
    for legacy in map(name, ("Iptc4xmpCore:Location", "photoshop:City")):
        words = default_text(source.properties.get(legacy)) or ""
        if words and not own.has(legacy, words) and fold(words) not in told:
            yield from _place(words, _where(source, legacy), held, own, find)


def _place(words: str, where: str, held: SheetHeld, own: _Own, find: FindByName) -> _Proposals:
    """Yield a place that is not told already, whatever name it is called by."""
    known = own.places()
    for proposal in _subject("places", "place", words, where, held, find):
        if f"L{proposal.value}" not in known:
            yield proposal


def _buildings(held: SheetHeld, source: FoundIn, own: _Own, find: FindByName) -> _Proposals:
    named = name("Iptc4xmpExt:ArtworkOrObject")
    for item in _items(source.properties.get(named)):
        if not own.has_item(named, item):
            yield from _subject("buildings", "building", _of_struct(item, "AOTitle"), _where(source, named), held, find)


def _subject(field: str, table: str, words: str, where: str, held: SheetHeld, find: FindByName) -> _Proposals:
    words = words.strip()
    if not words:
        return
    proposal = _known(field, table, words, where, find)
    if proposal.value in (held.places if table == "place" else held.buildings):
        return
    if proposal.can_be_taken and held.fate == "blank":
        proposal = replace(proposal, reason="the sheet is blank and shows nothing", can_be_taken=False)
    elif proposal.can_be_taken and len(held.view_ids) > 1:
        why = "the sheet holds several views; give it to one with: tiebeam views shows"
        proposal = replace(proposal, reason=why, can_be_taken=False)
    yield proposal


def _items(value: Value | None) -> tuple[Value, ...]:
    return value.items if isinstance(value, Array) else () if value is None else (value,)


def _of_struct(item: Value, *members: str) -> str:
    if not isinstance(item, Struct):
        return ""
    said = (default_text(item.get(name(f"Iptc4xmpExt:{member}"))) or "" for member in members)
    return next(filter(None, said), "")


_READERS: Final = (
    _title, _description, _keywords, _exposed, _places, _buildings, _lens, _numbers, _film, _texts,
)  # fmt: skip
