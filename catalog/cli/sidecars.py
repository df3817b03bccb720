"""``tiebeam sidecars``: write metadata beside the scans, in open standards."""

from __future__ import annotations

from collections import Counter
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, dry_run_option, json_option, print_json, progress, say_waiting
from catalog.cli.find import frame_options

if TYPE_CHECKING:
    from catalog.actions.sidecars import SidecarDone
    from catalog.store.archive import Archive


@click.group(short_help="Write metadata beside the scans.")
def sidecars() -> None:
    """Write metadata beside the scans: XMP, with the properties of the IPTC standard."""


@sidecars.command()
@frame_options
@archive_option
@json_option
@dry_run_option
def write(archive: Archive, *, as_json: bool, dry_run: bool, **asked: Any) -> int:
    """
    Write the sidecar of every scan of the frames asked for; of all frames when nothing is asked.

    WORDS and options are those of find. An existing sidecar keeps every property that is not ours; one that
    cannot be parsed is left alone and named. Scans themselves are never written. Private facts never go out, and
    notes only under the headings that the settings name.
    """
    from catalog.actions.sidecars import write_sidecars
    from catalog.cli.find import ask
    from catalog.store.find import find_frames

    with archive.reading() as connection:
        answer = find_frames(connection, ask(connection, archive, **asked))
    frames = [frame for frame in answer.frames if frame.scans]
    with progress("sidecars", len({scan.id for frame in frames for scan in frame.scans})) as advance:
        done = list(
            write_sidecars(
                archive, [frame.id for frame in frames], dry_run=dry_run, on_wait=say_waiting, on_progress=advance,
                on_say=lambda sentence: click.echo(sentence, err=True),
                left_to_do=f"What is left is done by: {typed_again(asked)}",
            )
        )  # fmt: skip
    if as_json:
        _print_json(done)
    else:
        _print(done, dry_run=dry_run)
    return int(any(one.outcome in ("missing", "failed") for one in done))


def typed_again(asked: dict[str, Any]) -> str:
    """
    Return the command that asks for the same frames once more.

    >>> typed_again({"words": ("Osk Mill",), "taken_from": "Osk", "undated": True, "lens": None})
    "tiebeam sidecars write 'Osk Mill' --taken-from Osk --undated"
    """
    import shlex

    typed = ["tiebeam", "sidecars", "write", *asked.get("words", ())]
    for option, value in asked.items():
        if option != "words" and value:
            typed += [f"--{option.replace('_', '-')}", *([] if value is True else [str(value)])]
    return shlex.join(typed)


def _print_json(done: list[SidecarDone]) -> None:
    items = [
        {
            "reference": f"C{one.scan_id}",
            "sheet": f"S{one.sheet_id}",
            "outcome": one.outcome,
            "path": one.path,
            "reason": one.reason,
            "replaced": list(one.replaced),
        }
        for one in done
    ]
    print_json({"items": items, "count": len(done), "away": sum(one.outcome == "away" for one in done)})


def _print(done: list[SidecarDone], *, dry_run: bool) -> None:
    from catalog.cli.common import one_line

    for one in done:
        name = one_line(PurePath(one.path).name)
        if one.outcome in ("missing", "failed"):
            click.echo(f"C{one.scan_id} {name}: {one_line(one.reason or '')}", err=True)
        for words in one.replaced:
            click.echo(f"C{one.scan_id} {name}: replaced words of another program: {one_line(words)}")
    counts = Counter(one.outcome for one in done)
    parts = [f"{_counted(counts['written'], 'sidecar')} {'would be written' if dry_run else 'written'}"]
    parts += [f"{counts['here']} say it all already"] if counts["here"] else []
    parts += [f"{counts['away']} on drives that are away"] if counts["away"] else []
    parts += [f"{_counted(counts['missing'], 'scan')} missing"] if counts["missing"] else []
    parts += [f"{counts['failed']} failed"] if counts["failed"] else []
    click.echo(", ".join(parts) + ".")


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'s' * (number != 1)}"
