"""``tiebeam sidecars``: write metadata beside the scans, in open standards."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, dry_run_option, json_option, print_json, progress, say_waiting
from catalog.cli.find import frame_options

if TYPE_CHECKING:
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
    cannot be parsed is left alone and named. Scans themselves are never written.
    """
    from catalog.actions.sidecars import write_sidecars
    from catalog.cli.find import ask
    from catalog.store.find import find_frames

    with archive.reading() as connection:
        answer = find_frames(connection, ask(connection, archive, **asked))
    frames = [frame for frame in answer.frames if frame.scans]
    with progress("sidecars", sum(len(frame.scans) for frame in frames)) as advance:
        done = list(
            write_sidecars(
                archive, [frame.id for frame in frames], dry_run=dry_run, on_wait=say_waiting, on_progress=advance
            )
        )
    counts = {outcome: sum(one.outcome == outcome for one in done) for outcome in ("written", "here", "away", "missing", "failed")}
    if as_json:
        print_json(
            {
                "items": [
                    {
                        "reference": f"C{one.scan_id}", "sheet": f"S{one.sheet_id}", "outcome": one.outcome,
                        "path": one.path, "reason": one.reason, "replaced": list(one.replaced),
                    }
                    for one in done
                ],
                "count": len(done), "away": counts["away"],
            }
        )  # fmt: skip
    else:
        _print(archive, done, counts, dry_run=dry_run)
    return int(bool(counts["missing"] or counts["failed"]))


def _print(archive: Archive, done: list[Any], counts: dict[str, int], *, dry_run: bool) -> None:
    for one in done:
        if one.outcome in ("missing", "failed"):
            click.echo(f"C{one.scan_id} {Path(one.path).name}: {one.reason}", err=True)
        for words in one.replaced:
            click.echo(f"C{one.scan_id} {Path(one.path).name}: replaced words of another program: {words}")
    verb = "would be written" if dry_run else "written"
    parts = [f"{counts['written']} sidecar{'s' * (counts['written'] != 1)} {verb}"]
    parts += [f"{counts['here']} say it all already"] if counts["here"] else []
    parts += [f"{counts['away']} on drives that are away"] if counts["away"] else []
    parts += [f"{counts['missing']} scans missing"] if counts["missing"] else []
    parts += [f"{counts['failed']} failed"] if counts["failed"] else []
    click.echo(", ".join(parts) + ".")
