"""What the commands of the desk share: the options of a deed, and what was typed for the others as facts."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Self

import click

from catalog.actions.typed import Typed as _Typed
from catalog.actions.typed import read_aperture as read_aperture
from catalog.actions.typed import read_seconds as read_seconds
from catalog.actions.typed import resolve_plain
from catalog.actions.typed import typed_elevation as typed_elevation
from catalog.actions.typed import typed_subject as typed_subject
from catalog.cli.common import archive_option, dry_run_option, one_line, say_waiting
from catalog.errors import NotFoundError, NumberWordsError, RefusedError

if TYPE_CHECKING:
    from catalog.actions.corrections import SaidBy
    from catalog.actions.desk import Desk
    from catalog.store.archive import Archive

Command = Callable[..., Any]
source_option = click.option("--source", metavar="SOURCE", help="The source that says so (R2, or its title).")
said_by_option = click.option("--said-by", metavar="PERSON", help="Who says so (N3, or a name).")


def deed_options(command: Command) -> Command:
    """Give a command what every deed by hand has: the archive and ``--dry-run``."""
    return archive_option(dry_run_option(command))


def desk_for(dry_run: bool = False) -> Desk:
    """Return the desk of a command: it tells what was done, or would be."""
    from catalog.actions.desk import Desk

    def say(words: str) -> None:
        told = one_line(words)
        click.echo(f"Nothing was changed. This would be done: {told}." if dry_run else f"{told[:1].upper()}{told[1:]}.")

    return Desk(dry_run=dry_run, say=say, on_wait=say_waiting)


class Typed(_Typed):
    """The facts a command was given; words that should say a number and do not are misuse of the command line."""

    def measure(self, field: str, text: str | None, read: Callable[[str], float] | None = None) -> Self:
        """Take a number, with its doubt."""
        try:
            super().measure(field, text, read)
        except NumberWordsError as exc:
            raise click.BadParameter(str(exc)) from exc
        return self


def typed_origin(archive: Archive, source: str | None, said_by: str | None) -> SaidBy:
    """Return what a statement rests on: a source, a person, or neither (the person at the desk)."""
    from catalog.actions.corrections import SaidBy

    with archive.reading() as connection:
        return SaidBy(
            resolve_plain(connection, source, "source") if source else None,
            resolve_plain(connection, said_by, "person") if said_by else None,
        )


def typed_id(archive: Archive, text: str, table: str) -> int:
    """Return the one record of ``table`` that was typed."""
    with archive.reading() as connection:
        return resolve_plain(connection, text, table)


def choose_part(archive: Archive, table: str, owner_id: int, number: int | None, what: str) -> int:
    """
    Return the number of the part meant: the one given, else the only one there is.

    Raises:
        NotFoundError: there is no such part.
        RefusedError: none was named and there are several; they are listed.
    """
    from catalog.store.parts import list_parts

    with archive.reading() as connection:
        parts = list_parts(connection, table, owner_id)
    if not parts:
        raise NotFoundError(f"There is no {what} yet to correct.")
    listed = "\n".join(f"  {part:<5} {one_line(words)}" for part, words in parts)
    if number is None and len(parts) == 1:
        return parts[0][0]
    if number is None:
        raise RefusedError(f"Say which {what} by its number:\n{listed}")
    if number not in {part for part, _ in parts}:
        raise NotFoundError(f"There is no {what} {number} here; there are:\n{listed}")
    return number
