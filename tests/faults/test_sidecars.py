"""Group C of the trouble cases, through the whole deed: what other programs left beside the scans."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.notes import add_note
from catalog.actions.scan_matches import match_scan_to_sheet
from catalog.actions.scans import add_scans
from catalog.standards.xmp import Name, Packet, Text, bag, format_packet, lang_alt, name, parse_packet, struct, texts
from catalog.store.archive import Archive, open_archive
from tests.builders import a_mill, a_sheet, a_village, rows, run
from tests.card_indexes import HEADINGS, Index, an_index
from tests.scan_archives import a_scan
from tests.standards.xmp_oracles import exempi_leaves, exiv2_values, needs_exempi

UNKNOWN = Name("http://example.org/unknown/1.0/", "mark")


@pytest.fixture
def folder(archive: Archive) -> Path:
    (archive.folder / "scans").mkdir()
    return archive.folder / "scans"


@pytest.fixture
def a_mill_scan(archive: Archive, folder: Path) -> Path:
    """A scan of a dated sheet of Osk Mill; returned is where its sidecar goes."""
    a_sheet(archive, "78-14", "4 June 1978", shows=a_mill(archive, place_id=a_village(archive)))
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])
    return folder / "78-14.xmp"


def others_wrote(path: Path, *properties: tuple[Name, object]) -> bytes:
    data = format_packet(Packet(tuple(properties)))  # type: ignore[arg-type]
    path.write_bytes(data)
    return data


def said(path: Path, spelled: str) -> tuple[str, ...]:
    return texts(parse_packet(path.read_bytes()).get(name(spelled)))


def test_c01_adding_our_fields_deletes_nobody_elses(archive, a_mill_scan):
    theirs = (
        (name("tiff:Orientation"), Text("1")),
        (name("exif:ISOSpeedRatings"), struct({UNKNOWN: "a structure where nobody expects one"})),
        (name("xmp:Rating"), Text("3")),
        (UNKNOWN, bag(["keep me", Text("a gadwyd", language="cy")])),
    )
    others_wrote(a_mill_scan, *theirs)

    assert run(archive, "sidecars", "write").status == 0

    packet = parse_packet(a_mill_scan.read_bytes())
    assert {named: packet.get(named) for named, _ in theirs} == dict(theirs)
    assert said(a_mill_scan, "photoshop:DateCreated") == ("1978-06-04",)


@needs_exempi
def test_c01_exempi_finds_every_value_it_found_before(archive, a_mill_scan):
    before = exempi_leaves(
        others_wrote(a_mill_scan, (name("xmp:Nickname"), Text("the mill")), (UNKNOWN, bag(["one", "two"])))
    )

    run(archive, "sidecars", "write")

    assert before.items() <= exempi_leaves(a_mill_scan.read_bytes()).items()


def test_c01_undo_gives_the_others_sidecar_back_byte_for_byte(archive, a_mill_scan):
    before = others_wrote(a_mill_scan, (name("xmp:Rating"), Text("3")))
    run(archive, "sidecars", "write")

    undo_deed(archive)

    assert a_mill_scan.read_bytes() == before


def test_c03_the_title_keeps_its_other_language_and_a_keyword_its_comma(archive, a_mill_scan):
    title = lang_alt("untitled")
    french = Text("Moulin d'Osk", language="fr")
    others_wrote(
        a_mill_scan,
        (name("dc:title"), type(title)("Alt", (*title.items, french))),
        (name("dc:subject"), bag(["Hill, East"])),
    )

    held = run(archive, "sidecars", "write")
    run(archive, "sidecars", "settle", "C1", "--field", "title", "--keep", "catalogue")
    run(archive, "sidecars", "write")

    titles = parse_packet(a_mill_scan.read_bytes()).get(name("dc:title")).items
    assert french in titles
    assert Text("Osk Mill", language="x-default") in titles
    assert said(a_mill_scan, "dc:subject")[0] == "Hill, East"
    assert "held, changed on both sides: dc:title." in held.out
    # exiv2 separates the items of an array by ", " and would show two keywords where there were two.
    assert exiv2_values(a_mill_scan)["Xmp.dc.subject"][1].split(", ")[:2] == ["Hill", "East"]
    assert len(parse_packet(a_mill_scan.read_bytes()).get(name("dc:subject")).items) == 3


def test_c05_a_soft_return_of_an_old_database_is_a_line_break_in_the_sidecar(archive, folder):
    sheet = a_sheet(archive, "78-14")
    add_note(archive, about="sheet", about_id=sheet, heading="caption", text="moved\x0bto new site")
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])

    assert run(archive, "sidecars", "write").status == 0

    assert said(folder / "78-14.xmp", "dc:description")[0].splitlines()[:2] == ["moved", "to new site"]
    assert exiv2_values(folder / "78-14.xmp")["Xmp.dc.description"][1].startswith('lang="x-default" moved\nto new site')


@pytest.mark.parametrize("way", ["card", "note", "workbook"])
def test_c05_a_soft_return_is_a_line_break_in_the_catalogue_whichever_way_it_comes_in(archive, folder, tmp_path, way):
    if way == "card":
        an_index(archive, tmp_path, "78-14,Osk,,,,,,,,,,moved\x0bto new site,\n").read()
    elif way == "workbook":
        a_workbook_with_a_soft_return(tmp_path / "cards.xlsx")
        Index(archive, tmp_path / "cards.xlsx").read()
    else:
        a_sheet(archive, "78-14")
        assert run(archive, "notes", "add", "S1", "moved\x0bto new site", "--heading", "Remarks").status == 0

    assert rows(archive, "SELECT text FROM note WHERE heading = 'Remarks'") == ["moved\nto new site"]
    assert "\x0b" not in run(archive, "show", "S1").out

    settings = archive.folder / "tiebeam.toml"
    settings.write_text(settings.read_text("utf-8").replace('["caption"]', '["Remarks"]'), "utf-8")
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])
    assert run(open_archive(archive.folder), "sidecars", "write").status == 0
    written = folder / "78-14.xmp"
    assert said(written, "dc:description")[0].splitlines()[:2] == ["moved", "to new site"]
    assert format_packet(parse_packet(written.read_bytes())) == written.read_bytes()


def a_workbook_with_a_soft_return(path: Path) -> None:
    """Write a card index as a workbook; Office Open XML spells a vertical tab ``_x000B_`` (ECMA-376 §22.9.2.19)."""
    book = openpyxl.Workbook()
    book.active.append(HEADINGS.split(","))
    book.active.append(["78-14", "Osk", *[None] * 9, "moved_x000B_to new site", None])
    book.save(path)


@pytest.fixture
def two_of_a_stem(archive: Archive, folder: Path) -> dict[str, bytes]:
    """Case C06: a.tif and a.jpg (here .tiff), a.xmp and a.tif.xmp, whose captions differ."""
    for file_name, seed, number in (("a.tif", 1, "80-1"), ("a.tiff", 2, "80-2")):
        a_scan(folder / file_name, seed)
        a_sheet(archive, number)
    add_scans(archive, [folder])
    for scan in (1, 2):
        match_scan_to_sheet(archive, scan, scan)
    return {
        file_name: others_wrote(folder / file_name, (name("dc:title"), lang_alt(f"caption of {file_name}")))
        for file_name in ("a.xmp", "a.tif.xmp")
    }


def test_c06_the_conflict_is_shown_each_scan_gets_its_own_and_neither_caption_is_lost(archive, folder, two_of_a_stem):
    said_now = run(archive, "sidecars", "write", "--json")

    assert (folder / "a.xmp").read_bytes() == two_of_a_stem["a.xmp"]
    assert said(folder / "a.tif.xmp", "dc:title") == ("caption of a.tif.xmp",)  # this sheet has no title of its own
    assert said(folder / "a.tif.xmp", "dc:source") == ("80-1",)
    assert said(folder / "a.tiff.xmp", "dc:source") == ("80-2",)
    assert said_now.err.splitlines() == [
        f"{folder}: a.xmp could speak for a.tif or a.tiff and does not say which. "
        "What does not say whose it is stays as it is.",
        f"{folder}: a.tif has 2 sidecars: a.tif.xmp, a.xmp. What does not say whose it is stays as it is.",
    ]
    assert [Path(line.split('"')[3]).name for line in said_now.out.splitlines() if '"path"' in line] == [
        "a.tif.xmp", "a.tiff.xmp",
    ]  # fmt: skip


def test_c06_a_sidecar_that_says_whose_it_is_keeps_its_name_and_is_written(archive, folder, two_of_a_stem):
    (folder / "a.tif.xmp").unlink()
    others_wrote(folder / "a.xmp", (name("photoshop:SidecarForExtension"), Text("TIFF")))

    said_now = run(archive, "sidecars", "write")

    assert (said_now.status, said_now.err) == (0, "")
    assert said(folder / "a.xmp", "dc:source") == ("80-2",)
    assert said(folder / "a.tif.xmp", "dc:source") == ("80-1",)
    assert sorted(path.name for path in folder.glob("*.xmp")) == ["a.tif.xmp", "a.xmp"]
