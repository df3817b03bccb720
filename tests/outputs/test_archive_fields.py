"""
Every fact of the archive in the field the standard gives it, and out of it where the fact is in doubt.

The facts and their fields are those of the reference ``archive_field_mapping.csv``, restated row by row. A catalogue is
filled by its own deeds, once certain and once doubtful in everything; what is compared is what exempi reads.
"""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest

from catalog.actions.buildings import add_building, add_chronicle_entry
from catalog.actions.editions import open_edition
from catalog.actions.kit import add_camera, add_film, add_lens
from catalog.actions.ledger import EntryFacts, Subject, write_in_ledger
from catalog.actions.notes import add_note
from catalog.actions.persons import add_person
from catalog.actions.places import add_place
from catalog.actions.prints import pull_prints
from catalog.actions.scans import add_scans
from catalog.actions.sheets import Number, add_sheet
from catalog.actions.standpoints import add_standpoint
from catalog.actions.views import Shown
from catalog.errors import SettingsError
from catalog.outputs.captions import CaptionMaker, House
from catalog.outputs.sidecar_captions import MadeFrom
from catalog.outputs.sidecar_fields import properties_of
from catalog.outputs.sidecars import plan_sidecar, prepare
from catalog.rules.doubt import parse_doubt
from catalog.rules.editions import SizePlan
from catalog.rules.money import Money
from catalog.rules.spans import FrameTime
from catalog.standards.xmp import TIEBEAM, Packet, Text, format_packet, name, parse_packet, spell
from catalog.standards.xmp_tiebeam import PROPERTIES
from catalog.store.archive import Archive, open_archive
from catalog.store.captions import read_gazette
from tests.builders import dated, rows
from tests.outputs.a_caption import CERTAIN, DOUBTFUL, EVERYTHING
from tests.picture_files import ASCII, RATIONAL, SHORT
from tests.scan_archives import a_scan
from tests.sidecar_archives import write_all
from tests.standards.xmp_oracles import exempi_leaves, exiv2_values, needs_exempi
from tests.store.archives import an_archive

REFERENCE = Path(__file__).parents[3] / "shared" / "reference" / "archive_field_mapping.csv"
SHOWN, CREATED = "Iptc4xmpExt:LocationShown", "Iptc4xmpExt:LocationCreated"
WORK = "Iptc4xmpExt:ArtworkOrObject[1]/Iptc4xmpExt:"

