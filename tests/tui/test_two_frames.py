"""Two frames laid beside each other by keys."""

from __future__ import annotations

import pytest

from catalog.store.archive import open_archive
from catalog.tui.screens import two_pictures
from catalog.tui.screens.beside_card import BesideCardScreen
from catalog.tui.screens.sheet_card import SheetCardScreen
from catalog.tui.screens.two_frames_card import TwoFramesScreen
from catalog.tui.screens.two_pictures import LEFT, RIGHT
from tests.asking import Valley
from tests.sample import copy_sample
from tests.scan_archives import rows
from tests.scanned_sample import scanned_sample
from tests.tui.desk import Desk, browsed


@pytest.fixture(autouse=True)
def at_once(monkeypatch):
    """Let pictures be opened at once."""
    monkeypatch.setattr(two_pictures, "WAIT_S", 0.0)


@pytest.fixture
def scanned(tmp_path):
    return open_archive(copy_sample(scanned_sample().folder, tmp_path / "wenn"))


def laid(desk: Desk) -> list[int]:
    """The sheets that lie on the table, left and right."""
    assert isinstance(desk.card, TwoFramesScreen)
    return [sheet for sheet, _ in desk.card._laid]


async def choose(desk: Desk, reference: str) -> None:
    """Walk to a line of the page and open it."""
    assert desk.card.page.choose(reference)
    await desk.settle()
    await desk.press("enter")


def words_of(desk: Desk) -> str:
    return " ".join(desk.text.replace("│", "").split())


def test_a_frame_is_laid_beside_one_from_the_same_standpoint(scanned):
    ((other,),) = rows(scanned, "SELECT sheet_id FROM sheet_number WHERE text = '79-21'")

    async def drive(desk: Desk) -> None:
        await desk.press("b")
        assert "which frame beside 74-02?" in desk.lines[0]
        assert "from the same standpoint" in desk.text
        assert "this one" in desk.text
        await choose(desk, f"S{other}")

        assert laid(desk) == [1, other]
        left, right = (desk.card.side(side) for side in (LEFT, RIGHT))
        assert left.picture.has_picture
        assert right.picture.has_picture
        assert left.region.y == right.region.y
        assert left.region.right <= right.region.x
        await desk.press("escape")
        assert isinstance(desk.card, SheetCardScreen)

    browsed(scanned, drive, at="S1")


