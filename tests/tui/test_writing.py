"""Writing on a card: each test ends in what is stored."""

from __future__ import annotations

import re
import sqlite3
import time
from pathlib import Path
from typing import Any

import pytest
from textual import events

from catalog.actions.buildings import correct_building
from catalog.actions.sheets import correct_sheet
from catalog.cli.main import run
from catalog.store.archive import Archive, open_archive
from catalog.tui.widgets.page_items import Words
from tests.fast_cases import some_fast
from tests.sample import copy_sample
from tests.scanned_sample import scanned_sample
from tests.tui.desk import Desk, browsed


@pytest.fixture
def archive(sample: Path, tmp_path: Path) -> Archive:
    """The sample archive, to be written on."""
    return open_archive(copy_sample(sample, tmp_path / "wenn"))


def stored(archive: Archive, statement: str, *given: object) -> Any:
    """Return the one row that the catalogue holds."""
    connection = sqlite3.connect(archive.catalogue)
    row = connection.execute(statement, given).fetchone()
    connection.close()
    return row


def deeds(archive: Archive) -> int:
    """Return how many deeds the daybook has."""
    return int(stored(archive, "SELECT count(*) FROM deed")[0])


@pytest.fixture
def scanned(tmp_path: Path) -> Archive:
    """The sample archive with scans, to be written on."""
    return open_archive(copy_sample(scanned_sample().folder, tmp_path / "wenn"))


async def open_field(desk: Desk, label: str, *, row: int = 0) -> None:
    """Open the field of this word; ``row`` counts those of the same word."""
    found = [one for one in desk.card._rows.fields if one.label == label]
    desk.card.page.choose(found[row].key)
    await desk.press("enter")
    assert desk.card.open is not None


async def retype(desk: Desk, text: str) -> None:
    """Take out what stands in the open field and type anew."""
    desk.card.editor.clear()
    await desk.type(text)


async def write(desk: Desk, label: str, text: str, *, row: int = 0) -> None:
    """Write a field anew, and keep it."""
    await open_field(desk, label, row=row)
    await retype(desk, text)
    await desk.press("enter")


# ---- in place


def test_a_field_is_written_in_place_and_the_card_below_is_read_anew(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        assert "to write on" in desk.lines[0]
        await write(desk, "filter", "yellow, 2x")

        assert "Written: filter yellow, 2x (was nothing)." in desk.lines[-1]
        assert "yellow, 2x" in desk.line_with("filter  ")
        await desk.press("escape", "space")
        assert "yellow, 2x" in desk.text

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("yellow, 2x",)


def test_a_field_opens_with_what_stands_there_as_it_was_written(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "exposed")
        assert desk.card.editor.value == "78 or 79"
        await desk.press("escape")
        await open_field(desk, "lens")
        assert desk.card.editor.value == "90 or 120"

    browsed(archive, drive, at="S8")


def test_enter_on_what_says_so_already_and_escape_change_nothing(archive):
    before = deeds(archive)

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "exposed")
        await desk.press("enter")
        assert "It says so already" in desk.lines[-1]
        await open_field(desk, "box")
        await retype(desk, "99")
        await desk.press("escape")
        assert "Left as it was" in desk.lines[-1]
        assert desk.card.open is None

    browsed(archive, drive, at="S8")
    assert deeds(archive) == before


def test_what_was_typed_and_left_stands_there_again(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "box")
        await retype(desk, "99")
        await desk.press("escape", "escape")
        assert "1 field was left unkept: Esc again lays the card back all the same." in desk.lines[-1]
        await open_field(desk, "sleeve")
        await retype(desk, "4")
        await desk.press("escape", "enter")

        assert desk.card.editor.value == "4"
        assert "What you typed before stands here again" in desk.text
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT box, sleeve FROM sheet WHERE id = 8") == ("3", "4")


