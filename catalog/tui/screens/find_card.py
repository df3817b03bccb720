"""Finding frames as one types: the fields above, the frames found below, each certainly or possibly."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.timer import Timer
from textual.widget import Widget

from catalog.errors import AmbiguousNameError, CatalogError
from catalog.rules.compass import COMPASS
from catalog.store.asking import ask
from catalog.store.completions import names_to_complete
from catalog.store.found_beside import found_beside
from catalog.store.frame_runs import FrameRun, frame_count_words, read_run
from catalog.store.trails import Step
from catalog.tui.keys import key
from catalog.tui.screens.frame_list import FrameListScreen
from catalog.tui.widgets.card_list import CardList
from catalog.tui.widgets.find_fields import FindField, FindFields

_WAIT_S = 0.12
"""So long after the last key the question is asked."""


@dataclass(frozen=True, slots=True)
class _Found:
    """What was found, or why nothing was looked for."""

    run: FrameRun | None
    words: str
    names: dict[str, tuple[str, ...]]
    beside: tuple[Step, ...] = ()
    """What the words name that is no frame: a record by its reference, editions."""


class Answer(Widget):
    """The line between the fields and the frames."""

    def __init__(self) -> None:
        super().__init__(id="answer")
        self._words = ""

    @property
    def words(self) -> str:
        """What it says."""
        return self._words

    def say(self, words: str) -> None:
        """Say how many were found, or what is wrong with a field."""
        self._words = words
        self.refresh(layout=True)

    def render(self) -> Content:
        """Return it."""
        return Content(self._words)


class FindCardScreen(FrameListScreen):
    """The card on which frames are found."""

    BINDINGS: ClassVar[list[BindingType]] = [key("f", "fields", "go back to the fields")]
    CSS = """
    FindFields { height: auto; padding: 0 1; }
    FindFields Vertical { height: auto; }
    .fields { height: 1; }
    .label { width: auto; padding: 0 1 0 1; color: $faint-ink; height: 1; }
    FindField { width: 1fr; background: $slip; color: $ink; border: none; padding: 0; height: 1; }
    FindField:focus { background: $chosen-paper; color: $chosen-ink; border: none; text-style: bold; }
    FindField > .input--suggestion { color: $faint-ink; text-style: italic; }
    FindField > .input--cursor { background: $ink; color: $paper; text-style: none; }
    #answer { height: auto; max-height: 5; padding: 0 2; color: $margin; border-top: solid $rule; }
    """

    def __init__(self, asked: Mapping[str, str]) -> None:
        super().__init__("find", None)
        self._asked = dict(asked)
        self._waiting: Timer | None = None

    def compose_face(self) -> ComposeResult:
        """Give fields, answer and frames."""
        with Vertical():
            yield FindFields(self._asked, id="fields")
            yield Answer()
            yield from super().compose_face()

    def load(self, connection: sqlite3.Connection) -> _Found:
        """Return what the fields ask for."""
        asked = self._asked
        names = {**names_to_complete(connection), "side": COMPASS}
        if not any(value.strip() for value in asked.values()):
            return _Found(FrameRun(), "Type a word, a number or a place; Tab goes to the next field.", names)
        try:
            question = ask(
                connection, self.archive, words=(asked.get("words", ""),), place=asked.get("place", "").strip() or None,
                years=asked.get("years", "").strip() or None, lens=asked.get("lens", "").strip() or None,
                film=asked.get("film", "").strip() or None, elevation=asked.get("side", "").strip() or None,
            )  # fmt: skip
        except AmbiguousNameError as exc:
            told = "; ".join(f"{reference} {words}" for reference, words in exc.candidates[:4])
            return _Found(None, f"“{exc.typed}” may be {told}. Give one of these references.", names)
        except CatalogError as exc:
            return _Found(None, str(exc), names)
        run = read_run(connection, question)
        words = frame_count_words(run)
        if question.years is not None and len(run):
            years = self.archive.settings.dates_about_years
            words += f" “About” reaches {years} year{'s' * (years != 1)} either way."
        beside = found_beside(connection, asked.get("words", ""))
        if beside:
            told = "; ".join(step.name for step in beside)
            words += f" Also {told}; Enter opens it." if not len(run) else f" Also {told}: its reference opens it."
        return _Found(run, words, names, beside)

    def lay_out(self, rows: _Found, choose: str | None) -> tuple[Step, ...]:
        """Show what was found; when a field is not understood, what was found before stays."""
        if rows.run is not None:
            self.show_run(rows.run)
        self.query_one(Answer).say(rows.words)
        self.query_one(FindFields).complete_from(rows.names)
        return (Step("", "find"),)

    def on_find_fields_fields_changed(self, event: FindFields.FieldsChanged) -> None:
        """Ask a moment after the last key."""
        self._asked = event.asked
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(_WAIT_S, self.read_rows)

    def on_find_field_fields_left(self, event: FindField.FieldsLeft) -> None:
        """Go to the frames found."""
        if self.focused is self.frames:
            self.frames.action_open()  # the next key came before the field was left: it was meant for the frames
        elif self.frames.count:
            self.set_focus(self.frames)
        elif self._rows is not None and self._rows.beside:
            self.browse.open_card(self._rows.beside[0].reference)

    def on_card_list_top_left(self, event: CardList.TopLeft) -> None:
        """Go back to the fields."""
        self.action_fields()

    def action_fields(self) -> None:
        """Go back to the fields."""
        self.query_one("#field-words", FindField).focus()

    def action_guide(self) -> None:
        """Open the first guide card."""
        self.browse.open_card(None)
