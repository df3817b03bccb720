"""Strays tied to sheets by keys: every task ends in what is stored."""

from __future__ import annotations

import asyncio
import shutil
import sqlite3
from dataclasses import replace

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.scan_matches import match_scan_to_sheet
from catalog.store.archive import Archive, open_archive
from catalog.store.connections import connect
from catalog.tui.screens import stray_card, two_pictures
from catalog.tui.screens.two_pictures import LEFT, RIGHT
from tests.asking import Valley
from tests.sample import copy_sample
from tests.scan_archives import a_scan, a_sheet, an_archive, rows, tiebeam
from tests.tui.desk import Desk, browsed


@pytest.fixture(autouse=True)
def no_rest(monkeypatch):
    """Let the next key tie at once: what keeps a held key off has a test of its own. Pictures are opened at once."""
    monkeypatch.setattr(stray_card, "REST_S", 0.0)
    monkeypatch.setattr(two_pictures, "WAIT_S", 0.0)


@pytest.fixture(scope="module")
def made_strays(tmp_path_factory):
    """An archive with two sheets of one number, and three scans that wait: C1, C2 and C3."""
    archive = an_archive(tmp_path_factory.mktemp("strays") / "wenn")
    for number in ("78-14", "82-07", "82-08"):
        a_sheet(archive, number)
    a_sheet(archive, "78-14", scheme="box")
    for seed, name in enumerate(("78-14.tif", "mill north.tif", "x [verso].tif")):
        a_scan(archive.folder / "scans" / name, seed, caption="Sheet 82-07" if seed == 1 else "")
    tiebeam(archive, "scans", "add", archive.folder / "scans")
    return archive.folder


@pytest.fixture
def strays(made_strays, tmp_path):
    """The archive of the strays, to be changed."""
    return open_archive(copy_sample(made_strays, tmp_path / "wenn"))


def parts(archive):
    return rows(archive, "SELECT scan_id, sheet_id, region, matched_by FROM scan_part ORDER BY id")


def deeds(archive):
    return rows(archive, "SELECT kind, words FROM deed WHERE kind LIKE 'scans %' ORDER BY id")[1:]


def picture(desk: Desk, side: str):
    return desk.card.side(side).picture


def test_the_list_says_which_scans_wait_and_why(strays):
    async def drive(desk: Desk) -> None:
        assert "3 scans without a sheet." in desk.lines[-1]
        assert "2 sheets have the number 78-14" in desk.line_with("78-14.tif")
        assert "its name holds no number" in desk.line_with("x [verso].tif")

    browsed(strays, drive, at="stray")


