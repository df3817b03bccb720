"""The invented archive: its valley file, its card index and the drawing of its scans agree."""

from __future__ import annotations

import csv
import importlib.util
import re
import subprocess
import sys
import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import tifffile
from openpyxl import load_workbook
from PIL import Image

from catalog.dates import calendar_day, parse_edtf
from catalog.dates.words import parse_words
from catalog.intake.mapping import read_mapping
from catalog.intake.tables import read_table
from catalog.rules.compass import COMPASS
from catalog.rules.vocabulary import CHRONICLE_KINDS, FATES
from sample_archive.draw import draw_scans
from sample_archive.frames import FRAMES, SMALL
from sample_archive.make_cards import HEADINGS, csv_text, xlsx_bytes
from sample_archive.scenes import MILL as OSK_MILL

SAMPLE = Path(__file__).parent.parent / "sample_archive"
VALLEY = tomllib.loads((SAMPLE / "valley.toml").read_text("utf-8"))
ROWS = list(csv.reader((SAMPLE / "cards.csv").read_text("utf-8").splitlines()))
CARDS = [row for row in ROWS if re.match(r"(\d\d-\d\d|X\d)", row[0])]
DATE_KEYS = {"from", "until", "date", "published", "known_from", "known_until", "asked", "settled"}
# Which key names a record of which kind; "about" and the lists are taken apart in the test.
LINKS = {
    "place": "place", "source": "source", "doer_person": "person", "ask_person": "person",
    "standpoint": "standpoint", "shows": "building", "building": "building",
}  # fmt: skip


def column(heading: str) -> list[str]:
    """Return what the cards say under a heading."""
    at = HEADINGS.index(heading)
    return [row[at] for row in CARDS]


