"""``tiebeam sidecars write``: what it prints, the status it leaves, and what never goes out."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from catalog import clock
from catalog.actions.notes import add_note
from catalog.actions.persons import add_person
from catalog.actions.scans import add_scans
from catalog.cli.sidecars import typed_again
from catalog.outputs.sidecar_batches import SidecarGroup
from catalog.standards.xmp import Packet, Text, format_packet, lang_alt, name
from catalog.store.archive import Archive, open_archive
from sample_archive.frames import SMALL
from tests.builders import a_mill, a_sheet, a_village, rows, run
from tests.cli.command_runs import tiebeam
from tests.scan_archives import a_scan
from tests.sidecar_archives import an_archive_with_scans, scan_the_sample, write_all

SAMPLE = Path(__file__).parents[2] / "sample_archive"


@pytest.fixture
def folder(archive: Archive) -> Path:
    (archive.folder / "scans").mkdir()
    return archive.folder / "scans"


# ---- what it says


def test_it_says_how_many_were_written_and_that_the_next_run_has_nothing_to_do(archive, folder):
    an_archive_with_scans(archive, folder, 2)

    first, second = run(archive, "sidecars", "write"), run(archive, "sidecars", "write")

    assert (first.status, first.out, first.err) == (0, "2 sidecars written.\n", "")
    assert (second.status, second.out) == (0, "0 sidecars written, 2 say it all already.\n")


def test_a_rehearsal_says_would(archive, folder):
    an_archive_with_scans(archive, folder, 1)

    said = run(archive, "sidecars", "write", "--dry-run")

    assert (said.status, said.out) == (0, "1 sidecar would be written.\n")
    assert list(folder.glob("*.xmp")) == []


def test_only_the_frames_asked_for_get_sidecars(archive, folder):
    osk, brome = a_village(archive), a_village(archive, "Nether Brome")
    a_sheet(archive, "78-14", "1978", shows=a_mill(archive, place_id=osk))
    a_sheet(archive, "76-04", "1976", shows=a_mill(archive, "Brome Hall", place_id=brome))
    for seed, number in enumerate(("78-14", "76-04")):
        a_scan(folder / f"{number}.tif", seed)
    add_scans(archive, [folder])

    said = run(archive, "sidecars", "write", "--place", "Osk", "--years", "1975/1990")

    assert (said.status, said.out) == (0, "1 sidecar written.\n")
    assert [path.name for path in folder.glob("*.xmp")] == ["78-14.xmp"]


def test_what_could_not_be_written_is_named_and_the_status_says_so(archive, folder):
    an_archive_with_scans(archive, folder, 3)
    (folder / "80-0.tif").unlink()
    (folder / "80-1.xmp").write_bytes(b"no metadata")

    said = run(archive, "sidecars", "write")

    assert said.status == 1
    assert said.out == "1 sidecar written, 1 scan missing, 1 failed.\n"
    missing, failed = said.err.splitlines()
    assert missing == "C1 80-0.tif: the scan is not there"
    assert failed.startswith("C2 80-1.tif: 80-1.xmp: ")
    assert failed.endswith("left as it is")


def test_words_of_another_program_stay_and_are_told(archive, folder):
    a_sheet(archive, "78-14", shows=a_mill(archive))
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])
    others = Packet(((name("dc:title"), lang_alt("untitled")), (name("xmp:Rating"), Text("3"))))
    (folder / "78-14.xmp").write_bytes(format_packet(others))

    said = run(archive, "sidecars", "write")

    assert said.status == 1
    assert said.out.splitlines()[0] == (
        "C1 78-14.xmp: held, changed on both sides: dc:title. Theirs stays. See: tiebeam sidecars compare C1"
    )
    assert b"untitled" in (folder / "78-14.xmp").read_bytes()
    assert b"<xmp:Rating>3</xmp:Rating>" in (folder / "78-14.xmp").read_bytes()


def test_one_json_document_tells_what_became_of_each(archive, folder):
    an_archive_with_scans(archive, folder, 2)
    (folder / "80-1.xmp").write_bytes(b"no metadata")

    said = run(archive, "sidecars", "write", "--json")

    document = json.loads(said.out)
    assert (document["count"], document["away"], said.status) == (2, 0, 1)
    assert [(item["reference"], item["sheet"], item["outcome"]) for item in document["items"]] == [
        ("C2", "S2", "failed"), ("C1", "S1", "written"),
    ]  # fmt: skip
    assert document["items"][1]["path"] == str(folder / "80-0.xmp")


def test_ctrl_c_leaves_130_and_says_how_to_go_on(archive, folder, monkeypatch, capsys):
    an_archive_with_scans(archive, folder, 3)

    def stopped(_group: SidecarGroup) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(SidecarGroup, "finish", stopped)

    said = tiebeam(capsys, "--archive", archive.folder, "sidecars", "write", "--undated")

    assert said.status == 130
    assert said.err.splitlines()[-1] == "Stopped."
    assert rows(archive, "SELECT state, left_to_do FROM deed WHERE kind = 'sidecars write'") == [
        ("interrupted", "What is left is done by: tiebeam sidecars write --undated")
    ]


def test_the_command_to_go_on_with_asks_for_the_same_frames():
    asked = {"words": ("St. John's", "Osk"), "place": "Priors Lode", "taken_from": None, "lens": "90", "undated": True}

    assert typed_again(asked) == (
        "tiebeam sidecars write 'St. John'\"'\"'s' Osk --place 'Priors Lode' --lens 90 --undated"
    )


# ---- golden files: the six small scans of the sample, through the whole deed


@pytest.mark.parametrize("stem", [name.removesuffix(".tif") for name in SMALL])
def test_the_small_scans_get_the_sidecars_they_always_got(small_scans, golden, stem):
    golden(f"sidecars/{stem.replace(' ', '_')}.xmp", (small_scans / f"{stem}.xmp").read_bytes())


@pytest.fixture(scope="module")
def small_scans(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the six small scans within the sample archive, sidecars beside them."""
    folder = tmp_path_factory.mktemp("small") / "wenn"
    shutil.copytree(sample, folder)
    scans = folder / "scans"
    shutil.copytree(SAMPLE / "small_scans", scans)
    archive = open_archive(folder)
    add_scans(archive, [scans])
    (mill,) = rows(archive, "SELECT id FROM sheet WHERE exposed_edtf = '1978~' ORDER BY id LIMIT 1")
    assert run(archive, "scans", "match", str(scans / "78-14.tif"), f"S{mill}").status == 0
    with clock.fixed():
        assert len([one for one in write_all(archive) if one.outcome == "written"]) == len(SMALL)
    return scans


