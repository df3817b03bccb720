"""A sheet's card: the picture on its face, everything known of it on its back, its neighbours one key away."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container

from catalog.store.descents import DescentLine, read_descent
from catalog.store.record_words import fact_words, line_words
from catalog.store.show import Fact, Record, read_record
from catalog.store.trails import Step, trail_of
from catalog.tui.keys import key, silent
from catalog.tui.scan_pictures import picture_of_scan
from catalog.tui.screens.card import CardScreen
from catalog.tui.screens.record_card import fact_items, section_items
from catalog.tui.telling import Teller
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, LabelledLine, Space, Words, doubtful
from catalog.tui.widgets.picture import Picture

_EXPOSURE = (
    "exposed", "lens", "aperture f/", "shutter s", "filter", "rise mm", "shift mm", "tilt deg", "swing deg",
    "extension mm", "camera", "film", "development",
)  # fmt: skip
_CAPTION_COLUMNS = 27
"""The least that a caption beside the picture takes; with less room it stands below."""


@dataclass(frozen=True, slots=True)
class SheetRows:
    """A sheet whole, with its descent."""

    record: Record
    descent: tuple[DescentLine, ...]
    trail: tuple[Step, ...]

    @property
    def scans(self) -> tuple[int, ...]:
        """Its scans, in the order they were registered."""
        return tuple(line.id for line in self.descent if line.table == "scan")


class SheetCardScreen(CardScreen):
    """The card of a sheet."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("right", "neighbour(1)", "the frame before, after", shown="left,right"),
        silent("left", "neighbour(-1)"),
        key("p", "other_picture", "the picture of the next scan"),
        key("b", "beside", "lay another frame beside it"),
    ]
    CSS = """
    #face-inside { layout: vertical; }
    #face-inside.-beside { layout: horizontal; }
    #picture { width: 1fr; height: 1fr; }
    #face-page { width: 1fr; height: auto; max-height: 45%; }
    .-beside #face-page { width: 27; height: 1fr; max-height: 100%; }
    .-beside #picture { margin: 0 1 0 0; }
    """
    face_share = 50

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self._scan = 0

    def compose_face(self) -> ComposeResult:
        """Give the picture and its caption."""
        with Container(id="face-inside"):
            yield Picture(self.browse.terminal.pictures, id="picture")
            yield Page(id="face-page")

    def _arrange(self, width: int | None = None, height: int | None = None) -> None:
        super()._arrange(width, height)
        width, height = width or self.app.size.width, height or self.app.size.height
        if self.is_wide:
            width = width * self.face_share // 100
        # A landscape sheet at the full height of the face is two and a half times as wide as high, in cells.
        self.query_one("#face-inside").set_class(width - (height - 4) * 2.5 >= _CAPTION_COLUMNS, "-beside")

    # -- rows --------------------------------------------------------------------------------------------------

    def load(self, connection: sqlite3.Connection) -> SheetRows:
        """Return the sheet."""
        assert self.record_id is not None
        return SheetRows(
            read_record(connection, "sheet", self.record_id, self.archive.about_days),
            read_descent(connection, self.record_id, is_private=self.browse.is_private),
            trail_of(connection, "sheet", self.record_id),
        )

    def lay_out(self, rows: SheetRows, choose: str | None) -> tuple[Step, ...]:
        """Show it."""
        self.browse.last_sheet = self.record_id
        self.query_one("#face-page", Page).show(caption_items(rows), choose)
        self.query_one("#back-page", Page).show(back_items(rows))
        return rows.trail

    def after_rows(self) -> None:
        """Look for the picture, in a thread."""
        rows: SheetRows = self._rows
        picture = self.query_one(Picture)
        if not rows.scans:
            picture.say(_no_scan(rows.record))
            return
        self._scan %= len(rows.scans)
        if not picture.has_picture:
            picture.say("looking for the picture …")
        scan_id = rows.scans[self._scan]
        self.run_worker(
            lambda: self._find_picture(scan_id), thread=True, exclusive=True, group="picture", exit_on_error=True
        )  # fmt: skip

    def _find_picture(self, scan_id: int) -> None:
        teller = Teller(self.app)
        found = picture_of_scan(
            self.archive, scan_id, self.browse.terminal.pictures, lambda words: teller.tell(self._say_picture, words)
        )
        teller.tell(self._say_picture if isinstance(found, str) else self._show_picture, found)

    def _say_picture(self, words: str) -> None:
        if self.is_attached:
            self.query_one(Picture).say(words)

    def _show_picture(self, image: Any) -> None:
        if self.is_attached:
            self.query_one(Picture).show(image)

    # -- keys --------------------------------------------------------------------------------------------------

    def action_neighbour(self, by: int) -> None:
        """Show the frame before or after this one in the run it was opened from."""
        run, place = self.run, self._place_in_run()
        if run is None or place is None:
            self.say("This card was opened alone: open it from a list or a building to go on to its neighbours.")
            return
        if not 0 <= place + by < len(run):
            self.say("This is the last frame of the run." if by > 0 else "This is the first frame of the run.")
            return
        self.record_id = int(run.ids[place + by])
        self._scan = 0
        self.query_one(Picture).say("")
        self.read_rows()

    def _place_in_run(self) -> int | None:
        return self.run.place_of(self.record_id) if self.run is not None and self.record_id is not None else None

    def action_other_picture(self) -> None:
        """Show the picture of the next scan of this sheet."""
        rows: SheetRows | None = self._rows
        if rows is None or len(rows.scans) < 2:
            self.say("This sheet has one scan." if rows and rows.scans else "This sheet has no scan.")
            return
        self._scan = (self._scan + 1) % len(rows.scans)
        self.query_one(Picture).say("")
        self.after_rows()
        self.say(f"C{rows.scans[self._scan]}, scan {self._scan + 1} of {len(rows.scans)}")

    def action_beside(self) -> None:
        """Lay another frame beside this one."""
        self.browse.open_beside(self.record_id, self.run)

    def where_words(self, event: Page.LineChosen) -> str:
        """Return where this frame stands in its run, else where the mark stands."""
        place = self._place_in_run()
        if place is None or self.run is None:
            return super().where_words(event)
        return f"frame {place + 1:,} of {len(self.run):,}"


