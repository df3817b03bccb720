"""Contact sheets of small archives: sizes, captions with their doubt, boxes, letters, files."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import pypdf
import pytest
import tifffile
from PIL import Image

from catalog import clock
from catalog.actions.contact_sheets import ContactSheetAsked, ContactSheetMade, make_contact_sheet
from catalog.actions.drives import add_drive
from catalog.actions.persons import add_person
from catalog.actions.sheets import Number, add_sheet
from catalog.actions.views import Shown
from catalog.errors import LettersError, OutputFileError, RefusedError
from catalog.model import EditVersion, VersionSource
from catalog.outputs import contact_pdf, handed_out
from catalog.store.archive import Archive
from catalog.store.find import Question
from catalog.store.writing import deed
from tests.builders import a_mill, a_sheet, a_village, dated
from tests.scan_archives import an_archive, tiebeam
from tests.store.archives import filled

POINTS_PER_MM = 72 / 25.4


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return filled(an_archive(tmp_path / "wenn"), _three_frames)


def _three_frames(archive: Archive) -> None:
    mill = a_mill(archive, "Osk Mill", a_village(archive))
    a_sheet(archive, "78-14", "c. 1978", mill)
    add_sheet(archive, numbers=[Number("78-15", "yearly")], shows=[Shown(building_id=mill, certainty="probable")],
              exposed=dated("1979-08?"))  # fmt: skip
    a_sheet(archive, "X3", None, mill)


def a_scan(archive: Archive, number: str, *, width: int = 500, height: int = 400, ppi: int = 100) -> None:
    """Register a scan of a whole sheet: 5 x 4 inches, 127 x 101.6 mm."""
    path = archive.folder / "scans" / f"{number}.tif"
    path.parent.mkdir(exist_ok=True)
    seed = sum(map(ord, number))
    ramp = np.linspace(5000, 60000 - 20 * seed, width).astype(np.uint16)
    tifffile.imwrite(path, np.tile(ramp, (height, 1)), resolution=(ppi, ppi), resolutionunit="INCH")
    assert tiebeam(archive, "scans", "add", path) == 0


def a_version(archive: Archive, steps: str, scan_id: int = 1) -> None:
    """Record an edit version of a scan, whatever its steps say."""
    with deed(archive, "test", "a version") as writing:
        version = EditVersion(steps=steps)
        version.sources.append(VersionSource(position=1, scan_id=scan_id))
        writing.session.add(version)


def make(archive: Archive, name: str = "osk.pdf", **asked: object) -> ContactSheetMade:
    wanted = ContactSheetAsked(output=archive.folder / name, **asked)  # type: ignore[arg-type]
    return make_contact_sheet(archive, Question(about_days=archive.about_days), wanted)


def pdf(archive: Archive, name: str = "osk.pdf") -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO((archive.folder / name).read_bytes()))


def words(archive: Archive, name: str = "osk.pdf") -> str:
    return " ".join("\n".join(page.extract_text() for page in pdf(archive, name).pages).split())


def drawn_mm(page: pypdf.PageObject) -> list[tuple[float, float]]:
    """Return the size of every picture on a page, whole, as its matrix in the page's own words says (ISO 32000)."""
    found: list[tuple[float, float]] = []
    last: list[float] = []
    for operands, operator in pypdf.generic.ContentStream(page["/Contents"], page.pdf).operations:
        if operator == b"cm":
            last = [float(one) for one in operands]
        elif operator == b"Do":
            found.append((last[0] / POINTS_PER_MM, last[3] / POINTS_PER_MM))
    return found


# -- what stands there ------------------------------------------------------------------------------------


def test_number_date_building_and_place_stand_under_each_with_their_doubt(archive):
    make(archive)

    said = words(archive)
    assert "78-14 about 1978 Osk Mill Osk" in said
    assert "78-15 probably August 1979 probably Osk Mill probably Osk" in said
    assert "X3 undated Osk Mill Osk" in said
    assert "in order of date." in said
    assert "1 of 2" in said


