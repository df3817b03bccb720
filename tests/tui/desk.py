"""The cards driven by keys, without a terminal: what lies on the desk is read as lines of text."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from textual import events
from textual.app import App
from textual.keys import key_to_character

from catalog.store.archive import Archive, open_archive
from catalog.tui.app import BrowseApp
from catalog.tui.screens.card import CardScreen
from catalog.tui.terminal import Terminal

Drive = Callable[["Desk"], Awaitable[None]]
AT_REST_WITHIN_S = 20.0
QUIET_TURNS = 3
"""So many turns of the event loop without a message tell that what was posted has been taken."""


async def at_rest(app: App[None], is_waiting: Callable[[], bool] = bool) -> None:
    """
    Wait until no thread is at work, every message is answered and everything is drawn.

    ``is_waiting`` says of anything else that it has to be waited for.
    """
    until = time.monotonic() + AT_REST_WITHIN_S
    await _come_to_rest(app, is_waiting, until)
    # What is still in hand somewhere has left its queue: wait for that too, and for what comes of it.
    await _let_all_answer(app, until)
    await _come_to_rest(app, is_waiting, until)


async def _come_to_rest(app: App[None], is_waiting: Callable[[], bool], until: float) -> None:
    """Let the program go on until for some turns nothing is at work and no message waits; draw meanwhile."""
    quiet = 0
    while quiet < QUIET_TURNS:
        if time.monotonic() > until:
            raise AssertionError("the program does not come to rest")
        at_work = [worker._task for worker in app.workers if worker._task is not None and not worker.is_finished]
        if at_work:
            await asyncio.wait(at_work, timeout=0.02, return_when=asyncio.FIRST_COMPLETED)
        else:
            await asyncio.sleep(0.001 if is_waiting() else 0)
        if at_work or is_waiting() or _has_messages(app):
            quiet = 0
            continue
        # Draw now what would be drawn at the next sixtieth of a second.
        app.screen._on_timer_update()
        quiet = 0 if _has_messages(app) else quiet + 1


def _has_messages(app: App[None]) -> bool:
    """Whether a message waits in the program, or anywhere on the two screens on top."""
    widgets = (widget for screen in app.screen_stack[-2:] for widget in screen.walk_children(with_self=True))
    return bool(app.message_queue_size) or any(widget.message_queue_size for widget in widgets)


async def _let_all_answer(app: App[None], until: float) -> None:
    """Wait until everything on the screen has answered the messages that came to it before now."""
    to_answer = 0

    def answered() -> None:
        nonlocal to_answer
        to_answer -= 1

    asked = [app, *app.screen.walk_children(with_self=True)]
    to_answer = sum(pump.call_later(answered) for pump in asked)
    while to_answer and not (app._exit or app._exception) and time.monotonic() < until:
        await asyncio.sleep(0)


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
        await at_rest(self.app, lambda: self._is_waiting)

    @property
    def _is_waiting(self) -> bool:
        """Whether the card waits for another letter before it asks."""
        waiting = getattr(self.card, "_waiting", None)
        return waiting is not None and waiting._task is not None and not waiting._task.done()

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
