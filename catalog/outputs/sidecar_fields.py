"""
Which fact of a caption goes into which XMP property. Doubt never becomes a plain fact.

The table with its reasons is docs/standards/xmp.md#which-fact-goes-where. What is not certain is left out of
the standard fields; it is said in words (``dc:description``) and in our own namespace. Places and buildings are the
matter of ``sidecar_places``, our own namespace that of ``sidecar_own_fields``.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from pathlib import PurePath
from typing import Final

from catalog.outputs.sidecar_captions import (
    FrameCaption,
    LensUsed,
    MadeFrom,
    Rights,
    is_certain,
    public_words,
    spread_doubts,
)
from catalog.outputs.sidecar_own_fields import own_properties
from catalog.outputs.sidecar_places import place_properties
from catalog.standards.iptc import DIGITAL_SOURCE_TYPES, Plain, property_value
from catalog.standards.xmp import Name, Text, Value, bag, name, seq, struct

__all__ = ["properties_of"]


def properties_of(caption: FrameCaption) -> dict[Name, Value]:
    """Return the XMP properties that say what a caption says; what it leaves open is not among them."""
    caption = spread_doubts(caption)
    return {
        **_described(caption),
        **dict(_rights(caption.licence, _creators(caption), caption.language)),
        **dict(
            place_properties(caption.places, caption.focus, caption.taken_from, caption.buildings, caption.language)
        ),
        **_identified(caption),
        **_scanned(caption),
        **_exposed(caption),
        **own_properties(caption),
    }


def _creators(caption: FrameCaption) -> tuple[str, ...]:
    return () if caption.doubts_about("creator", "creators", "photographer") else caption.creators


def _described(caption: FrameCaption) -> dict[Name, Value]:
    """Return what the picture is, in the words of IPTC Core."""
    doubted, exposed = caption.doubts_about, caption.exposed
    rows: dict[str, str | tuple[str, ...] | None] = {
        "dc:title": caption.title if not doubted("title") else None,
        "dc:description": public_words(caption),
        "dc:creator": _creators(caption),
        "dc:rights": caption.rights,
        "xmpRights:UsageTerms": caption.usage_terms,
        "dc:subject": _keywords(caption),
        # A date that is marked, or whose possible days share nothing, is left out: a reader would believe it.
        "photoshop:DateCreated": exposed.plain if exposed and not doubted("exposed") else None,
    }
    values = ((name(row), _described_as(row, plain, caption.language)) for row, plain in rows.items())
    return {named: value for named, value in values if value is not None}


# Many frames say the same: what was built once serves again, and so does what was written of it (sidecar_pieces).
_MANY: Final = 4096


@lru_cache(_MANY)
def _described_as(row: str, plain: str | tuple[str, ...] | None, language: str | None) -> Value | None:
    return property_value(row, plain, language=language)


@lru_cache(_MANY)
def _text(text: str) -> Text:
    return Text(text)


def _texts(said: Mapping[str, str]) -> dict[Name, Value]:
    """Return the texts that say something, by the names of their properties."""
    return {name(row): _text(text) for row, text in said.items() if text}


@lru_cache(_MANY)
def _rights(said: Rights, creators: tuple[str, ...], language: str | None) -> tuple[tuple[Name, Value], ...]:
    """
    Return what is said of the rights beside notice and terms; who made and who owns the picture, as PLUS puts it.

    Source: XMP part 1 §8.5 for Marked, Owner and WebStatement; PMD 2025.1 §11.9, §11.11, §11.18, §11.24, §11.35.
    """
    licensor = {"plus:LicensorName": said.licensor, "plus:LicensorURL": said.licensor_url}
    rows: dict[str, Plain] = {
        "photoshop:Credit": said.credit,
        "xmpRights:WebStatement": said.web_statement,
        "plus:ImageCreator": [{"plus:ImageCreatorName": creator} for creator in creators],
        "plus:CopyrightOwner": [{"plus:CopyrightOwnerName": said.owner}] if said.owner else None,
        "plus:Licensor": [licensor] if any(licensor.values()) else None,
        "plus:DataMining": said.data_mining,
        "plus:OtherConstraints": said.other_constraints,
    }
    values = {name(row): property_value(row, plain, language=language) for row, plain in rows.items()}
    if said.is_marked is not None:
        values[name("xmpRights:Marked")] = Text(str(said.is_marked))
    if said.owner:
        values[name("xmpRights:Owner")] = bag([said.owner])
    return tuple((named, value) for named, value in values.items() if value is not None)


def _identified(caption: FrameCaption) -> dict[Name, Value]:
    """Return by what numbers and names the picture, its film and its file are known."""
    said = {
        "dc:source": _source(caption),
        "photoshop:SidecarForExtension": PurePath(caption.file_name).suffix.removeprefix("."),
        "xmpMM:DocumentID": caption.document_id,
        "xmpMM:InstanceID": caption.instance_id,
        # XMP part 1 §8.6: the first of its line. What a scan was made from is film, which has no such identity.
        "xmpMM:OriginalDocumentID": "" if caption.made_from else caption.document_id,
    }
    found = _texts(said)
    identifiers = _identifiers(caption)
    if identifiers:
        found[name("xmp:Identifier")] = bag(identifiers)
    if caption.made_from is not None:
        found[name("xmpMM:DerivedFrom")] = _derived_from(caption.made_from)
    return found


def _derived_from(made: MadeFrom) -> Value:
    # XMP part 1 §8.2.2.9: ResourceRef.
    members = {
        "stRef:documentID": made.document_id,
        "stRef:instanceID": made.instance_id,
        "stRef:filePath": made.file_name,
    }
    return struct({name(member): text for member, text in members.items()})


def _source(caption: FrameCaption) -> str:
    """Return the usual number, the first, if neither it nor, for all that is said, any number is in doubt."""
    unsure = [number for number in caption.numbers if not is_certain(number.certainty)]
    if caption.doubts_about("number", "numbers") and (not unsure or caption.source):
        return ""
    usual = next((number.number for number in caption.numbers[:1] if number not in unsure), "")
    return caption.source or usual


def _identifiers(caption: FrameCaption) -> list[Text]:
    """Return every certain number of the sheet, with its numbering where that has a name (XMP part 1 §8.4, §8.7)."""
    sure = [number for number in caption.numbers if is_certain(number.certainty)]
    if caption.doubts_about("number", "numbers") and len(sure) == len(caption.numbers):
        return []  # which of them is in doubt is not told
    once = dict.fromkeys((number.number, number.scheme) for number in sure)
    return [Text(number, qualifiers=((_SCHEME, Text(scheme)),) if scheme else ()) for number, scheme in once]


_SCHEME: Final = name("xmpidq:Scheme")


def _keywords(caption: FrameCaption) -> tuple[str, ...]:
    """Return the keywords, each once, less the names of what is doubtful: a keyword cannot say "probably"."""
    unsure = {b.name.casefold() for b in caption.buildings if not is_certain(b.certainty)}
    places = (*caption.places, *((caption.taken_from,) if caption.taken_from else ()))
    unsure |= {p.name.casefold() for p in places if not is_certain(p.certainty)}
    return tuple(word for word in dict.fromkeys(caption.keywords) if word and word.casefold() not in unsure)


# ---- the scan, the scanner and the film that was in it


def _scanned(caption: FrameCaption) -> dict[Name, Value]:
    doubted = caption.doubts_about
    ppi = _rational(caption.file_ppi)
    polarity = caption.polarity if not doubted("polarity", "medium") else None
    said = {
        "xmp:CreateDate": caption.scanned_on if not doubted("scanned_on") else "",
        "tiff:Make": caption.scanner_make,  # TIFF 6.0 tags 271 and 272: the scanner's, not the camera's
        "tiff:Model": caption.scanner_model,
        "tiff:XResolution": ppi,
        "tiff:YResolution": ppi,
        "tiff:ResolutionUnit": "2" if ppi else "",  # TIFF 6.0 tag 296: the inch
        "exif:FileSource": _file_source(caption),
    }
    return _texts(said) | dict(_source_type(polarity))


@lru_cache(_MANY)
def _source_type(polarity: str | None) -> tuple[tuple[Name, Value], ...]:
    row = "Iptc4xmpExt:DigitalSourceType"
    value = property_value(row, DIGITAL_SOURCE_TYPES[polarity] if polarity else None)
    return () if value is None else ((name(row), value),)


def _file_source(caption: FrameCaption) -> str:
    """
    Return what kind of scanner made the file: ``1`` of transparent, ``2`` of reflex type; "" when it is not known.

    Source: Exif 2.32 §4.6.5, FileSource.
    """
    if caption.doubts_about("polarity", "medium"):
        return ""
    if caption.polarity == "print":
        return "2"
    # A glass plate may be negative or positive; light goes through it either way.
    return "1" if caption.polarity or caption.medium == "glass plate" else ""


# ---- the exposure


def _exposed(caption: FrameCaption) -> dict[Name, Value]:
    doubted = caption.doubts_about
    lens = caption.lens if caption.lens is not None and is_certain(caption.lens.certainty) else None
    said = {
        "exif:FNumber": _rational(caption.aperture if not doubted("aperture") else None),
        "exif:ExposureTime": _rational(caption.shutter_s if not doubted("shutter", "shutter_s") else None),
        "exifEX:PhotographicSensitivity": str(caption.exposure_index or ""),
    }
    return _texts(said) | dict(_lens(lens))


@lru_cache(_MANY)
def _lens(lens: LensUsed | None) -> tuple[tuple[Name, Value], ...]:
    """Return a lens that is certain; its specification only where focal length and widest aperture are both known."""
    if lens is None:
        return ()
    length, widest = _rational(lens.focal_length_mm), _rational(lens.widest_f_number)
    said = {
        "exifEX:LensMake": lens.maker,
        "exifEX:LensModel": lens.name,
        "aux:Lens": lens.name,  # in no standard, but what older readers look for
        "exif:FocalLength": length,
    }
    found: list[tuple[Name, Value]] = [(name(row), Text(text)) for row, text in said.items() if text]
    if length and widest:
        # Exif 2.32 §4.6.5, LensSpecification: shortest and longest focal length, widest aperture at each.
        found.append((name("exifEX:LensSpecification"), seq([length, length, widest, widest])))
    return tuple(found)


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
