"""The reference samples: sidecars that others wrote, read as others read them."""

from __future__ import annotations

import csv
import re

import pytest

from catalog.errors import XmpError
from catalog.standards.xmp import format_packet, name, parse_packet, texts
from tests.standards.xmp_oracles import (
    SAMPLES,
    exempi_leaves,
    exiv2_values,
    needs_exempi,
    needs_samples,
    our_leaves,
)

SIDECARS = (
    "BlueSquare450.xmp",
    "all_value_forms.xmp",
    "attribute_form.xmp",
    "made_utf16le_bom.xmp",
    "made_utf8_bom_padded.xmp",
    "staff_photographer.xmp",
)


def manifest() -> dict[str, dict[str, str]]:
    with (SAMPLES / "MANIFEST.csv").open(encoding="utf-8", newline="") as rows:
        return {row["file"]: row for row in csv.DictReader(rows)}


@needs_samples
def test_every_sidecar_among_the_samples_is_named_here():
    assert sorted(path.name for path in SAMPLES.glob("*.xmp")) == sorted((*SIDECARS, "malformed_pi.xmp"))


@needs_samples
@pytest.mark.parametrize("file", SIDECARS)
def test_a_sample_is_read_and_written_again_without_loss(file):
    packet = parse_packet((SAMPLES / file).read_bytes())

    data = format_packet(packet)

    assert packet.properties
    assert parse_packet(data) == packet
    assert format_packet(parse_packet(data)) == data


@needs_samples
def test_the_malformed_sample_is_refused_where_it_is_damaged():
    # MANIFEST.csv: damaged xpacket instruction; its bytes 80 00 stand at offset 22.
    with pytest.raises(XmpError, match="not utf-8 text at byte 23 of 317"):
        parse_packet((SAMPLES / "malformed_pi.xmp").read_bytes())


# MANIFEST.csv, column exempi_2_6_3: "dc:title[1]=..."; of an array the first item, cut at 60 characters.
@needs_samples
@pytest.mark.parametrize("file", SIDECARS)
def test_values_are_those_the_manifest_gives_for_exempi(file):
    packet = parse_packet((SAMPLES / file).read_bytes())
    stated = re.findall(r"(\w+:\w+)(?:\[1\])?=(.*?)(?:; (?=\w+:\w)|$)", manifest()[file]["exempi_2_6_3"])

    for prop, text in stated:
        assert texts(packet.get(name(prop)))[0].startswith(text)


# MANIFEST.csv, column exiv2_0_28_9: "dc.title=lang=..."; arrays joined with ", " and cut at 60 characters.
@needs_samples
@pytest.mark.parametrize("file", SIDECARS)
def test_values_are_those_the_manifest_gives_for_exiv2(file):
    packet = parse_packet((SAMPLES / file).read_bytes())
    stated = re.findall(r"((?:dc|photoshop)\.\w+)=(.*?)(?:; (?=\w+\.\w)|$)", manifest()[file]["exiv2_0_28_9"])

    for prop, text in stated:
        value = packet.get(name(prop.replace(".", ":")))
        spelled = ", ".join(
            f'lang="{item.language}" {item.value}' if item.language else item.value
            for item in getattr(value, "items", (value,))
        )
        assert spelled.startswith(text[:40])


# Where exempi reads otherwise than we do, on purpose:
TITLE_IN_CZECH = ("http://purl.org/dc/elements/1.1/", "dc:title[2]")
INSTANCE = ("http://ns.adobe.com/xap/1.0/mm/", "xmpMM:InstanceID")
DISAGREEMENTS = {
    # Of two languages it puts the first's words into the second. We keep both: cases.md C03.
    "made_utf16le_bom.xmp": {TITLE_IN_CZECH: "Façade, Nordseite"},
    "made_utf8_bom_padded.xmp": {TITLE_IN_CZECH: "Façade, Nordseite"},
    # It moves an rdf:about of the form uuid: into xmpMM:InstanceID. We keep it where it is.
    "staff_photographer.xmp": {INSTANCE: "uuid:0f410644-9396-11d9-bb8e-a67e6693b6e9"},
}


@needs_samples
@needs_exempi
@pytest.mark.parametrize("file", SIDECARS)
def test_every_leaf_value_is_as_exempi_reads_it_or_named_here(file):
    data = (SAMPLES / file).read_bytes()
    ours = our_leaves(parse_packet(data))

    expected = ours | DISAGREEMENTS.get(file, {})

    assert exempi_leaves(format_packet(parse_packet(data))) == expected
    # exempi reads no bare rdf:RDF (MANIFEST.csv: nodes=0), so that one only as we write it.
    if file != "all_value_forms.xmp":
        utf8 = data.decode("utf-16") if data.startswith(b"\xff\xfe") else data.decode("utf-8-sig")
        assert exempi_leaves(utf8.encode()) == expected


@needs_samples
@pytest.mark.parametrize("file", SIDECARS)
def test_exiv2_reads_the_same_before_and_after_we_write_a_sample(file, tmp_path):
    # exiv2 refuses a bare rdf:RDF and UTF-16 (MANIFEST.csv), so for these two only our writing is looked at.
    path = tmp_path / file
    path.write_bytes(format_packet(parse_packet((SAMPLES / file).read_bytes())))
    after = exiv2_values(path)

    if manifest()[file]["exiv2_0_28_9"].startswith("refused"):
        assert after
    else:
        assert after == exiv2_values(SAMPLES / file)
