"""Settling: whose value of a field stands, where the catalogue and a sidecar say different things."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import PurePath
from typing import Final, Literal

from catalog.actions.desk import AT_DESK, Desk, at_desk
from catalog.actions.sidecar_bases import Keep, remember_base, settled_base
from catalog.actions.sidecar_looking import ScanSeen
from catalog.actions.sidecar_taking import take_into_sheet
from catalog.errors import RefusedError, XmpError
from catalog.intake.sidecar_reading import FoundIn, propose
from catalog.outputs.sidecar_compare import title_of
from catalog.outputs.sidecar_merge import FieldMerge
from catalog.rules.counting import counted
from catalog.standards.iim_mapping import default_text
from catalog.standards.xmp import Name, name
from catalog.standards.xmp_tiebeam import tiebeam
from catalog.store.archive import Archive
from catalog.store.names import find_by_name
from catalog.store.sidecar_facts import SheetHeld, last_changed_at, sheet_held
from catalog.store.writing import Writing

KIND = "sidecars settle"

_FIELDS: Final = {
    "title": (name("dc:title"),),
    "description": (name("dc:description"),),
    "keywords": (name("dc:subject"),),
    "exposed": (name("photoshop:DateCreated"), tiebeam("Exposed")),
    "places": (name("Iptc4xmpExt:LocationShown"), tiebeam("Places")),
    "buildings": (name("Iptc4xmpExt:ArtworkOrObject"), tiebeam("Buildings")),
    "lens": (name("exifEX:LensModel"), tiebeam("Lens")),
    "aperture": (name("exif:FNumber"),),
    "shutter": (name("exif:ExposureTime"),),
    "film": (tiebeam("Film"),),
    "filter": (tiebeam("Filter"),),
    "development": (tiebeam("Development"),),
}
"""The words of the desk for fields; any other field is named by its property: ``photoshop:Credit``."""
_LACKING: Final[dict[str, Callable[[SheetHeld], SheetHeld]]] = {
    "title": lambda held: replace(held, titles=()),
    "exposed": lambda held: replace(held, exposed_edtf=None),
    "lens": lambda held: replace(held, lens_id=None, doubted=held.doubted - {"lens"}),
    "film": lambda held: replace(held, film_id=None, doubted=held.doubted - {"film"}),
    "aperture": lambda held: replace(held, aperture_f=None, doubted=held.doubted - {"aperture", "aperture_f"}),
    "shutter": lambda held: replace(held, shutter_s=None, doubted=held.doubted - {"shutter", "shutter_s"}),
    "filter": lambda held: replace(held, filter=None, doubted=held.doubted - {"filter"}),
    "development": lambda held: replace(held, development=None, doubted=held.doubted - {"development"}),
    "keywords": lambda held: held,
    "description": lambda held: held,
}
"""The fields whose sidecar's value the catalogue can take, and what it would then lack."""


@dataclass(frozen=True, slots=True)
class Settled:
    """One field settled at one scan: whose value stands; ``is_taken`` if the catalogue took the sidecar's."""

    scan_id: int
    sheet_ids: tuple[int, ...]
    name: Name
    keep: Keep
    is_taken: bool = False

    @property
    def words(self) -> str:
        """Return a sentence for a person."""
        if self.keep == "catalogue":
            return f"{title_of(self.name)}: the catalogue's stands; the next sidecars write puts it in place of theirs"
        taken = "; the catalogue has taken it" if self.is_taken else ""
        return f"{title_of(self.name)}: the sidecar's stands{taken}"


def fields_named(field: str) -> tuple[Name, ...]:
    """
    Return the properties that a typed field means.

    Raises:
        RefusedError: it is neither a field nor a property.
    """
    if field in _FIELDS:
        return _FIELDS[field]
    try:
        return (name(field),)
    except XmpError as exc:
        known = ", ".join(_FIELDS)
        raise RefusedError(f"{field!r} is no field. Fields: {known}, or a property such as dc:rights.") from exc


