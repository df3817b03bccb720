"""The desk: what waits is counted, and each kind opens where it is taken up."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from catalog import clock
from catalog.actions.kit import add_film
from catalog.actions.questions import answer_question
from catalog.store.archive import Archive, open_archive
from tests.asking import Valley
from tests.builders import a_sheet
from tests.fast_cases import some_fast
from tests.sample import copy_sample
from tests.store.archives import raw
from tests.tui.desk import Desk, browsed


@pytest.fixture(autouse=True)
def one_day():
    with clock.fixed():
        yield


def chosen(desk: Desk) -> str | None:
    found: str | None = desk.card.query_one("#face-page").chosen
    return found


async def open_pile(desk: Desk, kind: str) -> None:
    """Open a line of the desk by keys."""
    await desk.press("home")
    while chosen(desk) != f"desk:{kind}":
        before = chosen(desk)
        await desk.press("down")
        assert chosen(desk) != before, f"no line for {kind}:\n{desk.text}"
    await desk.press("enter")


def test_one_key_lays_the_desk_on_top_from_anywhere(sample):
    async def drive(desk: Desk) -> None:
        for reference in (None, "B1", "S7", "E1", "N1"):
            desk.app.open_card(reference)
            await desk.settle()
            await desk.press("d")
            assert desk.lines[0].startswith(" ╭ the desk ╮")
        await desk.press("d")
        assert "This is the desk." in desk.lines[-1]

    browsed(sample, drive)


def test_the_mark_stands_at_the_first_line_when_everything_is_counted(tmp_path):
    async def drive(desk: Desk) -> None:
        assert desk.lines[-1].rstrip().endswith("1 of 2")
        await desk.press("r")
        assert desk.lines[-1].rstrip().endswith("1 of 2")

    browsed(a_valley(tmp_path), drive, at="desk")


def test_what_waits_is_counted_and_what_does_not_is_named(sample):
    async def drive(desk: Desk) -> None:
        assert "10  doubtful words of old cards" in desk.text
        assert "3  open questions" in desk.text
        assert "59  sheets not scanned" in desk.text
        assert "first: acetate" in desk.line_with("sheets not scanned")
        assert "2  prints that should be back" in desk.text
        assert "1  promise to be kept" in desk.text
        assert "No sheets with the lab, no scans without a sheet" in desk.text

    browsed(sample, drive, at="desk")


FIRST_ROWS = [("words", "S4"), ("questions", "Q1"), ("unscanned", "S1"), ("overdue", "P3"), ("promises", "E1")]


@pytest.mark.parametrize(("kind", "reference"), some_fast(FIRST_ROWS, "unscanned", "overdue"))
def test_each_line_opens_its_list_and_each_row_its_record(sample, kind, reference):
    async def drive(desk: Desk) -> None:
        await open_pile(desk, kind)
        assert "the desk / ╭" in desk.lines[0]
        assert "tiebeam " in desk.text
        await desk.press("enter")
        assert desk.card.reference == reference
        await desk.press("escape", "g")
        assert desk.lines[0].startswith(" ╭ the desk ╮")

    browsed(sample, drive, at="desk")


def test_the_back_of_the_desk_says_how_each_kind_is_settled(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("space")
        words = " ".join(desk.text.replace("│", " ").split())
        assert "tiebeam questions answer QUESTION ANSWER" in words
        assert "tiebeam prints return PRINT" in words

    browsed(sample, drive, at="desk", size=(80, 50))


def test_sheets_not_scanned_are_gone_through_in_the_order_of_their_risk(archive):
    a_sheet(archive, "08-11", "2008")
    a_sheet(archive, "78-14", "1978", film_id=add_film(archive, name="Old Pan", base="nitrate"))

    async def drive(desk: Desk) -> None:
        assert "first: nitrate" in desk.line_with("sheets not scanned")
        await open_pile(desk, "unscanned")
        words = " ".join(desk.text.replace("│", " ").split())
        assert "ask the fire service before you move it" in words
        assert "local fire and waste codes" in words
        while "▸ 78-14" not in desk.text:
            await desk.press("down")
        await desk.press("enter")
        assert desk.card.reference == "S2"
        await desk.press("right")
        assert desk.card.reference == "S1"

    browsed(archive, drive, at="desk")


def test_no_caution_is_given_where_no_such_film_waits(archive):
    a_sheet(archive, "08-11", "2008", base="polyester")

    async def drive(desk: Desk) -> None:
        await open_pile(desk, "unscanned")
        assert "polyester" in desk.line_with("08-11")
        assert "Nitrate film" not in desk.text
        assert "vinegar" not in desk.text

    browsed(archive, drive, at="desk")


def test_a_question_answered_meanwhile_is_off_the_desk(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))

    async def drive(desk: Desk) -> None:
        desk.app.look_for_changes()
        await desk.settle()
        assert "3  open questions" in desk.text
        answer_question(archive, 1, answer="In 1979, says Dobbet & Son.")
        desk.app.look_for_changes()
        await desk.settle()
        assert "2  open questions" in desk.text

    browsed(archive, drive, at="desk")


def test_names_are_hidden_in_the_lists_until_one_key_shows_them(sample):
    async def drive(desk: Desk) -> None:
        await open_pile(desk, "overdue")
        assert "with N12" in desk.line_with("E1 2/15")
        await desk.press("n")
        assert "with Lantern Street Gallery" in desk.line_with("E1 2/15")

    browsed(sample, drive, at="desk", size=(120, 40))


def test_an_empty_desk_says_so_in_words(archive):
    async def drive(desk: Desk) -> None:
        assert "Nothing waits." in desk.text
        await desk.press("enter", "down", "space", "up", "space")
        assert "Nothing waits." in desk.text

    browsed(archive, drive, at="desk")


def a_valley(tmp_path: Path) -> Archive:
    """An archive with a scan on a drive that is away, and one of no sheet."""
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    valley.frame("78-14", "1978", "Osk")
    valley.drive("Blue box", str(tmp_path / "nowhere"))
    valley.scan("78-14", "78-14.tif", drive="Blue box")
    return valley.archive


def test_a_drive_that_is_away_is_named_with_what_to_do(tmp_path):
    async def drive(desk: Desk) -> None:
        assert "1  drive away" in desk.text
        await open_pile(desk, "drives")
        assert "Blue box: 1 file on it" in desk.text
        assert "tiebeam drives locate NAME FOLDER" in " ".join(desk.text.replace("│", " ").split())
        await desk.press("enter")
        assert desk.card.reference == "U1"

    browsed(a_valley(tmp_path), drive, at="desk")


def test_a_scan_that_is_damaged_opens_its_card(tmp_path):
    archive = a_valley(tmp_path)
    connection = raw(archive)
    connection.execute("UPDATE file SET state = 'damaged', damage = 'its picture cannot be read'")
    connection.close()

    async def drive(desk: Desk) -> None:
        await open_pile(desk, "damaged")
        assert "its picture cannot be read" in desk.text
        await desk.press("enter")
        assert desk.card.reference == "C1"

    browsed(archive, drive, at="desk")


def test_a_scan_of_no_sheet_opens_where_it_is_tied(tmp_path):
    archive = a_valley(tmp_path)
    connection = raw(archive)
    connection.execute("DELETE FROM scan_part")
    connection.close()

    async def drive(desk: Desk) -> None:
        assert "1  scan without a sheet" in desk.text
        await open_pile(desk, "strays")
        assert "78-14.tif" in desk.text

    browsed(archive, drive, at="desk")


def test_sidecars_are_looked_through_only_when_their_line_is_opened(tmp_path):
    async def drive(desk: Desk) -> None:
        assert "?" in desk.line_with("sidecars say something else")
        assert "not looked through yet; Enter looks" in desk.text
        await open_pile(desk, "sidecars")
        assert "No scans whose sidecars say something else." in desk.text
        await desk.press("escape")
        assert "none" in desk.line_with("sidecars say something else")

    browsed(a_valley(tmp_path), drive, at="desk")


def test_a_sidecar_changed_elsewhere_opens_its_sheet(tmp_path):
    from tests.actions.test_sidecar_waiting import others_say
    from tests.scan_archives import a_scan
    from tests.sidecar_archives import write_all
    from tests.store.archives import an_archive

    archive = an_archive(tmp_path / "wenn")
    (archive.folder / "scans").mkdir()
    a_sheet(archive, "78-14")
    a_scan(archive.folder / "scans" / "78-14.tif")
    from catalog.actions.scans import add_scans

    add_scans(archive, [archive.folder / "scans"])
    write_all(archive)
    others_say(archive.folder / "scans" / "78-14.xmp", "The mill at dusk")

    async def drive(desk: Desk) -> None:
        await open_pile(desk, "sidecars")
        assert "Title" in desk.line_with("78-14.tif")
        await desk.press("enter")
        assert desk.card.reference == "S1"

    browsed(archive, drive, at="desk")


def test_a_deed_cut_short_says_the_command_that_does_what_is_left(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))
    with sqlite3.connect(archive.catalogue) as other:
        other.execute(
            "INSERT INTO deed (kind, words, at, state, schema, left_to_do) VALUES ('sidecars write', 'tiebeam sidecars"
            " write', '2026-11-20T09:30:00Z', 'interrupted', '0003', 'Run: tiebeam sidecars write --place Osk')"
        )
    other.close()

    async def drive(desk: Desk) -> None:
        await open_pile(desk, "deeds")
        await desk.press("enter")
        assert "tiebeam sidecars write --place Osk" in desk.lines[-1]

    browsed(archive, drive, at="desk")
