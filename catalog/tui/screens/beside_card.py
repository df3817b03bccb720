"""Which frame to lay beside another: marked, of its view, standpoint, list, building; or one that is found."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from textual.app import ComposeResult

from catalog.rules.references import parse_reference
from catalog.store.find import FoundFrame
from catalog.store.frame_runs import FrameRun
from catalog.store.frame_words import shown_words
from catalog.store.trails import Step
from catalog.store.two_frames import Choice, FrameBeside, frames_to_lay_beside, is_doubtful, read_frame_beside
from catalog.tui.screens.sheet_finder import Found, SheetFinder
from catalog.tui.widgets.frame_row import date_told
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, LabelledLine, Space, Words

Chosen = Callable[[int, FrameRun], None]
"""Told which sheet was chosen, and the run in which one may go on from it."""


@dataclass(frozen=True, slots=True)
class BesideRows:
    """The frame that is kept, and what may be laid beside it."""

    kept: FrameBeside
    choices: tuple[Choice, ...]
    found: Found | None


class BesideCardScreen(SheetFinder):
    """The card on which the other frame is chosen."""

    has_back = False

    def __init__(
        self, sheet_id: int, run: FrameRun | None, *, marked: Sequence[int] = (), chosen: Chosen | None = None
    ) -> None:
        super().__init__("sheet", sheet_id, run)
        self._marked, self._when_chosen = marked, chosen

    def compose_face(self) -> ComposeResult:
        """Give the line to find with, and the frames."""
        yield from self.compose_finder()

    def load(self, connection: sqlite3.Connection) -> BesideRows:
        """Return the frames to choose from."""
        assert self.record_id is not None
        about = self.archive.about_days
        kept = read_frame_beside(connection, self.record_id, about)
        found = self.find(connection)
        choices = () if found else frames_to_lay_beside(connection, kept, self.run, self._marked, about)
        return BesideRows(kept, choices, found)

    def lay_out(self, rows: BesideRows, choose: str | None) -> tuple[Step, ...]:
        """Show them."""
        self.show_sheets(_items(rows), choose, about=rows.found.words if rows.found else "")
        return (*rows.kept.trail, Step("", f"which frame beside {rows.kept.number}?"))

    def on_page_line_opened(self, event: Page.LineOpened) -> None:
        """Lay the chosen frame beside the one that is kept."""
        event.prevent_default()
        event.stop()
        rows: BesideRows | None = self._rows
        referred = parse_reference(event.reference)
        if rows is None or referred is None:
            return
        sheet = referred[1]
        if rows.found is not None and rows.found.run is not None:
            run = rows.found.run
        else:
            run = next(
                (choice.run for choice in rows.choices if sheet in [frame.id for frame in choice.frames]), FrameRun()
            )
        self._choose_sheet(sheet, run)

    def _choose_sheet(self, sheet: int, run: FrameRun) -> None:
        assert self.record_id is not None
        self.browse.lay_back()
        if self._when_chosen is not None:
            self._when_chosen(sheet, run)
        else:
            kept_run = self.run if self.run is not None and len(self.run) else run
            self.browse.open_two_frames((self.record_id, kept_run), (sheet, run))


def _items(rows: BesideRows) -> list[PageItem]:
    """Return the frames under their headings."""
    kept = rows.kept.frame.id
    if rows.found is not None:
        if not rows.found.frames:
            return [Words(rows.found.words, "margin")]
        left_out = [Words(f"{rows.found.left_out:,} more are found: more words find fewer.", "faint")]
        lines = [_line(frame, kept) for frame in rows.found.frames]
        return [Heading(rows.found.words), *lines, *(left_out if rows.found.left_out else [])]
    items: list[PageItem] = []
    for choice in rows.choices:
        items += [Space()] if items else []
        items += [Heading(choice.heading), *(_line(frame, kept) for frame in choice.frames)]
        if choice.left_out:
            items.append(Words(f"{choice.left_out:,} more stand further off: f finds them.", "faint"))
    if not items:
        items.append(Words("Nothing else shows what this frame shows.", "ink"))
    return [*items, Space(), Words("f finds any other frame by number or words.", "faint")]


def _line(frame: FoundFrame, kept: int) -> LabelledLine:
    number = ", ".join(dict.fromkeys(text for text, _ in frame.numbers)) or f"S{frame.id}"
    when = date_told(frame.exposed_edtf) if frame.exposed_edtf else frame.exposed_words or "undated"
    remark = "this one" if frame.id == kept else "" if frame.scans else "no scan"
    role = "doubt" if frame.exposed_edtf and is_doubtful(frame) else "ink"
    words = "; ".join(filter(None, (when, shown_words(frame))))
    reference = None if frame.id == kept else f"S{frame.id}"
    return LabelledLine(number, words, remark, role=role, label_width=12, reference=reference)