def test_the_mark_goes_to_the_field_of_the_line_it_stood_at(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("down", "w")  # the second line of the face: the village

        chosen = next(one for one in desk.card._rows.fields if one.key == desk.card.page.chosen)
        assert chosen.points_to == "L4"

    browsed(archive, drive, at="S8")


WRITTEN = [
    ("B1", "kind", "corn mill", "SELECT kind FROM building WHERE id = 1", "corn mill"),
    ("B1", "bearing deg", "177,5", "SELECT bearing_deg FROM elevation WHERE building_id = 1", 177.5),
    ("B1", "what", "Built anew.", "SELECT text FROM chronicle_entry WHERE building_id = 1", "Built anew."),
    ("L4", "remark", "[sic]", "SELECT note FROM place_name WHERE place_id = 4 ORDER BY id", "[sic]"),
    ("L4", "also belonged to", "Crayshire", "SELECT count(*) FROM place_parent WHERE place_id = 4", 2),
    ("V8", "title", "The mill [/", "SELECT title FROM view WHERE id = 8", "The mill [/"),
    ("D1", "weather", "sleet ½", "SELECT weather FROM visit WHERE id = 1", "sleet ½"),
    ("T1", "height m", "1,85", "SELECT height_m FROM standpoint WHERE id = 1", 1.85),
    ("K1", "maker", "教会 & Co", "SELECT maker FROM kit WHERE id = 1", "教会 & Co"),
    ("N1", "role", "printer", "SELECT role FROM person WHERE id = 1", "printer"),
    ("R1", "kept at", "county archive", "SELECT kept_at FROM source WHERE id = 1", "county archive"),
    ("Q1", "answer", "nobody knows", "SELECT answer FROM open_question WHERE id = 1", "nobody knows"),
]


@pytest.mark.parametrize(
    ("at", "label", "text", "statement", "found"), some_fast(WRITTEN, "L4", "D1", "K1", "R1", "Q1")
)
def test_each_kind_of_card_can_be_written_on(archive, at, label, text, statement, found):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, label, text)
        assert "Written: " in desk.lines[-1]

    browsed(archive, drive, at=at)
    assert stored(archive, statement)[0] == found


def test_a_scan_is_written_on_by_the_rules_of_the_command(scanned):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        labels = [one.label for one in desk.card._rows.fields]
        assert labels == ["scanned", "polarity", "reversed", "another note"]
        await write(desk, "polarity", "sideways")
        assert "polarity 'sideways' is none of: negative, positive." in " ".join(desk.text.replace("│", " ").split())
        await retype(desk, "Negative")
        await desk.press("enter")
        await write(desk, "reversed", "yes")
        await write(desk, "scanned", "winter 2009-10")
        assert "Written: scanned winter 2009-10 (was undated)" in desk.lines[-1]
        await write(desk, "reversed", "")
        await desk.press("u", "enter", "escape")
        assert "reversed yes (was nothing)" not in desk.text
        assert "yes" in desk.line_with("reversed")

    browsed(scanned, drive, at="C1")
    assert stored(scanned, "SELECT polarity, is_reversed, scanned_words FROM scan WHERE id = 1") == (
        "negative", 1, "winter 2009-10",
    )  # fmt: skip


def test_the_first_guide_card_says_that_nothing_is_written_on_it(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        assert "Nothing is written on this card itself" in desk.lines[-1]

    browsed(archive, drive)


# ---- rules and refusals


def test_a_refusal_says_the_words_of_the_command_and_what_was_typed_stays(archive, capsys):
    with pytest.raises(SystemExit):
        run(["--archive", str(archive.folder), "sheets", "correct", "S8", "--lens", "no such lens"])
    said = capsys.readouterr().err.strip().removeprefix("tiebeam: ")
    before = deeds(archive)

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "lens", "no such lens")

        shown = " ".join(line.strip("│▸▁▂▃▄▅▆▇ ") for line in desk.lines)
        assert said in shown
        assert desk.card.editor.value == "no such lens"
        await retype(desk, "120")
        assert said not in " ".join(line.strip("│▸ ") for line in desk.lines)
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert deeds(archive) == before + 1


def test_an_ambiguous_date_asks_with_the_readings_of_the_command(archive, capsys):
    with pytest.raises(SystemExit):
        run(["--archive", str(archive.folder), "sheets", "correct", "S8", "--date", "3/4/1978"])
    said = capsys.readouterr().err

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "exposed", "3/4/1978")
        readings = [choice.words for choice in desk.card.open.choices]
        assert readings == ["3 April 1978 (1978-04-03)", "4 March 1978 (1978-03-04)"]
        assert all(reading in said for reading in readings)
        assert "▸ 3 April 1978" in desk.text
        await desk.press("down", "enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT exposed_edtf, exposed_words FROM sheet WHERE id = 8") == ("1978-03-04", "3/4/1978")