# The fact, the fields and values of a certain one, and the fields that stay empty when it is in doubt.
ROWS = {
    "negative exposure date (exact or year or year-month)": (
        {"photoshop:DateCreated": "1978-08", "tiebeam:Exposed/tiebeam:Edtf": "1978-08"},
        ("photoshop:DateCreated",),
    ),
    "negative exposure date (circa or range or season)": (
        {},
        ("photoshop:DateCreated",),
    ),
    "scan date": ({"xmp:CreateDate": "2007-02-11"}, ()),
    "origin is film": (
        {
            "Iptc4xmpExt:DigitalSourceType": "http://cv.iptc.org/newscodes/digitalsourcetype/negativeFilm",
            "exif:FileSource": "1",
            "tiebeam:Medium": "negative",
        },
        ("Iptc4xmpExt:DigitalSourceType", "exif:FileSource"),
    ),
    "sheet accession or negative number": (
        {
            "dc:source": "78-14",
            "xmp:Identifier[1]": "78-14",
            "xmp:Identifier[1]/?xmpidq:Scheme": "yearly",
            "xmp:Identifier[2]": "B3",
            "tiebeam:Numbers[2]/tiebeam:WrittenOn": "film edge",
        },
        # Of two numbers one is in doubt: the other is then the only item.
        ("dc:source", "xmp:Identifier[2]"),
    ),
    "scan or version identity": (
        {
            "xmpMM:DocumentID": re.compile("xmp.did:[0-9a-f-]{36}"),
            "xmpMM:InstanceID": re.compile("xmp.iid:[0-9a-f-]{36}"),
            "xmpMM:OriginalDocumentID": re.compile("xmp.did:[0-9a-f-]{36}"),
        },
        (),
    ),
    # A scan is made from film; sidecars of versions come with the versions. See the test below.
    "edit version from scan": ({"xmpMM:DerivedFrom/stRef:documentID": None}, ()),
    "film stock and batch": (
        {"tiebeam:Film": "Ostrane Pan 100", "tiebeam:FilmSpeed": "100"},
        ("tiebeam:FilmSpeed",),
    ),
    "film format (4x5in)": ({"tiebeam:Format": "4x5", "dc:format": None}, ()),
    "camera body (film)": (
        {"tiebeam:Camera": "Corvane Field 45", "tiff:Make": "Tessaly", "tiff:Model": "Flatfield 4800"},
        (),
    ),
    "lens name": (
        {"exifEX:LensModel": "Kestrel Wide", "exifEX:LensMake": "Kestrel", "aux:Lens": "Kestrel Wide"},
        ("exifEX:LensModel", "exifEX:LensMake", "aux:Lens"),
    ),
    "lens focal length": (
        {
            "exif:FocalLength": "90/1",
            "exifEX:LensSpecification[1]": "90/1",
            "exifEX:LensSpecification[2]": "90/1",
            "exifEX:LensSpecification[3]": "8/1",
            "exifEX:LensSpecification[4]": "8/1",
        },
        ("exif:FocalLength", "exifEX:LensSpecification[1]"),
    ),
    "aperture and exposure time": (
        {"exif:FNumber": "22/1", "exif:ExposureTime": "1/2"},
        ("exif:FNumber", "exif:ExposureTime"),
    ),
    "film speed used": ({"exifEX:PhotographicSensitivity": "64"}, ("exifEX:PhotographicSensitivity",)),
    "movements (rise or tilt) and filter and development": (
        {
            "tiebeam:Movements": "rise 15 mm, tilt 2°",
            "tiebeam:Filter": "yellow",
            "tiebeam:Development": "N-1",
            "tiebeam:Holder": "7B",
            "tiebeam:Extension": "120 mm",
        },
        (),
    ),
    "scanner maker and model": ({"tiff:Make": "Tessaly", "tiff:Model": "Flatfield 4800"}, ()),
    "scan resolution": (
        {"tiff:XResolution": "2400/1", "tiff:YResolution": "2400/1", "tiff:ResolutionUnit": "2"},
        (),
    ),
    "building name": (
        {
            f"{WORK}AOTitle[1]": "Osk Mill",
            f"{SHOWN}[2]/Iptc4xmpExt:LocationName[1]": "Osk Mill",
            f"{SHOWN}[2]/exif:GPSLatitude": "52,9.858N",
            f"{SHOWN}[2]/exif:GPSLongitude": "3,1.152W",
        },
        (f"{SHOWN}[2]/Iptc4xmpExt:LocationName[1]",),
    ),
    "building identifier (heritage number)": (
        {
            f"{WORK}AOSourceInvNo": "Wennshire list of mills, no. 3",
            f"{WORK}AOSourceInvURL": "https://example.org/mills/3",
            f"{SHOWN}[2]/Iptc4xmpExt:LocationId[1]": "https://example.org/mills/3",
        },
        (f"{WORK}AOSourceInvNo", f"{WORK}AOSourceInvURL"),
    ),
    "architect": ({f"{WORK}AOCreator[1]": "Amos Tarry"}, (f"{WORK}AOCreator[1]",)),
    "building date": ({f"{WORK}AODateCreated": "1790"}, (f"{WORK}AODateCreated", f"{WORK}AOCircaDateCreated")),
    # The catalogue holds no styles (docs/standards/xmp.md).
    "building style": ({f"{WORK}AOStylePeriod[1]": None}, ()),
    "place of the camera": (
        {
            f"{CREATED}[1]/Iptc4xmpExt:LocationName[1]": "mill bridge",
            f"{CREATED}[1]/Iptc4xmpExt:City": "Osk",
            f"{CREATED}[1]/exif:GPSLatitude": "52,9.84N",
            f"{CREATED}[1]/exif:GPSLongitude": "3,1.158W",
            f"{CREATED}[1]/exif:GPSAltitude": None,
        },
        (f"{CREATED}[1]/Iptc4xmpExt:City", f"{CREATED}[1]/exif:GPSLatitude", f"{CREATED}[1]/exif:GPSLongitude"),
    ),
    "place of the building": (
        {
            f"{SHOWN}[1]/Iptc4xmpExt:LocationName[1]": "Tarn End",
            f"{SHOWN}[1]/Iptc4xmpExt:Sublocation": "Tarn End",
            f"{SHOWN}[1]/Iptc4xmpExt:City": "Osk",
            f"{SHOWN}[1]/Iptc4xmpExt:ProvinceState": "Wennshire",
            f"{SHOWN}[1]/Iptc4xmpExt:CountryName": "Arlen",
            f"{SHOWN}[1]/exif:GPSLatitude": "52,10.92N",
            f"{SHOWN}[1]/exif:GPSLongitude": "3,3.12W",
            "Iptc4xmpCore:Location": "Tarn End",
            "photoshop:City": "Osk",
            "photoshop:State": "Wennshire",
            "photoshop:Country": "Arlen",
            "Iptc4xmpCore:CountryCode": None,
        },
        (
            f"{SHOWN}[1]/Iptc4xmpExt:City",
            f"{SHOWN}[1]/exif:GPSLatitude",
            "Iptc4xmpCore:Location",
            "photoshop:City",
            "photoshop:State",
            "photoshop:Country",
        ),
    ),
    "caption and notes for the public": (
        {
            "dc:title[1]": "The mill from the bridge",
            "dc:description[1]": re.compile("The wheel pit dry.\n.*", re.DOTALL),
            "photoshop:Headline": None,
        },
        ("dc:title[1]",),
    ),
    "working notes": ({"photoshop:Instructions": None}, ()),
    "photographer": (
        {"dc:creator[1]": "Ida Thornwick", "plus:ImageCreator[1]/plus:ImageCreatorName": "Ida Thornwick"},
        (),
    ),
    "copyright": (
        {
            "dc:rights[1]": "© Ida Thornwick",
            "plus:CopyrightOwner[1]/plus:CopyrightOwnerName": "Thornwick estate",
            "xmpRights:Marked": "True",
            "xmpRights:Owner[1]": "Thornwick estate",
        },
        (),
    ),
    "licence terms": (
        {
            "xmpRights:UsageTerms[1]": "For study; ask before printing.",
            "xmpRights:WebStatement": "https://example.org/rights",
            "plus:Licensor[1]/plus:LicensorName": "Thornwick estate",
            "plus:Licensor[1]/plus:LicensorURL": "https://example.org/licence",
            "plus:DataMining": "http://ns.useplus.org/ldf/vocab/DMI-PROHIBITED",
            "plus:OtherConstraints[1]": "Not to be cropped.",
        },
        (),
    ),
    "credit line": ({"photoshop:Credit": "Ida Thornwick, Wenn valley archive"}, ()),
    "print number and edition and paper and size and process": (
        {
            "tiebeam:Editions[1]/tiebeam:Edition": "E1",
            "tiebeam:Editions[1]/tiebeam:Statement": "Fifteen prints and two artist's proofs.",
            "tiebeam:Editions[1]/tiebeam:Run": "of 15",
            "tiebeam:Editions[1]/tiebeam:PrintNumber": "1/15",
            "tiebeam:Editions[1]/tiebeam:Process": "pigment inks",
            "tiebeam:Editions[1]/tiebeam:Paper": "cotton, 310 g",
            "tiebeam:Editions[1]/tiebeam:Size": "40 x 50 cm on 50 x 60 cm",
            "tiebeam:Editions[2]/tiebeam:PrintNumber": "AP I/II",
            "tiebeam:Editions[2]/tiebeam:Run": "artist's proof",
            "tiebeam:Editions[3]/tiebeam:PrintNumber": None,
        },
        (),
    ),
}  # fmt: skip

