"""The writing side of a card: every field on a line of its own, written in place by the deeds of the commands."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from importlib import import_module
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Input, TextArea

from catalog.errors import CatalogError, RefusedError
from catalog.rules.fields import LINES
from catalog.store.completions import names_of
from catalog.store.fields import WrittenField, read_fields
from catalog.store.trails import Step, trail_of
from catalog.tui.keys import key
from catalog.tui.screens.card import CardScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.choices import Choice, choices_of
from catalog.tui.widgets.field_editor import ChoiceMoved, FieldKept, FieldLeft, LineEditor, NoteEditor
from catalog.tui.widgets.field_line import FieldLine, label_width
from catalog.tui.widgets.open_field import OpenField
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, Space

if TYPE_CHECKING:
    from catalog.actions.desk import Desk

_NOTE_ROOM = 6


@dataclass(frozen=True, slots=True)
class FieldsRows:
    """The fields of a card, and the guide cards that lead to it."""

    fields: tuple[WrittenField, ...]
    trail: tuple[Step, ...]
    names: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """What fields complete from, by the table of the records they name."""


class FieldsCardScreen(CardScreen):
    """The card of a record, laid out to be written on."""

    BINDINGS: ClassVar[list[BindingType]] = [key("w", "write", "write in this field", shown="enter,w")]
    CSS = """
    #face { layers: below above; }
    LineEditor, NoteEditor { position: absolute; layer: above; border: none; padding: 0; background: $chosen-paper;
        color: $chosen-ink; scrollbar-size: 1 1; }
    LineEditor:focus, NoteEditor:focus { border: none; background: $chosen-paper; }
    LineEditor > .input--suggestion { color: $faint-ink; text-style: italic; }
    LineEditor > .input--cursor { background: $ink; color: $paper; text-style: none; }
    NoteEditor > .text-area--cursor { background: $ink; color: $paper; text-style: none; }
    NoteEditor > .text-area--cursor-line { background: $chosen-paper; }
    NoteEditor > .text-area--selection { background: $edge; }
    """
    has_back = False

    def __init__(self, table: str, record_id: int | None) -> None:
        super().__init__(table, record_id)
        self.open: OpenField | None = None
        """The field that is being written in."""
        self.editor: LineEditor | NoteEditor | None = None
        """What is being typed in."""
        self._left: dict[str, str] = {}
        """What was typed into fields that were left without keeping it."""

    # -- rows --------------------------------------------------------------------------------------------------

    def load(self, connection: sqlite3.Connection) -> FieldsRows:
        """Return the fields."""
        assert self.record_id is not None
        trail = trail_of(connection, self.table, self.record_id)
        fields = read_fields(connection, self.table, self.record_id)
        return FieldsRows(fields, trail, names_for(connection, fields))

    def lay_out(self, rows: FieldsRows, choose: str | None) -> tuple[Step, ...]:
        """Show them; a field that is open stays open, with what was typed."""
        self._close_what_is_gone(rows)
        pointed = next((one.key for one in rows.fields if choose in (one.points_to, one.key)), None) if choose else None
        self._show(rows, pointed)
        self.browse.last_sheet = self.record_id if self.table == "sheet" else self.browse.last_sheet
        return (*rows.trail, Step("", "to write on"))

    def _close_what_is_gone(self, rows: FieldsRows) -> None:
        """Close a field whose line is gone; what was typed in a note is offered where another one is written."""
        opened = self.open
        if opened is None or opened.is_being_written or any(one.key == opened.asked.key for one in rows.fields):
            return
        typed = self.editor.typed if self.editor is not None else ""
        another = next((one for one in rows.fields if one.row_id is None and one.table == opened.asked.table), None)
        if another is not None and typed:
            self._left[another.key] = typed
        self._rows = rows
        self.close_field()
        self.say(f"Another tiebeam took this line out; what you typed: {typed}")

    @property
    def page(self) -> Page:
        """The page of lines."""
        return self.query_one("#face-page", Page)

    def _show(self, rows: FieldsRows | None = None, choose: str | None = None) -> None:
        rows = rows or self._rows
        self.page.show(self._items(rows), choose or (self.open.asked.key if self.open else None))
        self._place_editor()

    def _items(self, rows: FieldsRows) -> list[PageItem]:
        items: list[PageItem] = []
        heading = ""
        for one in rows.fields:
            if one.heading != heading:
                items += [Space()] * bool(items) + [Heading(one.heading)]
                heading = one.heading
            items.append(self._line(one))
        return items

    def _line(self, one: WrittenField) -> FieldLine:
        label = one.label if one.is_first else f"  {one.label}"
        opened = self.open
        if opened is not None and opened.asked.key == one.key:
            room = _NOTE_ROOM if one.field.sort == LINES else 1
            return FieldLine(label, "", room=room, below=opened.below(), reference=one.key)
        words = one.text
        if one.field.is_private and words and not self.browse.is_private:
            words = "(private: n shows it)"
        return FieldLine(label, words, "doubt" if one.is_doubtful else "ink", reference=one.key)

    # -- opening a field ---------------------------------------------------------------------------------------

    def on_page_line_opened(self, event: Page.LineOpened) -> None:
        """Open the field of that line."""
        event.prevent_default()
        event.stop()
        if self.open is not None:
            self.say("One field at a time: Enter keeps this one, Esc leaves it as it was.")
            return
        found = next((one for one in self._rows.fields if one.key == event.reference), None)
        if found is not None:
            self.open_field(found)

    def open_field(self, one: WrittenField) -> None:
        """Open a field, with what stands in it, or what was typed into it before and not kept."""
        if one.field.is_private and one.text and not self.browse.is_private:
            self.say("This is private: n shows it, and then it can be written.")
            return
        before = self._left.pop(one.key, None)
        self.open = OpenField(one, last_text=one.text if before is None else before)
        if before is not None:
            self.open.said = f"What you typed before stands here again. It says now: {one.text or 'nothing'}"
        self.mount_editor()
        # What writes takes a second to import: it is there when the first field is kept.
        self.run_worker(import_writing, thread=True, group="import", exit_on_error=True)

    def mount_editor(self) -> None:
        """Put the editor on the line of the open field."""
        assert self.open is not None
        one, text = self.open.asked.field, self.open.last_text
        names = one.choices or self._rows.names.get(one.of, ())
        self.editor = NoteEditor(text) if one.sort == LINES else LineEditor(text, names)
        self.query_one("#face", Vertical).mount(self.editor)
        self.set_focus(self.editor)
        self._show()

    def on_mount(self) -> None:
        """Keep the editor at its line."""
        self.watch(self.page, "scroll_y", self._place_editor, init=False)

    def on_resize(self, event: events.Resize) -> None:
        """Keep the editor at its line."""
        self.call_after_refresh(self._show_again)

    def _show_again(self) -> None:
        if self._rows is not None and self.open is not None:
            if self.editor is not None and not self.has_class("-small"):
                self.set_focus(self.editor)  # it was out of sight, if the terminal was too small for a card
            self._show()

    def _place_editor(self) -> None:
        editor = self.editor
        region = self.page.region_of(self.open.asked.key) if self.open is not None else None
        if editor is None or region is None or self.open is None:
            return
        label = label_width(region.width) + 1
        editor.styles.offset = (region.x + label, region.y)
        editor.styles.width = max(region.width - label, 4)
        editor.styles.height = _NOTE_ROOM if isinstance(editor, NoteEditor) else 1

    # -- typing ------------------------------------------------------------------------------------------------

    def on_input_changed(self, event: Input.Changed) -> None:
        """Take away what was said about the former text."""
        self._typed_on(event.value)

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        """Take away what was said about the former text."""
        self._typed_on(event.text_area.text)

    def _typed_on(self, text: str) -> None:
        opened = self.open
        if opened is None or text == opened.last_text:
            return
        opened.last_text = text
        if opened.said or opened.choices:
            opened.said = ""
            self._offer([])

    def _offer(self, choices: list[Choice]) -> None:
        """Lay choices below the field, or take them away."""
        if self.open is None:
            return
        self.open.choices, self.open.chosen = choices, 0
        editor = self.editor
        if isinstance(editor, NoteEditor):
            editor.is_choosing = bool(choices)
        self._show()

    def on_choice_moved(self, event: ChoiceMoved) -> None:
        """Go to another choice."""
        if self.open is None:
            return
        if self.open.choices:
            self.open.chosen = (self.open.chosen + event.by) % len(self.open.choices)
            self._show()
        elif self.open.asked.field.choices:
            self._offer([Choice(word, text=word) for word in self.open.asked.field.choices])

    def on_field_left(self, event: FieldLeft) -> None:
        """Take the choices away; without any, leave the field as it was. What was typed is offered when it opens."""
        opened = self.open
        if opened is None or opened.is_being_written:
            return
        if opened.choices:
            opened.said = ""
            self._offer([])
            return
        if event.text != opened.asked.text:
            self._left[opened.asked.key] = event.text
            self.say("Left as it was; what you typed is here again when you open it.")
        self.close_field()

    def close_field(self) -> None:
        """Take the editor away."""
        self.open = None
        if self.editor is not None:
            self.editor.remove()
        self.editor = None
        self.set_focus(self.page)
        self._show()

    # -- keeping -----------------------------------------------------------------------------------------------

    def on_field_kept(self, event: FieldKept) -> None:
        """Write what was typed, or what was chosen for it."""
        opened = self.open
        if opened is None or opened.is_being_written:
            return
        if opened.choices:
            self._take(opened, opened.choices[opened.chosen], event.text)
        elif event.text == opened.asked.text:
            self.nothing_typed(opened)
        else:
            self.begin_writing(event.text)

    def nothing_typed(self, opened: OpenField) -> None:
        """Close a field that is to be kept as it stood."""
        self.close_field()
        self.say("It says so already; nothing was changed.")

    def _take(self, opened: OpenField, choice: Choice, text: str) -> None:
        """Write with the choice that was made."""
        if choice.leaves:
            self._left[opened.asked.key] = text
            self.close_field()
            self.read_rows()
            self.say("Theirs was left as it is." if choice.now else "Nothing was changed.")
            return
        if choice.now is not None:
            opened.asked = choice.now
        self.begin_writing(choice.text if choice.text is not None else text, choice)

    def begin_writing(self, text: str, choice: Choice | None = None) -> None:
        """Write, in a thread."""
        assert self.open is not None
        self.open.is_being_written = True
        self.open.said, self.open.choices = "", []
        self._show()
        asked, meant = self.open.asked, choice.meant if choice else None
        self.run_worker(
            lambda: self._write(asked, text, meant, choice), thread=True, group="writing", exit_on_error=True
        )  # fmt: skip

    def _write(self, asked: WrittenField, text: str, meant: str | None, choice: Choice | None) -> None:
        teller = Teller(self.app)
        from catalog.actions.desk import Desk

        def still_wanted(_: object) -> None:
            if not teller.is_wanted:  # the program was left while another one was waited for
                raise RefusedError("The card was laid back before this was written. Nothing was changed.")

        said: list[str] = []
        desk = Desk(say=said.append, on_wait=lambda words: teller.tell(self.say, words), first=still_wanted)
        try:
            self.write(asked, text, meant, choice, desk)
        except CatalogError as exc:
            now = self._now(asked) if choices_of(exc, text, asked) else asked
            teller.tell(self._refused_writing, exc, text, now)
            return
        teller.tell(self._written, said[-1] if said else "", choice.read_as if choice else "")

    def write(self, asked: WrittenField, text: str, meant: str | None, choice: Choice | None, desk: Desk) -> None:
        """Do the deed; called in a thread."""
        from catalog.actions.fields import write_field

        write_field(self.archive, asked, text, meant=meant, desk=desk)

    def _now(self, asked: WrittenField) -> WrittenField:
        """Return the field as it stands now."""
        from catalog.store.fields import read_field

        try:
            with self.archive.reading() as connection:
                return read_field(connection, asked)
        except CatalogError:
            return asked

    def _refused_writing(self, refusal: CatalogError, text: str, now: WrittenField) -> None:
        """Say why, or ask; what was typed stays."""
        if self.open is None:
            return
        self.open.is_being_written = False
        choices = choices_of(refusal, text, now)
        self.open.said = choices.asked if choices else str(refusal)
        self._offer(list(choices.choices) if choices else [])

    def _written(self, words: str, read_as: str = "") -> None:
        """Close the field and read everything anew; ``read_as`` is which reading of it was chosen."""
        if not self.is_mounted:
            return
        self._left.pop(self.open.asked.key if self.open else "", None)
        self.close_field()
        self.browse.archive_changed()
        # The card says whose fields these are; the line below it has room for what was changed.
        words = words.partition(f"({self.reference}): ")[2] or words
        words = f"{words}; read as {read_as}" if read_as else words
        self.say(f"Written{self.said_beside()}: {words}.")

    def said_beside(self) -> str:
        """Return what is said beside "Written"."""
        return ""

    # -- keys --------------------------------------------------------------------------------------------------

    def action_back(self) -> None:
        """Lay the card back; what was typed and not kept is said first."""
        if self._left:
            count = len(self._left)
            self._left.clear()
            what = "1 field was left unkept" if count == 1 else f"{count} fields were left unkept"
            self.say(f"{what}: Esc again lays the card back all the same.")
            return
        super().action_back()

    def action_write(self) -> None:
        """Open the field that the mark stands at: this is the writing side already."""
        self.page.action_open()


def import_writing() -> None:
    """Import the deeds."""
    import_module("catalog.actions.fields")


def names_for(connection: sqlite3.Connection, fields: Iterable[WrittenField]) -> dict[str, tuple[str, ...]]:
    """Return the names that these fields complete from."""
    return {table: names_of(connection, table) for table in {one.field.of for one in fields}}
