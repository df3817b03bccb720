"""``tiebeam editions``: the promises made for views, kept word for word."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import click

from catalog.cli._print_words import (
    knowing_option,
    print_items,
    private_option,
    say_warnings,
    typed_knowing,
    typed_money,
)
from catalog.cli.common import archive_option, csv_option, json_date, json_option
from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.typed import Typed, typed_id
from catalog.cli.typed_dates import typed_date
from catalog.errors import RefusedError
from catalog.rules.editions import ACROSS, CLOSED, EACH, HELD, OPEN, WITHDRAWN
from catalog.rules.print_numbers import FRACTION, PROOFS, SERIAL
from catalog.rules.references import format_reference, parse_reference

if TYPE_CHECKING:
    from catalog.model import RecordedDate
    from catalog.rules.editions import SizePlan
    from catalog.store.archive import Archive
    from catalog.store.editions import EditionRow

_COUNTS = {"across": ACROSS, "each": EACH}
_proofs_option = click.option(
    "--proofs", multiple=True, metavar="KIND=N", help=f"Proofs declared: AP=2. Kinds: {', '.join(PROOFS)}."
)


@click.group()
def editions() -> None:
    """Editions: what was promised of a view, and every later change of rule."""


@editions.command("open")
@click.argument("what", metavar="VIEW|EDITION")
@click.option("--statement", metavar="WORDS", help="The promise, word for word.")
@click.option("--limit", type=int, metavar="N", help="How many numbered prints there may be.")
@click.option("--no-limit", is_flag=True, help="An open edition.")
@click.option("--sizes-count", type=click.Choice(list(_COUNTS)), help="One run across sizes, or a run for each size.")
@click.option("--size", "sizes", multiple=True, metavar="NAME[: IMAGE [on PAPER]]", help="May be given again.")
@click.option("--sheet", "sheets", multiple=True, metavar="SHEET", help="What it is printed from; may be given again.")
@_proofs_option
@click.option("--title", metavar="WORDS")
@click.option("--stated", metavar="DATE", help="The date of the statement.")
@click.option("--published-in", metavar="WORDS", help="Where the statement was published.")
@click.option("--process", metavar="WORDS", help="Pigment, silver gelatin, contact ...")
@click.option("--crop", metavar="WORDS")
@click.option("--planned", is_flag=True, help="Write the plan down; open it later.")
@click.option("--since", metavar="DATE", help="When it was opened, if not on the date of its statement.")
@knowing_option
@deed_options
def open_(archive: Archive, *, what: str, knowing: tuple[str, ...], dry_run: bool, **typed: Any) -> None:
    """
    Open an edition of a VIEW, or an EDITION that was planned or held.

    A view that has an edition already: what was promised is shown first, and asked about.
    """
    known = typed_knowing(archive, knowing)
    if (parse_reference(what) or ("", 0))[0] == "edition":
        _set_state(archive, what, OPEN, typed["since"], None, dry_run, known)
        return
    from catalog.actions.editions import open_edition

    if (typed["limit"] is None) == (not typed["no_limit"]):
        raise RefusedError("Say --limit N, or --no-limit for an open edition. Nothing was changed.")
    if not typed["statement"]:
        raise RefusedError("An edition needs its --statement, word for word. Nothing was changed.")
    view_id = typed_id(archive, what, "view")
    dates = Typed(archive).dates(stated=typed["stated"], since=typed["since"]).facts
    opened = open_edition(
        archive,
        view_id,
        statement=typed["statement"],
        sizes=[_size(text) for text in typed["sizes"] or ("one size",)],
        sizes_count=_COUNTS.get(typed["sizes_count"]),
        limit=typed["limit"],
        sheet_ids=_sheets(archive, view_id, typed["sheets"]),
        proofs=_proofs(typed["proofs"]),
        **{name: typed[name] for name in ("title", "published_in", "process", "crop")},
        is_planned=typed["planned"],
        knowing=known,
        desk=desk_for(dry_run),
        **dates,
    )
    say_warnings(opened.warnings)


def _sheets(archive: Archive, view_id: int, names: tuple[str, ...]) -> list[int]:
    """Return the sheets named, else the only one that holds the view."""
    if names:
        return [typed_id(archive, name, "sheet") for name in names]
    with archive.reading() as connection:
        found = connection.execute("SELECT sheet_id FROM sheet_view WHERE view_id = ? ORDER BY sheet_id", (view_id,))
        sheets = [row[0] for row in found]
    if len(sheets) != 1:
        listed = ", ".join(format_reference("sheet", sheet) for sheet in sheets) or "none"
        raise RefusedError(f"Name the sheets it is printed from with --sheet; the view is on: {listed}.")
    return sheets


_SIZE = re.compile(r"(?P<name>[^:]+?)\s*(?::\s*(?P<image>.+?)\s*(?:\bon\b\s*(?P<paper>.+))?)?")


def _size(text: str) -> SizePlan:
    """Return a size as typed: ``small: 30 x 40 cm on 40 x 50 cm``."""
    from catalog.rules.editions import SizePlan

    found = _SIZE.fullmatch(text.strip())
    if found is None:
        raise click.BadParameter(f"{text!r} is no size: write NAME, or NAME: IMAGE on PAPER.")
    return SizePlan(found["name"], found["image"], found["paper"])


def _proofs(texts: tuple[str, ...]) -> list[tuple[str, int]]:
    found = []
    for text in texts:
        kind, equals, count = text.partition("=")
        if not equals or not count.strip().isdecimal():
            raise click.BadParameter(f"{text!r} declares no proofs: write KIND=N, such as AP=2.")
        found.append((kind.strip().upper(), int(count)))
    return found


def _date(archive: Archive, text: str | None) -> RecordedDate:
    from catalog.model import RecordedDate

    return typed_date(archive, text) if text else RecordedDate()


def _set_state(
    archive: Archive, edition: str, state: str, since: str | None, words: str | None, dry_run: bool,
    knowing: frozenset[int] = frozenset(),
) -> None:  # fmt: skip
    from catalog.actions.editions import set_edition_state

    opened = set_edition_state(
        archive, typed_id(archive, edition, "edition"), state, since=_date(archive, since), words=words or None,
        knowing=knowing, desk=desk_for(dry_run),
    )  # fmt: skip
    say_warnings(opened.warnings)


def _state_command(verb: str, state: str, words: str) -> click.Command:
    @click.command(verb, help=words, short_help=words)
    @click.argument("edition")
    @click.option("--date", metavar="DATE", help="Since when.")
    @click.option("--words", metavar="WORDS", help="Why, in words.")
    @deed_options
    def command(archive: Archive, *, edition: str, date: str | None, words: str | None, dry_run: bool) -> None:
        _set_state(archive, edition, state, date, words, dry_run)

    return command


editions.add_command(_state_command("hold", HELD, "Hold an EDITION: no prints are pulled until it is opened again."))
editions.add_command(_state_command("close", CLOSED, "Close an EDITION for good; refused while promises are open."))
editions.add_command(_state_command("withdraw", WITHDRAWN, "Withdraw an EDITION for good; refused as closing is."))


@editions.command()
@click.argument("edition")
@click.option("--words", required=True, metavar="WORDS", help="The new rule, word for word.")
@click.option("--date", metavar="DATE", help="From when it holds.")
@click.option("--published-in", metavar="WORDS")
@click.option("--limit", type=int, metavar="N", help="The new limit.")
@click.option("--no-limit", is_flag=True, help="The limit is given up.")
@click.option("--numbers", type=click.Choice([SERIAL, FRACTION]), help="How numbers are written from now on.")
@_proofs_option
@click.option("--run", "run", metavar="RUN", help="Which run (M3), if not all.")
@deed_options
def amend(archive: Archive, *, edition: str, words: str, dry_run: bool, **typed: Any) -> None:
    """Amend an EDITION: a dated change of rule. Prints numbered before keep what is written on them."""
    from catalog.actions.edition_amendments import amend_edition

    if typed["limit"] is not None and typed["no_limit"]:
        raise RefusedError("Say a new --limit or --no-limit, not both. Nothing was changed.")
    amended = amend_edition(
        archive, typed_id(archive, edition, "edition"), words=words, made=_date(archive, typed["date"]),
        published_in=typed["published_in"], limit=typed["limit"], is_open_now=typed["no_limit"],
        numbering=typed["numbers"], proofs=_proofs(typed["proofs"]), run_id=_run(typed["run"]), desk=desk_for(dry_run),
    )  # fmt: skip
    say_warnings(amended.warnings)


def _run(text: str | None) -> int | None:
    if text is None:
        return None
    referred = parse_reference(text)
    if referred is None or referred[0] != "run":
        raise click.BadParameter(f"{text!r} is no run; name one by its reference, such as M3.")
    return referred[1]


@editions.command("add-size")
@click.argument("edition")
@click.argument("size", metavar="NAME[: IMAGE [on PAPER]]")
@click.option("--words", required=True, metavar="WORDS", help="What was announced, word for word.")
@click.option("--date", metavar="DATE")
@click.option("--limit", type=int, metavar="N", help="The limit of its own run, where each size has one.")
@knowing_option
@deed_options
def add_size(
    archive: Archive, *, edition: str, size: str, words: str, date: str | None, limit: int | None,
    knowing: tuple[str, ...], dry_run: bool,
) -> None:  # fmt: skip
    """Add a SIZE to an EDITION; what was promised is shown first, and asked about."""
    from catalog.actions.edition_amendments import add_size as add

    added = add(
        archive, typed_id(archive, edition, "edition"), _size(size), words=words, made=_date(archive, date),
        limit=limit, knowing=typed_knowing(archive, knowing), desk=desk_for(dry_run),
    )  # fmt: skip
    say_warnings(added.warnings)


@editions.command()
@click.argument("edition")
@click.argument("amount", metavar="AMOUNT|none")
@click.option("--from-sold", type=click.IntRange(0), default=0, metavar="N", help="From how many sold on.")
@click.option("--run", "run", metavar="RUN", help="Which run (M3), if not all.")
@click.option("--size", metavar="NAME", help="For one size.")
@deed_options
def price(
    archive: Archive, *, edition: str, amount: str, from_sold: int, run: str | None, size: str | None, dry_run: bool
) -> None:  # fmt: skip
    """Set what a print of an EDITION costs, from so many sold on; "none" takes a step out of the list."""
    from catalog.actions.edition_amendments import set_price

    edition_id = typed_id(archive, edition, "edition")
    money = None if amount.strip().casefold() == "none" else typed_money(archive, amount)
    set_price(archive, edition_id, money, from_sold=from_sold, run_id=_run(run),
              size_id=_size_id(archive, edition_id, size) if size else None, desk=desk_for(dry_run))  # fmt: skip


def _size_id(archive: Archive, edition_id: int, name: str) -> int:
    with archive.reading() as connection:
        rows = connection.execute(
            "SELECT z.id, z.name FROM size z JOIN run r ON r.id = z.run_id WHERE r.edition_id = ?", (edition_id,)
        ).fetchall()
    found = [row[0] for row in rows if row[1].casefold() == name.strip().casefold()]
    if len(found) != 1:
        raise RefusedError(f"There is no size {name!r}; there are: {', '.join(row[1] for row in rows)}.")
    return int(found[0])


@editions.command("list")
@archive_option
@json_option
@csv_option
def list_(archive: Archive, *, as_json: bool, as_csv: bool) -> None:
    """List the editions: how many were promised, made, sold."""
    from catalog.store.editions import list_editions

    with archive.reading() as connection:
        rows = list_editions(connection)
    print_items(
        rows, edition_item, _cells, ["", "title", "state", "limit", "sizes", "made", "sold", "out"],
        as_json=as_json, as_csv=as_csv, empty="No editions yet. Open one with: tiebeam editions open VIEW",
    )  # fmt: skip


def edition_item(row: EditionRow) -> dict[str, Any]:
    """Return an edition as ``--json`` says it; ``limit`` is ``None`` when it is open."""
    return {
        "reference": format_reference("edition", row.id),
        "title": row.title,
        "view_reference": format_reference("view", row.view_id),
        "state": row.state,
        "since": json_date(row.since_edtf, row.since_earliest, row.since_latest),
        "limit": row.limit,
        "sizes_count": row.sizes_count,
        "sizes": row.sizes.split("; ") if row.sizes else [],
        "made": row.given,
        "sold": row.sold,
        "out": row.out,
        "process": row.process,
        "crop": row.crop,
        "statement": row.statement,
        "stated": json_date(row.stated_edtf, row.stated_earliest, row.stated_latest),
        "published_in": row.published_in,
    }


def _cells(row: EditionRow) -> list[str]:
    return [
        format_reference("edition", row.id), row.title or "", row.state,
        "no limit" if row.limit is None else str(row.limit), row.sizes or "", str(row.given), str(row.sold),
        str(row.out),
    ]  # fmt: skip


@editions.command()
@click.argument("edition")
@private_option
@archive_option
@json_option
def show(archive: Archive, *, edition: str, private: bool, as_json: bool) -> None:
    """Show an edition whole: its promise, its runs and prices, and what became of every number."""
    from catalog.cli.show import show_record

    show_record(archive, "edition", typed_id(archive, edition, "edition"), as_json, private=private)
