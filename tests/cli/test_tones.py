"""``tiebeam tones`` and ``tiebeam papers``: what a person asks, sees and is refused."""

from __future__ import annotations

import csv
import io
import json
import shutil
import tempfile
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from catalog.rules.lines import display_width
from catalog.store.archive import open_archive
from tests.published.zone_negatives import densities_of, write_negative
from tests.scan_archives import a_sheet, an_archive, as_it_is, rows, tiebeam

MANUAL = Path(__file__).parents[2] / "docs" / "manual"
BASE = (0.25,)


def a_ramp(height: int = 240, width: int = 320) -> np.ndarray:
    """Picture L* from 0 to 100, evenly, from left to right."""
    return np.broadcast_to(np.linspace(0, 100, width), (height, width))


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """An archive with a negative of an even ramp for sheet 78-12, and a stray scan that is a positive."""
    archive = an_archive(tmp_path_factory.mktemp("made") / "wenn")
    a_sheet(archive, "78-12", film_format="4x5")
    a_sheet(archive, "78-13")
    scans = archive.folder / "scans"
    scans.mkdir()
    write_negative(scans / "78-12.tif", densities_of(a_ramp()), BASE)
    positive = np.rint(np.linspace(0, 65535, 60 * 80)).astype(np.uint16).reshape(60, 80)
    tifffile.imwrite(scans / "stray.tif", positive)
    assert tiebeam(archive, "scans", "add", scans) == 0
    return archive


@pytest.fixture
def archive(made, tmp_path):
    """A copy of the archive that was made, for one test to change."""
    return open_archive(shutil.copytree(made.folder, tmp_path / "wenn"))


def ask(archive, capsys, *arguments):
    """The status and what was printed on both streams."""
    capsys.readouterr()
    status = tiebeam(archive, "tones", *arguments)
    told = capsys.readouterr()
    return status, told.out, told.err


def item(archive, capsys, *arguments):
    status, out, err = ask(archive, capsys, *arguments, "--json")
    assert status == 0, err
    document = json.loads(out)
    assert document["count"] == 1
    return document["items"][0]


def test_the_scan_of_a_negative_is_told_as_its_positive(archive, capsys):
    status, out, _ = ask(archive, capsys, "78-12")

    assert status == 0
    assert "a negative; the tones of the positive proposed for it" in out
    assert "base plus fog D 0.25" in out
    assert "No paper named" in out
    assert all(f"\n{zone:>4}  " in out for zone in ("X", "IX", "VIII", "VII", "VI", "V", "IV", "III", "II", "I", "0"))


def test_the_lines_of_a_page_go_from_white_to_black(archive, capsys):
    _, out, _ = ask(archive, capsys, "78-12", "--paper", "matt cotton")

    assert out.index("\n   X ") < out.index("\n   V ") < out.index("\n   0 ")
    assert "On matt cotton: white L* 96, black L* 16.7" in out
    assert "whites from L* 90" in out
    assert "shadows to L* 26.7" in out


@pytest.mark.parametrize("columns", [30, 40, 57, 80, 100, 120, 200])
@pytest.mark.parametrize("paper", [(), ("--paper", "canvas")])
def test_a_page_fits_the_terminal(archive, capsys, monkeypatch, columns, paper):
    monkeypatch.setattr("catalog.cli.tones.terminal_width", lambda: columns)

    _, out, _ = ask(archive, capsys, "78-12", *paper)

    assert max(display_width(line) for line in out.splitlines()) <= min(max(columns, 40), 120)
    assert "·" in out


def test_a_page_goes_to_a_terminal_that_has_no_blocks(archive, capsys, monkeypatch):
    monkeypatch.setattr("catalog.cli._tone_words._has_blocks", lambda: False)

    _, out, _ = ask(archive, capsys, "78-12")

    ruled = [line for line in out.splitlines() if line.startswith("   V ")]
    assert "#" in ruled[0]
    assert ruled[0].isascii()