def leaves(value, path=()):
    """Yield each plain value of a TOML document with the keys that lead to it."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for inner in value:
            yield from leaves(inner, path)
    else:
        yield path, value


# ------------------------------------------------------------------------------------------------ the valley


def test_every_date_of_the_valley_is_edtf():
    dates = [(path, value) for path, value in leaves(VALLEY) if path[-1] in DATE_KEYS]

    for path, value in dates:
        assert parse_edtf(value) is not None, path

    assert len(dates) > 80


def test_every_slug_of_the_valley_names_a_record():
    unresolved = [
        (path, value)
        for path, value in leaves(VALLEY)
        if len(path) > 2 and path[-1] in LINKS and value not in VALLEY[LINKS[path[-1]]]
    ]

    assert unresolved == []


def test_sheets_named_in_the_valley_have_a_card():
    numbers = {row[0].split()[0] for row in CARDS}

    named = {value for path, value in leaves(VALLEY) if path[-1] in {"sheets", "sheet"}}

    assert named - numbers == set()
    assert len(named) > 8


def test_the_valley_uses_the_words_of_the_catalogue():
    for slug, building in VALLEY["building"].items():
        assert {entry["kind"] for entry in building["chronicle"]} <= set(CHRONICLE_KINDS), slug
        assert {side["compass"] for side in building["elevations"]} <= set(COMPASS), slug


def test_the_valley_holds_what_the_scenario_tells():
    place, building = VALLEY["place"], VALLEY["building"]

    assert [name["name"] for name in place["osk"]["names"]] == ["Oske", "Osk St Mary"]
    assert place["osk"]["names"][0]["until"] == "1890~"
    assert place["tarn-end"]["parents"] == [{"place": "osk"}]
    assert [parent.get("until") for parent in place["low-halding"]["parents"]] == ["1894", None]
    namesakes = [slug for slug, one in place.items() if one["name"] == "Priors Lode"]
    assert namesakes == ["priors-lode", "priors-lode-by-cray"]
    assert place["arlen"]["kind"] == "country"
    assert [site["place"] for site in building["weigh-house"]["sites"]] == ["low-halding", "halding"]
    assert building["weigh-house"]["sites"][1]["from"] == "1979-06"
    assert any(entry["date"] == "1988-11-03" for entry in building["priors-lode-granary"]["chronicle"])
    assert len(building) >= 16


def test_positions_lie_in_the_box_of_the_scenario():
    latitudes = [value for path, value in leaves(VALLEY) if path[-1] == "latitude_deg"]
    longitudes = [value for path, value in leaves(VALLEY) if path[-1] == "longitude_deg"]

    assert all(51.9 <= value <= 52.2 for value in latitudes)
    assert all(-3.1 <= value <= -2.6 for value in longitudes)


# ------------------------------------------------------------------------------------------------- the cards


def test_the_card_files_are_what_the_script_makes(tmp_path):
    made = tmp_path / "cards.xlsx"
    made.write_bytes(xlsx_bytes())

    kept = read_table(SAMPLE / "cards.xlsx")

    assert (SAMPLE / "cards.csv").read_text("utf-8") == csv_text()
    assert read_table(made).rows == kept.rows
    assert xlsx_bytes() == xlsx_bytes()


def test_workbook_and_text_say_the_same():
    workbook = {row.number: row for row in read_table(SAMPLE / "cards.xlsx").rows}
    text = {row.number: row for row in read_table(SAMPLE / "cards.csv").rows}

    assert workbook.keys() == text.keys()
    for number, row in workbook.items():
        own = ["" if at in row.carried else cell for at, cell in enumerate(row.texts)]
        assert [*own, *[""] * (len(HEADINGS) - len(own))] == list(text[number].texts), f"row {number}"


def test_zeros_are_held_by_the_cell_format_alone():
    sheet = load_workbook(SAMPLE / "cards.xlsx").active

    numbers = {cell.value: cell.number_format for cell in sheet["A"] if isinstance(cell.value, int)}
    dockets = {cell.value: cell.number_format for cell in sheet["J"] if isinstance(cell.value, int)}

    assert numbers[811] == numbers[503] == "00-00"
    assert dockets[118] == "000000"
    assert {"08-11", "05-03"} <= {row[0] for row in CARDS}
    assert "000118" in column("Lab docket")


def test_the_village_is_merged_in_some_blocks_and_blank_in_others():
    merged = load_workbook(SAMPLE / "cards.xlsx").active.merged_cells.ranges

    assert len(merged) == 3
    assert all(span.min_col == span.max_col == 3 for span in merged)
    assert column("Village").count("") > 40


ODDITIES = {
    "title rows above the headings": lambda: ROWS.index(list(HEADINGS)) == 3,
    "headings repeated half-way": lambda: ROWS.count(list(HEADINGS)) == 2,
    "ditto marks of two kinds": lambda: {'"', "do."} <= set(column("Building")),
    "about a year": lambda: "c. 1978" in column("Date"),
    "a doubtful month": lambda: "Aug 79?" in column("Date"),
    "a season": lambda: "summer 82" in column("Date"),
    "no date": lambda: column("Date").count("n.d.") >= 3,
    "two years to choose from": lambda: "78 or 79" in column("Date"),
    "before a year": lambda: "before 1980" in column("Date"),
    "abbreviations": lambda: {"Osk Gran.", "W'house", "Reading Rm"} <= set(column("Building")),
    "sold, after a number": lambda: "85-14 (sold)" in column("Neg. no"),
    "a doubtful building": lambda: "Osk Mill?" in column("Building"),
    "a doubtful lens": lambda: "90 or 120" in column("Lens"),
    "a day that is not in the calendar": lambda: "31/4/1982" in column("Date"),
    "square brackets of an archivist": lambda: any("[sic]" in text for text in column("Remarks")),
    "two buildings on one sheet": lambda: "Osk Mill; Reading Rm" in column("Building"),
    "one number under two schemes": lambda: column("Neg. no").count("78-14") == 2,
    "a blank sheet": lambda: "blank" in column("Status"),
    "one the lab never returned": lambda: "not back" in column("Status"),
    "a column nobody can explain": lambda: any(column("Tk.")) and "Tk." not in MAPPING.columns,
    "colour beside black and white": lambda: {"Pan 100", "Dorran N", "Dorran Chrome"} <= set(column("Film")),
    "undated sheets": lambda: sum(row[0].startswith("X") for row in CARDS) == 4,
}
MAPPING = read_mapping(SAMPLE / "cards.toml")


@pytest.mark.parametrize("oddity", ODDITIES)
def test_the_card_index_has_its_oddity(oddity):
    assert ODDITIES[oddity]()


def test_the_mapping_names_columns_that_are_there():
    assert set(MAPPING.columns) < set(HEADINGS)
    # The last place a fate could go astray: each word under Status stands for one the catalogue knows.
    assert {MAPPING.abbreviations["fate"][word] for word in column("Status") if word} <= set(FATES)


# ------------------------------------------------------------------------------------------------ the frames


def card_of(frame) -> list[str]:
    """Return the card of a frame's sheet; the box series lies in a folder of its own."""
    boxed = frame.path.startswith("box")
    return next(row for row in CARDS if row[0].split()[0] == frame.number and (row[1] == "78") == boxed)


def dates_on_cards() -> dict[int, str]:
    """Return what stands under Date for each card, ditto marks resolved, by its identity."""
    found, above = {}, ""
    for row in CARDS:
        written = row[HEADINGS.index("Date")]
        above = above if written in {'"', "do."} else written
        found[id(row)] = above
    return found


