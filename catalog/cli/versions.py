"""``tiebeam versions``: from negative to picture, recorded step by step."""

from __future__ import annotations

import shlex
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli._version_words import (
    done_item,
    echo_wrapped,
    tone_options,
    typed_scan,
    typed_source,
    typed_version,
    typed_wishes,
    version_item,
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
    progress,
    say_waiting,
)
from catalog.cli.deeds import deed_options, desk_for, say_besides
from catalog.cli.find import frame_options
from catalog.rules.counting import counted

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from catalog.actions.version_records import VersionFacts
    from catalog.actions.versions import VersionDone
    from catalog.store.archive import Archive

Command = Any


@click.group(short_help="From negative to picture: edit versions and their tone steps.")
def versions() -> None:
    """
    Edit versions: pictures made from scans.

    Tone steps are recorded and can be followed again; files made elsewhere are registered with what they were made
    from. No command writes to a scan.
    """


# ---- making


@versions.command(short_help="Make a positive: record its tone steps, and write it with --write.")
@frame_options
@click.option("--scan", metavar="SCAN", help="Which of a sheet's scans.")
@tone_options
@click.option("--purpose", metavar="WORDS", help="What it is for.")
@click.option("--note", metavar="WORDS")
@click.option("--replaces", metavar="VERSION", help="The version (W3) that it takes the place of.")
@click.option("--write", is_flag=True, help="Write the picture, a TIFF of 16 bits.")
@click.option("--folder", metavar="FOLDER", help="Write it there, not where the settings say.")
@archive_option
@json_option
@dry_run_option
def make(
    archive: Archive, *, words: tuple[str, ...], scan: str | None, purpose: str | None, note: str | None,
    replaces: str | None, write: bool, folder: str | None, as_json: bool, dry_run: bool, **options: Any,
) -> int:  # fmt: skip
    """
    Make an edit version of the scan of a sheet: a positive, by tone steps that are recorded.

    WORDS alone are numbers or references of sheets (or scans, C3); with other options of find they are words to find,
    and a version of every frame's scan is made. Of a sheet with several scans, say which with --scan.

    What is not said of tones is measured: the film's base, black and white point inside the picture, grade 2.
    """
    from catalog.actions.versions import make_versions

    tones = {name: options.pop(name) for name in _TONES}
    wishes = typed_wishes(**tones)
    is_filter = any(options.values())
    if scan is not None and (is_filter or len(words) != 1):
        raise click.UsageError("--scan chooses among the scans of one sheet: give its NUMBER and nothing else to find.")
    if replaces is not None and (is_filter or len(words) != 1):
        raise click.UsageError("--replaces is said of one version: give one NUMBER.")
    if not words and not is_filter:
        raise click.UsageError("give a NUMBER, or an option that says which frames.")
    asks: list[VersionDone] = []
    unscanned = 0
    with archive.reading() as connection:
        if is_filter:
            scans, asks, unscanned = _scans_asked_for(connection, archive, words, options)
        else:
            scans = list(dict.fromkeys(typed_scan(connection, archive, word, scan) for word in words))
        replaces_id = typed_version(connection, replaces) if replaces else None
    typed = {**options, **tones, "purpose": purpose, "note": note, "write": write, "folder": folder}
    with progress("Making versions", _PARTS) as advance:
        made = list(
            make_versions(
                archive, scans, wishes, purpose=purpose, note=note, replaces_id=replaces_id,
                write=write or folder is not None, folder=Path(folder) if folder else None, dry_run=dry_run,
                on_share=_moves(advance), on_wait=say_waiting, reuse=is_filter or len(words) > 1,
                arguments=typed_again(words, typed),
            )
        )  # fmt: skip
    return _tell(archive, [*made, *asks], unscanned, as_json=as_json, dry_run=dry_run, is_one=len(scans) == 1)


_TONES = ("points", "black", "white", "curve", "crop", "straighten", "mirror", "neutral", "profile")
_PARTS = 1000


def _moves(advance: Callable[[int], None]) -> Callable[[float], None]:
    told = 0

    def move(share: float) -> None:
        nonlocal told
        now = round(share * _PARTS)
        if now > told:
            advance(now - told)
            told = now

    return move


def typed_again(words: tuple[str, ...], options: dict[str, Any]) -> str:
    """
    Return the words and options of a command, to be typed again.

    >>> typed_again(("Osk Mill",), {"place": "Osk", "straighten": -0.5, "write": True, "note": None})
    "'Osk Mill' --place Osk --straighten -0.5 --write"
    """
    typed = list(words)
    for option, value in options.items():
        name = f"--{option.replace('_', '-')}"
        if value is True or (value is False and option == "mirror"):
            typed.append(name if value else "--no-mirror")
        elif value is not None and value is not False:
            typed += [name, str(value)]
    return shlex.join(typed)


