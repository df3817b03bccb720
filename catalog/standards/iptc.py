"""
The IPTC Photo Metadata Standard as data: one row a property, one row a member of a structure.

The first cut holds the rows that a sidecar writes; the shape of a row is that of the whole standard.

Source: IPTC Photo Metadata Standard 2025.1 (approved 16 October 2025), IPTC Core 1.5 and Extension 1.9;
facts, © IPTC, CC BY 4.0. See docs/standards/iptc.md.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final, TypeAlias

from catalog.errors import XmpError
from catalog.standards.xmp_names import Name, name, spell
from catalog.standards.xmp_values import Array, Struct, Text, Uri, Value, bag, lang_alt, seq

__all__ = [
    "DIGITAL_SOURCE_TYPES",
    "MEMBERS",
    "PROPERTIES",
    "Member",
    "Plain",
    "Property",
    "member_value",
    "property_value",
]


@dataclass(frozen=True, slots=True)
class Property:
    """One property of the standard, as its table gives it."""

    section: str
    title: str
    xmp_id: str
    value_type: str
    cardinality: str
    struct: str | None
    iim_dataset: str | None
    iim_max_octets: int | None
    spec_section: str

    @property
    def name(self) -> Name:
        return name(self.xmp_id)


@dataclass(frozen=True, slots=True)
class Member:
    """One member of a structure of the standard."""

    struct: str
    title: str
    xmp_id: str
    value_type: str
    cardinality: str
    spec_section: str

    @property
    def name(self) -> Name:
        return name(self.xmp_id)


_CORE = (
    ("Copyright Notice", "dc:rights", "LangAlt", "0..1", None, "2:116", 128, "7.3."),
    ("Creator", "dc:creator", "Seq<ProperName>", "0..unbounded", None, "2:80", 32, "7.6."),
    ("Date Created", "photoshop:DateCreated", "Date", "0..1", None, "2:55", 8, "7.10."),
    ("Description", "dc:description", "LangAlt", "0..1", None, "2:120", 2000, "7.11."),
    ("Keywords", "dc:subject", "Bag<Text>", "0..unbounded", None, "2:25", 64, "7.18."),
    ("Rights Usage Terms", "xmpRights:UsageTerms", "LangAlt", "0..1", None, None, None, "7.20."),
    ("Title", "dc:title", "LangAlt", "0..1", None, "2:05", 64, "7.25."),
)
_EXTENSION = (
    (
        "Artwork or Object in the Image",
        "Iptc4xmpExt:ArtworkOrObject",
        "Bag<Struct<ArtworkOrObject>>",
        "0..unbounded",
        "ArtworkOrObject",
        None,
        None,
        "11.6.",
    ),
    ("Digital Source Type", "Iptc4xmpExt:DigitalSourceType", "URI", "0..1", None, None, None, "11.13."),
    (
        "Location Created",
        "Iptc4xmpExt:LocationCreated",
        "Bag<Struct<Location>>",
        "0..1",
        "Location",
        None,
        None,
        "11.26.",
    ),
    (
        "Location Shown in the Image",
        "Iptc4xmpExt:LocationShown",
        "Bag<Struct<Location>>",
        "0..unbounded",
        "Location",
        None,
        None,
        "11.27.",
    ),
)
PROPERTIES: Final[dict[str, Property]] = {
    row[1]: Property(section, *row)
    for section, rows in (("Core", _CORE), ("Extension", _EXTENSION))
    for row in rows
}

MEMBERS: Final[dict[str, dict[str, Member]]] = {
    struct: {row[1]: Member(struct, *row) for row in rows}
    for struct, rows in {
        "ArtworkOrObject": (
            ("Circa Date Created", "Iptc4xmpExt:AOCircaDateCreated", "Text", "0..1", "12.1.1."),
            ("Creator", "Iptc4xmpExt:AOCreator", "Seq<ProperName>", "0..unbounded", "12.1.5."),
            ("Date Created", "Iptc4xmpExt:AODateCreated", "Date", "0..1", "12.1.11."),
            ("Source", "Iptc4xmpExt:AOSource", "Text", "0..1", "12.1.13."),
            ("Source Inventory Number", "Iptc4xmpExt:AOSourceInvNo", "Text", "0..1", "12.1.14."),
            ("Source Inventory URL", "Iptc4xmpExt:AOSourceInvURL", "URL", "0..1", "12.1.15."),
            ("Title", "Iptc4xmpExt:AOTitle", "LangAlt", "0..1", "12.1.17."),
        ),
        "Location": (
            ("City", "Iptc4xmpExt:City", "Text", "0..1", "12.10.1."),
            ("Country ISO-Code", "Iptc4xmpExt:CountryCode", "ClosedChoice<Text>", "0..1", "12.10.2."),
            ("Country Name", "Iptc4xmpExt:CountryName", "Text", "0..1", "12.10.3."),
            ("Location Name", "Iptc4xmpExt:LocationName", "LangAlt", "0..1", "12.10.9."),
            ("Province or State", "Iptc4xmpExt:ProvinceState", "Text", "0..1", "12.10.10."),
            ("Sublocation", "Iptc4xmpExt:Sublocation", "Text", "0..1", "12.10.11."),
        ),
    }.items()
}

# NewsCodes "digitalsourcetype". Its definitions put "any other transparent medium" with film, so a glass
# plate is negativeFilm and a lantern slide positiveFilm; PMD 2025.1 §11.13: the value is the whole URI.
_VOCABULARY: Final = "http://cv.iptc.org/newscodes/digitalsourcetype/"
DIGITAL_SOURCE_TYPES: Final = {
    "negative": f"{_VOCABULARY}negativeFilm",
    "positive": f"{_VOCABULARY}positiveFilm",
    "print": f"{_VOCABULARY}print",
}

Plain: TypeAlias = "str | int | Iterable[Plain] | Mapping[str, Plain] | None"

# XMP part 1 §8.2.1.1: as much of a date as is known, from the year down.
_DATE = re.compile(
    r"\d{4}(?:-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12]\d|3[01])"
    r"(?:T(?:[01]\d|2[0-3]):[0-5]\d(?::[0-5]\d(?:\.\d+)?)?(?:Z|[+-]\d\d:\d\d)?)?)?)?"
)


def property_value(xmp_id: str, plain: Plain, *, language: str | None = None) -> Value | None:
    """
    Return a property's value in the form its row gives it, or ``None`` when there is nothing to say.

    Texts are ``str``, arrays any iterable, structures a mapping from members' ids to their values.

    Raises:
        XmpError: ``plain`` is no value of that type; a member is not one of its structure.
    """
    row = PROPERTIES[xmp_id]
    return _value(row.name, row.value_type, plain, language)


def member_value(struct: str, xmp_id: str, plain: Plain, *, language: str | None = None) -> Value | None:
    """Return the value of a structure's member, as ``property_value`` does for a property."""
    row = MEMBERS[struct].get(xmp_id)
    if row is None:
        raise XmpError(f"{xmp_id} is no member of the structure {struct}")
    return _value(row.name, row.value_type, plain, language)


