"""``tiebeam new``, ``check``, ``backup``, ``upgrade`` and ``completion``: the archive itself."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from catalog.cli.common import archive_option, json_option, one_line, print_json

if TYPE_CHECKING:
    from catalog.store.archive import Archive

_FOLDER = click.Path(path_type=Path)


@click.command(short_help="Start an archive in a folder.")
@click.argument("folder", type=_FOLDER)
@click.option("--name", default="", help="What the archive is called; otherwise the folder's name.")
@click.option("--photographer", default="", help="Whose work it is: written into every sidecar.")
def new(folder: Path, name: str, photographer: str) -> None:
    """Start an archive in FOLDER, which is made if need be."""
    from catalog.store.new import make_archive

    archive, sentence = make_archive(folder, name=name, photographer=photographer)
    click.echo(one_line(f"Started the archive {archive.settings.archive_name!r} in {archive.folder}."))
    if sentence:
        click.echo(one_line(sentence))
    click.echo("Its settings are in tiebeam.toml. Next: tiebeam cards guess FILE, or tiebeam scans add FOLDER.")


@click.command(short_help="Look the catalogue over for faults.")
@click.option("--mend", is_flag=True, help="Make the search words anew first; nothing else is changed.")
@archive_option
@json_option
def check(archive: Archive, mend: bool, as_json: bool) -> int:
    """
    Look the catalogue over: its pages and links, its schema, dates, search words and daybook.

    One line for each finding, and status 1 if there are any. Files on drives are looked over by another
    command: tiebeam scans verify
    """
    from catalog.store.check import check_archive, mend_search

    if mend:
        mend_search(archive)
    findings = check_archive(archive)
    if as_json:
        items = [{"reference": None, "kind": finding.kind, "words": finding.words} for finding in findings]
        print_json({"items": items, "count": len(items)})
    else:
        for finding in findings:
            click.echo(one_line(f"{finding.kind}: {finding.words}"))
        if not findings:
            click.echo("The catalogue is sound.")
    return 1 if findings else 0


@click.command(short_help="Copy the catalogue and verify the copy.")
@click.option("--to", "folder", type=_FOLDER, metavar="FOLDER", help="Where to; otherwise the archive's backups/.")
@archive_option
def backup(archive: Archive, folder: Path | None) -> None:
    """
    Copy the catalogue while others may use it, and verify the copy.

    The scans themselves are not copied: they are files of yours, on drives of yours.
    """
    from catalog.store.backup import back_up

    copy = back_up(archive, folder)
    click.echo(one_line(f"Copied the catalogue to {copy} ({copy.stat().st_size:,} bytes) and found the copy sound."))


@click.command(short_help="Bring an older catalogue to this program.")
@click.option("--archive", "named", metavar="FOLDER", help="The archive; otherwise looked for upwards from here.")
@click.pass_context
def upgrade(ctx: click.Context, named: str | None) -> None:
    """Bring an older catalogue to this program's schema, after a verified backup."""
    from catalog.store.archive import open_archive
    from catalog.store.upgrade import upgrade_archive

    archive = open_archive(named or ctx.find_root().obj)
    before, after, copy = upgrade_archive(archive)
    if copy is None:
        click.echo(f"The catalogue has schema {after} already; nothing was changed.")
        return
    click.echo(one_line(f"Brought the catalogue from schema {before} to {after}. As it was before: {copy}"))
    click.echo("Deeds done before the upgrade can no longer be undone.")


@click.command(short_help="Print the lines that teach a shell to complete commands.")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """
    Print the lines that teach SHELL to complete commands.

    Put them where the shell reads them: ~/.bashrc, ~/.zshrc, or ~/.config/fish/completions/tiebeam.fish.
    """
    from click.shell_completion import get_completion_class

    from catalog.cli.main import tiebeam

    kind = get_completion_class(shell)
    if kind is None:
        raise click.ClickException(f"no completion is known for {shell}")
    teacher = kind(tiebeam, {}, "tiebeam", "_TIEBEAM_COMPLETE")
    # Not ``source()``: for bash that starts a bash to ask its version, which a machine need not have.
    click.echo(teacher.source_template % teacher.source_vars())
