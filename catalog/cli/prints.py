"""``tiebeam prints``: pulling and signing them, what happens to them, where they are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli._ledger_entries import ENTRIES, entry_command
from catalog.cli._print_reading import COMMANDS as READING
from catalog.cli._print_words import (
    date_option,
    knowing_option,
    print_prints,
    private_option,
    typed_knowing,
    typed_prints,
)
from catalog.cli._resale_right import resale_right
from catalog.cli.common import archive_option, csv_option, json_option
from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.typed import typed_id
from catalog.cli.typed_dates import typed_date
from catalog.errors import RefusedError
from catalog.rules.ledger_kinds import PRINT_STATES

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.model import RecordedDate
    from catalog.store.archive import Archive


@click.group()
def prints() -> None:
    """Prints: pulled, signed, and what happens to them. A print is named P88, or E3 7/15."""


def _said_of_print(command: Command) -> Command:
    for option in (
        click.option("--markings", metavar="WORDS", help="What is on the back of an old print, word for word."),
        click.option("--by", metavar="PERSON", help="Who pulled it, if not you."),
        click.option("--intent", metavar="WORDS", help="The rendering intent."),
        click.option("--profile", metavar="WORDS"),
        click.option("--printer", metavar="WORDS"),
        click.option("--inks", metavar="WORDS"),
        click.option("--paper", metavar="WORDS"),
        click.option("--paper-size", metavar="WORDS"),
        click.option("--image-size", metavar="WORDS"),
        click.option("--process", metavar="WORDS", help="Contact, enlargement, pigment ..."),
        click.option("--version", metavar="VERSION", help="The edit version it is made from (W3)."),
        click.option("--scan", metavar="SCAN", help="The scan it is made from (C3)."),
        click.option("--sheet", metavar="SHEET"),
    ):
        command = option(command)
    return deed_options(command)


_TEXTS = ("process", "image_size", "paper_size", "paper", "inks", "printer", "profile", "markings")
_RECORDS = (("sheet", "sheet_id", "sheet"), ("scan", "scan_id", "scan"), ("version", "version_id", "edit_version"),
            ("by", "pulled_by_id", "person"))  # fmt: skip


def _facts(archive: Archive, typed: dict[str, str | None]) -> dict[str, Any]:
    """Return what was said of a print, by field; an empty text takes a fact away."""
    facts: dict[str, Any] = {name: typed[name].strip() or None for name in _TEXTS if typed.get(name) is not None}  # type: ignore[union-attr]
    intent = typed.get("intent")
    if intent is not None:
        facts["rendering_intent"] = intent.strip() or None
    for option, field, table in _RECORDS:
        text = typed.get(option)
        if text is not None:
            facts[field] = typed_id(archive, text, table) if text.strip() else None
    return facts


def _date(archive: Archive, text: str | None) -> RecordedDate:
    from catalog.model import RecordedDate

    return typed_date(archive, text) if text else RecordedDate()


@prints.command()
@click.argument("what", metavar="EDITION [NUMBER]", nargs=-1)
@click.option("--count", type=click.IntRange(1, 1000), default=1, metavar="N", help="How many.")
@click.option("--size", metavar="NAME", help="The size, where the edition has several.")
@click.option("--view", metavar="VIEW", help="For a print without a number: the view it shows.")
@date_option
@knowing_option
@_said_of_print
def pull(
    archive: Archive, *, what: tuple[str, ...], count: int, size: str | None, view: str | None, date: str | None,
    knowing: tuple[str, ...], dry_run: bool, **typed: str | None,
) -> None:  # fmt: skip
    """
    Pull prints of an edition: E3 gives the next number, E3 7/15 that one, E3 AP the next artist's proof.

    Without an edition it writes down a print that has no number, of a --sheet or a --view.
    """
    from catalog.actions.prints import pull_prints, pull_unnumbered
    from catalog.store.print_names import resolve_place

    pulled, facts, desk = _date(archive, date), _facts(archive, typed), desk_for(dry_run)
    if not what:
        if size is not None or count != 1:
            raise RefusedError("A print without a number has no size of an edition and is written down singly.")
        if view is not None:
            facts["view_id"] = typed_id(archive, view, "view")
        pull_unnumbered(archive, pulled=pulled, knowing=typed_knowing(archive, knowing), desk=desk, **facts)
        return
    if view is not None:
        raise RefusedError("A print of an edition shows the edition's view; leave --view out.")
    with archive.reading() as connection:
        run_id, series, ordinal = resolve_place(connection, " ".join(what))
    if size is not None:
        facts["size_id"] = _size_id(archive, run_id, size)
    pull_prints(
        archive, run_id, series=series, ordinal=ordinal, count=count, pulled=pulled,
        knowing=typed_knowing(archive, knowing), desk=desk, **facts,
    )  # fmt: skip


def _size_id(archive: Archive, run_id: int, name: str) -> int:
    with archive.reading() as connection:
        sizes = connection.execute("SELECT id, name FROM size WHERE run_id = ?", (run_id,)).fetchall()
    found = [row[0] for row in sizes if row[1].casefold() == name.strip().casefold()]
    if not found:
        raise RefusedError(f"There is no size {name!r} here; there are: {', '.join(row[1] for row in sizes)}.")
    return int(found[0])


@prints.command()
@click.argument("names", metavar="PRINT...", nargs=-1, required=True)
@click.option("--where", metavar="WORDS", help="Where on the print: verso, lower right.")
@click.option("--with", "with_", metavar="WORDS", help="With what: pencil.")
@click.option("--estate-stamp", is_flag=True, default=None, help="A stamp of the estate, not a hand.")
@click.option("--by", metavar="PERSON", help="Who signed, if not you.")
@date_option
@deed_options
def sign(
    archive: Archive, *, names: tuple[str, ...], where: str | None, with_: str | None, estate_stamp: bool | None,
    by: str | None, date: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Write down that prints were signed, each in a deed of its own."""
    from catalog.actions.print_facts import Signature, sign_print

    person_id = typed_id(archive, by, "person") if by else None
    for print_id in typed_prints(archive, names):
        sign_print(
            archive, print_id, Signature(where, with_, estate_stamp), date=_date(archive, date), person_id=person_id,
            desk=desk_for(dry_run),
        )  # fmt: skip