# ---- private stays private (rule 7)


@pytest.fixture(scope="module")
def scanned(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """The sample archive with its scans, every sidecar written, remarks of the cards let out."""
    archive = scan_the_sample(sample, tmp_path_factory.mktemp("private") / "wenn")
    _let_out(archive, "caption", "Remarks")
    archive = open_archive(archive.folder)
    write_all(archive)
    return archive


def _let_out(archive: Archive, *headings: str) -> None:
    path = archive.folder / "tiebeam.toml"
    text = path.read_text("utf-8")
    assert 'public_notes = ["caption"]' in text
    path.write_text(text.replace('public_notes = ["caption"]', f"public_notes = {json.dumps(headings)}"), "utf-8")


@cache
def valley() -> dict[str, dict[str, Any]]:
    return tomllib.loads((SAMPLE / "valley.toml").read_text("utf-8"))


def persons() -> dict[str, dict[str, str]]:
    return valley()["person"]


def makers() -> set[str]:
    entries = [entry for one in valley()["building"].values() for entry in one.get("chronicle", ())]
    return {persons()[entry["doer_person"]]["name"] for entry in entries if "doer_person" in entry}


def test_no_sidecar_names_a_person_but_the_photographer_and_the_makers(scanned):
    sidecars = list((scanned.folder / "scans").rglob("*.xmp"))
    private = [fact for one in persons().values() for fact in (one.get("address"), one.get("contact")) if fact]
    private += [one["name"] for one in persons().values() if one["name"] not in makers() | {"Ida Thornwick"}]

    assert len(sidecars) > 50
    assert len(private) > 8
    for path in sidecars:
        text = path.read_text("utf-8")
        assert [fact for fact in private if fact.casefold() in text.casefold()] == [], path.name


def test_no_sidecar_holds_a_docket_or_a_box(scanned):
    dockets = set(rows(scanned, "SELECT DISTINCT docket FROM sheet WHERE docket IS NOT NULL"))

    assert len(dockets) > 30
    for path in (scanned.folder / "scans").rglob("*.xmp"):
        assert not dockets & set(re.findall(r"\b\d{6}\b", path.read_text("utf-8")))


def test_finding_and_showing_give_away_no_address_and_no_contact(scanned):
    private = [fact for one in persons().values() for fact in (one.get("address"), one.get("contact")) if fact]
    shown = [f"S{i}" for i in rows(scanned, "SELECT id FROM sheet")]
    for letter, table in (("B", "building"), ("L", "place"), ("V", "view"), ("T", "standpoint"), ("D", "visit")):
        shown += [f"{letter}{i}" for i in rows(scanned, f"SELECT id FROM {table}")]
    for letter, table in (("N", "person"), ("R", "source"), ("Q", "open_question"), ("K", "kit")):
        shown += [f"{letter}{i}" for i in rows(scanned, f"SELECT id FROM {table}")]
    asked = [["find"], ["find", "--json"], ["find", "--csv"], ["persons", "list"], ["persons", "list", "--json"]]
    asked += [["show", reference, *more] for reference in shown for more in ((), ("--json",))]

    for words in asked:
        said = run(scanned, *words)
        assert said.status == 0, words
        assert [fact for fact in private if fact in said.out + said.err] == [], words


@pytest.mark.parametrize(
    ("text", "goes_out"),
    [
        ("Boards still on.", True),
        ("Told by Wilf Arkle.", False),
        ("WILF ARKLE'S dog on the left", False),
        ("Wilf said so", True),
        ("Letter from 3 Mill Lane, Osk", False),
        ("Print for Nan Pethick, call 0555 010 203", False),
    ],
)
def test_a_public_note_that_names_a_person_stays_at_home(archive, folder, text, goes_out):
    add_person(archive, name="Wilf Arkle", address="3 Mill Lane, Osk")
    add_person(archive, name="Nan Pethick", contact="0555 010 203")
    sheet = a_sheet(archive, "78-14")
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])
    add_note(archive, about="sheet", about_id=sheet, text=text, heading="caption")

    write_all(archive)

    assert (text in (folder / "78-14.xmp").read_text("utf-8").replace("&apos;", "'")) == goes_out