def _scans_asked_for(
    connection: Any, archive: Archive, words: tuple[str, ...], options: dict[str, Any]
) -> tuple[list[int], list[VersionDone], int]:
    """Return the scans of the frames asked for, what has to be asked about, and how many frames have no scan."""
    from catalog.actions.versions import VersionDone
    from catalog.rules.references import format_reference
    from catalog.store.asking import ask
    from catalog.store.find import find_frames

    answer = find_frames(connection, ask(connection, archive, words=words, **options))
    scans: dict[int, None] = {}
    asks = []
    for frame in answer.frames:
        if len(frame.scans) == 1:
            scans[frame.scans[0].id] = None
        elif frame.scans:
            listed = ", ".join(format_reference("scan", one.id) for one in frame.scans)
            again = f"tiebeam versions make S{frame.id} --scan C{frame.scans[0].id}"
            why = f"S{frame.id} has {len(frame.scans)} scans ({listed}). Say which: {again}"
            asks.append(VersionDone("asks", sheet_id=frame.id, reason=why))
    return list(scans), asks, sum(not frame.scans for frame in answer.frames)


def _tell(
    archive: Archive, done: list[VersionDone], unscanned: int, *, as_json: bool, dry_run: bool, is_one: bool
) -> int:
    findings = sum(one.is_finding for one in done)
    if as_json:
        _print_done(archive, done, unscanned)
    else:
        for one in done:
            _echo_done(archive, one, dry_run=dry_run)
        if not is_one or len(done) != 1:
            click.echo(_summary(done, unscanned, dry_run=dry_run))
    is_refused = is_one and len(done) == 1 and findings == 1 and done[0].version_id is None
    return 3 if is_refused else int(findings > 0)


def _echo_done(archive: Archive, one: VersionDone, *, dry_run: bool) -> None:
    if one.is_finding:
        name = f"C{one.scan_id}: " if one.scan_id else ""
        click.echo(f"{name}{one_line(one.reason or '').rstrip('.')}.", err=True)
        return
    if dry_run:
        echo_wrapped(f"Would {'write' if one.version_id else 'make'} {one.words()}", "  ")
        return
    echo_wrapped(one.words() + (", made before" if one.outcome == "here" else ""), "  ")
    if one.path is not None:
        path = one.path
        if path.is_relative_to(archive.folder):
            path = path.relative_to(archive.folder)
        click.echo(f"  written: {one_line(str(path))}")


def _summary(done: list[VersionDone], unscanned: int, *, dry_run: bool) -> str:
    counts = Counter(one.outcome for one in done)
    made = sum(one.version_id is not None and one.outcome != "here" for one in done)
    if dry_run:
        made = counts["made"] + counts["written"]
    parts = [f"{counted(made, 'edit version')} {'would be made' if dry_run else 'made'}"]
    parts += [f"{counts['written']} written"] if counts["written"] and not dry_run else []
    parts += [f"{counts['here']} made before"] if counts["here"] else []
    parts += [f"{counts['away']} on drives that are away"] if counts["away"] else []
    parts += [f"{counts['blocked']} whose side is in question"] if counts["blocked"] else []
    parts += [f"{counts['asks']} with several scans"] if counts["asks"] else []
    parts += [f"{counts['failed']} failed"] if counts["failed"] else []
    parts += [f"{counted(unscanned, 'frame')} without a scan"] if unscanned else []
    return ", ".join(parts) + "."


def _print_done(archive: Archive, done: list[VersionDone], unscanned: int) -> None:
    with archive.reading() as connection:
        items = [done_item(one, _sheets_of(connection, one)) for one in done]
    print_json(
        {
            "items": items,
            "count": len(items),
            "away": sum(one.outcome == "away" for one in done),
            "unscanned": unscanned,
            "findings": sum(one.is_finding for one in done),
        }
    )


def _sheets_of(connection: Any, one: VersionDone) -> list[int]:
    if one.scan_id is None:
        return [one.sheet_id] if one.sheet_id else []
    from catalog.store.scans import scan_parts

    return [part.sheet_id for part in scan_parts(connection, one.scan_id)]


