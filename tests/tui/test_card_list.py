"""The long list: it holds few windows of many, asks for what comes in sight, and keeps its place."""

from __future__ import annotations

import asyncio
from typing import Any

from textual.app import App, ComposeResult

from catalog.tui import look
from catalog.tui.widgets.card_list import KEPT_WINDOWS, WINDOW, CardList
from tests.tui.desk import at_rest


class Drawer(App[None]):
    """A list of numbers, supplied at once or, when ``is_slow``, not at all."""

    CSS = look.CSS

    def __init__(self, count: int) -> None:
        super().__init__()
        self.register_theme(look.DARK)
        self.theme = look.DARK.name
        self._count = count
        self.is_slow = False
        self.asked: list[int] = []
        self.opened: list[int] = []

    def compose(self) -> ComposeResult:
        yield CardList(lambda row, width: ((f"card {row}", "ink"),))

    def on_mount(self) -> None:
        self.query_one(CardList).show(self._count)

    def on_card_list_window_wanted(self, event: CardList.WindowWanted) -> None:
        self.asked.append(event.first)
        if not self.is_slow:
            last = min(event.first + event.count, self._count)
            self.query_one(CardList).supply(event.first, range(event.first, last), event.edition)

    def on_card_list_card_opened(self, event: CardList.CardOpened) -> None:
        self.opened.append(event.place)

    @property
    def lines(self) -> list[str]:
        return ["".join(s.text for s in strip).rstrip() for strip in self.screen._compositor.render_strips()]


def driven(count: int, drive: Any) -> None:
    async def run() -> None:
        app = Drawer(count)
        async with app.run_test(size=(40, 12)) as pilot:
            await at_rest(app)
            await drive(app, app.query_one(CardList), pilot)

    asyncio.run(run())


def test_a_million_lines_are_reached_by_one_key_and_few_windows_are_asked_for():
    async def drive(app: Drawer, cards: CardList, pilot: Any) -> None:
        await pilot.press("end")
        await at_rest(app)
        assert "▸ card 999999" in app.lines[-1]
        await pilot.press("home", "down", "enter")
        assert "▸ card 1" in app.lines[1]
        assert app.opened == [1]
        assert len(app.asked) <= 3

    driven(1_000_000, drive)


def test_no_more_than_the_kept_windows_are_held():
    async def drive(app: Drawer, cards: CardList, pilot: Any) -> None:
        for window in range(KEPT_WINDOWS + 20):
            cards.choose(window * WINDOW + WINDOW // 2)
            await at_rest(app)
        assert cards.kept_windows == KEPT_WINDOWS
        asked = len(app.asked)
        await pilot.press("home", "end")
        await at_rest(app)
        assert len(app.asked) - asked <= 2  # the windows before the last; both ends are kept

    driven(WINDOW * (KEPT_WINDOWS + 30), drive)


def test_rows_that_are_not_here_yet_are_dotted_and_the_keys_go_on():
    async def drive(app: Drawer, cards: CardList, pilot: Any) -> None:
        app.is_slow = True
        cards.show(1000)
        await at_rest(app)
        assert "▸ · · ·" in app.lines[0]
        await pilot.press("down", "down")
        assert "▸ · · ·" in app.lines[2]

    driven(1000, drive)


def test_rows_of_a_former_list_are_put_away():
    async def drive(app: Drawer, cards: CardList, pilot: Any) -> None:
        app.is_slow = True
        cards.show(10)
        await at_rest(app)
        cards.supply(0, ["old"] * 10, edition=0)
        await at_rest(app)
        assert not any("old" in line for line in app.lines)

    driven(10, drive)


def test_an_empty_list_takes_every_key():
    async def drive(app: Drawer, cards: CardList, pilot: Any) -> None:
        await pilot.press("down", "up", "end", "home", "pagedown", "enter")
        assert app.opened == []
        assert cards.place == 0

    driven(0, drive)