RIGHTS = """
[rights]
notice = "© Ida Thornwick"
usage_terms = "For study; ask before printing."
credit = "Ida Thornwick, Wenn valley archive"
owner = "Thornwick estate"
web_statement = "https://example.org/rights"
licensor = "Thornwick estate"
licensor_url = "https://example.org/licence"
data_mining = "DMI-PROHIBITED"
other_constraints = "Not to be cropped."
"""
DOUBTED = {
    "number": "78-14?", "lens": "90 or 120", "aperture": "f/22?", "shutter": "half a second?", "film": "Ostrane?",
    "medium": "negative?", "title": "mill?", "camera": "Corvane?", "filter": "yellow?",
}  # fmt: skip


def an_archive_that_says(folder: Path, *, doubtful: bool) -> Path:
    """Fill an archive with a frame of Osk Mill, every fact of it certain or in doubt; return its sidecar, written."""
    archive = with_rights(an_archive(folder))
    arlen = add_place(archive, name="Arlen", kind="country")
    wennshire = add_place(archive, name="Wennshire", kind="county", parent_id=arlen)
    osk = add_place(archive, name="Osk", kind="village", parent_id=wennshire)
    tarn_end = add_place(
        archive, name="Tarn End", kind="hamlet", parent_id=osk, latitude_deg=52.182, longitude_deg=-3.052
    )
    mill = add_building(
        archive, name="Osk Mill", identifier="Wennshire list of mills, no. 3, https://example.org/mills/3",
        place_id=tarn_end, latitude_deg=52.1643, longitude_deg=-3.0192,
        wordings={"site": parse_doubt("by the bridge?")} if doubtful else None,
    )  # fmt: skip
    add_chronicle_entry(
        archive, mill, kind="raised", date=dated("1790"), text="Built for the manor.",
        doer="Amos Tarry?" if doubtful else "Amos Tarry",
    )  # fmt: skip
    standpoint = add_standpoint(
        archive, words="mill bridge", place_id=osk, latitude_deg=52.164, longitude_deg=-3.0193, height_m=1.6
    )
    sheet = add_sheet(
        archive,
        numbers=[Number("78-14", "yearly", "sleeve"), Number("B3", "box", "film edge")],
        shows=[Shown(building_id=mill, is_principal=True, certainty="probable" if doubtful else "certain")],
        title="The mill from the bridge",
        standpoint_id=standpoint,
        standpoint_certainty="possible" if doubtful else "certain",
        wordings={field: parse_doubt(words) for field, words in DOUBTED.items()} if doubtful else None,
        exposed=dated("c. 1978" if doubtful else "August 1978"),
        lens_id=add_lens(archive, focal_length_mm=90, name="Kestrel Wide", maker="Kestrel", widest_f_number=8),
        camera_id=add_camera(archive, name="Corvane Field 45"),
        film_id=add_film(archive, name="Ostrane Pan 100", iso=100),
        aperture_f=22, shutter_s=0.5, medium="negative", format="4x5", filter="yellow", development="N-1",
        rise_mm=15, tilt_deg=2, holder_side="7B", extension_mm=120,
    )  # fmt: skip
    add_note(archive, about="sheet", about_id=sheet, heading="caption", text="The wheel pit dry.")
    add_note(
        archive, about="sheet", about_id=sheet, heading="Exposure index", text="about 64?" if doubtful else "EI 64"
    )
    add_note(archive, about="sheet", about_id=sheet, heading="Remarks", text="Neg. with the printer.")
    with_prints(archive, sheet)
    said = ((271, "Tessaly"), (272, "Flatfield 4800"), (306, "2007:02:11 10:00:00"))
    entries = tuple((tag, ASCII, text.encode() + b"\0") for tag, text in said)
    a_scan(archive.folder / "scans" / "78-14.tif", 7, entries=(*entries, *RESOLUTION))
    add_scans(archive, [archive.folder / "scans"])
    assert [one.outcome for one in write_all(archive)] == ["written"]
    return archive.folder / "scans" / "78-14.xmp"