def test_a_frame_was_exposed_when_its_card_says_give_or_take_its_doubt():
    written = dates_on_cards()
    checked = 0
    for frame in FRAMES:
        words = written[id(card_of(frame))] if frame.number else "n.d."
        if words == "n.d.":
            continue
        said = parse_words(words, century=1900)
        slack = 2 * 366 if set("~?") & set(said.text) else 0
        day = frame.day.toordinal()
        earliest = day if said.earliest is None else said.earliest
        assert earliest - slack <= day <= said.latest + slack, (frame.path, words, calendar_day(said.latest))
        checked += 1

    assert checked > 50


def test_osk_mill_is_drawn_in_the_phase_of_its_day():
    # scenario.md: clad between 1978 and 1982, cladding removed 1996; the wheel was out by 1958.
    phases = {
        "boards": (date(1974, 1, 1), date(1981, 12, 31)),
        "metal": (date(1978, 1, 1), date(1996, 12, 31)),
        "whitewash": (date(1996, 1, 1), date(2030, 1, 1)),
    }
    seen = set()
    for frame in FRAMES:
        shown = frame.scene.buildings if frame.scene else ()
        for mill in (it for it in shown if it.lucam and it.width == OSK_MILL.width):
            if mill.wheel:
                assert frame.day.year < 1958
                continue
            first, last = phases[mill.wall]
            assert first <= frame.day <= last, frame.path
            seen.add(mill.wall)

    assert seen == set(phases)


def test_revisits_are_drawn_from_one_standpoint():
    by_number = {frame.number: frame for frame in FRAMES if not frame.path.startswith("box")}

    for revisit in VALLEY["revisit"].values():
        frames = [by_number[number] for number in revisit["sheets"]]
        assert len({(frame.scene.camera, frame.focal_length_mm) for frame in frames}) == 1


def test_the_frames_hold_what_the_scenario_tells():
    three = ("1978/78-14.tif", "1978/78-15.tif", "1978/78-16.tif")
    bracket = [frame.stops for frame in FRAMES if frame.path in three]

    assert bracket == [0.0, 1.0, 2.0]
    assert [frame.number for frame in FRAMES if frame.scene is None] == ["82-09"]
    assert [frame.number for frame in FRAMES if frame.also is not None] == ["80-05"]
    assert [frame.number for frame in FRAMES if frame.is_reversed] == ["79-10"]
    assert [frame.number for frame in FRAMES].count("82-07") == 2
    assert [frame.path for frame in FRAMES if not frame.number] == ["loose/old view with wheel (copy neg).tif"]
    assert "86-10" not in {frame.number for frame in FRAMES}
    assert len({frame.path for frame in FRAMES}) == len(FRAMES) >= 58


def test_at_least_twelve_frames_show_osk_between_1975_and_1990():
    written = dates_on_cards()
    village, shown = "", []
    for row in CARDS:
        village = row[2] or village
        words = written[id(row)]
        if village in {"Osk", "Tarn End"} and words != "n.d.":
            said = parse_words(words, century=1900)
            inside = said.earliest is None or said.earliest < date(1991, 1, 1).toordinal()
            shown.append(inside and said.latest >= date(1975, 1, 1).toordinal())

    assert shown.count(True) >= 12
    assert shown.count(False) >= 3


# ------------------------------------------------------------------------------------------------- the scans


def small(name: str) -> np.ndarray:
    return tifffile.imread(SAMPLE / "small_scans" / name).astype(float)


def test_a_scan_is_drawn_the_same_every_time(tmp_path):
    (first,) = draw_scans(tmp_path / "a", width=160, only=["82-08 colour.tif"])
    (again,) = draw_scans(tmp_path / "b", width=160, only=["82-08 colour.tif"])

    assert first.relative_to(tmp_path / "a") == again.relative_to(tmp_path / "b") == Path("1982/82-08 colour.tif")
    assert first.read_bytes() == again.read_bytes()


def test_a_scan_is_a_tiff_as_a_scanner_writes_it(tmp_path):
    (grey,) = draw_scans(tmp_path, width=300, height=240, only=["96-08"])
    (colour,) = draw_scans(tmp_path, width=300, height=240, only=["80-12"])

    with Image.open(grey) as picture:  # an independent reader
        assert (picture.mode, picture.size) == ("I;16", (300, 240))
        assert round(float(picture.info["dpi"][0])) == 60  # 300 pixels on 5 inches
        assert picture.tag_v2[271] == "Tessaly"
        assert picture.tag_v2[306] == "2006:04:01 15:31:09"
        assert "Invented" in picture.tag_v2[270]
    with tifffile.TiffFile(colour) as tiff:
        page = tiff.pages[0]
        assert (page.dtype, page.samplesperpixel, page.photometric.name) == (np.uint16, 3, "RGB")