def test_a_frame_without_a_picture_says_why(archive):
    a_scan(archive, "78-14")
    add_sheet(archive, numbers=[Number("86-10", "yearly")], fate="not returned")

    made = make(archive)

    assert [(one.number, one.why, one.is_finding) for one in made.without] == [
        ("78-15", "not scanned", False), ("X3", "not scanned", False),
        ("86-10", "not returned by the lab", False),
    ]  # fmt: skip
    assert "not returned by the lab" in words(archive)
    assert "(not returned)" not in words(archive)


def test_a_drive_that_is_away_and_a_damaged_scan_are_said_in_the_box(archive, tmp_path):
    drive = tmp_path / "archive 2"
    drive.mkdir()
    tifffile.imwrite(drive / "78-14.tif", np.full((40, 50), 9000, np.uint16))
    add_drive(archive, drive, name="Archive 2")
    assert tiebeam(archive, "scans", "add", drive) == 0
    a_scan(archive, "78-15")
    scan = archive.folder / "scans" / "78-15.tif"
    scan.write_bytes(scan.read_bytes()[:3000])
    drive.rename(tmp_path / "in the drawer")

    made = make(archive)

    said = {one.number: (one.why, one.is_finding) for one in made.without}
    assert said["78-14"] == ("on the drive “Archive 2”, which is away", False)
    assert said["78-15"] == ("the file of its scan was changed since it was registered", True)
    assert "which is away" in words(archive)


def test_a_sheet_with_two_scans_shows_the_larger_and_the_other_if_that_cannot_be_read(archive):
    a_scan(archive, "78-14")
    large = archive.folder / "scans" / "78-14 again.tif"
    tifffile.imwrite(large, np.tile(np.linspace(9000, 50000, 1000).astype(np.uint16), (800, 1)))
    assert tiebeam(archive, "scans", "add", large) == 0
    first = make(archive)
    large.unlink()
    for path in (archive.folder / "index-pictures").glob("*/*"):
        path.unlink()

    second = make(archive, replace=True)

    assert not [one for one in (*first.without, *second.without) if one.number == "78-14"]


@pytest.mark.parametrize(
    ("order", "numbers"),
    [("date", ["78-9", "78-14", "78-15", "X3"]), ("number", ["78-9", "78-14", "78-15", "X3"]),
     ("place", ["78-9", "78-14", "X3", "78-15"])],
)  # fmt: skip
def test_frames_stand_in_the_order_asked_for(archive, order, numbers):
    add_sheet(archive, numbers=[Number("78-9", "yearly")], exposed=dated("1977"),
              shows=[Shown(building_id=a_mill(archive, "Brome Mill", a_village(archive, "Nether Brome")))])  # fmt: skip

    made = make(archive, order=order, picture_mm=40)

    assert [one.number for one in made.without] == numbers
    assert f"in order of {order}." in words(archive)


# -- nothing private --------------------------------------------------------------------------------------


def test_no_private_fact_is_on_a_contact_sheet(archive):
    add_person(archive, name="Wilf Arkle", address="3 Mill Lane, Osk")
    add_sheet(archive, numbers=[Number("Wilf Arkle's 3", "gift")], exposed=dated("1980"))

    make(archive, asked="wilf arkle")

    data = (archive.folder / "osk.pdf").read_bytes()
    assert "Arkle" not in words(archive)
    assert "arkle" not in words(archive)
    assert "S4" in words(archive)
    assert b"Arkle" not in data


# -- sizes ------------------------------------------------------------------------------------------------