def with_prints(archive: Archive, sheet: int) -> None:
    """Open an edition of a sheet's view and pull three prints of it: one is sold, one destroyed, one is a proof."""
    opened = open_edition(
        archive, 1, statement="Fifteen prints and two artist's proofs.", limit=15, sheet_ids=[sheet],
        sizes=[SizePlan("large", "40 x 50 cm", "50 x 60 cm")], sizes_count="each size", proofs=[("AP", 2)],
        process="pigment inks",
    )  # fmt: skip
    (run,) = rows(archive, "SELECT id FROM run WHERE edition_id = ?", opened.edition_id)
    pull_prints(archive, run, count=2, paper="cotton, 310 g")
    pull_prints(archive, run, series="AP", paper="cotton, 310 g")
    destroy = rows(archive, "SELECT p.id FROM print p JOIN print_number n ON n.id = p.print_number_id"
                            " WHERE n.written = '2/15'")  # fmt: skip
    write_in_ledger(archive, "destroyed", [Subject(print_id=destroy[0])], EntryFacts(words="water damage"))
    sold = EntryFacts(person_id=add_person(archive, name="Nan Pethick"), price=Money(43_217, "EUR"))
    write_in_ledger(archive, "sold", [Subject(print_id=1)], sold)


# TIFF 6.0 tags 282, 283 and 296: 2400 to the inch.
RESOLUTION = ((282, RATIONAL, [2400, 1]), (283, RATIONAL, [2400, 1]), (296, SHORT, [2]))


