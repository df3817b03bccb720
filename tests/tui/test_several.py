"""Writing one field of several marked frames: one deed, one key to undo, those refused named."""

from __future__ import annotations

from catalog.actions.sheets import correct_sheet
from tests.tui.desk import Desk, browsed
from tests.tui.test_writing import archive as archive
from tests.tui.test_writing import deeds, open_field, stored, write


def test_one_field_of_several_frames_is_written_in_one_deed_and_undone_by_one_key(archive):
    before = deeds(archive)
    sheets: list[int] = []

    async def drive(desk: Desk) -> None:
        await desk.press("a", "m", "m", "m")
        sheets.extend(sorted(desk.card.marked))
        await desk.press("w")
        assert "3 frames to write on" in desk.lines[0]
        await write(desk, "box", "A 7")
        assert f"Written: corrected 3 sheets (S{sheets[0]}" in desk.lines[-1]
        assert "A 7" in desk.line_with("box  ")
        assert [stored(archive, "SELECT box FROM sheet WHERE id = ?", i)[0] for i in sheets] == ["A 7"] * 3
        assert deeds(archive) == before + 1
        await desk.press("u", "enter")

    kept = stored(archive, "SELECT group_concat(coalesce(box, '-')) FROM sheet")
    browsed(archive, drive, at="L4")
    assert stored(archive, "SELECT group_concat(coalesce(box, '-')) FROM sheet") == kept
    assert deeds(archive) == before + 2


def test_those_that_said_so_already_are_counted_beside_what_was_written(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("a", "m", "m", "m")
        first = min(desk.card.marked)
        correct_sheet(archive, first, box="A 7")
        await desk.press("w")
        await write(desk, "box", "A 7")

        assert "Written, 1 said so already: corrected 2 sheets" in desk.lines[-1]

    browsed(archive, drive, at="L4")


def test_what_stands_on_them_is_told_apart(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("a", "M", "w")
        assert "Ostrane Pan 100 (15), Ostrane Pan 100 roll (5)" in desk.line_with("film  ")
        await open_field(desk, "film")
        assert desk.card.editor.value == ""

    browsed(archive, drive, at="L4")


def test_what_differs_is_taken_away_only_when_asked(archive):
    correct_sheet(archive, 8, filter="red")
    correct_sheet(archive, 9, filter="green")
    correct_sheet(archive, 10, filter="red")

    async def drive(desk: Desk) -> None:
        desk.app.open_fields_of([8, 9])
        await desk.settle()
        await open_field(desk, "filter")
        await desk.press("enter")
        assert "▸ leave each as it is" in desk.text
        assert stored(archive, "SELECT count(filter) FROM sheet WHERE id IN (8, 9, 10)") == (3,)
        await desk.press("down", "enter")

    browsed(archive, drive)
    assert stored(archive, "SELECT count(filter) FROM sheet WHERE id IN (8, 9)") == (0,)
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 10") == ("red",)


def test_those_refused_are_named_and_the_others_are_written_only_when_asked(archive):
    held = stored(archive, "SELECT sheet_id FROM sheet_view ORDER BY sheet_id")[0]
    blank = stored(archive, "SELECT id FROM sheet WHERE id NOT IN (SELECT sheet_id FROM sheet_view)")[0]
    correct_sheet(archive, blank, fate="exposed")

    async def drive(desk: Desk) -> None:
        desk.app.open_fields_of([held, blank])
        await desk.settle()
        before = deeds(archive)
        await write(desk, "fate", "blank")
        assert "1 of 2 cannot be written so:" in desk.text
        assert f"S{held}: the sheet" in desk.text
        assert deeds(archive) == before
        assert "▸ write it for the other 1" in desk.text
        await desk.press("enter")
        assert deeds(archive) == before + 1

    browsed(archive, drive)
    assert stored(archive, "SELECT fate FROM sheet WHERE id = ?", blank) == ("blank",)
    assert stored(archive, "SELECT fate FROM sheet WHERE id = ?", held)[0] != "blank"


def test_what_another_wrote_on_one_of_them_meanwhile_is_asked_about(archive):
    async def drive(desk: Desk) -> None:
        desk.app.open_fields_of([8, 9])
        await desk.settle()
        await open_field(desk, "box")
        desk.card.editor.clear()
        await desk.type("new")
        correct_sheet(archive, 9, box="theirs")
        await desk.press("enter")
        assert "box of S9: theirs" in desk.text
        assert stored(archive, "SELECT box FROM sheet WHERE id = 8") == ("3",)
        await desk.press("down", "enter")

    browsed(archive, drive)
    assert stored(archive, "SELECT count(*) FROM sheet WHERE box = 'new'") == (2,)


def test_without_marks_the_frame_at_the_sign_is_written_on(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("a")
        first = int(desk.card.run.ids[0])
        await desk.press("w")
        assert desk.card.reference == f"S{first}"

    browsed(archive, drive, at="L4")
