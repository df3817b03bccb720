"""The cards of editions and prints: what was promised, what became of every number, and whose names are told."""

from __future__ import annotations

import pytest

from catalog.store.archive import open_archive
from catalog.tui.app import BrowseApp
from tests.editions import an_edition, pull
from tests.sample import copy_sample
from tests.tui.desk import Desk, browsed


def test_one_key_lists_the_editions_from_anywhere_and_enter_opens_one(sample):
    async def drive(desk: Desk) -> None:
        for reference in (None, "B1", "S7", "N1"):
            desk.app.open_card(reference)
            await desk.settle()
            await desk.press("e")
            assert "Brome Hall from the old road" in desk.text
        assert "15" in desk.line_with("Osk Mill, clad")
        await desk.press("down", "enter")
        assert desk.card.reference == "E2"

    browsed(sample, drive)


def test_an_edition_says_its_promise_word_for_word_and_what_is_left(sample):
    async def drive(desk: Desk) -> None:
        words = " ".join(desk.text.replace("│", " ").split())
        assert "Osk Mill. Fifteen prints in one size, with two artist's proofs and one bon à tirer." in words
        assert "March 2011, list of spring 2011" in words
        assert "limited to 15: 4 pulled, 1 promised, 10 left" in words
        assert "2 artist's proofs: 2 pulled, none left" in words

    browsed(sample, drive, at="E1")


def test_every_number_says_its_state_and_who_has_it(sample):
    async def drive(desk: Desk) -> None:
        assert "sold" in desk.line_with("1/15      P2")
        assert "N12, due September 2012" in desk.line_with("2/15      P3")
        assert "the house, replaces P4" in desk.line_with("3/15      P8")
        assert "not pulled yet" in desk.line_with(" 8/15 ")
        assert "for N15" in desk.line_with(" 7/15 ")

    browsed(sample, drive, at="E1", size=(80, 40))


def test_names_and_prices_are_hidden_until_one_key_shows_them(sample):
    async def drive(desk: Desk) -> None:
        assert "Names and prices are hidden; n shows them." in desk.text
        for name in ("Tasker", "Lantern", "Hallow", "600"):
            assert name not in desk.text
        await desk.press("n")
        assert "Corin Tasker (N14)" in desk.text
        assert "600.00 EUR" in desk.text
        assert "Names and prices are shown" in desk.lines[-1]
        await desk.press("n")
        assert "Tasker" not in desk.text

    browsed(sample, drive, at="E1", size=(160, 50))


@pytest.mark.parametrize(("at", "keys"), [("S7", ("space",)), ("P3", ()), ("E1", ()), ("N12", ()), ("desk", ()),
                                          ("V7", ()), ("E3", ("space",))])  # fmt: skip
def test_no_card_that_was_not_asked_tells_who_has_a_print_or_what_it_cost(sample, at, keys):
    async def drive(desk: Desk) -> None:
        await desk.press(*keys)
        own = "Lantern Street Gallery" if at == "N12" else ""
        for name in ("Corin Tasker", "Lantern Street Gallery", "Bridie Hallow", "Halding Museum", "EUR"):
            assert name == own or name not in desk.text

    browsed(sample, drive, at=at, size=(160, 60))


def test_a_program_begun_with_private_shows_names_at_once(sample):
    import asyncio

    async def run() -> None:
        app = BrowseApp(open_archive(sample), "P3", is_private=True)
        async with app.run_test(size=(160, 50)) as pilot:
            desk = Desk(app, pilot)
            await desk.settle()
            assert "Lantern Street Gallery (N12)" in desk.text

    asyncio.run(run())