def _no_scan(record: Record) -> str:
    fate = next((str(fact.value) for fact in record.facts if fact.field == "fate"), "exposed")
    return "no scan yet" if fate == "exposed" else f"{fate}; no scan"


def caption_items(rows: SheetRows) -> list[PageItem]:
    """Return the caption of the face: number, when, what it shows, what is doubtful."""
    record = rows.record
    sections = dict(record.sections)
    numbers = list(dict.fromkeys(line.words for line in sections.get("numbers", ())))
    items: list[PageItem] = [Words(", ".join(numbers) or "no number", "strong")]
    exposed = next((fact for fact in record.facts if fact.field == "exposed"), None)
    if exposed is not None:
        words = fact_words(exposed)
        items.append(Words(words, "doubt" if exposed.doubt is not None or doubtful(words) else "ink"))
    fate = next((str(fact.value) for fact in record.facts if fact.field == "fate"), "exposed")
    if fate != "exposed":
        items.append(Words(fate, "margin"))
    for line in sections.get("shows", ()):
        marks = "; ".join(mark for mark in line.marks if mark != "principal")
        words = f"{line.words}; {marks}" if marks else line.words
        role = "doubt" if doubtful(line.words) else "ink"
        items.append(LabelledLine(line.reference or "", words, role=role, label_width=5, reference=line.reference))
    items += [
        LabelledLine(line.reference or "", line_words(line), role="faint", label_width=5, reference=line.reference)
        for line in sections.get("taken from", ())
    ]
    open_questions = [line for line in sections.get("questions", ()) if "open" in line.marks]
    items += [
        LabelledLine(line.reference or "", line.words, role="doubt", label_width=5, reference=line.reference)
        for line in open_questions
    ]
    return items


def back_items(rows: SheetRows) -> list[PageItem]:
    """Return the back: numbers, exposure, what is doubtful and why, its descent, where it is kept, the rest."""
    record = rows.record
    items: list[PageItem] = []
    items += section_items(record, only=("numbers",))[1:]
    items += [Space(), Heading("exposure"), *_facts(record, [f for f in record.facts if f.field in _EXPOSURE])]
    items += section_items(record, only=("how it was put",))
    items += [Space(), Heading("descent: scans, versions, prints"), *descent_items(rows.descent)]
    items += section_items(record, only=("editions",))
    kept = [fact for fact in record.facts if fact.field not in _EXPOSURE]
    items += [Space(), Heading("film and keeping"), *_facts(record, kept)]
    shown = ("numbers", "how it was put", "scans", "versions", "prints", "shows", "taken from", "editions")
    return [*items, *section_items(record, leave_out=shown)]


def _facts(record: Record, facts: list[Fact]) -> list[PageItem]:
    part = Record(record.table, record.id, record.title, tuple(facts), ())
    return fact_items(part) or [Words("nothing recorded", "faint")]


def descent_items(descent: tuple[DescentLine, ...]) -> list[PageItem]:
    """Return the descent as lines, each as far in as it is steps from the sheet."""
    if not descent:
        return [Words("No scan, no version, no print.", "faint")]
    return [
        LabelledLine(
            "  " * line.level + ("└ " if line.level else "") + line.reference, line.words, line.remark,
            label_width=12, reference=line.reference,
        )
        for line in descent
    ]  # fmt: skip
