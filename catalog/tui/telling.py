"""What a worker's thread tells the screens: nothing any more once nobody waits for it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.app import App
from textual.worker import get_current_worker


class Teller:
    """Tells the screens what a thread found, as long as its worker is wanted. It is made within that thread."""

    def __init__(self, app: App[Any]) -> None:
        self._app, self._worker = app, get_current_worker()

    @property
    def is_wanted(self) -> bool:
        """Whether somebody still waits: the card was not laid back, nothing newer was begun."""
        return not self._worker.is_cancelled

    def tell(self, what: Callable[..., object], *given: object) -> None:
        """Call this where the screens live, and wait until that is done."""
        if self.is_wanted:
            self._app.call_from_thread(what, *given)