def test_the_numbers_are_in_one_document(archive, capsys):
    found = item(archive, capsys, "78-12", "--paper", "matt cotton")

    assert found["reference"] == "C1"
    assert found["paper"]["name"] == "matt cotton"
    assert found["film"]["polarity"] == "negative"
    assert found["film"]["base_density"] == pytest.approx([0.25], abs=0.01)
    assert [zone["name"] for zone in found["zones"]][:2] == ["0", "I"]
    assert sum(zone["share"] for zone in found["zones"]) == pytest.approx(1)
    assert found["whites"]["share"] == pytest.approx(sum(step["share"] for step in found["whites"]["steps"]))
    assert found["pixels_counted"] == found["width_px"] * found["height_px"]
    # The ramp is 320 x 240 px. Its rebate is no part of it; nor are shadows as clear as the rebate itself.
    assert (found["width_px"], found["height_px"]) == pytest.approx((320, 240), abs=16)


def test_the_document_is_told_of_in_the_manual(archive, capsys):
    told = (MANUAL / "json.md").read_text("utf-8")

    for name in item(archive, capsys, "78-12", "--paper", "matt cotton"):
        assert f"`{name}`" in told, f"docs/manual/json.md does not tell of {name}"


def test_print_sizes_and_the_film_are_told_honestly(archive, capsys):
    found = item(archive, capsys, "78-12")

    assert [size["ppi"] for size in found["print_sizes"]] == [240, 300, 360]
    assert found["print_sizes"][1]["width_mm"] == pytest.approx(found["width_px"] / 300 * 25.4)
    assert found["resolution"]["ppi"] == 2400
    assert found["resolution"]["line_pairs_per_mm"] == pytest.approx(2400 / 25.4 / 2)
    # 358 x 278 px over a whole 4x5 sheet are some 72 to the inch: the file's 2400 is doubted in words.
    assert found["resolution"]["ppi_by_film_size"] == pytest.approx(71.6, abs=1)
    _, out, _ = ask(archive, capsys, "78-12")
    assert "2400 ppi (recorded; by the size of the film it would be 72)" in " ".join(out.split())


def test_a_resolution_nobody_knows_is_not_made_up(archive, capsys):
    # Case B08.
    found = item(archive, capsys, "C2")

    assert found["resolution"] is None
    _, out, _ = ask(archive, capsys, "C2")
    assert "ppi not recorded" in out
    assert " 1 ppi" not in out


def test_a_stray_scan_is_told_as_it_is(archive, capsys):
    assert tiebeam(archive, "scans", "correct", "C2", "--polarity", "positive") == 0
    found = item(archive, capsys, "C2")

    assert found["sheets"] == []
    assert found["made"] == "as it was scanned, a positive"
    assert (found["coding"], found["coding_is_assumed"]) == ("gamma 2.2", True)
    _, out, _ = ask(archive, capsys, "C2")
    assert "of no sheet yet" in out
    assert "taken as gamma 2.2" in out


def test_a_16_bit_ramp_is_scaled_never_clipped(archive, capsys):
    # Case B02.
    found = item(archive, capsys, "C2")

    assert all(zone["share"] > 0.01 for zone in found["zones"])
    assert found["clipped"]["at_white"] == pytest.approx(1 / 4800)


def test_the_rows_are_comma_separated(archive, capsys):
    _, out, _ = ask(archive, capsys, "78-12", "--paper", "baryta", "--csv")

    listed = list(csv.DictReader(io.StringIO(out)))
    assert [row["name"] for row in listed if row["scale"] == "zone"][-1] == "X"
    assert sum(float(row["share"]) for row in listed if row["scale"] == "print L*") == pytest.approx(1, abs=1e-5)


def test_nothing_is_written_by_looking(archive, capsys):
    # Case B16.
    before = as_it_is(archive.folder / "scans")
    deeds = rows(archive, "SELECT count(*) FROM deed")

    ask(archive, capsys, "78-12")

    assert as_it_is(archive.folder / "scans") == before
    assert rows(archive, "SELECT count(*) FROM deed") == deeds


def test_a_sheet_tells_its_version_before_its_scan(archive, capsys):
    assert tiebeam(archive, "versions", "make", "78-12", "--write") == 0
    version, scan = item(archive, capsys, "78-12"), item(archive, capsys, "78-12", "--scan", "C1")

    assert (version["reference"], scan["reference"]) == ("W1", "C1")
    assert version["others"] == ["C1"]
    assert [zone["share"] for zone in version["zones"]] == pytest.approx(
        [zone["share"] for zone in scan["zones"]], abs=0.02
    )


