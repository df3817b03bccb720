"""``tiebeam show``: one record whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, fit, json_date, json_option, one_line, print_json, terminal_width

if TYPE_CHECKING:
    from catalog.store.archive import Archive
    from catalog.store.show import DateValue, Fact, Line, Record


@click.command(short_help="Show one record whole: by reference, number or name.")
@click.argument("what")
@archive_option
@json_option
def show(archive: Archive, *, what: str, as_json: bool) -> None:
    """
    Show one record whole.

    WHAT is read as a reference (S412, B7), then as a number written for a sheet, then as a name. What several
    records answer to is listed with their references.
    """
    from catalog.store.show import identify

    with archive.reading() as connection:
        table, record_id = identify(connection, what)
    show_record(archive, table, record_id, as_json)


def show_record(archive: Archive, table: str, record_id: int, as_json: bool) -> None:
    """Print one record whole, in words or as JSON."""
    from catalog.store.show import read_record

    with archive.reading() as connection:
        record = read_record(connection, table, record_id, archive.about_days)
    if as_json:
        print_json(json_record(record))
    else:
        print_record(record)


def date_words(date: DateValue) -> str:
    """Return a date in words, with the words it was written in where those say it otherwise."""
    from catalog.dates import format_words, parse_edtf

    words = format_words(parse_edtf(date.edtf) if date.edtf else None)
    return f'{words} (written "{date.words}")' if date.words and date.words.casefold() != words.casefold() else words


def line_words(line: Line) -> str:
    """Return what belongs to a record as one line of words."""
    when = ""
    if line.date is not None:
        when = date_words(line.date)
    if line.until is not None:
        when = (f"from {when} " if when else "") + f"until {date_words(line.until)}"
    elif line.date is not None and line.until is None and line.reference and line.reference[0] in "LB":
        when = f"from {when}"
    return "; ".join(filter(None, (line.words, when, *line.marks)))


def fact_words(fact: Fact) -> str:
    """Return a fact's value in words, with its doubt."""
    if isinstance(fact.value, str | int | float):
        words = f"{fact.value:g}" if isinstance(fact.value, float) else str(fact.value)
    else:
        words = date_words(fact.value)
    return f'{words}   (doubtful; written "{fact.doubt}")' if fact.doubt else words


def print_record(record: Record) -> None:
    """Print a record: its facts, then what belongs to it, each under a heading."""
    width = terminal_width()
    click.echo(one_line(f"{record.reference}  {record.title}"))
    label = max((len(fact.field) for fact in record.facts), default=0)
    for fact in record.facts:
        _echo_wrapped(f"  {fit(fact.field, label)}  ", fact_words(fact), width)
    for heading, lines in record.sections:
        click.echo(f"\n{heading}")
        for line in lines:
            _echo_wrapped(f"  {fit(line.reference or '', 5)} ", line_words(line), width)


def _echo_wrapped(before: str, text: str, width: int | None) -> None:
    """Print ``text`` after ``before``, continued below itself where the terminal is narrow."""
    import textwrap

    text = one_line(text)
    if not width or len(before) + len(text) <= width:
        click.echo((before + text).rstrip())
        return
    for number, part in enumerate(textwrap.wrap(text, max(width - len(before), 20)) or [""]):
        click.echo(((" " * len(before) if number else before) + part).rstrip())


def json_record(record: Record) -> dict[str, Any]:
    """Return a record as ``--json`` says it (docs/manual/json.md)."""
    return {
        "reference": record.reference,
        "kind": record.table,
        "title": record.title,
        **{fact.field.replace(" ", "_").strip("/_"): _json_fact(fact) for fact in record.facts},
        **{heading.replace(" ", "_"): [_json_line(line) for line in lines] for heading, lines in record.sections},
    }


def _json_value(value: Any) -> Any:
    if isinstance(value, str | int | float):
        return value
    return json_date(value.edtf, value.earliest, value.latest)


def _json_fact(fact: Fact) -> Any:
    value = _json_value(fact.value)
    return {"value": value, "as_written": fact.doubt} if fact.doubt else value


def _json_line(line: Line) -> dict[str, Any]:
    found: dict[str, Any] = {"reference": line.reference, "words": line.words}
    if line.date is not None:
        found["date"] = _json_value(line.date)
    if line.until is not None:
        found["until"] = _json_value(line.until)
    if line.marks:
        found["marks"] = list(line.marks)
    return found
