"""Marking frames in a list: a sign before each, a count in words, marks that stay while the question changes."""

from __future__ import annotations

from tests.asking import Valley
from tests.tui.desk import Desk, browsed


def test_a_frame_is_marked_with_a_sign_and_counted_in_words(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("a")
        first, second = (int(sheet) for sheet in desk.card.run.ids[:2])
        await desk.press("m", "m")

        assert desk.card.marked == {first, second}
        assert desk.lines[-1].strip().startswith("2 frames are marked.")
        assert desk.lines[-1].rstrip().endswith(f"2 marked, 3 of {len(desk.card.run)}")
        assert sum(line.startswith("│ ✓") for line in desk.lines) == 2
        await desk.press("up", "m")
        assert desk.card.marked == {first}
        assert "1 frame is marked." in desk.lines[-1]

    browsed(sample, drive, at="L4")


def test_all_frames_of_a_list_are_marked_by_one_key_and_none_by_the_next(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("a", "M")
        assert desk.card.marked == set(desk.card.run.ids)
        await desk.press("M")
        assert desk.card.marked == set()
        assert "No frame is marked." in desk.lines[-1]

    browsed(sample, drive, at="L4")


def test_marks_stay_when_the_question_changes_and_those_out_of_sight_are_counted(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("ferry")
        await desk.press("down", "m", "m")
        kept = set(desk.card.marked)
        await desk.press("f", "ctrl+u")
        await desk.type("church")
        await desk.press("down", "m")

        assert kept < desk.card.marked
        away = len(desk.card.marked - set(desk.card.run.ids))
        assert away
        assert f"{len(desk.card.marked)} frames are marked, {away} of them not in this list." in desk.lines[-1]

    browsed(sample, drive)


def test_a_letter_typed_into_a_field_marks_nothing(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("mM")

        assert desk.card.query_one("#field-words").value == "mM"
        assert desk.card.marked == set()

    browsed(sample, drive)


def test_more_frames_than_one_deed_should_touch_are_not_marked_at_once(tmp_path, monkeypatch):
    valley = Valley(tmp_path / "wenn")
    for number in range(3):
        valley.frame(str(number), None)
    monkeypatch.setattr("catalog.tui.screens.frame_list.MOST_MARKED", 2)

    async def drive(desk: Desk) -> None:
        await desk.press("a", "M")

        assert desk.card.marked == set()
        assert "3 frames are more than are marked at once (2): find fewer." in desk.lines[-1]

    browsed(valley.archive, drive)
