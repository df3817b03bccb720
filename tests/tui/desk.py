"""The cards driven by keys, without a terminal: what lies on the desk is read as lines of text."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from textual import events
from textual.keys import key_to_character

from catalog.store.archive import Archive, open_archive
from catalog.tui.app import BrowseApp
from catalog.tui.screens.card import CardScreen
from catalog.tui.terminal import Terminal

Drive = Callable[["Desk"], Awaitable[None]]
SETTLED_AFTER_S = 0.02


class Desk:
    """The program under the hands of a test."""

    def __init__(self, app: BrowseApp, pilot: Any) -> None:
        self.app, self.pilot = app, pilot

    @property
    def card(self) -> CardScreen:
        """The card on top."""
        card = self.app.card
        assert card is not None
        return card

    async def settle(self) -> None:
        """Wait until nothing is being read and everything is drawn."""
        for _ in range(400):
            await self.pilot.pause()
            find = getattr(self.card, "_waiting", None)
            is_waiting = find is not None and find._task is not None and not find._task.done()
            if not is_waiting and all(worker.is_finished for worker in self.app.workers):
                await asyncio.sleep(SETTLED_AFTER_S)
                await self.pilot.pause()
                if all(worker.is_finished for worker in self.app.workers):
                    return
            await asyncio.sleep(0.01)
        raise AssertionError("the program does not come to rest")

    async def press(self, *keys: str) -> None:
        """Press keys, one after the other, each when the one before it is answered."""
        for key in keys:
            # The pilot's own way waits for 50 ms after each key.
            self.app.post_message(events.Key(key, key_to_character(key)))
            await self.settle()

    async def type(self, words: str) -> None:
        """Type words into the field that has the cursor."""
        for letter in words:
            self.app.post_message(events.Key("space" if letter == " " else letter, letter))
        await self.settle()

    async def resize(self, width: int, height: int) -> None:
        """Give the terminal another size."""
        await self.pilot.resize_terminal(width, height)
        await self.settle()

    @property
    def lines(self) -> list[str]:
        """What stands on the terminal, line by line."""
        return ["".join(segment.text for segment in strip) for strip in self.app.screen._compositor.render_strips()]

    @property
    def text(self) -> str:
        """What stands on the terminal."""
        return "\n".join(self.lines)

    def line_with(self, words: str) -> str:
        """Return the one line that holds these words."""
        found = [line for line in self.lines if words in line]
        assert len(found) == 1, f"{len(found)} lines hold {words!r}:\n{self.text}"
        return found[0]


def browsed(
    archive: Archive | Path, drive: Drive, *, at: str | None = None, size: tuple[int, int] = (80, 24),
    terminal: Terminal | None = None,
) -> None:  # fmt: skip
    """Open an archive at a card and let ``drive`` press keys; the program must not fail on the way."""
    opened = archive if isinstance(archive, Archive) else open_archive(archive)

    async def run() -> None:
        app = BrowseApp(opened, at, terminal=terminal or Terminal())
        async with app.run_test(size=size) as pilot:
            desk = Desk(app, pilot)
            await desk.settle()
            await drive(desk)

    asyncio.run(run())
