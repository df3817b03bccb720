"""``tiebeam drives``: the drives that scans lie on, and where each is now."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from catalog.cli.common import archive_option, json_option, print_json, print_table, say_waiting
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.store.archive import Archive


@click.group(short_help="Drives that files live on.")
def drives() -> None:
    """
    Drives that files live on.

    A drive is known by a small file in its folder, .tiebeam-drive, never by a letter or a mount path.
    """


@drives.command("add", short_help="Name a folder as a drive.")
@click.argument("folder")
@click.option("--name", default="", metavar="NAME", help="What to call it; otherwise the folder's own name.")
@archive_option
def add(archive: Archive, *, folder: str, name: str) -> None:
    """Name FOLDER as a drive: a small file is written into it, once, and its scans are known by it."""
    from catalog.actions.drives import add_drive

    added = add_drive(archive, Path(folder), name=name, on_wait=say_waiting)
    kept = " It carried a marker already, which was kept." if added.had_marker else ""
    click.echo(f"{format_reference('drive', added.id)} is drive {added.name!r} at {added.folder}.{kept}")
    if added.files_taken:
        click.echo(f"{added.files_taken} files registered before are now known to lie on it.")


@drives.command("list", short_help="List drives and where they are.")
@archive_option
@json_option
def list_(archive: Archive, *, as_json: bool) -> None:
    """List drives, where each is now, and how many files lie on it."""
    from catalog.store.drives import drive_rows, files_on, sight_drives

    with archive.reading() as connection:
        rows, counts = drive_rows(connection), files_on(connection)
    sightings = sight_drives(rows)
    if as_json:
        items = [
            {
                "reference": row.reference,
                "name": row.name,
                "path": str(sightings[row.id].folder) if sightings[row.id].folder else None,
                "last_path": row.last_path,
                "last_seen_at": row.last_seen_at,
                "files": counts.get(row.id, 0),
                "alike": [str(folder) for folder in sightings[row.id].others],
            }
            for row in rows
        ]
        print_json({"items": items, "count": len(items), "away": sum(item["path"] is None for item in items)})
        return
    if not rows:
        click.echo("No drives. Name one with: tiebeam drives add FOLDER")
        return
    table = []
    for row in rows:
        sighting = sightings[row.id]
        where = (
            str(sighting.folder) if sighting.folder else f"away, last seen {row.last_seen_at[:10]} at {row.last_path}"
        )
        if sighting.others:
            alike = ", ".join(str(folder) for folder in sighting.others)
            where = f"unclear: {alike}" if sighting.is_unclear else f"{where} (the same marker is at {alike})"
        table.append([row.reference, row.name, str(counts.get(row.id, 0)), where])
    print_table(["drive", "name", "files", "where"], table)


@drives.command("locate", short_help="Say where a drive's folder is now.")
@click.argument("name")
@click.argument("folder")
@archive_option
def locate(archive: Archive, *, name: str, folder: str) -> None:
    """Say that drive NAME is at FOLDER now: FOLDER must carry its marker."""
    from catalog.actions.drives import locate_drive
    from catalog.store.names import resolve

    with archive.reading() as connection:
        drive_id = resolve(connection, name, "drive")
    found = locate_drive(archive, drive_id, Path(folder), on_wait=say_waiting)
    click.echo(f"{format_reference('drive', drive_id)} is at {found}.")
