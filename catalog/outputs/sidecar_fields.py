"""
Which fact of a caption goes into which XMP property. Doubt never becomes a plain fact.

The table with its reasons is docs/standards/xmp.md#which-fact-goes-where. What is not certain is left out of
the standard fields; it is said in words (``dc:description``) and in our own namespace.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from pathlib import PurePath
from typing import Final

from catalog.outputs.sidecar_captions import (
    BuildingShown,
    CaptionDate,
    FrameCaption,
    FrameNumber,
    PlaceNamed,
    is_certain,
    lens_words,
    public_words,
    spread_doubts,
    words_of,
)
from catalog.standards.iptc import DIGITAL_SOURCE_TYPES, Plain, property_value
from catalog.standards.xmp import Name, Struct, Text, Value, name, seq, struct
from catalog.standards.xmp_tiebeam import tiebeam

__all__ = ["properties_of"]

_EXT = "Iptc4xmpExt:"


def properties_of(caption: FrameCaption) -> dict[Name, Value]:
    """Return the XMP properties that say what a caption says; what it leaves open is not among them."""
    caption = spread_doubts(caption)
    return {**_iptc_properties(caption), **_other_properties(caption), **_our_properties(caption)}


def _iptc_properties(caption: FrameCaption) -> dict[Name, Value]:
    doubted = caption.doubts_about
    stood, exposed = caption.taken_from, caption.exposed
    polarity = caption.polarity if not doubted("polarity", "medium") else None
    rows: dict[str, Plain] = {
        "dc:title": caption.title if not doubted("title") else None,
        "dc:description": public_words(caption),
        "dc:creator": caption.creators if not doubted("creator", "creators", "photographer") else None,
        "dc:rights": caption.rights,
        "xmpRights:UsageTerms": caption.usage_terms,
        "dc:subject": _keywords(caption),
        # A date that is marked, or whose possible days share nothing, is left out: a reader would believe it.
        "photoshop:DateCreated": exposed.plain if exposed and not doubted("exposed") else None,
    }
    values = {name(row): property_value(row, plain, language=caption.language) for row, plain in rows.items()}
    values |= {
        name("Iptc4xmpExt:LocationCreated"): _locations("LocationCreated", (stood,) if stood else (), caption.language),
        name("Iptc4xmpExt:LocationShown"): _locations("LocationShown", caption.places, caption.language),
        name("Iptc4xmpExt:ArtworkOrObject"): _artworks(caption.buildings, caption.language),
        name("Iptc4xmpExt:DigitalSourceType"): _source_type(polarity),
    }
    return {named: value for named, value in values.items() if value is not None}


# Many frames show the same places and buildings: what was built once serves again.
_MANY: Final = 4096


@lru_cache(_MANY)
def _locations(prop: str, places: tuple[PlaceNamed, ...], language: str | None) -> Value | None:
    return property_value(f"{_EXT}{prop}", [_location(place) for place in places], language=language)


@lru_cache(_MANY)
def _artworks(buildings: tuple[BuildingShown, ...], language: str | None) -> Value | None:
    plain = [_artwork(building) for building in buildings]
    return property_value(f"{_EXT}ArtworkOrObject", plain, language=language)


@lru_cache(_MANY)
def _source_type(polarity: str | None) -> Value | None:
    plain = DIGITAL_SOURCE_TYPES[polarity] if polarity else None
    return property_value(f"{_EXT}DigitalSourceType", plain)


def _other_properties(caption: FrameCaption) -> dict[Name, Value]:
    """Return what is in the schemas of XMP itself, TIFF and Exif."""
    doubted = caption.doubts_about
    lens = caption.lens if caption.lens is not None and is_certain(caption.lens.certainty) else None
    said = {
        "dc:source": _source(caption),
        "photoshop:SidecarForExtension": PurePath(caption.file_name).suffix.removeprefix("."),
        "xmp:CreateDate": caption.scanned_on if not doubted("scanned_on") else "",
        "tiff:Make": caption.scanner_make,  # TIFF 6.0 tags 271 and 272: the scanner's, not the camera's
        "tiff:Model": caption.scanner_model,
        "exifEX:LensMake": lens.maker if lens else "",
        "exifEX:LensModel": lens.name if lens else "",
        "exif:FocalLength": _rational(lens.focal_length_mm if lens else None),
        "exif:FNumber": _rational(caption.aperture if not doubted("aperture") else None),
        "exif:ExposureTime": _rational(caption.shutter_s if not doubted("shutter", "shutter_s") else None),
    }
    return {name(row): Text(text) for row, text in said.items() if text}


def _source(caption: FrameCaption) -> str:
    """Return the usual number, the first, if neither it nor, for all that is said, any number is in doubt."""
    unsure = [number for number in caption.numbers if not is_certain(number.certainty)]
    if caption.doubts_about("number", "numbers") and (not unsure or caption.source):
        return ""
    usual = next((number.number for number in caption.numbers[:1] if number not in unsure), "")
    return caption.source or usual


def _our_properties(caption: FrameCaption) -> dict[Name, Value]:
    lens = caption.lens
    said: dict[str, str | Value | None] = {
        "Sheet": caption.reference,
        "Scan": caption.scan_reference,
        "Numbers": _several(_our_number(number) for number in caption.numbers),
        "Exposed": _our_date(caption.exposed),
        "Places": _our_places(caption.places),
        "TakenFrom": _our_place(caption.taken_from) if caption.taken_from else None,
        "Buildings": _our_buildings(caption.buildings),
        "Lens": words_of(lens_words(lens), lens.certainty) if lens else "",
        "Film": caption.worded("film"),
        "Format": caption.worded("film_format"),
        "Medium": caption.worded("medium"),
        "Base": caption.worded("base"),
        "Tone": caption.worded("tone"),
        "Movements": caption.worded("movements"),
        "Filter": caption.worded("filter"),
        "Development": caption.worded("development"),
        "Doubts": _several(
            _ours(
                Field=doubt.field,
                AsWritten=doubt.as_written,
                Certainty=doubt.certainty,
                Alternatives=_several(map(Text, doubt.alternatives)),
            )
            for doubt in caption.doubts
        ),
        "Chronicle": _several(map(Text, caption.chronicle)),
    }
    return dict(_ours(**said).fields)


def _keywords(caption: FrameCaption) -> list[str]:
    """Return the keywords, each once, less the names of what is doubtful: a keyword cannot say "probably"."""
    unsure = {b.name.casefold() for b in caption.buildings if not is_certain(b.certainty)}
    places = (*caption.places, *((caption.taken_from,) if caption.taken_from else ()))
    unsure |= {p.name.casefold() for p in places if not is_certain(p.certainty)}
    return [word for word in dict.fromkeys(caption.keywords) if word and word.casefold() not in unsure]


def _location(place: PlaceNamed) -> dict[str, Plain]:
    """
    Return a place as IPTC's Location; what is probably Osk is a location of that name and nothing more.

    Source: PMD 2025.1 §12.10. A hamlet is the sublocation of its village or parish; a county is the province.
    """
    if not is_certain(place.certainty):
        return {f"{_EXT}LocationName": words_of(place.name, place.certainty)}
    chain = ((place.name, place.kind), *place.within)
    settlement = _nearest(chain, "village", "town", "parish")
    return {
        f"{_EXT}LocationName": place.name,
        f"{_EXT}Sublocation": _nearest(chain, "hamlet") or (place.name if place.kind == "place" else None),
        f"{_EXT}City": settlement,
        f"{_EXT}ProvinceState": _nearest(chain, "county"),
        f"{_EXT}CountryName": _nearest(chain, "country"),
    }


def _nearest(chain: Iterable[tuple[str, str]], *kinds: str) -> str | None:
    return next((named for named, kind in chain if kind in kinds), None)


def _artwork(building: BuildingShown) -> dict[str, Plain]:
    """
    Return a building as IPTC's Artwork or Object; of a doubtful one the title in words, and nothing more.

    Source: PMD 2025.1 §12.1. A loose date goes to AOCircaDateCreated, which is free text.
    """
    title: dict[str, Plain] = {f"{_EXT}AOTitle": words_of(building.name, building.certainty)}
    if not is_certain(building.certainty):
        return title
    raised, known = building.raised, building.identifiers[0] if building.identifiers else None
    return title | {
        f"{_EXT}AOCreator": [maker.name for maker in building.makers if is_certain(maker.certainty)],
        f"{_EXT}AODateCreated": raised.plain if raised else None,
        f"{_EXT}AOCircaDateCreated": raised.words if raised and raised.plain is None else None,
        f"{_EXT}AOSource": known.scheme if known else None,
        f"{_EXT}AOSourceInvNo": known.number if known else None,
        f"{_EXT}AOSourceInvURL": known.url if known else None,
    }


@lru_cache(_MANY)
def _rational(number: float | None) -> str:
    """Return a number as XMP's Rational (part 2, Exif schema): ``1/125``, ``28/5``; "" when not known."""
    if number is None or number <= 0:
        return ""
    # A time of 0.008 s is meant as 1/125; a million is finer than any shutter or engraved number.
    fraction = Fraction(str(number)).limit_denominator(1_000_000)
    if number < 1:
        nearest = Fraction(1, round(1 / number))
        fraction = nearest if abs(float(nearest) - number) < number / 100 else fraction
    return f"{fraction.numerator}/{fraction.denominator}"


