"""Reading in: what sidecars and scans hold that the catalogue lacks, looked over, then taken as one deed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath

from catalog import clock
from catalog.actions.corrections import DESK_SAYS, correct_record
from catalog.actions.desk import AT_DESK, Desk, at_desk, get_record
from catalog.actions.notes import kept_text
from catalog.actions.sidecar_bases import remember_base, settled_base
from catalog.actions.sidecar_looking import ScanSeen, private_words
from catalog.actions.views import Shown, put_subject, put_view
from catalog.dates import parse_edtf
from catalog.errors import RefusedError
from catalog.intake.sidecar_reading import FIELDS, FoundIn, Proposal, propose
from catalog.model import Note, RecordedDate, Sheet, SheetView, View
from catalog.rules.counting import counted
from catalog.rules.doubt import CERTAIN
from catalog.standards.iim_mapping import iim_properties
from catalog.standards.packets import embedded_iim
from catalog.standards.xmp import Name, Value, name, spell, texts
from catalog.store.archive import Archive
from catalog.store.captions import read_gazette
from catalog.store.names import find_by_name
from catalog.store.sidecar_facts import SheetHeld, sheet_held
from catalog.store.writing import Writing

KIND = "sidecars read"
ORIGIN = "taken from"
"""The heading of the note that says where facts of a sheet were taken from."""
_TABLES = {"lens_id": "lens", "film_id": "film_stock"}
_COLUMNS = {
    "lens": "lens_id", "film": "film_id", "aperture": "aperture_f", "shutter": "shutter_s", "filter": "filter",
    "development": "development",
}  # fmt: skip
_MAKE, _DESCRIPTION = name("tiff:Make"), name("dc:description")


@dataclass(frozen=True, slots=True)
class SheetProposals:
    """
    What was found for one sheet, and the scans it was found at.

    Of one scan that shows several sheets nothing can be taken as long as nobody said whose facts these are; it
    ``is_shared`` then.
    """

    sheet_ids: tuple[int, ...]
    scans: tuple[ScanSeen, ...]
    proposals: tuple[Proposal, ...]

    @property
    def is_shared(self) -> bool:
        """Whether it is of several sheets, and of which is not told."""
        return len(self.sheet_ids) > 1

    @property
    def reference(self) -> str:
        """The sheet it is of; of several the scan."""
        return f"C{self.scans[0].scan_id}" if self.is_shared else f"S{self.sheet_ids[0]}"


@dataclass(frozen=True, slots=True)
class Taken:
    """A fact that was taken for a sheet, which ``reference`` names; ``left`` is why it was not."""

    reference: str
    proposal: Proposal
    left: str | None = None


def propose_from(
    archive: Archive, scans: Iterable[ScanSeen], of_sheets: Collection[int] = ()
) -> tuple[SheetProposals, ...]:
    """
    Return what the scans' sidecars and blocks hold that the catalogue lacks, sheet by sheet.

    ``of_sheets`` are the only sheets asked for; they also say whose facts those of a scan of several sheets are.
    Without them such a scan's facts come apart, each with the sheets that lack it, and none can be taken.

    Raises:
        RefusedError: a sheet is on none of the scans.
    """
    readable = [scan for scan in scans if scan.merged is not None]
    absent = sorted(set(of_sheets) - {sheet for scan in readable for sheet in scan.sheet_ids})
    if absent:
        raise RefusedError(f"S{absent[0]} is on none of the scans asked for that can be read. Nothing was changed.")
    by_sheet: dict[int, list[ScanSeen]] = {}
    for scan in readable:
        for sheet in scan.sheet_ids:
            if sheet in of_sheets or (not of_sheets and len(scan.sheet_ids) == 1):
                by_sheet.setdefault(sheet, []).append(scan)
    shared = [] if of_sheets else [scan for scan in readable if len(scan.sheet_ids) > 1]
    with archive.reading() as connection:

        def find(typed: str, table: str) -> list[int]:
            return find_by_name(connection, typed, table)

        def found_for(sheet_id: int, seen: Sequence[ScanSeen]) -> tuple[Proposal, ...]:
            held = sheet_held(connection, sheet_id, seen[0].scan_id)
            return propose(held, _sources(seen), _said(seen), find)

        found = [SheetProposals((sheet,), tuple(seen), found_for(sheet, seen)) for sheet, seen in by_sheet.items()]
        for scan in shared:
            helds = [sheet_held(connection, sheet, scan.scan_id) for sheet in scan.sheet_ids]
            lacking = [(held.id, one) for held in helds for one in found_for(held.id, [scan])]
            found.append(SheetProposals(scan.sheet_ids, (scan,), _of_nobody(helds, lacking)))
    return tuple(one for one in found if one.proposals)


def _of_nobody(helds: Sequence[SheetHeld], lacking: Sequence[tuple[int, Proposal]]) -> tuple[Proposal, ...]:
    """
    Return what the sheets of one scan lack, each once, with whose it may be; none can be taken as it is.

    What one of the sheets has already is that sheet's, and is nothing new.
    """
    sheets: dict[tuple[str, str], list[int]] = {}
    first: dict[tuple[str, str], Proposal] = {}
    for sheet, one in lacking:
        sheets.setdefault((one.field, one.words), []).append(sheet)
        first.setdefault((one.field, one.words), one)
    unowned = [
        one
        for key, one in first.items()
        if not (one.field in _GATHERED and len(sheets[key]) < len(helds))
        and not any(_holds(held, one) for held in helds)
    ]
    return tuple(
        replace(
            one,
            reason=f"say whose it is with {' or '.join(f'--sheet S{sheet}' for sheet in sheets[one.field, one.words])}",
            can_be_taken=False,
        )
        for one in sorted(unowned, key=lambda one: FIELDS.index(one.field))
    )


_GATHERED = frozenset(("description", "keywords", "places", "buildings"))
"""Fields of which a sheet may hold several: those it lacks are proposed, the others are not."""


def _holds(held: SheetHeld, one: Proposal) -> bool:
    """Return True if a sheet has this very value of a field that holds one."""
    if one.field == "title":
        return one.value in held.titles
    column = {"exposed": "exposed_edtf", **_COLUMNS}.get(one.field)
    return column is not None and one.value is not None and getattr(held, column) == one.value


def _sources(scans: Sequence[ScanSeen]) -> list[FoundIn]:
    """Return where facts may stand: all sidecars first, then what is embedded, XMP before IIM before Exif."""
    found = []
    for scan in scans:
        if scan.theirs is not None and scan.sidecar is not None and scan.merged is not None:
            properties = dict(scan.theirs)
            said = {one.name: one.ours or one.base for one in scan.merged.fields}
            is_camera = _MAKE in properties and properties[_MAKE] != said.get(_MAKE)
            found.append(FoundIn(PurePath(scan.sidecar).name, properties, is_camera))
    for scan in scans:
        file_name = PurePath(scan.path).name
        if scan.embedded_xmp is not None:
            properties = dict(scan.embedded_xmp)
            found.append(FoundIn(f"{file_name}, XMP", properties, _MAKE in properties))
        if scan.embedded is not None:
            iim = embedded_iim(scan.embedded)
            if iim is not None:
                found.append(FoundIn(f"{file_name}, IIM", iim_properties(iim)))
            exif = scan.embedded.exif.properties()
            found.append(FoundIn(f"{file_name}, Exif", exif, _MAKE in exif))
    return found


def _said(scans: Sequence[ScanSeen]) -> list[dict[Name, Value]]:
    said: list[dict[Name, Value]] = []
    for scan in scans:
        fields = () if scan.merged is None else scan.merged.fields
        said.append({one.name: one.ours for one in fields if one.ours is not None})
        said.append({one.name: one.base for one in fields if one.base is not None})
    return said


def take_proposals(
    archive: Archive,
    found: Sequence[SheetProposals],
    fields: Collection[str] | None,
    *,
    repaired: bool = False,
    desk: Desk = AT_DESK,
) -> tuple[Taken, ...]:
    """
    Take proposals of these fields into the catalogue, as one deed; of all fields that are beyond doubt with ``None``.

    What has a ``reason`` against it is taken only when its field is named. ``repaired`` takes a text that seems
    stored wrongly as it may have been. Each sheet gets a note that says where its facts were found.

    Raises:
        RefusedError: a field is none of ``FIELDS``, or a rule forbids a fact. Nothing is changed.
    """
    unknown = sorted(set(fields or ()) - set(FIELDS))
    if unknown:
        raise RefusedError(f"{', '.join(unknown)}: no field that is read in. Fields: {', '.join(FIELDS)}, or all.")
    done: list[Taken] = []
    wanted = [
        (one, proposal) for one in found for proposal in one.proposals if fields is None or proposal.field in fields
    ]
    takeable = [
        (one, proposal) for one, proposal in wanted
        if proposal.can_be_taken and not (fields is None and proposal.reason and not (repaired and proposal.repair))
    ]  # fmt: skip
    done += [Taken(one.reference, p, p.reason) for one, p in wanted if (one, p) not in takeable]
    if not takeable:
        return tuple(done)
    with at_desk(archive, KIND, desk) as writing:
        for sheet_id in dict.fromkeys(one.sheet_ids[0] for one, _ in takeable):
            of_sheet = [proposal for one, proposal in takeable if one.sheet_ids == (sheet_id,)]
            done += take_into_sheet(
                writing, sheet_id, of_sheet, repaired=repaired, described_as=_public_heading(archive)
            )
            told = {place for one in of_sheet if one.field == "description" for place in (one.where, *one.also)}
            seen = [scan for one in found if one.sheet_ids == (sheet_id,) for scan in one.scans]
            _know_description(archive, writing, [scan for scan in seen if _sidecar_where(scan) in told])
        taken = [one for one in done if one.left is None]
        sheets = len({one.reference for one in taken})
        facts = counted(len(taken), "fact")
        writing.say(f"took {facts} from sidecars and scans of {counted(sheets, 'sheet')}")
    return tuple(done)


def take_into_sheet(
    writing: Writing,
    sheet_id: int,
    proposals: Sequence[Proposal],
    *,
    repaired: bool = False,
    described_as: str = "description",
) -> list[Taken]:
    """
    Take proposals into one sheet within a deed under way, and note where they were found.

    A description becomes a note under the heading ``described_as``.
    """
    sheet = get_record(writing.session, Sheet, sheet_id)
    done = [
        Taken(f"S{sheet_id}", one, _try(writing, sheet, one, _value(one, repaired=repaired), described_as))
        for one in proposals
    ]
    lines = [f"{one.proposal.field}: {one.proposal.words!r} in {_places(one.proposal)}" for one in done if not one.left]
    if lines:
        _note(writing, sheet_id, ORIGIN, "\n".join(lines))
    return done


def _sidecar_where(scan: ScanSeen) -> str:
    return f"{PurePath(scan.sidecar or '').name}, {spell(_DESCRIPTION)}"


def _public_heading(archive: Archive) -> str:
    """Return the heading of notes that are told in descriptions: what was public stays so."""
    return next(iter(archive.settings.sidecars_public_notes), "description")


def _know_description(archive: Archive, writing: Writing, scans: Sequence[ScanSeen]) -> None:
    """
    Let the words that were taken be known to both sides, so that the next writing joins them with our own.

    Where they name a person our description will not tell them, and theirs stays in the file as it is.
    """
    private = private_words(archive, read_gazette(writing.raw, archive.about_days))
    for scan in scans:
        fields = () if scan.merged is None or scan.theirs is None else scan.merged.fields
        open_ = [one for one in fields if one.name == _DESCRIPTION and (one.is_held or one.is_theirs)]
        for field in open_:
            if not any(map(private.finds, texts(field.theirs))):
                remember_base(writing, scan, settled_base(scan.base, field, "catalogue"))


def _value(one: Proposal, *, repaired: bool) -> object:
    return one.repair if repaired and one.repair else one.value


def _places(one: Proposal) -> str:
    return " and in ".join((one.where, *one.also))


def _note(writing: Writing, sheet_id: int, heading: str, text: str) -> None:
    writing.session.add(
        Note(about="sheet", about_id=sheet_id, heading=heading, text=kept_text(text), noted_at=clock.timestamp())
    )
    writing.session.flush()


def _try(writing: Writing, sheet: Sheet, one: Proposal, value: object, described_as: str) -> str | None:
    """Take one fact and return ``None``, or why it was left: a fact that a rule forbids stops none of the others."""
    try:
        with writing.session.begin_nested():
            return _take(writing, sheet, one, value, described_as)
    except RefusedError as exc:
        return str(exc)


def _take(writing: Writing, sheet: Sheet, one: Proposal, value: object, described_as: str) -> str | None:
    """Take one fact and return ``None``, or why it was left."""
    if one.field in ("description", "keywords"):
        _note(writing, sheet.id, described_as if one.field == "description" else one.field, str(value))
        return None
    if one.field in ("places", "buildings"):
        return _take_subject(writing, sheet, one)
    if one.field == "title":
        return _take_title(writing, sheet, str(value))
    wordings = {one.field: one.doubt} if one.doubt is not None and one.doubt.is_doubtful else {}
    facts: dict[str, object]
    if one.field == "exposed":
        facts = {"exposed": RecordedDate.of(parse_edtf(str(value)), one.words if one.doubt else None)}
    else:
        facts = {_COLUMNS[one.field]: value}
    changed = correct_record(writing, sheet, facts, wordings=wordings, tables=_TABLES)
    writing.session.flush()
    return None if changed else "the catalogue says so already"


def _take_title(writing: Writing, sheet: Sheet, title: str) -> str | None:
    views = _views(writing, sheet)
    if not views:
        view, _ = put_view(writing, (), {"title": title}, {}, DESK_SAYS)
        _hold(writing, sheet, view.id)
        return None
    if len(views) > 1:
        return "the sheet holds several views"
    view = get_record(writing.session, View, views[0])
    changed = correct_record(writing, view, {"title": title})
    writing.session.flush()
    return None if changed else "the catalogue says so already"


def _take_subject(writing: Writing, sheet: Sheet, one: Proposal) -> str | None:
    certainty = one.doubt.certainty if one.doubt is not None else CERTAIN
    key = "place_id" if one.field == "places" else "building_id"
    shown = Shown(**{key: one.value}, certainty=certainty, words=one.doubt)
    views = _views(writing, sheet)
    if not views:
        view, _ = put_view(writing, (shown,), {}, {}, DESK_SAYS)
        _hold(writing, sheet, view.id)
        return None
    if len(views) > 1:
        return "the sheet holds several views"
    put_subject(writing, views[0], shown, DESK_SAYS)
    return None


def _views(writing: Writing, sheet: Sheet) -> list[int]:
    found = writing.raw.execute("SELECT view_id FROM sheet_view WHERE sheet_id = ? ORDER BY id", (sheet.id,))
    return [row[0] for row in found]


def _hold(writing: Writing, sheet: Sheet, view_id: int) -> None:
    writing.session.add(SheetView(sheet_id=sheet.id, view_id=view_id))
    writing.session.flush()
