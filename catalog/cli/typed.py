"""What was typed for the commands of the desk, as facts."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Self

import click

from catalog.actions.typed import Typed as _Typed
from catalog.actions.typed import read_aperture as read_aperture
from catalog.actions.typed import read_seconds as read_seconds
from catalog.actions.typed import resolve_plain
from catalog.actions.typed import typed_elevation as typed_elevation
from catalog.actions.typed import typed_subject as typed_subject
from catalog.cli.common import one_line
from catalog.errors import NotFoundError, NumberWordsError, RefusedError

if TYPE_CHECKING:
    from catalog.actions.corrections import SaidBy
    from catalog.store.archive import Archive

source_option = click.option("--source", metavar="SOURCE", help="The source that says so (R2, or its title).")
said_by_option = click.option("--said-by", metavar="PERSON", help="Who says so (N3, or a name).")


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
