"""What every command shares: the archive it works on, and how its answer is printed."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Any

import click

from catalog.rules.lines import display_width as display_width
from catalog.rules.lines import fit as fit
from catalog.rules.lines import one_line as one_line
from catalog.rules.lines import wrapped as wrapped
from catalog.store.archive import Archive, has_deeds_under_way, open_archive

if TYPE_CHECKING:
    import sqlite3

Command = Callable[..., Any]


def archive_option(command: Command) -> Command:
    """Give a command ``--archive`` and hand it the opened ``Archive`` as its first argument."""
    return _archive_option(open_for_command)(command)


def archive_to_read_option(command: Command) -> Command:
    """Give ``--archive`` to a command that does nothing but read, within ``reading``."""
    return _archive_option(open_archive)(command)


def _archive_option(open_named: Callable[[str | None], Archive]) -> Callable[[Command], Command]:
    def opened(ctx: click.Context, _parameter: click.Parameter, value: str | None) -> Archive:
        return open_named(value or ctx.find_root().obj)

    return click.option(
        "--archive",
        metavar="FOLDER",
        callback=opened,
        help="The archive; otherwise looked for upwards from here.",
    )


def open_for_command(named: str | None) -> Archive:
    """Return the archive a command works on; say on standard error what an earlier killed process left."""
    archive = open_archive(named)
    say_what_was_left(archive)
    return archive


@contextmanager
def reading(archive: Archive) -> Iterator[sqlite3.Connection]:
    """Give a connection to read; what an earlier killed process left is said when it is closed: one opening less."""
    with archive.reading() as connection:
        yield connection
        is_left = has_deeds_under_way(connection)
    if is_left:
        say_what_was_left(archive)


def say_what_was_left(archive: Archive) -> None:
    """Settle what killed processes left, and say on standard error what is still to do."""
    from catalog.store.interrupted import settle_interrupted

    for line in settle_interrupted(archive):
        click.echo(line, err=True)


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
    from catalog.dates import edtf_in_words, iso_day

    return {
        "edtf": edtf,
        "words": edtf_in_words(edtf),
        "earliest": iso_day(earliest),
        "latest": iso_day(latest),
    }


def print_csv(headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Print comma-separated values that a spreadsheet will not take for formulas."""
    import csv

    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(headings)
    writer.writerows([csv_cell(value) for value in row] for row in rows)


_PLAIN_NUMBER = re.compile(r"-?\d+(\.\d+)?")
# What a spreadsheet takes for the beginning of a formula; the last four are the wide forms of the first four.
_FORMULA_SIGNS = tuple("=+-@\t\r＝＋－＠")


def csv_cell(value: Any) -> str:
    """Return a value as a CSV cell; a text that a spreadsheet would run as a formula gets an apostrophe."""
    text = "" if value is None else str(value)
    return "'" + text if text.startswith(_FORMULA_SIGNS) and not _PLAIN_NUMBER.fullmatch(text) else text


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]], width: int | None = None) -> None:
    """
    Print rows in straight columns that fit the terminal; a cell that is too long goes on below itself.

    Piped, every row is one line.
    """
    if not rows:
        return
    columns = [[heading, *(one_line(row[i]) for row in rows)] for i, heading in enumerate(headings)]
    widths = [max(display_width(text) for text in column) for column in columns]
    total = width if width is not None else terminal_width()
    if total:
        least = [max(display_width(word) for text in column for word in text.split(" ")) for column in columns]
        widths = narrowed(widths, least, total)
    lines = []
    for line in zip(*columns, strict=True):
        cells = [wrapped(text, w) if total else [text] for text, w in zip(line, widths, strict=True)]
        for part in range(max(map(len, cells))):
            texts = (cell[part] if part < len(cell) else "" for cell in cells)
            lines.append("  ".join(_padded(text, w) for text, w in zip(texts, widths, strict=True)).rstrip())
    click.echo("\n".join(lines))


def _padded(text: str, width: int) -> str:
    return text + " " * (width - display_width(text))


_LEAST_WIDTH = 8


def narrowed(widths: list[int], least: list[int], total: int) -> list[int]:
    """
    Return column widths that fit ``total``: the widest gives way first.

    None goes below its longest word (``least``) while others can give way, nor below eight columns at all.
    """
    widths = list(widths)
    for floors in ([max(each, _LEAST_WIDTH) for each in least], [_LEAST_WIDTH] * len(widths)):
        while sum(widths) + 2 * (len(widths) - 1) > total:
            wide = [i for i, w in enumerate(widths) if w > floors[i]]
            if not wide:
                break
            widths[max(wide, key=widths.__getitem__)] -= 1
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


@contextmanager
def progress_told(label: str, *, least: int = 0) -> Iterator[Callable[[int, int], None]]:
    """Give a function that is told (done, of how many); the bar appears when it is told of ``least`` or more."""
    with ExitStack() as stack:
        update: Callable[[int], None] | None = None
        before = 0

        def move(done: int, length: int) -> None:
            nonlocal update, before
            if length < least:
                return
            if update is None:
                update = stack.enter_context(progress(label, length))
            if done > before:
                update(done - before)
                before = done

        yield move
