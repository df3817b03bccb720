"""What the commands share that read a table of somebody's in: its options, and the file of the rows left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

if TYPE_CHECKING:
    from catalog.intake.proposals import UnreadableRow
    from catalog.intake.table_mapping import ColumnUse

file_argument = click.argument("file", type=click.Path(path_type=Path))
encoding_option = click.option(
    "--encoding", metavar="NAME", help="The encoding of a text file, where it cannot be told."
)
sheet_option = click.option("--sheet", metavar="NAME", help="The worksheet, where a workbook has several.")
mapping_option = click.option(
    "--mapping", type=click.Path(path_type=Path), help="The mapping file; otherwise FILE's own name ending in .toml."
)
to_option = click.option(
    "--to", type=click.Path(path_type=Path), help="Where to write the mapping; otherwise beside FILE."
)
rejects_option = click.option(
    "--rejects", type=click.Path(path_type=Path), help="Where to write the rows that are left out."
)
all_option = click.option("--all", "show_all", is_flag=True, help="Show every row, not only those to look at.")
_MOST_NAMES: Final = 1000


def say_guessed(target: Path, columns: Mapping[str, ColumnUse], questions: Iterable[str], then: str) -> None:
    """Tell what a guess made of the columns, what it asks, and the command that comes next."""
    for heading, use in columns.items():
        click.echo(f"{heading!r} is {use.field}")
    for question in questions:
        click.echo(f"? {question}")
    click.echo(f"Wrote {target}. Look it over, then: {then}")


def unreadable_words(row: UnreadableRow) -> str:
    """Return a row that cannot be read as a line of a report, its number told once."""
    reasons = (reason.removeprefix(f"row {row.row}, ") for reason in row.reasons)
    return f"row {row.row}: cannot be read: {'; '.join(reasons)}"


def write_rejects(
    rows: Sequence[UnreadableRow], headings: Sequence[str], file: Path, rejects: Path | None
) -> Path | None:
    """
    Write the rows left out of ``file``, each with its reasons, to a file of their own; return its path.

    Nothing is ever written over: somebody may have mended an earlier one. Without ``rejects`` it stands beside
    ``file``, under the next name that is free; one that says just this already serves.

    Raises:
        IntakeError: it cannot be written, or something else is at ``rejects``.
    """
    if not rows:
        return None
    from catalog.errors import IntakeError
    from catalog.intake.cards import unreadable_rows_csv
    from catalog.passing_files import give_name, write_passing

    content = unreadable_rows_csv(rows, headings).encode("utf-8-sig")
    target = rejects or file.with_name(f"{file.stem} not read.csv")
    try:
        passing = write_passing(target.parent, content)
        try:
            for target in [rejects] if rejects else _names_beside(file):
                try:
                    give_name(passing, target)
                except FileExistsError:
                    if target.is_file() and target.read_bytes() == content:
                        return target
                else:
                    return target
        finally:
            passing.unlink(missing_ok=True)
    except OSError as exc:
        raise IntakeError(f"{target} cannot be written: {exc.strerror or exc}. Name another with --rejects.") from exc
    raise IntakeError(f"{target} is there already, and says something else. Name another with --rejects.")


def _names_beside(file: Path) -> Iterable[Path]:
    yield file.with_name(f"{file.stem} not read.csv")
    for number in count(2):
        if number > _MOST_NAMES:
            return
        yield file.with_name(f"{file.stem} not read {number}.csv")
