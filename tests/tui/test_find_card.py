"""Finding as one types: fields with completion, certain and possible told apart, the undated counted beside."""

from __future__ import annotations

import pytest

from tests.asking import Valley
from tests.fast_cases import some_fast
from tests.tui.desk import Desk, browsed


def answer(desk: Desk) -> str:
    """What the line between the fields and the frames says."""
    words: str = desk.card.query_one("#answer").words
    return words


def test_frames_are_found_as_one_types_and_the_doubtful_ones_are_marked(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("mill")
        many = desk.card.frames.count
        await desk.press("tab")
        await desk.type("Osk")
        await desk.press("tab")
        await desk.type("1975/1980")

        assert 0 < desk.card.frames.count < many
        # The same question as a command: tiebeam find mill --place Osk --years 1975/1980
        assert answer(desk).startswith("10 frames: 3 certainly, 7 possibly. 2 undated beside these.")
        assert "“About” reaches 2 years either way." in answer(desk)
        assert "? 78-14" in desk.line_with("78-14")

    browsed(sample, drive)


def test_the_count_is_what_the_command_finds(sample):
    from catalog.store.archive import open_archive
    from catalog.store.asking import ask
    from catalog.store.find import find_frames

    archive = open_archive(sample)
    with archive.reading() as connection:
        found = find_frames(connection, ask(connection, archive, place="Osk", lens="150", elevation="S"))

    async def drive(desk: Desk) -> None:
        await desk.press("f", "tab")
        await desk.type("Osk")
        await desk.press("tab", "tab")
        await desk.type("150")
        await desk.press("tab", "tab")
        await desk.type("S")

        assert [frame.id for frame in found.frames] == list(desk.card.run.ids)

    browsed(archive, drive)


def test_tab_takes_the_completion_whatever_the_case(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f", "tab")
        await desk.type("wennm")
        await desk.press("tab")

        assert desk.card.query_one("#field-place").value == "wennmouth"
        assert desk.card.frames.count == 8

    browsed(sample, drive)


def test_two_places_of_one_name_are_asked_about(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f", "tab")
        await desk.type("Priors Lode")
        assert "L11 Priors Lode, village in Wennshire" in answer(desk)
        assert "L12 Priors Lode, village in Crayshire" in answer(desk)
        await desk.press("ctrl+u")  # empties the field
        await desk.type("L11")
        assert desk.card.frames.count == 4

    browsed(sample, drive)


def test_what_a_field_does_not_understand_is_said_and_the_frames_stay(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("mill")
        count = desk.card.frames.count
        await desk.press("tab", "tab")
        await desk.type("1975/19")
        assert "1975/19" in answer(desk)
        assert desk.card.frames.count == count > 0

    browsed(sample, drive)


def test_the_frames_found_are_gone_through_card_by_card(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("ferry")
        await desk.press("down", "enter")
        assert desk.lines[-1].rstrip().endswith(f"frame 1 of {len(desk.card.run)}")
        await desk.press("right", "right", "escape")
        assert desk.card.frames.place == 2
        await desk.press("f")
        assert desk.app.focused is desk.card.query_one("#field-words")

    browsed(sample, drive)


def test_up_from_the_first_frame_goes_back_to_the_fields(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("ferry")
        await desk.press("enter", "up")
        assert desk.app.focused is desk.card.query_one("#field-words")

    browsed(sample, drive)


def test_nothing_found_is_said(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("lighthouse")
        assert answer(desk) == "Nothing found."
        await desk.press("down", "enter")
        assert desk.app.focused is desk.card.query_one("#field-words")

    browsed(sample, drive)


# -- cases.md, group H -----------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def odd(tmp_path_factory):
    """An archive whose words are hard to find and to show; it is to be read only."""
    valley = Valley(tmp_path_factory.mktemp("odd") / "valley")
    valley.place("Osk", kind="village")
    valley.place("[undated]", within="Osk", slug="brackets")
    valley.building("Église St. John's", ("Osk", None, None))  # accents decomposed
    valley.building("教会 ½ 🏚️ Meth. Ch. (moved", ("Osk", None, None))
    sheet = valley.frame("1978-014-03", "1978", "Église St. John's", title='sign: "[sic] [illegible]"')
    valley.frame("78-15", "1979", "教会 ½ 🏚️ Meth. Ch. (moved")
    valley.note("sheet", sheet, "[north elevation] [/] [b +] " + "long " * 400 + "[end]")
    valley.sheet = sheet
    return valley


def test_h01_a_sheets_number_finds_the_sheet(odd):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("1978-014-03")
        assert list(desk.card.run.ids) == [odd.sheet]

    browsed(odd.archive, drive)


@pytest.mark.parametrize(("typed", "number"), [("St. John's", "1978-014-03"), ("Meth. Ch.", "78-15"),
                                              ("(moved", "78-15"), ('"', "1978-014-03")])  # fmt: skip
def test_h02_a_church_is_found_as_it_is_written(odd, typed, number):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type(typed)
        assert desk.card.frames.count >= 1
        assert number in desk.text

    browsed(odd.archive, drive)


@pytest.mark.parametrize("typed", ["église", "ÉGLISE", "eglise"])
def test_h03_case_and_accents_make_no_difference(odd, typed):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type(typed)
        assert list(desk.card.run.ids) == [odd.sheet]

    browsed(odd.archive, drive)


def test_h04_square_brackets_are_shown_exactly(odd):
    async def drive(desk: Desk) -> None:
        assert "[undated]" in desk.line_with("[undated]")
        desk.app.open_card(f"S{odd.sheet}")
        await desk.press("space")
        assert "[north elevation] [/] [b +]" in desk.text
        await desk.press("end", "pagedown", "pagedown")
        assert "[end]" in desk.text
        desk.app.open_card(f"L{odd.ids['brackets']}")
        await desk.settle()
        assert "╭ [undated] ╮" in desk.lines[0]
        desk.card.say("no [place] of [/that] name")
        await desk.pilot.pause()
        assert "no [place] of [/that] name" in desk.lines[-1]

    browsed(odd.archive, drive, at="L1", size=(100, 40))


@pytest.mark.parametrize(
    "typed", some_fast(["[/", "[b +", "[undated", "]]", "\\[x", "{a}", "$b", "@click"], "[/", "[b +")
)
def test_h05_an_unclosed_bracket_is_a_word_like_another(odd, typed):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type(typed)
        assert typed in desk.lines[2]
        await desk.press("tab")
        await desk.type(typed)
        assert repr(typed)[1:-1] in " ".join(answer(desk).split())

    browsed(odd.archive, drive)


def test_h06_the_edges_stay_straight_beside_wide_and_composed_letters(odd):
    from rich.cells import cell_len

    async def drive(desk: Desk) -> None:
        for reference in ("L1", "B1", "B2", "S1", "S2"):
            desk.app.open_card(reference)
            await desk.settle()
            assert {cell_len(line) for line in desk.lines} == {80}
            assert all(line.endswith("│") for line in desk.lines[2:-2])
            assert all(line.startswith("│") for line in desk.lines[2:-2])

    browsed(odd.archive, drive)


def test_h06_the_cursor_stands_behind_what_was_typed(odd):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        field = desk.card.query_one("#field-words")
        before = field.cursor_screen_offset.x
        await desk.type("教会")
        # Two letters, each two columns wide (Unicode Standard Annex 11).
        assert field.cursor_screen_offset.x - before == 4
        assert desk.card.frames.count == 1

    browsed(odd.archive, drive)
