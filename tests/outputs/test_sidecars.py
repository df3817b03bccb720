"""What a sidecar says, and what it never says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from catalog import clock
from catalog.errors import XmpError
from catalog.outputs import sidecar_pieces
from catalog.outputs.sidecar_captions import Doubt, FrameCaption, LensUsed, PlaceNamed, public_words
from catalog.outputs.sidecars import plan_sidecar, prepare
from catalog.standards.xmp import (
    TIEBEAM,
    Name,
    Packet,
    Text,
    Uri,
    bag,
    format_packet,
    lang_alt,
    name,
    parse_packet,
    texts,
)
from tests.outputs.a_caption import CERTAIN, DOUBTFUL, EVERYTHING, OSK_MILL, TARN_END
from tests.standards.xmp_oracles import (
    exempi_forms,
    exempi_leaves,
    exiv2_values,
    needs_exempi,
    our_forms,
    our_leaves,
)


def written(caption: FrameCaption, existing: Packet | None = None) -> Packet:
    with clock.fixed():
        return parse_packet(prepare(format_packet(existing) if existing else None, caption))


def said(packet: Packet, spelled: str) -> tuple[str, ...]:
    return texts(packet.get(name(spelled)))


def leaves_by_path(packet: Packet) -> dict[str, str]:
    return {path: text for (_, path), text in our_leaves(packet).items() if "?" not in path}


# ---- golden files


@pytest.mark.parametrize(("file", "caption"), [("s412_certain", CERTAIN), ("s87_doubtful", DOUBTFUL)])
def test_a_sidecar_is_written_as_it_always_was(golden, file, caption):
    with clock.fixed():
        data = prepare(None, caption)

    golden(f"sidecars/{file}.xmp", data)


# ---- the fit of facts to fields; source: IPTC PMD 2025.1, XMP parts 1 and 2, docs/standards/xmp.md


def test_each_fact_stands_in_the_field_the_standard_gives_it():
    packet = written(CERTAIN)

    assert packet.get(name("dc:title")) == lang_alt("Osk Mill, east elevation", "en")
    assert said(packet, "dc:description")[0] == "The wheel pit dry; sheet metal stacked by the door."
    assert said(packet, "dc:creator") == ("Ida Thornwick",)
    assert said(packet, "dc:rights")[0] == "© Ida Thornwick"
    assert said(packet, "xmpRights:UsageTerms")[0] == "For study; ask before printing."
    assert packet.get(name("dc:subject")) == bag(["water mill", "Osk Mill", "boards, sawn"])
    assert said(packet, "dc:source") == ("78-14",)
    assert said(packet, "photoshop:DateCreated") == ("1978-08-03",)
    assert said(packet, "xmp:CreateDate") == ("2010-01-05",)
    assert packet.get(name("Iptc4xmpExt:DigitalSourceType")) == Uri(
        "http://cv.iptc.org/newscodes/digitalsourcetype/negativeFilm"
    )
    assert said(packet, "exifEX:LensModel") == ("Kestrel Wide 90",)
    assert said(packet, "exifEX:LensMake") == ("Kestrel",)
    assert said(packet, "exif:FocalLength") == ("90/1",)
    assert said(packet, "exif:FNumber") == ("22/1",)
    assert said(packet, "exif:ExposureTime") == ("1/2",)
    assert said(packet, "tiff:Make") + said(packet, "tiff:Model") == ("Corvane", "Drum 2")


def test_places_and_buildings_stand_in_their_structures():
    found = leaves_by_path(written(CERTAIN))

    assert found["Iptc4xmpExt:LocationCreated[1]/Iptc4xmpExt:LocationName[1]"] == "Tarn End"
    assert found["Iptc4xmpExt:LocationCreated[1]/Iptc4xmpExt:Sublocation"] == "Tarn End"
    assert found["Iptc4xmpExt:LocationCreated[1]/Iptc4xmpExt:City"] == "Osk"
    assert found["Iptc4xmpExt:LocationCreated[1]/Iptc4xmpExt:ProvinceState"] == "Wennshire"
    assert found["Iptc4xmpExt:LocationCreated[1]/Iptc4xmpExt:CountryName"] == "Arlen"
    assert found["Iptc4xmpExt:LocationShown[1]/Iptc4xmpExt:City"] == "Osk"
    assert "Iptc4xmpExt:LocationShown[1]/Iptc4xmpExt:Sublocation" not in found
    assert found["Iptc4xmpExt:ArtworkOrObject[1]/Iptc4xmpExt:AOTitle[1]"] == "Osk Mill"
    assert found["Iptc4xmpExt:ArtworkOrObject[1]/Iptc4xmpExt:AOCreator[1]"] == "Amos Pell"
    assert found["Iptc4xmpExt:ArtworkOrObject[1]/Iptc4xmpExt:AOCircaDateCreated"] == "about 1790"
    assert "Iptc4xmpExt:ArtworkOrObject[1]/Iptc4xmpExt:AODateCreated" not in found
    assert found["Iptc4xmpExt:ArtworkOrObject[1]/Iptc4xmpExt:AOSourceInvNo"] == "WS 114"


def test_what_has_no_standard_field_stands_in_our_namespace():
    found = leaves_by_path(written(CERTAIN))

    expected = {
        "tiebeam:Sheet": "S412",
        "tiebeam:Scan": "C530",
        "tiebeam:Numbers[2]/tiebeam:Number": "14",
        "tiebeam:Numbers[2]/tiebeam:WrittenOn": "film edge",
        "tiebeam:Exposed/tiebeam:Edtf": "1978-08-03",
        "tiebeam:Exposed/tiebeam:Words": "3 August 1978",
        "tiebeam:Buildings[1]/tiebeam:Elevation": "east elevation",
        "tiebeam:Buildings[1]/tiebeam:Raised/tiebeam:Edtf": "1790~",
        "tiebeam:Film": "Norland Pan 100",
        "tiebeam:Format": "4 x 5 in",
        "tiebeam:Filter": "yellow",
        "tiebeam:Chronicle[2]": "Osk Mill, 1957 or 1958 (EDTF [1957,1958]): wheel taken out",
    }
    assert {path: found.get(path) for path in expected} == expected


# A shutter's fraction is what it is engraved with, not the decimal it is stored as.
@pytest.mark.parametrize(
    ("seconds", "fraction"),
    [
        (0.008, "1/125"),
        (1 / 3, "1/3"),
        (0.5, "1/2"),
        (1, "1/1"),
        (1.5, "3/2"),
        (90, "90/1"),
        (0, ""),
        (-1, ""),
    ],
)
def test_a_shutter_time_is_written_as_its_fraction(seconds, fraction):
    assert "".join(said(written(replace(CERTAIN, shutter_s=seconds)), "exif:ExposureTime")) == fraction


def test_an_aperture_between_stops_keeps_its_value():
    assert said(written(replace(CERTAIN, aperture=6.8)), "exif:FNumber") == ("34/5",)


def test_a_caption_that_knows_nothing_says_only_its_reference():
    packet = written(FrameCaption(reference="S1"))

    assert {named.local for named, _ in packet} == {"Sheet", "MetadataDate", "WrittenBy"}


# ---- doubt survives (design section 3, rule 2)


def test_a_doubtful_date_is_no_date_to_a_reader_and_stands_in_words():
    packet = written(DOUBTFUL)

    assert packet.get(name("photoshop:DateCreated")) is None
    assert "Exposed: about August 1978." in said(packet, "dc:description")[0].splitlines()
    found = leaves_by_path(packet)
    assert found["tiebeam:Exposed/tiebeam:Edtf"] == "1978-08~"
    assert found["tiebeam:Exposed/tiebeam:AsWritten"] == "Aug 78?"


def test_a_doubtful_building_is_named_with_its_doubt_and_nothing_more():
    packet = written(DOUBTFUL)

    artwork = packet.get(name("Iptc4xmpExt:ArtworkOrObject")).items[0]
    assert dict(artwork.fields) == {name("Iptc4xmpExt:AOTitle"): lang_alt("probably Osk Mill", "en")}
    place = packet.get(name("Iptc4xmpExt:LocationShown")).items[0]
    assert dict(place.fields) == {name("Iptc4xmpExt:LocationName"): lang_alt("possibly Osk", "en")}
    assert "Osk Mill" not in said(packet, "dc:subject")
    assert leaves_by_path(packet)["tiebeam:Buildings[1]/tiebeam:Certainty"] == "probable"
    assert "Shows probably Osk Mill." in said(packet, "dc:description")[0]


def test_a_doubtful_lens_fills_no_field_and_is_told_in_words():
    packet = written(DOUBTFUL)

    assert [packet.get(name(prop)) for prop in ("exifEX:LensModel", "exifEX:LensMake", "exif:FocalLength")] == [
        None
    ] * 3
    assert "Lens: possibly 90 mm or 120 mm; written “90 or 120”." in said(packet, "dc:description")[0]
    found = leaves_by_path(packet)
    assert found["tiebeam:Doubts[1]/tiebeam:AsWritten"] == "90 or 120"
    assert found["tiebeam:Doubts[1]/tiebeam:Alternatives[2]"] == "120 mm"
    assert found["tiebeam:Lens"] == "possibly Kestrel Wide 90"
    assert found["tiebeam:Film"] == "possibly Norland Pan 100"


DOUBTABLE = {
    "title": "dc:title",
    "creator": "dc:creator",
    "exposed": "photoshop:DateCreated",
    "number": "dc:source",
    "scanned_on": "xmp:CreateDate",
    "medium": "Iptc4xmpExt:DigitalSourceType",
    "lens": "exifEX:LensModel",
    "aperture": "exif:FNumber",
    "shutter": "exif:ExposureTime",
}


@pytest.mark.parametrize(("field", "prop"), DOUBTABLE.items())
def test_a_doubt_about_a_field_keeps_it_out_of_the_standards_field(field, prop):
    doubt = Doubt(field=field, as_written="so it says?")

    certain, doubtful = written(CERTAIN), written(replace(CERTAIN, doubts=(doubt,)))

    assert certain.get(name(prop)) is not None
    assert doubtful.get(name(prop)) is None
    assert "written “so it says?”" in said(doubtful, "dc:description")[0]


@pytest.mark.parametrize("field", ["building", "place", "taken_from"])
def test_a_doubt_that_names_none_falls_on_all_it_may_mean(field):
    caption = replace(CERTAIN, doubts=(Doubt(field=field, as_written="?"),))

    found = leaves_by_path(written(caption))

    path = {
        "building": "Iptc4xmpExt:ArtworkOrObject[1]/Iptc4xmpExt:AOTitle[1]",
        "place": "Iptc4xmpExt:LocationShown[1]/Iptc4xmpExt:LocationName[1]",
        "taken_from": "Iptc4xmpExt:LocationCreated[1]/Iptc4xmpExt:LocationName[1]",
    }[field]
    assert found[path].startswith("possibly ")


def test_an_uncertain_lens_without_a_wording_is_told_too():
    words = public_words(replace(CERTAIN, lens=LensUsed(focal_length_mm=90, certainty="probable")))

    assert "Lens: probably 90 mm." in words


def test_a_kind_of_place_that_no_field_fits_is_named_all_the_same():
    caption = FrameCaption(reference="S1", places=(PlaceNamed(name="the weir", kind="place"),))

    found = leaves_by_path(written(caption))

    assert found["Iptc4xmpExt:LocationShown[1]/Iptc4xmpExt:LocationName[1]"] == "the weir"
    assert found["Iptc4xmpExt:LocationShown[1]/Iptc4xmpExt:Sublocation"] == "the weir"


# ---- beside what others wrote (cases.md C01, C03)


FOREIGN = Packet(
    (
        (name("dc:title"), lang_alt("untitled")),
        (name("dc:subject"), bag(["Hill, East"])),
        (name("xmp:Rating"), Text("3")),
        (Name("http://example.org/unknown/1.0/", "mark"), Text("keep me", language="cy")),
    )
)


def test_an_existing_sidecar_keeps_what_is_not_ours():
    packet = written(CERTAIN, FOREIGN)

    assert said(packet, "xmp:Rating") == ("3",)
    assert said(packet, "dc:subject") == ("Hill, East", "water mill", "Osk Mill", "boards, sawn")
    assert packet.get(Name("http://example.org/unknown/1.0/", "mark")) == Text("keep me", language="cy")


def test_words_of_others_that_say_something_else_are_held_and_named():
    plan = plan_sidecar(format_packet(FOREIGN), CERTAIN)
    again = plan_sidecar(plan.data, replace(CERTAIN, title="Osk Mill"), kept=plan.base)

    assert plan.held == ("dc:title",)
    assert again.held == ("dc:title",)
    assert said(parse_packet(again.data), "dc:title") == ("untitled",)


def test_writing_the_same_again_changes_no_byte():
    with clock.fixed():
        first = plan_sidecar(format_packet(FOREIGN), CERTAIN)
    second = plan_sidecar(first.data, CERTAIN)

    assert first.is_changed
    assert not second.is_changed
    assert second.data == first.data


def test_what_we_no_longer_say_goes_and_what_others_added_stays():
    first = parse_packet(prepare(format_packet(FOREIGN), CERTAIN))
    edited = dict(first) | {
        name("dc:subject"): bag([*said(first, "dc:subject"), "added elsewhere"]),
        name("xmp:CreateDate"): Text("2010-01-06"),
    }

    second = written(FrameCaption(reference="S412", keywords=("water mill",)), Packet(tuple(edited.items())))

    assert said(second, "dc:subject") == ("Hill, East", "water mill", "added elsewhere")
    assert second.get(name("photoshop:DateCreated")) is None
    assert second.get(name("Iptc4xmpExt:ArtworkOrObject")) is None
    assert second.get(name("exif:FNumber")) is None
    assert said(second, "xmp:CreateDate") == ("2010-01-06",)  # changed elsewhere, so it is theirs now
    assert leaves_by_path(second)["tiebeam:Sheet"] == "S412"
    assert "tiebeam:Film" not in leaves_by_path(second)


def test_a_corrected_building_takes_the_place_of_the_wrong_one():
    first = prepare(None, CERTAIN)

    second = parse_packet(prepare(first, replace(CERTAIN, buildings=(replace(OSK_MILL, name="Tarn End Mill"),))))

    artworks = [text for path, text in leaves_by_path(second).items() if path.endswith("AOTitle[1]")]
    assert artworks == ["Tarn End Mill"]


def test_a_later_programs_property_in_our_namespace_is_kept():
    later = Name(TIEBEAM, "Edition")

    packet = written(CERTAIN, Packet(((later, Text("E3")),)))

    assert packet.get(later) == Text("E3")


def test_a_sidecar_that_cannot_be_read_is_refused():
    with pytest.raises(XmpError, match="not well-formed"):
        prepare(b"<x:xmpmeta", CERTAIN)
    with pytest.raises(XmpError, match="empty"):
        prepare(b"", CERTAIN)


# cases.md C05
def test_a_soft_return_from_an_old_database_becomes_a_line_break():
    packet = written(replace(CERTAIN, description="moved\x0bto new site"))

    assert said(packet, "dc:description")[0] == "moved\nto new site"


# ---- other readers


@needs_exempi
@pytest.mark.parametrize("caption", [CERTAIN, DOUBTFUL], ids=["certain", "doubtful"])
def test_exempi_reads_every_value_and_type(caption):
    data = prepare(None, caption)

    assert exempi_leaves(data) == our_leaves(parse_packet(data))
    assert exempi_forms(data) == our_forms(parse_packet(data))


def test_exiv2_reads_the_values_and_types(tmp_path):
    path = tmp_path / "1978-014.xmp"
    path.write_bytes(prepare(None, replace(CERTAIN, language=None)))

    found = exiv2_values(path)

    expected = {
        "Xmp.dc.title": ("LangAlt", 'lang="x-default" Osk Mill, east elevation'),
        "Xmp.dc.creator": ("XmpSeq", "Ida Thornwick"),
        "Xmp.dc.subject": ("XmpBag", "water mill, Osk Mill, boards, sawn"),
        "Xmp.dc.source": ("XmpText", "78-14"),
        "Xmp.photoshop.DateCreated": ("XmpText", "1978-08-03"),
        "Xmp.xmp.CreateDate": ("XmpText", "2010-01-05"),
        "Xmp.exif.FNumber": ("XmpText", "22/1"),
        "Xmp.exif.ExposureTime": ("XmpText", "1/2"),
        "Xmp.exif.FocalLength": ("XmpText", "90/1"),
        "Xmp.exifEX.LensModel": ("XmpText", "Kestrel Wide 90"),
        "Xmp.iptcExt.LocationShown[1]/Iptc4xmpExt:City": ("XmpText", "Osk"),
        "Xmp.iptcExt.LocationCreated[1]/Iptc4xmpExt:Sublocation": ("XmpText", TARN_END.name),
        "Xmp.iptcExt.ArtworkOrObject[1]/Iptc4xmpExt:AOTitle": ("LangAlt", 'lang="x-default" Osk Mill'),
        "Xmp.tiebeam.Exposed/tiebeam:Edtf": ("XmpText", "1978-08-03"),
    }
    assert {key: found.get(key) for key in expected} == expected


def test_every_property_we_write_in_our_namespace_is_in_its_table():
    from catalog.standards.xmp_tiebeam import MEMBERS, PROPERTIES

    tops = {row[0] for row in PROPERTIES}
    members = {row[0] for rows in MEMBERS.values() for row in rows}
    for caption in (CERTAIN, DOUBTFUL):
        for path in leaves_by_path(written(caption)):
            top, *below = [part.partition("[")[0].removeprefix("tiebeam:") for part in path.split("/")]
            if path.startswith("tiebeam:"):
                assert top in tops
                assert set(below) <= members


@pytest.mark.parametrize(
    "caption", [CERTAIN, DOUBTFUL, FrameCaption(reference="S1")], ids=["certain", "doubtful", "bare"]
)
def test_a_first_sidecar_is_what_merging_with_nothing_gives(caption):
    with clock.fixed():
        assert plan_sidecar(None, caption).data == plan_sidecar(format_packet(Packet()), caption).data


# ---- what need not be read again


def written_first(caption: FrameCaption) -> bytes:
    with clock.fixed():
        return prepare(None, caption)


def test_a_sidecar_that_says_it_all_is_not_even_parsed(monkeypatch):
    data = written_first(EVERYTHING)
    monkeypatch.setattr("catalog.outputs.sidecars.parse_packet", lambda _: pytest.fail("it was parsed"))

    plan = plan_sidecar(data, EVERYTHING, "Tiebeam 9.9", kept=data)

    assert (plan.is_changed, plan.data) == (False, data)


def test_a_word_of_others_beside_ours_is_seen_though_the_rest_is_as_we_wrote_it():
    data = written_first(EVERYTHING)
    rated = data.replace(b"   <xmp:Meta", b"   <xmp:Label>mill</xmp:Label>\n   <xmp:Meta")

    plan = plan_sidecar(rated, EVERYTHING, kept=rated)
    changed = plan_sidecar(rated, replace(EVERYTHING, title="Osk Mill"), kept=rated)

    assert not plan.is_changed
    assert changed.is_changed
    assert said(parse_packet(changed.data), "xmp:Label") == ("mill",)


def test_a_sidecar_of_an_earlier_catalogue_that_says_it_all_is_remembered():
    data = written_first(EVERYTHING)

    assert plan_sidecar(data, EVERYTHING, kept=b"").is_changed
    assert not plan_sidecar(data, EVERYTHING, kept=data).is_changed


def test_many_captions_are_written_alike_whether_their_parts_were_met_before_or_not():
    captions = [
        replace(EVERYTHING, reference=f"S{n}", title=f"Mill {n % 3}", keywords=(f"k{n % 5}",)) for n in range(40)
    ]
    first = [written_first(caption) for caption in captions]

    sidecar_pieces._kept.clear()

    assert [written_first(caption) for caption in reversed(captions)] == first[::-1]
    with clock.fixed():
        assert [plan_sidecar(format_packet(Packet()), caption).data for caption in captions] == first
