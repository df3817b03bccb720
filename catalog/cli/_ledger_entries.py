"""The commands that write one kind of entry each: what each asks for follows from the table of kinds."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli._print_words import date_option, say_warnings, typed_money, typed_subjects
from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.typed import typed_id
from catalog.cli.typed_dates import typed_date
from catalog.rules.ledger_kinds import KINDS

if TYPE_CHECKING:
    from catalog.store.archive import Archive

# Verb, kind, the option that names the person, and the line of help.
ENTRIES = (
    ("promise", "promised", "--to", "Promise prints, or numbers that were not pulled yet, to a person."),
    ("reserve", "reserved", "--to", "Reserve prints or numbers for a person until a day."),
    ("release", "released", "--from", "Give a promise or a reservation up: they are free again."),
    ("drawer", "drawer", None, "Say in which drawer or box prints lie."),
    ("frame", "framed", "--by", "Write down that prints were framed."),
    ("consign", "consigned", "--to", "Consign prints to a gallery."),
    ("lend", "lent", "--to", "Lend prints."),
    ("exhibit", "shown", "--with", "Write down that prints are on show at a place."),
    ("commission", "commission", "--to", "Write down a commission that a person gets on prints."),
    ("sell", "sold", "--to", "Sell prints."),
    ("buy-back", "bought back", "--from", "Buy prints back from their owner."),
    ("give", "given", "--to", "Give prints away."),
    ("return", "returned", "--from", "Write down that prints came back."),
    ("lose", "lost", "--with", "Write down that prints are lost."),
    ("steal", "stolen", "--with", "Write down that prints were stolen."),
    ("find", "found", "--with", "Write down that lost or stolen prints were found."),
    ("damage", "damaged", "--by", "Write down damage to prints, in words."),
    ("report", "condition report", "--by", "Write down a report of the condition of prints."),
    ("spoil", "spoiled", "--by", "Write down that prints were spoiled in the making, and why."),
    ("destroy", "destroyed", "--with", "Write down that prints were destroyed, and what proves it."),
)
_OPTIONS: dict[str, dict[str, Any]] = {
    "place": {"metavar": "WORDS", "help": "Where."},
    "price": {"metavar": "AMOUNT", "help": "Price, or agreed value: 600 EUR."},
    "due": {"metavar": "DATE", "help": "Until when."},
    "from": {"metavar": "PERSON", "help": "Who passed it on, if that was its owner and not you."},
}
_NAMES = {"place": "--at", "price": "--price", "due": "--until", "from": "--by"}


def entry_command(verb: str, kind_word: str, person: str | None, words: str) -> click.Command:
    """Return the command that writes entries of one kind on the prints named."""
    kind = KINDS[kind_word]
    known = (*kind.needs, *kind.may)

    def write(archive: Archive, *, prints: tuple[str, ...], dry_run: bool, **typed: str | None) -> None:
        _write(archive, kind_word, prints, typed, dry_run)

    command: Any = deed_options(write)
    command = click.option("--document", metavar="DOCUMENT", help="The document that goes with it (A12).")(command)
    command = click.option("--words", metavar="WORDS", required="words" in kind.needs, help="In words.")(command)
    command = date_option(command)
    for part in ("from", "due", "price", "place"):
        if part in known:
            command = click.option(
                _NAMES[part], f"{part}_", required=part in kind.needs, **_OPTIONS[part]
            )(command)  # fmt: skip
    if person is not None and "person" in known:
        command = click.option(
            person, "person", metavar="PERSON", required="person" in kind.needs, help="By reference or name."
        )(command)  # fmt: skip
    command = click.argument("prints", metavar="PRINT...", nargs=-1, required=True)(command)
    return click.command(verb, help=words, short_help=words)(command)


def _write(
    archive: Archive, kind: str, prints: tuple[str, ...], typed: dict[str, str | None], dry_run: bool
) -> None:  # fmt: skip
    from catalog.actions.ledger import EntryFacts, write_in_ledger
    from catalog.model import RecordedDate

    person, seller, date, due = (typed.get(name) for name in ("person", "from_", "date", "due_"))
    document = typed.get("document")
    facts = EntryFacts(
        date=typed_date(archive, date) if date else RecordedDate(),
        person_id=typed_id(archive, person, "person") if person else None,
        from_id=typed_id(archive, seller, "person") if seller else None,
        place=(typed.get("place_") or "").strip() or None,
        price=typed_money(archive, typed.get("price_")),
        due=typed_date(archive, due) if due else RecordedDate(),
        document_id=typed_id(archive, document, "document") if document else None,
        words=(typed.get("words") or "").strip() or None,
    )
    written = write_in_ledger(archive, kind, typed_subjects(archive, prints), facts, desk=desk_for(dry_run))
    say_warnings(written.warnings)