@pytest.mark.parametrize(
    ("heading", "headings", "goes_out"),
    [
        ("caption", ["caption"], True),
        ("Caption", ["caption"], True),
        ("Remarks", ["caption"], False),
        ("Remarks", ["caption", "remarks"], True),
        ("Tk.", ["caption", "Remarks"], False),
        (None, ["caption", "Remarks"], False),
        ("caption", [], False),
    ],
)
def test_only_notes_under_the_headings_of_the_settings_go_out(archive, folder, heading, headings, goes_out):
    _let_out(archive, *headings)
    archive = open_archive(archive.folder)
    sheet = a_sheet(archive, "78-14")
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])
    add_note(archive, about="sheet", about_id=sheet, text="Neg. still here", heading=heading)

    write_all(archive)

    assert ("Neg. still here" in (folder / "78-14.xmp").read_text("utf-8")) == goes_out


@pytest.mark.parametrize("value", ['"caption"', "[1]", "true"])
def test_a_setting_that_is_no_list_of_words_is_refused_by_name(archive, value):
    path = archive.folder / "tiebeam.toml"
    path.write_text(path.read_text("utf-8").replace('public_notes = ["caption"]', f"public_notes = {value}"), "utf-8")

    said = run_refused(archive)

    assert "[sidecars] public_notes" in said
    assert "should be" in said


def run_refused(archive: Archive) -> str:
    outcome = run(archive, "sidecars", "write")
    assert outcome.status == 3
    return outcome.err


def test_a_fault_names_its_file_once(archive, folder):
    an_archive_with_scans(archive, folder, 1)
    (folder / "80-0.xmp").write_bytes(format_packet(Packet()))
    (folder / "80-0.xmp").chmod(0o444)

    said = run(archive, "sidecars", "write")

    assert said.err == "C1 80-0.xmp: is marked read-only; left as it is\n"


