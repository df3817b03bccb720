"""What every command shares: the archive it works on, and how its answer is printed."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import click

from catalog.store.archive import Archive, open_archive

Command = Callable[..., Any]


def archive_option(command: Command) -> Command:
    """Give a command ``--archive`` and hand it the opened ``Archive`` as its first argument."""

    def opened(ctx: click.Context, _parameter: click.Parameter, value: str | None) -> Archive:
        return open_for_command(value or ctx.find_root().obj)

    return click.option(
        "--archive",
        metavar="FOLDER",
        callback=opened,
        help="The archive; otherwise looked for upwards from here.",
    )(command)


def open_for_command(named: str | None) -> Archive:
    """Return the archive a command works on; say on standard error what an earlier killed process left."""
    from catalog.store.interrupted import settle_interrupted

    archive = open_archive(named)
    for line in settle_interrupted(archive):
        click.echo(line, err=True)
    return archive


def say_waiting(sentence: str) -> None:
    """Tell the person that another window is writing."""
    click.echo(sentence, err=True)


json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
csv_option = click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values.")
dry_run_option = click.option("--dry-run", is_flag=True, help="Say what would be done, and do nothing.")


def print_json(document: Mapping[str, Any]) -> None:
    """Print one JSON document."""
    import json

    click.echo(json.dumps(document, ensure_ascii=False, indent=2))


def json_date(edtf: str | None, earliest: int | None, latest: int | None) -> dict[str, Any] | None:
    """Return a date as every ``--json`` says it, or ``None`` when undated (design section 10)."""
    if edtf is None:
        return None
    from catalog.dates import format_words, iso_day, parse_edtf

    return {
        "edtf": edtf,
        "words": format_words(parse_edtf(edtf)),
        "earliest": iso_day(earliest),
        "latest": iso_day(latest),
    }


def print_csv(headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Print comma-separated values that a spreadsheet will not take for formulas."""
    import csv

    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(headings)
    writer.writerows([csv_cell(value) for value in row] for row in rows)


def csv_cell(value: Any) -> str:
    """Return a value as a CSV cell; a text that a spreadsheet would run as a formula gets an apostrophe."""
    text = "" if value is None else str(value)
    return (
        "'" + text
        if text[:1] in ("=", "+", "@", "\t") or (text[:1] == "-" and not text[1:2].isdigit())
        else text
    )


def display_width(text: str) -> int:
    """Return how many columns of a terminal ``text`` takes."""
    if text.isascii():
        return len(text)
    from wcwidth import wcswidth

    return max(wcswidth(text), 0)


def fit(text: str, width: int) -> str:
    """Return ``text`` cut or padded to ``width`` columns; a cut is shown by an ellipsis."""
    text = one_line(text)
    if display_width(text) > width:
        while text and display_width(text) > width - 1:
            text = text[:-1]
        text += "…"
    return text + " " * (width - display_width(text))


def one_line(text: str) -> str:
    """Return ``text`` with line breaks as ``/`` and control characters as escapes: a terminal obeys them."""
    text = " / ".join(part.strip() for part in text.splitlines()) if "\n" in text or "\r" in text else text
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]], width: int | None = None) -> None:
    """
    Print rows in straight columns that fit the terminal; the last column takes what is left.

    Piped, nothing is cut.
    """
    if not rows:
        return
    columns = [[heading, *(one_line(row[i]) for row in rows)] for i, heading in enumerate(headings)]
    widths = [max(display_width(text) for text in column) for column in columns]
    total = width if width is not None else terminal_width()
    if total:
        widths = narrowed(widths, total)
    for line in zip(*columns, strict=True):
        click.echo("  ".join(fit(text, w) for text, w in zip(line, widths, strict=True)).rstrip())


def narrowed(widths: list[int], total: int) -> list[int]:
    """Return column widths that fit ``total``: the widest gives way first, none below eight."""
    widths = list(widths)
    while sum(widths) + 2 * (len(widths) - 1) > total and max(widths) > 8:
        widths[widths.index(max(widths))] -= 1
    return widths


def terminal_width() -> int | None:
    """Return the columns of the terminal, or ``None`` when the answer goes to a file or a pipe."""
    if not sys.stdout.isatty():
        return None
    import shutil

    return shutil.get_terminal_size().columns


@contextmanager
def progress(label: str, length: int) -> Iterator[Callable[[int], None]]:
    """Give a function that moves a progress bar on; on a terminal only."""
    if not sys.stderr.isatty():
        yield lambda _steps: None
        return
    with click.progressbar(length=length, label=label, file=sys.stderr) as bar:
        yield bar.update
