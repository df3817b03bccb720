"""``tiebeam contact-sheets``: pages of pictures at the film's own size, with their captions."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, json_option, one_line, print_json, progress
from catalog.cli.find import frame_options
from catalog.rules.counting import counted

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog.actions.contact_sheets import ContactSheetMade
    from catalog.store.archive import Archive


@click.group("contact-sheets", short_help="Set pictures with their captions on pages.")
def contact_sheets() -> None:
    """Pages of pictures at the film's own size, or smaller, each with its caption."""


@contact_sheets.command()
@frame_options
@click.option(
    "-o",
    "--output",
    metavar="FILE",
    required=True,
    type=click.Path(path_type=Path),
    help="Where it goes: a .pdf, or a .png, which is one file a page.",
)
@click.option(
    "--picture-width",
    metavar="MM",
    type=float,
    help="The longest side of a picture. Without it pictures have the film's own size.",
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="Otherwise the one in the settings.")
@click.option(
    "--order",
    type=click.Choice(["date", "number", "place"]),
    default="date",
    show_default=True,
    help="In which order frames stand.",
)
@click.option(
    "--turned", is_flag=True, help="At the film's own size, lay wide pictures on their side: four sheets to a page."
)
@click.option("--replace", is_flag=True, help="Write over a file of this name.")
@archive_option
@json_option
def make(
    archive: Archive, *, output: Path, picture_width: float | None, paper: str | None, order: str, turned: bool,
    replace: bool, as_json: bool, **asked: Any,
) -> int:  # fmt: skip
    """
    Make a contact sheet of the frames asked for; of all frames when nothing is asked.

    WORDS and options are those of find. Under each picture stand number, date, buildings and place, with every
    doubt. A frame without a picture has an empty box that says why. Index pictures that are not there are made
    first. Names and addresses of persons are never on it.
    """
    from catalog.actions.contact_sheets import ContactSheetAsked, make_contact_sheet
    from catalog.store.asking import ask

    with archive.reading() as connection:
        question = ask(connection, archive, **asked)
    wanted = ContactSheetAsked(
        output=output, paper=paper or archive.settings.documents_paper, picture_mm=picture_width, order=order,
        is_turned=turned, asked=asked_words(asked), replace=replace,
    )  # fmt: skip
    with ExitStack() as stack:
        bar: list[Callable[[int], None]] = []

        def begin(count: int) -> None:
            bar[:] = [stack.enter_context(progress("index pictures", count))] if count else bar

        made = make_contact_sheet(archive, question, wanted, on_begin=begin, on_progress=lambda steps: bar[0](steps))
    if as_json:
        _print_json(made)
    else:
        _print(made)
    return int(any(one.is_finding for one in made.without))


def asked_words(asked: dict[str, Any]) -> str:
    """
    Return in words which frames were asked for.

    >>> asked_words({"words": ("Osk", "Mill"), "years": "1975/1990", "taken_from": None, "undated": True})
    'Osk Mill; years 1975/1990; undated'
    """
    parts = [" ".join(asked.get("words", ()))]
    for option, value in asked.items():
        if option != "words" and value:
            name = option.replace("_", " ")
            parts.append(name if value is True else f"{name} {value}")
    return "; ".join(filter(None, parts))


def _print(made: ContactSheetMade) -> None:
    from catalog.store.files import shown_path

    pages = counted(made.pages, "page")
    names = one_line(shown_path(made.files[0]))
    if len(made.files) > 1:
        names += f" to {one_line(shown_path(made.files[-1].name))}"
    click.echo(f"{counted(made.frames, 'frame')} on {pages}: {names}")
    reasons: dict[str, list[str]] = {}
    for one in made.without:
        if one.is_finding:
            click.echo(f"S{one.sheet_id} {one_line(one.number)}: {one_line(one.why)}", err=True)
        else:
            reasons.setdefault(one.why, []).append(one.number)
    for why, numbers in reasons.items():
        listed = ", ".join(numbers[:6]) + (f" and {len(numbers) - 6} more" if len(numbers) > 6 else "")
        click.echo(one_line(f"Without a picture, {why}: {listed}."))


def _print_json(made: ContactSheetMade) -> None:
    from catalog.store.files import shown_path

    items = [
        {"reference": f"S{one.sheet_id}", "number": one.number, "why": one.why, "is_finding": one.is_finding}
        for one in made.without
    ]
    print_json(
        {
            "files": [shown_path(path) for path in made.files],
            "frames": made.frames,
            "pages": made.pages,
            "items": items,
            "count": len(items),
        }
    )
