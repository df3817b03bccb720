"""``tiebeam index-pictures``: small pictures of the scans to look at."""

from __future__ import annotations

from collections import Counter
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    archive_option,
    csv_option,
    dry_run_option,
    json_option,
    one_line,
    print_csv,
    print_json,
    print_table,
    progress,
)
from catalog.cli.find import frame_options
from catalog.rules.counting import counted

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from catalog.actions.index_pictures import IndexPictureDone
    from catalog.store.archive import Archive


@click.group("index-pictures", short_help="Make small pictures of the scans to look at.")
def index_pictures() -> None:
    """
    Small pictures of the scans to look at: upright, as positives.

    They are kept in the archive's folder index-pictures, made once, and made again when what decides their look
    changes. Screens, contact sheets and documents show them.
    """


@index_pictures.command()
@frame_options
@click.option("--again", is_flag=True, help="Make those anew that are there already.")
@archive_option
@json_option
@dry_run_option
def make(archive: Archive, *, again: bool, as_json: bool, dry_run: bool, **asked: Any) -> int:
    """
    Make the index pictures of the frames asked for; of all scans when nothing is asked.

    WORDS and options are those of find. What is there already stays. A damaged scan is named and the others are
    made; scans on drives that are away are counted.
    """
    from catalog.actions.index_pictures import make_index_pictures

    scans = scans_asked(archive, asked)
    with ExitStack() as stack:
        bar: list[Callable[[int], None]] = []
        done = list(
            make_index_pictures(
                archive, scans, again=again, dry_run=dry_run,
                on_begin=lambda count: bar.append(stack.enter_context(progress("index pictures", count))),
                on_progress=lambda steps: bar[0](steps),
            )
        )  # fmt: skip
    if as_json:
        items = [_item(one) for one in done]
        print_json({"items": items, "count": len(items), "away": sum(one.outcome == "away" for one in done)})
    elif scans == []:
        click.echo("No frame that was scanned answers to this. Try it with: tiebeam find")
    else:
        _print(done, dry_run=dry_run)
    return int(any(one.is_finding for one in done))


def scans_asked(archive: Archive, asked: dict[str, Any]) -> list[int] | None:
    """Return the scans of the frames that words and options ask for; ``None``, all, when nothing is asked."""
    if not any(asked.values()):
        return None
    from catalog.store.asking import ask
    from catalog.store.find import find_frames

    with archive.reading() as connection:
        answer = find_frames(connection, ask(connection, archive, **asked))
    return [scan.id for frame in answer.frames for scan in frame.scans]


def _item(one: IndexPictureDone) -> dict[str, Any]:
    return {
        "reference": f"C{one.scan_id}",
        "file": one.file,
        "outcome": one.outcome,
        "path": _text(one.path),
        "reason": one.reason,
    }


def _text(path: Path | None) -> str | None:
    from catalog.store.files import shown_path

    return None if path is None else shown_path(path)


def _print(done: list[IndexPictureDone], *, dry_run: bool) -> None:
    for one in done:
        if one.is_finding and one.outcome != "left":
            click.echo(f"C{one.scan_id} {one_line(one.file)}: {one_line(one.reason or one.outcome)}", err=True)
    counts = Counter(one.outcome for one in done)
    parts = [f"{counted(counts['made'], 'index picture')} {'would be made' if dry_run else 'made'}"]
    parts += [f"{counts['here']} there already"] if counts["here"] else []
    parts += [f"{counts['away']} on drives that are away"] if counts["away"] else []
    for outcome, words in _FINDING_WORDS.items():
        parts += [f"{counts[outcome]} {words}"] if counts[outcome] else []
    click.echo(", ".join(parts) + ".")
    if counts["unwritable"]:
        click.echo("Make room or see to the folder's permissions, and give the command again.", err=True)


_FINDING_WORDS = {
    "missing": "missing",
    "changed": "changed since they were registered",
    "damaged": "damaged",
    "undecodable": "of a kind that cannot be shown",
    "unfollowed": "whose version's tone steps cannot be followed",
    "unwritable": "could not be written",
    "left": "left",
}


@index_pictures.command("list", short_help="List which scans have an index picture.")
@frame_options
@archive_option
@json_option
@csv_option
def list_(archive: Archive, *, as_json: bool, as_csv: bool, **asked: Any) -> None:
    """List the scans of the frames asked for, or all, and which have an index picture; --csv and --json say where."""
    from catalog.store.index_pictures import index_picture_path, is_whole, picture_scans

    scans = scans_asked(archive, asked)
    with archive.reading() as connection:
        rows = picture_scans(connection, scans)
    items: list[dict[str, Any]] = []
    for row in sorted(rows, key=lambda one: one.scan_id):
        path = index_picture_path(archive, row)
        is_made = is_whole(path)
        items.append(
            {
                "reference": row.reference,
                "sheet": f"S{row.sheet_id}" if row.sheet_id else None,
                "file": row.path,
                "path": _text(path) if is_made else None,
                "bytes": path.stat().st_size if is_made else None,
            }
        )
    made = sum(item["path"] is not None for item in items)
    if as_json:
        print_json({"items": items, "count": len(items), "made": made})
    elif as_csv:
        print_csv(list(_COLUMNS), [[item[name] for name in _COLUMNS] for item in items])
    else:
        print_table(
            ("scan", "of", "file", "index picture"),
            [
                (
                    str(item["reference"]), str(item["sheet"] or ""), str(item["file"]),
                    f"{item['bytes'] / 1000:.0f} kB" if item["bytes"] else "-",
                )
                for item in items
            ],
        )  # fmt: skip
        click.echo(f"{made} of {counted(len(items), 'scan')} {'have' if made != 1 else 'has'} an index picture.")


_COLUMNS = ("reference", "sheet", "file", "path", "bytes")


@index_pictures.command("tidy", short_help="Remove index pictures that no scan has any more.")
@archive_option
@json_option
@dry_run_option
def tidy(archive: Archive, *, as_json: bool, dry_run: bool) -> None:
    """
    Remove index pictures that no scan has any more: of scans corrected, replaced or removed since.

    They can always be made again. Other files in the folder are left alone.
    """
    from catalog.actions.index_pictures import tidy_index_pictures

    tidied = tidy_index_pictures(archive, dry_run=dry_run)
    if as_json:
        item = {"removed": tidied.pictures, "half_written": tidied.half_written, "bytes": tidied.size_bytes}
        print_json({"items": [{**item, "kept": tidied.kept}], "count": 1})
        return
    verb = "would be removed" if dry_run else "removed"
    megabytes = tidied.size_bytes / 1_000_000
    halves = f" and {counted(tidied.half_written, 'half-written file')}" if tidied.half_written else ""
    click.echo(f"{counted(tidied.pictures, 'index picture')}{halves} {verb}, {megabytes:.1f} MB; {tidied.kept} kept.")
