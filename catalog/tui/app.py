"""The program of ``tiebeam browse``: which card lies on top, and what happens to the archive meanwhile."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import App
from textual.binding import Binding, BindingType

from catalog.errors import CatalogError
from catalog.store.changes import ChangeWatch
from catalog.tui import look
from catalog.tui.keys import key_name, silent
from catalog.tui.screens import card_of
from catalog.tui.screens.card import CardScreen
from catalog.tui.telling import Teller
from catalog.tui.terminal import Terminal
from catalog.tui.undoing import Undoing

if TYPE_CHECKING:
    from catalog.store.archive import Archive
    from catalog.store.desk import WaitingRow
    from catalog.store.frame_runs import FrameRun
    from catalog.tui.screens.beside_card import Chosen
    from catalog.tui.screens.two_frames_card import Laid

LOOK_EVERY_S = 1.0
"""How often the program looks whether another one changed the archive."""
MOST_MARKED_TO_CHOOSE = 100
"""So many marked frames are listed where one of them is to be chosen."""
MOST_CARDS = 60
"""So many cards are kept to go back through; the oldest are put away."""


class BrowseApp(App[None], inherit_bindings=False):
    """The card index of one archive, opened at a card; ``said`` is what has to be said first."""

    CSS = look.CSS
    ENABLE_COMMAND_PALETTE = False
    TITLE = "Tiebeam"
    BINDINGS: ClassVar[list[BindingType]] = [silent("ctrl+q,ctrl+c", "leave", priority=True)]

    def __init__(
        self, archive: Archive, reference: str | None = None, *, said: Sequence[str] = (),
        terminal: Terminal | None = None, is_private: bool = False,
    ) -> None:  # fmt: skip
        super().__init__()
        # A thread that reads rows gives way sooner: a key is then answered while it goes on.
        sys.setswitchinterval(0.0005)
        self.animation_level = "none"
        self.archive = archive
        self.changes = 0
        """How often the archive changed since the program was opened."""
        self.terminal = terminal or Terminal()
        self.is_private = is_private
        """Whether the names of those who have prints, and prices, are shown."""
        self.sidecar_findings: tuple[WaitingRow, ...] | None = None
        """What was found when the sidecars were looked through; ``None`` when nobody did."""
        self._reference = reference
        self._to_say = list(said)
        self.undoing = Undoing(self)
        self.last_sheet: int | None = None
        """The sheet whose card was looked at last: lists put their mark there."""
        self._watch: ChangeWatch | None = None
        self.register_theme(look.DARK)
        self.register_theme(look.LIGHT)
        self.theme = look.DARK.name if self.terminal.is_dark else look.LIGHT.name

    def on_mount(self) -> None:
        """Lay the first card on the desk."""
        self._lay_on_top(card_of(self._reference))
        for words in self._to_say:
            self.call_after_refresh(self.say, words)
        self.set_interval(LOOK_EVERY_S, self.look_for_changes)

    def on_unmount(self) -> None:
        """Close what watched the archive."""
        if self._watch is not None:
            self._watch.close()

    @property
    def card(self) -> CardScreen | None:
        """The card on top, or the one below the slip that lists the keys."""
        return next((screen for screen in reversed(self.screen_stack) if isinstance(screen, CardScreen)), None)

    def say(self, words: str) -> None:
        """Say something in the line below the card on top."""
        if self.card is not None:
            self.card.say(words)

    def _lay_on_top(self, card: CardScreen) -> None:
        self.push_screen(card)
        cards = [screen for screen in self.screen_stack if isinstance(screen, CardScreen)]
        if len(cards) > MOST_CARDS:
            oldest = cards[0]
            self._screen_stack.remove(oldest)
            oldest.remove()

    # -- going about -------------------------------------------------------------------------------------------

    def open_card(self, reference: str | None, run: FrameRun | None = None, choose: str | None = None) -> None:
        """Lay the card of a record on top; ``None`` is the first guide card. The mark goes to ``choose``."""
        card = card_of(reference, run)
        card._choose = choose
        self._lay_on_top(card)

    def open_frames(self, question_of: str | None) -> None:
        """Lay the run of a place's frames on top; ``None`` is every frame of the archive."""
        from catalog.tui.screens.frames_card import FramesCardScreen

        self._lay_on_top(FramesCardScreen(question_of))

    def open_stray(self, scan_id: int) -> None:
        """Lay the card of a scan that belongs to no sheet yet on top, to tie it to one."""
        from catalog.tui.screens.stray_card import StrayCardScreen

        self._lay_on_top(StrayCardScreen("stray", scan_id))

    def open_pile(self, kind: str) -> None:
        """Lay the list of what waits of one kind on top."""
        from catalog.tui.screens.waiting_card import WaitingCardScreen

        self._lay_on_top(WaitingCardScreen(kind))

    def choose_beside(
        self, sheet_id: int, run: FrameRun | None, *, marked: Sequence[int] = (), chosen: Chosen | None = None
    ) -> None:
        """Lay the card on top on which one chooses the frame to lay beside a sheet; ``chosen`` is told which."""
        from catalog.tui.screens.beside_card import BesideCardScreen

        self._lay_on_top(BesideCardScreen(sheet_id, run, marked=marked, chosen=chosen))

    def open_two_frames(self, left: Laid, right: Laid) -> None:
        """Lay two frames beside each other on top."""
        from catalog.tui.screens.two_frames_card import TwoFramesScreen

        self._lay_on_top(TwoFramesScreen(left, right))

    def open_beside(self, sheet_id: int | None, run: FrameRun | None) -> None:
        """
        Lay another frame beside a sheet: the other one of two that are marked in the list below, else one to choose.

        Without a sheet the two that are marked are laid beside each other.
        """
        marked, of = self._marked_below()
        if len(marked) == 2 and of is not None and sheet_id in (None, *marked):
            self.open_two_frames((marked[0], of), (marked[1], of))
        elif sheet_id is not None:
            self.choose_beside(sheet_id, run, marked=marked[:MOST_MARKED_TO_CHOOSE])

    def _marked_below(self) -> tuple[list[int], FrameRun | None]:
        """Return the sheets that are marked in the nearest list, in its order, and its run."""
        from catalog.tui.screens.frame_list import FrameListScreen

        nearest = next((screen for screen in reversed(self.screen_stack) if isinstance(screen, FrameListScreen)), None)
        if nearest is None or not nearest.marked:
            return [], None
        run = nearest.run
        in_list = [int(sheet) for sheet in run.ids if sheet in nearest.marked] if run is not None else []
        return [*in_list, *sorted(nearest.marked.difference(in_list))], run

    def open_fields(self, table: str, record_id: int, choose: str | None = None) -> None:
        """Lay a record's card on top to be written on, the mark at the field that names ``choose``."""
        from catalog.tui.screens.fields_card import FieldsCardScreen

        card = FieldsCardScreen(table, record_id)
        card._choose = choose
        self._lay_on_top(card)

    def open_fields_of(self, sheet_ids: Sequence[int]) -> None:
        """Lay the fields of several frames on top, to write one for all of them."""
        from catalog.tui.screens.several_card import SeveralCardScreen

        self._lay_on_top(SeveralCardScreen(sheet_ids))

    def open_find(self, **asked: str) -> None:
        """Lay the card on which frames are found on top, its fields filled with ``asked``."""
        from catalog.tui.screens.find_card import FindCardScreen

        self._lay_on_top(FindCardScreen(asked))

    def lay_back(self) -> None:
        """Lay the card on top back; the last one stays."""
        if len([screen for screen in self.screen_stack if isinstance(screen, CardScreen)]) > 1:
            self.pop_screen()
        else:
            self.say("This is the only card on the desk: q leaves, g goes to the guide card before it.")

    def show_keys(self) -> None:
        """List what can be done with the card on top."""
        from catalog.tui.screens.keys_here import KeysHere

        self.push_screen(KeysHere(self.keys_here()), self._press_below)

    def _press_below(self, pressed: events.Key | None) -> None:
        """Let the card answer a key that was pressed while its keys were listed."""
        if pressed is not None:
            self.post_message(events.Key(pressed.key, pressed.character))

    def keys_here(self) -> list[tuple[str, str]]:
        """Return every key that does something here, and what, nearest first; a key's second names are left out."""
        found: dict[str, tuple[str, str]] = {}
        for _, binding, enabled, _ in self.screen.active_bindings.values():
            if binding.show and binding.description and enabled:
                found.setdefault(binding.description, (self._key_names(binding), binding.description))
        return list(found.values())

    @staticmethod
    def _key_names(binding: Binding) -> str:
        return " ".join(key_name(part) for part in (binding.key_display or binding.key).split(","))

    def change_private(self) -> None:
        """Show the names of those who have prints, and prices, or hide them; every card is read anew for it."""
        self.is_private = not self.is_private
        self.archive_changed()
        shown = "are shown until n is pressed again" if self.is_private else "are hidden"
        self.say(f"Names and prices {shown}.")

    def change_light(self) -> None:
        """Change between the dark and the light desk."""
        self.theme = look.LIGHT.name if self.theme == look.DARK.name else look.DARK.name

    def action_leave(self) -> None:
        """Leave the program."""
        self.exit()

    # -- what others do meanwhile ------------------------------------------------------------------------------

    def look_for_changes(self) -> None:
        """Look, in a thread, whether the archive changed; the card on top is then read anew."""
        self.run_worker(self._look, thread=True, exclusive=False, group="watch", exit_on_error=True)

    def _look(self) -> None:
        teller = Teller(self)
        try:
            if self._watch is None:
                self._watch = ChangeWatch(self.archive)
            has_changed = self._watch.has_changed()
        except CatalogError as exc:
            teller.tell(self.say, str(exc).splitlines()[0])
            return
        if has_changed:
            teller.tell(self.archive_changed)

    def archive_changed(self) -> None:
        """Read the card on top anew; the others follow when they come up again."""
        self.changes += 1
        if self.card is not None:
            self.card.read_rows()