def test_of_a_year_of_two_digits_the_latest_century_is_offered_first_and_days_to_come_last(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "exposed", "3/4/79")
        readings = [choice.words for choice in desk.card.open.choices]
        assert [reading.rpartition(" (")[0] for reading in readings] == [
            "3 April 1979", "4 March 1979", "3 April 1879", "4 March 1879", "3 April 2079", "4 March 2079",
        ]  # fmt: skip
        await desk.press("enter")
        assert "read as 3 April 1979." in desk.lines[-1]

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT exposed_edtf, exposed_words FROM sheet WHERE id = 8") == ("1979-04-03", "3/4/79")


def test_escape_takes_the_question_away_before_the_field(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "exposed", "3/4/1978")
        await desk.press("escape")
        assert desk.card.editor.value == "3/4/1978"
        assert desk.card.open.choices == []

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT exposed_words FROM sheet WHERE id = 8") == ("78 or 79",)


def test_two_places_of_one_name_are_asked_about_and_the_doubt_beside_the_name_stays(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "place", "Priors Lode?")
        assert "L12 Priors Lode, village in Crayshire" in desk.text
        await desk.press("down", "enter")
        assert "L12?" in desk.line_with("place  ")

    browsed(archive, drive, at="D1")
    assert stored(archive, "SELECT place_id FROM visit WHERE id = 1") == (12,)
    assert stored(archive, "SELECT as_written, certainty FROM wording WHERE about = 'visit' AND field = 'place'") == (
        "L12?", "possible",
    )  # fmt: skip


def test_a_word_of_a_closed_list_is_chosen_by_keys(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "fate")
        await desk.press("down")
        assert "▸ exposed" in desk.text
        await desk.press("down", "down", "down", "enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT fate FROM sheet WHERE id = 8") == ("fogged",)


def test_tab_takes_the_completion_of_a_place_a_lens_and_a_film(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "film")
        assert "Tab completes. Enter keeps it" in desk.text
        await retype(desk, "ostrane pan 4")
        await desk.press("tab", "enter")

    browsed(archive, drive, at="S8")
    film = stored(archive, "SELECT k.name FROM sheet s JOIN kit k ON k.id = s.film_id WHERE s.id = 8")[0]
    assert film == "Ostrane Pan 400"


def test_a_new_entry_of_a_chronicle_asks_what_sort_of_thing_happened(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "another entry", "Roof patched.")
        assert "What sort of thing happened?" in desk.text
        for _ in range(4):
            await desk.press("down")
        await desk.press("enter")

    browsed(archive, drive, at="B1")
    row = stored(archive, "SELECT kind, text FROM chronicle_entry WHERE building_id = 1 ORDER BY id DESC")
    assert row == ("restored", "Roof patched.")


def test_an_address_is_private_until_it_is_asked_for(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w", "n")
        await write(desk, "address", "2 Mill Lane")
        await desk.press("n")
        assert "2 Mill Lane" not in desk.text
        assert "(private: n shows it)" in desk.line_with("address")
        desk.card.page.choose(next(one.key for one in desk.card._rows.fields if one.label == "address"))
        await desk.press("enter")
        assert desk.card.open is None
        await desk.press("n")
        assert "2 Mill Lane" in desk.text

    browsed(archive, drive, at="N1")
    assert stored(archive, "SELECT address FROM person WHERE id = 1") == ("2 Mill Lane",)


# ---- text as it is written (cases H04, H05, H06)

TEXTS = ["[undated]", "[sic] [illegible] [north elevation]", "[/", "[b +", "教会 西側", "E\u0301glise", "½ 🏚 “Osk”"]


@pytest.mark.parametrize("text", some_fast(TEXTS, "[/", "教会 西側"))
def test_h04_h05_brackets_and_any_script_are_shown_and_stored_exactly(archive, text):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "another note", text)
        assert any(text in line for line in desk.lines)
        await write(desk, "filter", text)
        assert any(text in line for line in desk.lines)
        await desk.press("u")
        assert text in desk.app.screen.words[2]
        await desk.press("escape", "escape", "space")
        assert desk.text.count(text) >= 1

    browsed(archive, drive, at="S8", size=(100, 60))
    assert stored(archive, "SELECT text FROM note ORDER BY id DESC LIMIT 1") == (text,)
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == (text,)


WIDTHS = [("教会", 4), ("E\u0301glise", 6), ("½", 1), ("[/", 2), ("abc", 3)]


