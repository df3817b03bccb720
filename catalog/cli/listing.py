"""``list`` and ``show``, alike for every noun."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    archive_option,
    csv_option,
    json_date,
    json_option,
    print_csv,
    print_json,
    print_table,
)
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.store.archive import Archive

Columns = Sequence[tuple[str, Callable[[Any], str | None]]]
_POINTS_TO = {"place_id": "place", "standpoint_id": "standpoint", "visit_id": "visit"}


def date_words(edtf: str | None, words: str | None) -> str:
    """Return a date as a list says it: in words, with those written where they say it otherwise."""
    from catalog.dates import format_words, parse_edtf

    told = format_words(parse_edtf(edtf) if edtf else None)
    return f'{told} ("{words}")' if words and words.casefold() != told.casefold() else told


def joined(values: Iterable[str]) -> str:
    """Return several values in one cell."""
    return "; ".join(values)


def print_rows(
    rows: Iterable[Any],
    table: str,
    columns: Columns,
    *,
    empty: str,
    as_json: bool = False,
    as_csv: bool = False,
    without: Sequence[str] = (),
) -> None:
    """
    Print the rows of a noun: as a table in words, as one JSON document, or as comma-separated values.

    Fields in ``without`` are in none of these.
    """
    items = ({name: value for name, value in row_item(row, table).items() if name not in without} for row in rows)
    if as_json:
        listed = list(items)
        print_json({"items": listed, "count": len(listed)})
        return
    if as_csv:
        flat = [_flat(item) for item in items]
        print_csv(list(flat[0]) if flat else ["reference"], [list(each.values()) for each in flat])
        return
    lines = [[_reference(row, table), *((tell(row) or "") for _, tell in columns)] for row in rows]
    if not lines:
        click.echo(empty)
    print_table(["", *(heading for heading, _ in columns)], lines)


def _reference(row: Any, table: str) -> str:
    if table == "note":
        return format_reference(row.about, row.about_id)
    return format_reference(table, row.id)


def row_item(row: Any, table: str) -> dict[str, Any]:
    """Return a row as ``--json`` says it: ``reference`` first, dates whole, lists as lists (design section 10)."""
    item: dict[str, Any] = {"reference": _reference(row, table)}
    if table == "note":
        item["number"] = row.id
    for name in (field.name for field in fields(row)):
        value = getattr(row, name)
        stem, _, last = name.rpartition("_")
        if (
            name == "id"
            or (table == "note" and name == "about_id")
            or (stem and last in ("words", "earliest", "latest") and hasattr(row, f"{stem}_edtf"))
        ):
            continue
        if last == "edtf":
            item[stem] = json_date(value, getattr(row, f"{stem}_earliest"), getattr(row, f"{stem}_latest"))
            item[f"{stem}_as_written"] = getattr(row, f"{stem}_words")
        elif name == "about_id":
            item["about_reference"] = format_reference(row.about, value) if value is not None else None
        elif name in _POINTS_TO:
            item[f"{stem}_reference"] = format_reference(_POINTS_TO[name], value) if value is not None else None
        else:
            item[name] = list(value) if isinstance(value, tuple) else value
    return item


def _flat(item: dict[str, Any]) -> dict[str, Any]:
    """Return an item with one value a cell: a date by its EDTF, its words and its days."""
    flat: dict[str, Any] = {}
    for name, value in item.items():
        if isinstance(value, list):
            flat[name] = joined(value)
        elif isinstance(value, dict) or (value is None and f"{name}_as_written" in item):
            for part in ("edtf", "words", "earliest", "latest"):
                flat[f"{name}_{part}"] = value[part] if value else None
        else:
            flat[name] = value
    return flat


def list_command(kind: str, table: str, columns: Columns, *, words: str, empty: str) -> click.Command:
    """Return ``list`` for a noun: ``kind`` names its row in ``catalog.store.lists``."""

    @click.command("list", help=words, short_help=words)
    @archive_option
    @json_option
    @csv_option
    def listed(archive: Archive, *, as_json: bool, as_csv: bool) -> None:
        from catalog.store import lists

        with archive.reading() as connection:
            rows = list(lists.list_rows(connection, getattr(lists, kind)))
        print_rows(rows, table, columns, empty=empty, as_json=as_json, as_csv=as_csv)

    return listed


def show_command(table: str, *, words: str) -> click.Command:
    """Return ``show`` for a noun; lenses, cameras and films are each looked for among their own."""

    @click.command("show", help=words, short_help=words)
    @click.argument("what")
    @archive_option
    @json_option
    def shown(archive: Archive, *, what: str, as_json: bool) -> None:
        from catalog.cli.show import show_record
        from catalog.cli.typed import typed_id

        record_id = typed_id(archive, what, table)
        show_record(archive, "kit" if table in ("lens", "camera", "film_stock") else table, record_id, as_json)

    return shown
