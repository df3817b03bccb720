"""A scan in words and in JSON, for the commands that print one."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import json_date, one_line
from catalog.rules.counting import counted
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.actions.scans import ScanOutcome, ScansAdded
    from catalog.store.scans import ScanPartRow, ScanRow


def scan_facts(scan: ScanRow, parts: list[ScanPartRow], copies: list[str]) -> list[tuple[str, str]]:
    """Return what is said of a scan, a heading and words a line; what is not known is said too."""
    scanned = json_date(scan.scanned_edtf, scan.scanned_earliest, scan.scanned_latest)
    device = " ".join(word for word in (scan.device_maker, scan.device_model) if word)
    lines = [
        (scan.reference, where_words(scan)),
        ("of", sheet_words(parts) or "no sheet yet"),
        ("state", state_words(scan)),
        ("pixels", f"{size_words(scan)}, {_samples_words(scan)}"),
        ("ppi", _ppi_words(scan)),
        (
            "kind",
            ", ".join(word for word in (scan.kind, scan.compression and f"compression {scan.compression}") if word),
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


def where_words(scan: ScanRow) -> str:
    """Return where a scan lies: its drive and its path."""
    return f"{scan.drive_name}: {scan.path}" if scan.drive_name else scan.path


def sheet_words(parts: list[ScanPartRow]) -> str:
    """Return the sheets that a scan is of."""
    return "; ".join(
        format_reference("sheet", part.sheet_id)
        + (f" ({part.numbers})" if part.numbers else "")
        + (f", {part.region}" if part.region else "")
        for part in parts
    )


def size_words(scan: ScanRow) -> str:
    """Return the pixels of a scan across and down."""
    return f"{scan.width_px} x {scan.height_px}" if scan.width_px and scan.height_px else "not readable"


def _samples_words(scan: ScanRow) -> str:
    bits = f"{scan.bits} bits" if scan.bits else "depth not known"
    extra = scan.extra_channels or 0
    more = f" + {extra} extra channel{'s' if extra > 1 else ''}" if extra else ""
    return f"{bits}, {scan.colour or 'colour not known'}{more}"


def ppi_column(scan: ScanRow) -> str:
    """Return pixels to the inch in few letters; worked out ones are in brackets."""
    if scan.recorded_ppi:
        return f"{scan.recorded_ppi:g}"
    return f"({scan.worked_out_ppi:.0f})" if scan.worked_out_ppi else ""


def _ppi_words(scan: ScanRow) -> str:
    # Case B08: a resolution that nobody recorded is never stated as one pixel to the inch.
    worked_out = f"{scan.worked_out_ppi:.0f} worked out from the size of the film" if scan.worked_out_ppi else ""
    if scan.recorded_ppi:
        return f"{scan.recorded_ppi:g} recorded" + (f"; {worked_out}" if worked_out else "")
    return f"not recorded; {worked_out}" if worked_out else "not recorded"


def state_words(scan: ScanRow) -> str:
    """Return the state of a file, or what its damage is."""
    return (scan.damage or "damaged") if scan.state == "damaged" else scan.state


def scan_item(scan: ScanRow, parts: list[ScanPartRow], homes: Mapping[int | None, Path]) -> dict[str, Any]:
    """Return a scan as every ``--json`` says it; ``homes`` are the folders that paths start from."""
    return {
        "reference": scan.reference,
        "path": (homes[scan.drive_id] / scan.path).as_posix(),
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


def print_added(added: ScansAdded, *, dry_run: bool) -> None:
    """Print what became of each picture that is worth a word, then the counts."""
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
    lines = [f"{counted(len(new), 'scan')} {done}: {len(new) - waiting} matched to sheets, {waiting} waiting."]
    if waiting and not dry_run:
        lines.append("What waits, and why: tiebeam scans unmatched")
    if added.matched_again:
        lines.append(f"{counted(added.matched_again, 'scan')} that waited found a sheet.")
    pictures = "no picture by its name" if added.others == 1 else "no pictures by their names"
    passed = [
        (added.unchanged, "registered before and unchanged"),
        (added.litter, "left behind by systems, passed by"),
        (added.others, f"{pictures}, passed by"),
    ]
    lines += [f"{counted(count, 'file')} {words}." for count, words in passed if count]
    findings = sum(outcome.is_finding for outcome in added.outcomes)
    if findings:
        lines.append(f"{counted(findings, 'finding')} to look at.")
    return lines


def added_document(added: ScansAdded) -> dict[str, Any]:
    """Return what was registered, as ``--json`` prints it."""
    return {
        "items": [outcome_item(outcome) for outcome in added.outcomes],
        "count": len(added.outcomes),
        "unchanged": added.unchanged,
        "litter": added.litter,
        "others": added.others,
        "matched_again": added.matched_again,
        "findings": sum(outcome.is_finding for outcome in added.outcomes),
    }


def outcome_item(outcome: ScanOutcome) -> dict[str, Any]:
    """Return what was found of one file, as every ``--json`` says it."""
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
