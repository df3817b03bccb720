"""``tiebeam cards``: read in an old card index: guess what its columns are, rehearse, read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli._table_files import (
    all_option,
    encoding_option,
    file_argument,
    mapping_option,
    rejects_option,
    say_guessed,
    sheet_option,
    to_option,
    unreadable_words,
    write_rejects,
)  # fmt: skip
from catalog.cli.common import archive_option, dry_run_option, json_option, print_json, progress, say_waiting
from catalog.rules.counting import counted

if TYPE_CHECKING:
    from catalog.intake.card_plan import CardPlan, RowPlan
    from catalog.intake.proposals import CardFile
    from catalog.store.archive import Archive


@click.group(short_help="Read in an old card index.")
def cards() -> None:
    """Read in an old card index: CSV, TSV or XLSX."""


@cards.command()
@file_argument
@encoding_option
@sheet_option
@to_option
@archive_option
def guess(archive: Archive, *, file: Path, encoding: str | None, sheet: str | None, to: Path | None) -> int:
    """
    Write a first mapping file for FILE: which column is what, to look over and mend.

    Villages and buildings are matched to those the archive knows; where two are alike, the mapping asks.
    """
    from catalog.intake.guess import guess_mapping
    from catalog.intake.known import read_known
    from catalog.intake.mapping import write_mapping
    from catalog.intake.mapping_files import mapping_path
    from catalog.intake.tables import read_table

    target = to or mapping_path(file)
    table = read_table(file, encoding=encoding, sheet=sheet)
    with archive.reading() as connection:
        known = read_known(connection)
    mapping, questions = guess_mapping(table, known)
    write_mapping(target, mapping, questions)
    say_guessed(target, mapping.columns, questions, f"tiebeam cards rehearse {file}")
    return 1 if questions else 0


@cards.command()
@file_argument
@mapping_option
@encoding_option
@sheet_option
@rejects_option
@all_option
@archive_option
@json_option
def rehearse(
    archive: Archive, *, file: Path, mapping: Path | None, encoding: str | None, sheet: str | None,
    rejects: Path | None, show_all: bool, as_json: bool,
) -> int:  # fmt: skip
    """
    Show what reading FILE would do, row by row, and do nothing.

    Says what each row would become, what was carried down, what was not understood and what does not fit.
    """
    from catalog.intake.card_plan import plan_cards

    card_file = _read(archive, file, mapping, encoding, sheet)
    with archive.reading() as connection:
        plan = plan_cards(connection, card_file)
    _write_rejects(card_file, file, rejects)
    return _report(card_file, plan, as_json=as_json, show_all=show_all, done=False)


@cards.command()
@file_argument
@mapping_option
@encoding_option
@sheet_option
@rejects_option
@click.option("--edited", is_flag=True, help="FILE is the index read before, although most of its rows differ.")
@archive_option
@json_option
@dry_run_option
def read(
    archive: Archive, *, file: Path, mapping: Path | None, encoding: str | None, sheet: str | None,
    rejects: Path | None, edited: bool, as_json: bool, dry_run: bool,
) -> int:  # fmt: skip
    """
    Read FILE into the catalogue, as one deed.

    The same file again adds nothing. An edited file changes only what nobody has corrected since.
    """
    with progress(file.name, 4) as advance:  # reading, comparing, loading, keeping: about alike for a large index
        card_file = _read(archive, file, mapping, encoding, sheet)
        advance(1)
        if dry_run:
            from catalog.intake.card_plan import plan_cards

            with archive.reading() as connection:
                plan = plan_cards(connection, card_file)
        else:
            from catalog.actions.cards import read_cards

            plan = read_cards(
                archive, card_file, is_edited=edited, on_wait=say_waiting, on_stage=lambda: advance(1)
            ).plan
    _write_rejects(card_file, file, rejects)
    return _report(card_file, plan, as_json=as_json, show_all=False, done=not dry_run)


def _read(archive: Archive, file: Path, mapping: Path | None, encoding: str | None, sheet: str | None) -> CardFile:
    from catalog.intake.cards import read_card_file
    from catalog.intake.known import read_known
    from catalog.intake.mapping import read_mapping
    from catalog.intake.mapping_files import mapping_path

    mapped = read_mapping(mapping or mapping_path(file))
    with archive.reading() as connection:
        known = read_known(connection)
    return read_card_file(file, mapped, known, encoding=encoding, sheet=sheet)


def _write_rejects(card_file: CardFile, file: Path, rejects: Path | None) -> None:
    """Write the rows that no sheet can be made of, each with its reasons, to a file of their own."""
    target = write_rejects(card_file.unreadable, card_file.headings, file, rejects)
    if target is not None:
        said = counted(len(card_file.unreadable), "row")
        click.echo(f"{said} cannot be read; see {target}, with the reasons.", err=True)


def _report(card_file: CardFile, plan: CardPlan, *, as_json: bool, show_all: bool, done: bool) -> int:
    """Print what was or would be done; 1 when there is something to look at in what is new, or that cannot be read."""
    looked_at = [row for row in plan.rows if row.outcome in ("new", "changed")]
    findings = any(row.card.troubles or any(change.is_kept for change in row.changes) for row in looked_at)
    status = int(bool(card_file.unreadable) or plan.is_unlike or findings)
    if as_json:
        print_json(_json_plan(card_file, plan))
        return status
    click.echo(f"{card_file.name}: headings in row {card_file.heading_row}.")
    for skipped in card_file.skipped:
        if show_all:
            click.echo(f"row {skipped.row}: {skipped.kind} {skipped.text}".rstrip())
    for remark in card_file.remarks:
        click.echo(remark)
    if plan.also_called:
        click.echo(f"Most of its rows were read before, from {' and '.join(plan.also_called)}: it is that index.")
    if plan.is_unlike:
        click.echo("Most of its rows differ from those read under this name. If it is another index, rename the file.")
    for row in plan.rows:
        _print_row(row, show_all=show_all)
    for unreadable in card_file.unreadable:
        click.echo(unreadable_words(unreadable))
    for table, name in plan.added:
        click.echo(f"{'New' if done else 'Would add'} {table.replace('_', ' ')}: {name}")
    for gone in plan.gone:
        number = gone.key.rpartition(":")[2].strip() or "a card without a number"
        was = f"{number} (row {gone.number} of {gone.file})"
        click.echo(f"{was} is no longer in the file; its sheet S{gone.sheet_id} stays.")
    click.echo(_totals(card_file, plan, done=done))
    return status


def _print_row(row: RowPlan, *, show_all: bool) -> None:
    card = row.card
    if show_all:
        numbers = ", ".join(number.text for number in card.numbers) or "no number"
        shows = "; ".join(one.named.written for one in card.subjects) or (card.village.name if card.village else "")
        when = card.exposed_words or (card.exposed.text if card.exposed else "undated")
        carried = f" (carried down: {', '.join(one.field for one in card.carried)})" if card.carried else ""
        click.echo(f"row {card.row}: {row.outcome}: {numbers}; {shows}; {when}{carried}")
        for doubt in card.doubts:
            click.echo(f"  doubtful {doubt.field}: {doubt.as_written!r}, {doubt.certainty}")
    if show_all or row.outcome in ("new", "changed"):
        for trouble in card.troubles:
            click.echo(str(trouble))
    for change, (before, after, held) in zip(row.changes, row.said, strict=True):
        where = f"row {card.row} (S{row.sheet_id}), {change.label}"
        if change.is_kept:
            click.echo(f"{where}: the card says {after} instead of {before}; corrected here since, it stays {held}.")
        else:
            click.echo(f"{where}: {before} becomes {after}")


def _totals(card_file: CardFile, plan: CardPlan, *, done: bool) -> str:
    new, here = plan.count("new"), plan.count("here") + plan.count("repeat")
    changed = sum(any(not change.is_kept for change in row.changes) for row in plan.rows)
    kept = sum(any(change.is_kept for change in row.changes) for row in plan.rows)
    troubles = sum(bool(row.card.troubles) for row in plan.rows if row.outcome in ("new", "changed"))
    unread = f"{len(card_file.unreadable)} cannot be read" if card_file.unreadable else ""
    if not new and not changed and not kept:
        words = f"Nothing to add: all {here} rows are here already"
        return f"{words}, {unread}." if unread else f"{words}."
    verb = ("added", "changed") if done else ("would be added", "would change")
    parts = [f"{counted(new, 'sheet')} {verb[0]}"] if new else []
    parts += [f"{counted(changed, 'sheet') if not new else changed} {verb[1]}"] if changed else []
    parts += [f"{kept} left as corrected"] if kept else []
    parts += [f"{here} here already"] if here else []
    parts += [f"{troubles} with something to look at"] if troubles else []
    return ", ".join([*parts, *([unread] if unread else [])]) + "."


def _json_plan(card_file: CardFile, plan: CardPlan) -> dict[str, Any]:
    return {
        "file": card_file.name,
        "items": [_json_row(row) for row in plan.rows],
        "count": len(plan.rows),
        "unreadable": [{"row": one.row, "reasons": list(one.reasons)} for one in card_file.unreadable],
        "added": [{"kind": table, "name": name} for table, name in plan.added],
        "gone": [{"file": one.file, "row": one.number, "reference": f"S{one.sheet_id}"} for one in plan.gone],
    }


def _json_row(row: RowPlan) -> dict[str, Any]:
    return {
        "row": row.card.row,
        "outcome": row.outcome,
        "reference": f"S{row.sheet_id}" if row.sheet_id else None,
        "numbers": [number.text for number in row.card.numbers],
        "troubles": [str(trouble) for trouble in row.card.troubles],
        "doubts": [{"field": d.field, "as_written": d.as_written, "certainty": d.certainty} for d in row.card.doubts],
        "carried": [one.field for one in row.card.carried],
        "changes": [
            {"field": change.label, "before": before, "after": after, "current": held, "kept": change.is_kept}
            for change, (before, after, held) in zip(row.changes, row.said, strict=True)
        ],
    }
