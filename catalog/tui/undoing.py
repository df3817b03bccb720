"""Taking the newest deed back: what it was, when and by whom, asked before it is done by the deed of ``undo``."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from catalog.errors import CatalogError
from catalog.tui.screens.undo_slip import UndoSlip
from catalog.tui.telling import Teller

if TYPE_CHECKING:
    from catalog.store.daybook import DeedRow
    from catalog.tui.app import BrowseApp


class Undoing:
    """Asks about the newest deed, and takes it back."""

    def __init__(self, app: BrowseApp) -> None:
        self._app = app

    def ask(self) -> None:
        """Look, in a thread, what would be taken back, and ask."""
        self._app.run_worker(self._look, thread=True, exclusive=True, group="undo", exit_on_error=True)

    def _tell(self, what: Callable[..., object], *given: object) -> None:
        Teller(self._app).tell(what, *given)

    def _wait(self, words: str) -> None:
        self._tell(self._app.say, words)

    def _look(self) -> None:
        from catalog.actions.deeds import undo_deed

        try:
            found = undo_deed(self._app.archive, dry_run=True, on_wait=self._wait)
        except CatalogError as exc:
            self._tell(self._app.push_screen, UndoSlip(str(exc).splitlines(), asks=False))
            return
        self._tell(self._show, found.deed, found.records, found.files)

    def _show(self, deed: DeedRow, records: int, files: int) -> None:
        from catalog.store.writing import was_done_here

        by = "by this window" if was_done_here(self._app.archive, deed.id) else "not by this window"
        touched = "1 record" if records == 1 else f"{records:,} records"
        if files:
            touched += f", {files:,} file{'s' * (files != 1)}"
        words = [
            f"Take back deed {deed.id}, {deed.kind}?",
            "",
            f"It {deed.words}.",
            f"Done {_when(deed.at)}, {by}; it changed {touched}.",
            "",
        ]

        def answered(answer: bool | None) -> None:
            if answer:
                self._app.run_worker(
                    lambda: self._take_back(deed.id), thread=True, exclusive=True, group="undo", exit_on_error=True
                )  # fmt: skip

        self._app.push_screen(UndoSlip(words, asks=True), answered)

    def _take_back(self, deed_id: int) -> None:
        from catalog.actions.deeds import undo_deed

        try:
            done = undo_deed(self._app.archive, deed_id, on_wait=self._wait)
        except CatalogError as exc:
            self._tell(self._app.push_screen, UndoSlip(str(exc).splitlines(), asks=False))
            return
        self._tell(self._taken_back, f"Undone: deed {deed_id}. To do it again: tiebeam undo {done.undo_id}")

    def _taken_back(self, words: str) -> None:
        self._app.archive_changed()
        self._app.say(words)


def _when(at: str) -> str:
    """Return a moment of record by the clock on the wall: "at 14:03 today", "on 2026-11-25 at 14:03"."""
    from catalog import clock

    then = datetime.fromisoformat(at).astimezone()
    today = datetime.fromisoformat(clock.timestamp()).astimezone().date()
    return f"at {then:%H:%M} today" if then.date() == today else f"on {then:%Y-%m-%d} at {then:%H:%M}"
