"""``tiebeam show``: one record whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    archive_to_read_option,
    json_date,
    json_option,
    print_json,
    reading,
    terminal_width,
)
from catalog.rules.lines import fit, one_line, wrapped
from catalog.rules.references import WORDS
from catalog.store.record_words import fact_words, line_words

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable

    from catalog.store.archive import Archive
    from catalog.store.find import FoundScan
    from catalog.store.show import Fact, Line, Record


@click.command(short_help="Show one record whole: by reference, number or name.")
@click.argument("what")
@click.option("--private", is_flag=True, help="Name the persons who have prints, and prices, too.")
@archive_to_read_option
@json_option
def show(archive: Archive, *, what: str, private: bool, as_json: bool) -> None:
    """
    Show one record whole.

    WHAT is read as a reference (S412, B7), then as a number written for a sheet, then as a name. What several
    records answer to is listed with their references.
    """
    from catalog.store.show import identify

    with reading(archive) as connection:
        table, record_id = identify(connection, what)
    show_record(archive, table, record_id, as_json, private=private)


def show_record(archive: Archive, table: str, record_id: int, as_json: bool, *, private: bool = False) -> None:
    """Print one record whole, in words or as JSON."""
    from catalog.store.show import read_record

    with archive.reading() as connection:
        record = read_record(connection, table, record_id, archive.about_days, is_private=private)
        if table in _OF_BUYERS and not private:
            record = _without_persons(record, archive)
        if as_json:
            from catalog.cli.find import drives_here, scan_path

            scans = [line.scan for _, lines in record.sections for line in lines] + [record.scan]
            drives = drives_here(connection, [scan for scan in scans if scan is not None])
            item = json_record(record, lambda scan: scan_path(scan, archive, drives))
            if table == "edition":
                item |= _edition_item(connection, record_id)
            if table == "edit_version":
                item |= _version_item(connection, archive, record_id)
    if as_json:
        print_json({"items": [item], "count": 1})
    else:
        print_record(record)


# What is typed of these as it comes may name a buyer, or a price; their own words are told by reference alone.
_OF_BUYERS = {"print": None, "document": None, "edition": ("how it went", "numbers"), "run": ("numbers",)}
"""Of each the sections in question, ``None`` for all: the promise of an edition is shown word for word."""
_TYPED = ("place", "markings", "signed", "signed with", "because")


def _without_persons(record: Record, archive: Archive) -> Record:
    """Return a record with persons and prices taken out of what was typed."""
    from dataclasses import replace

    from catalog.store.private_words import hiding

    hide, headings = hiding(archive, private=False), _OF_BUYERS[record.table]

    def hidden(line: Line) -> Line:
        return replace(line, words=hide(line.words), marks=tuple(map(hide, line.marks)))

    facts = tuple(
        replace(fact, value=hide(fact.value)) if fact.field in _TYPED and isinstance(fact.value, str) else fact
        for fact in record.facts
    )
    sections = tuple(
        (heading, tuple(map(hidden, lines)) if headings is None or heading in headings else lines)
        for heading, lines in record.sections
    )
    title = record.title if headings else hide(record.title)
    return replace(record, title=title, facts=facts, sections=sections)


def _version_item(connection: sqlite3.Connection, archive: Archive, version_id: int) -> dict[str, Any]:
    """Return what ``--json`` says of an edit version besides: its steps as data, its descent by reference."""
    from catalog.cli._version_words import version_item
    from catalog.store.versions import get_version

    row = get_version(connection, version_id)
    assert row is not None
    return version_item(connection, archive, row)


def _edition_item(connection: sqlite3.Connection, edition_id: int) -> dict[str, Any]:
    """Return the limit of an edition as a number, ``null`` when it is open."""
    from catalog.store.editions import find_edition

    row = find_edition(connection, edition_id)
    return {"limit": row.limit if row is not None else None}


def print_record(record: Record) -> None:
    """Print a record: its facts, then what belongs to it, each under a heading."""
    width = terminal_width()
    _echo_wrapped(f"{record.reference}  ", record.title, width)
    label = max((len(fact.field) for fact in record.facts), default=0)
    for fact in record.facts:
        _echo_wrapped(f"  {fit(fact.field, label)}  ", fact_words(fact), width)
    for heading, lines in record.sections:
        click.echo(f"\n{heading}")
        cited = [line.reference or (f"{line.number}." if line.number else "") for line in lines]
        room = max(map(len, cited))
        for line, cite in zip(lines, cited, strict=True):
            _echo_wrapped(f"  {fit(cite, room)}  " if room else "  ", line_words(line), width)


def _echo_wrapped(before: str, text: str, width: int | None) -> None:
    """Print ``text`` after ``before``, continued below itself where the terminal is narrow."""
    text = one_line(text)
    for number, part in enumerate(wrapped(text, max(width - len(before), 20)) if width else [text]):
        click.echo(((" " * len(before) if number else before) + part).rstrip())


def json_record(record: Record, where: Callable[[FoundScan], dict[str, str]]) -> dict[str, Any]:
    """Return a record as ``--json`` says it (docs/manual/json.md); ``where`` tells where the file of a scan is."""
    facts = {fact.field.replace(" ", "_").strip("/_"): _json_fact(fact) for fact in record.facts}
    if record.scan is not None:
        facts |= where(record.scan)
    return {
        "reference": record.reference,
        "record": WORDS[record.table],
        "words": record.title,
        **facts,
        **{
            heading.replace(" ", "_"): [_json_line(line, where) for line in lines] for heading, lines in record.sections
        },
    }


def _json_value(value: Any) -> Any:
    if value is None or isinstance(value, str | int | float):
        return value
    return json_date(value.edtf, value.earliest, value.latest)


def _json_fact(fact: Fact) -> Any:
    value = _json_value(fact.value)
    if isinstance(value, dict) and not isinstance(fact.value, str | int | float | None) and fact.value.words:
        return {**value, "as_written": fact.value.words}
    return {"value": value, "as_written": fact.doubt} if fact.doubt else value


def _json_line(line: Line, where: Callable[[FoundScan], dict[str, str]]) -> dict[str, Any]:
    found: dict[str, Any] = {"reference": line.reference} if line.number is None else {"number": line.number}
    found["words"] = line.words
    for name, date in (("from" if line.is_span else "date", line.date), ("until", line.until)):
        if date is not None:
            found[name] = _json_value(date)
            if date.words:
                found[f"{name}_as_written"] = date.words
    if line.scan is not None:
        found |= where(line.scan)
    if line.marks:
        found["marks"] = list(line.marks)
    return found
