"""Taking the last deed back: the slip says what it was, and the archive is then as it was."""

from __future__ import annotations

import subprocess
import sys

from catalog.store.archive import open_archive
from tests.tui.desk import Desk, browsed
from tests.tui.test_writing import archive as archive
from tests.tui.test_writing import stored, write


def slip(desk: Desk) -> str:
    """What the slip on top says."""
    return "\n".join(desk.app.screen.words)


def test_the_undo_says_what_it_undoes_and_asks(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "filter", "red")
        await desk.press("u")
        assert "sheets correct?" in slip(desk)
        assert "(S8): filter red (was nothing)." in slip(desk)
        assert "by this window; it changed 1 record." in slip(desk)
        await desk.press("escape")
        assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("red",)
        await desk.press("u", "enter")
        assert "Undone: deed" in desk.lines[-1]
        assert "red" not in desk.line_with("filter  ")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == (None,)
    assert stored(archive, "SELECT kind, undoes_id IS NOT NULL FROM deed ORDER BY id DESC") == ("undo", 1)


def test_a_deed_of_another_process_is_said_to_be_one(archive):
    command = [sys.executable, "-m", "catalog.cli.main", "--archive", str(archive.folder)]
    code = f"from catalog.cli.main import run; run({[*command[3:], 'sheets', 'correct', 'S8', '--box', '44']!r})"
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)

    async def drive(desk: Desk) -> None:
        await desk.press("u")
        assert "box 44 (was 3)." in slip(desk)
        assert "not by this window" in slip(desk)
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT box FROM sheet WHERE id = 8") == ("3",)


def test_the_deed_that_was_asked_about_is_undone_although_another_was_done_meanwhile(archive):
    from catalog.actions.buildings import correct_building
    from catalog.actions.sheets import correct_sheet

    correct_sheet(archive, 8, box="44")

    async def drive(desk: Desk) -> None:
        await desk.press("u")
        correct_building(archive, 1, kind="corn mill")
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT box FROM sheet WHERE id = 8") == ("3",)
    assert stored(archive, "SELECT kind FROM building WHERE id = 1") == ("corn mill",)


def test_what_a_later_deed_stands_in_the_way_of_is_said_and_nothing_is_changed(archive):
    from catalog.actions.sheets import correct_sheet

    correct_sheet(archive, 8, box="44")

    async def drive(desk: Desk) -> None:
        await desk.press("u")
        correct_sheet(archive, 8, box="45")
        await desk.press("enter")
        assert "cannot be undone" in slip(desk)
        assert "Esc goes on." in slip(desk)
        await desk.press("escape")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT box FROM sheet WHERE id = 8") == ("45",)


def test_an_archive_without_a_deed_says_that_there_is_none(tmp_path):
    from tests.store.archives import an_archive

    archive = an_archive(tmp_path / "wenn")

    async def drive(desk: Desk) -> None:
        await desk.press("u")
        assert "There is no deed left to undo." in slip(desk)
        await desk.press("enter")
        assert desk.app.screen is desk.card

    browsed(open_archive(archive.folder), drive)