@prints.command()
@click.argument("name", metavar="PRINT", nargs=-1, required=True)
@click.option("--proof", metavar="WORDS", required=True, help="What proves the end of the first print.")
@click.option("--pulled", metavar="DATE", help="When the new print was pulled.")
@date_option
@knowing_option
@_said_of_print
def replace(
    archive: Archive, *, name: tuple[str, ...], proof: str, pulled: str | None, date: str | None,
    knowing: tuple[str, ...], dry_run: bool, **typed: str | None,
) -> None:  # fmt: skip
    """Pull a print in the place of one that was destroyed, spoiled, lost or stolen; it carries the same number."""
    from catalog.actions.prints import replace_print

    print_id = _one(archive, name)
    replace_print(
        archive, print_id, proof=proof, pulled=_date(archive, pulled), date=_date(archive, date),
        knowing=typed_knowing(archive, knowing), desk=desk_for(dry_run), **_facts(archive, typed),
    )  # fmt: skip


def _one(archive: Archive, words: tuple[str, ...]) -> int:
    found = typed_prints(archive, words)
    if len(found) != 1:
        raise RefusedError("Name one print. Nothing was changed.")
    return found[0]


@prints.command()
@click.argument("name", metavar="PRINT", nargs=-1, required=True)
@knowing_option
@_said_of_print
def correct(
    archive: Archive, *, name: tuple[str, ...], knowing: tuple[str, ...], dry_run: bool, **typed: str | None
) -> None:
    """Correct what is said of a print itself; what happened to it is corrected in its ledger (correct-entry)."""
    from catalog.actions.print_facts import describe_print

    describe_print(
        archive, _one(archive, name), knowing=typed_knowing(archive, knowing), desk=desk_for(dry_run),
        **_facts(archive, typed),
    )  # fmt: skip