def _value(named: Name, value_type: str, plain: Plain, language: str | None) -> Value | None:
    if plain is None or plain == "":
        return None
    outer, inner = _parts_of(value_type)
    if outer in ("Bag", "Seq"):
        return _array(named, outer, inner, plain, language)
    if outer == "Struct":
        return _struct(named, inner, plain, language)
    if not isinstance(plain, str | int):
        raise XmpError(f"{spell(named)} holds one value, not {type(plain).__name__}")
    text = str(plain)
    if outer == "LangAlt":
        return lang_alt(text, language)
    if outer == "Date" and _DATE.fullmatch(text) is None:
        raise XmpError(f"{spell(named)} cannot hold {text!r}: it takes YYYY, YYYY-MM or YYYY-MM-DD")
    # XMP part 1 §7.5: a URI is written as rdf:resource, any other simple value as text.
    return Uri(text) if outer in ("URI", "URL") else Text(text)


@cache
def _parts_of(value_type: str) -> tuple[str, str]:
    """Return the outer and the inner part of a type: ``Bag`` and ``Struct<Location>``, say."""
    outer, _, inner = value_type.partition("<")
    return outer, inner.removesuffix(">")


def _array(named: Name, kind: str, inner: str, plain: Plain, language: str | None) -> Array | None:
    if isinstance(plain, str | int | Mapping) or plain is None:
        raise XmpError(f"{spell(named)} holds several values; give them as a list")
    built = (_value(named, inner if inner != "ProperName" else "Text", item, language) for item in plain)
    items = [item for item in built if item is not None]
    if not items:
        return None
    return bag(items) if kind == "Bag" else seq(items)


def _struct(named: Name, struct: str, plain: Plain, language: str | None) -> Struct | None:
    if not isinstance(plain, Mapping):
        raise XmpError(f"{spell(named)} holds a structure; give its members by name")
    fields = []
    for xmp_id, one in plain.items():
        value = member_value(struct, xmp_id, one, language=language)
        if value is not None:
            fields.append((name(xmp_id), value))
    return Struct(tuple(fields)) if fields else None
