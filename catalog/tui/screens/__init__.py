"""The cards, one a file, and which record has which."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from catalog.rules.references import TABLES, parse_reference

if TYPE_CHECKING:
    from catalog.store.frame_runs import FrameRun
    from catalog.tui.screens.card import CardScreen

# A card's file is read when its first record is opened. What is not named here has the plain card of any record.
CARDS = {
    "place": "catalog.tui.screens.guide_card:GuideCardScreen",
    "building": "catalog.tui.screens.building_card:BuildingCardScreen",
    "sheet": "catalog.tui.screens.sheet_card:SheetCardScreen",
    "scan": "catalog.tui.screens.scan_card:ScanCardScreen",
    "stray": "catalog.tui.screens.strays_card:StraysCardScreen",
    "edition": "catalog.tui.screens.edition_card:EditionCardScreen",
    "print": "catalog.tui.screens.print_card:PrintCardScreen",
    # These are the card of no record: they are opened by this word in place of a reference.
    "editions": "catalog.tui.screens.editions_card:EditionsCardScreen",
    "desk": "catalog.tui.screens.desk_card:DeskCardScreen",
}
PLAIN_CARD = "catalog.tui.screens.record_card:RecordCardScreen"


def card_of(reference: str | None, run: FrameRun | None = None) -> CardScreen:
    """
    Return the card of a record; ``None`` is the first guide card, that of the whole archive.

    A card of no record is named by its word in CARDS (``desk``, ``editions``). ``run`` is the run of frames that a
    sheet was opened from: its neighbours are one key away.
    """
    table: str
    record_id: int | None
    if reference in CARDS and reference not in TABLES:
        table, record_id = str(reference), None
    else:
        table, record_id = (parse_reference(reference) if reference else None) or ("place", None)
    module, _, name = CARDS.get(table, PLAIN_CARD).partition(":")
    screen: CardScreen = getattr(import_module(module), name)(table, record_id, run)
    return screen
