"""``tiebeam tones``: where the tones of a picture lie, and on which paper. ``tiebeam papers``: the stocks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from catalog.cli._tone_words import CSV_HEADINGS, page_item, page_lines, page_rows, paper_item
from catalog.cli.common import (
    archive_option,
    csv_option,
    json_option,
    one_line,
    print_csv,
    print_json,
    print_table,
    progress_told,
    terminal_width,
)
from catalog.rules.papers import find_paper

if TYPE_CHECKING:
    from catalog.outputs.tone_pages import TonePage
    from catalog.store.archive import Archive

USUAL_WIDTH = 80
_SLOW_PIXELS = 20_000_000
"""Fewer are counted in less than a second."""


@click.command(short_help="Say where the tones of a picture lie, and on which paper.")
@click.argument("number")
@click.option("--scan", metavar="SCAN", help="This scan of the sheet, not its newest version.")
@click.option("--version", metavar="VERSION", help="This version of the sheet (W3).")
@click.option("--paper", "paper_name", metavar="PAPER", help="The stock it is judged for: tiebeam papers.")
@click.option("--output", "-o", metavar="FILE", help="Draw the page into a file ending in .png or .svg.")
@click.option("--replace", is_flag=True, help="Write over FILE if it is there.")
@archive_option
@json_option
@csv_option
def tones(
    archive: Archive,
    *,
    number: str,
    scan: str | None,
    version: str | None,
    paper_name: str | None,
    output: str | None,
    replace: bool,
    as_json: bool,
    as_csv: bool,
) -> None:
    """
    Say where the tones of a picture lie: in zones and in the L* of a print.

    NUMBER is a sheet's number or reference, a scan (C3) or a version (W2). Of a sheet it is the newest version that
    nothing replaces, else its scan. The scan of a negative is told as the positive that would be proposed for it.
    Nothing is written but the drawing asked for.
    """
    from catalog.outputs.tone_pages import read_tone_page
    from catalog.store.tone_pictures import find_tone_picture

    paper = find_paper(archive.settings.papers, paper_name) if paper_name is not None else None
    target = _target(output, replace=replace)
    with archive.reading() as connection:
        picture = find_tone_picture(connection, archive, number, scan=scan, version=version)
    with progress_told("Reading tones", least=_SLOW_PIXELS) as bar:
        page = read_tone_page(picture, paper, bar)
    if target is not None:
        _draw(archive, page, target, replace=replace)
    if as_json:
        print_json({"items": [page_item(page)], "count": 1})
    elif as_csv:
        print_csv(CSV_HEADINGS, page_rows(page))
    elif target is None:
        for line in page_lines(page, terminal_width() or USUAL_WIDTH):
            click.echo(line)
    else:
        from catalog.store.files import shown_path

        click.echo(f"The tones of {page.reference} were drawn in {one_line(shown_path(target))}.")


def _target(output: str | None, *, replace: bool) -> Path | None:
    """Return where to draw, looked over before any work is done."""
    if output is None:
        if replace:
            raise click.UsageError("--replace goes with --output FILE")
        return None
    from catalog.outputs.handed_out import check_free

    target = Path(output)
    if target.suffix.lower() not in (".png", ".svg"):
        raise click.UsageError(f"{target.name}: the name of a drawing ends in .png or .svg")
    check_free(target, replace=replace)
    return target


def _draw(archive: Archive, page: TonePage, target: Path, *, replace: bool) -> None:
    from catalog.outputs.fonts import load_fonts
    from catalog.outputs.handed_out import write_files
    from catalog.outputs.tone_drawings import draw_png, draw_svg

    own = archive.settings.documents_font
    fonts = load_fonts(archive.folder / own if own else None)
    drawn = draw_svg(page, fonts) if target.suffix.lower() == ".svg" else draw_png(page, fonts)
    write_files([(target, drawn)], replace=replace)


@click.command(short_help="List the paper stocks that tones are judged for.")
@archive_option
@json_option
@csv_option
def papers(archive: Archive, *, as_json: bool, as_csv: bool) -> None:
    """
    List the paper stocks of this archive: L* of their white and of their deepest black, and who says so.

    They stand in tiebeam.toml as [papers."name"], to be edited there.
    """
    stocks = archive.settings.papers
    if as_json:
        print_json({"items": [paper_item(stock) for stock in stocks], "count": len(stocks)})
    elif as_csv:
        print_csv(("name", "white_l", "black_l", "source"), [(p.name, p.white_l, p.black_l, p.source) for p in stocks])
    elif not stocks:
        click.echo('No papers. Add one to tiebeam.toml: [papers."name"] with white_l, black_l and source.')
    else:
        rows = [[p.name, f"{p.white_l:g}", f"{p.black_l:g}", p.source] for p in stocks]
        print_table(["paper", "white L*", "black L*", "source"], rows)
