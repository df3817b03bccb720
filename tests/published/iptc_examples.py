"""One filled value for every property of the IPTC standard and every member of its structures."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from catalog.standards.iptc import MEMBERS, PROPERTIES, Plain
from catalog.standards.iptc_table import Member, Property, parts_of

# What a writer or reader may trip over, short enough for the 32 octets that IIM has for a name.
WORDS = 'Mühle, N & "O" <1886>'

# Where the type alone does not say what a sensible value is.
_GIVEN: dict[str, Plain] = {
    "Iptc4xmpCore:CountryCode": "XVA",
    "Iptc4xmpExt:CountryCode": "XVA",
    "Iptc4xmpCore:Scene": ["011200", "012400"],
    "Iptc4xmpCore:SubjectCode": ["01002000", "04000000"],
    "Iptc4xmpExt:DigitalSourceType": "http://cv.iptc.org/newscodes/digitalsourcetype/negativeFilm",
    "photoshop:DateCreated": "1978-08",
    "Iptc4xmpExt:AODateCreated": "1886",
    "xmp:Rating": Decimal("3.0"),
    "plus:DataMining": "http://ns.useplus.org/ldf/vocab/DMI-PROHIBITED",
    "plus:MinorModelAgeDisclosure": "http://ns.useplus.org/ldf/vocab/AG-UNK",
    "plus:ModelReleaseStatus": "http://ns.useplus.org/ldf/vocab/MR-NON",
    "plus:PropertyReleaseStatus": "http://ns.useplus.org/ldf/vocab/PR-NON",
    "plus:LicensorTelephoneType1": "http://ns.useplus.org/ldf/vocab/work",
    "plus:LicensorTelephoneType2": "http://ns.useplus.org/ldf/vocab/home",
    "exif:GPSAltitude": Fraction(961, 2),
    "exif:GPSAltitudeRef": 1,
    "exif:GPSLatitude": Decimal("46.123456789"),
    "exif:GPSLongitude": Decimal("-7.5"),
}
_EXT = "Iptc4xmpExt:"
_BOUNDARIES: tuple[dict[str, Plain], ...] = (
    {
        _EXT + "rbShape": "rectangle",
        _EXT + "rbUnit": "relative",
        _EXT + "rbX": Decimal("0.31"),
        _EXT + "rbY": Decimal("0.18"),
        _EXT + "rbW": Decimal("0.127"),
        _EXT + "rbH": Decimal("0.385"),
    },
    {
        _EXT + "rbShape": "circle",
        _EXT + "rbUnit": "pixel",
        _EXT + "rbX": Decimal(4800),
        _EXT + "rbY": Decimal(6000),
        _EXT + "rbRx": Decimal("720.5"),
    },
    {
        _EXT + "rbShape": "polygon",
        _EXT + "rbUnit": "relative",
        _EXT + "rbVertices": tuple(
            {_EXT + "rbX": Decimal(x), _EXT + "rbY": Decimal(y)} for x, y in (("0", "0.5"), ("0.5", "0"), ("1", "1"))
        ),
    },
)


def example_of(xmp_id: str) -> Plain:
    """Return a value of a property with every member of its structures filled, three regions for a region."""
    row = PROPERTIES[xmp_id]
    if row.struct == "ImageRegion":
        regions = [_struct("ImageRegion") for _ in _BOUNDARIES]
        return tuple(
            region | {_EXT + "RegionBoundary": boundary, _EXT + "PersonInImage": ("Ida Thornwick",)}
            for region, boundary in zip(regions, _BOUNDARIES, strict=True)
        )
    return _example(row, row.value_type, "")


def _struct(struct: str) -> dict[str, Plain]:
    return {
        xmp_id: _example(row, row.value_type, row.title)
        for xmp_id, row in MEMBERS[struct].items()
        if row.is_writable and row.value_type != "Struct<RegionBoundary>"
    }


def _example(row: Property | Member, value_type: str, words: str) -> Plain:
    if row.xmp_id in _GIVEN:
        given = _GIVEN[row.xmp_id]
        return tuple(given) if isinstance(given, list) else given
    outer, inner = parts_of(value_type)
    if outer in ("Bag", "Seq"):
        several = 1 if row.cardinality == "0..1" else 2
        return tuple(_example(row, inner, f"{words} {n}".strip()) for n in range(several))
    if outer == "Struct":
        return _struct(inner)
    words = f"{words} {WORDS}".strip()
    return {
        "LangAlt": {"x-default": words, "en": words, "fr": f"{words} (fr)"},
        "URI": f"https://example.org/{row.xmp_id.replace(':', '/')}?a=1&b=2#c",
        "Integer": 9600,
        "Real": Decimal("0.5"),
    }.get(outer, words)