# 4 x 5 inches are 101.6 x 127 mm; at 1:1 a scan of a whole sheet is as large as the sheet, behind a smaller opening.
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_at_its_own_size_a_sheet_is_as_large_as_the_film(archive, paper):
    a_scan(archive, "78-14")
    a_scan(archive, "78-15", width=400, height=500)

    make(archive, paper=paper)

    sizes = [size for page in pdf(archive).pages for size in drawn_mm(page)]
    assert sizes[0] == pytest.approx((127, 101.6), abs=0.02)
    assert sizes[1] == pytest.approx((101.6, 127), abs=0.02)


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_a_page_has_the_size_of_its_paper(archive, paper, size):
    make(archive, paper=paper)

    box = pdf(archive).pages[0].mediabox

    assert (float(box.width) / POINTS_PER_MM, float(box.height) / POINTS_PER_MM) == pytest.approx(size, abs=0.01)


def test_turned_sheets_go_four_on_a_page(archive):
    for number in ("78-14", "78-15", "X3"):
        a_scan(archive, number)

    assert make(archive, is_turned=True).pages == 1


def test_at_a_width_no_picture_is_wider_or_higher(archive):
    a_scan(archive, "78-14")
    a_scan(archive, "78-15", width=400, height=500)

    make(archive, picture_mm=60)

    sizes = drawn_mm(pdf(archive).pages[0])
    assert sizes[0] == pytest.approx((60, 48), abs=0.1)
    assert sizes[1] == pytest.approx((48, 60), abs=0.1)


def test_a_resolution_that_cannot_be_the_films_is_not_believed(archive):
    add_sheet(archive, numbers=[Number("79-9", "yearly")], format="4x5", exposed=dated("1979"))
    a_scan(archive, "79-9", ppi=72)  # 176 mm wide, said an editing program

    make(archive)

    (size,) = (size for page in pdf(archive).pages for size in drawn_mm(page))
    assert size == pytest.approx((118.75, 95), abs=0.1)  # fills the opening of 120 x 95


def test_what_a_version_straightened_keeps_the_size_it_has_on_the_film(archive):
    a_scan(archive, "78-14")
    a_version(archive, '[{"kind": "straighten", "angle_deg": 10}, {"kind": "coding", "values": "gamma 2.2"}]')

    make(archive)

    # w = (500 cos 10° - 400 sin 10°) / cos 20° = 450 pixels, h = (400 cos 10° - 500 sin 10°) / cos 20° = 327.
    assert drawn_mm(pdf(archive).pages[0]) == [pytest.approx((450 * 0.254, 327 * 0.254), abs=1.6)]


def test_steps_that_cannot_be_followed_leave_one_box_and_the_other_frames_their_pictures(archive):
    a_scan(archive, "78-14")
    a_scan(archive, "78-15")
    a_version(archive, '[{"kind": "moonlight"}]')

    made = make(archive)

    assert [(one.number, one.why, one.is_finding) for one in made.without if one.is_finding] == [
        ("78-14", "the tone steps of its version cannot be followed", True)
    ]
    assert sum(len(drawn_mm(page)) for page in pdf(archive).pages) == 1


def test_film_larger_than_the_page_is_made_smaller_and_says_so(archive):
    add_sheet(archive, numbers=[Number("79-9", "yearly")], format="8x10", exposed=dated("1979"))
    a_scan(archive, "79-9", width=1000, height=800)

    make(archive)

    assert "of its size" in words(archive)


@pytest.mark.parametrize("width", [0.0, -5.0, 5.0, 1000.0, float("nan")])
def test_a_width_that_is_none_is_refused(archive, width):
    with pytest.raises(RefusedError, match="from 15 to 400 mm"):
        make(archive, picture_mm=width)


# -- letters ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Церковь", "Łódź Mill", "Žďár"])
def test_i01_letters_of_europe_are_set(archive, name):
    a_sheet(archive, "80-1", "1980", a_mill(archive, name))

    make(archive)

    assert name in words(archive)


@pytest.mark.parametrize("suffix", ["pdf", "png"])
def test_i01_letters_that_cannot_be_set_are_named_and_nothing_is_written(archive, suffix):
    a_sheet(archive, "80-1", "1980", a_mill(archive, "教会"))

    with pytest.raises(LettersError, match=r"caption of 80-1.*教.*会") as refused:
        make(archive, f"osk.{suffix}")

    assert refused.value.letters == ("教", "会")
    assert not list(archive.folder.glob("osk*"))