def with_rights(archive: Archive) -> Archive:
    """Give an archive settings about rights."""
    path = archive.folder / "tiebeam.toml"
    kept = re.sub(r"\[rights\]\n.*?(?=\n\[)", RIGHTS, path.read_text("utf-8"), flags=re.DOTALL)
    path.write_text(kept, "utf-8")
    return open_archive(archive.folder)


@pytest.fixture(scope="module")
def certain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return an_archive_that_says(tmp_path_factory.mktemp("certain") / "wenn", doubtful=False)


@pytest.fixture(scope="module")
def doubtful(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return an_archive_that_says(tmp_path_factory.mktemp("doubtful") / "wenn", doubtful=True)


def leaves(path: Path) -> dict[str, str]:
    return {at: value for (_, at), value in exempi_leaves(path.read_bytes()).items()}


@pytest.mark.skipif(not REFERENCE.is_file(), reason="the reference tables are not here (../shared/reference)")
def test_every_fact_of_the_reference_has_its_row_here():
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        facts = [row["archive_fact"] for row in csv.DictReader(file)]

    assert list(ROWS) == facts


@needs_exempi
@pytest.mark.parametrize("fact", ROWS)
def test_a_fact_stands_in_the_field_the_standard_gives_it(certain, fact):
    expected, _ = ROWS[fact]

    found = leaves(certain)

    for field, value in expected.items():
        if isinstance(value, re.Pattern):
            assert value.fullmatch(found[field])
        else:
            assert found.get(field) == value, field


@needs_exempi
@pytest.mark.parametrize("fact", [fact for fact, (_, empty) in ROWS.items() if empty])
def test_a_fact_in_doubt_fills_none_of_those_fields(certain, doubtful, fact):
    expected, empty = ROWS[fact]

    found = leaves(doubtful)

    assert {field: found.get(field) for field in empty} == dict.fromkeys(empty)
    # The fields are those that a certain fact fills: a misspelled one would be empty too.
    assert set(empty) <= set(leaves(certain)) | {f"{WORK}AOCircaDateCreated"}
    assert set(expected) or fact.startswith("negative exposure date (circa")


@needs_exempi
def test_what_is_in_doubt_is_told_in_words_and_in_our_namespace(doubtful):
    found = leaves(doubtful)

    assert found["tiebeam:Exposed/tiebeam:Edtf"] == "1978~"
    assert found["tiebeam:Buildings[1]/tiebeam:Certainty"] == "probable"
    assert found["tiebeam:Camera"] == "possibly Corvane Field 45"
    assert found["tiebeam:Filter"] == "possibly yellow"
    assert found["tiebeam:Chronicle[1]"] == "probably Osk Mill, 1790: Built for the manor."
    assert {found[at] for at in found if at.endswith("tiebeam:AsWritten")} >= set(DOUBTED.values())
    assert "Exposed: about 1978." in found["dc:description[1]"]
    assert "Neg. with the printer" not in doubtful.read_text("utf-8")


def test_exiv2_finds_the_new_fields_as_exempi_does(certain):
    found = exiv2_values(certain)

    expected = {
        "Xmp.photoshop.City": ("XmpText", "Osk"),
        "Xmp.iptc.Location": ("XmpText", "Tarn End"),
        "Xmp.plus.ImageCreator[1]/plus:ImageCreatorName": ("XmpText", "Ida Thornwick"),
        "Xmp.xmpRights.Marked": ("XmpText", "True"),
        "Xmp.xmpRights.Owner": ("XmpBag", "Thornwick estate"),
        "Xmp.tiff.XResolution": ("XmpText", "2400/1"),
        "Xmp.exif.FileSource": ("XmpText", "1"),
        "Xmp.exifEX.PhotographicSensitivity": ("XmpText", "64"),
        "Xmp.exifEX.LensSpecification": ("XmpSeq", "90/1, 90/1, 8/1, 8/1"),
        "Xmp.iptcExt.LocationShown[2]/exif:GPSLatitude": ("XmpText", "52,9.858N"),
    }
    assert {key: found.get(key) for key in expected} == expected


def test_who_has_a_print_and_what_was_paid_for_it_stay_at_home(certain):
    text = certain.read_text("utf-8")

    assert "1/15" in text
    assert not re.search("Pethick|432|EUR|sold|destroyed|water damage|2/15", text)


# ---- what a scan of this catalogue does not have yet


def test_a_version_says_which_picture_it_was_made_from():
    made = MadeFrom(document_id="xmp.did:1", instance_id="xmp.iid:2", file_name="78-14.tif")
    packet = parse_packet(prepare(None, replace(EVERYTHING, made_from=made)))

    derived = packet.get(name("xmpMM:DerivedFrom"))
    assert {spell(named): value.value for named, value in derived.fields} == {
        "stRef:documentID": "xmp.did:1",
        "stRef:instanceID": "xmp.iid:2",
        "stRef:filePath": "78-14.tif",
    }
    assert packet.get(name("xmpMM:OriginalDocumentID")) is None


@needs_exempi
def test_a_print_is_told_with_its_edition_and_what_it_is_made_of(tmp_path):
    path = tmp_path / "78-14.xmp"
    path.write_bytes(prepare(None, EVERYTHING))

    found = leaves(path)

    assert {at: value for at, value in found.items() if at.startswith("tiebeam:Editions")} == {
        "tiebeam:Editions[1]/tiebeam:Edition": "E3",
        "tiebeam:Editions[1]/tiebeam:Statement": "Fifteen and three proofs.",
        "tiebeam:Editions[1]/tiebeam:Run": "of 15",
        "tiebeam:Editions[1]/tiebeam:PrintNumber": "7/15",
        "tiebeam:Editions[1]/tiebeam:Process": "pigment inks",
        "tiebeam:Editions[1]/tiebeam:Paper": "cotton, 310 g",
        "tiebeam:Editions[1]/tiebeam:Size": "40 x 50 cm",
    }


# ---- the pages say what is written


def documented_fields() -> set[str]:
    """Return the properties in the middle column of the table of docs/standards/xmp.md."""
    page = (Path(__file__).parents[2] / "docs" / "standards" / "xmp.md").read_text("utf-8")
    table = page.partition("## Which fact goes where")[2].partition("In a location")[0]
    cells = [line.split("|")[2] for line in table.splitlines() if line.startswith("| ")][1:]
    return set(re.findall(r"`([A-Za-z0-9]+:[A-Za-z]+)`", " ".join(cells)))


def test_the_page_names_every_field_that_is_written_and_no_other():
    captions = (
        CERTAIN, DOUBTFUL, EVERYTHING,
        replace(EVERYTHING, file_ppi=None, worked_out_ppi=2400, made_from=MadeFrom(document_id="xmp.did:1")),
    )  # fmt: skip
    fields = {spell(named) for caption in captions for named in properties_of(caption)}

    assert documented_fields() - {"xmpidq:Scheme"} == fields


def test_every_property_of_our_namespace_is_written_by_some_caption():
    stamps = {"WrittenBy", "Written"}
    captions = (DOUBTFUL, EVERYTHING)

    written = {named.local for caption in captions for named in properties_of(caption) if named.uri == TIEBEAM}

    assert written | stamps | {"SamplingPpi"} == {row[0] for row in PROPERTIES}


# ---- identities


def test_a_scan_keeps_its_identity_whatever_is_said_of_it_and_changes_it_with_its_bytes(certain, doubtful):
    one, other = leaves(certain), leaves(doubtful)

    # Both archives hold the same file.
    assert one["xmpMM:DocumentID"] == other["xmpMM:DocumentID"] == one["xmpMM:OriginalDocumentID"]
    assert one["xmpMM:InstanceID"] == other["xmpMM:InstanceID"]


def test_an_identity_that_another_program_gave_stays_and_is_never_held(tmp_path):
    theirs = Packet(((name("xmpMM:DocumentID"), Text("uuid:9A3B7F52")), (name("xmpMM:InstanceID"), Text("uuid:1"))))

    first = plan_sidecar(format_packet(theirs), EVERYTHING)
    saved = parse_packet(first.data).with_properties(
        dict(parse_packet(first.data)) | {name("xmpMM:OriginalDocumentID"): Text("uuid:9A3B7F52")}
    )
    second = plan_sidecar(format_packet(saved), EVERYTHING, kept=first.base)

    assert (first.held, first.theirs, second.held, second.theirs) == ((), (), (), ())
    assert [parse_packet(second.data).get(name(f"xmpMM:{one}")) for one in ("DocumentID", "OriginalDocumentID")] == [
        Text("uuid:9A3B7F52")
    ] * 2


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('web_statement = "https://example.org/rights"', 'web_statement = "my page"', "[rights] web_statement"),
        ('data_mining = "DMI-PROHIBITED"', 'data_mining = "never"', "[rights] data_mining"),
    ],
)
def test_a_setting_that_no_reader_would_understand_is_refused_by_name(archive, old, new, words):
    path = with_rights(archive).folder / "tiebeam.toml"
    path.write_text(path.read_text("utf-8").replace(old, new), "utf-8")

    with pytest.raises(SettingsError, match=re.escape(words)):
        write_all(open_archive(archive.folder))


def test_an_entry_of_the_chronicle_that_names_a_person_stays_at_home(archive):
    mill = add_building(archive, name="Osk Mill", place_id=add_place(archive, name="Osk"))
    add_person(archive, name="Wilf Arkle")
    for year, text in (("1866", "One bay added."), ("1957", "Wheel sold to Wilf Arkle.")):
        add_chronicle_entry(archive, mill, kind="altered", date=dated(year), text=text)

    with archive.reading() as connection:
        then = CaptionMaker(read_gazette(connection, 2), House.of(archive.settings)).then
    told = [text for _, text in then.building(mill, FrameTime(), "certain", "").chronicle]

    assert told == ["One bay added."]
