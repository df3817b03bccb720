"""A stray's card: its picture beside that of the sheet it may be of, and the tying of the two."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from time import monotonic
from typing import Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType

from catalog.actions.scan_files import remove_scan
from catalog.actions.scan_matches import match_scan_to_sheets
from catalog.errors import CatalogError
from catalog.rules.references import format_reference, parse_reference
from catalog.store.find import FoundFrame
from catalog.store.frame_words import shown_words
from catalog.store.show import Record, read_record
from catalog.store.strays import (
    Candidate,
    StrayRow,
    candidates_of,
    sheets_of_scan,
    stray_ids,
    stray_rows,
    why_waiting,
)
from catalog.store.trails import Step
from catalog.store.two_frames import is_doubtful
from catalog.tui.keys import key, silent
from catalog.tui.screens.record_card import fact_items, section_items
from catalog.tui.screens.sheet_finder import Found, SheetFinder
from catalog.tui.screens.two_pictures import LEFT, RIGHT, TwoPicturesScreen
from catalog.tui.telling import Teller
from catalog.tui.widgets.frame_row import date_told
from catalog.tui.widgets.page import Page, PageItem
from catalog.tui.widgets.page_items import Heading, LabelledLine, Space, Words
from catalog.tui.widgets.picture_side import OneLine
from catalog.tui.widgets.typed_line import TypedLine

REST_S = 0.4
"""A key that was held down does not tie the next stray, which nobody has looked at yet."""
_PART_LINE = "part-line"


@dataclass(frozen=True, slots=True)
class StrayRows:
    """
    A stray with the sheets it may be of.

    ``row`` is ``None`` when no scan waits any more; ``sheets`` are those it has got meanwhile. ``strays`` are all.
    """

    strays: Sequence[int]
    row: StrayRow | None = None
    why: str = ""
    sheets: tuple[int, ...] = ()
    candidates: tuple[Candidate, ...] = ()
    found: Found | None = None
    record: Record | None = None
    frames: dict[int, FoundFrame] = field(default_factory=dict)
    """Every sheet on the page, by its id."""


class StrayCardScreen(SheetFinder, TwoPicturesScreen):
    """The card of a scan that belongs to no sheet yet."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("t", "tie", "tie it to the marked sheet"),
        key("o", "part", "tie it to part of that sheet"),
        key("m", "several", "one of several sheets, or not"),
        key("f", "find_sheet", "find another sheet for it"),
        key("right", "neighbour(1)", "the stray before, after", shown="left,right"),
        silent("left", "neighbour(-1)"),
        key("p", "other_picture", "the sheet's next picture"),
        key("x", "take_out", "not of this archive"),
    ]
    face_share = 66

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self._several: dict[int, FoundFrame] = {}
        self._scan_of_sheet = 0
        self._asks_to_take_out = self._is_at_work = False
        self._rests_until = 0.0

    @property
    def reference(self) -> str | None:
        """The scan's reference."""
        return None if self.record_id is None else format_reference("scan", self.record_id)

    def compose_face(self) -> ComposeResult:
        """Give both pictures, the line to find with, and the sheets."""
        yield from self.compose_pair()
        yield TypedLine("which part of the sheet", id=_PART_LINE)
        yield from self.compose_finder()

    # -- rows --------------------------------------------------------------------------------------------------

    def load(self, connection: sqlite3.Connection) -> StrayRows:
        """Return the stray with the sheets it may be of."""
        strays = stray_ids(connection)
        if self.record_id is None:
            return StrayRows(strays)
        row = stray_rows(connection, [self.record_id])[0]
        if row is None:
            return StrayRows(strays)
        sheets = sheets_of_scan(connection, row.id)
        candidates = candidates_of(connection, self.archive, row) if not sheets else ()
        found = self.find(connection)
        frames = {one.frame.id: one.frame for one in candidates} | {
            one.id: one for one in (found.frames if found else ())
        }
        return StrayRows(
            strays, row, why_waiting(connection, self.archive, [row])[row.id], sheets, candidates, found,
            read_record(connection, "scan", row.id, self.archive.about_days), frames,
        )  # fmt: skip

    def lay_out(self, rows: StrayRows, choose: str | None) -> tuple[Step, ...]:
        """Show it."""
        self._rows = rows  # the mark comes to a sheet while the page is shown, and its picture is asked for
        self.side(LEFT).caption(_caption_of_stray(rows))
        said = rows.found.words if rows.found else ""
        self.show_sheets(_page_items(rows, self._several), choose, about=(rows.row and rows.row.id, said))
        back = [*fact_items(rows.record), *section_items(rows.record)] if rows.record else []
        self.query_one("#back-page", Page).show(back)
        return (Step("stray", "scans without a sheet"), Step("", rows.row.name if rows.row else "none"))

    def after_rows(self) -> None:
        """Look for the pictures."""
        rows: StrayRows = self._rows
        if rows.row is None:
            for side in (LEFT, RIGHT):
                self.picture_words(side, "")
            self.side(RIGHT).caption([])
            return
        self.picture_scan(LEFT, rows.row.id)
        self._picture_sheet()

    def on_page_line_chosen(self, event: Page.LineChosen) -> None:
        """Show the sheet that the mark came to."""
        self._scan_of_sheet = 0
        if self._rows is not None:
            self._picture_sheet()

    def where_words(self, event: Page.LineChosen) -> str:
        """Return which of the strays it is."""
        rows: StrayRows | None = self._rows
        if rows is None or self.record_id not in rows.strays:
            return " "
        return f"scan {rows.strays.index(self.record_id) + 1:,} of {len(rows.strays):,}"

    def _chosen(self) -> FoundFrame | None:
        rows: StrayRows | None = self._rows
        referred = parse_reference(self.page.chosen or "")
        return rows.frames.get(referred[1]) if rows is not None and referred is not None else None

    def _picture_sheet(self) -> None:
        """Show the marked sheet at the right: its picture, or the words why there is none."""
        frame = self._chosen()
        if frame is None:
            self.side(RIGHT).caption([])
            self.picture_words(RIGHT, "no sheet to compare with yet:\nf finds one")
            return
        self.side(RIGHT).caption(_caption_of_sheet(frame))
        if frame.scans:
            self.picture_scan(RIGHT, frame.scans[self._scan_of_sheet % len(frame.scans)].id)
        else:
            self.picture_words(RIGHT, "no scan yet" if frame.fate == "exposed" else f"{frame.fate}; no scan")

    # -- keys --------------------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """Forget that a scan was to be taken out when another key is pressed."""
        if event.key != "x":
            self._asks_to_take_out = False

    def action_other_picture(self) -> None:
        """Show the picture of the next scan of the marked sheet."""
        frame = self._chosen()
        if frame is None or len(frame.scans) < 2:
            self.say("This sheet has one scan." if frame and frame.scans else "There is no scan to show.")
            return
        self._scan_of_sheet += 1
        self._picture_sheet()

    def action_neighbour(self, by: int) -> None:
        """Show the stray before or after this one."""
        rows: StrayRows | None = self._rows
        if rows is None or self.record_id is None:
            return
        if by > 0:
            beside = next((scan for scan in rows.strays if scan > self.record_id), None)
        else:
            beside = next((scan for scan in reversed(rows.strays) if scan < self.record_id), None)
        if beside is None:
            self.say("This is the last of them." if by > 0 else "This is the first of them.")
            return
        self._go_to(beside)
        self.read_rows()

    def _go_to(self, scan_id: int | None) -> None:
        self.record_id = scan_id
        self._several.clear()
        self.query_one(f"#{_PART_LINE}", TypedLine).close()
        self.leave_line()

    def action_several(self) -> None:
        """Take the marked sheet among those that the scan shows, or not."""
        frame = self._chosen()
        if frame is None:
            self.say(_NO_SHEET)
            return
        if self._several.pop(frame.id, None) is None:
            self._several[frame.id] = frame
        self.page.show(_page_items(self._rows, self._several))
        count = len(self._several)
        self.say(f"t ties it to {count} sheet{'s' * (count != 1)}: one deed." if count else "t ties it to one sheet.")

    def action_tie(self) -> None:
        """Tie the scan to the sheet at the mark, or to those that were taken."""
        frame = self._chosen()
        sheets = list(self._several) or ([frame.id] if frame is not None else [])
        self._tie_to(dict.fromkeys(sheets))

    def action_part(self) -> None:
        """Ask which part of the sheet it shows, to tie it to that."""
        if self._chosen() is None:
            self.say(_NO_SHEET)
        else:
            self.query_one(f"#{_PART_LINE}", TypedLine).open()

    def on_typed_line_words_taken(self, event: TypedLine.WordsTaken) -> None:
        """Tie it to the part that was typed."""
        frame = self._chosen()
        if event.line != _PART_LINE or frame is None:
            return
        if event.words.strip():
            self._close_part_line()
            self._tie_to({frame.id: event.words.strip()})
        else:
            self.say("Type which part of the sheet it shows, such as “left half”; Esc leaves.")

    def on_typed_line_line_left(self, event: TypedLine.LineLeft) -> None:
        """Tie nothing."""
        if event.line == _PART_LINE:
            self._close_part_line()

    def _close_part_line(self) -> None:
        self.query_one(f"#{_PART_LINE}", TypedLine).close()
        self.set_focus(self.page)

    def action_take_out(self) -> None:
        """Take the scan out of the catalogue when the key is pressed twice."""
        if self.record_id is None or self._rows is None or self._rows.sheets:
            self.say("There is no stray on this card.")
        elif not self._asks_to_take_out:
            self._asks_to_take_out = True
            self.say(f"{self.reference} would leave the catalogue; its file stays as it is. x again does it.")
        else:
            self._asks_to_take_out = False
            scan_id = self.record_id
            self._do(lambda: remove_scan(self.archive, scan_id, on_wait=self._wait),
                     f"Took C{scan_id} out of the catalogue; its file was left.")  # fmt: skip

    def _tie_to(self, sheets: dict[int, str | None] | dict[int, str]) -> None:
        rows: StrayRows | None = self._rows
        if rows is None or rows.row is None or rows.row.id != self.record_id:
            return
        if rows.sheets:
            self.say(f"{self.reference} is of {_named(rows.sheets)} since. → goes to the next stray.")
        elif not sheets:
            self.say(_NO_SHEET)
        else:
            scan_id = rows.row.id
            part = next((f", {region}" for region in sheets.values() if region), "")
            self._do(
                lambda: match_scan_to_sheets(self.archive, scan_id, sheets, is_stray=True, on_wait=self._wait),
                f"Tied C{scan_id} to {_named(list(sheets))}{part}.",
            )

    # -- deeds -------------------------------------------------------------------------------------------------

    def _do(self, deed: Callable[[], Any], words: str) -> None:
        """Do a deed in a thread; after it the next stray comes."""
        is_resting = monotonic() < self._rests_until
        self._rests_until = monotonic() + REST_S
        if self._is_at_work or is_resting:
            self.say("One moment: this is the next scan. Look at it first.")
            return
        self._is_at_work = True
        self.run_worker(lambda: self._in_thread(deed, words), thread=True, group="deed", exit_on_error=True)

    def _in_thread(self, deed: Callable[[], Any], words: str) -> None:
        teller = Teller(self.app)
        try:
            deed()
        except CatalogError as exc:
            teller.tell(self._refused_deed, exc)
            return
        teller.tell(self._done, words)

    def _wait(self, words: str) -> None:
        Teller(self.app).tell(self.say, words)

    def _refused_deed(self, refusal: CatalogError) -> None:
        """Say why nothing was done; the card is read anew, since it may show what is no longer so."""
        self._is_at_work, self._rests_until = False, 0.0
        self.read_rows()
        self.say(str(refusal).splitlines()[0])

    def _done(self, words: str) -> None:
        """Let the next stray come, and say what was done."""
        rows: StrayRows = self._rows
        left = [scan for scan in rows.strays if scan != self.record_id]
        here = self.record_id or 0
        following = next((scan for scan in left if scan > here), left[0] if left else None)
        self._is_at_work, self._rests_until = False, monotonic() + REST_S
        self._go_to(following)
        self.browse.archive_changed()
        count = len(left)
        still = f"{count:,} more wait{'s' * (count == 1)}." if count else "No scan waits any more."
        self.say(f"{words} {still}")


