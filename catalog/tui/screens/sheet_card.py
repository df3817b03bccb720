"""A sheet's card."""

from __future__ import annotations

from catalog.tui.screens.record_card import RecordCardScreen


class SheetCardScreen(RecordCardScreen):
    """The card of a sheet."""
