"""
The official IPTC reference image 2023.2: every value as the list beside it has it, every disagreement by name.

Source: IPTC-PhotometadataRef-Std2023.2.jpg, © IPTC; the list is what exempi 2.6.3 reads from the file.
"""

from __future__ import annotations

import csv
import struct
from collections import Counter
from decimal import Decimal
from fractions import Fraction

import pytest

from catalog.errors import XmpError
from catalog.standards.iptc import PROPERTIES, read_property, validate, write_property
from catalog.standards.xmp import Array, Packet, parse_packet, spell
from tests.reference_samples import sample
from tests.standards.xmp_oracles import our_leaves

IMAGE = "IPTC-PhotometadataRef-Std2023.2.jpg"
EXT = "Iptc4xmpExt:"

# The four properties of 2025.1 are younger than the image.
YOUNGER = {
    EXT + local for local in ("AIPromptInformation", "AIPromptWriterName", "AISystemUsed", "AISystemVersionUsed")
}

# exempi adds to the XMP what it finds in the file's Exif block; the packet itself does not hold these.
FROM_EXIF = {
    *("tiff:XResolution", "tiff:YResolution", "tiff:ResolutionUnit", "tiff:YCbCrPositioning"),
    *("exif:ColorSpace", "exif:DateTimeOriginal", "exif:ExifVersion", "exif:FlashpixVersion"),
    *(f"exif:ComponentsConfiguration[{place}]" for place in (1, 2, 3, 4)),
}


@pytest.fixture(scope="module")
def packet() -> Packet:
    """The packet of the image's first APP1 segment with XMP (XMP part 3, JPEG)."""
    data = sample(IMAGE).read_bytes()
    mark = b"http://ns.adobe.com/xap/1.0/\0"
    start = data.index(mark)
    assert data[start - 4 : start - 2] == b"\xff\xe1"
    (length,) = struct.unpack(">H", data[start - 2 : start])
    return parse_packet(data[start + len(mark) : start - 2 + length])


def listed() -> dict[tuple[str, str], str]:
    path = sample(IMAGE).with_suffix(".values.csv")
    with path.open(encoding="utf-8", newline="") as rows:
        return {(row["schema_uri"], row["xmp_path"]): row["value"] for row in csv.DictReader(rows)}


def test_every_leaf_value_is_the_one_listed(packet):
    ours, theirs = our_leaves(packet), listed()

    assert len(theirs) > 250
    assert {path for _, path in theirs.keys() - ours.keys()} == FROM_EXIF
    assert {key: theirs[key] for key in ours.keys() & theirs.keys()} == {
        key: ours[key] for key in ours.keys() & theirs.keys()
    }
    assert ours.keys() - theirs.keys() == set()


def test_all_properties_are_filled_but_the_four_that_are_younger(packet):
    filled = {spell(named) for named, _ in packet}

    assert PROPERTIES.keys() - filled == YOUNGER
    # PLUS has more properties than the standard takes over; this one is in the image all the same.
    assert filled - PROPERTIES.keys() == {"plus:ImageCreatorImageID"}


def test_disagreements_with_the_standard_are_these_and_no_others(packet):
    """../shared/reference/README.md, "Known disagreements", one by one."""
    findings = [f for named, value in packet if spell(named) in PROPERTIES for f in validate(spell(named), value)]
    said = [(f.level, f.path, f.words) for f in findings]

    # Licensor: the standard's table says Bag.
    assert ("note", "plus:Licensor", "is an array of the kind Seq; the standard has Bag") in said
    # Location: the altitude's reference in the namespace of IPTC, not of Exif; three locations have one.
    renamed = [path for _, path, words in said if "the standard calls it exif:GPSAltitudeRef" in words]
    assert renamed == [
        f"{EXT}{place}/{EXT}GPSAltitudeRef" for place in ("LocationCreated[1]", "LocationShown[1]", "LocationShown[2]")
    ]
    # ProductId: text, where the standard has a Bag of URIs.
    assert [path for level, path, words in said if "read as one of it" in words and level == "note"] == [
        f"{EXT}ProductInImage[1]/{EXT}ProductId"
    ]
    # URIs: as text, all of them, where XMP part 1 §7.5 has rdf:resource.
    as_text = [path for _, path, words in said if words.startswith("is written as text")]
    assert len(as_text) == 38
    # Country codes: "R23" has a digit; ISO 3166-1 has none.
    assert {path.rpartition("/")[2] for level, path, _ in said if level == "warning"} == {
        "Iptc4xmpCore:CountryCode",
        f"{EXT}CountryCode",
    }
    # Identifiers: fillers with spaces where the type is URI.
    faults = [(path, words) for level, path, words in said if level == "fault"]
    assert all(words.endswith("is no URI: ' ' stands in no URI") for _, words in faults)
    assert sorted({path.rpartition("/")[2].partition("[")[0].removeprefix(EXT) for path, _ in faults}) == [
        *("AOCreatorId", "AOCurrentCopyrightOwnerId", "AOCurrentLicensorId", "AOSourceInvURL"),
        *("LocationId", "ProductId", "RegEntryRole"),
    ]
    assert Counter(level for level, _, _ in said) == {"note": 43, "fault": 13, "warning": 4}


