"""The cards: moving through places, buildings and frames, one card at a time."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from catalog.store.archive import Archive, open_archive
from catalog.store.connections import connect
from tests.asking import Valley
from tests.sample import copy_sample
from tests.scanned_sample import scanned_sample
from tests.tui.desk import Desk, browsed


def test_the_valley_is_walked_from_the_first_guide_card_to_a_frame(sample):
    async def drive(desk: Desk) -> None:
        assert "all frames" in desk.text
        assert "Arlen, country" in desk.text
        await desk.press("down", "enter")
        assert desk.lines[0].startswith(" ╭ Arlen ╮")
        await desk.press("down", "down", "enter")
        assert " Arlen / ╭ Wennshire ╮" in desk.lines[0]
        while desk.card.query_one("#face-page").chosen != "L4":
            await desk.press("down")
        await desk.press("enter")
        assert " Arlen / Wennshire / ╭ Osk ╮" in desk.lines[0]
        while desk.card.query_one("#face-page").chosen != "B1":
            await desk.press("down")
        await desk.press("enter")
        assert " Arlen / Wennshire / Osk / ╭ Osk Mill ╮" in desk.lines[0]
        await desk.press("end", "enter")
        assert " Arlen / Wennshire / Osk / Osk Mill / ╭ X3 ╮" in desk.lines[0]

    browsed(sample, drive)


def test_escape_lays_the_card_back_and_the_mark_is_where_it_was(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("down", "down")
        chosen = desk.card.query_one("#face-page").chosen
        await desk.press("enter", "escape")

        assert desk.card.reference == "L4"
        assert desk.card.query_one("#face-page").chosen == chosen
        assert "▸" in desk.line_with("Osk Granary")

    browsed(sample, drive, at="L4")


def test_the_guide_key_opens_the_card_before_with_the_mark_at_this_one(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("g")

        assert desk.card.reference == "L4"
        assert desk.card.query_one("#face-page").chosen == "B1"

    browsed(sample, drive, at="B1")


def test_the_last_card_stays_and_says_how_to_leave(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("escape")

        assert "the only card on the desk: q leaves" in desk.lines[-1]

    browsed(sample, drive, at="B1")


def test_a_place_stands_where_it_belonged_with_its_dates(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("space")

        assert "Halding; until 1894" in desk.text
        assert "Wennshire; from 1894" in desk.text

    browsed(sample, drive, at="L10")


def test_a_guide_card_says_until_when_a_village_belonged_there(sample):
    async def drive(desk: Desk) -> None:
        assert "Low Halding" in desk.text
        assert "until 1894" in desk.text

    browsed(sample, drive, at="L9", size=(160, 50))


def test_frames_stand_between_the_entries_and_say_which_they_may_span(sample):
    async def drive(desk: Desk) -> None:
        lines = desk.lines
        entry = next(i for i, line in enumerate(lines) if "5. Clad in sheet metal" in line)
        before = next(i for i, line in enumerate(lines) if "74-02" in line)
        spanning = next(line for line in lines if "78-15" in line)
        after = next(i for i, line in enumerate(lines) if "86-10" in line)

        assert before < entry < after
        assert "may be before or after 5." in spanning
        assert "One question is open" in desk.text

    browsed(sample, drive, at="B1", size=(160, 60))


def test_a_frame_opened_from_a_building_has_its_neighbours_one_key_away(sample):
    async def drive(desk: Desk) -> None:
        while desk.card.query_one("#face-page").chosen != "S1":
            await desk.press("down")
        await desk.press("enter")
        assert desk.lines[-1].rstrip().endswith("frame 1 of 16")
        await desk.press("right")
        assert desk.card.reference == "S2"
        await desk.press("left", "left")
        assert desk.card.reference == "S1"
        assert "first frame of the run" in desk.lines[-1]

    browsed(sample, drive, at="B1")


def test_the_back_of_a_sheet_says_what_is_doubtful_and_why(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("space")

        text = desk.text
        assert "back of the card" in desk.lines[1]
        assert "90 or 120" in text
        assert "how it was put" in text
        assert "cards.xlsx, row" in text

    browsed(sample, drive, at="S8", size=(80, 40))


def test_on_a_wide_terminal_both_sides_lie_open(sample):
    async def drive(desk: Desk) -> None:
        assert "back of the card" in desk.lines[1]
        assert "no scan yet" in desk.text
        assert "exposure" in desk.text
        await desk.press("space")
        assert desk.app.focused is desk.card.query_one("#back-page")

    browsed(sample, drive, at="S1", size=(160, 50))


def test_one_key_lists_what_can_be_done_here_and_the_next_takes_the_list_away(sample):
    async def drive(desk: Desk) -> None:
        card = desk.card
        await desk.press("question_mark")
        for words in ("turn the card over", "lay this card back", "the frame before, after", "find frames", "leave"):
            assert words in desk.text
        await desk.press("x")
        assert desk.app.screen is card

    browsed(sample, drive, at="S1")


def test_a_key_that_is_listed_does_its_work_while_the_list_is_open(sample):
    async def drive(desk: Desk) -> None:
        card = desk.card
        await desk.press("question_mark", "e")
        assert "editions" in desk.lines[0]
        await desk.press("question_mark", "escape")
        assert "editions" in desk.lines[0]
        await desk.press("question_mark", "question_mark", "escape")
        assert desk.app.screen is card

    browsed(sample, drive, at="S1")


def test_where_the_mark_stands_is_said_of_the_side_that_lies_open(sample):
    async def drive(desk: Desk) -> None:
        assert desk.lines[-1].rstrip().endswith("1 of 17")
        await desk.press("space")
        assert desk.lines[-1].rstrip().endswith("1 of 2")
        await desk.press("space", "down")
        assert desk.lines[-1].rstrip().endswith("2 of 17")

    browsed(sample, drive, at="B1")


def test_a_card_with_one_side_stays_open_when_it_is_turned(sample):
    async def drive(desk: Desk) -> None:
        before = desk.lines[:-1]
        await desk.press("space")
        assert desk.lines[:-1] == before
        assert "Nothing stands on the back of this card." in desk.lines[-1]

    browsed(sample, drive, at="N1")


def test_every_key_that_is_listed_has_words_that_fit_its_column(sample):
    async def drive(desk: Desk) -> None:
        for reference in (None, "B1", "S1", "N1"):
            desk.app.open_card(reference)
            await desk.settle()
            keys = desk.app.keys_here()
            assert len(keys) >= 8
            assert all(words and len(words) <= 29 for _, words in keys)
            assert len({words for _, words in keys}) == len(keys)

    browsed(sample, drive)


def test_all_frames_of_a_place_are_gone_through_one_by_one(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("a")
        assert desk.card.frames.count == 27
        await desk.press("down", "down", "enter", "right")
        opened = desk.card.record_id
        await desk.press("escape")
        assert desk.card.run.ids[desk.card.frames.place] == opened

    browsed(sample, drive, at="L4")


@pytest.mark.parametrize("reference", ["N1", "R1", "D1", "T1", "V1", "K1", "Q1", "L1", "B16", "S14"])
def test_every_record_has_a_card(sample, reference):
    async def drive(desk: Desk) -> None:
        assert desk.card.reference == reference
        assert len(desk.text.split()) > 5

    browsed(sample, drive, at=reference)


def test_a_record_that_is_gone_is_said_to_be_gone(sample):
    async def drive(desk: Desk) -> None:
        assert "There is no building B999." in desk.text
        await desk.press("g")
        assert "all frames" in desk.text

    browsed(sample, drive, at="B999")


def test_a_record_without_a_card_says_so(sample):
    async def drive(desk: Desk) -> None:
        assert "book plate G1 has no card." in desk.text

    browsed(sample, drive, at="G1")


def test_a_click_chooses_a_line_and_another_opens_it(sample):
    async def drive(desk: Desk) -> None:
        y = next(i for i, line in enumerate(desk.lines) if "Tarn End" in line)
        await desk.pilot.click(offset=(6, y))
        await desk.settle()
        assert desk.card.query_one("#face-page").chosen == "L5"
        await desk.pilot.click(offset=(6, y))
        await desk.settle()
        assert desk.card.reference == "L5"
        await desk.pilot.click(offset=(3, 0))
        await desk.settle()
        assert desk.card.reference == "L1"

    browsed(sample, drive, at="L4")


# -- pictures ------------------------------------------------------------------------------------------------------


def test_the_picture_stands_on_the_face_of_a_scanned_sheet(tmp_path):
    archive = open_archive(copy_sample(scanned_sample().folder, tmp_path / "wenn"))

    async def drive(desk: Desk) -> None:
        assert desk.card.query_one("#picture").has_picture
        assert sum("▀" in line for line in desk.lines) > 10

    browsed(archive, drive, at="S1")


def test_a_sheet_that_never_came_back_says_so_on_its_face(sample):
    async def drive(desk: Desk) -> None:
        assert desk.card.query_one("#picture").words == "not returned; no scan"

    browsed(sample, drive, at="S16")


def test_a_damaged_scan_is_named_on_the_face_with_the_reason(tmp_path):
    archive = open_archive(copy_sample(scanned_sample().folder, tmp_path / "wenn"))
    with archive.reading() as connection:
        name = connection.execute("SELECT f.path FROM scan_part p JOIN scan c ON c.id = p.scan_id"
                                  " JOIN file f ON f.id = c.file_id WHERE p.sheet_id = 1").fetchone()[0]  # fmt: skip
    path = archive.folder / name
    path.write_bytes(path.read_bytes()[:60])

    async def drive(desk: Desk) -> None:
        words = desk.card.query_one("#picture").words
        assert path.name in words
        assert "changed" in words or "damaged" in words

    browsed(archive, drive, at="S1")


def test_an_index_picture_that_is_damaged_is_made_again(tmp_path):
    from catalog.actions.index_pictures import make_index_pictures
    from catalog.tui.pictures import open_picture

    archive = open_archive(copy_sample(scanned_sample().folder, tmp_path / "wenn"))
    with archive.reading() as connection:
        scan = connection.execute("SELECT scan_id FROM scan_part WHERE sheet_id = 1").fetchone()[0]
    (done,) = make_index_pictures(archive, [scan])
    assert done.path is not None
    done.path.write_bytes(b"\xff\xd8\xff\xe0 no picture")

    async def drive(desk: Desk) -> None:
        assert desk.card.query_one("#picture").has_picture
        assert open_picture(done.path).size == (8, 10)

    browsed(archive, drive, at="S1")


def test_a_scan_on_a_drive_that_is_away_says_which_drive(tmp_path):
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    sheet = valley.frame("78-14", "1978", "Osk")
    valley.drive("Blue box", str(tmp_path / "nowhere"))
    valley.scan("78-14", "78-14.tif", drive="Blue box")

    async def drive(desk: Desk) -> None:
        words = desk.card.query_one("#picture").words
        assert "Blue box" in words
        assert "away" in words
        assert "press r" in words

    browsed(valley.archive, drive, at=f"S{sheet}")


# -- what others do meanwhile ----------------------------------------------------------------------------------------


def test_a_change_by_another_program_is_shown_without_losing_the_place(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))

    async def drive(desk: Desk) -> None:
        desk.app.look_for_changes()
        await desk.settle()
        while desk.card.query_one("#face-page").chosen != "B1":
            await desk.press("down")
        with sqlite3.connect(archive.catalogue) as other:
            other.execute("UPDATE place SET name = 'Tarn Head End' WHERE name = 'Tarn End'")
        other.close()
        desk.app.look_for_changes()
        await desk.settle()

        assert "Tarn Head End" in desk.text
        assert desk.card.query_one("#face-page").chosen == "B1"

    browsed(archive, drive, at="L4")


def test_a_card_below_is_read_anew_when_it_comes_up_again(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))

    async def drive(desk: Desk) -> None:
        desk.app.look_for_changes()
        await desk.press("down", "enter")
        with sqlite3.connect(archive.catalogue) as other:
            other.execute("UPDATE building SET name = 'Osk Grain Loft' WHERE name = 'Osk Granary'")
        other.close()
        desk.app.look_for_changes()
        await desk.settle()
        await desk.press("escape")

        assert "Osk Grain Loft" in desk.text

    browsed(archive, drive, at="L4")


def test_a_locked_catalogue_is_said_on_the_card_and_read_when_it_is_free(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))
    archive = Archive(archive.folder, replace(archive.settings, catalogue_wait_seconds=0))
    other = connect(archive.catalogue, writing=True)
    other.execute("PRAGMA journal_mode = DELETE")
    other.execute("BEGIN EXCLUSIVE")

    async def drive(desk: Desk) -> None:
        assert "another tiebeam is writing to this archive" in desk.text
        other.execute("ROLLBACK")
        await desk.press("r")
        assert "all of Osk" in desk.text

    browsed(archive, drive, at="L4")
    other.close()


def test_an_archive_that_holds_nothing_says_what_to_do_first(archive):
    async def drive(desk: Desk) -> None:
        assert "This archive holds nothing yet." in desk.text
        assert "tiebeam cards read" in desk.text
        await desk.press("a", "escape", "f", "escape", "g", "space", "question_mark", "x")

    browsed(archive, drive)


def test_a_terminal_too_small_gets_words_and_the_card_comes_back(sample):
    async def drive(desk: Desk) -> None:
        await desk.resize(40, 10)
        assert "40 x 10 is too small for a card: it takes 44 x 12." in " ".join(desk.text.split())
        await desk.press("down", "space", "question_mark", "x", "space")
        await desk.resize(160, 50)
        assert "Clad in sheet metal" in desk.text
        await desk.resize(44, 12)
        assert "Osk Mill" in desk.text

    browsed(sample, drive, at="B1")


def test_a_light_and_a_dark_desk_are_one_key_apart(sample):
    async def drive(desk: Desk) -> None:
        assert desk.app.theme == "dark desk"
        await desk.press("l")
        assert desk.app.theme == "light desk"

    browsed(sample, drive)


def test_many_cards_on_top_of_each_other_are_put_away_from_below(sample, monkeypatch):
    monkeypatch.setattr("catalog.tui.app.MOST_CARDS", 6)

    async def drive(desk: Desk) -> None:
        for number in range(9):
            desk.app.open_card(("B1", "B2", "L4")[number % 3])
            await desk.settle()
        assert len(desk.app.screen_stack) <= 7
        for _ in range(7):
            await desk.press("escape")
        assert "the only card on the desk" in desk.lines[-1]

    browsed(sample, drive, at="B1")


def test_no_widget_reads_the_catalogue():
    # Design section 4: widgets get frozen rows; no SQL and no rule in a widget.
    widgets = Path(__file__).parent.parent.parent / "catalog" / "tui" / "widgets"
    for path in widgets.glob("*.py"):
        text = path.read_text("utf-8")
        found = [sign for sign in ("sqlite3", ".execute(", "SELECT ") if sign in text]
        assert found == [], path.name
