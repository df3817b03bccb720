"""``tiebeam sheets``: sheets and the numbers written for them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import date_words, joined, list_command, show_command
from catalog.cli.typed import Typed, choose_part, said_by_option, source_option, typed_id, typed_origin
from catalog.cli.views import elevation_option, part_option, typed_shown, typed_view
from catalog.rules.vocabulary import FATES, MEDIUMS

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive

# An option's second name is that of the field (``catalog.rules.fields``).
_OPTIONS = (
    click.option("--date", "exposed", metavar="DATE", help="When it was exposed (c. 1978, June 1979, 78 or 79)."),
    click.option("--lens", "lens_id", metavar="LENS", help="By name or focal length; doubt is kept (90?, 90 or 120)."),
    click.option("--film", "film_id", metavar="FILM", help="Doubt is kept."),
    click.option("--camera", "camera_id", metavar="CAMERA"),
    click.option("--roll", "roll_id", metavar="ROLL", help="The roll it lies on (O2)."),
    click.option("--frame", help="Its number on the roll."),
    click.option("--medium", type=click.Choice(MEDIUMS)),
    click.option("--base", help="What the film is made of."),
    click.option("--format", help="Its size (4x5 in)."),
    click.option("--holder-side", help="Which side of which holder."),
    click.option("--aperture", "aperture_f", metavar="F", help="f-number (f/22)."),
    click.option("--shutter", "shutter_s", metavar="SECONDS", help="1/30, 2 s."),
    click.option("--filter", help="The filter on the lens."),
    click.option("--rise", "rise_mm", metavar="MM", help="Front rise; below nought is a fall."),
    click.option("--shift", "shift_mm", metavar="MM"),
    click.option("--tilt", "tilt_deg", metavar="DEGREES"),
    click.option("--swing", "swing_deg", metavar="DEGREES"),
    click.option("--extension", "extension_mm", metavar="MM", help="Rear node to film."),
    click.option("--development"),
    click.option("--lab", "lab_id", metavar="PERSON", help="Who processed it."),
    click.option("--docket", help="The lab's docket."),
    click.option("--box"),
    click.option("--sleeve"),
    click.option("--fate", type=click.Choice(FATES), help="What became of it."),
    click.option("--fate-date", metavar="DATE", help="When."),
    click.option("--condition"),
    click.option("--copied-from", "copied_from_id", metavar="SHEET", help="The sheet it is a copy of."),
)


@click.group()
def sheets() -> None:
    """Sheets and the numbers written for them."""


def _facts(command: Command) -> Command:
    for option in reversed(_OPTIONS):
        command = option(command)
    return source_option(said_by_option(deed_options(command)))


@sheets.command()
@click.option("--number", "numbers", multiple=True, help="A number written for it, exactly as written.")
@click.option("--scheme", default="", help="The numbers' scheme (yearly, box).")
@click.option("--written-on", default="", help="Where they are written (film edge, sleeve, card, docket).")
@click.option("--shows", multiple=True, metavar="WHAT", help="A building or place; doubt is kept (Osk Mill?).")
@elevation_option
@part_option
@click.option("--title", help="Of the view.")
@click.option("--standpoint", metavar="STANDPOINT", help="Where the camera stood; doubt is kept.")
@click.option("--visit", metavar="VISIT", help="The day in the field (D3).")
@click.option("--view", "view_texts", multiple=True, metavar="VIEW", help="A view known already that it holds (V7).")
@_facts
def add(
    archive: Archive, *, numbers: tuple[str, ...], scheme: str, written_on: str, shows: tuple[str, ...],
    elevation: str | None, part: str | None, title: str | None, standpoint: str | None, visit: str | None,
    view_texts: tuple[str, ...], source: str | None, said_by: str | None, dry_run: bool, **options: Any,
) -> None:  # fmt: skip
    """Add a sheet with its numbers and what it shows; --elevation and --part are of the first --shows."""
    from catalog.actions.sheets import Number, add_sheet

    shown = typed_shown(archive, shows, elevation, part)
    view = typed_view(archive, title, standpoint, visit)
    typed = Typed(archive).fields("sheet", **options)
    if not (numbers or shown or view.facts or view_texts or typed.facts):
        raise click.UsageError("Say something of the sheet: its --number, its --date, what it --shows ...")
    add_sheet(
        archive, numbers=[Number(text, scheme, written_on) for text in numbers], shows=shown,
        view_ids=[typed_id(archive, text, "view") for text in view_texts], **view.facts, **typed.facts,
        wordings=typed.wordings, view_wordings=view.wordings, said_by=typed_origin(archive, source, said_by),
        desk=desk_for(dry_run),
    )  # fmt: skip


@sheets.command()
@click.argument("sheet")
@_facts
def correct(
    archive: Archive, *, sheet: str, source: str | None, said_by: str | None, dry_run: bool, **options: Any
) -> None:
    """
    Correct a sheet, by reference or number; what is not given stays, an empty text takes a fact away.

    A doubtful value that is replaced keeps its wording; --source or --said-by tell who says better.
    """
    from catalog.actions.sheets import correct_sheet

    typed = Typed(archive).fields("sheet", **options)
    correct_sheet(
        archive, typed_id(archive, sheet, "sheet"), **typed.facts, wordings=typed.wordings,
        said_by=typed_origin(archive, source, said_by), desk=desk_for(dry_run),
    )  # fmt: skip


@sheets.command("number")
@click.argument("sheet")
@click.argument("number")
@click.option("--scheme", default="", help="Its scheme (yearly, box).")
@click.option("--written-on", default="", help="Where it is written (film edge, sleeve, card, docket).")
@deed_options
def number_command(archive: Archive, *, sheet: str, number: str, scheme: str, written_on: str, dry_run: bool) -> None:
    """Add a number that is written for a sheet, exactly as written; several sheets may carry the same one."""
    from catalog.actions.sheets import Number, add_number

    sheet_id = typed_id(archive, sheet, "sheet")
    add_number(archive, sheet_id, Number(number, scheme, written_on), desk=desk_for(dry_run))


@sheets.command("correct-number")
@click.argument("sheet")
@click.argument("which", type=int, required=False, metavar="[WHICH]")
@click.option("--to", help="The number, exactly as written.")
@click.option("--scheme")
@click.option("--written-on")
@deed_options
def correct_number_command(
    archive: Archive, *, sheet: str, which: int | None, to: str | None, scheme: str | None, written_on: str | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Correct a number of a sheet; WHICH says which where there are several (without it they are listed)."""
    from catalog.actions.sheets import correct_number

    sheet_id = typed_id(archive, sheet, "sheet")
    number_id = choose_part(archive, "sheet_number", sheet_id, which, "number")
    desk = desk_for(dry_run)
    correct_number(archive, sheet_id, number_id, text=to, scheme=scheme, written_on=written_on, desk=desk)


@sheets.command()
@click.argument("sheet")
@click.argument("view")
@deed_options
def holds(archive: Archive, *, sheet: str, view: str, dry_run: bool) -> None:
    """Add a view that a sheet holds: a bracket shares one, a double exposure has two."""
    from catalog.actions.sheets import add_sheet_view

    sheet_id, view_id = typed_id(archive, sheet, "sheet"), typed_id(archive, view, "view")
    add_sheet_view(archive, sheet_id, view_id, desk=desk_for(dry_run))


sheets.add_command(
    list_command(
        "SheetRow",
        "sheet",
        [
            ("number", lambda row: joined(row.numbers)),
            ("exposed", lambda row: date_words(row.exposed_edtf, row.exposed_words)),
            ("shows", lambda row: joined(row.shows)),
            ("lens", lambda row: row.lens_doubt or row.lens),
            ("film", lambda row: row.film_doubt or row.film),
            ("fate", lambda row: row.fate if row.fate != "exposed" else ""),
        ],
        words="List every sheet; to look for some, see: tiebeam find",
        empty="No sheets yet. Add one with: tiebeam sheets add --number NUMBER",
    )
)
sheets.add_command(show_command("sheet", words="Show a sheet whole, down to every scan."))