def test_arrays_of_at_most_one_are_arrays(packet):
    """../shared/reference/README.md: LocationCreated and ImageSupplier are 0..1, and yet arrays."""
    for xmp_id, kind in ((EXT + "LocationCreated", "Bag"), ("plus:ImageSupplier", "Seq")):
        value = packet.get(PROPERTIES[xmp_id].name)

        assert isinstance(value, Array)
        assert (value.kind, len(value.items)) == (kind, 1)
        assert not [f for f in validate(xmp_id, value) if "values" in f.words]


def test_values_come_in_their_types(packet):
    def read(xmp_id):
        return read_property(xmp_id, packet.get(PROPERTIES[xmp_id].name))

    (created,) = read(EXT + "LocationCreated")

    assert created["exif:GPSAltitude"] == Fraction(480)  # 480/1
    assert created["exif:GPSAltitudeRef"] == 0  # found as Iptc4xmpExt:GPSAltitudeRef
    assert created["exif:GPSLatitude"] == Decimal("48.275")  # 48,16.5N
    assert created["exif:GPSLongitude"] == Decimal("16.338")  # 16,20.28E
    assert created[EXT + "LocationName"] == {"x-default": "Location Name (Location created1) (ref2023.2)"}
    assert read("xmp:Rating") == Decimal("1.0")
    assert read(EXT + "ModelAge") == (25, 27, 30)
    assert read("photoshop:DateCreated") == "2024-03-22T00:23:02+00:00"
    assert read(EXT + "ImageRegion")[2][EXT + "RegionBoundary"][EXT + "rbVertices"] == tuple(
        {EXT + "rbX": Decimal(x), EXT + "rbY": Decimal(y)}
        for x, y in (("0.05", "0.713"), ("0.148", "0.041"), ("0.375", "0.863"))
    )
    # PMD 2025.1 §12.6.6: a region holds properties of the standard too, each read by its own row.
    assert read(EXT + "ImageRegion")[0][EXT + "PersonInImage"] == ("Person name no 1 in region persltr1 (ref2023.2)",)
    assert [one["plus:LicensorCity"] for one in read("plus:Licensor")] == [
        "Licensor City 1 (ref2023.2)",
        "Licensor City 2 (ref2023.2)",
    ]
    assert read(EXT + "ProductInImage")[0][EXT + "ProductId"] == ("Product ID 1 (ref2023.2)",)


def test_what_is_read_can_be_written_and_reads_the_same(packet):
    refused = {}
    for named, value in packet:
        xmp_id = spell(named)
        if xmp_id not in PROPERTIES:
            continue
        plain = read_property(xmp_id, value)
        try:
            again = write_property(xmp_id, plain)
        except XmpError as error:
            refused[xmp_id] = str(error)
        else:
            assert read_property(xmp_id, again) == plain
            # What we write is the standard's own form: no notes, and URIs as rdf:resource.
            assert [f for f in validate(xmp_id, again) if f.level != "warning"] == []

    # The fillers of these are no URIs (above), and we write none that is not.
    assert all("stands in no URI" in reason for reason in refused.values())
    assert refused.keys() == {
        EXT + local for local in ("ArtworkOrObject", "LocationCreated", "LocationShown", "ProductInImage", "RegistryId")
    }
