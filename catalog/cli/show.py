"""``tiebeam show``: one record whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    archive_to_read_option,
    fit,
    json_date,
    json_option,
    one_line,
    print_json,
    reading,
    terminal_width,
    wrapped,
)
from catalog.dates import edtf_in_words
from catalog.rules.references import WORDS

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog.store.archive import Archive
    from catalog.store.find import FoundScan
    from catalog.store.show import DateValue, Fact, Line, Record


@click.command(short_help="Show one record whole: by reference, number or name.")
@click.argument("what")
@archive_to_read_option
@json_option
def show(archive: Archive, *, what: str, as_json: bool) -> None:
    """
    Show one record whole.

    WHAT is read as a reference (S412, B7), then as a number written for a sheet, then as a name. What several
    records answer to is listed with their references.
    """
    from catalog.store.show import identify

    with reading(archive) as connection:
        table, record_id = identify(connection, what)
    show_record(archive, table, record_id, as_json)


def show_record(archive: Archive, table: str, record_id: int, as_json: bool) -> None:
    """Print one record whole, in words or as JSON."""
    from catalog.store.show import read_record

    with archive.reading() as connection:
        record = read_record(connection, table, record_id, archive.about_days)
        if as_json:
            from catalog.cli.find import drives_here, scan_path

            scans = [line.scan for _, lines in record.sections for line in lines] + [record.scan]
            drives = drives_here(connection, [scan for scan in scans if scan is not None])
            item = json_record(record, lambda scan: scan_path(scan, archive, drives))
    if as_json:
        print_json({"items": [item], "count": 1})
    else:
        print_record(record)


def date_words(date: DateValue) -> str:
    """Return a date in words, with the words it was written in where those say it otherwise."""
    return _as_written(edtf_in_words(date.edtf), date)


def _as_written(words: str, date: DateValue) -> str:
    return f'{words} (written "{date.words}")' if date.words and date.words.casefold() != words.casefold() else words


def span_words(begun: DateValue | None, ended: DateValue | None) -> str:
    """Return how long something held, in words: "from 1722 until June 1979"."""
    ends = (("from", begun), ("until", ended))
    return " ".join(_as_written(f"{word} {_moment_words(date.edtf)}", date) for word, date in ends if date is not None)


def _moment_words(edtf: str | None) -> str:
    """Return a beginning or an end in words that can follow "from" or "until"."""
    if edtf is None:
        return "a time not known"
    words = edtf_in_words(edtf)
    if words.startswith("by "):
        return f"{words[3:]} or earlier"
    if words.startswith("from ") and " to " in words:
        return "some time between " + words[5:].replace(" to ", " and ", 1)
    return f"some time {words}" if words.startswith(("between ", "from ", "until ")) else words


def line_words(line: Line) -> str:
    """Return what belongs to a record as one line of words."""
    if line.is_span:
        when = span_words(line.date, line.until)
    else:
        when = date_words(line.date) if line.date is not None else ""
    if line.number is not None:  # an entry of a ruled page: its date comes first
        return f"{when}: " + "; ".join([line.words.rstrip("."), *line.marks])
    return "; ".join(filter(None, (line.words, when, *line.marks)))


def fact_words(fact: Fact) -> str:
    """Return a fact's value in words, with its doubt."""
    if fact.value is None:
        words = "not known"
    elif isinstance(fact.value, str | int | float):
        words = f"{fact.value:g}" if isinstance(fact.value, float) else str(fact.value)
    else:
        words = date_words(fact.value)
    if fact.doubt is None or f'(written "{fact.doubt}")' in words:
        return words
    return f'{words} (doubtful; written "{fact.doubt}")'


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