_NO_SHEET = "No sheet is marked: f finds one by number or words."


def _named(sheets: Sequence[int]) -> str:
    return " and ".join(format_reference("sheet", sheet) for sheet in sheets)


def _caption_of_stray(rows: StrayRows) -> list[PageItem]:
    """Return what stands under the stray's picture: file, drive, when it was scanned, what is wrong with it."""
    row = rows.row
    if row is None:
        return []
    scanned = date_told(row.scanned_edtf) if row.scanned_edtf else row.scanned_words or ""
    said = [f"on {row.drive_name}" if row.drive_name else "", f"scanned {scanned}" if scanned else "scanned: not known"]
    items: list[PageItem] = [OneLine(f"C{row.id}  {row.name}", "strong"), OneLine("; ".join(filter(None, said)), "ink")]
    if row.damage or row.state != "present":
        items.append(OneLine(row.damage or row.state, "margin"))
    if row.description:
        items.append(OneLine(f"says: {row.description}", "faint"))
    return [*items, OneLine(row.path, "faint")]


def _caption_of_sheet(frame: FoundFrame) -> list[PageItem]:
    """Return what stands under the picture of a sheet: numbers with their schemes, when, what it shows."""
    numbers = dict.fromkeys(f"{text} ({scheme})" if scheme else text for text, scheme in frame.numbers)
    return [
        OneLine(f"S{frame.id}  {', '.join(numbers) or 'no number'}", "strong"),
        OneLine(_when(frame), "faint" if frame.exposed_edtf is None else "doubt" if is_doubtful(frame) else "ink"),
        OneLine(shown_words(frame) or "shows nothing named", "ink"),
    ]