@prints.command("correct-entry")
@click.argument("name", metavar="PRINT", nargs=-1, required=True)
@click.option("--entry", type=int, required=True, metavar="N", help="Its number in the ledger of the print.")
@click.option("--why", required=True, metavar="WORDS", help="Why it does not count.")
@deed_options
def correct_entry(archive: Archive, *, name: tuple[str, ...], entry: int, why: str, dry_run: bool) -> None:
    """Take an entry of a print's ledger out of the reckoning; it stays written, with the correction after it."""
    from catalog.actions.ledger import correct_entry
    from catalog.store.ledger import entry_by_number

    print_id = _one(archive, name)
    with archive.reading() as connection:
        entry_id = entry_by_number(connection, print_id, entry)
    correct_entry(archive, entry_id, why=why, desk=desk_for(dry_run))


for _entry in ENTRIES:
    prints.add_command(entry_command(*_entry))
for _reading in READING:
    prints.add_command(_reading)
prints.add_command(resale_right)


# ---- where they are


@prints.command("list")
@click.option("--edition", metavar="EDITION", help="Those of one edition.")
@click.option("--state", type=click.Choice(PRINT_STATES), help="Those in one state.")
@private_option
@archive_option
@json_option
@csv_option
def list_(
    archive: Archive, *, edition: str | None, state: str | None, private: bool, as_json: bool, as_csv: bool
) -> None:  # fmt: skip
    """List the prints with where each is."""
    from catalog.store.prints import list_prints
    from catalog.store.private_words import hiding

    edition_id = typed_id(archive, edition, "edition") if edition else None
    with archive.reading() as connection:
        rows = list(list_prints(connection, edition_id=edition_id, state=state))
    print_prints(rows, hide=hiding(archive, private=private), private=private, as_json=as_json, as_csv=as_csv,
                 empty="No prints. Pull one with: tiebeam prints pull EDITION")  # fmt: skip


@prints.command()
@click.option("--overdue", is_flag=True, help="Only those that should be back by now.")
@private_option
@archive_option
@json_option
@csv_option
def out(archive: Archive, *, overdue: bool, private: bool, as_json: bool, as_csv: bool) -> None:
    """List your prints that are with others and expected back: what, where, since when, due."""
    from catalog import clock
    from catalog.store.prints import prints_out
    from catalog.store.private_words import hiding

    with archive.reading() as connection:
        rows = list(prints_out(connection, overdue_on=clock.today().toordinal() if overdue else None))
    print_prints(rows, hide=hiding(archive, private=private), private=private, as_json=as_json, as_csv=as_csv,
                 totals=True, empty="Nothing is overdue." if overdue else "No print is out.")  # fmt: skip


@prints.command("held-by")
@click.argument("person")
@private_option
@archive_option
@json_option
@csv_option
def held_by(archive: Archive, *, person: str, private: bool, as_json: bool, as_csv: bool) -> None:
    """List every print a PERSON has, who owns it, since when. To have it signed: tiebeam documents held-by."""
    from catalog.store.prints import prints_held_by
    from catalog.store.private_words import hiding

    person_id = typed_id(archive, person, "person")
    with archive.reading() as connection:
        rows = list(prints_held_by(connection, person_id))
    print_prints(
        rows,
        hide=hiding(archive, private=private),
        private=private,
        as_json=as_json,
        as_csv=as_csv,
        totals=True,
        empty="They have no print.",
    )


@prints.command()
@click.argument("name", metavar="PRINT", nargs=-1, required=True)
@private_option
@archive_option
@json_option
def show(archive: Archive, *, name: tuple[str, ...], private: bool, as_json: bool) -> None:
    """Show a print whole, with its ledger."""
    from catalog.cli.show import show_record

    show_record(archive, "print", _one(archive, name), as_json, private=private)