def test_typefaces_are_embedded(archive):
    make(archive)

    fonts = [font.get_object() for font in pdf(archive).pages[0]["/Resources"]["/Font"].values()]
    used = [font for font in fonts if "DejaVu" in font["/BaseFont"]]
    assert len(used) >= 2
    assert all("/FontFile2" in font["/FontDescriptor"] for font in used)


# -- files ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["osk.pdf", "osk.png"])
def test_the_same_sheet_has_the_same_bytes_wherever_the_archive_lies(archive, tmp_path, name):
    a_scan(archive, "78-14")
    with clock.fixed():
        first = [path.read_bytes() for path in make(archive, name).files]
        archive.folder.rename(tmp_path / "elsewhere")
        moved = Archive(tmp_path / "elsewhere", archive.settings)
        second = [path.read_bytes() for path in make(moved, name, replace=True).files]

    assert first == second


def test_pages_as_pictures_are_numbered_files(archive):
    a_scan(archive, "78-14")

    made = make(archive, "osk.png")

    assert [path.name for path in made.files] == ["osk-1.png", "osk-2.png"]
    with Image.open(made.files[0]) as page:
        assert page.size == (2100, 2970)
        assert page.info["dpi"] == pytest.approx((254, 254), abs=0.1)
        dark = np.asarray(page.convert("L"))
    assert dark.min() < 60
    assert dark[:50].min() == 255


def test_one_page_as_a_picture_has_the_name_given(archive):
    assert [path.name for path in make(archive, "osk.png", picture_mm=50).files] == ["osk.png"]


@pytest.mark.parametrize("name", ["osk.pdf", "osk.png"])
def test_a_file_that_is_there_is_kept_unless_it_is_to_be_replaced(archive, name):
    path = archive.folder / name
    path.write_bytes(b"mine")

    with pytest.raises(OutputFileError, match="--replace"):
        make(archive, name, picture_mm=50)
    kept = path.read_bytes()
    make(archive, name, picture_mm=50, replace=True)

    assert kept == b"mine"
    assert path.read_bytes() != b"mine"


def test_a_page_of_several_that_is_there_is_kept(archive):
    (archive.folder / "osk-2.png").write_bytes(b"mine")

    with pytest.raises(OutputFileError, match=r"osk-2\.png: is there already"):
        make(archive, "osk.png")

    assert sorted(path.name for path in archive.folder.glob("osk*")) == ["osk-2.png"]


@pytest.mark.parametrize(("name", "reason"), [("osk.doc", "is a .pdf or"), ("osk", "is a .pdf or"),
                                              ("none/osk.pdf", "folder"), ("scans.pdf", "is a folder")])  # fmt: skip
def test_a_name_that_cannot_be_is_refused_before_any_work(archive, name, reason):
    (archive.folder / "scans.pdf").mkdir()

    with pytest.raises(OutputFileError, match=reason):
        make(archive, name)


def test_no_frame_no_sheet(tmp_path):
    empty = an_archive(tmp_path / "empty")

    with pytest.raises(RefusedError, match="No frame answers"):
        make(empty)


@pytest.mark.parametrize("name", ["osk.pdf", "osk.png"])
def test_with_a_full_disk_nothing_is_kept(archive, name, monkeypatch):
    a_scan(archive, "78-14")
    calls = []

    def full(_number: int) -> None:
        calls.append(1)
        if len(calls) > 1:  # the index picture finds room, the sheet does not
            raise OSError(28, os.strerror(28))

    monkeypatch.setattr(os, "fsync", full)

    with pytest.raises(OutputFileError, match="the drive is full"):
        make(archive, name)

    assert not [path for path in archive.folder.iterdir() if path.name.startswith(("osk", ".tiebeam-"))]


