"""Any plain value of a property's type survives being written into a sidecar and read from it."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.standards.iptc import MEMBERS, PROPERTIES, read_property, validate, write_property
from catalog.standards.iptc_table import Member, Property, limits_of, parts_of
from catalog.standards.xmp import Array, Packet, Struct, Text, Uri, format_packet, name, parse_packet

# XML 1.0 [2]; the old databases' separators and the like become something else (xmp_values.clean_text).
LETTERS = st.characters(exclude_categories=("Cs", "Cc", "Cn"), include_characters="\n\t\r")
TEXTS = st.text(LETTERS, min_size=1, max_size=40)
URIS = st.from_regex(r"[a-z][a-z0-9+.-]{0,8}:[A-Za-z0-9/?#\[\]@!$&'()*+,;=.~%üЖ-]{1,30}", fullmatch=True)
LANGUAGES = st.sampled_from(["x-default", "en", "en-GB", "fr", "de-CH-1996", "cs", "zh-Hant"])
DAYS = st.dates(date(1000, 1, 1)).map(date.isoformat)
CLOCKS = st.times().map(time.isoformat)
ZONES = st.sampled_from(["", "Z", "+02:00", "-11:30"])
DATES = st.one_of(
    DAYS, DAYS.map(lambda day: day[:7]), DAYS.map(lambda day: day[:4]), st.builds("{}T{}{}".format, DAYS, CLOCKS, ZONES)
)


def decimals(low, high, places):
    return st.decimals(low, high, allow_nan=False, places=places)


SIMPLE = {
    "Text": TEXTS,
    "URI": URIS,
    "Date": DATES,
    "Integer": st.integers(-(10**39), 10**39),
    "Real": decimals(-(10**6), 10**6, 6),
    "Rational": st.fractions(min_value=-(10**9), max_value=10**9, max_denominator=10**9),
}
OWN = {
    "xmp:Rating": st.one_of(st.just(Decimal(-1)), decimals(0, 5, 2)),
    "exif:GPSLatitude": decimals(-90, 90, 9),
    "exif:GPSLongitude": decimals(-180, 180, 9),
    "Iptc4xmpExt:rbUnit": st.sampled_from(["pixel", "relative"]),
}


def languages() -> st.SearchStrategy:
    return st.dictionaries(LANGUAGES, TEXTS, min_size=1, max_size=5)  # x-default is put first, so any order


def boundaries() -> st.SearchStrategy:
    ext = "Iptc4xmpExt:rb"
    shapes = {"rectangle": "XYWH", "circle": "XY"}
    measure = decimals(0, 1, 4)

    def drawn(shape: str) -> st.SearchStrategy:
        members = {ext + "Shape": st.just(shape), ext + "Unit": OWN["Iptc4xmpExt:rbUnit"]}
        members |= {ext + axis: measure for axis in shapes.get(shape, "")}
        if shape == "circle":
            members[ext + "Rx"] = measure
        if shape == "polygon":
            points = st.fixed_dictionaries({ext + "X": measure, ext + "Y": measure})
            members[ext + "Vertices"] = st.lists(points, min_size=3, max_size=5).map(tuple)
        return st.fixed_dictionaries(members)

    return st.one_of(*(drawn(shape) for shape in ("rectangle", "circle", "polygon")))


def structures(struct: str) -> st.SearchStrategy:
    if struct == "RegionBoundary":
        return boundaries()
    rows = [row for row in MEMBERS[struct].values() if row.is_writable]
    required = {row.xmp_id: plains(row, row.value_type) for row in rows if limits_of(row.cardinality)[0]}
    optional = {row.xmp_id: plains(row, row.value_type) for row in rows if row.xmp_id not in required}
    return st.fixed_dictionaries(required, optional=optional).filter(bool)


def plains(row: Property | Member, value_type: str) -> st.SearchStrategy:
    """Return values of a row's type, in the shape that reading gives."""
    if row.xmp_id in OWN:
        return OWN[row.xmp_id]
    outer, inner = parts_of(value_type)
    if outer in ("Bag", "Seq"):
        most = limits_of(row.cardinality)[1] or 3
        return st.lists(plains(row, inner), min_size=1, max_size=most).map(tuple)
    if outer == "Struct":
        return structures(inner)
    return languages() if outer == "LangAlt" else SIMPLE[outer]


@pytest.mark.parametrize("xmp_id", PROPERTIES)
@settings(max_examples=25)  # of each of 66 properties
@given(data=st.data())
def test_a_value_survives_write_and_read(xmp_id, data):
    plain = data.draw(plains(PROPERTIES[xmp_id], PROPERTIES[xmp_id].value_type))

    value = write_property(xmp_id, plain)
    sidecar = format_packet(Packet(((PROPERTIES[xmp_id].name, value),)))
    ((_, found),) = parse_packet(sidecar)

    assert found == value
    assert read_property(xmp_id, found) == plain
    assert {finding.level for finding in validate(xmp_id, found)} <= {"warning"}


@given(st.fractions(-90, 90))
def test_any_latitude_is_kept_to_a_tenth_of_a_millimetre(degrees):
    value = write_property("Iptc4xmpExt:LocationShown", [{"exif:GPSLatitude": degrees}])

    (location,) = read_property("Iptc4xmpExt:LocationShown", value)

    assert abs(Fraction(location["exif:GPSLatitude"]) - degrees) <= Fraction(1, 2 * 10**9)


def values() -> st.SearchStrategy:
    """Return any XMP values, made without regard to the standard."""
    tongues = st.none() | LANGUAGES | TEXTS
    spelled = TEXTS | st.from_regex(r"[0-9]{0,3}[,./-][0-9]{0,3}[,./NSEW-]?[0-9]{0,3}", fullmatch=True)
    leaves = st.builds(Text, spelled, language=tongues) | st.builds(Uri, spelled, language=tongues)
    names = [row.name for members in MEMBERS.values() for row in members.values() if row.is_writable]
    fields = st.sampled_from([*names, name("dc:title"), name("Iptc4xmpExt:GPSAltitudeRef")])

    def nested(inner: st.SearchStrategy) -> st.SearchStrategy:
        arrays = st.builds(Array, st.sampled_from(["Bag", "Seq", "Alt"]), st.lists(inner, max_size=4).map(tuple))
        structs = st.dictionaries(fields, inner, max_size=4).map(lambda pairs: Struct(tuple(pairs.items())))
        return arrays | structs

    return st.recursive(leaves, nested, max_leaves=8)


@given(st.sampled_from(list(PROPERTIES)), values())
def test_whatever_others_wrote_is_read_and_looked_at_without_a_failure(xmp_id, value):
    plain = read_property(xmp_id, value)
    findings = validate(xmp_id, value)

    assert isinstance(plain, str | int | Decimal | Fraction | tuple | dict)
    assert all(finding.path.startswith(xmp_id) and finding.words for finding in findings)