def _ours(**members: str | Value | None) -> Struct:
    return struct({tiebeam(local): value for local, value in members.items()})


def _several(items: Iterable[Value]) -> Value | None:
    listed = list(items)
    return seq(listed) if listed else None


def _our_number(number: FrameNumber) -> Struct:
    certainty = "" if is_certain(number.certainty) else number.certainty
    return _ours(Number=number.number, Scheme=number.scheme, WrittenOn=number.written_on, Certainty=certainty)


@lru_cache(_MANY)
def _our_places(places: tuple[PlaceNamed, ...]) -> Value | None:
    return _several(_our_place(place) for place in places)


@lru_cache(_MANY)
def _our_buildings(buildings: tuple[BuildingShown, ...]) -> Value | None:
    return _several(_our_building(building) for building in buildings)


@lru_cache(_MANY)
def _our_date(date: CaptionDate | None) -> Struct | None:
    if date is None:
        return None
    return _ours(
        Edtf=date.edtf,
        Words=date.words,
        AsWritten=date.as_written,
        Earliest=date.earliest,
        Latest=date.latest,
    )


@lru_cache(_MANY)
def _our_place(place: PlaceNamed) -> Struct:
    return _ours(
        Reference=place.reference,
        Name=place.name,
        Within=_several(Text(named) for named, _ in place.within),
        Certainty="" if is_certain(place.certainty) else place.certainty,
    )


def _our_building(building: BuildingShown) -> Struct:
    return _ours(
        Reference=building.reference,
        Name=building.name,
        Certainty="" if is_certain(building.certainty) else building.certainty,
        Elevation=building.elevation,
        Raised=_our_date(building.raised),
        Makers=_several(_ours(Name=m.name, Role=m.role, Certainty=m.certainty) for m in building.makers),
        Identifiers=_several(_our_number(number) for number in building.identifiers),
    )
