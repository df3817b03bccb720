"""What every card shares: its two sides, its line of place, reading its rows, noticing that they changed."""

from __future__ import annotations

import sqlite3
from abc import abstractmethod
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.css.query import NoMatches
from textual.screen import Screen
from textual.widget import Widget

from catalog.errors import CatalogError
from catalog.rules.references import SHOWN, format_reference
from catalog.store.trails import Step
from catalog.tui.keys import key, silent
from catalog.tui.telling import Teller
from catalog.tui.widgets.card_list import CardList
from catalog.tui.widgets.page import Page
from catalog.tui.widgets.page_items import Words
from catalog.tui.widgets.place_line import PlaceLine
from catalog.tui.widgets.said_line import SaidLine

if TYPE_CHECKING:
    from catalog.store.archive import Archive
    from catalog.store.frame_runs import FrameRun
    from catalog.tui.app import BrowseApp

WIDE = 120
"""From this width on both sides of a card lie open."""
LEAST_WIDTH, LEAST_HEIGHT = 44, 12


class CardScreen(Screen[None]):
    """
    A card. A subclass reads its rows (``load``, in a thread) and lays them out (``lay_out``).

    ``face_share`` is how much of a wide terminal the face takes, in hundredths.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        key("space", "turn", "turn the card over"),
        key("escape", "back", "lay this card back"),
        silent("backspace", "back"),
        key("g", "guide", "to its guide card"),
        key("f", "find", "find frames"),
        key("d", "desk", "the desk: what waits"),
        key("e", "editions", "the editions"),
        key("n", "names", "names and prices, or not"),
        key("w", "write", "write on the card"),
        key("u", "undo", "take the last deed back"),
        key("r", "read_anew", "read the card anew"),
        key("l", "light", "lighter or darker desk"),
        key("question_mark", "keys", "what can be done here"),
        silent("f1", "keys"),
        key("q", "leave", "leave"),
    ]
    face_share: ClassVar[int] = 60
    has_back: ClassVar[bool] = True

    def __init__(self, table: str, record_id: int | None, run: FrameRun | None = None) -> None:
        super().__init__()
        self.table, self.record_id, self.run = table, record_id, run
        self.is_turned = False
        self._rows: Any = None
        self._seen = -1
        self._choose: str | None = None
        self._is_broken_off = False
        self._reading: dict[str, sqlite3.Connection] = {}

    @property
    def archive(self) -> Archive:
        """The archive that lies open."""
        return self.browse.archive

    @property
    def browse(self) -> BrowseApp:
        """The program."""
        return cast("BrowseApp", self.app)

    @property
    def reference(self) -> str | None:
        """The reference of the record on this card; ``None`` for the first guide card."""
        return None if self.record_id is None else format_reference(self.table, self.record_id)

    # -- laying out --------------------------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        """Lay the card on the desk."""
        yield PlaceLine(id="place")
        with Horizontal(id="sides"):
            with Vertical(id="face", classes="card"):
                yield from self.compose_face()
            with Vertical(id="back", classes="card"):
                yield from self.compose_back()
        yield SaidLine(id="said")
        yield NoRoom(id="no-room")

    def compose_face(self) -> ComposeResult:
        """Give what the face is made of."""
        yield Page(id="face-page")

    def compose_back(self) -> ComposeResult:
        """Give what the back is made of."""
        yield Page(id="back-page")

    def on_mount(self) -> None:
        """Read the rows for the first time."""
        self._arrange()
        self.read_rows()

    def on_resize(self, event: events.Resize) -> None:
        """Lay both sides open, or one, or say that there is no room."""
        self._arrange(event.size.width, event.size.height)

    @property
    def is_wide(self) -> bool:
        """Whether both sides lie open."""
        return self.has_back and self.app.size.width >= WIDE

    def _arrange(self, width: int | None = None, height: int | None = None) -> None:
        width = self.app.size.width if width is None else width
        height = self.app.size.height if height is None else height
        is_small = width < LEAST_WIDTH or height < LEAST_HEIGHT
        self.set_class(is_small, "-small")
        is_wide = self.has_back and width >= WIDE
        face, back, place = self.query_one("#face"), self.query_one("#back"), self.query_one(PlaceLine)
        face.display = is_wide or not self.is_turned
        back.display = is_wide or (self.has_back and self.is_turned)
        share = width * self.face_share // 100
        face.styles.width = share if is_wide else "1fr"
        back.styles.margin = (0, 0, 0, 1) if is_wide else 0
        place.show_sides(split=share if is_wide else None, is_turned=self.is_turned and not is_wide)
        if not is_small:
            self._focus_side()

    def _focus_side(self) -> None:
        focused = self.focused
        if focused is not None and focused.is_on_screen and focused.display and self._is_shown(focused):
            return
        side = self.query_one("#back" if self.is_turned else "#face")
        for widget in side.query("*"):
            if widget.focusable:
                self.set_focus(widget)
                return

    def _is_shown(self, widget: Widget) -> bool:
        return all(node.display for node in widget.ancestors_with_self if isinstance(node, Widget))

    # -- rows --------------------------------------------------------------------------------------------------

    @abstractmethod
    def load(self, connection: sqlite3.Connection) -> Any:
        """Return the rows of the card; called in a thread of its own."""

    @abstractmethod
    def lay_out(self, rows: Any, choose: str | None) -> tuple[Step, ...]:
        """Show rows on the card, the mark at ``choose``; return the guide cards that lead to it, its own last."""

    @contextmanager
    def reading(self, group: str) -> Iterator[sqlite3.Connection]:
        """Give a connection to read with in a worker of ``group``; ``stop_reading`` breaks its statement off."""
        with self.archive.reading() as connection:
            self._reading[group] = connection
            try:
                yield connection
            finally:
                if self._reading.get(group) is connection:
                    del self._reading[group]

    def stop_reading(self, *groups: str) -> bool:
        """Break off what workers of these groups (or of all) are reading; return whether there was anything."""
        stopped = False
        for group in groups or tuple(self._reading):
            connection = self._reading.pop(group, None)
            if connection is not None:
                self.workers.cancel_group(self, group)
                connection.interrupt()
                stopped = True
        return stopped

    def on_screen_suspend(self) -> None:
        """Leave long counts for when this card lies on top again."""
        self._is_broken_off = self.stop_reading()

    def on_unmount(self) -> None:
        """Break off what is still being read."""
        self.stop_reading()

    def read_rows(self, choose: str | None = None) -> None:
        """Read the rows again, in a thread; the mark keeps its place or goes to ``choose``."""
        self.stop_reading("card")
        self._choose = choose or self._choose
        self._seen = self.browse.changes
        self.run_worker(self._read, thread=True, exclusive=True, group="card", exit_on_error=True)

    def _read(self) -> None:
        teller = Teller(self.app)
        try:
            with self.reading("card") as connection:
                rows = self.load(connection)
        except CatalogError as exc:
            teller.tell(self._refused, exc)
            return
        teller.tell(self._arrived, rows)

    def _arrived(self, rows: Any) -> None:
        choose, self._choose = self._choose, None
        if not self.is_attached:  # the card was laid back while its rows were read
            return
        try:
            trail = self.lay_out(rows, choose)
            self.query_one(PlaceLine).show(trail, self.reference or "")
        except NoMatches:  # it is being laid back
            return
        self._rows = rows
        self.after_rows()

    def after_rows(self) -> None:
        """Do what follows once the rows are shown: counts that take long, pictures."""

    def _refused(self, refusal: CatalogError) -> None:
        """Say why the card could not be read; what was shown before stays."""
        if self._rows is None:
            words = [Words(str(refusal)), Words(""), Words("r tries again; q leaves.", "faint")]
            for page in self.query("#face Page").results(Page):
                page.show(words)
            for cards in self.query("#face CardList").results(CardList):
                cards.show(0, above=words)
            self.query_one(PlaceLine).show((Step("", self.archive.settings.archive_name or "archive"),))
        self.say(str(refusal).splitlines()[0])

    def on_screen_resume(self) -> None:
        """Read anew what changed while another card lay on top."""
        if self._is_broken_off or (self._rows is not None and self._seen != self.browse.changes):
            self._is_broken_off = False
            self.read_rows()

    # -- saying ------------------------------------------------------------------------------------------------

    def say(self, words: str) -> None:
        """Say something in the line below the card."""
        self.query_one(SaidLine).say(words)

    def on_page_line_chosen(self, event: Page.LineChosen) -> None:
        """Say where the mark stands on the side that has the keys."""
        if isinstance(self.focused, Page) and self.focused is not event.page:
            return
        where = self.where_words(event)
        if where:
            self.query_one(SaidLine).stand_at(where)

    def where_words(self, event: Page.LineChosen) -> str:
        """Return where the mark stands, in words."""
        return f"{event.number} of {event.count}" if event.count else ""

    def on_key(self, event: events.Key) -> None:
        """End what was said: the next key has been pressed."""
        self.say("")

    # -- keys --------------------------------------------------------------------------------------------------

    def on_page_line_opened(self, event: Page.LineOpened) -> None:
        """Lay the record of that line on top."""
        self.browse.open_card(event.reference)

    def on_place_line_place_opened(self, event: PlaceLine.PlaceOpened) -> None:
        """Lay that guide card on top."""
        self.browse.open_card(event.reference or None)

    def action_turn(self) -> None:
        """Turn the card over; where both sides lie open, go to the other one."""
        if not self.has_back:
            self.say("Nothing stands on the back of this card.")
            return
        self.is_turned = not self.is_turned
        if self.is_wide:
            side = self.query_one("#back" if self.is_turned else "#face")
            target = next((widget for widget in side.query("*") if widget.focusable), None)
            if target is not None:
                self.set_focus(target)
        self._arrange()

    def action_back(self) -> None:
        """Lay this card back."""
        self.browse.lay_back()

    def action_guide(self) -> None:
        """Open the guide card it stands behind; behind the widest place stands the whole archive."""
        trail = self.query_one(PlaceLine).trail
        if self.record_id is None:
            self.say("This is the first card of the drawer.")
        else:
            self.browse.open_card(trail[-2].reference if len(trail) > 1 else None, choose=self.reference)

    def action_find(self) -> None:
        """Open the card on which frames are found."""
        self.browse.open_find()

    def action_desk(self) -> None:
        """Lay the card of what waits on top."""
        self.browse.open_card("desk")

    def action_editions(self) -> None:
        """Lay the list of the editions on top."""
        self.browse.open_card("editions")

    def action_names(self) -> None:
        """Show or hide the names of persons who have prints, and prices."""
        self.browse.change_private()

    def action_write(self) -> None:
        """Lay the card out to be written on, the mark at the field of the line it stands at."""
        if self.record_id is None or self.table not in SHOWN:
            self.say("Nothing is written on this card itself, but on a place, building or frame.")
            return
        pages = [page for page in self.query(Page).results() if page.has_focus and not page.is_at_first]
        chosen = pages[0].chosen if pages else None
        self.browse.open_fields(self.table, self.record_id, choose=chosen)

    def action_undo(self) -> None:
        """Say which deed would be taken back, and ask."""
        self.browse.undoing.ask()

    def action_read_anew(self) -> None:
        """Read the card anew."""
        self.read_rows()
        self.say("Read anew.")

    def action_light(self) -> None:
        """Change between the dark and the light desk."""
        self.browse.change_light()

    def action_keys(self) -> None:
        """List what can be done here."""
        self.browse.show_keys()

    def action_leave(self) -> None:
        """Leave the program."""
        self.app.exit()


class NoRoom(Widget):
    """The words that stand in place of a card where the terminal is too small for one."""

    def render(self) -> Any:
        """Return them."""
        from textual.content import Content

        size = self.app.size
        return Content(
            f"{size.width} x {size.height} is too small for a card: it takes {LEAST_WIDTH} x {LEAST_HEIGHT}.\n"
            "Nothing is lost; make the window larger, or press q to leave."
        )
