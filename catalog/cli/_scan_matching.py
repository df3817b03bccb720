"""``tiebeam scans unmatched``, ``match`` and ``unmatch``: which sheet a scan is of, and what waits for one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, dry_run_option, json_option, print_json, print_table, say_waiting
from catalog.rules.counting import counted
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.store.archive import Archive


@click.command("unmatched", short_help="List the scans that wait for a sheet, and why.")
@archive_option
@json_option
def unmatched(archive: Archive, *, as_json: bool) -> None:
    """List the scans that wait for a sheet, why, and the sheets they may be of."""
    from catalog.rules.scan_names import NumberIndex, check_pattern, match_name
    from catalog.store.scans import sheet_numbers, waiting_scans

    pattern = check_pattern(archive.settings.scans_number_pattern)
    with archive.reading() as connection:
        waiting, index = waiting_scans(connection), NumberIndex.of(sheet_numbers(connection))
    items: list[dict[str, Any]] = []
    for scan in waiting:
        match = match_name(scan.name, index, pattern)
        why = "a person took it off its sheet" if scan.taken_apart else match.why or "its number has come since"
        sheets = dict.fromkeys(sheet for number in match.candidates for sheet in number.sheets)
        items.append(
            {
                "reference": format_reference("scan", scan.id),
                "path": scan.path,
                "why": why,
                "candidates": [format_reference("sheet", sheet) for sheet in sheets],
            }
        )
    if as_json:
        print_json({"items": items, "count": len(items)})
        return
    rows = [
        [str(item["reference"]), str(item["path"]), ", ".join(item["candidates"]), str(item["why"])] for item in items
    ]
    print_table(["scan", "file", "may be", "waits because"], rows)
    if items:
        click.echo("Settle one with: tiebeam scans match SCAN SHEET; retry all with: tiebeam scans match --again")
    else:
        click.echo("No scan waits for a sheet.")


@click.command("match", short_help="Say which sheet a scan is of.")
@click.argument("scan", required=False)
@click.argument("sheet", required=False)
@click.option("--region", metavar="WORDS", help="The part of the sheet that it shows, if not the whole.")
@click.option("--again", is_flag=True, help="Try the names of all waiting scans once more.")
@archive_option
@dry_run_option
@json_option
def match(
    archive: Archive, *, scan: str | None, sheet: str | None, region: str | None, again: bool, dry_run: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """
    Say which sheet a scan is of.

    SCAN is a reference (C12), a path or a file's name; SHEET a reference or a number.
    """
    if again == (scan is not None) or (scan is not None and sheet is None):
        raise click.UsageError("give SCAN and SHEET, or --again alone")
    if again:
        _match_again(archive, dry_run=dry_run, as_json=as_json)
        return
    from catalog.actions.scan_matches import match_scan_to_sheet
    from catalog.store.names import resolve
    from catalog.store.scans import find_scan

    assert scan is not None
    assert sheet is not None
    with archive.reading() as connection:
        scan_id, sheet_id = find_scan(connection, archive, scan), resolve(connection, sheet, "sheet")
    names = f"{format_reference('scan', scan_id)} to {format_reference('sheet', sheet_id)}"
    if not dry_run:
        match_scan_to_sheet(archive, scan_id, sheet_id, region=region, on_wait=say_waiting)
    if as_json:
        print_json({"items": [_matched_item(scan_id, sheet_id, "by hand")], "count": 1})
    else:
        click.echo(f"Would match {names}." if dry_run else f"Matched {names}.")


def _matched_item(scan_id: int, sheet_id: int, by: str) -> dict[str, Any]:
    sheet = format_reference("sheet", sheet_id)
    return {"reference": format_reference("scan", scan_id), "sheet_reference": sheet, "matched_by": by}


def _match_again(archive: Archive, *, dry_run: bool, as_json: bool) -> None:
    from catalog.actions.scan_matches import match_again

    result = match_again(archive, dry_run=dry_run, on_wait=say_waiting)
    if as_json:
        items = [_matched_item(*one) for one in result.matched]
        print_json({"items": items, "count": len(items), "still_waiting": result.still_waiting})
        return
    for scan_id, sheet_id, text in result.matched:
        click.echo(f"{format_reference('scan', scan_id)} is {format_reference('sheet', sheet_id)}, by {text}")
    would = "would find" if dry_run else "found"
    click.echo(f"{counted(len(result.matched), 'scan')} {would} a sheet; {result.still_waiting} still waiting.")


@click.command("unmatch", short_help="Take a scan off a sheet.")
@click.argument("scan")
@click.argument("sheet", required=False)
@archive_option
def unmatch(archive: Archive, *, scan: str, sheet: str | None) -> None:
    """Take a scan off SHEET, or off every sheet it is matched to. Its name no longer decides from then on."""
    from catalog.actions.scan_matches import unmatch_scan
    from catalog.store.names import resolve
    from catalog.store.scans import find_scan

    with archive.reading() as connection:
        scan_id = find_scan(connection, archive, scan)
        sheet_id = resolve(connection, sheet, "sheet") if sheet else None
    count = unmatch_scan(archive, scan_id, sheet_id, on_wait=say_waiting)
    click.echo(f"{format_reference('scan', scan_id)} was taken off {counted(count, 'sheet')}.")


COMMANDS = (unmatched, match, unmatch)
