"""A building's card: its chronicle as a ruled page with the frames between the entries; on the back the rest."""

from __future__ import annotations

import sqlite3
from array import array
from dataclasses import dataclass
from typing import ClassVar

from textual.binding import BindingType

from catalog.dates import edtf_in_words
from catalog.store.frame_runs import FrameRun
from catalog.store.record_words import date_words, line_words
from catalog.store.show import Line, Record, read_record
from catalog.store.trails import Step, trail_of
from catalog.store.year_lines import ChronicleMark, YearLine, building_year_line, chronicle_marks
from catalog.tui.keys import key
from catalog.tui.screens.card import CardScreen
from catalog.tui.screens.record_card import section_items
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Entry, FrameLine, Heading, LabelledLine, Space, Words
from catalog.tui.widgets.year_line import Legend, RulerHead, Scale, YearLineItem

_RULED = ("chronicle", "undated entries", "undated frames")


@dataclass(frozen=True, slots=True)
class BuildingRows:
    """A building, its year line and the marks of its chronicle."""

    record: Record
    line: YearLine
    marks: tuple[ChronicleMark, ...]
    trail: tuple[Step, ...]


class BuildingCardScreen(CardScreen):
    """The card of a building."""

    BINDINGS: ClassVar[list[BindingType]] = [key("a", "all_frames", "all its frames, one by one")]
    face_share = 62

    def load(self, connection: sqlite3.Connection) -> BuildingRows:
        """Return the building."""
        assert self.record_id is not None
        about = self.archive.about_days
        return BuildingRows(
            read_record(connection, "building", self.record_id, about),
            building_year_line(connection, self.record_id, about),
            chronicle_marks(connection, [self.record_id], about).get(self.record_id, ()),
            trail_of(connection, "building", self.record_id),
        )

    def lay_out(self, rows: BuildingRows, choose: str | None) -> tuple[Step, ...]:
        """Show it: the chronicle on the face, names and sites on the back."""
        self.query_one("#face-page", Page).show(chronicle_items(rows), choose)
        self.query_one("#back-page", Page).show(back_items(rows.record))
        return rows.trail

    def on_page_line_opened(self, event: Page.LineOpened) -> None:
        """Open a frame with its neighbours on this page; anything else as it is."""
        if event.reference.startswith("S"):
            event.prevent_default()
            event.stop()
            self.browse.open_card(event.reference, self._run_of_page())

    def _run_of_page(self) -> FrameRun:
        frames = [item for item in chronicle_items(self._rows) if isinstance(item, FrameLine) and item.reference]
        ids = array("q", [int(str(item.reference)[1:]) for item in frames])
        return FrameRun(ids, bytearray(not item.spans for item in frames))

    def action_all_frames(self) -> None:
        """Open the run of all frames that show this building."""
        self.browse.open_frames(self.reference)


def chronicle_items(rows: BuildingRows) -> list[PageItem]:
    """Return the ruled page: the year line, the entries with the frames between, then what is undated."""
    sections = dict(rows.record.sections)
    scale = Scale.of([rows.line])
    open_questions = [line for line in sections.get("questions", ()) if "open" in line.marks]
    items: list[PageItem] = [
        RulerHead(scale),
        YearLineItem("frames", "", rows.line, scale, rows.marks),
    ]
    if open_questions:
        items.append(Words(_asked(len(open_questions)), "doubt"))
        items += [_question(line) for line in open_questions]
    items.append(Space())
    if not any(sections.get(name) for name in _RULED):
        items.append(Words("Nothing is written in its chronicle, and no frame shows it.", "faint"))
    for name in _RULED:
        lines = sections.get(name)
        if not lines:
            continue
        if name != "chronicle":
            items += [Space(), Heading(name)]
        items += [_ruled_item(line) for line in lines]
    return [*items, Space(), Legend.of([rows.line], rows.marks)]


def _asked(number: int) -> str:
    return "One question is open:" if number == 1 else f"{number} questions are open:"


def _question(line: Line) -> LabelledLine:
    return LabelledLine(line.reference or "", line.words, label_width=5, reference=line.reference)


def _ruled_item(line: Line) -> PageItem:
    when = date_words(line.date) if line.date is not None and line.date.edtf else "undated"
    if line.number is not None:
        return Entry(when, f"{line.number}.", line.words, line.marks)
    spans = tuple(mark for mark in line.marks if mark.startswith(("may be", "dated when", "possibly", "probably")))
    shows = " ".join(mark for mark in line.marks if mark not in spans)
    # The words of the card stand on the sheet's own card; here the date has a narrow column.
    plain = edtf_in_words(line.date.edtf) if line.date is not None and line.date.edtf else "undated"
    return FrameLine(plain, line.words, shows, "; ".join(spans), line.reference)


def back_items(record: Record) -> list[PageItem]:
    """Return the names, sites, elevations, questions and notes of a building."""
    facts: list[PageItem] = [LabelledLine(fact.field, str(fact.value or "")) for fact in record.facts]
    sites = [("sites", lines) for name, lines in record.sections if name == "sites"]
    items = [*facts]
    for _, lines in sites:
        items += [Space(), Heading("stands, or stood, at")]
        items += [
            LabelledLine(line.reference or "", line_words(line), label_width=5, reference=line.reference)
            for line in lines
        ]
    return [*items, *section_items(record, leave_out=(*_RULED, "sites"))]
