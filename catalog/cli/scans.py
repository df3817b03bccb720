"""``tiebeam scans``: register scans, match them to sheets, verify them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from catalog.cli._scan_matching import COMMANDS as MATCHING
from catalog.cli._scan_words import (
    added_document,
    outcome_item,
    ppi_column,
    print_added,
    scan_facts,
    scan_item,
    sheet_words,
    size_words,
    state_words,
    where_words,
)
from catalog.cli.common import (
    archive_option,
    csv_option,
    dry_run_option,
    json_option,
    one_line,
    print_csv,
    print_json,
    print_table,
    progress_told,
    say_waiting,
)
from catalog.cli.deeds import deed_options, desk_for
from catalog.rules.counting import counted
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.store.archive import Archive
    from catalog.store.scans import ScanPartRow


@click.group(short_help="Register scans, match them to sheets, verify them.")
def scans() -> None:
    """
    Register scans where they lie, match them to sheets, verify that they are whole.

    No command writes to a scan.
    """


@scans.command("add", short_help="Register every picture in files and folders.")
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@archive_option
@dry_run_option
@json_option
def add(archive: Archive, *, paths: tuple[str, ...], dry_run: bool, as_json: bool) -> int:
    """
    Register every TIFF, JPEG, PNG and DNG in files and folders, where they lie.

    A number found in a file's name says which sheet it is of; what matches nothing, or two, waits (tiebeam
    scans unmatched). A file already registered is read again only if it changed. Damaged files are registered
    with the reason, and the command then ends with 1.
    """
    from catalog.actions.scans import add_scans

    with progress_told("Reading scans") as bar:
        added = add_scans(
            archive, [Path(path) for path in paths], dry_run=dry_run, on_progress=bar, on_wait=say_waiting
        )
    if as_json:
        print_json(added_document(added))
    else:
        print_added(added, dry_run=dry_run)
    return 1 if added.has_findings else 0


@scans.command("verify", short_help="Compare every file with what was recorded of it.")
@click.option("--drive", metavar="DRIVE", help="Only the files on one drive.")
@click.option("--quick", is_flag=True, help="Read only files whose size or time changed.")
@archive_option
@json_option
def verify(archive: Archive, *, drive: str | None, quick: bool, as_json: bool) -> int:
    """
    Compare every file that is here with what was recorded of it.

    Each is fine, or moved, or its caption changed (the picture is the same), or its picture changed, or it is
    missing. A drive that is away is one line and no finding. With findings the command ends with 1.
    """
    from catalog.actions.verify_scans import verify_scans
    from catalog.store.names import resolve

    with archive.reading() as connection:
        drive_id = resolve(connection, drive, "drive") if drive else None
    with progress_told("Verifying scans") as bar:
        verified = verify_scans(archive, drive_id=drive_id, quick=quick, on_progress=bar, on_wait=say_waiting)
    if as_json:
        print_json(
            {
                "items": [outcome_item(outcome) for outcome in verified.outcomes],
                "count": len(verified.outcomes),
                "fine": verified.fine,
                "away": sum(away.files for away in verified.away),
                "drives_away": [
                    {"name": away.name, "last_seen_at": away.last_seen, "files": away.files} for away in verified.away
                ],
            }
        )
        return 1 if verified.has_findings else 0
    for outcome in verified.outcomes:
        name = f"{format_reference('scan', outcome.scan_id)} " if outcome.scan_id else ""
        click.echo(f"{outcome.standing}: " + one_line(f"{name}{outcome.path}: {outcome.words}"))
    for away in verified.away:
        seen = f", last seen {away.last_seen[:10]}" if away.last_seen else ""
        click.echo(f"away: {one_line(away.name)} is not here{seen}; {counted(away.files, 'file')} not looked at.")
    looked = "unchanged by size and time" if quick else "fine"
    click.echo(f"{counted(verified.fine, 'file')} {looked}, {counted(len(verified.outcomes), 'finding')}.")
    return 1 if verified.has_findings else 0


@scans.command("locate", short_help="Say where a scan's file is now.")
@click.argument("scan")
@click.argument("file")
@archive_option
def locate(archive: Archive, *, scan: str, file: str) -> None:
    """Say that the file of a scan is FILE: it must hold the picture that was recorded."""
    from catalog.actions.scan_files import locate_scan

    scan_id = _scan_id(archive, scan)
    locate_scan(archive, scan_id, Path(file), on_wait=say_waiting)
    click.echo(f"{format_reference('scan', scan_id)} is at {one_line(file)}.")


@scans.command("accept", short_help="Take a changed file for the scan it is meant to be.")
@click.argument("scan")
@archive_option
def accept(archive: Archive, *, scan: str) -> int:
    """Take the file of a scan as it is now: for a picture that was changed on purpose."""
    from catalog.actions.scan_files import accept_scan

    scan_id = _scan_id(archive, scan)
    damage = accept_scan(archive, scan_id, on_wait=say_waiting)
    click.echo(f"{format_reference('scan', scan_id)} is the file as it is now" + (f": {damage}." if damage else "."))
    return 1 if damage else 0


@scans.command("correct", short_help="Say what a header cannot: polarity, side, date.")
@click.argument("scan")
@click.option("--polarity", type=click.Choice(["negative", "positive"]), help="Which way round its values are.")
@click.option("--reversed/--not-reversed", "is_reversed", default=None, help="Whether it was scanned wrong side up.")
@click.option("--scanned", metavar="DATE", help='When it was scanned: EDTF or plain words; "" where nobody knows.')
@deed_options
def correct(
    archive: Archive, *, scan: str, polarity: str | None, is_reversed: bool | None, scanned: str | None, dry_run: bool
) -> None:
    """Record what a person says of a scan."""
    from catalog.actions.scan_files import correct_scan
    from catalog.cli.typed import Typed

    typed = Typed(archive).plain(polarity=polarity, is_reversed=is_reversed).dates(scanned=scanned)
    correct_scan(archive, _scan_id(archive, scan), **typed.facts, desk=desk_for(dry_run))


@scans.command("remove", short_help="Take a scan out of the catalogue; its file stays as it is.")
@click.argument("scan")
@archive_option
def remove(archive: Archive, *, scan: str) -> None:
    """Take a scan out of the catalogue. Its file stays where and as it is."""
    from catalog.actions.scan_files import remove_scan

    scan_id = _scan_id(archive, scan)
    path = remove_scan(archive, scan_id, on_wait=say_waiting)
    click.echo(f"{format_reference('scan', scan_id)} is out of the catalogue. Its file was left: {one_line(path)}")


def _homes(archive: Archive) -> dict[int | None, Path]:
    """Return the folders that paths start from: the archive's, and each drive's, or where that was last."""
    from catalog.store.drives import drive_rows, here, sight_drives

    with archive.reading() as connection:
        drives = drive_rows(connection)
    homes: dict[int | None, Path] = {None: archive.folder}
    homes |= {drive.id: Path(drive.last_path) for drive in drives}
    homes |= here(sight_drives(drives)).items()
    return homes


def _scan_id(archive: Archive, typed: str) -> int:
    from catalog.store.scans import find_scan

    with archive.reading() as connection:
        return find_scan(connection, archive, typed)


@scans.command("list", short_help="List scans.")
@click.option("--drive", metavar="DRIVE", help="Those on one drive.")
@click.option("--sheet", metavar="SHEET", help="Those of one sheet.")
@click.option("--damaged", is_flag=True, help="Those that are damaged.")
@archive_option
@json_option
@csv_option
def list_(
    archive: Archive, *, drive: str | None, sheet: str | None, damaged: bool, as_json: bool, as_csv: bool
) -> None:
    """List scans with the sheets they are of, their size and where they lie."""
    from catalog.store.names import resolve
    from catalog.store.scans import list_scans, scan_parts

    with archive.reading() as connection:
        found = list_scans(
            connection,
            drive_id=resolve(connection, drive, "drive") if drive else None,
            sheet_id=resolve(connection, sheet, "sheet") if sheet else None,
            damaged=damaged,
        )
        parts: dict[int, list[ScanPartRow]] = {}
        for part in scan_parts(connection):
            parts.setdefault(part.scan_id, []).append(part)
    if as_json:
        homes = _homes(archive)
        items = [scan_item(scan, parts.get(scan.id, []), homes) for scan in found]
        print_json({"items": items, "count": len(items)})
        return
    rows = [
        [
            scan.reference,
            sheet_words(parts.get(scan.id, [])),
            size_words(scan),
            ppi_column(scan),
            state_words(scan),
            where_words(scan),
        ]
        for scan in found
    ]
    headings = ["scan", "of", "pixels", "ppi", "state", "file"]
    if as_csv:
        print_csv(headings, rows)
    elif rows:
        print_table(headings, rows)
    else:
        click.echo("No scans.")


@scans.command("show", short_help="Show what is known of a scan.")
@click.argument("scan")
@archive_option
@json_option
def show(archive: Archive, *, scan: str, as_json: bool) -> None:
    """Show what is known of a scan: SCAN is a reference (C12), a path or a file's name."""
    from catalog.store.files import copies_of, file_of_scan, file_rows
    from catalog.store.scans import find_scan, get_scan, scan_parts

    with archive.reading() as connection:
        scan_id = find_scan(connection, archive, scan)
        row, parts = get_scan(connection, scan_id), scan_parts(connection, scan_id)
        file = file_of_scan(connection, scan_id)
        copies = [copy.path for copy in copies_of(file, file_rows(connection))] if file else []
    assert row is not None
    if as_json:
        print_json({**scan_item(row, parts, _homes(archive)), "copies": copies})
        return
    for heading, words in scan_facts(row, parts, copies):
        click.echo(f"{heading:<13}{one_line(words)}")


for _command in MATCHING:
    scans.add_command(_command)
