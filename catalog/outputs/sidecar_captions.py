"""The plain facts of one scan of one sheet, as far as a sidecar may tell them; the words for their doubt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from catalog.rules.doubt import HEDGES, POSSIBLE

__all__ = [
    "BuildingShown",
    "CaptionDate",
    "Doubt",
    "FrameCaption",
    "FrameNumber",
    "LensUsed",
    "Maker",
    "PlaceKind",
    "PlaceNamed",
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


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceNamed:
    """A place by the name it had then; ``within`` is (name, kind) of what it belonged to, nearest first."""

    name: str
    kind: PlaceKind = "place"
    reference: str = ""
    within: tuple[tuple[str, PlaceKind], ...] = ()
    certainty: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Maker:
    """Who designed or built a building."""

    name: str
    role: str = ""
    certainty: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingShown:
    """A building in the picture by the name it had then; ``identifiers`` are its numbers in registers."""

    name: str
    reference: str = ""
    certainty: str = ""
    elevation: str = ""
    raised: CaptionDate | None = None
    makers: tuple[Maker, ...] = ()
    identifiers: tuple[FrameNumber, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LensUsed:
    """The lens; ``focal_length_mm`` is what is engraved on it."""

    name: str = ""
    maker: str = ""
    focal_length_mm: float | None = None
    certainty: str = ""


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
    ``keywords`` are taken as they are: whoever fills them keeps doubt in the words. Private facts (persons,
    prices, addresses) have no field here, the photographer's name excepted.
    """

    reference: str
    scan_reference: str = ""
    file_name: str = ""
    numbers: tuple[FrameNumber, ...] = ()
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
    chronicle: tuple[str, ...] = ()

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

    A doubt that names none falls on every one that is otherwise said to be certain.
    """

    def shaken(certainty: str) -> str:
        return POSSIBLE if is_certain(certainty) else certainty

    if caption.doubts_about("building", "buildings"):
        buildings = tuple(replace(b, certainty=shaken(b.certainty)) for b in caption.buildings)
        caption = replace(caption, buildings=buildings)
    if caption.doubts_about("place", "places"):
        places = tuple(replace(p, certainty=shaken(p.certainty)) for p in caption.places)
        caption = replace(caption, places=places)
    if caption.taken_from is not None and caption.doubts_about("taken_from"):
        stood = replace(caption.taken_from, certainty=shaken(caption.taken_from.certainty))
        caption = replace(caption, taken_from=stood)
    if caption.lens is not None and caption.doubts_about("lens"):
        caption = replace(caption, lens=replace(caption.lens, certainty=shaken(caption.lens.certainty)))
    return caption


def public_words(caption: FrameCaption) -> str:
    """
    Return the words for ``dc:description``: the person's own, then every doubt, a sentence a line.

    >>> mill = BuildingShown(name="Osk Mill", certainty="probably")
    >>> public_words(FrameCaption(reference="S1", description="From the weir.", buildings=(mill,)))
    'From the weir.\\nShows probably Osk Mill.'
    """
    lines = [caption.description.strip()]
    if caption.exposed is not None and (caption.exposed.plain is None or caption.doubts_about("exposed")):
        lines.append(f"Exposed: {caption.exposed.words}.")
    unsure = [("Shows", b.name, b.certainty) for b in caption.buildings]
    unsure += [("Place shown:", p.name, p.certainty) for p in caption.places]
    if caption.taken_from is not None:
        unsure.append(("Taken from:", caption.taken_from.name, caption.taken_from.certainty))
    if caption.lens is not None and not caption.doubts_about("lens"):
        unsure.append(("Lens:", lens_words(caption.lens), caption.lens.certainty))
    lines += [f"{lead} {words_of(what, how)}." for lead, what, how in unsure if not is_certain(how)]
    lines += [_doubt_words(doubt) for doubt in caption.doubts]
    return "\n".join(line for line in lines if line)


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


def _doubt_words(doubt: Doubt) -> str:
    field = doubt.field.replace("_", " ").capitalize()
    how = "doubtful" if is_certain(doubt.certainty) else doubt.certainty.strip()
    if doubt.alternatives:
        how = words_of(" or ".join(doubt.alternatives), doubt.certainty)
    return f"{field}: {how}; written \u201c{doubt.as_written}\u201d."
