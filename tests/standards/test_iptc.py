"""The rows of the IPTC standard against the published table, and values in the form their row gives them."""

from __future__ import annotations

import csv
import re

import pytest

from catalog.errors import XmpError
from catalog.standards.iptc import DIGITAL_SOURCE_TYPES, MEMBERS, PROPERTIES, member_value, property_value
from catalog.standards.xmp import Array, Struct, Text, Uri, bag, lang_alt, name, seq
from tests.standards.xmp_oracles import REFERENCE

needs_reference = pytest.mark.skipif(
    not REFERENCE.is_dir(), reason="the reference tables are not here (../shared/reference)"
)


def published(table: str) -> list[dict[str, str]]:
    with (REFERENCE / table).open(encoding="utf-8", newline="") as rows:
        return list(csv.DictReader(rows))


# IPTC Photo Metadata Standard 2025.1, as tabulated in the reference: every row and every column we carry.
@needs_reference
def test_each_property_is_as_the_standard_has_it():
    rows = {row["xmp_id"]: row for row in published("iptc_properties.csv")}

    assert len(PROPERTIES) == 66
    assert list(PROPERTIES) == list(rows)
    for xmp_id, ours in PROPERTIES.items():
        row = rows[xmp_id]
        assert (ours.section, ours.title, ours.value_type, ours.cardinality) == (
            row["section"],
            row["name"],
            row["xmp_value_type"],
            row["cardinality"],
        )
        assert (ours.spec_section, ours.added_in, ours.category) == (
            row["spec_section"],
            row["added_in"],
            row["xmp_category"],
        )
        assert (ours.struct or "", ours.iim_dataset or "", ours.iim_second_dataset or "", ours.exif or "") == (
            row["struct"],
            row["iim_dataset"],
            row["iim_second_dataset"],
            row["exif_tag"],
        )
        assert str(ours.iim_max_octets or "") == row["iim_max_octets"]
        assert ours.is_closed == (row["closed_vocabulary"] == "yes")
        assert ours.name.uri == row["namespace_uri"]


@needs_reference
def test_each_member_of_a_structure_is_as_the_standard_has_it():
    rows = published("iptc_structures.csv")
    ours = [member for members in MEMBERS.values() for member in members.values()]

    assert len(MEMBERS) == 18
    assert len(ours) == 99
    assert [member.xmp_id for member in ours if not member.is_writable] == ["any:any"]
    for member, row in zip(ours, rows, strict=True):
        assert (member.struct, member.title, member.xmp_id, member.value_type, member.cardinality) == (
            row["struct"],
            row["member_name"],
            row["xmp_id"],
            row["xmp_value_type"],
            row["cardinality"],
        )
        assert (member.spec_section, member.added_in, member.category) == (
            row["spec_section"],
            row["added_in"],
            row["xmp_category"],
        )
        assert member.cardinality.startswith("1") == (row["required"] == "yes")
        assert not member.is_writable or member.name.uri == row["namespace_uri"]


def test_every_structure_a_property_or_a_member_holds_is_in_the_table():
    types = {row.value_type for row in PROPERTIES.values()}
    types |= {member.value_type for members in MEMBERS.values() for member in members.values()}

    held = {found for value_type in types for found in re.findall(r"Struct<(\w+)>", value_type)}

    assert held == set(MEMBERS)


@needs_reference
def test_namespaces_are_those_published():
    rows = {row["prefix"]: row["uri"] for row in published("namespaces.csv")}

    known = {prefix: uri for prefix, uri in rows.items() if prefix not in ("rdf", "x", "xml")}

    assert {prefix: name(f"{prefix}:any").uri for prefix in known} == known


def test_a_value_takes_the_form_of_its_row():
    assert property_value("dc:title", "Osk Mill") == lang_alt("Osk Mill")
    assert property_value("dc:title", "Osk Mill", language="en") == lang_alt("Osk Mill", "en")
    assert property_value("dc:subject", ["Hill, East", "mill"]) == bag(["Hill, East", "mill"])
    assert property_value("dc:creator", ["Ida Thornwick"]) == seq(["Ida Thornwick"])
    assert property_value("photoshop:DateCreated", "1978-08") == Text("1978-08")
    # XMP part 1 §7.5
    assert property_value("Iptc4xmpExt:DigitalSourceType", DIGITAL_SOURCE_TYPES["negative"]) == Uri(
        "http://cv.iptc.org/newscodes/digitalsourcetype/negativeFilm"
    )
    assert property_value(
        "Iptc4xmpExt:LocationShown", [{"Iptc4xmpExt:LocationName": "Osk", "Iptc4xmpExt:City": None}]
    ) == (Array("Bag", (Struct(((name("Iptc4xmpExt:LocationName"), lang_alt("Osk")),)),)))
    assert member_value("ArtworkOrObject", "Iptc4xmpExt:AOCreator", ["a", "b"]) == seq(["a", "b"])


@pytest.mark.parametrize("nothing", [None, "", [], [{}], [{"Iptc4xmpExt:City": ""}]])
def test_nothing_to_say_is_no_value(nothing):
    assert property_value("Iptc4xmpExt:LocationShown", nothing) is None


# XMP part 1 §8.2.1.1; what IIM or EDTF would allow is no XMP date.
@pytest.mark.parametrize(
    "date", ["1978~", "1978-00-00", "c. 1978", "78", "1978-13", "1978/1979", "1978-08-32", "1978 "]
)
def test_a_date_that_xmp_cannot_hold_is_refused(date):
    with pytest.raises(XmpError, match="YYYY"):
        property_value("photoshop:DateCreated", date)


def test_a_value_of_the_wrong_shape_is_refused():
    for xmp_id, wrong in (
        ("dc:subject", "one, two"),
        ("dc:title", ["a", "b"]),
        ("Iptc4xmpExt:LocationShown", ["Osk"]),
        ("Iptc4xmpExt:LocationShown", [{"dc:title": "Osk"}]),
    ):
        with pytest.raises(XmpError):
            property_value(xmp_id, wrong)