def test_the_time_and_the_chronicle_between_them_are_told(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("b")
        await choose(desk, "S17")
        assert "12 to 14 years between them; 74-03 is the older." in desk.text
        assert "Osk Mill, meanwhile" in desk.text
        assert "Clad in sheet metal over the boards" in desk.line_with("between 1978 and 1982")
        assert "may lie" not in desk.text
        await desk.press("space")
        assert "back of the card" in desk.lines[1]
        assert "third coping stone" in words_of(desk)

    browsed(sample, drive, at="S2")


def test_a_doubtful_frame_says_what_may_lie_between(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("b")
        await choose(desk, "S6")
        assert "may lie between them or not" in words_of(desk)
        assert 'about 1978 (written "c. 1978")' in desk.text

    browsed(sample, drive, at="S2")


def test_an_undated_frame_says_that_the_years_are_not_known(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("b", "f")
        await desk.type("X3")
        await desk.press("enter", "enter")
        assert "X3 has no date: the years between them are not known." in desk.text
        assert "cannot be told without both dates" in desk.text

    browsed(sample, drive, at="S2")


def test_keys_step_swap_and_lay_another(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("b")
        await choose(desk, "S17")
        run = [int(sheet) for sheet in desk.card._laid[1][1].ids]
        assert "▸ 87-03" in desk.text
        await desk.press("right")
        assert laid(desk) == [2, run[run.index(17) + 1]]
        await desk.press("left")
        assert laid(desk) == [2, 17]
        await desk.press("s")
        assert laid(desk) == [17, 2]
        assert "▸ 87-03" in desk.text
        await desk.press("tab", "left")
        assert "first frame of its run" in desk.lines[-1] or laid(desk)[1] != 2
        await desk.press("b")
        assert isinstance(desk.card, BesideCardScreen)
        assert "which frame beside 87-03?" in desk.lines[0]
        await desk.press("f")
        await desk.type("82-07")
        await desk.press("enter", "enter")
        assert laid(desk)[0] == 17
        assert "87-03 and 82-07" in desk.lines[0]
        await desk.press("enter")
        assert isinstance(desk.card, SheetCardScreen)
        assert "82-07" in desk.lines[0]

    browsed(sample, drive, at="S2")


def test_a_click_takes_a_frame_in_hand_and_another_opens_it(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("b", "enter")
        first = laid(desk)[0]
        assert desk.card._hand == 1
        for _ in range(2):
            await desk.pilot.click(f"#{LEFT}", offset=(4, 3))
            await desk.settle()
        assert desk.card.record_id == first
        assert isinstance(desk.card, SheetCardScreen)

    browsed(sample, drive, at="S2")


def test_stepping_passes_the_frame_that_lies_there_already(tmp_path):
    valley = Valley(tmp_path / "wenn")
    valley.place("Osk")
    valley.building("Osk Mill", ("Osk", None, None))
    ids = [valley.frame(f"7{n}-01", f"197{n}", "Osk Mill") for n in range(3)]

    async def drive(desk: Desk) -> None:
        await desk.press("b")
        await choose(desk, f"S{ids[0]}")
        assert laid(desk) == [ids[1], ids[0]]
        await desk.press("right")
        assert laid(desk) == [ids[1], ids[2]]
        await desk.press("right")
        assert "last frame of its run" in desk.lines[-1]
        await desk.press("left", "left")
        assert laid(desk) == [ids[1], ids[0]]
        assert "first frame of its run" in desk.lines[-1]

    browsed(valley.archive, drive, at=f"S{ids[1]}")


def test_two_marked_frames_are_laid_beside_each_other_from_the_list(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("a", "m", "down", "m", "b")
        first, second = laid(desk)
        run = [int(sheet) for sheet in desk.card._laid[0][1].ids]
        assert run.index(second) - run.index(first) == 2
        await desk.press("escape", "home", "enter", "b")
        assert laid(desk) == [first, second]  # this frame is one of the two
        await desk.press("escape", "right", "b")
        assert isinstance(desk.card, BesideCardScreen)
        assert "marked in the list" in desk.text

    browsed(sample, drive, at="B1")


def test_from_a_list_without_marks_another_is_chosen(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("a", "down", "b")
        assert isinstance(desk.card, BesideCardScreen)
        assert "before and after it in the list" in desk.text

    browsed(sample, drive, at="B1")


def test_frames_of_two_buildings_share_nothing(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("b", "f")
        await desk.type("88-20")
        await desk.press("enter", "enter")
        assert "They show no building in common." in desk.text
        await desk.press("g")
        assert desk.card.table == "place"

    browsed(sample, drive, at="S2")


def test_what_cannot_be_shown_is_said_in_words(tmp_path):
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    one = valley.frame("78-14", "1978", "Osk")
    valley.frame("79-01", "1979", "Osk", fate="not returned")
    valley.drive("Blue box", str(tmp_path / "nowhere"))
    valley.scan("78-14", "78-14.tif", drive="Blue box")

    async def drive(desk: Desk) -> None:
        await desk.press("b", "enter")
        assert "Blue box" in desk.card.side(LEFT).picture.words
        assert "away" in desk.card.side(LEFT).picture.words
        assert desk.card.side(RIGHT).picture.words == "not returned; no scan"
        await desk.resize(40, 10)
        assert "too small for a card" in words_of(desk)
        await desk.resize(44, 12)
        assert "between them" in words_of(desk)
        assert not desk.card.side(LEFT).picture.display

    browsed(valley.archive, drive, at=f"S{one}")


def test_pictures_keep_their_proportion(scanned):
    async def drive(desk: Desk) -> None:
        await desk.press("b", "enter")
        for side in (LEFT, RIGHT):
            shown = desk.card.side(side).picture._shown
            assert shown is not None
            # The scans of the test are 8 x 10; a cell is twice as high as it is wide.
            assert shown.size.width / (shown.size.height * 2) == pytest.approx(8 / 10, abs=0.06)

    browsed(scanned, drive, at="S1")
    browsed(scanned, drive, at="S1", size=(160, 50))


def test_a_sheet_that_goes_meanwhile_is_named(tmp_path):
    import sqlite3

    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    one, other = valley.frame("78-14", "1978", "Osk"), valley.frame("79-01", "1979", "Osk")

    async def drive(desk: Desk) -> None:
        await desk.press("b", "enter")
        assert laid(desk) == [one, other]
        with sqlite3.connect(valley.archive.catalogue) as meanwhile:
            for table, column in (("sheet_view", "sheet_id"), ("sheet_number", "sheet_id"), ("sheet", "id")):
                meanwhile.execute(f"DELETE FROM {table} WHERE {column} = ?", (other,))
        meanwhile.close()
        await desk.press("r")
        assert f"There is no sheet S{other}." in desk.lines[-1]

    browsed(valley.archive, drive, at=f"S{one}")


def test_nothing_is_changed_by_looking(sample, tmp_path):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))
    before = rows(archive, "SELECT count(*) FROM deed")

    async def drive(desk: Desk) -> None:
        await desk.press(
            "b", "enter", "s", "tab", "right", "p", "down", "up", "space", "question_mark", "x", "b", "escape"
        )

    browsed(archive, drive, at="S2")

    assert rows(archive, "SELECT count(*) FROM deed") == before


def test_every_key_of_these_cards_has_words_that_fit(sample):
    async def drive(desk: Desk) -> None:
        for _ in range(2):
            await desk.press("b" if isinstance(desk.card, SheetCardScreen) else "enter")
            keys = desk.app.keys_here()
            assert all(words and len(words) <= 29 for _, words in keys)
            assert len({words for _, words in keys}) == len(keys)

    browsed(sample, drive, at="S2")
