"""Prints as they are typed and told: names of prints, money, and rows without what is private."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import json_date, print_csv, print_json, print_table
from catalog.rules.ledger_kinds import ENDED
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.actions.ledger import Subject
    from catalog.rules.money import Money
    from catalog.store.archive import Archive
    from catalog.store.ledger import LedgerRow
    from catalog.store.prints import PrintRow
    from catalog.store.private_words import Hide

private_option = click.option("--private", is_flag=True, help="Name the persons, and tell prices and values, too.")
knowing_option = click.option(
    "--knowing", multiple=True, metavar="EDITION", help="Having read what this edition promised."
)
date_option = click.option("--date", metavar="DATE", help="When; otherwise not known. In words or EDTF.")


def typed_prints(archive: Archive, words: Sequence[str]) -> list[int]:
    """Return the prints that were named: ``P88``, ``E3 7/15``, several of them."""
    from catalog.store.print_names import resolve_print, split_names

    with archive.reading() as connection:
        return [resolve_print(connection, name) for name in split_names(words)]


def typed_subjects(archive: Archive, words: Sequence[str]) -> list[Subject]:
    """Return the prints that were named, or the places in an edition where there is no print yet."""
    from catalog.actions.ledger import Subject
    from catalog.errors import NotFoundError
    from catalog.store.print_names import resolve_place, resolve_print, split_names

    found = []
    with archive.reading() as connection:
        for name in split_names(words):
            try:
                found.append(Subject(print_id=resolve_print(connection, name)))
            except NotFoundError as not_there:
                try:
                    found.append(Subject(place=resolve_place(connection, name)))
                except NotFoundError:
                    raise not_there from None
    return found


def typed_money(archive: Archive, text: str | None) -> Money | None:
    """Return an amount as typed, in the currency of the settings where none is typed."""
    from catalog.rules.money import parse_money

    return parse_money(text, archive.settings.documents_currency) if text else None


def typed_knowing(archive: Archive, names: Sequence[str]) -> frozenset[int]:
    """Return the editions that the person says to know of."""
    from catalog.cli.typed import typed_id

    return frozenset(typed_id(archive, name, "edition") for name in names)


def say_warnings(warnings: Iterable[str]) -> None:
    """Tell what a deed warns of; it is done all the same."""
    for warning in warnings:
        click.echo(f"Note: {warning}", err=True)


# ---- rows told


def edtf_date(edtf: str | None) -> dict[str, Any] | None:
    """Return a date that is kept as EDTF alone, as every ``--json`` says one."""
    if edtf is None:
        return None
    from catalog.dates import parse_edtf

    date = parse_edtf(edtf)
    return json_date(edtf, date.earliest, date.latest)


def _reference(table: str, record_id: int | None) -> str | None:
    return None if record_id is None else format_reference(table, record_id)


def print_item(row: PrintRow, *, private: bool) -> dict[str, Any]:
    """Return a print as ``--json`` says it; names and value only when private."""
    item: dict[str, Any] = {
        "reference": format_reference("print", row.id),
        "edition_reference": _reference("edition", row.edition_id),
        "number": row.written,
        "series": row.series,
        "size": row.size,
        "sheet_reference": _reference("sheet", row.sheet_id),
        "view_reference": _reference("view", row.view_id),
        "paper": row.paper,
        "pulled": json_date(row.pulled_edtf, row.pulled_earliest, row.pulled_latest),
        "state": row.state,
        "custodian_reference": _reference("person", row.custodian_id),
        "owner_reference": _reference("person", row.owner_id),
        "since": edtf_date(row.since),
        "due": edtf_date(row.due),
        "place": row.place,
        "is_signed": bool(row.is_signed),
        "held": row.hold,
        "held_for_reference": _reference("person", row.held_for_id),
        "held_until": edtf_date(row.held_until),
    }
    if private:
        item |= {"custodian": row.custodian, "owner": row.owner, "held_for": row.held_for,
                 "value_minor": row.value_minor, "currency": row.currency}  # fmt: skip
    return item


def print_prints(
    rows: Iterable[PrintRow], *, hide: Hide, private: bool, as_json: bool, as_csv: bool, empty: str,
    totals: bool = False,
) -> None:  # fmt: skip
    """Print prints in any of the three ways; with ``totals``, what they are worth together in each currency."""
    print_items(
        [row if not row.place else replace(row, place=hide(row.place)) for row in rows],
        partial(print_item, private=private), partial(_print_cells, private=private),
        ["", "number", "state", "with", "owner", "since", "due", "place", *(["value"] if private else [])],
        as_json=as_json, as_csv=as_csv, empty=empty, after=_worth if totals and private else None,
    )  # fmt: skip


def _worth(rows: Sequence[PrintRow]) -> str:
    from catalog.rules.money import totals

    sums = totals(row.value for row in rows if row.value is not None)
    unknown = sum(row.value is None for row in rows)
    told = " and ".join(map(str, sums)) or "no value known"
    count = "1 print" if len(rows) == 1 else f"{len(rows)} prints"
    return f"{count}, {told}" + (f"; of {unknown} no value is known" if unknown and sums else "") + "."


def _print_cells(row: PrintRow, *, private: bool) -> list[str]:
    from catalog.dates import edtf_in_words

    cells = [
        format_reference("print", row.id),
        f"{_reference('edition', row.edition_id)} {row.written}" if row.written else "none",
        row.state + (f", {row.hold}" if row.hold else ""),
        "" if row.state in ENDED else _who(row.custodian_id, row.custodian, private),
        _who(row.owner_id, row.owner, private),
        edtf_in_words(row.since) if row.since else "",
        edtf_in_words(row.due) if row.due else "",
        row.place or "",
    ]
    return cells + ([str(row.value or "")] if private else [])


def _who(person_id: int | None, name: str | None, private: bool) -> str:
    if person_id is None:
        return "house"
    reference = format_reference("person", person_id)
    return f"{name} ({reference})" if private and name else reference


def entry_item(row: LedgerRow, *, private: bool) -> dict[str, Any]:
    """Return an entry of the ledger as ``--json`` says it; names and prices only when private."""
    item: dict[str, Any] = {
        "reference": _reference("print", row.print_id),
        "number": row.number,
        "edition_reference": _reference("edition", row.edition_id),
        "print_number": row.written,
        "kind": row.kind,
        "date": json_date(row.date_edtf, row.date_earliest, row.date_latest),
        "date_as_written": row.date_words,
        "person_reference": _reference("person", row.person_id),
        "from_reference": _reference("person", row.from_id),
        "place": row.place,
        "due": json_date(row.due_edtf, row.due_earliest, row.due_latest),
        "document_reference": _reference("document", row.document_id),
        "words": row.words,
        "corrects": row.corrects,
        "corrected_by": row.corrected_by,
        "replacement_reference": _reference("print", row.replacement_id),
        "written_at": row.written_at,
    }
    if private:
        item |= {"person": row.person, "from": row.from_name, "price_minor": row.price_minor, "currency": row.currency}
    return item


def print_entries(
    rows: Sequence[LedgerRow], *, hide: Hide, private: bool, as_json: bool, as_csv: bool, empty: str
) -> None:
    """Print entries of the ledger in any of the three ways."""
    print_items(
        [replace(row, place=hide(row.place or "") or None, words=hide(row.words or "") or None) for row in rows],
        partial(entry_item, private=private), partial(_entry_cells, private=private),
        ["", "entry", "number", "date", "what", "who", "said", *(["price"] if private else [])],
        as_json=as_json, as_csv=as_csv, empty=empty,
    )  # fmt: skip


def _entry_cells(row: LedgerRow, *, private: bool) -> list[str]:
    from catalog.dates import edtf_in_words
    from catalog.rules.money import format_money

    said = [row.place, row.words, f"until {edtf_in_words(row.due_edtf)}" if row.due_edtf else None]
    said.append(f"takes out entry {row.corrects}" if row.corrects else None)
    said.append(f"corrected by entry {row.corrected_by}" if row.corrected_by else None)
    said.append(f"by {_reference('print', row.replacement_id)}" if row.replacement_id else None)
    said.append(f"from {_who(row.from_id, row.from_name, private)}" if row.from_id else None)
    cells = [
        _reference("print", row.print_id) or "",
        str(row.number),
        f"{_reference('edition', row.edition_id)} {row.written}" if row.written else "none",
        edtf_in_words(row.date_edtf) if row.date_edtf else "undated",
        row.kind,
        "" if row.person_id is None else _who(row.person_id, row.person, private),
        "; ".join(part for part in said if part),
    ]
    price = "" if row.price_minor is None else format_money(row.price_minor, row.currency or "")
    return cells + ([price] if private else [])


def print_items(
    rows: Sequence[Any], item: Callable[[Any], dict[str, Any]], cells: Callable[[Any], list[str]],
    headings: Sequence[str], *, as_json: bool, as_csv: bool, empty: str,
    after: Callable[[Sequence[Any]], str] | None = None,
) -> None:  # fmt: skip
    """Print rows: as a table in words, as one JSON document, or as comma-separated values."""
    if as_json:
        items = [item(row) for row in rows]
        print_json({"items": items, "count": len(items)})
    elif as_csv:
        flat = [flat_item(item(row)) for row in rows]
        print_csv(list(flat[0]) if flat else ["reference"], [list(each.values()) for each in flat])
    elif not rows:
        click.echo(empty)
    else:
        print_table(headings, [cells(row) for row in rows])
        if after is not None:
            click.echo(after(rows))


_DATES = frozenset({"pulled", "since", "due", "held_until", "date", "stated"})


def flat_item(item: dict[str, Any]) -> dict[str, Any]:
    """Return an item with one value a cell: a date by its EDTF and its days, a list with semicolons."""
    flat: dict[str, Any] = {}
    for name, value in item.items():
        if name in _DATES:
            for part in ("edtf", "earliest", "latest"):
                flat[f"{name}_{part}"] = value[part] if value else None
        else:
            flat[name] = "; ".join(map(str, value)) if isinstance(value, list) else value
    return flat
