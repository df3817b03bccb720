"""``tiebeam find``: frames by words, place, building, years, lens, film."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    Command,
    archive_to_read_option,
    csv_option,
    json_date,
    json_option,
    print_csv,
    print_json,
    print_table,
    reading,
)

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable

    from catalog.store.archive import Archive
    from catalog.store.find import Answer, FoundFrame, FoundScan, Question, Subject


def frame_options(command: Command) -> Command:
    """Give a command the words and options by which frames are asked for; ``catalog.store.asking.ask`` takes them."""
    for option in reversed(
        (
            click.argument("words", nargs=-1),
            click.option(
                "--place", metavar="PLACE", help="What the frame shows: a place and all below it, by any name it had."
            ),
            click.option("--taken-from", metavar="PLACE", help="Where the camera stood."),
            click.option("--building", metavar="BUILDING", help="A building, by any name it had."),
            click.option("--years", metavar="DATE", help="A year, 1975/1990, or a date in words."),
            click.option("--lens", metavar="MM", help="A lens, by focal length, name or reference."),
            click.option("--film", metavar="FILM", help="A film stock."),
            click.option("--elevation", metavar="SIDE", help="A side of the building: N, NE, E ..."),
            click.option("--number", metavar="NUMBER", help="A number written for the sheet."),
            click.option("--unscanned", is_flag=True, help="Only sheets without a scan."),
            click.option("--undated", is_flag=True, help="Only sheets without a date."),
        )
    ):
        command = option(command)
    return command


@click.command(short_help="Find frames by words, place, building, years, lens, film.")
@frame_options
@archive_to_read_option
@json_option
@csv_option
def find(archive: Archive, *, as_json: bool, as_csv: bool, **asked: Any) -> None:
    """
    Find frames, in order of date.

    WORDS are words: numbers, abbreviations, brackets and accents are looked for as typed. Every word and every
    option must hold. Each frame says whether it is certainly or only possibly an answer; with --years the undated
    frames are counted beside.
    """
    from catalog.store.asking import ask
    from catalog.store.find import find_frames

    with reading(archive) as connection:
        question = ask(connection, archive, **asked)
        answer = find_frames(connection, question)
        drives = drives_here(connection, [scan for frame in answer.frames for scan in frame.scans])
    away = sum(is_away(frame, drives) for frame in answer.frames)
    if as_json:
        print_json(
            {
                "items": [json_frame(frame, archive, drives) for frame in answer.frames],
                "count": len(answer.frames),
                "undated": answer.undated,
                "away": away,
            }
        )
    elif as_csv:
        print_csv(_HEADINGS, [csv_frame(frame, archive, drives) for frame in answer.frames])
    else:
        _print(archive, question, answer, away)


_HEADINGS = ("reference", "numbers", "date", "edtf", "certainty", "shows", "lens", "film", "scans")


def drives_here(connection: sqlite3.Connection, scans: Iterable[FoundScan]) -> dict[int, Path]:
    """Return where the drives are that hold these scans; one that is away is not among them."""
    wanted = {scan.drive_id for scan in scans if scan.drive_id is not None}
    if not wanted:
        return {}
    from catalog.store.drives import drive_rows, here, sight_drives

    return here(sight_drives(row for row in drive_rows(connection) if row.id in wanted))


def is_away(frame: FoundFrame, drives: dict[int, Path]) -> bool:
    """Return True if a frame has scans, and every one of them is on a drive that is not here."""
    return bool(frame.scans) and all(s.drive_id is not None and s.drive_id not in drives for s in frame.scans)


def csv_frame(frame: FoundFrame, archive: Archive, drives: dict[int, Path]) -> tuple[str, ...]:
    """Return a frame as a line of CSV."""
    from catalog.dates import edtf_in_words
    from catalog.store.frame_words import film_words, lens_words, shown_words

    return (
        f"S{frame.id}", "; ".join(text for text, _ in frame.numbers), edtf_in_words(frame.exposed_edtf),
        frame.exposed_edtf or "", frame.certainty, shown_words(frame), lens_words(frame, in_full=True),
        film_words(frame), "; ".join(str(scan_path(scan, archive, drives)["path"]) for scan in frame.scans),
    )  # fmt: skip


def json_frame(frame: FoundFrame, archive: Archive, drives: dict[int, Path]) -> dict[str, Any]:
    """Return a frame as ``--json`` says it (docs/manual/json.md)."""
    return {
        "reference": f"S{frame.id}",
        "numbers": [{"text": text, "scheme": scheme} for text, scheme in frame.numbers],
        "titles": list(frame.titles),
        "date": json_date(frame.exposed_edtf, frame.exposed_earliest, frame.exposed_latest),
        "date_as_written": frame.exposed_words,
        "certainty": frame.certainty,
        "fate": frame.fate,
        "buildings": [_json_subject(s, "B") for s in frame.subjects if s.table == "building"],
        "places": [_json_subject(s, "L") for s in frame.subjects if s.table == "place"],
        "lens": frame.lens_name,
        "focal_length_mm": frame.focal_length_mm,
        "film": frame.film_name,
        "doubts": [{"field": field, "as_written": written} for field, written in frame.doubts],
        "scans": [{"reference": f"C{scan.id}", **scan_path(scan, archive, drives)} for scan in frame.scans],
    }


def scan_path(scan: FoundScan, archive: Archive, drives: dict[int, Path]) -> dict[str, str]:
    """
    Return ``path``: where a scan's file is; for a drive that is away, where it was last.

    A path whose bytes are not UTF-8 has them beside it as ``path_bytes``, in hexadecimal: JSON is text.
    """
    home = archive.folder if scan.drive_id is None else drives.get(scan.drive_id) or Path(scan.drive_path or "")
    found = {"path": os.fsencode(home / scan.path).decode("utf-8", "backslashreplace")}
    raw = os.fsencode(home / os.fsdecode(scan.raw_path or scan.path.encode("utf-8")))
    return found if raw == found["path"].encode() else {**found, "path_bytes": raw.hex()}


def _json_subject(subject: Subject, letter: str) -> dict[str, Any]:
    return {
        "reference": f"{letter}{subject.id}",
        "name": subject.name,
        "elevation": subject.elevation,
        "part": subject.part,
        "certainty": subject.certainty,
        "is_principal": bool(subject.is_principal),
    }


def _print(archive: Archive, question: Question, answer: Answer, away: int) -> None:
    from catalog.dates import edtf_in_words
    from catalog.store.frame_words import count_words, lens_words, shown_words

    rows = [
        (
            f"S{frame.id}", ", ".join(dict.fromkeys(text for text, _ in frame.numbers)),
            edtf_in_words(frame.exposed_edtf), str(frame.certainty), shown_words(frame), lens_words(frame),
            str(len(frame.scans)) if frame.scans else "-",
        )
        for frame in answer.frames
    ]  # fmt: skip
    print_table(("sheet", "number", "date", "answers", "shows", "lens", "scans"), rows)
    certainly = sum(frame.certainty == "certainly" for frame in answer.frames)
    click.echo(count_words(certainly, len(answer.frames) - certainly))
    if question.is_undated_apart:
        click.echo(
            f"{answer.undated} undated beside these; --undated lists them."
            if answer.undated
            else "No undated frame beside these."
        )
    elif answer.undated and not question.is_undated:
        click.echo(f"{answer.undated} of them undated, listed last.")
    if question.years is not None or ((question.place_id or question.taken_from_id) and certainly < len(rows)):
        years = archive.settings.dates_about_years
        click.echo(f'"About" reaches {years} year{"s" * (years != 1)} either way.')
    if away:
        click.echo(f"{away} with scans on drives that are away.")
