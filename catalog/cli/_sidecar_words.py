"""What the commands on sidecars print of what was seen and proposed; private facts only when asked for."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import one_line
from catalog.rules.counting import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from catalog.actions.sidecar_looking import Looked, ScanSeen
    from catalog.actions.sidecar_taking import SheetProposals
    from catalog.intake.sidecar_reading import Proposal
    from catalog.outputs.sidecar_compare import Compared
    from catalog.rules.privacy import PrivateWords

HIDDEN = "[names a person; see --private]"
_COLUMNS = 80
_QUOTED = 65
"""So much of a text fits on a line behind the name of its side or field."""


class Shown:
    """Shows texts on one line, without what is private unless it was asked for."""

    def __init__(self, private: PrivateWords, *, ask_private: bool) -> None:
        self._private, self._asked = private, ask_private

    def words(self, text: str) -> str:
        """Return a text fit to be printed."""
        return HIDDEN if not self._asked and self._private.finds(text) else one_line(text)

    def quoted(self, text: str) -> str:
        """Return a text as a line quotes it; a dash for nothing."""
        text = self.words(text)
        return "–" if not text else text if len(text) <= _QUOTED else f"{text[: _QUOTED - 1]}…"


def print_compared(looked: Looked, *, ask_private: bool, every_field: bool) -> None:
    """Print what there is to look at, scan by scan; every field when asked."""
    shown = Shown(looked.private, ask_private=ask_private)
    for line in looked.claims:
        click.echo(shown.words(line))
    for scan in looked.scans:
        fields = [one for one in scan.fields if every_field or one.is_finding]
        if scan.fault is not None and scan.state != "away":
            click.echo(f"C{scan.scan_id} {_name(scan)}: {shown.words(scan.fault)}", err=True)
        for remark in scan.remarks:
            click.echo(f"C{scan.scan_id} {_name(scan)}: {shown.words(remark)}", err=True)
        if fields:
            speaks = PurePath(scan.sidecar).name if scan.sidecar else "no sidecar"
            click.echo(f"C{scan.scan_id} {_name(scan)} ({one_line(speaks)})")
        for one in fields:
            _print_field(one, shown)
    click.echo(_summary(looked))


def _name(scan: ScanSeen) -> str:
    return one_line(PurePath(scan.path).name)


def _print_field(one: Compared, shown: Shown) -> None:
    from catalog.outputs.sidecar_compare import title_of

    newer = f"; {one.newer} was changed last" if one.newer else ""
    _echo(f"  {title_of(one.name)} ({one_line(one.xmp_id)}): ", f"{one.standing}{newer}", "    ")
    click.echo(f"    catalogue  {shown.quoted(one.catalogue)}")
    click.echo(f"    sidecar    {shown.quoted(one.sidecar)}")
    for where, words in one.embedded:
        _echo(f"    scan       {shown.quoted(words)}  ", f"({shown.words(where)})", " " * 15)
    for where, repair in one.repairs:
        _echo(f"    it seems stored wrongly ({shown.words(where)}); ", f"it may be {shown.quoted(repair)}", "    ")
    for note in one.notes:
        click.echo(f"    {shown.words(note)}")


def _echo(first: str, then: str, indent: str) -> None:
    """Print two parts of a line; where they would not fit on one, the second on a line of its own."""
    click.echo(f"{first}{then}" if len(first) + len(then) <= _COLUMNS else f"{first.rstrip()}\n{indent}{then}")


def _summary(looked: Looked) -> str:
    findings = [one for scan in looked.scans for one in scan.fields if one.is_finding]
    away = sum(scan.state == "away" for scan in looked.scans)
    parts = [f"{counted(len(looked.scans), 'scan')} looked at", counted(len(findings), "finding")]
    parts += [f"{away} on drives that are away"] if away else []
    return ", ".join(parts) + "."


def json_compared(looked: Looked, *, ask_private: bool) -> dict[str, Any]:
    """Return everything that was seen, as ``--json`` prints it."""
    shown = Shown(looked.private, ask_private=ask_private)
    return {
        "items": [
            {
                "reference": f"C{scan.scan_id}",
                "sheets": [f"S{sheet}" for sheet in scan.sheet_ids],
                "path": scan.path,
                "sidecar": scan.sidecar,
                "state": scan.state,
                "reason": scan.fault,
                "remarks": [shown.words(remark) for remark in scan.remarks],
                "fields": [_json_field(one, shown) for one in scan.fields],
            }
            for scan in looked.scans
        ],
        "claims": list(looked.claims),
        "count": len(looked.scans),
        "away": sum(scan.state == "away" for scan in looked.scans),
    }


def _json_field(one: Compared, shown: Shown) -> dict[str, Any]:
    return {
        "property": one.xmp_id,
        "standing": str(one.standing),
        "is_finding": one.is_finding,
        "catalogue": shown.words(one.catalogue),
        "sidecar": shown.words(one.sidecar),
        "embedded": [{"where": shown.words(where), "words": shown.words(words)} for where, words in one.embedded],
        "repairs": [{"where": where, "words": shown.words(repair)} for where, repair in one.repairs],
        "notes": [shown.words(note) for note in one.notes],
        "newer": one.newer,
    }


def print_proposals(found: Iterable[SheetProposals], private: PrivateWords, *, ask_private: bool) -> None:
    """Print what could be taken, sheet by sheet, each with where it was found."""
    shown = Shown(private, ask_private=ask_private)
    for one in found:
        click.echo(f"{one.reference} shows {_and(one.sheet_ids)}" if one.is_shared else one.reference)
        for proposal in one.proposals:
            click.echo(f"  {proposal.field:<12} {shown.quoted(proposal.words)}{_becomes(proposal)}")
            click.echo(f"               in {shown.words(' and in '.join((proposal.where, *proposal.also)))}")
            if proposal.reason:
                how = "taken only when its field is named" if proposal.can_be_taken else "not taken"
                click.echo(f"               {how}: {shown.words(proposal.reason)}")


def _and(sheet_ids: Sequence[int]) -> str:
    *first, last = (f"S{sheet}" for sheet in sheet_ids)
    return f"{', '.join(first)} and {last}" if first else last


def _becomes(proposal: Proposal) -> str:
    if proposal.field == "exposed" and proposal.value is not None and proposal.value != proposal.words:
        return f"  [{proposal.value}]"
    if proposal.doubt is not None and proposal.doubt.is_doubtful:
        return f"  [{proposal.doubt.certainty}]"
    return ""


def json_proposals(
    found: Iterable[SheetProposals], private: PrivateWords, *, ask_private: bool
) -> list[dict[str, Any]]:
    """Return what could be taken, as ``--json`` prints it."""
    shown = Shown(private, ask_private=ask_private)
    return [
        {
            "reference": one.reference,
            "sheets": [f"S{sheet}" for sheet in one.sheet_ids],
            "proposals": [
                {
                    "field": proposal.field,
                    "words": shown.words(proposal.words),
                    "value": shown.words(proposal.value) if isinstance(proposal.value, str) else proposal.value,
                    "certainty": "certain" if proposal.doubt is None else proposal.doubt.certainty,
                    "where": [proposal.where, *proposal.also],
                    "reason": shown.words(proposal.reason) or None,
                    "can_be_taken": proposal.can_be_taken,
                    "repair": None if proposal.repair is None else shown.words(proposal.repair),
                }
                for proposal in one.proposals
            ],
        }
        for one in found
    ]
