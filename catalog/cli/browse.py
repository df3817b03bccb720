"""``tiebeam browse``: the archive as a card index on the screen."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from catalog.cli.common import archive_to_read_option
from catalog.errors import ArchiveBusyError, RefusedError

if TYPE_CHECKING:
    import sqlite3

    from catalog.store.archive import Archive


@click.command(short_help="Move through the archive card by card.")
@click.argument("what", required=False, metavar="[REFERENCE|PLACE]")
@click.option("--private", is_flag=True, help="Begin with names of persons and prices shown; the key n hides them.")
@archive_to_read_option
def browse(archive: Archive, *, what: str | None, private: bool) -> None:
    """
    Move through the archive as through a card index, one card at a time.

    It opens at the first guide card, or at the record that is named: by reference (S412, B7), by a number written
    for a sheet, or by name. The key ? lists what can be done with the card that lies open.
    """
    if not _has_terminal():
        raise RefusedError("The cards need a terminal. Piped, use: tiebeam find, tiebeam show")
    reference, said = _first_card(archive, what)
    _open(archive, reference, said, is_private=private)


def _has_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _open(archive: Archive, reference: str | None, said: list[str], *, is_private: bool = False) -> None:
    """Lay the card on the desk; the terminal is asked what it can do before the screens take it over."""
    from catalog.tui.terminal import ask_terminal

    terminal = ask_terminal()
    from catalog.tui.app import BrowseApp

    BrowseApp(archive, reference, said=said, terminal=terminal, is_private=is_private).run()


def _first_card(archive: Archive, what: str | None) -> tuple[str | None, list[str]]:
    """
    Return the card to open at, and what has to be said first.

    A catalogue that is locked just now is opened all the same: its card says so, and is read when it is free.
    """
    from catalog.store.archive import has_deeds_under_way

    try:
        with archive.reading() as connection:
            is_left = has_deeds_under_way(connection)
            reference = _referred(connection, what) if what else None
    except ArchiveBusyError:
        return what, []
    if not is_left:
        return reference, []
    from catalog.store.interrupted import settle_interrupted

    return reference, list(settle_interrupted(archive))


def _referred(connection: sqlite3.Connection, what: str) -> str:
    from catalog.rules.references import format_reference
    from catalog.store.show import identify

    return format_reference(*identify(connection, what))
