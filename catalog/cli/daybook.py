"""``tiebeam daybook`` and ``tiebeam undo``: what was done at the desk, and taking it back."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    archive_option,
    dry_run_option,
    json_option,
    one_line,
    print_json,
    print_table,
    say_waiting,
    terminal_width,
)
from catalog.errors import NotFoundError
from catalog.rules.references import TABLES, format_reference, parse_reference

if TYPE_CHECKING:
    import sqlite3

    from catalog.actions.deeds import Undoing
    from catalog.store.archive import Archive
    from catalog.store.daybook import ChangeRow, DeedRow, FileRow
    from catalog.store.private_words import Hide

_ON_A_SCREEN = 200
"""How many changed records a terminal is shown; a pipe or ``--json`` gets all."""


@click.command(short_help="What was done at the desk, deed by deed.")
@click.argument("reference", required=False)
@click.option("--since", metavar="DATE", help="Only deeds of this day or later.")
@click.option("--private", is_flag=True, help="Name persons, and tell their addresses and prices, too.")
@archive_option
@json_option
def daybook(archive: Archive, reference: str | None, since: str | None, private: bool, as_json: bool) -> None:
    """
    List the deeds in order, or tell one whole.

    REFERENCE is a deed's number (7): what it changed, record by record; or a record's reference (S12):
    the deeds that changed it.
    """
    from catalog.store.daybook import deeds_of_record, get_deed, list_deeds
    from catalog.store.private_words import hiding

    moment, hide = _since(archive, since), hiding(archive, private=private)
    with archive.reading() as connection:
        if reference is not None and reference.strip().isdecimal():
            _tell_deed(connection, get_deed(connection, int(reference)), hide, as_json=as_json, private=private)
            return
        if reference is None:
            deeds = list_deeds(connection, moment)
        else:
            record = parse_reference(reference)
            if record is None:
                raise NotFoundError(f"{reference!r} is no reference (S12) and no number of a deed (7).")
            deeds = [deed for deed in deeds_of_record(connection, *record) if deed.at >= moment]
    if as_json:
        print_json({"items": [_json_deed(deed, hide) for deed in deeds], "count": len(deeds)})
    elif deeds:
        print_table(
            ("deed", "when", "records", "what"),
            [(str(d.id), _local(d.at), str(d.records or d.files or ""), _line(d, hide)) for d in deeds],
        )
    else:
        click.echo("Nothing is written in the daybook" + (f" about {reference}." if reference else " for that time."))


def _since(archive: Archive, words: str | None) -> str:
    """Return the moment, as records keep it, at which the day that someone typed begins on their wall."""
    if words is None:
        return ""
    from catalog.dates import parse_words

    typed = parse_words(words, century=archive.settings.dates_century)
    if typed is None or typed.earliest is None or typed.earliest <= 1:
        return ""
    day = date.fromordinal(min(typed.earliest, date.max.toordinal() - 1))
    return datetime.combine(day, time.min).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _local(at: str) -> str:
    return datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d %H:%M")


def _words(deed: DeedRow, hide: Hide) -> str:
    """Return the words of a deed without persons; a price list is told, what somebody paid is not."""
    return hide(deed.words, amounts="editions price" not in f"{deed.kind} {deed.words}")


def _line(deed: DeedRow, hide: Hide) -> str:
    marks = []
    if deed.undone_by_id is not None:
        marks.append(f"undone by deed {deed.undone_by_id}")
    if deed.state != "done":
        marks.append(deed.state)
    if deed.left_to_do and deed.state == "interrupted":
        marks.append(deed.left_to_do)
    return f"{deed.kind}: {_words(deed, hide)}" + (f" [{'; '.join(marks)}]" if marks else "")


def _json_deed(deed: DeedRow, hide: Hide) -> dict[str, Any]:
    return {
        "reference": str(deed.id),
        "kind": deed.kind,
        "words": _words(deed, hide),
        "at": deed.at,
        "state": deed.state,
        "left_to_do": deed.left_to_do,
        "undoes": deed.undoes_id,
        "undone_by": deed.undone_by_id,
        "records": deed.records,
        "files": deed.files,
    }


# ---- one deed


def _tell_deed(connection: sqlite3.Connection, deed: DeedRow, hide: Hide, *, as_json: bool, private: bool) -> None:
    from catalog.store.daybook import changes_of, files_of, name_record

    files = files_of(connection, deed.id)
    if as_json:
        changes = [
            {
                "reference": name_record(connection, change.record_table, change.record_id),
                "change": change.change,
                **_json_values(connection, change, hide, private=private),
            }
            for change in changes_of(connection, deed.id)
        ]
        written = [{"path": file.path, "state": file.state, "reason": file.reason} for file in files]
        print_json({"items": [_json_deed(deed, hide) | {"changes": changes, "files_written": written}], "count": 1})
        return
    click.echo(one_line(f"Deed {deed.id}, {_local(deed.at)}: {_line(deed, hide)}"))
    limit = _ON_A_SCREEN if terminal_width() else None
    for count, change in enumerate(changes_of(connection, deed.id)):
        if limit is not None and count >= limit:
            click.echo("  ... more than a screen should hold; send it to a file, or use --json, for all.")
            break
        click.echo("  " + one_line(_change_line(connection, change, hide, private=private)))
    for file in files:
        click.echo("  " + one_line(_file_line(file)))


def _file_line(file: FileRow) -> str:
    did = {"done": "wrote", "not done": "did not write", "intended": "means to write"}[file.state]
    return f"{did} {file.path}" + (f" ({file.reason})" if file.reason else "")


def _change_line(connection: sqlite3.Connection, change: ChangeRow, hide: Hide, *, private: bool) -> str:
    from catalog.store.daybook import row_after

    if change.change == "added":
        row = change.after or row_after(connection, change) or {}
    else:
        row = change.before
    return _sentence(connection, change, row, change.after, hide, private=private)


def _sentence(
    connection: sqlite3.Connection,
    change: ChangeRow,
    row: dict[str, Any],
    after: dict[str, Any],
    hide: Hide,
    *,
    private: bool,
) -> str:
    """Return a change in words: a row that was added or removed whole, of another what it was and became."""
    from catalog.store.daybook import name_record

    told = _told(change.record_table, row, hide, private=private)
    if change.change == "changed":
        now = _told(change.record_table, after, hide, private=private)
        fields = told | now
        parts = [f"{field}: {told.get(field, 'nothing')} → {now.get(field, 'nothing')}" for field in fields]
    else:
        parts = [f"{field}: {words}" for field, words in told.items()]
    name = name_record(connection, change.record_table, change.record_id)
    return f"{name} {change.change}" + (f" ({'; '.join(parts)})" if parts else "")


# Columns worked out from others, and those that the name of the row says already.
_DERIVED = ("_earliest", "_latest", "_doubt")
_UNTOLD = {
    "id", "folded", "path_key", "raw_path", "digest", "row_key", "cells", "facts", "about", "about_id",
    "sha256", "picture_sha256",
    "modified_ns", "marker",
}  # fmt: skip
_PRIVATE = {
    ("person", "address"), ("person", "contact"), ("document", "facts"), ("ledger_entry", "price_minor"),
    ("ledger_entry", "currency"),
}  # fmt: skip
_WITH_AMOUNTS = frozenset({"ledger_entry", "print", "document", "note"})
"""Tables in whose texts an amount of money may be what somebody paid."""
_POINTS_TO = {
    "lens": "kit", "camera": "kit", "film": "kit", "lab": "person", "doer": "person", "said_by": "person",
    "ask": "person", "parent": "place", "copied_from": "sheet", "source_version": "edit_version",
}  # fmt: skip


def _told(table: str, values: dict[str, Any], hide: Hide, *, private: bool) -> dict[str, str]:
    """Return the columns of a row that say something, each in words."""
    from catalog.store.daybook import owner_column

    told: dict[str, str] = {}
    untold = _UNTOLD | {owner_column(table)}
    for column, value in values.items():
        if column in untold or column.endswith(_DERIVED) or value is None or value == "":
            continue
        field = column.removesuffix("_edtf").removesuffix("_words").removesuffix("_id").strip("_").replace("_", " ")
        if (table, column) in _PRIVATE and not private:
            told[field] = "(private)"
        elif column.endswith("_words") or field not in told:  # the words as written say more than the date alone
            told[field] = hide(_value_in_words(table, column, value), amounts=table in _WITH_AMOUNTS)
    return told


def _value_in_words(of: str, column: str, value: Any) -> str:
    if isinstance(value, bytes):
        return f"{len(value)} bytes"
    if column.endswith("_edtf"):
        from catalog.dates import format_words, parse_edtf

        return format_words(parse_edtf(value))
    if (of, column) == ("edit_version", "steps"):
        from catalog.store.record_words import steps_words

        return str(steps_words(value))
    pointed = column.removesuffix("_id")
    table = of if pointed == "replaces" else _POINTS_TO.get(pointed, pointed)
    if column.endswith("_id") and table in TABLES:
        return format_reference(table, value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _json_values(connection: sqlite3.Connection, change: ChangeRow, hide: Hide, *, private: bool) -> dict[str, Any]:
    from catalog.store.daybook import row_after

    after = row_after(connection, change) if change.change == "added" else change.after

    def plain(values: dict[str, Any] | None) -> dict[str, Any] | None:
        if not values:
            return None
        return {
            column: f"{len(value)} bytes"
            if isinstance(value, bytes)
            else "(private)"
            if (change.record_table, column) in _PRIVATE and value is not None and not private
            else hide(value, amounts=change.record_table in _WITH_AMOUNTS)
            if isinstance(value, str)
            else value
            for column, value in values.items()
        }

    return {"before": plain(change.before), "after": plain(after)}


# ---- undo


@click.command(short_help="Take the newest deed back, or a named one.")
@click.argument("deed", type=click.IntRange(min=1), required=False)
@dry_run_option
@json_option
@archive_option
def undo(archive: Archive, deed: int | None, *, dry_run: bool, as_json: bool) -> None:
    """
    Take back the newest deed that stands, or the DEED whose number is given (see: tiebeam daybook).

    A deed can be named only while nothing later changed the same records. Naming an undo does its deed again.
    """
    from catalog.actions.deeds import undo_deed
    from catalog.store.daybook import changes_of
    from catalog.store.private_words import hiding

    hide = hiding(archive, private=False)
    done = undo_deed(archive, deed, dry_run=dry_run, on_wait=say_waiting)
    if as_json:
        print_json({"items": [_undone_item(archive, done, hide)], "count": 1})
        return
    said = "Would undo" if done.undo_id is None else "Undone:"
    told = _words(done.deed, hide)
    click.echo(one_line(f"{said} deed {done.deed.id}, {_local(done.deed.at)} ({done.deed.kind}): {told}"))
    with archive.reading() as connection:
        shown = done.undo_id or done.deed.id
        for count, change in enumerate(changes_of(connection, shown, backwards=done.undo_id is None)):
            if count == _FEW:
                click.echo(f"  ... and {done.records - _FEW:,} more; see: tiebeam daybook {shown}")
                break
            sentence = _taken_back(connection, change) if done.undo_id is None else change
            click.echo("  " + one_line(_change_line(connection, sentence, hide, private=False)))
    if done.files:
        click.echo(f"  {done.files} {'file' if done.files == 1 else 'files'} put back as before.")
    if done.undo_id is not None and done.is_final:
        from catalog.actions.file_undo import MAKE_AGAIN

        click.echo(f"This is deed {done.undo_id}. {MAKE_AGAIN}")
    elif done.undo_id is not None:
        again = "do it again" if done.deed.undoes_id is None else "take it back"
        click.echo(f"This is deed {done.undo_id}. To {again}: tiebeam undo {done.undo_id}")


_FEW = 10


def _undone_item(archive: Archive, done: Undoing, hide: Hide) -> dict[str, Any]:
    from catalog.store.daybook import changes_of
    from catalog.store.deed_records import touched_records

    with archive.reading() as connection:
        changes = list(changes_of(connection, done.undo_id or done.deed.id, backwards=done.undo_id is None))
        if done.undo_id is None:
            changes = [_taken_back(connection, change) for change in changes]
        touched = touched_records(connection, [(one.record_table, one.record_id, one.change) for one in changes])
    return {
        "did": f"undid deed {done.deed.id}: {one_line(_words(done.deed, hide))}",
        "dry_run": done.undo_id is None, "undone": done.deed.id, "deed": done.undo_id, "files": done.files,
        "records": [{"reference": one.reference, "change": one.change} for one in touched],
    }  # fmt: skip


def _taken_back(connection: sqlite3.Connection, change: ChangeRow) -> ChangeRow:
    """Return what a rehearsed undo would do about a change."""
    from dataclasses import replace

    from catalog.store.rows import read_row

    now = read_row(connection, change.record_table, change.record_id) or {}
    if change.change == "added":
        return replace(change, change="removed", before=now)
    if change.change == "changed":
        return replace(change, before={column: now.get(column) for column in change.before}, after=change.before)
    return replace(change, change="added", after=change.before)
