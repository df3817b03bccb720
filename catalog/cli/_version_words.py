"""Edit versions in words and in JSON, and what is typed of them as values."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import json_date, one_line, terminal_width, wrapped
from catalog.errors import AmbiguousNameError, CatalogError, NotFoundError, RefusedError, ToneStepError
from catalog.rules.references import format_reference, parse_reference

if TYPE_CHECKING:
    import sqlite3

    from catalog.actions.version_records import Source
    from catalog.actions.version_wishes import ToneWishes
    from catalog.actions.versions import VersionDone
    from catalog.imaging.tone_steps import ToneStep
    from catalog.store.archive import Archive
    from catalog.store.versions import VersionRow

Command = Callable[..., Any]

# ---- what is typed of tones


def tone_options(command: Command) -> Command:
    """Give a command the options that say how a positive is to be; ``typed_wishes`` takes them."""
    for option in reversed(
        (
            click.option(
                "--points", metavar="LOW,HIGH", help="Percentages of the picture that become its ends: 0.1,99.9."
            ),
            click.option("--black", metavar="D", type=float, help="The density, above base, that becomes black."),
            click.option("--white", metavar="D", type=float, help="The density, above base, that becomes white."),
            click.option("--curve", metavar="CURVE", help="grade:2, gamma:1.8, or points:0,0;50,60;100,100."),
            click.option("--crop", metavar="AREA", help="LEFT,TOP,WIDTH,HEIGHT in pixels, or the word picture."),
            click.option("--straighten", metavar="DEG", type=float, help="Turn to the right by so many degrees."),
            click.option("--mirror/--no-mirror", default=None, help="Mirror left to right, or do not."),
            click.option("--neutral", metavar="R,G,B", help="Densities taken off red, green and blue."),
            click.option("--profile", metavar="NAME", help="The colour profile of what is written."),
        )
    ):  # fmt: skip
        command = option(command)
    return command


def typed_wishes(
    *, points: str | None, black: float | None, white: float | None, curve: str | None, crop: str | None,
    straighten: float | None, mirror: bool | None, neutral: str | None, profile: str | None,
) -> ToneWishes:  # fmt: skip
    """
    Return what was typed of tones as wishes.

    Raises:
        click.BadParameter: one of them cannot be read.
    """
    from catalog.actions.version_wishes import ToneWishes
    from catalog.imaging.tone_steps import PROFILES

    low, high = _numbers("--points", points, 2) if points else (0.1, 99.9)
    if not 0 <= low < high <= 100:
        raise click.BadParameter(f"--points {points!r}: the lower comes first, both between 0 and 100.")
    if profile is not None and profile not in PROFILES:
        raise click.BadParameter(f"--profile {profile!r} is none of: {', '.join(PROFILES)}.")
    is_word = crop is not None and crop.strip().casefold() == "picture"
    area = _numbers("--crop", crop, 4) if crop and not is_word else None
    return ToneWishes(
        low_percent=low,
        high_percent=high,
        black_d=black,
        white_d=white,
        curve=typed_curve(curve) if curve else None,
        neutral=_numbers("--neutral", neutral, 3) if neutral else None,
        crop=(int(area[0]), int(area[1]), int(area[2]), int(area[3])) if area else None,
        crops_to_picture=is_word,
        straighten_deg=straighten,
        mirror=mirror,
        profile=profile,
    )


def _numbers(option: str, text: str, count: int) -> tuple[float, ...]:
    try:
        found = tuple(float(part) for part in text.split(","))
    except ValueError:
        found = ()
    if len(found) != count:
        raise click.BadParameter(f"{option} {text!r}: {count} numbers with commas between, a point for the decimal.")
    return found


def typed_curve(text: str) -> ToneStep:
    """Return the tone curve that was typed: ``grade:2``, ``gamma:1.8``, ``points:0,0;50,60;100,100``."""
    from catalog.imaging.tone_steps import tone_step

    kind, _, value = text.partition(":")
    kind = kind.strip().casefold()
    wrong = click.BadParameter(f"--curve {text!r} is none of: grade:2, gamma:1.8, points:0,0;50,60;100,100.")
    if kind not in ("grade", "gamma", "points"):
        raise wrong
    try:
        return tone_step("curve", **{kind: _curve_points(value) if kind == "points" else float(value)})
    except ToneStepError as exc:
        raise click.BadParameter(f"--curve: {exc.reason}.") from exc
    except ValueError as exc:
        raise wrong from exc


def _curve_points(value: str) -> list[tuple[float, ...]]:
    return [_numbers("--curve", pair, 2) for pair in value.replace(" ", ";").split(";") if pair]


# ---- which scans, which version


def typed_scan(connection: sqlite3.Connection, archive: Archive, typed: str, scan: str | None = None) -> int:
    """
    Return the scan that was typed: by its own reference, or as the only scan of a sheet, or the one chosen of it.

    Raises:
        NotFoundError: nothing answers to it, or the sheet has no scan.
        AmbiguousNameError: the sheet has several scans, or several sheets carry the number; they are listed.
        RefusedError: the scan chosen is of another sheet.
    """
    from catalog.store.names import candidates, resolve
    from catalog.store.scans import find_scan
    from catalog.store.versions import scans_of_sheet

    referred = parse_reference(typed)
    if referred is not None and referred[0] == "scan" and scan is None:
        return find_scan(connection, archive, typed)
    sheet_id = resolve(connection, typed, "sheet")
    found = scans_of_sheet(connection, sheet_id)
    if not found:
        raise NotFoundError(f"{_sheet_words(typed, sheet_id)} has no scan yet. Register it with: tiebeam scans add")
    if scan is not None:
        chosen = find_scan(connection, archive, scan)
        if chosen not in found:
            listed = ", ".join(format_reference("scan", one) for one in found)
            raise RefusedError(f"C{chosen} is no scan of {_sheet_words(typed, sheet_id)}, which has {listed}.")
        return chosen
    if len(found) > 1:
        raise AmbiguousNameError(typed, candidates(connection, "scan", found), "scans")
    return found[0]


def _sheet_words(typed: str, sheet_id: int) -> str:
    reference = format_reference("sheet", sheet_id)
    return reference if typed.strip().upper() == reference else f"{typed} ({reference})"


def typed_version(connection: sqlite3.Connection, typed: str) -> int:
    """
    Return the version that was typed: by its reference, or as the only one made of a sheet or a scan.

    Raises:
        NotFoundError: there is none.
        AmbiguousNameError: there are several; they are listed.
    """
    from catalog.store.names import candidates, resolve
    from catalog.store.versions import VERSIONS_OF_SCAN, VERSIONS_OF_SHEET, get_version

    found: list[int]
    referred = parse_reference(typed)
    if referred is not None and referred[0] == "edit_version" and get_version(connection, referred[1]):
        return referred[1]
    if referred is not None and referred[0] == "edit_version":
        raise NotFoundError(f"There is no edit version {typed.strip().upper()}. See: tiebeam versions list")
    if referred is not None and referred[0] == "scan":
        statement, owner = VERSIONS_OF_SCAN, referred[1]
    else:
        statement, owner = VERSIONS_OF_SHEET, resolve(connection, typed, "sheet")
    found = sorted(row[0] for row in connection.execute(statement, {"id": owner}))
    if not found:
        raise NotFoundError(f"No edit version is made of {typed} yet. Make one with: tiebeam versions make {typed}")
    if len(found) > 1:
        raise AmbiguousNameError(typed, candidates(connection, "edit_version", found), "edit versions")
    return found[0]


def typed_source(connection: sqlite3.Connection, archive: Archive, typed: str) -> Source:
    """Return what a working file is said to be made from: a scan, an edit version, or a sheet."""
    from catalog.actions.version_records import Source
    from catalog.store.names import resolve
    from catalog.store.scans import find_scan

    referred = parse_reference(typed)
    if referred is not None and referred[0] == "edit_version":
        return Source(version_id=typed_version(connection, typed))
    if referred is not None and referred[0] == "sheet":
        return Source(sheet_id=resolve(connection, typed, "sheet"))
    return Source(scan_id=find_scan(connection, archive, typed))


# ---- what is said


def echo_wrapped(text: str, indent: str = "") -> None:
    """Print a line, continued below itself where the terminal is narrow."""
    width = terminal_width()
    for number, part in enumerate(wrapped(one_line(text), width - len(indent)) if width else [one_line(text)]):
        click.echo((indent if number else "") + part)


def done_item(one: VersionDone, sheets: Sequence[int]) -> dict[str, Any]:
    """Return what became of a scan as ``--json`` says it."""
    from catalog.imaging.tone_steps import words_of_steps

    return {
        "reference": format_reference("edit_version", one.version_id) if one.version_id else None,
        "scan": format_reference("scan", one.scan_id) if one.scan_id else None,
        "sheets": [format_reference("sheet", sheet) for sheet in sheets],
        "outcome": one.outcome,
        "steps": steps_data(one.steps) if one.steps else None,
        "steps_in_words": words_of_steps(one.steps) if one.steps else None,
        "path": one.path.as_posix() if one.path else None,
        "reason": one.reason,
        "is_finding": one.is_finding,
    }


def steps_data(steps: Sequence[ToneStep]) -> Any:
    """Return steps as JSON holds them."""
    import json

    from catalog.imaging.tone_steps import format_steps

    return json.loads(format_steps(steps))


def version_item(connection: sqlite3.Connection, archive: Archive, row: VersionRow) -> dict[str, Any]:
    """Return a version as every ``--json`` says it."""
    from catalog.store.versions import replacements, scans_of_version, sheets_of_versions, version_sources

    later = replacements(connection).get(row.id, [])
    sheets = sheets_of_versions(connection, row.id).get(row.id, [])
    return {
        "reference": row.reference,
        "sheets": [format_reference("sheet", sheet) for sheet in sheets],
        "made_from": [source.reference for source in version_sources(connection, row.id)],
        "scans": [format_reference("scan", scan) for scan in scans_of_version(connection, row.id)],
        "purpose": row.purpose,
        **_steps_item(row.steps),
        "made": json_date(row.made_edtf, row.made_earliest, row.made_latest),
        "made_as_written": row.made_words,
        "made_with": row.made_with,
        "replaces": format_reference("edit_version", row.replaces_id) if row.replaces_id else None,
        "replaced_by": [format_reference("edit_version", one) for one in later],
        "is_current": not later,
        "path": where(archive, row),
        "drive": row.drive_name,
        "state": row.state,
        "damage": row.damage,
        "kind": row.kind,
        "width_px": row.width_px,
        "height_px": row.height_px,
        "bits": row.bits,
        "channels": row.channels,
        "colour": row.colour,
        "recorded_ppi": row.recorded_ppi,
        "profile": row.profile,
        "sha256": row.sha256,
        "remarks": (row.facts or "").splitlines(),
        "note": row.note,
    }


def _steps_item(text: str | None) -> dict[str, Any]:
    from catalog.imaging.tone_steps import parse_steps, words_of_steps

    if text is None:
        return {"steps": None, "steps_in_words": None}
    try:
        steps = parse_steps(text)
    except CatalogError as exc:
        return {"steps": None, "steps_in_words": str(exc)}
    return {"steps": steps_data(steps), "steps_in_words": words_of_steps(steps)}


def where(archive: Archive, row: VersionRow) -> str | None:
    """Return where a version's file is; for a drive that is away, where it was last."""
    if row.path is None:
        return None
    home = archive.folder if row.drive_id is None else Path(row.drive_path or "")
    return (home / row.path).as_posix()