def test_without_room_for_index_pictures_there_is_no_sheet_of_empty_boxes(archive):
    a_scan(archive, "78-14")
    (archive.folder / "index-pictures").rmdir()
    (archive.folder / "index-pictures").write_text("no folder")

    with pytest.raises(OutputFileError, match="index pictures cannot be written"):
        make(archive)

    assert not list(archive.folder.glob("osk*"))


def test_a_file_that_came_meanwhile_is_not_written_over(archive, monkeypatch):
    path = archive.folder / "osk.pdf"
    settle = handed_out._settle

    def late(half: Path, target: Path, *, replace: bool) -> None:
        path.write_bytes(b"theirs")
        settle(half, target, replace=replace)

    monkeypatch.setattr(handed_out, "_settle", late)

    with pytest.raises(OutputFileError, match="is there already"):
        make(archive)

    assert path.read_bytes() == b"theirs"


def test_an_index_picture_that_lost_its_bytes_is_made_again(archive):
    a_scan(archive, "78-14")
    make(archive)
    for path in (archive.folder / "index-pictures").glob("*/*.jpg"):
        path.write_bytes(path.read_bytes()[:-100])

    made = make(archive, replace=True)

    assert "78-14" not in [one.number for one in made.without]


def test_an_index_picture_that_is_none_is_named(archive):
    a_scan(archive, "78-14")
    make(archive)
    for path in (archive.folder / "index-pictures").glob("*/*.jpg"):
        path.write_bytes(b"\xff\xd8 no picture \xff\xd9")

    made = make(archive, replace=True)

    assert [(one.number, one.is_finding) for one in made.without if one.is_finding] == [("78-14", True)]


@pytest.mark.parametrize("name", ["osk.pdf", "osk.png"])
def test_a_sheet_too_large_is_refused(archive, name, monkeypatch):
    from catalog.outputs import contact_pages

    a_scan(archive, "78-14")
    monkeypatch.setattr(contact_pages, "MOST_BYTES", {"pdf": 1000, "png": 1000})

    with pytest.raises(RefusedError, match="Make several"):
        make(archive, name)

    assert not list(archive.folder.glob("osk*"))


def test_pictures_go_into_a_pdf_one_by_one(archive, monkeypatch):
    for number in ("78-14", "78-15", "X3"):
        a_scan(archive, number, width=900, height=700)
    written: list[int] = []
    usual = contact_pdf._WrittenFile.add

    def add(self: object, content: object) -> int:
        written.append(len(content) if isinstance(content, bytes) else 0)
        return usual(self, content)

    monkeypatch.setattr(contact_pdf._WrittenFile, "add", add)

    make(archive)

    largest = max(path.stat().st_size for path in archive.folder.glob("index-pictures/*/*.jpg"))
    assert max(written) < largest + 2000
    assert sum(len(drawn_mm(page)) for page in pdf(archive).pages) == 3


def test_an_index_picture_that_goes_while_the_pdf_is_written_is_named_and_nothing_is_kept(archive, monkeypatch):
    a_scan(archive, "78-14")
    usual = contact_pdf.PdfPages.finish

    def finish(self: contact_pdf.PdfPages) -> object:
        for path in archive.folder.glob("index-pictures/*/*.jpg"):
            path.unlink()
        return usual(self)

    monkeypatch.setattr(contact_pdf.PdfPages, "finish", finish)

    with pytest.raises(OutputFileError, match=r"\.jpg: this index picture cannot be read any more .* make it again"):
        make(archive)

    assert not [path for path in archive.folder.iterdir() if path.suffix in (".pdf", ".part")]


def test_what_a_killed_process_left_half_written_is_taken_away_and_nothing_else(archive):
    left, fresh, other = (archive.folder / name for name in (
        ".tiebeam-0123456789abcdef.part", ".tiebeam-fedcba9876543210.part", ".tiebeam-notes.part"))  # fmt: skip
    for path in (left, fresh, other):
        path.write_bytes(b"half")
    for path in (left, other):
        os.utime(path, (1, 1))

    make(archive)

    assert [path.exists() for path in (left, fresh, other)] == [False, True, True]