def test_a_stray_is_tied_to_the_second_sheet_of_its_number_and_the_next_one_comes(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("enter")
        assert "its name holds 78-14, which 2 sheets carry" in " ".join(desk.text.replace("│", "").split())
        await desk.press("down", "t")

        assert parts(strays) == [(1, 4, None, "hand")]
        assert desk.card.record_id == 2
        assert "Tied C1 to S4. 2 more wait." in desk.lines[-1]
        assert deeds(strays) == [("scans match", "matched C1 to S4")]
        await desk.press("t", "escape")
        assert parts(strays)[1:] == [(2, 2, None, "hand")]  # by its embedded words
        assert "1 scan without a sheet." in desk.lines[-1]

    browsed(strays, drive, at="stray")

    undo_deed(strays)
    assert parts(strays) == [(1, 4, None, "hand")]


def test_the_mark_stands_at_the_likeliest_sheet_of_each_stray(strays):
    a_scan(strays.folder / "78-14 again.tif", 7)
    tiebeam(strays, "scans", "add", strays.folder / "78-14 again.tif")

    async def drive(desk: Desk) -> None:
        await desk.press("t", "down")
        assert desk.card.page.chosen == "S4"
        await desk.press("r")
        assert desk.card.page.chosen == "S4"  # read anew, the mark stays
        await desk.press("right", "right", "right")
        assert desk.card.record_id == 4
        assert desk.card.page.chosen == "S1"
        await desk.press("down", "f")
        await desk.type("82")
        assert desk.card.page.chosen == "S2"

    browsed(strays, drive, at="C1")


def test_both_pictures_are_in_view(strays):
    a_scan(strays.folder / "82-07 older.tif", 9)
    tiebeam(strays, "scans", "add", strays.folder / "82-07 older.tif")

    async def drive(desk: Desk) -> None:
        await desk.press("t")
        assert picture(desk, LEFT).has_picture
        assert picture(desk, RIGHT).has_picture
        left, right = (desk.card.query_one(f"#{side}").region for side in (LEFT, RIGHT))
        assert left.y == right.y
        assert left.right <= right.x
        assert "1 scan already" in " ".join(desk.text.split())

    browsed(strays, drive, at="C2")


def test_a_sheet_without_a_picture_says_so_in_words(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t")
        assert picture(desk, RIGHT).words == "no scan yet"
        assert "S1  78-14" in desk.text

    browsed(strays, drive, at="C1")


def test_another_sheet_is_found_by_its_number_and_tied(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t", "f")
        await desk.type("82-08")
        await desk.press("enter", "t")

        assert parts(strays) == [(3, 3, None, "hand")]
        assert desk.card.record_id == 1  # the first that still waits

    browsed(strays, drive, at="C3")


def test_leaving_the_line_brings_the_suggestions_back(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t", "f")
        await desk.type("nothing [/")
        assert "Nothing is found by “nothing [/”." in desk.text
        await desk.press("escape")
        assert "it may be of" in desk.text
        await desk.press("escape")
        assert desk.card.reference == "C1"
        assert parts(strays) == []

    browsed(strays, drive, at="C1")


def test_letters_typed_to_find_a_sheet_do_nothing_else(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t", "f")
        await desk.type("t x o m")
        assert desk.card.find_line.field.value == "t x o m"
        assert parts(strays) == []

    browsed(strays, drive, at="C1")


def test_two_sheets_on_one_scan_are_one_deed(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t", "m", "down", "m")
        assert "t ties it to 2 sheets: one deed." in desk.lines[-1]
        assert desk.text.count("✓ 78-14") == 2
        await desk.press("t")

        assert parts(strays) == [(1, 1, None, "hand"), (1, 4, None, "hand")]
        assert deeds(strays) == [("scans match", "matched C1 to S1 and S4")]

    browsed(strays, drive, at="C1")

    undo_deed(strays)
    assert parts(strays) == []


def test_a_scan_of_part_of_a_sheet_says_which(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t", "o", "enter")
        assert "Type which part of the sheet" in desk.lines[-1]
        await desk.type("left half [glass]")
        await desk.press("enter")

        assert parts(strays) == [(1, 1, "left half [glass]", "hand")]
        assert "Tied C1 to S1, left half [glass]." in desk.lines[-1]

    browsed(strays, drive, at="C1")


def test_what_is_not_of_this_archive_is_taken_out_by_two_presses_and_comes_back(strays):
    file = strays.folder / "scans" / "x [verso].tif"

    async def drive(desk: Desk) -> None:
        await desk.press("t", "x", "left", "right", "x")
        assert rows(strays, "SELECT count(*) FROM scan") == [(3,)]
        await desk.press("x")
        assert "Took C3 out of the catalogue; its file was left. 2 more wait." in desk.lines[-1]

    browsed(strays, drive, at="C3")

    assert rows(strays, "SELECT id FROM scan ORDER BY id") == [(1,), (2,)]
    assert file.exists()
    undo_deed(strays)
    assert rows(strays, "SELECT id FROM scan ORDER BY id") == [(1,), (2,), (3,)]


def test_when_the_last_one_is_tied_the_card_says_so(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("enter", "t", "t", "f")
        await desk.type("S3")
        await desk.press("enter", "t")
        assert "No scan waits any more." in desk.lines[-1]
        assert "No scan waits for a sheet." in desk.text
        await desk.press("t", "m", "o", "x", "p", "right", "left", "f", "escape", "escape")
        assert "Every scan has a sheet." in desk.text
        await desk.press("enter", "t")

    browsed(strays, drive, at="stray")

    assert [part[:2] for part in parts(strays)] == [(1, 1), (2, 2), (3, 3)]


def test_what_another_program_tied_meanwhile_is_not_tied_again(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t")
        match_scan_to_sheet(strays, 1, 3)
        await desk.press("t")

        assert "C1 was matched to S3 meanwhile. Nothing was changed." in desk.lines[-1]
        assert "it is no stray any more" in desk.text
        assert parts(strays) == [(1, 3, None, "hand")]
        await desk.press("t")
        assert parts(strays) == [(1, 3, None, "hand")]

    browsed(strays, drive, at="C1")


def test_a_sheet_that_was_removed_meanwhile_is_refused(strays):
    async def drive(desk: Desk) -> None:
        await desk.press("t")
        with sqlite3.connect(strays.catalogue) as other:
            other.execute("DELETE FROM sheet_number WHERE sheet_id = 1")
            other.execute("DELETE FROM sheet WHERE id = 1")
        other.close()
        await desk.press("t")
        assert "There is no sheet S1." in desk.lines[-1]
        assert parts(strays) == []

    browsed(strays, drive, at="C1")


def test_a_catalogue_that_another_one_writes_to_is_said_and_nothing_is_tied(strays):
    archive = Archive(strays.folder, replace(strays.settings, catalogue_wait_seconds=0))

    async def drive(desk: Desk) -> None:
        await desk.press("t")
        other = connect(archive.catalogue, writing=True)
        other.execute("BEGIN IMMEDIATE")
        await desk.press("t")
        assert "another tiebeam is writing to this archive" in desk.lines[-1]
        assert desk.card.record_id == 1
        other.execute("ROLLBACK")
        other.close()
        assert parts(strays) == []
        await desk.press("t")
        assert parts(strays) == [(1, 1, None, "hand")]

    browsed(archive, drive, at="C1")


def test_a_number_pattern_that_is_none_is_said_on_the_card(strays):
    archive = Archive(strays.folder, replace(strays.settings, scans_number_pattern="["))

    async def drive(desk: Desk) -> None:
        assert "is no regular expression" in desk.lines[-1]
        await desk.press("enter")
        assert desk.text.count("number_pattern") == 2  # on the card, and in the line below it
        await desk.press("t", "m", "x", "right", "f")
        await desk.type("82-08")
        assert parts(strays) == []

    browsed(archive, drive, at="stray")


def test_the_next_picture_of_a_sheet_with_two_scans_is_one_key_away(strays):
    for seed, name in enumerate(("82-07 a.tif", "82-07 b.tif"), 20):
        a_scan(strays.folder / name, seed)
    tiebeam(strays, "scans", "add", strays.folder / "82-07 a.tif", strays.folder / "82-07 b.tif")

    async def drive(desk: Desk) -> None:
        await desk.press("t")
        first = desk.card._pictured[RIGHT]
        await desk.press("p")
        assert desk.card._pictured[RIGHT] != first
        await desk.press("p")
        assert desk.card._pictured[RIGHT] == first
        assert "2 scans already" in " ".join(desk.text.replace("│", "").split())

    browsed(strays, drive, at="C2")


def test_a_key_that_is_held_down_ties_only_the_first(strays, monkeypatch):
    monkeypatch.setattr(stray_card, "REST_S", 30.0)

    async def drive(desk: Desk) -> None:
        await desk.press("t")
        await desk.press("t", "t", "t", "t")
        assert parts(strays) == [(1, 1, None, "hand")]
        assert "Look at it first." in desk.lines[-1]

    browsed(strays, drive, at="C1")


def test_the_card_of_a_scan_that_has_its_sheet_says_which(strays):
    match_scan_to_sheet(strays, 1, 3)

    async def drive(desk: Desk) -> None:
        await desk.press("t")
        assert desk.card.reference == "C1"
        assert "C1 is of S3 already." in desk.lines[-1]

    browsed(strays, drive, at="C1")


def test_what_a_person_took_off_is_suggested_last(tmp_path):
    archive = an_archive(tmp_path / "wenn")
    a_sheet(archive, "82-07")
    a_scan(archive.folder / "82-07.tif")
    tiebeam(archive, "scans", "add", archive.folder / "82-07.tif")
    tiebeam(archive, "scans", "unmatch", "C1")

    async def drive(desk: Desk) -> None:
        assert "a person took it off its sheet" in desk.text
        await desk.press("enter")
        assert "a person took it off this sheet" in " ".join(desk.text.replace("│", "").split())

    browsed(archive, drive, at="stray")


def test_a_stray_on_a_drive_that_is_away_and_a_damaged_one_say_so(tmp_path):
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    valley.frame("78-14", "1978", "Osk")
    valley.drive("Blue box", str(tmp_path / "nowhere"))
    valley.scan("78-14", "78-14.tif", drive="Blue box")
    tiebeam(valley.archive, "scans", "unmatch", "C1")
    damaged = a_scan(valley.archive.folder / "bad.tif")
    damaged.write_bytes(damaged.read_bytes()[:60])
    tiebeam(valley.archive, "scans", "add", damaged)

    async def drive(desk: Desk) -> None:
        await desk.press("enter")
        assert "Blue box" in picture(desk, LEFT).words
        assert "away" in picture(desk, LEFT).words
        assert "on Blue box" in desk.text
        await desk.press("right")
        assert "bad.tif" in picture(desk, LEFT).words
        assert "damaged" in picture(desk, LEFT).words
        await desk.resize(40, 10)
        assert "too small for a card" in " ".join(desk.text.split())
        await desk.resize(44, 12)
        assert "Nothing in its name" in " ".join(desk.text.split())

    browsed(valley.archive, drive, at="stray")


def test_names_typed_by_people_are_shown_as_they_are(tmp_path):
    archive = an_archive(tmp_path / "wenn")
    a_sheet(archive, "[/ 教")
    a_scan(archive.folder / "scans" / "E\u0301glise [undated] 教会.tif", caption="[b]the [north] side[/]")
    tiebeam(archive, "scans", "add", archive.folder / "scans")

    async def drive(desk: Desk) -> None:
        assert "[undated] 教会.tif" in desk.text
        await desk.press("enter", "f")
        await desk.type("[/ 教")
        await desk.press("enter")
        assert "[/ 教" in desk.text
        await desk.press("t")
        assert parts(archive) == [(1, 1, None, "hand")]

    browsed(archive, drive, at="stray")


def test_the_sample_has_a_stray_and_its_card_lies_open_wide(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))
    shutil.copytree("sample_archive/small_scans", archive.folder / "scans")
    tiebeam(archive, "scans", "add", archive.folder / "scans")

    async def drive(desk: Desk) -> None:
        await desk.press("enter")
        assert "Wennmouth Ferry House" in desk.text
        assert "back of the card" in desk.lines[1]
        assert "Flatfield 4800" in desk.text
        await desk.press("space")
        assert desk.app.focused is desk.card.query_one("#back-page")

    browsed(archive, drive, at="stray", size=(160, 50))


def test_leaving_while_pictures_are_sought_is_no_accident(strays):
    async def drive(desk: Desk) -> None:
        for _ in range(5):
            desk.app.open_stray(1)
            await asyncio.sleep(0.01)
            desk.app.pop_screen()
        await desk.settle()

    browsed(strays, drive)


def test_every_key_of_these_cards_has_words_that_fit(strays):
    async def drive(desk: Desk) -> None:
        for _ in range(2):
            keys = desk.app.keys_here()
            assert all(words and len(words) <= 29 for _, words in keys)
            assert len({words for _, words in keys}) == len(keys)
            await desk.press("enter")

    browsed(strays, drive, at="stray")