def test_a_number_opens_the_ledger_of_its_print_and_that_leads_on_to_the_sheet(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("down", "enter")
        assert desk.card.reference == "P3"
        assert " editions / Osk Mill, clad / ╭ 2/15 ╮" in desk.lines[0]
        assert "3. consigned, N12, front room, until September 2012" in " ".join(desk.text.replace("║", " ").split())
        await desk.press("enter")
        assert desk.card.reference == "S7"
        await desk.press("escape", "g")
        assert desk.card.reference == "E1"
        assert "▸ 2/15" in desk.text

    browsed(sample, drive, at="E1", size=(100, 40))


def test_a_number_without_a_print_says_the_command_that_pulls_it(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("down", "down", "down", "down", "enter")
        assert "5/15 was not pulled yet. To pull it: tiebeam prints pull E1 5/15" in desk.lines[-1]
        await desk.press("down", "down", "enter")
        assert "7/15 is promised, and not pulled yet." in desk.lines[-1]
        assert desk.card.reference == "E1"

    browsed(sample, drive, at="E1", size=(110, 40))


def test_an_edition_on_a_sheets_card_is_opened_by_enter(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("space")
        while desk.card.query_one("#back-page").chosen != "E1":
            await desk.press("down")
        await desk.press("enter")
        assert desk.card.reference == "E1"

    browsed(sample, drive, at="S7")


def test_an_edition_is_found_by_its_reference_and_by_its_words(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("f")
        await desk.type("staddles")
        assert "Also edition E3 Over Brome granary" in desk.text
        await desk.press("escape", "f")
        await desk.type("E2")
        await desk.press("enter")
        assert desk.card.reference == "E2"

    browsed(sample, drive)


def test_the_back_of_an_edition_leads_on_to_its_view_and_sheet(sample):
    async def drive(desk: Desk) -> None:
        await desk.press("space", "down", "enter")
        assert desk.card.reference == "S7"

    browsed(sample, drive, at="E1")


def test_a_long_run_is_walked_to_its_end_by_one_key_and_reads_few_windows(archive):
    edition = an_edition(archive, limit=5000)
    pull(archive, edition.run_id, 4999)

    async def drive(desk: Desk) -> None:
        await desk.press("end")
        assert "▸ AP II/II" in desk.text
        assert "P1" in desk.line_with("4999/5000")
        await desk.press("pageup", "pageup")
        assert desk.card.lines.kept_windows <= 3
        await desk.press("home")
        assert "Fifteen prints" in desk.text or "An edition of fifteen prints" in desk.text

    browsed(archive, drive, at=f"E{edition.id}")


def test_a_promise_longer_than_the_card_is_read_before_the_mark_goes_on(archive):
    edition = an_edition(archive, limit=3, statement="The plate was cut. " * 110)

    async def drive(desk: Desk) -> None:
        assert "The plate was cut." in desk.lines[2]
        seen = 0
        while "▸ 1/3" not in desk.text:
            await desk.press("down")
            seen += 1
        assert seen > 1
        assert desk.card.lines.place == 0
        await desk.press("down")
        assert desk.card.lines.place == 1
        await desk.press("home")
        assert "The plate was cut." in desk.lines[2]

    browsed(archive, drive, at=f"E{edition.id}")


def test_what_people_wrote_is_shown_as_they_wrote_it(archive):
    edition = an_edition(archive, limit=2, title="[undated] 教会 [/", statement="[sic] Two prints [/b + Église")
    pull(archive, edition.run_id, 1, markings='"[/" in pencil')

    async def drive(desk: Desk) -> None:
        assert "[sic] Two prints [/b + Église" in desk.text
        assert "[undated] 教会 [/" in desk.lines[0]
        await desk.press("enter", "space")
        assert '"[/" in pencil' in desk.text
        await desk.press("e")
        assert "[undated] 教会 [/" in desk.text

    browsed(archive, drive, at=f"E{edition.id}")


def test_an_edition_that_is_closed_says_that_its_last_numbers_will_never_be_pulled(tmp_path, sample):
    from catalog.actions.editions import set_edition_state
    from tests.builders import dated

    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))
    set_edition_state(archive, 2, "closed", since=dated("2020"), words="the plate is worn")

    async def drive(desk: Desk) -> None:
        assert "limited to 25: 3 pulled, 22 never pulled" in desk.text
        assert "closed since 2020: the plate is worn" in desk.text
        await desk.press("end", "enter")
        assert "25/25 was never pulled, and will not be: the edition is closed." in desk.lines[-1]

    browsed(archive, drive, at="E2")


def test_a_print_pulled_meanwhile_stands_on_its_line_and_the_mark_stays(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))

    async def drive(desk: Desk) -> None:
        desk.app.look_for_changes()
        await desk.press(*["down"] * 5)
        pull(archive, 1, 5)
        desk.app.look_for_changes()
        await desk.settle()

        assert "in hand" in desk.line_with("5/15      P14")
        assert desk.card.lines.place == 5

    browsed(archive, drive, at="E1", size=(80, 40))


def test_a_print_that_is_not_there_is_said_so(sample):
    async def drive(desk: Desk) -> None:
        assert "There is no print P999." in desk.text
        desk.app.open_card("E999")
        await desk.settle()
        assert "There is no edition E999." in desk.text

    browsed(sample, drive, at="P999")
