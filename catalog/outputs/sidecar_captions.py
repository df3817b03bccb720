"""The plain facts of one scan of one sheet, as far as a sidecar may tell them; the words for their doubt."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final, Literal

from catalog.rules.doubt import HEDGES, POSSIBLE

__all__ = [
    "BuildingShown",
    "CaptionDate",
    "Doubt",
    "FrameCaption",
    "FrameNumber",
    "LensUsed",
    "MadeFrom",
    "Maker",
    "PlaceKind",
    "PlaceNamed",
    "PrintEdition",
    "Rights",
    "is_certain",
    "lens_words",
    "public_words",
    "spread_doubts",
    "words_of",
]

PlaceKind = Literal["hamlet", "village", "town", "parish", "county", "country", "place"]


def is_certain(certainty: str) -> bool:
    """
    Return True when a certainty, our own (``probable``) or in words (``probably``), leaves no doubt.

    >>> is_certain(""), is_certain("certain"), is_certain("probably")
    (True, True, False)
    """
    return certainty.strip().lower() in ("", "certain", "certainly")


@dataclass(frozen=True, slots=True, kw_only=True)
class CaptionDate:
    """
    A date as a caption tells it.

    ``plain`` is the date cut to what every possible day shares (``1978``, ``1978-08``, ``1978-08-03``), given
    only when nothing about it is marked ``~ ? %``; otherwise ``None``. ``earliest`` and ``latest`` are days.
    """

    edtf: str
    words: str
    as_written: str = ""
    plain: str | None = None
    earliest: str = ""
    latest: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameNumber:
    """A number written for a sheet, or given to a building by a register, which ``scheme`` names."""

    number: str
    scheme: str = ""
    written_on: str = ""
    url: str = ""
    certainty: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceNamed:
    """
    A place by the name it had then; ``within`` is (name, kind) of what it belonged to, nearest first.

    ``latitude_deg`` and ``longitude_deg`` are where it is, both or neither; south and west are negative.
    """

    name: str
    kind: PlaceKind = "place"
    reference: str = ""
    within: tuple[tuple[str, PlaceKind], ...] = ()
    certainty: str = ""
    latitude_deg: float | None = None
    longitude_deg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Maker:
    """Who designed or built a building."""

    name: str
    role: str = ""
    certainty: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingShown:
    """
    A building in the picture by the name it had then; ``identifiers`` are its numbers in registers.

    ``site`` is the place it surely stood in at the time, given only where the position of the site is known, which
    it carries. ``chronicle`` is (date, what happened), the earliest first.
    """

    name: str
    reference: str = ""
    certainty: str = ""
    elevation: str = ""
    raised: CaptionDate | None = None
    makers: tuple[Maker, ...] = ()
    identifiers: tuple[FrameNumber, ...] = ()
    site: PlaceNamed | None = None
    chronicle: tuple[tuple[CaptionDate | None, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LensUsed:
    """The lens; ``focal_length_mm`` and ``widest_f_number`` are what is engraved on it."""

    name: str = ""
    maker: str = ""
    focal_length_mm: float | None = None
    widest_f_number: float | None = None
    certainty: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintEdition:
    """One print made of the frame: its edition and statement, the words of its run, its number, what it is made of."""

    edition: str = ""
    statement: str = ""
    run: str = ""
    number: str = ""
    process: str = ""
    paper: str = ""
    size: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeFrom:
    """The digital picture that this one was made from, by its identities; a scan is made from film and has none."""

    document_id: str
    instance_id: str = ""
    file_name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rights:
    """
    What the archive says of the rights in its pictures, beside notice and terms.

    ``is_marked`` is whether they are in copyright; ``None`` says nothing of it. ``data_mining`` is a term of the
    PLUS vocabulary, a whole URI.
    """

    credit: str = ""
    owner: str = ""
    is_marked: bool | None = None
    web_statement: str = ""
    licensor: str = ""
    licensor_url: str = ""
    data_mining: str = ""
    other_constraints: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """
    A fact that is not certain. ``field`` is its name on ``FrameCaption``: ``lens``, ``film``, ``exposed`` ...

    While a doubt about a field is given, no standard field states that fact plainly.
    """

    field: str
    as_written: str
    certainty: str = ""
    alternatives: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameCaption:
    """
    What a sidecar says of one scan of one sheet.

    ``polarity`` is that of the film that was scanned, ``print`` for a paper print, ``None`` when not known;
    ``medium`` says it in the trade's words. ``scanned_on`` is an ISO date or a part of one. ``title`` and
    ``keywords`` are taken as they are: whoever fills them keeps doubt in the words. ``source`` is the number to
    give as the picture's source where that is not simply the first. ``doubts_told`` says that the description
    tells every doubt already. ``focus`` is the one place the picture is of, where that is sure. ``file_ppi`` is the
    resolution that the file records, ``worked_out_ppi`` that by the size of the film. ``film_iso`` is the speed the
    maker gives the film, ``exposure_index`` the one it was exposed for. Private facts (persons, prices, addresses)
    have no field here, the photographer's name and those of builders excepted.
    """

    reference: str
    scan_reference: str = ""
    file_name: str = ""
    numbers: tuple[FrameNumber, ...] = ()
    source: str = ""
    title: str = ""
    description: str = ""
    language: str | None = None
    creators: tuple[str, ...] = ()
    rights: str = ""
    usage_terms: str = ""
    keywords: tuple[str, ...] = ()
    exposed: CaptionDate | None = None
    scanned_on: str = ""
    places: tuple[PlaceNamed, ...] = ()
    taken_from: PlaceNamed | None = None
    buildings: tuple[BuildingShown, ...] = ()
    lens: LensUsed | None = None
    aperture: float | None = None
    shutter_s: float | None = None
    film: str = ""
    film_format: str = ""
    medium: str = ""
    polarity: Literal["negative", "positive", "print"] | None = None
    base: str = ""
    tone: str = ""
    scanner_make: str = ""
    scanner_model: str = ""
    movements: str = ""
    filter: str = ""
    development: str = ""
    doubts: tuple[Doubt, ...] = ()
    doubts_told: bool = False
    licence: Rights = field(default_factory=Rights)
    focus: PlaceNamed | None = None
    document_id: str = ""
    instance_id: str = ""
    made_from: MadeFrom | None = None
    file_ppi: float | None = None
    worked_out_ppi: float | None = None
    exposure_index: int | None = None
    film_iso: float | None = None
    camera: str = ""
    holder: str = ""
    extension: str = ""
    editions: tuple[PrintEdition, ...] = ()

    def doubts_about(self, *fields: str) -> bool:
        """Return True when one of these fields is in doubt."""
        return any(doubt.field in fields for doubt in self.doubts)

    def worded(self, field: str) -> str:
        """Return the text of a field with its doubt before it."""
        text: str = getattr(self, field)
        how = next((doubt.certainty for doubt in self.doubts if doubt.field == field), None)
        return text if how is None or not text else words_of(text, POSSIBLE if is_certain(how) else how)


def spread_doubts(caption: FrameCaption) -> FrameCaption:
    """
    Return the caption with a doubt about "the building", "the place", "the lens" laid on those it may mean.

    A doubt that names none falls on every one; but where one is said to be uncertain already, it is about that.
    """
    if not caption.doubts:
        return caption
    about_any = caption.doubts_about("shows") and not _unsure(caption, "shows")
    if about_any or (caption.doubts_about("building", "buildings") and not _unsure(caption, "building")):
        buildings = tuple(replace(one, certainty=POSSIBLE) for one in caption.buildings)
        caption = replace(caption, buildings=buildings)
    if about_any or (caption.doubts_about("place", "places") and not _unsure(caption, "place")):
        caption = replace(caption, places=tuple(replace(one, certainty=POSSIBLE) for one in caption.places))
    stood, lens = caption.taken_from, caption.lens
    if stood is not None and is_certain(stood.certainty) and caption.doubts_about("taken_from"):
        caption = replace(caption, taken_from=replace(stood, certainty=POSSIBLE))
    if lens is not None and is_certain(lens.certainty) and caption.doubts_about("lens"):
        caption = replace(caption, lens=replace(lens, certainty=POSSIBLE))
    return caption


def _unsure(caption: FrameCaption, field: str) -> list[BuildingShown | PlaceNamed]:
    """Return what a field of doubt may be about and is said to be uncertain already."""
    shown: dict[str, tuple[BuildingShown | PlaceNamed, ...]] = {
        "building": caption.buildings,
        "buildings": caption.buildings,
        "place": caption.places,
        "places": caption.places,
        "shows": (*caption.buildings, *caption.places),
        "taken_from": (caption.taken_from,) if caption.taken_from else (),
    }
    return [one for one in shown.get(field, ()) if not is_certain(one.certainty)]


def public_words(caption: FrameCaption) -> str:
    """
    Return the words for ``dc:description``: the person's own, then every doubt, a sentence a line, each once.

    >>> mill = BuildingShown(name="Osk Mill", certainty="probably")
    >>> public_words(FrameCaption(reference="S1", description="From the weir.", buildings=(mill,)))
    'From the weir.\\nShows probably Osk Mill.'
    """
    lines = [caption.description.strip()]
    if caption.doubts_told:
        return lines[0]
    if caption.exposed is not None and caption.exposed.plain is None and not caption.doubts_about("exposed"):
        lines.append(f"Exposed: {caption.exposed.words}.")
    unsure = [("Shows", b.name, b.certainty) for b in caption.buildings]
    unsure += [("Place shown:", p.name, p.certainty) for p in caption.places]
    if caption.taken_from is not None:
        unsure.append(("Taken from:", caption.taken_from.name, caption.taken_from.certainty))
    if caption.lens is not None and not caption.doubts_about("lens"):
        unsure.append(("Lens:", lens_words(caption.lens), caption.lens.certainty))
    lines += [f"{lead} {words_of(what, how)}." for lead, what, how in unsure if not is_certain(how)]
    lines += [_doubt_words(doubt, caption) for doubt in caption.doubts if not _is_told(doubt, caption)]
    return "\n".join(line for line in dict.fromkeys(lines) if line)


def _is_told(doubt: Doubt, caption: FrameCaption) -> bool:
    """Return True if a doubt says no more than what is shown with "possibly" or "probably" says already."""
    unsure = _unsure(caption, doubt.field)
    return bool(unsure) and len(unsure) >= len(doubt.alternatives)


def words_of(what: str, certainty: str) -> str:
    """Return a name with its doubt before it: ``probably Osk Mill``."""
    return what if is_certain(certainty) else f"{_adverb(certainty)} {what}"


def _adverb(certainty: str) -> str:
    return HEDGES.get(certainty, certainty).strip()


def lens_words(lens: LensUsed) -> str:
    """Return a lens in words; the focal length only where the name does not hold it already."""
    named = lens.name if lens.maker in lens.name else f"{lens.maker} {lens.name}".strip()
    length = "" if lens.focal_length_mm is None else f"{lens.focal_length_mm:g}"
    return named if not length or length in named else f"{named} {length} mm".strip()


_LABELS: Final = {
    "building": "Shows", "buildings": "Shows", "shows": "Shows", "place": "Place shown", "places": "Place shown",
    "elevation": "Side", "film_format": "Format", "shutter_s": "Shutter",
}  # fmt: skip


def _doubt_words(doubt: Doubt, caption: FrameCaption) -> str:
    label = _LABELS.get(doubt.field) or doubt.field.replace("_", " ").capitalize()
    certainty = POSSIBLE if is_certain(doubt.certainty) else doubt.certainty
    value = " or ".join(doubt.alternatives) or _value_words(caption, doubt.field)
    how = "doubtful" if not value else value if _is_hedged(caption, doubt) else words_of(value, certainty)
    return f"{label}: {how}; written \u201c{doubt.as_written}\u201d." if doubt.as_written else f"{label}: {how}."


def _is_hedged(caption: FrameCaption, doubt: Doubt) -> bool:
    """Return True if the value says its own doubt: "about 1978"."""
    marked = caption.exposed is not None and any(mark in caption.exposed.edtf for mark in "~?%")
    return doubt.field == "exposed" and not doubt.alternatives and marked


def _value_words(caption: FrameCaption, field: str) -> str:
    """Return what a caption holds for a field of doubt, in words; "" for nothing."""
    if field == "exposed":
        return caption.exposed.words if caption.exposed else ""
    if field == "lens":
        return lens_words(caption.lens) if caption.lens else ""
    if field == "aperture":
        return f"f/{caption.aperture:g}" if caption.aperture else ""
    if field in ("shutter", "shutter_s"):
        return f"{caption.shutter_s:g} s" if caption.shutter_s else ""
    value = getattr(caption, field, "")
    return value if isinstance(value, str) else ""
