"""``tiebeam find``: frames by words, place, building, years, lens, film."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import (
    Command,
    archive_option,
    csv_option,
    json_date,
    json_option,
    print_csv,
    print_json,
    print_table,
)

if TYPE_CHECKING:
    import sqlite3

    from catalog.store.archive import Archive
    from catalog.store.find import FoundFrame, FoundScan, Question


def frame_options(command: Command) -> Command:
    """Give a command the words and options by which frames are asked for; ``ask`` takes them."""
    for option in reversed(
        (
            click.argument("words", nargs=-1),
            click.option("--place", metavar="PLACE", help="What the frame shows: a place and all below it, by any name it had."),
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
@archive_option
@json_option
@csv_option
def find(archive: Archive, *, as_json: bool, as_csv: bool, **asked: Any) -> None:
    """
    Find frames, in order of date.

    WORDS are words: numbers, abbreviations, brackets and accents are looked for as typed. Every word and every
    option must hold. Each frame says whether it is certainly or only possibly an answer; with --years the undated
    frames are counted beside.
    """
    from catalog.store.find import find_frames

    with archive.reading() as connection:
        question = ask(connection, archive, **asked)
        answer = find_frames(connection, question)
        drives = drives_here(connection, answer.frames)
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
        print_csv(_HEADINGS, [csv_frame(frame) for frame in answer.frames])
    else:
        _print(archive, question, answer.frames, answer.undated, away)


_HEADINGS = ("reference", "numbers", "date", "edtf", "certainty", "shows", "lens", "film", "scans")


def ask(
    connection: sqlite3.Connection,
    archive: Archive,
    *,
    words: tuple[str, ...] = (),
    place: str | None = None,
    taken_from: str | None = None,
    building: str | None = None,
    years: str | None = None,
    lens: str | None = None,
    film: str | None = None,
    elevation: str | None = None,
    number: str | None = None,
    unscanned: bool = False,
    undated: bool = False,
) -> Question:
    """
    Return the question that typed words and options put.

    Raises:
        NotFoundError, AmbiguousNameError: a place, building, lens or film cannot be told.
        DateWordsError: the years say no date.
    """
    from catalog.cli.typed_dates import typed_years
    from catalog.store.find import Question
    from catalog.store.kit import films_like, lenses_like, sides_like
    from catalog.store.names import resolve

    side = _side(elevation) if elevation else None
    lens_ids, lens_doubts = lenses_like(connection, lens) if lens else ((), ())
    film_ids, film_doubts = films_like(connection, film) if film else ((), ())
    return Question(
        words=tuple(part for word in words for part in word.split()),
        place_id=resolve(connection, place, "place") if place else None,
        taken_from_id=resolve(connection, taken_from, "place") if taken_from else None,
        building_id=resolve(connection, building, "building") if building else None,
        years=typed_years(archive, years) if years else None,
        lens_ids=lens_ids,
        lens_doubts=lens_doubts,
        film_ids=film_ids,
        film_doubts=film_doubts,
        elevation=side,
        elevation_doubts=sides_like(connection, side) if side else (),
        number=number,
        is_unscanned=unscanned,
        is_undated=undated,
        about_days=archive.about_days,
    )


def _side(typed: str) -> str:
    from catalog.errors import RefusedError
    from catalog.rules.compass import COMPASS, parse_elevation

    side = parse_elevation(typed)
    if side is None:
        raise RefusedError(f"{typed!r} is no side of a building. Give one of {', '.join(COMPASS)}.")
    return side


def drives_here(connection: sqlite3.Connection, frames: tuple[FoundFrame, ...]) -> dict[int, Path]:
    """Return where the drives are that hold scans of these frames; one that is away is not among them."""
    wanted = {scan.drive_id for frame in frames for scan in frame.scans if scan.drive_id is not None}
    if not wanted:
        return {}
    from catalog.store.drives import drive_rows, here, sight_drives

    return here(sight_drives(row for row in drive_rows(connection) if row.id in wanted))


def is_away(frame: FoundFrame, drives: dict[int, Path]) -> bool:
    """Return True if a frame has scans, and every one of them is on a drive that is not here."""
    return bool(frame.scans) and all(s.drive_id is not None and s.drive_id not in drives for s in frame.scans)


def shown_words(frame: FoundFrame) -> str:
    """Return what a frame shows, in words that keep its doubt."""
    from catalog.rules.doubt import hedged

    parts = [
        " ".join(filter(None, (hedged(s.name, s.certainty), s.elevation, s.part if s.part != "elevation" else None)))
        for s in frame.subjects
    ]
    words = "; ".join(parts or frame.titles)
    return words if frame.fate == "exposed" else f"{words} ({frame.fate})" if words else f"({frame.fate})"


def date_words(frame: FoundFrame) -> str:
    """Return a frame's date in words."""
    from catalog.dates import format_words, parse_edtf

    return format_words(parse_edtf(frame.exposed_edtf) if frame.exposed_edtf else None)


def lens_words_of(frame: FoundFrame) -> str:
    """Return the lens; as written where that is doubtful."""
    return next((written for field, written in frame.doubts if field == "lens"), frame.lens_name or "")


def csv_frame(frame: FoundFrame) -> tuple[str, ...]:
    """Return a frame as a line of CSV."""
    return (
        f"S{frame.id}", "; ".join(text for text, _ in frame.numbers), date_words(frame), frame.exposed_edtf or "",
        frame.certainty, shown_words(frame), lens_words_of(frame), frame.film_name or "",
        "; ".join(scan.path for scan in frame.scans),
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
        "film": frame.film_name,
        "doubts": [{"field": field, "as_written": written} for field, written in frame.doubts],
        "scans": [
            {"reference": f"C{scan.id}", "path": str(_home(scan, archive, drives) / scan.path)} for scan in frame.scans
        ],
    }


def _home(scan: FoundScan, archive: Archive, drives: dict[int, Path]) -> Path:
    """Return the folder a scan's path starts from; for a drive that is away, where it was last."""
    if scan.drive_id is None:
        return archive.folder
    return drives.get(scan.drive_id) or Path(scan.drive_path or "")


def _json_subject(subject: Any, letter: str) -> dict[str, Any]:
    return {
        "reference": f"{letter}{subject.id}",
        "name": subject.name,
        "elevation": subject.elevation,
        "part": subject.part,
        "certainty": subject.certainty,
    }


def _print(archive: Archive, question: Question, frames: tuple[FoundFrame, ...], undated: int, away: int) -> None:
    rows = [
        (
            f"S{frame.id}",
            ", ".join(text for text, _ in frame.numbers),
            date_words(frame),
            str(frame.certainty),
            shown_words(frame),
            lens_words_of(frame),
            str(len(frame.scans)) if frame.scans else "-",
        )
        for frame in frames
    ]
    print_table(("sheet", "number", "date", "answers", "shows", "lens", "scans"), rows)
    certainly = sum(frame.certainty == "certainly" for frame in frames)
    words = "Nothing found" if not frames else f"{len(frames)} frame{'s' * (len(frames) != 1)}"
    if frames:
        words += f": {certainly} certainly, {len(frames) - certainly} possibly"
    click.echo(words + ".")
    if question.years is not None:
        click.echo(
            f"{undated} undated beside these; --undated lists them." if undated else "No undated frame beside these."
        )
        click.echo(f'"About" reaches {archive.settings.dates_about_years} years either way.')
    if away:
        click.echo(f"{away} with scans on drives that are away.")
