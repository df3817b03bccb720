"""``tiebeam scans``: register scans, match them to sheets, verify them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    archive_option,
    csv_option,
    dry_run_option,
    json_date,
    json_option,
    one_line,
    print_csv,
    print_json,
    print_table,
    progress,
    say_waiting,
)
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.actions.scans import ScanOutcome, ScansAdded
    from catalog.store.archive import Archive
    from catalog.store.scans import ScanPartRow, ScanRow


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

    with _bar("Reading scans") as bar:
        added = add_scans(
            archive, [Path(path) for path in paths], dry_run=dry_run, on_progress=bar, on_wait=say_waiting
        )
    if as_json:
        print_json(_added_document(added))
    else:
        _print_added(added, dry_run=dry_run)
    return 1 if added.has_findings else 0


@contextmanager
def _bar(label: str) -> Iterator[Callable[[int, int], None]]:
    """Give a function that is told (done, of how many): the bar appears when the number of files is known."""
    with ExitStack() as stack:
        update: Callable[[int], None] | None = None
        before = 0

        def move(done: int, length: int) -> None:
            nonlocal update, before
            if update is None:
                update = stack.enter_context(progress(label, length))
            update(done - before)
            before = done

        yield move


def _print_added(added: ScansAdded, *, dry_run: bool) -> None:
    for outcome in added.outcomes:
        if outcome.is_finding or outcome.standing not in ("new", "touched"):
            name = f"{format_reference('scan', outcome.scan_id)} " if outcome.scan_id else ""
            click.echo(one_line(f"{name}{outcome.path}: {outcome.words}"))
    for line in _summary(added, dry_run=dry_run):
        click.echo(line)


def _summary(added: ScansAdded, *, dry_run: bool) -> list[str]:
    new = [outcome for outcome in added.outcomes if outcome.standing == "new"]
    waiting = sum(outcome.sheet_id is None for outcome in new)
    done = "would be registered" if dry_run else "registered"
    lines = [
        f"{_counted(len(new), 'scan')} {done}: {len(new) - waiting} matched to sheets, {waiting} waiting."
    ]
    if waiting and not dry_run:
        lines.append("What waits, and why: tiebeam scans unmatched")
    if added.matched_again:
        lines.append(f"{_counted(added.matched_again, 'scan')} that waited found a sheet.")
    passed = [
        (added.unchanged, "registered before and unchanged"),
        (added.litter, "left behind by systems, passed by"),
        (added.others, "no pictures by their names, passed by"),
    ]
    lines += [f"{_counted(count, 'file')} {words}." for count, words in passed if count]
    findings = sum(outcome.is_finding for outcome in added.outcomes)
    if findings:
        lines.append(f"{_counted(findings, 'finding')} to look at.")
    return lines


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _added_document(added: ScansAdded) -> dict[str, Any]:
    return {
        "items": [_outcome_item(outcome) for outcome in added.outcomes],
        "count": len(added.outcomes),
        "unchanged": added.unchanged,
        "litter": added.litter,
        "others": added.others,
        "matched_again": added.matched_again,
        "findings": sum(outcome.is_finding for outcome in added.outcomes),
    }


def _outcome_item(outcome: ScanOutcome) -> dict[str, Any]:
    return {
        "reference": format_reference("scan", outcome.scan_id) if outcome.scan_id else None,
        "path": outcome.path,
        "standing": outcome.standing,
        "words": outcome.words,
        "sheet": format_reference("sheet", outcome.sheet_id) if outcome.sheet_id else None,
        "damage": outcome.damage,
        "waits_because": outcome.why_waiting,
        "is_finding": outcome.is_finding,
    }


@scans.command("unmatched", short_help="List the scans that wait for a sheet, and why.")
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
        why = (
            "a person took it off its sheet" if scan.taken_apart else match.why or "its number has come since"
        )
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
        [str(item["reference"]), str(item["path"]), ", ".join(item["candidates"]), str(item["why"])]
        for item in items
    ]
    print_table(["SCAN", "FILE", "MAY BE", "WAITS BECAUSE"], rows)
    if items:
        click.echo(
            "Settle one with: tiebeam scans match SCAN SHEET; retry all with: tiebeam scans match --again"
        )
    else:
        click.echo("No scan waits for a sheet.")


@scans.command("match", short_help="Say which sheet a scan is of.")
@click.argument("scan", required=False)
@click.argument("sheet", required=False)
@click.option("--region", metavar="WORDS", help="The part of the sheet that it shows, if not the whole.")
@click.option("--again", is_flag=True, help="Try the names of all waiting scans once more.")
@archive_option
@dry_run_option
def match(
    archive: Archive, *, scan: str | None, sheet: str | None, region: str | None, again: bool, dry_run: bool
) -> None:
    """
    Say which sheet a scan is of.

    SCAN is a reference (C12), a path or a file's name; SHEET a reference or a number.
    """
    if again == (scan is not None) or (scan is not None and sheet is None):
        raise click.UsageError("give SCAN and SHEET, or --again alone")
    if again:
        _match_again(archive, dry_run=dry_run)
        return
    from catalog.actions.scan_matches import match_scan_to_sheet
    from catalog.store.names import resolve
    from catalog.store.scans import find_scan

    assert scan is not None  # noqa: S101 - the usage check above
    assert sheet is not None  # noqa: S101
    with archive.reading() as connection:
        scan_id, sheet_id = find_scan(connection, archive, scan), resolve(connection, sheet, "sheet")
    names = f"{format_reference('scan', scan_id)} to {format_reference('sheet', sheet_id)}"
    if dry_run:
        click.echo(f"Would match {names}.")
        return
    match_scan_to_sheet(archive, scan_id, sheet_id, region=region, on_wait=say_waiting)
    click.echo(f"Matched {names}.")


def _match_again(archive: Archive, *, dry_run: bool) -> None:
    from catalog.actions.scan_matches import match_again

    result = match_again(archive, dry_run=dry_run, on_wait=say_waiting)
    for scan_id, sheet_id, text in result.matched:
        click.echo(f"{format_reference('scan', scan_id)} is {format_reference('sheet', sheet_id)}, by {text}")
    would = "would find" if dry_run else "found"
    click.echo(
        f"{_counted(len(result.matched), 'scan')} {would} a sheet; {result.still_waiting} still waiting."
    )


@scans.command("unmatch", short_help="Take a scan off a sheet.")
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
    click.echo(f"{format_reference('scan', scan_id)} was taken off {_counted(count, 'sheet')}.")


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
        print_json({"items": [_item(scan, parts.get(scan.id, [])) for scan in found], "count": len(found)})
        return
    rows = [
        [scan.reference, _of(parts.get(scan.id, [])), _size(scan), _ppi(scan), _state(scan), _where(scan)]
        for scan in found
    ]
    headings = ["SCAN", "OF", "PIXELS", "PPI", "STATE", "FILE"]
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
    assert row is not None  # noqa: S101 - just found
    if as_json:
        print_json({**_item(row, parts), "copies": copies})
        return
    for heading, words in _facts(row, parts, copies):
        click.echo(f"{heading:<13}{one_line(words)}")


def _facts(scan: ScanRow, parts: list[ScanPartRow], copies: list[str]) -> list[tuple[str, str]]:
    """Return what is said of a scan, a heading and words a line; what is not known is said too."""
    scanned = json_date(scan.scanned_edtf, scan.scanned_earliest, scan.scanned_latest)
    device = " ".join(word for word in (scan.device_maker, scan.device_model) if word)
    lines = [
        (scan.reference, _where(scan)),
        ("of", _of(parts) or "no sheet yet"),
        ("state", _state(scan)),
        ("pixels", f"{_size(scan)}, {_samples(scan)}"),
        ("ppi", _ppi_words(scan)),
        (
            "kind",
            ", ".join(
                word for word in (scan.kind, scan.compression and f"compression {scan.compression}") if word
            ),
        ),
        ("profile", scan.profile or "none"),
        ("scanned", scanned["words"] if scanned else "date not recorded"),
        ("scanner", device or "not recorded"),
    ]
    if scan.software:
        lines.append(("software", scan.software))
    if scan.white_is_zero:
        lines.append(("values", "white is zero: a high value is dark"))
    if scan.polarity:
        lines.append(("polarity", scan.polarity))
    if scan.is_reversed is not None:
        lines.append(("side", "reversed: scanned wrong side up" if scan.is_reversed else "right side up"))
    if scan.orientation not in (None, 1):
        lines.append(("orientation", f"{scan.orientation} as TIFF 6.0 numbers them"))
    if scan.description:
        lines.append(("description", scan.description))
    lines += [("remark", remark) for remark in (scan.facts or "").splitlines()]
    lines += [("copy", copy) for copy in copies]
    lines.append(("checked", f"{scan.last_checked_at}, last good {scan.last_good_at or 'never'}"))
    lines.append(("sha256", scan.sha256))
    return lines


def _where(scan: ScanRow) -> str:
    return f"{scan.drive_name}: {scan.path}" if scan.drive_name else scan.path


def _of(parts: list[ScanPartRow]) -> str:
    return "; ".join(
        format_reference("sheet", part.sheet_id)
        + (f" ({part.numbers})" if part.numbers else "")
        + (f", {part.region}" if part.region else "")
        for part in parts
    )


def _size(scan: ScanRow) -> str:
    return f"{scan.width_px} x {scan.height_px}" if scan.width_px and scan.height_px else "not readable"


def _samples(scan: ScanRow) -> str:
    bits = f"{scan.bits} bits" if scan.bits else "depth not known"
    extra = scan.extra_channels or 0
    more = f" + {extra} extra channel{'s' if extra > 1 else ''}" if extra else ""
    return f"{bits}, {scan.colour or 'colour not known'}{more}"


def _ppi(scan: ScanRow) -> str:
    if scan.recorded_ppi:
        return f"{scan.recorded_ppi:g}"
    return f"({scan.worked_out_ppi:.0f})" if scan.worked_out_ppi else ""


def _ppi_words(scan: ScanRow) -> str:
    # Case B08: a resolution that nobody recorded is never stated as one pixel to the inch.
    worked_out = (
        f"{scan.worked_out_ppi:.0f} worked out from the size of the film" if scan.worked_out_ppi else ""
    )
    if scan.recorded_ppi:
        return f"{scan.recorded_ppi:g} recorded" + (f"; {worked_out}" if worked_out else "")
    return f"not recorded; {worked_out}" if worked_out else "not recorded"


def _state(scan: ScanRow) -> str:
    return (scan.damage or "damaged") if scan.state == "damaged" else scan.state


def _item(scan: ScanRow, parts: list[ScanPartRow]) -> dict[str, Any]:
    return {
        "reference": scan.reference,
        "path": scan.path,
        "drive": scan.drive_name,
        "sheets": [
            {
                "reference": format_reference("sheet", part.sheet_id),
                "region": part.region,
                "matched_by": part.matched_by,
                "matched_text": part.matched_text,
            }
            for part in parts
        ],
        "state": scan.state,
        "damage": scan.damage,
        "kind": scan.kind,
        "width_px": scan.width_px,
        "height_px": scan.height_px,
        "bits": scan.bits,
        "channels": scan.channels,
        "extra_channels": scan.extra_channels,
        "colour": scan.colour,
        "white_is_zero": bool(scan.white_is_zero) if scan.white_is_zero is not None else None,
        "compression": scan.compression,
        "recorded_ppi": scan.recorded_ppi,
        "worked_out_ppi": scan.worked_out_ppi,
        "profile": scan.profile,
        "orientation": scan.orientation,
        "polarity": scan.polarity,
        "is_reversed": bool(scan.is_reversed) if scan.is_reversed is not None else None,
        "pages": scan.pages,
        "scanned": json_date(scan.scanned_edtf, scan.scanned_earliest, scan.scanned_latest),
        "device": " ".join(word for word in (scan.device_maker, scan.device_model) if word) or None,
        "software": scan.software,
        "description": scan.description,
        "remarks": (scan.facts or "").splitlines(),
        "size_bytes": scan.size_bytes,
        "sha256": scan.sha256,
        "picture_sha256": scan.picture_sha256,
        "last_checked_at": scan.last_checked_at,
        "last_good_at": scan.last_good_at,
    }