@pytest.mark.parametrize(("text", "columns"), some_fast(WIDTHS, "教会", "E\u0301glise"))
def test_h06_the_cursor_stands_right_after_what_was_typed(archive, text, columns):
    # Columns as Unicode Standard Annex 11 counts them: wide characters take two, combining ones none.
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        await desk.type(text)
        editor = desk.card.editor

        await desk.type("|")
        drawn = "".join(segment.text for segment in editor.render_line(0))
        assert drawn.startswith(text + "|")
        assert editor._position_to_cell(len(text)) == columns
        line = next(line for line in desk.lines if text + "|" in line)
        assert line.rstrip("▁▂▃▄▅▆▇ ").endswith("│") or line[79:80]

    browsed(archive, drive, at="S8")


def test_a_note_of_two_thousand_letters_is_kept_whole_and_read_back(archive):
    text = "\n".join(["[undated] the wheel pit, 教会, E\u0301glise; " * 4 + "end"] * 12)
    text = (text + "x" * 2000)[:2000]

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "another note")
        desk.app.post_message(events.Paste(text))
        await desk.settle()
        assert desk.card.editor.text == text
        await desk.press("enter")
        await open_field(desk, "note", row=1)
        assert desk.card.editor.text == text
        await desk.press("ctrl+end")
        await desk.type("!")
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT text FROM note ORDER BY id DESC LIMIT 1") == (text + "!",)


