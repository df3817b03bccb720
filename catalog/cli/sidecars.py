"""``tiebeam sidecars``: write metadata beside the scans, in open standards."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, dry_run_option, json_option, print_json, progress, say_waiting
from catalog.cli.find import frame_options
from catalog.rules.counting import counted

if TYPE_CHECKING:
    from catalog.actions.sidecar_looking import Looked
    from catalog.actions.sidecar_taking import Taken
    from catalog.actions.sidecars import SidecarDone
    from catalog.store.archive import Archive


@click.group(short_help="Write metadata beside the scans.")
def sidecars() -> None:
    """Write metadata beside the scans: XMP, with the properties of the IPTC standard."""


@sidecars.command(short_help="Write the sidecars of the frames asked for.")
@frame_options
@archive_option
@json_option
@dry_run_option
def write(archive: Archive, *, as_json: bool, dry_run: bool, **asked: Any) -> int:
    """
    Write the sidecar of every scan of the frames asked for; of all frames when nothing is asked.

    WORDS and options are those of find; a sheet may be named by its reference, or by one of its scans. An existing
    sidecar keeps every property that is not ours; one that cannot be parsed is left alone and named. Scans
    themselves are never written. Private facts never go out, and notes only under the headings that the settings
    name.
    """
    from catalog.actions.sidecars import write_sidecars
    from catalog.cli._sidecar_scans import scans_asked
    from catalog.store.captions import scans_of_sheets

    sheet_ids = scans_asked(archive, asked).sheet_ids
    with archive.reading() as connection:
        scans = len(set(scans_of_sheets(connection, sheet_ids)))
    with progress("sidecars", scans) as advance:
        done = list(
            write_sidecars(
                archive, sheet_ids, dry_run=dry_run, on_wait=say_waiting, on_progress=advance,
                on_say=lambda sentence: click.echo(sentence, err=True),
                left_to_do=f"What is left is done by: {typed_again(asked)}",
            )
        )  # fmt: skip
    if as_json:
        _print_json(done)
    else:
        _print(done, dry_run=dry_run)
    return int(any(one.outcome in ("missing", "failed") or one.held for one in done))


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
    from catalog.standards.xmp import spell

    items = [
        {
            "reference": f"C{one.scan_id}",
            "sheet": f"S{one.sheet_id}",
            "outcome": one.outcome,
            "path": one.path,
            "reason": one.reason,
            "held": list(one.held),
            "changed_elsewhere": list(one.theirs),
            "longer_than_iim": [
                {"property": spell(over.name), "octets": over.octets, "limit": over.limit, "words": over.text}
                for over in one.long
            ],
        }
        for one in done
    ]
    print_json({"items": items, "count": len(done), "away": sum(one.outcome == "away" for one in done)})


def _print(done: list[SidecarDone], *, dry_run: bool) -> None:
    from catalog.cli.common import one_line

    for one in done:
        name = one_line(PurePath(one.path).name)
        if one.outcome in ("missing", "failed"):
            reason = one_line(one.reason or "").removeprefix(f"{name}: ")
            click.echo(f"C{one.scan_id} {name}: {reason}", err=True)
        if one.held:
            fields = one_line(", ".join(one.held))
            click.echo(
                f"C{one.scan_id} {name}: held, changed on both sides: {fields}. Theirs stays. "
                f"See: tiebeam sidecars compare C{one.scan_id}"
            )
        if one.theirs:
            fields = one_line(", ".join(one.theirs))
            click.echo(
                f"C{one.scan_id} {name}: kept as changed elsewhere: {fields}. See: tiebeam sidecars read C{one.scan_id}"
            )
    _print_long(done)
    counts = Counter(one.outcome for one in done)
    parts = [f"{counted(counts['written'], 'sidecar')} {'would be written' if dry_run else 'written'}"]
    parts += [f"{counts['here']} say{'s' * (counts['here'] == 1)} it all already"] if counts["here"] else []
    parts += [f"{counts['away']} on drives that are away"] if counts["away"] else []
    parts += [f"{counted(counts['missing'], 'scan')} missing"] if counts["missing"] else []
    parts += [f"{counts['failed']} failed"] if counts["failed"] else []
    click.echo(", ".join(parts) + ".")


def _print_long(done: list[SidecarDone]) -> None:
    """Say of which fields a program that copies them into IIM would cut what was written: two lines a field."""
    from catalog.cli.common import one_line
    from catalog.outputs.sidecar_compare import title_of

    written = [(one, over) for one in done if one.outcome == "written" for over in one.long]
    for name in dict.fromkeys(over.name for _, over in written):
        of_field = [(one, over) for one, over in written if over.name == name]
        one, over = of_field[0]
        text = one_line(over.text)
        example = text if len(text) <= 24 else f"{text[:23]}…"
        click.echo(
            f"{title_of(name)}: {counted(len(of_field), 'text')} beyond the {over.limit} octets of IIM "
            f"(C{one.scan_id} “{example}” has {over.octets}).\n"
            "  Written whole; a program that copies it into IIM cuts it."
        )


# ---- comparing, reading in, settling

private_option = click.option("--private", "ask_private", is_flag=True, help="Show what names a person, too.")


@sidecars.command(short_help="Compare catalogue, sidecar and scan, field by field.")
@frame_options
@archive_option
@json_option
@private_option
@click.option("--all", "every_field", is_flag=True, help="Every field, also those that are equal.")
def compare(archive: Archive, *, as_json: bool, ask_private: bool, every_field: bool, **asked: Any) -> int:
    """
    Compare catalogue, sidecar and what is embedded in the scan, field by field.

    WORDS and options are those of find; a scan or sheet may be named by its reference, or a scan by its file.
    Nothing is changed. Shown is what there is to look at: what was changed in a sidecar since it was written, what
    both sides changed, what the catalogue lacks, what the scan says otherwise, text that seems stored wrongly. The
    status is 1 when there is any of it.
    """
    from catalog.cli._sidecar_words import json_compared, print_compared

    looked = _look(archive, asked)
    if as_json:
        print_json(json_compared(looked, ask_private=ask_private))
    else:
        print_compared(looked, ask_private=ask_private, every_field=every_field)
    has_findings = any(one.is_finding for scan in looked.scans for one in scan.fields)
    return int(has_findings or bool(looked.claims) or _has_faults(looked))


@sidecars.command(short_help="Show and take what sidecars and scans hold besides.")
@frame_options
@archive_option
@json_option
@private_option
@dry_run_option
@click.option("--take", metavar="FIELD[,FIELD]|all", help="Take these into the catalogue; without it they are shown.")
@click.option("--repaired", is_flag=True, help="Take a text that seems stored wrongly as it may have been.")
@click.option(
    "--sheet", "sheets", multiple=True, metavar="S12",
    help="Only for this sheet; of a scan that shows several it says whose facts these are.",
)  # fmt: skip
def read(
    archive: Archive, *, as_json: bool, ask_private: bool, dry_run: bool, take: str | None, repaired: bool,
    sheets: tuple[str, ...], **asked: Any,
) -> int:  # fmt: skip
    """
    Show what sidecars and scans hold that the catalogue lacks; with --take, take it.

    WORDS and options are those of find; a scan or sheet may be named by its reference, or a scan by its file. What
    is taken is one deed, and each sheet gets a note of where its facts were found. Doubtful words stay doubtful.
    "all" leaves what there is a reason against, which is shown; name the field to take that too. Of a scan that
    shows several sheets nothing is taken until --sheet says whose it is.
    """
    from catalog.actions.desk import Desk
    from catalog.actions.sidecar_taking import propose_from, take_proposals
    from catalog.cli._sidecar_words import Shown, json_proposals, print_proposals

    looked = _look(archive, asked)
    found = propose_from(archive, looked.scans, [_sheet_named(sheet) for sheet in sheets])
    taken: tuple[Taken, ...] = ()
    if take is not None:
        fields = None if take.strip() == "all" else [field.strip() for field in take.split(",") if field.strip()]
        desk = Desk(dry_run=dry_run, on_wait=say_waiting)
        taken = take_proposals(archive, found, fields, repaired=repaired, desk=desk)
    if as_json:
        items = json_proposals(found, looked.private, ask_private=ask_private)
        print_json({"items": items, "count": len(items), "taken": sum(one.left is None for one in taken)})
    elif take is None:
        print_proposals(found, looked.private, ask_private=ask_private)
        facts = counted(sum(len(one.proposals) for one in found), "fact")
        more = " Take them with --take FIELD or --take all." if any(not one.is_shared for one in found) else ""
        of = len({sheet for one in found for sheet in one.sheet_ids})
        click.echo(f"{facts} that the catalogue lacks, for {counted(of, 'sheet')}.{more}")
    else:
        shown = Shown(looked.private, ask_private=ask_private)
        for one in taken:
            if one.left is not None:
                words = f"{one.proposal.field} {shown.quoted(one.proposal.words)}: {shown.words(one.left)}"
                click.echo(f"{one.reference}: left {words}", err=True)
        would = "would be taken" if dry_run else "taken"
        click.echo(f"{counted(sum(one.left is None for one in taken), 'fact')} {would}.")
    _say_faults(looked)
    return int(any(one.left is not None for one in taken) or _has_faults(looked))


@sidecars.command(short_help="Settle whose value of a field stands.")
@frame_options
@archive_option
@json_option
@private_option
@dry_run_option
@click.option("--field", metavar="FIELD", help="One field: title, description, exposed ... or a property: dc:rights.")
@click.option("--keep", type=click.Choice(("catalogue", "sidecar")), help="Whose value stands.")
@click.option(
    "--rule", type=click.Choice(("catalogue", "sidecar", "latest")),
    help="Settle every open field so; latest: the side that was changed last.",
)  # fmt: skip
def settle(
    archive: Archive, *, as_json: bool, ask_private: bool, dry_run: bool, field: str | None, keep: str | None,
    rule: str | None, **asked: Any,
) -> int:  # fmt: skip
    """
    Settle whose value stands where catalogue and sidecar differ: one field with --field and --keep, or by --rule.

    WORDS and options are those of find; a scan or sheet may be named by its reference, or a scan by its file.
    "catalogue" lets the next sidecars write put ours in place of theirs. "sidecar" takes theirs into the catalogue
    where it has a place for it, and lets it stand in the file. It is one deed and can be undone; no file is touched.
    """
    from catalog.actions.desk import Desk
    from catalog.actions.sidecar_settling import fields_named
    from catalog.actions.sidecar_settling import settle as settle_fields

    if (keep is None) == (rule is None) or (keep is not None and field is None):
        raise click.UsageError("Say --field FIELD --keep catalogue|sidecar, or --rule catalogue|sidecar|latest.")
    names = None if field is None else fields_named(field)
    looked = _look(archive, asked, embedded=False)
    settled, left = settle_fields(
        archive, looked.scans, names=names, keep=keep or rule,  # type: ignore[arg-type]
        desk=Desk(dry_run=dry_run, on_wait=say_waiting),
    )  # fmt: skip
    for line in left:
        click.echo(line, err=True)
    if as_json:
        items = [{"reference": f"C{one.scan_id}", "did": one.words, "dry_run": dry_run} for one in settled]
        print_json({"items": items, "count": len(items), "left": list(left)})
        _say_faults(looked)
        return int(bool(left) or _has_faults(looked))
    for one in settled:
        click.echo(f"C{one.scan_id} {one.words}.")
    click.echo(f"{counted(len(settled), 'field')} {'would be settled' if dry_run else 'settled'}.")
    _say_faults(looked)
    return int(bool(left) or _has_faults(looked))


def _sheet_named(typed: str) -> int:
    from catalog.rules.references import parse_reference

    named = parse_reference(typed)
    if named is None or named[0] != "sheet":
        raise click.BadParameter(f"{typed!r} is no sheet's reference, such as S12.", param_hint="--sheet")
    return named[1]


def _look(archive: Archive, asked: dict[str, Any], *, embedded: bool = True) -> Looked:
    """Look at the scans asked for, their sidecars and, if so wished, what is embedded in them."""
    from catalog.actions.sidecar_looking import look_at_sidecars
    from catalog.cli._sidecar_scans import scans_asked

    meant = scans_asked(archive, asked)
    looked = look_at_sidecars(archive, meant.sheet_ids, embedded=embedded)
    return replace(looked, scans=tuple(one for one in looked.scans if meant.holds(one.scan_id, one.sheet_ids)))


def _has_faults(looked: Looked) -> bool:
    return any(scan.state in ("missing", "failed") for scan in looked.scans)


def _say_faults(looked: Looked) -> None:
    from catalog.cli.common import one_line

    for scan in looked.scans:
        if scan.state in ("missing", "failed"):
            name = one_line(PurePath(scan.path).name)
            click.echo(f"C{scan.scan_id} {name}: {one_line(scan.fault or '')}", err=True)