def _number(frame: FoundFrame) -> str:
    return ", ".join(dict.fromkeys(text for text, _ in frame.numbers)) or "no number"


def _when(frame: FoundFrame) -> str:
    return date_told(frame.exposed_edtf) if frame.exposed_edtf else frame.exposed_words or "undated"


def _page_items(rows: StrayRows, several: dict[int, FoundFrame]) -> list[PageItem]:
    """Return the sheets to choose from: those found by what was typed, else what the stray's own words suggest."""
    if rows.row is None:
        return [Words("No scan waits for a sheet.", "strong"), Words("Esc lays this card back.", "faint")]
    if rows.sheets:
        return [
            Words(f"{rows.row.reference} is of {_named(rows.sheets)} since: it is no stray any more.", "strong"),
            *(LabelledLine(format_reference("sheet", s), "open its sheet", reference=format_reference("sheet", s))
              for s in rows.sheets),
        ]  # fmt: skip
    items: list[PageItem] = []
    if rows.found is not None:
        return [*_found_items(rows.found, several)]
    items.append(Words(f"It waits because {rows.why}.", "faint"))
    if not rows.candidates:
        return [*items, Words("Nothing in its name, its folder or its embedded words suggests a sheet.", "ink"),
                Words("f finds one by number or words.", "faint")]  # fmt: skip
    items.append(Heading("it may be of"))
    for one in rows.candidates:
        off = "a person took it off this sheet" if one.was_taken_off else ""
        items.append(_sheet_item(one.frame, "; ".join(filter(None, (one.why, off))), several))
    return items


def _found_items(found: Found, several: dict[int, FoundFrame]) -> list[PageItem]:
    if not found.frames:
        return [Words(found.words, "margin")]
    items: list[PageItem] = [Heading(found.words), *(_sheet_item(frame, "", several) for frame in found.frames)]
    if found.left_out:
        items += [Space(), Words(f"{found.left_out:,} more are found: more words find fewer.", "faint")]
    return items


def _sheet_item(frame: FoundFrame, why: str, several: dict[int, FoundFrame]) -> LabelledLine:
    count = len(frame.scans)
    has = "no scan yet" if not count else "1 scan already" if count == 1 else f"{count} scans already"
    taken = "✓ " if frame.id in several else ""
    words = "; ".join(filter(None, (_when(frame), shown_words(frame))))
    remark = "; ".join(filter(None, (why, has)))
    return LabelledLine(f"{taken}{_number(frame)}", words, remark, label_width=12, reference=f"S{frame.id}")