def test_a_line_that_was_copied_with_its_end_loses_nothing(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        desk.app.post_message(events.Paste("yellow\norange"))
        await desk.settle()
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("yellow orange",)


def test_ctrl_j_begins_another_line_of_a_note(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "another note")
        await desk.type("first")
        await desk.press("ctrl+j")
        await desk.type("second")
        await desk.press("up")
        await desk.type("!")
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT text FROM note ORDER BY id DESC LIMIT 1") == ("first!\nsecond",)


def test_the_mark_stays_in_sight_when_lines_come_in_above_it(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w", "end")
        page = desk.card.page
        assert "▸ another note" in desk.text

        page.show([*page._items[:-1], *(Words(f"line {n}") for n in range(7)), page._items[-1]])
        await desk.settle()

        assert "▸ another note" in desk.text

    browsed(archive, drive, at="B1")


# ---- others write meanwhile


def test_both_values_are_shown_when_another_wrote_meanwhile_and_yours_is_written_only_when_asked(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        await desk.type("red")
        correct_sheet(archive, 8, filter="orange")
        desk.app.look_for_changes()
        await desk.settle()
        assert desk.card.editor.value == "red"
        await desk.press("enter")

        assert "filter: orange (it was nothing)" in desk.text
        assert "▸ leave theirs" in desk.text
        assert "  write yours over it: red" in desk.text
        assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("orange",)
        await desk.press("down", "enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("red",)


def test_theirs_can_be_left_and_yours_is_offered_again(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        await desk.type("red")
        correct_sheet(archive, 8, filter="orange")
        await desk.press("enter", "enter")

        assert "orange" in desk.line_with("filter  ")
        assert "Theirs was left as it is." in desk.lines[-1]

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("orange",)


def test_a_second_change_while_one_is_asked_is_asked_about_as_well(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        await desk.type("red")
        correct_sheet(archive, 8, filter="orange")
        await desk.press("enter")
        correct_sheet(archive, 8, filter="green")
        await desk.press("down", "enter")
        assert "filter: green (it was orange)" in desk.text
        assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("green",)

    browsed(archive, drive, at="S8")


def test_what_is_typed_outlives_the_card_being_read_anew(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "kind")
        await retype(desk, "corn mill")
        correct_building(archive, 1, identifier="no. 4")
        desk.app.look_for_changes()
        await desk.settle()
        desk.app.archive_changed()
        await desk.settle()
        assert desk.card.editor.value == "corn mill"
        await desk.press("enter")

    browsed(archive, drive, at="B1")
    assert stored(archive, "SELECT kind, identifier FROM building WHERE id = 1") == ("corn mill", "no. 4")


def test_a_note_that_another_took_out_meanwhile_does_not_take_what_was_typed_with_it(archive):
    from catalog.actions.deeds import undo_deed
    from catalog.actions.notes import add_note

    add_note(archive, about="sheet", about_id=8, text="soon gone")

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "note", row=1)
        await desk.type(", and more")
        undo_deed(archive)
        desk.app.archive_changed()
        await desk.settle()
        assert "Another tiebeam took this line out; what you typed: soon gone, and more" in desk.lines[-1]
        await open_field(desk, "another note")
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT text FROM note ORDER BY id DESC LIMIT 1") == ("soon gone, and more",)


def test_a_locked_catalogue_is_waited_for_with_words_and_the_screen_lives(archive):
    other = sqlite3.connect(archive.catalogue, isolation_level=None)

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        await desk.type("red")
        other.execute("BEGIN IMMEDIATE")
        desk.app.post_message(events.Key("enter", "\r"))
        until = time.monotonic() + 10
        while "waiting for it to finish" not in desk.lines[-1]:
            assert time.monotonic() < until
            await desk.pilot.pause(0.02)
        assert "writing …" in desk.text
        other.execute("ROLLBACK")
        await desk.settle()
        assert "Written: filter red" in desk.lines[-1]

    browsed(archive, drive, at="S8")
    other.close()
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("red",)


def test_a_catalogue_that_stays_locked_is_said_and_what_was_typed_stays(archive):
    settings = archive.folder / "tiebeam.toml"
    settings.write_text(re.sub(r"(?m)^wait_seconds = .*$", "wait_seconds = 1", settings.read_text()))
    opened = open_archive(archive.folder)
    other = sqlite3.connect(archive.catalogue, isolation_level=None)

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        await desk.type("red")
        other.execute("BEGIN IMMEDIATE")
        await desk.press("enter")
        assert "another tiebeam is writing to this archive" in desk.text
        assert desk.card.editor.value == "red"
        other.execute("ROLLBACK")
        await desk.press("enter")

    browsed(opened, drive, at="S8")
    other.close()
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("red",)


def test_two_windows_write_the_same_card_and_neither_is_lost(archive):
    async def drive(desk: Desk) -> None:
        async def in_the_other(other: Desk) -> None:
            await other.press("w")
            await write(other, "sleeve", "12")

        await desk.press("w")
        await open_field(desk, "box")
        await retype(desk, "9")
        import asyncio

        await asyncio.to_thread(browsed, archive, in_the_other, at="S8")
        await desk.press("enter")
        assert "12" in desk.line_with("sleeve  ")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT box, sleeve FROM sheet WHERE id = 8") == ("9", "12")


def test_ctrl_c_while_typing_leaves_what_is_stored(archive):
    before = deeds(archive)

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await write(desk, "box", "9")
        await open_field(desk, "filter")
        await desk.type("re")
        desk.app.post_message(events.Key("ctrl+c", None))
        await desk.pilot.pause()
        assert desk.app._exit

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT box, filter FROM sheet WHERE id = 8") == ("9", None)
    assert deeds(archive) == before + 1


def test_what_waited_for_another_window_is_not_written_after_the_program_was_left(archive):
    settings = archive.folder / "tiebeam.toml"
    settings.write_text(re.sub(r"(?m)^wait_seconds = .*$", "wait_seconds = 3", settings.read_text()))
    other = sqlite3.connect(archive.catalogue, isolation_level=None)
    before = deeds(archive)

    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "filter")
        await desk.type("red")
        other.execute("BEGIN IMMEDIATE")
        desk.app.post_message(events.Key("enter", "\r"))
        until = time.monotonic() + 10
        while "waiting for it to finish" not in desk.lines[-1]:
            assert time.monotonic() < until
            await desk.pilot.pause(0.02)
        desk.app.post_message(events.Key("ctrl+c", None))
        await desk.pilot.pause()
        desk.app.workers.cancel_all()
        other.execute("ROLLBACK")

    browsed(open_archive(archive.folder), drive, at="S8")
    other.close()
    assert deeds(archive) == before


def test_the_terminal_may_change_its_size_while_a_field_is_open(archive):
    async def drive(desk: Desk) -> None:
        await desk.press("w")
        await open_field(desk, "another note")
        await desk.type("half a sen")
        for width, height in ((40, 10), (160, 50), (60, 14), (80, 24)):
            await desk.resize(width, height)
        await desk.type("tence")
        assert "half a sentence" in desk.line_with("another note")
        await desk.press("enter")

    browsed(archive, drive, at="S8")
    assert stored(archive, "SELECT text FROM note ORDER BY id DESC LIMIT 1") == ("half a sentence",)