def settle(
    archive: Archive,
    scans: Iterable[ScanSeen],
    *,
    names: Collection[Name] | None = None,
    keep: Keep | Literal["latest"],
    desk: Desk = AT_DESK,
) -> tuple[tuple[Settled, ...], tuple[str, ...]]:
    """
    Settle fields on which catalogue and sidecar differ, as one deed; all of them without ``names``.

    Return what was settled, and in words what could not be. ``catalogue`` lets ours replace theirs at the next
    writing; ``sidecar`` takes theirs into the catalogue where it has a place for it, and lets theirs stand.

    Raises:
        RefusedError: nothing is open there. Nothing is changed.
    """
    chosen: list[tuple[ScanSeen, list[FieldMerge], Keep]] = []
    left: list[str] = []
    for scan in scans:
        open_fields = [one for one in _open(scan) if names is None or one.name in names]
        if not open_fields:
            continue
        side = _latest(archive, scan) if keep == "latest" else keep
        if side == "latest":
            left.append(f"C{scan.scan_id}: which side was changed last cannot be told; settle it with --keep")
        else:
            chosen.append((scan, open_fields, "sidecar" if side == "sidecar" else "catalogue"))
    if not chosen:
        if left:
            return (), tuple(left)
        raise RefusedError("Nothing of that is open between catalogue and sidecar. See: tiebeam sidecars compare")
    done: list[Settled] = []
    with at_desk(archive, KIND, desk) as writing:
        for scan, fields, side in chosen:
            done += _settle_scan(writing, scan, fields, side)
        count = counted(len(done), "field")
        whose = "; ".join(dict.fromkeys(f"the {one.keep}'s stands" for one in done))
        writing.say(f"settled {count} of {counted(len(chosen), 'sidecar')}: {whose}")
    return tuple(done), tuple(left)


def _open(scan: ScanSeen) -> list[FieldMerge]:
    fields = () if scan.merged is None or scan.theirs is None else scan.merged.fields
    return [one for one in fields if one.is_held or one.is_theirs]


def _latest(archive: Archive, scan: ScanSeen) -> Keep | Literal["latest"]:
    """Return the side that was changed last, by the sidecar's own date and the daybook; ``latest`` if none can tell."""
    stamp = default_text(scan.theirs.get(name("xmp:MetadataDate"))) if scan.theirs is not None else None
    with archive.reading() as connection:
        times = [at for sheet in scan.sheet_ids if (at := last_changed_at(connection, sheet))]
    theirs, ours = _moment(stamp or ""), _moment(max(times, default=""))
    if theirs is None or ours is None:
        return "latest"
    return "sidecar" if theirs > ours else "catalogue"


def _moment(text: str) -> datetime | None:
    """Return the moment that a date with time and zone names; ``None`` if it has no zone or is no date."""
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None


def _settle_scan(writing: Writing, scan: ScanSeen, fields: Sequence[FieldMerge], keep: Keep) -> list[Settled]:
    base = scan.base
    done = []
    for field in fields:
        is_taken = keep == "sidecar" and len(scan.sheet_ids) == 1 and _taken(writing, scan, field)
        base = settled_base(base, field, keep)
        done.append(Settled(scan.scan_id, scan.sheet_ids, field.name, keep, is_taken))
    remember_base(writing, scan, base)
    return done


def _taken(writing: Writing, scan: ScanSeen, field: FieldMerge) -> bool:
    """Take the sidecar's value into the catalogue, if it has a place for it; return True if it did."""
    word = next((each for each, names in _FIELDS.items() if field.name in names), None)
    if word not in _LACKING or field.theirs is None or scan.theirs is None:
        return False
    held = _LACKING[word](sheet_held(writing.raw, scan.sheet_ids[0], scan.scan_id))
    source = FoundIn(PurePath(scan.sidecar or "").name, {field.name: field.theirs})
    said = [{field.name: field.ours}] if field.ours is not None else []
    found = propose(held, [source], said, lambda typed, table: find_by_name(writing.raw, typed, table))
    proposals = [one for one in found if one.field == word and one.can_be_taken]
    taken = take_into_sheet(writing, scan.sheet_ids[0], proposals)
    return any(one.left is None for one in taken)
