"""The cards driven by keys, without a terminal: what lies on the desk is read as lines of text."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from textual import events
from textual.keys import key_to_character
from textual.message_pump import MessagePump

from catalog.store.archive import Archive, open_archive
from catalog.tui.app import BrowseApp
from catalog.tui.screens.card import CardScreen
from catalog.tui.terminal import Terminal

Drive = Callable[["Desk"], Awaitable[None]]
SETTLED_WITHIN_S = 20.0
QUIET_ROUNDS = 2
"""So many rounds in which nothing comes tell that the program is at rest: a message may be on its way in the first."""


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
        """Wait until nothing is being read, every message is answered and everything is drawn."""
        until, quiet = time.monotonic() + SETTLED_WITHIN_S, 0
        while quiet < QUIET_ROUNDS:
            if time.monotonic() > until:
                raise AssertionError("the program does not come to rest")
            if self._is_at_work():
                await asyncio.sleep(0.001)
            is_quiet = not self._is_at_work()
            await self._let_all_answer(until)
            # Draw now what would be drawn at the next sixtieth of a second.
            self.app.screen._on_timer_update()
            is_quiet = (
                is_quiet and not self._is_at_work() and not any(pump.message_queue_size for pump in self._pumps())
            )
            quiet = quiet + 1 if is_quiet else 0

    def _is_at_work(self) -> bool:
        """Whether a thread reads, or the card waits for another letter before it asks."""
        waiting = getattr(self.card, "_waiting", None)
        is_waiting = waiting is not None and waiting._task is not None and not waiting._task.done()
        return is_waiting or not all(worker.is_finished for worker in self.app.workers)

    def _pumps(self) -> list[MessagePump]:
        """Return everything that takes messages: the program, the card on top, the one below it."""
        cards = self.app.screen_stack[-2:]
        return [self.app, *(widget for card in cards for widget in card.walk_children(with_self=True))]

    async def _let_all_answer(self, until: float) -> None:
        """Wait until everything has answered the messages that came to it before now."""
        to_answer = 0

        def answered() -> None:
            nonlocal to_answer
            to_answer -= 1

        to_answer = sum(pump.call_later(answered) for pump in self._pumps())
        while to_answer and not (self.app._exit or self.app._exception) and time.monotonic() < until:
            await asyncio.sleep(0)

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