# ---- limits of IIM (IIM 4.2: a title has 64 octets, a keyword 64, a name 32)


def test_a_text_longer_than_iim_is_written_whole_and_told_once_a_field(archive, folder):
    long = "Église " * 10  # 70 letters and, in UTF-8, 80 octets
    for number in ("80-1", "80-2"):
        a_sheet(archive, number, title=f"{long}{number}")
        a_scan(folder / f"{number}.tif", int(number[-1]))
    add_scans(archive, [folder])

    said = run(archive, "sidecars", "write")
    again = run(archive, "sidecars", "write")

    told, what_then = [line for line in said.out.splitlines() if "IIM" in line]
    assert told == "Title: 2 texts beyond the 64 octets of IIM (C1 “Église Église Église Ég…” has 84)."
    assert what_then == "  Written whole; a program that copies it into IIM cuts it."
    assert said.status == 0
    assert f"{long}80-1" in (folder / "80-1.xmp").read_text("utf-8")
    assert "IIM" not in again.out


def test_one_json_document_tells_of_each_text_that_iim_would_cut(archive, folder):
    an_archive_with_scans(archive, folder, 1)
    add_note(archive, about="sheet", about_id=1, heading="keywords", text=f"mill; {'m' * 65}; {'n' * 64}")

    (item,) = json.loads(run(archive, "sidecars", "write", "--dry-run", "--json").out)["items"]

    assert item["longer_than_iim"] == [
        {"property": "dc:subject", "octets": 65, "limit": 64, "words": "m" * 65}
    ]  # fmt: skip


@pytest.mark.parametrize("words", ["write --json", "compare --all", "compare --json", "read", "read --json"])
def test_no_command_on_sidecars_gives_away_a_person_unasked(scanned, words):
    private = [fact for one in persons().values() for fact in (one.get("address"), one.get("contact")) if fact]
    private += [one["name"] for one in persons().values() if one["name"] not in makers() | {"Ida Thornwick"}]

    said = run(scanned, "sidecars", *words.split())

    assert said.status in (0, 1)
    assert len(said.out) > 20
    assert [fact for fact in private if fact.casefold() in (said.out + said.err).casefold()] == []


@pytest.mark.parametrize("verb", ["write", "read", "compare"])
def test_a_scan_is_named_by_its_file_and_one_that_is_none_is_refused(archive, folder, verb):
    an_archive_with_scans(archive, folder, 2)
    stranger = folder / "of-somebody-else.tif"
    stranger.write_bytes((folder / "80-0.tif").read_bytes())

    known = run(archive, "sidecars", verb, str(folder / "80-0.tif"))
    strange = run(archive, "sidecars", verb, str(stranger))

    assert known.status in (0, 1)
    assert "1 sidecar written" in known.out or "1 scan looked at" in known.out or "lacks" in known.out
    assert (strange.status, strange.out) == (3, "")
    assert strange.err == f"tiebeam: No scan answers to '{stranger}'. List them with: tiebeam scans list\n"


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["S9999"], 3, "tiebeam: There is no sheet S9999. Look for it with: tiebeam find\n"),
        (["C9999"], 3, "tiebeam: No scan answers to 'C9999'. List them with: tiebeam scans list\n"),
        (["nothere.tif"], 0, "No frame is found by that; look for it with: tiebeam find\n"),
        (["--years", "1900"], 0, "No frame is found by that; look for it with: tiebeam find\n"),
    ],
)  # fmt: skip
def test_what_finds_no_scan_is_said_so(archive, folder, words, status, says):
    an_archive_with_scans(archive, folder, 1)

    said = run(archive, "sidecars", "write", *words)

    assert (said.status, said.err) == (status, says)


def test_a_scan_without_a_sheet_is_told(archive, folder):
    an_archive_with_scans(archive, folder, 1)
    a_scan(folder / "stray.tif")
    add_scans(archive, [folder])

    assert run(archive, "sidecars", "read", "C2").err == "C2 is of no sheet yet. See: tiebeam scans unmatched\n"
