"""Two frames beside each other on the table: the pictures, what is known of each, and what lies between them."""

from __future__ import annotations

import sqlite3
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from catalog.dates import edtf_in_words
from catalog.rules.between import TimeBetween, between_words
from catalog.rules.doubt import hedged
from catalog.store.frame_runs import FrameRun
from catalog.store.frame_words import film_words, lens_words, shown_words
from catalog.store.record_words import date_words
from catalog.store.trails import Step
from catalog.store.two_frames import FrameBeside, SharedBuilding, TwoFrames, read_two_frames
from catalog.tui.keys import key, silent
from catalog.tui.screens.two_pictures import LEFT, RIGHT, TwoPicturesScreen
from catalog.tui.widgets.page import PageItem
from catalog.tui.widgets.page_items import Heading, LabelledLine, Space, Words, doubtful
from catalog.tui.widgets.picture_side import OneLine, PictureSide, StillPage
from catalog.tui.widgets.said_line import SaidLine

Laid = tuple[int, FrameRun]
"""A sheet that lies on the table, and the run in which one goes on from it."""


class TwoFramesScreen(TwoPicturesScreen):
    """Two sheets beside each other. One of them is at hand: keys step it, open it, lay another in its place."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("right", "step(1)", "step the frame at hand", shown="left,right"),
        silent("left", "step(-1)"),
        key("tab", "other_hand", "take the other one in hand", priority=True),
        key("s", "swap", "swap the two"),
        key("b", "lay_another", "another beside the other one"),
        key("enter", "open", "open the frame at hand"),
        key("p", "other_picture", "its next picture"),
        key("down", "scroll(1)", "scroll what lies between", shown="up,down"),
        silent("up,k", "scroll(-1)"),
        silent("j", "scroll(1)"),
        silent("pagedown", "scroll(10)"),
        silent("pageup", "scroll(-10)"),
    ]
    face_share = 66
    pair_share = 75
    most_caption_rows = 6

    def __init__(self, left: Laid, right: Laid) -> None:
        super().__init__("sheet", left[0])
        self._laid = [left, right]
        self._hand = 1
        self._scan = [0, 0]

    def compose_face(self) -> ComposeResult:
        """Give both frames, and what lies between them."""
        yield from self.compose_pair()
        yield StillPage(id="between")

    def compose_back(self) -> ComposeResult:
        """Give the page on which both are compared."""
        yield StillPage(id="back-page")

    @property
    def reference(self) -> str | None:
        """Both references."""
        return " and ".join(f"S{sheet}" for sheet, _ in self._laid)

    # -- rows --------------------------------------------------------------------------------------------------

    def load(self, connection: sqlite3.Connection) -> TwoFrames:
        """Return the two frames."""
        (left, _), (right, _) = self._laid
        return read_two_frames(connection, left, right, self.archive.about_days)

    def lay_out(self, rows: TwoFrames, choose: str | None) -> tuple[Step, ...]:
        """Show them."""
        self._show_captions(rows)
        self.query_one("#between", StillPage).show(between_items(rows))
        self.query_one("#back-page", StillPage).show(compared_items(rows))
        shared = [
            mine for mine, theirs in zip(rows.left.trail[:-1], rows.right.trail[:-1], strict=False) if mine == theirs
        ]
        return (*shared, Step("", f"{rows.left.number} and {rows.right.number}"))

    def _show_captions(self, rows: TwoFrames) -> None:
        for number, (side, one) in enumerate(((LEFT, rows.left), (RIGHT, rows.right))):
            self.side(side).caption(caption_items(one, is_at_hand=number == self._hand))
        self._say_where()

    def _say_where(self) -> None:
        sheet, run = self._laid[self._hand]
        place = run.place_of(sheet)
        side = ("left", "right")[self._hand]
        where = "" if place is None else f", frame {place + 1:,} of {len(run):,}"
        self.query_one(SaidLine).stand_at(f"{side} at hand{where}")

    def after_rows(self) -> None:
        """Look for both pictures."""
        rows: TwoFrames = self._rows
        for number, (side, one) in enumerate(((LEFT, rows.left), (RIGHT, rows.right))):
            if one.scans:
                self.picture_scan(side, one.scans[self._scan[number] % len(one.scans)])
            else:
                fate = one.frame.fate
                self.picture_words(side, "no scan yet" if fate == "exposed" else f"{fate}; no scan")

    # -- keys --------------------------------------------------------------------------------------------------

    def action_step(self, by: int) -> None:
        """Lay the frame before or after the one at hand in its place."""
        sheet, run = self._laid[self._hand]
        other = self._laid[1 - self._hand][0]
        place = run.place_of(sheet)
        if place is None:
            self.say("This frame was chosen alone: b lays another there.")
            return
        place += by
        if 0 <= place < len(run) and run.ids[place] == other:
            place += by  # it lies on the table already
        if not 0 <= place < len(run):
            self.say("This is the last frame of its run." if by > 0 else "This is the first frame of its run.")
            return
        self._lay(int(run.ids[place]), run)

    def _lay(self, sheet: int, run: FrameRun) -> None:
        self._laid[self._hand] = (sheet, run)
        self._scan[self._hand] = 0
        self.record_id = self._laid[0][0]
        self.read_rows()

    def action_other_hand(self) -> None:
        """Take the other frame in hand."""
        self._hand = 1 - self._hand
        if self._rows is not None:
            self._show_captions(self._rows)

    def on_picture_side_side_pointed_at(self, event: PictureSide.SidePointedAt) -> None:
        """Take the frame in hand that was pointed at; open its card when it was at hand already."""
        if (event.side == RIGHT) == bool(self._hand):
            self.action_open()
        else:
            self.action_other_hand()

    def action_swap(self) -> None:
        """Swap the two; the one at hand stays at hand."""
        self._laid.reverse()
        self._scan.reverse()
        self._hand = 1 - self._hand
        self.record_id = self._laid[0][0]
        self.read_rows()

    def action_lay_another(self) -> None:
        """Choose another frame in place of the one at hand."""
        sheet, run = self._laid[1 - self._hand]
        self.browse.choose_beside(sheet, run, chosen=self._lay)

    def action_open(self) -> None:
        """Open the card of the frame at hand."""
        sheet, run = self._laid[self._hand]
        self.browse.open_card(f"S{sheet}", run if run.place_of(sheet) is not None else None)

    def action_other_picture(self) -> None:
        """Show the picture of the next scan of the frame at hand."""
        rows: TwoFrames | None = self._rows
        one = None if rows is None else (rows.left, rows.right)[self._hand]
        if one is None or len(one.scans) < 2:
            self.say("This sheet has one scan." if one and one.scans else "This sheet has no scan.")
            return
        self._scan[self._hand] = (self._scan[self._hand] + 1) % len(one.scans)
        self.after_rows()
        self.say(f"C{one.scans[self._scan[self._hand]]}, scan {self._scan[self._hand] + 1} of {len(one.scans)}")

    def action_scroll(self, by: int) -> None:
        """Scroll what lies between, or the back."""
        is_back = self.is_turned and not self.is_wide
        self.query_one("#back-page" if is_back else "#between", StillPage).scroll_relative(y=by, animate=False)

    def action_write(self) -> None:
        """Write on the frame at hand."""
        self.browse.open_fields("sheet", self._laid[self._hand][0])

    def action_guide(self) -> None:
        """Open the guide card that both stand behind, else the first one."""
        rows: TwoFrames | None = self._rows
        trail = self.lay_out(rows, None)[:-1] if rows is not None else ()
        self.browse.open_card(trail[-1].reference if trail else None)


def caption_items(one: FrameBeside, *, is_at_hand: bool) -> list[PageItem]:
    """Return what stands under a frame: number, when, what it shows, where, through which lens."""
    lens = lens_words(one.frame)
    doubted = {field for field, _ in one.frame.doubts}
    lens_role = "doubt" if "lens" in doubted else "ink" if lens else "faint"
    told = f"lens {lens}" + (", doubtful" if "lens" in doubted else "") if lens else "lens not known"
    shows = shown_words(one.frame) or "shows nothing named"
    at = f"at {one.stood_at}" if one.stood_at else ""
    items: list[PageItem] = [
        OneLine(f"{'▸ ' if is_at_hand else '  '}{one.number}", "strong"),
        OneLine(_when(one), "doubt" if one.is_date_doubtful else "ink" if one.date.edtf else "faint"),
        OneLine("; ".join(filter(None, (shows, at))), "doubt" if doubtful(shows) else "ink"),
        OneLine(told, lens_role),
    ]
    items += [
        OneLine(f'{field} written "{as_written}"', "doubt")
        for field, as_written in one.frame.doubts
        if field not in ("lens", "exposed")
    ]
    return [*items, *([OneLine(f"from {one.standpoint}", "faint")] if one.standpoint else [])]


def _when(one: FrameBeside) -> str:
    date = one.date
    if date.edtf:
        return date_words(date)
    return f'undated (written "{date.words}")' if date.words else "undated"


def between_items(rows: TwoFrames) -> list[PageItem]:
    """Return the time between two frames, and what happened to the buildings that both show."""
    items: list[PageItem] = [_time_item(rows)]
    if not rows.buildings:
        return [*items, Words("They show no building in common.", "faint")]
    for building in rows.buildings:
        items += _building_items(building, is_dated=rows.time is not None)
    return items


def _time_item(rows: TwoFrames) -> Words:
    if rows.time is None:
        undated = [one.number for one in (rows.left, rows.right) if one.date.edtf is None]
        verb = "has no date" if len(undated) == 1 else "have no date"
        return Words(f"{' and '.join(undated)} {verb}: the years between them are not known.", "doubt")
    said = _time_words(rows.time, rows.left.number, rows.right.number)
    is_marked = any(one.is_date_doubtful for one in (rows.left, rows.right))
    return Words(said, "doubt" if is_marked or rows.time.is_first_older is None else "strong")


def _time_words(time: TimeBetween, left: str, right: str) -> str:
    if time.most == 0:
        return "Both were exposed on the same day."
    words = between_words(time)
    if time.is_first_older is None:
        return f"Which of them is the older is not known; {words} lie between them."
    return f"{words[0].upper()}{words[1:]} between them; {left if time.is_first_older else right} is the older."


def _building_items(building: SharedBuilding, *, is_dated: bool) -> list[PageItem]:
    name = (
        building.name if building.certainty == "certain" else f"both show {hedged(building.name, building.certainty)}"
    )
    items: list[PageItem] = [Heading(f"{name}, meanwhile")]
    if not is_dated:
        return [*items, Words("What of its chronicle lies between them cannot be told without both dates.", "faint")]
    for entry in building.entries:
        perhaps = "" if entry.is_sure else "may lie between them or not"
        items.append(LabelledLine(edtf_in_words(entry.date.edtf), entry.words.rstrip("."), perhaps,
                                  remark_role="doubt", label_width=21))  # fmt: skip
    if not building.entries:
        items.append(Words("Its chronicle has nothing between them.", "ink"))
    if building.undated:
        count = building.undated
        have = "1 entry of its chronicle has" if count == 1 else f"{count} entries of its chronicle have"
        items.append(Words(f"{have} no date, and may lie anywhere.", "doubt"))
    return items


def compared_items(rows: TwoFrames) -> list[PageItem]:
    """Return the back: fact by fact, first of the one, then of the other."""
    items: list[PageItem] = []
    for one in (rows.left, rows.right):
        frame = one.frame
        facts = [
            ("exposed", _when(one)), ("shows", shown_words(frame)),
            ("at", one.stood_at), ("taken from", one.standpoint), ("lens", lens_words(frame, in_full=True)),
            ("film", film_words(frame)), ("fate", frame.fate if frame.fate != "exposed" else ""),
            ("scans", ", ".join(f"C{scan}" for scan in one.scans) or "none"),
        ]  # fmt: skip
        items += [Space()] if items else []
        items.append(Heading(f"{one.number}  S{frame.id}"))
        items += [LabelledLine(label, words) for label, words in facts if words]
        items += [Words(f'{field} written "{as_written}"', "doubt") for field, as_written in frame.doubts]
    return items