@versions.command(short_help="Write the pictures of versions whose steps are recorded.")
@click.argument("which", nargs=-1, required=True, metavar="VERSION...")
@click.option("--folder", metavar="FOLDER", help="Write there, not where the settings say.")
@archive_option
@json_option
@dry_run_option
def write(archive: Archive, *, which: tuple[str, ...], folder: str | None, as_json: bool, dry_run: bool) -> int:
    """Write the picture of each VERSION (W3) by following its recorded steps on its scan."""
    from catalog.actions.versions import write_versions

    with archive.reading() as connection:
        wanted = list(dict.fromkeys(typed_version(connection, one) for one in which))
    with progress("Writing versions", _PARTS) as advance:
        done = list(
            write_versions(
                archive, wanted, folder=Path(folder) if folder else None, dry_run=dry_run, on_share=_moves(advance),
                on_wait=say_waiting,
            )
        )  # fmt: skip
    findings = sum(one.is_finding for one in done)
    if as_json:
        _print_done(archive, done, 0)
    else:
        for one in done:
            _echo_done(archive, one, dry_run=dry_run)
        if len(done) > 1:
            click.echo(f"{sum(one.outcome == 'written' for one in done)} written, {findings} not.")
    return 3 if findings == len(done) == 1 else int(findings > 0)


# ---- files made elsewhere


def _facts(command: Command) -> Command:
    for option in (
        click.option("--replaces", metavar="VERSION", help="The version (W3) that it takes the place of."),
        click.option("--note", metavar="WORDS"),
        click.option("--made-with", metavar="WORDS", help="The program or the hand that made it."),
        click.option("--made", metavar="DATE", help="When it was made: EDTF or plain words."),
        click.option("--purpose", metavar="WORDS", help="What it is for."),
        click.option(
            "--from", "made_from", metavar="SCAN", multiple=True,
            help="What it was made from: a scan (C3), a version (W1), or a sheet whose scan is not known. Repeatable.",
        ),
    ):  # fmt: skip
        command = option(command)
    return deed_options(command)


def _typed_facts(
    archive: Archive, *, purpose: str | None, note: str | None, made: str | None, made_with: str | None,
    replaces: str | None,
) -> VersionFacts:  # fmt: skip
    from catalog.cli.typed import Typed

    typed = Typed(archive).plain(purpose=purpose, note=note, made_with=made_with).dates(made=made)
    if replaces is not None:
        with archive.reading() as connection:
            typed.facts["replaces_id"] = typed_version(connection, replaces) if replaces.strip() else None
    facts: VersionFacts = {**typed.facts}  # type: ignore[typeddict-item]
    return facts


@versions.command(short_help="Register a working file made elsewhere.")
@click.argument("number")
@click.argument("file")
@_facts
def add(archive: Archive, *, number: str, file: str, made_from: tuple[str, ...], dry_run: bool, **facts: Any) -> int:
    """
    Register FILE, a working file made elsewhere, as an edit version of the sheet NUMBER. It is only read.

    Without --from it was made from the sheet's only scan. A picture stitched from several scans names each. A file
    that lost the colour profile its scan had is registered, and the loss is said; the command then ends with 1.
    """
    from catalog.actions.version_records import add_version

    with archive.reading() as connection:
        sources = [typed_source(connection, archive, one) for one in made_from] or [_own_source(connection, number)]
        _refuse_other_sheet(connection, number, sources)
    added = add_version(archive, Path(file), sources, **_typed_facts(archive, **facts), desk=desk_for(dry_run))
    for warning in added.warnings:
        click.echo(f"W{added.version_id}: {one_line(warning)}.", err=True)
    return 1 if added.warnings else 0


def _own_source(connection: Any, number: str) -> Any:
    from catalog.actions.version_records import Source
    from catalog.errors import AmbiguousNameError
    from catalog.store.names import candidates, resolve
    from catalog.store.versions import scans_of_sheet

    sheet_id = resolve(connection, number, "sheet")
    scans = scans_of_sheet(connection, sheet_id)
    if len(scans) > 1:
        raise AmbiguousNameError(number, candidates(connection, "scan", scans), "scans")
    return Source(scan_id=scans[0]) if scans else Source(sheet_id=sheet_id)


def _refuse_other_sheet(connection: Any, number: str, sources: list[Any]) -> None:
    """Refuse when nothing that a file is said to be made from shows the sheet it is said to be of."""
    from catalog.errors import RefusedError
    from catalog.store.names import resolve
    from catalog.store.scans import scan_parts
    from catalog.store.versions import sheets_of_versions

    sheet_id = resolve(connection, number, "sheet")
    shown: set[int] = set()
    for source in sources:
        if source.scan_id is not None:
            shown |= {part.sheet_id for part in scan_parts(connection, source.scan_id)}
        elif source.version_id is not None:
            shown |= set(sheets_of_versions(connection, source.version_id).get(source.version_id, []))
        else:
            shown.add(source.sheet_id)
    if sheet_id not in shown:
        named = ", ".join(source.reference for source in sources)
        raise RefusedError(f"{named} is not of {number} (S{sheet_id}). Nothing was changed.")