def test_a_scan_date_is_never_before_2006():
    assert min(frame.scanned for frame in FRAMES) >= "2006"
    assert all(int(frame.scanned[:4]) >= frame.day.year for frame in FRAMES)


def test_an_exposed_sheet_is_dense_where_the_scene_is_bright():
    mill = small("78-14.tif")

    sky, rebate = mill[20:50, 60:180], mill[186:189, 100:200]

    assert sky.mean() < 0.6 * rebate.mean()
    assert mill[20:180, 20:220].std() > 3000


def test_a_blank_sheet_is_clear_from_edge_to_edge():
    blank, mill = small("82-09.tif"), small("78-14.tif")

    assert abs(np.median(blank[30:160, 30:200]) - np.median(blank[186:189, 100:200])) < 600
    assert blank[30:160, 30:200].mean() > 1.5 * mill[30:160, 30:200].mean()


def test_a_colour_negative_has_an_orange_mask():
    red, green, blue = small("82-08 colour.tif")[186:189, 100:200].mean(axis=(0, 1))

    assert red > 1.2 * green > 1.2 * 1.1 * blue


def test_notches_stand_where_the_rule_says_and_mirrored_when_scanned_wrong_side_up():
    # Derived from the rule that the code notch is at the top right when the emulsion faces you and the
    # long side is upright (dictionary.archivists.org, "notch code"): a landscape sheet that reads correctly
    # has it on the right edge near the top, one scanned wrong side up on the left edge near the top.
    def bites(scan: np.ndarray) -> dict[str, float]:
        strips = {"left": scan[:, 2:4], "right": scan[:, -4:-2]}
        return {side: strip[8:26].max(axis=1).max() - np.median(strip[40:150]) for side, strip in strips.items()}

    right, wrong = bites(small("78-14.tif")), bites(small("79-10.tif"))

    assert right["right"] > 3000 > right["left"]
    assert wrong["left"] > 3000 > wrong["right"]


def test_the_small_scans_are_six_and_small():
    kept = sorted((SAMPLE / "small_scans").glob("*.tif"))

    assert [path.name for path in kept] == sorted(SMALL)
    assert sum(path.stat().st_size for path in kept) < 700_000


def test_trouble_is_drawn_only_when_asked_for(tmp_path):
    drawn = draw_scans(tmp_path, width=120, only=["78-14.tif"], with_trouble=True)

    assert [path.name for path in drawn] == ["78-14.tif", "78-30 copy.tif", "78-31.tif", "._78-14.tif"]
    assert drawn[2].stat().st_size == 0
    assert drawn[0].read_bytes().startswith(drawn[1].read_bytes())
    # Apple's AppleDouble header: magic number 0x00051607 (RFC 1740, appendix A).
    assert drawn[3].read_bytes().startswith(b"\x00\x05\x16\x07")


def test_the_drawing_works_loaded_by_its_path_alone(tmp_path):
    spec = importlib.util.spec_from_file_location("drawn_by_path", SAMPLE / "draw.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    (drawn,) = module.draw_scans(tmp_path / "a", width=120, only=["82-09"])
    (usual,) = draw_scans(tmp_path / "b", width=120, only=["82-09"])

    assert drawn.read_bytes() == usual.read_bytes()


def test_the_package_itself_imports_nothing_heavy():
    heavy = {"numpy", "PIL", "tifffile", "openpyxl"}
    code = f"import sys, sample_archive; print(sorted({heavy!r} & set(sys.modules)))"

    ran = subprocess.run([sys.executable, "-c", code], cwd=SAMPLE.parent, capture_output=True, text=True, check=True)

    assert ran.stdout.strip() == "[]"


@pytest.mark.slow
def test_all_scans_are_drawn(tmp_path):
    drawn = draw_scans(tmp_path, width=240, height=192)

    assert [path.relative_to(tmp_path).as_posix() for path in drawn] == [frame.path for frame in FRAMES]


@pytest.mark.slow
def test_a_full_size_scan_is_drawn_in_bounded_memory(tmp_path):
    code = (
        "import sys; from pathlib import Path; from sample_archive.draw import draw_full_size;"
        "draw_full_size(Path(sys.argv[1])); from tests.peak_memory import peak_mb; print(peak_mb())"
    )
    target = tmp_path / "full.tif"

    ran = subprocess.run(
        [sys.executable, "-c", code, str(target)],
        cwd=SAMPLE.parent,
        capture_output=True,
        text=True,
        check=True,
    )

    with tifffile.TiffFile(target) as tiff:
        assert (tiff.pages[0].shape, tiff.pages[0].dtype) == ((12000, 9600), np.uint16)
    assert float(ran.stdout) < 450