def test_a_version_whose_file_is_gone_is_told_by_its_steps(archive, capsys):
    tiebeam(archive, "versions", "make", "78-12", "--write")
    written = item(archive, capsys, "W1")
    Path(written["path"]).unlink()

    followed = item(archive, capsys, "78-12", "--version", "W1")

    assert followed["reference"] == "W1"
    assert "steps followed on the scan" in followed["made"]
    assert [zone["share"] for zone in followed["zones"]] == pytest.approx(
        [zone["share"] for zone in written["zones"]], abs=1e-3
    )


def test_a_replaced_version_is_told_only_when_it_is_named(archive, capsys):
    tiebeam(archive, "versions", "make", "78-12")
    tiebeam(archive, "versions", "make", "78-12", "--curve", "grade:3", "--replaces", "W1")

    assert item(archive, capsys, "78-12")["reference"] == "W2"
    assert item(archive, capsys, "W1")["replaced_by"] == ["W2"]


def test_a_drawing_is_a_picture_of_the_page(archive, capsys, tmp_path):
    status, out, _ = ask(archive, capsys, "78-12", "--paper", "lustre", "-o", tmp_path / "page.png")

    assert status == 0
    assert "were drawn in" in out
    with Image.open(tmp_path / "page.png") as drawn:
        assert drawn.width == 1240
        assert drawn.mode == "RGB"
        assert len(drawn.getcolors(1 << 20)) > 50  # a ladder of greys, rules and ink


def test_a_drawing_in_svg_says_what_the_page_says(archive, capsys, tmp_path):
    ask(archive, capsys, "78-12", "--paper", "lustre", "-o", tmp_path / "page.svg")

    root = ET.parse(tmp_path / "page.svg").getroot()
    words = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"X", "V", "0", "print L*"} <= set(words)
    assert any(word.startswith("On lustre: white L* 96") for word in words)


def test_a_drawing_and_its_numbers_come_together(archive, capsys, tmp_path):
    status, out, _ = ask(archive, capsys, "78-12", "-o", tmp_path / "page.svg", "--json")

    assert status == 0
    assert json.loads(out)["count"] == 1
    assert (tmp_path / "page.svg").exists()


def test_a_file_that_is_there_is_not_written_over(archive, capsys, tmp_path):
    target = tmp_path / "page.svg"
    target.write_text("mine", "utf-8")

    status, _, err = ask(archive, capsys, "78-12", "-o", target)

    assert status == 3
    assert "page.svg" in err
    assert target.read_text("utf-8") == "mine"
    assert ask(archive, capsys, "78-12", "-o", target, "--replace")[0] == 0
    assert target.read_bytes().startswith(b"<?xml")


@pytest.mark.parametrize(("options", "status"), [(("-o", "page.jpg"), 2), (("--replace",), 2)])
def test_a_drawing_that_cannot_be_asked_for_is_misuse(archive, capsys, options, status):
    assert ask(archive, capsys, "78-12", *options)[0] == status


def test_letters_that_cannot_be_drawn_are_named(archive, capsys, tmp_path):
    # Case I01, for a drawing.
    path = archive.folder / "tiebeam.toml"
    text = path.read_text("utf-8") + '\n[papers."和紙"]\nwhite_l = 92\nblack_l = 20\nsource = "from memory"\n'
    path.write_text(text, "utf-8")

    status, _, err = ask(archive, capsys, "78-12", "--paper", "和紙", "-o", tmp_path / "page.png")

    assert status == 3
    assert "和" in err
    assert not (tmp_path / "page.png").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("78-99",), "No sheet answers to '78-99'"),
        (("78-13",), "has no scan yet"),
        (("W7",), "No version answers"),
        (("C7",), "No scan answers"),
        (("78-13", "--scan", "C1"), "C1 is not of S2; it is of S1"),
        (("78-12", "--scan", "C1", "--version", "W1"), "not both"),
        (("C1", "--version", "W1"), "is a picture itself"),
        (("78-12", "--paper", "vellum"), "There are 'matt cotton'"),
    ],
)
def test_what_cannot_be_told_is_refused_in_words(archive, capsys, arguments, said):
    status, out, err = ask(archive, capsys, *arguments)

    assert (status, out) == (3, "")
    assert said in err
    assert "Traceback" not in err