@versions.command(short_help="Correct what is said of a version.")
@click.argument("version")
@_facts
def correct(archive: Archive, *, version: str, made_from: tuple[str, ...], dry_run: bool, **facts: Any) -> None:
    """
    Correct what is said of a version; what is not given stays, an empty text takes a fact away.

    Its steps stay what they are: make another version that replaces it.
    """
    from catalog.actions.version_records import correct_version

    with archive.reading() as connection:
        version_id = typed_version(connection, version)
        sources = [typed_source(connection, archive, one) for one in made_from] or None
    correct_version(archive, version_id, sources=sources, **_typed_facts(archive, **facts), desk=desk_for(dry_run))


@versions.command(short_help="Take a changed working file for the version it is meant to be.")
@click.argument("version")
@deed_options
def accept(archive: Archive, *, version: str, dry_run: bool) -> int:
    """Take the working file of a version as it is now: it was changed on purpose."""
    from catalog.actions.version_records import accept_version

    with archive.reading() as connection:
        version_id = typed_version(connection, version)
    warnings = accept_version(archive, version_id, desk=desk_for(dry_run))
    for warning in warnings:
        click.echo(f"W{version_id}: {one_line(warning)}.", err=True)
    return 1 if warnings else 0


@versions.command(short_help="Take a version out of the catalogue; its file stays as it is.")
@click.argument("version")
@deed_options
def remove(archive: Archive, *, version: str, dry_run: bool) -> None:
    """Take a version out of the catalogue. Its file stays where and as it is."""
    from catalog.actions.version_records import remove_version

    with archive.reading() as connection:
        version_id = typed_version(connection, version)
    path = remove_version(archive, version_id, desk=desk_for(dry_run))
    if path is not None and not dry_run:
        say_besides(f"Its file was left: {one_line(path)}", path=str(path))


# ---- looking


@versions.command(short_help="Show a version with its descent: sheet, scan, version.")
@click.argument("version")
@archive_option
@json_option
def show(archive: Archive, *, version: str, as_json: bool) -> None:
    """Show a version whole: its steps in words, its file, its descent. VERSION is W3, or a number with one version."""
    from catalog.cli.show import show_record

    with archive.reading() as connection:
        version_id = typed_version(connection, version)
    show_record(archive, "edit_version", version_id, as_json)


@versions.command("list", short_help="List versions.")
@frame_options
@click.option("--current", is_flag=True, help="Leave out those that another one replaces.")
@archive_option
@json_option
@csv_option
def list_(archive: Archive, *, current: bool, as_json: bool, as_csv: bool, **asked: Any) -> None:
    """List the versions of the frames asked for, or all: what each is of, made from, made how, and its file."""
    from catalog.store.asking import ask
    from catalog.store.find import find_frames
    from catalog.store.versions import list_versions

    with archive.reading() as connection:
        sheets = None
        if any(asked.values()):
            sheets = [frame.id for frame in find_frames(connection, ask(connection, archive, **asked)).frames]
        items = [version_item(connection, archive, row) for row in list_versions(connection, sheets)]
        numbers = {item["reference"]: _numbers(connection, item["sheets"]) for item in items}
    items = [item for item in items if item["is_current"] or not current]
    if as_json:
        print_json({"items": items, "count": len(items)})
    elif as_csv:
        print_csv(
            ["reference", "numbers", *_CSV],
            [[item["reference"], numbers[item["reference"]], *_cells(item)] for item in items],
        )
    elif items:
        print_table(["", "of", "from", "made", "file"], [_row(item, numbers[item["reference"]]) for item in items])
    else:
        click.echo("No edit versions yet. Make one with: tiebeam versions make NUMBER")


def _numbers(connection: Any, sheets: list[str]) -> str:
    rows = (
        connection.execute("SELECT text FROM sheet_number WHERE sheet_id = ? ORDER BY id LIMIT 1", (int(one[1:]),))
        for one in sheets
    )
    return ", ".join(text for found in rows for (text,) in found)


_CSV = ("sheets", "made_from", "purpose", "steps_in_words", "made_with", "replaces", "replaced_by", "path", "state",
        "width_px", "height_px", "bits", "profile", "note")  # fmt: skip


def _cells(item: dict[str, Any]) -> Iterator[Any]:
    for name in _CSV:
        value = item[name]
        yield "; ".join(value) if isinstance(value, list) else value


def _row(item: dict[str, Any], numbers: str) -> list[str]:
    said = [item["purpose"], item["steps_in_words"] or item["made_with"] or "made elsewhere"]
    said += [f"replaces {item['replaces']}"] if item["replaces"] else []
    said += [f"replaced by {', '.join(item['replaced_by'])}"] if item["replaced_by"] else []
    file = Path(item["path"]).name if item["path"] else "not written" if item["steps"] else "none"
    state = f" ({item['damage'] or item['state']})" if item["state"] not in (None, "present") else ""
    return [item["reference"], numbers, ", ".join(item["made_from"]), "; ".join(filter(None, said)), file + state]
