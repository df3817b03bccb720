"""``tiebeam prints guess | rehearse | read``: an old ledger of prints, by the same steps as a card index."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli._print_words import private_option
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
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.actions.old_ledgers import LedgerRead, RowDone
    from catalog.intake.ledger_rows import OldEvent, OldLedger, OldPrint, Who
    from catalog.store.archive import Archive


@click.command()
@file_argument
@encoding_option
@sheet_option
@to_option
@archive_option
def guess(archive: Archive, *, file: Path, encoding: str | None, sheet: str | None, to: Path | None) -> int:
    """Write a first mapping file for FILE, an old ledger of prints: which column is what, to look over and mend."""
    from catalog.intake.ledger_guess import guess_ledger_mapping
    from catalog.intake.ledger_mapping import format_ledger_mapping
    from catalog.intake.mapping_files import mapping_path, write_mapping_text
    from catalog.intake.tables import read_table

    target = to or mapping_path(file)
    table = read_table(file, encoding=encoding, sheet=sheet)
    with archive.reading() as connection:
        mapping, questions = guess_ledger_mapping(table, connection)
    write_mapping_text(target, format_ledger_mapping(mapping, questions))
    say_guessed(target, mapping.columns, questions, f"tiebeam prints rehearse {file}")
    return 1 if questions else 0


@click.command()
@file_argument
@mapping_option
@encoding_option
@sheet_option
@rejects_option
@all_option
@private_option
@archive_option
@json_option
def rehearse(
    archive: Archive, *, file: Path, mapping: Path | None, encoding: str | None, sheet: str | None,
    rejects: Path | None, show_all: bool, private: bool, as_json: bool,
) -> int:  # fmt: skip
    """
    Show what reading FILE, an old ledger of prints, would do, row by row, and do nothing.

    Every rule is asked as if it were done. Persons and prices are shown with --private alone.
    """
    ledger, done = _do(archive, file, mapping, encoding, sheet, dry_run=True)
    _write_rejects(ledger, done, file, rejects)
    return _report(ledger, done, as_json=as_json, show_all=show_all, private=private, is_done=False)


@click.command()
@file_argument
@mapping_option
@encoding_option
@sheet_option
@rejects_option
@private_option
@archive_option
@json_option
@dry_run_option
def read(
    archive: Archive, *, file: Path, mapping: Path | None, encoding: str | None, sheet: str | None,
    rejects: Path | None, private: bool, as_json: bool, dry_run: bool,
) -> int:  # fmt: skip
    """
    Read FILE, an old ledger of prints, into the catalogue, as one deed.

    A row that cannot be is left out with the reason, and the others are done. The same file again adds nothing.
    """
    ledger, done = _do(archive, file, mapping, encoding, sheet, dry_run=dry_run)
    _write_rejects(ledger, done, file, rejects)
    return _report(ledger, done, as_json=as_json, show_all=False, private=private, is_done=not dry_run)


COMMANDS = (guess, rehearse, read)


def _do(
    archive: Archive, file: Path, mapping: Path | None, encoding: str | None, sheet: str | None, *, dry_run: bool
) -> tuple[OldLedger, LedgerRead]:
    from catalog.actions.desk import Desk
    from catalog.actions.old_ledgers import read_old_ledger as read_in
    from catalog.intake.ledger_mapping import read_ledger_mapping
    from catalog.intake.mapping_files import mapping_path
    from catalog.intake.old_ledgers import read_old_ledger

    mapped = read_ledger_mapping(mapping or mapping_path(file))
    with archive.reading() as connection:
        ledger = read_old_ledger(file, mapped, connection, encoding=encoding, sheet=sheet)
    with progress(file.name, len(ledger.prints)) as advance:
        desk = Desk(dry_run=dry_run, on_wait=say_waiting)
        return ledger, read_in(archive, ledger, desk=desk, on_row=lambda: advance(1))


# ---- rows that were not done


def _write_rejects(ledger: OldLedger, done: LedgerRead, file: Path, rejects: Path | None) -> None:
    """Write the rows that were not done, each with its reasons, to a file beside the ledger."""
    from catalog.intake.proposals import UnreadableRow

    left = []
    for row in done.rows:
        if row.is_left_out:
            left.append(UnreadableRow(row.old.row, row.old.cells, _reasons(row, private=True)))
            with_it = (f"left out with row {row.old.row}, of the same print",)
            left += [UnreadableRow(more.row, more.cells, with_it) for more in row.old.more_rows]
    rows = sorted((*ledger.unreadable, *left), key=lambda row: row.row)
    target = write_rejects(rows, ledger.headings, file, rejects)
    if target is not None:
        words = "1 row is" if len(rows) == 1 else f"{len(rows)} rows are"
        click.echo(f"{words} left out; see {target}, with the reasons.", err=True)


def _reasons(row: RowDone, *, private: bool) -> tuple[str, ...]:
    from catalog.intake.ledger_rows import told

    if row.outcome == "refused":
        reason = row.reason if private else row.public_reason
        return (f"row {row.old.row}: {'' if row.old.name in reason else f'{row.old.name}: '}{reason}",)
    return tuple(told(question, private=private) for question in row.old.questions)


# ---- the report


def _report(ledger: OldLedger, done: LedgerRead, *, as_json: bool, show_all: bool, private: bool, is_done: bool) -> int:
    """Print what was or would be done; 1 when a row was left out or there is something to look at in a new one."""
    findings = any(
        row.is_left_out or row.stays or (row.outcome in ("new", "matched") and row.old.troubles) for row in done.rows
    )
    status = int(bool(ledger.unreadable) or findings)
    if as_json:
        print_json(_json(ledger, done, private=private))
        return status
    click.echo(f"{ledger.name}: headings in row {ledger.heading_row}.")
    for skipped in ledger.skipped if show_all else ():
        click.echo(f"row {skipped.row}: {skipped.kind} {skipped.text}".rstrip())
    for remark in ledger.remarks:
        click.echo(remark)
    for row in done.rows:
        _print_row(row, show_all=show_all, private=private, is_done=is_done)
    for unreadable in ledger.unreadable:
        click.echo(unreadable_words(unreadable))
    _print_persons(done, private=private, is_done=is_done)
    for gone in done.gone:
        reference = format_reference("print", gone.print_id)
        click.echo(f"row {gone.row} is no longer in the file; its print {reference} stays.")
    click.echo(_totals(ledger, done, is_done=is_done))
    return status


def _print_persons(done: LedgerRead, *, private: bool, is_done: bool) -> None:
    verb = "New" if is_done else "Would add"
    if private:
        for name in done.persons:
            click.echo(f"{verb} person: {name}")
    elif done.persons:
        click.echo(f"{verb} {_counted(len(done.persons), 'person')}; with --private they are named.")


def _print_row(row: RowDone, *, show_all: bool, private: bool, is_done: bool) -> None:
    from catalog.intake.ledger_rows import told

    old = row.old
    if show_all or row.outcome in ("new", "changed", "matched"):
        at = (
            f" ({format_reference('print', row.print_id)})"
            if row.print_id and (is_done or row.outcome != "new")
            else ""
        )
        carried = f" (carried down: {', '.join(one.field for one in old.carried)})" if old.carried else ""
        told_events = [_event(event, private=private) for event in _events(row)]
        if row.outcome == "matched":
            filled = [name.removesuffix("_id").replace("_", " ") for name in row.facts]
            told_events += [f"{', '.join(filled)} filled in"] if filled else []
            told_events[:1] = [f"adds {told_events[0]}" if told_events else "nothing to add"]
            made = []
        else:
            made = [_made(old)] if row.outcome != "changed" else []
        click.echo(f"{_rows_of(old)}: {row.outcome}: {old.name}{at}; {'; '.join([*made, *told_events])}{carried}")
        for doubt in old.doubts:
            click.echo(f"  doubtful {doubt.field}: {doubt.as_written!r}, {doubt.certainty}")
    for words in row.stays:
        click.echo(f"  stays with the row: {words}")
    if show_all or row.outcome in ("new", "matched"):
        for trouble in old.troubles:
            click.echo(told(trouble, private=private))
    if row.is_left_out:
        for reason in _reasons(row, private=private):
            click.echo(f"left out: {reason}")


def _rows_of(old: OldPrint) -> str:
    """Return which rows tell of a print: ``row 2``, ``rows 2, 5 and 9``."""
    if not old.more_rows:
        return f"row {old.row}"
    *others, last = (str(row) for row in (old.row, *(more.row for more in old.more_rows)))
    return f"rows {', '.join(others)} and {last}"


def _events(row: RowDone) -> tuple[OldEvent, ...]:
    """Return the events that a row adds; of one that adds none, those it tells of."""
    return row.events if row.outcome == "matched" else row.events or row.old.events


def _made(old: Any) -> str:
    return " ".join(part for part in ("replacement" if old.is_replacement else "", "pulled", _when(old.pulled)) if part)


def _when(dated: Any) -> str:
    from catalog.dates import edtf_in_words

    return edtf_in_words(dated.exposed.text) if dated.exposed else (f'"{dated.words}"' if dated.words else "")


def _event(event: OldEvent, *, private: bool) -> str:
    at = "" if event.place is None else event.place if event.kind == "drawer" else f"at {event.place}"
    # "drawer" is the kind of entry, and mostly the first word of the place.
    kind = "kept:" if event.kind == "drawer" else event.kind
    parts = [kind, _who(event.who, private=private), at, _when(event.when)]
    parts.append(f"for {event.price}" if private and event.price is not None else "")
    parts.append(f"until {_when(event.due)}" if _when(event.due) else "")
    return " ".join(part for part in parts if part)


def _who(who: Who | None, *, private: bool) -> str:
    if who is None:
        return ""
    known = format_reference("person", who.person_id) if who.person_id is not None else "a new person"
    return f"to {who.name} ({known})" if private else f"to {known}"


def _totals(ledger: OldLedger, done: LedgerRead, *, is_done: bool) -> str:
    new, changed, here = done.count("new"), done.count("changed"), done.count("here") + done.count("repeat")
    matched = done.count("matched")
    left = sum(row.is_left_out for row in done.rows) + len(ledger.unreadable)
    parts = [f"{_counted(new, 'print')} {'written down' if is_done else 'would be written down'}"] if new else []
    parts += [f"{_counted(matched, 'print')} of the catalogue matched"] if matched else []
    parts += [f"{changed} with more to tell"] if changed else []
    parts += [f"{here} here already"] if here else []
    parts += [f"{left} left out"] if left else []
    if not new and not changed and not matched:
        return f"Nothing to add: {', '.join(parts) or 'the file has no rows'}."
    return ", ".join(parts) + "."


def _counted(count: int, word: str) -> str:
    return f"1 {word}" if count == 1 else f"{count} {word}s"


# ---- as JSON


def _json(ledger: OldLedger, done: LedgerRead, *, private: bool) -> dict[str, Any]:
    return {
        "file": ledger.name,
        "items": [_json_row(row, private=private) for row in done.rows],
        "count": len(done.rows),
        "unreadable": [{"row": one.row, "reasons": list(one.reasons)} for one in ledger.unreadable],
        "persons_added": len(done.persons),
        **({"persons": list(done.persons)} if private else {}),
        "gone": [{"row": one.row, "reference": format_reference("print", one.print_id)} for one in done.gone],
    }


def _json_row(row: RowDone, *, private: bool) -> dict[str, Any]:
    from catalog.intake.ledger_rows import told

    old = row.old
    return {
        "row": old.row,
        "more_rows": [more.row for more in old.more_rows],
        "outcome": row.outcome,
        "reference": format_reference("print", row.print_id) if row.print_id else None,
        "print_number": old.name if old.place else None,
        "pulled": _json_date(old.pulled),
        "events": [_json_event(event, private=private) for event in _events(row)],
        "filled_in": list(row.facts),
        "stays_with_row": list(row.stays),
        "reasons": list(_reasons(row, private=private)) if row.is_left_out else [],
        "troubles": [told(trouble, private=private) for trouble in old.troubles],
        "doubts": [{"field": d.field, "as_written": d.as_written, "certainty": d.certainty} for d in old.doubts],
        "carried": [one.field for one in old.carried],
    }


def _json_date(dated: Any) -> dict[str, Any] | None:
    from catalog.cli._print_words import edtf_date

    return edtf_date(dated.exposed.text if dated.exposed else None)


def _json_event(event: OldEvent, *, private: bool) -> dict[str, Any]:
    person_id = event.who.person_id if event.who else None
    item: dict[str, Any] = {
        "kind": event.kind,
        "date": _json_date(event.when),
        "date_as_written": event.when.words,
        "person_reference": format_reference("person", person_id) if person_id is not None else None,
        "is_new_person": event.who is not None and person_id is None,
        "place": event.place,
        "due": _json_date(event.due),
    }
    if private:
        price = event.price
        item |= {"person": event.who.name if event.who else None, "price_minor": price.minor if price else None,
                 "currency": price.currency if price else None}  # fmt: skip
    return item