def test_two_sheets_of_one_number_are_asked_about(archive, capsys):
    a_sheet(archive, "78-12", scheme="box")

    status, _, err = ask(archive, capsys, "78-12")

    assert status == 3
    assert "S1" in err
    assert "S3" in err


def test_a_damaged_scan_is_refused_and_never_told_as_black(archive, capsys):
    # Case B09: cut to half its bytes.
    scan = archive.folder / "scans" / "78-12.tif"
    scan.write_bytes(scan.read_bytes()[: scan.stat().st_size // 2])

    status, out, err = ask(archive, capsys, "78-12")

    assert (status, out) == (3, "")
    assert "78-12.tif: damaged" in err


def test_a_scan_that_went_missing_is_sought_by_verifying(archive, capsys):
    (archive.folder / "scans" / "78-12.tif").unlink()

    status, _, err = ask(archive, capsys, "78-12")

    assert status == 3
    assert "tiebeam scans verify" in err


def test_a_scan_on_a_drive_that_is_away_says_so(archive, capsys):
    # Case F09.
    vault = Path(tempfile.mkdtemp(prefix="tiebeam-vault-"))
    try:
        assert tiebeam(archive, "drives", "add", vault, "--name", "Vault") == 0
        write_negative(vault / "78-13.tif", densities_of(a_ramp(200)), BASE)
        assert tiebeam(archive, "scans", "add", vault) == 0
        status, _, err = ask(archive, capsys, "78-13")
        assert status == 0, err
    finally:
        shutil.rmtree(vault)

    status, _, err = ask(archive, capsys, "78-13")

    assert status == 3
    assert "“Vault”, which is away" in err


def test_an_empty_scan_is_named(archive, capsys):
    # Case B12.
    (archive.folder / "scans" / "78-13.tif").touch()
    tiebeam(archive, "scans", "add", archive.folder / "scans")

    status, _, err = ask(archive, capsys, "78-13")

    assert status == 3
    assert "78-13.tif" in err


def test_the_better_of_two_scans_is_told_and_the_other_named(archive, capsys):
    write_negative(archive.folder / "scans" / "78-12 again.tif", densities_of(a_ramp(480, 640)), BASE)
    tiebeam(archive, "scans", "add", archive.folder / "scans")

    found = item(archive, capsys, "78-12")

    assert (found["reference"], found["others"]) == ("C3", ["C1"])


def test_papers_are_listed_with_who_measured_them(archive, capsys):
    capsys.readouterr()

    assert tiebeam(archive, "papers") == 0

    out = capsys.readouterr().out
    assert "matt cotton" in out
    assert "from memory" in out


def test_papers_are_listed_as_a_document_and_as_rows(archive, capsys):
    capsys.readouterr()
    tiebeam(archive, "papers", "--json")
    document = json.loads(capsys.readouterr().out)
    tiebeam(archive, "papers", "--csv")
    listed = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))

    assert document["count"] == len(listed) == 6
    assert document["items"][0] == {
        "name": "matt cotton", "white_l": 96.0, "black_l": 16.7, "source": document["items"][0]["source"],
    }  # fmt: skip
    assert [row["name"] for row in listed] == [one["name"] for one in document["items"]]


def test_a_paper_written_by_hand_is_used(archive, capsys):
    path = archive.folder / "tiebeam.toml"
    path.write_text(
        path.read_text("utf-8") + '\n[papers."my rag"]\nwhite_l = 94.5\nblack_l = 15\nsource = "measured 2021"\n',
        "utf-8",
    )

    found = item(open_archive(archive.folder), capsys, "78-12", "--paper", "MY RAG")

    assert found["paper"] == {"name": "my rag", "white_l": 94.5, "black_l": 15.0, "source": "measured 2021"}
    assert found["zones"][-1]["to_l"] == 94.5


def test_help_says_what_is_written(archive, capsys):
    status, out, _ = ask(archive, capsys, "--help")

    assert status == 0
    assert "Nothing is written but the drawing" in " ".join(out.split())
