"""Sheets: adding and correcting them, the numbers written for them, and the views they hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypedDict, Unpack

from sqlalchemy import select

from catalog.actions.corrections import (
    DESK_SAYS,
    SaidBy,
    Wordings,
    add_wordings,
    correct_record,
    refuse_no_change,
    told_value,
    wording_field,
)
from catalog.actions.desk import (
    AT_DESK,
    Date,
    Desk,
    at_desk,
    called,
    date_phrase,
    get_record,
    join_phrases,
    recorded,
    require_records,
)
from catalog.actions.facts import check_facts, in_words
from catalog.actions.views import Shown, put_view, share_doubtful_side
from catalog.errors import NotFoundError, RefusedError, SeveralRefusedError, UnchangedError
from catalog.model import Camera, FilmStock, Lens, Person, Roll, Sheet, SheetNumber, SheetView, View
from catalog.rules.folding import fold
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.writing import Writing

_TABLES = {
    "roll_id": "roll", "film_id": "film_stock", "lens_id": "lens", "camera_id": "camera", "lab_id": "person",
    "copied_from_id": "sheet",
}  # fmt: skip
_KINDS = {
    "roll_id": Roll, "film_id": FilmStock, "lens_id": Lens, "camera_id": Camera, "lab_id": Person,
    "copied_from_id": Sheet,
}  # fmt: skip
_DATES = ("exposed", "fate_date")
_FEW = 8
"""So many sheets of a deed over several are named by the daybook's line; it tells all of them when asked."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number written for a sheet: exactly as written, its scheme (``yearly``), and where it is written."""

    text: str
    scheme: str = ""
    written_on: str = ""


class SheetFacts(TypedDict, total=False):
    """What may be said of a sheet."""

    roll_id: int | None
    frame: str | None
    medium: str | None
    base: str | None
    format: str | None
    film_id: int | None
    holder_side: str | None
    exposed: Date
    lens_id: int | None
    camera_id: int | None
    aperture_f: float | None
    shutter_s: float | None
    filter: str | None
    rise_mm: float | None
    shift_mm: float | None
    tilt_deg: float | None
    swing_deg: float | None
    extension_mm: float | None
    development: str | None
    lab_id: int | None
    docket: str | None
    box: str | None
    sleeve: str | None
    fate: str
    fate_date: Date
    condition: str | None
    copied_from_id: int | None


def add_sheet(
    archive: Archive,
    *,
    numbers: Sequence[Number] = (),
    view_ids: Sequence[int] = (),
    shows: Sequence[Shown] = (),
    title: str | None = None,
    standpoint_id: int | None = None,
    standpoint_certainty: str = "certain",
    visit_id: int | None = None,
    wordings: Wordings | None = None,
    view_wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[SheetFacts],
) -> int:
    """
    Add a sheet with its numbers, and return its id.

    ``view_ids`` are views it holds that are known already; what it ``shows``, a ``title``, a standpoint or a
    visit make a new view. ``wordings`` may word ``lens``, ``film``, ``camera``, ``lab``, ``roll`` and any other
    field; ``view_wordings`` belong to the new view.

    Raises:
        RefusedError: a rule forbids it: a view on a blank sheet, for one.
        NotFoundError: it points to a record that is not there.
    """
    view_facts: dict[str, Any] = {
        "title": title, "standpoint_id": standpoint_id, "standpoint_certainty": standpoint_certainty,
        "visit_id": visit_id,
    }  # fmt: skip
    makes_view = bool(shows) or title is not None or standpoint_id is not None or visit_id is not None
    with at_desk(archive, "sheets add", desk) as writing:
        require_records(writing.session, facts, _KINDS)
        given: dict[str, Any] = {**facts, **{name: recorded(facts[name]) for name in _DATES if name in facts}}  # type: ignore[literal-required]
        sheet = Sheet(**check_facts(Sheet, given))
        writing.session.add(sheet)
        writing.session.flush()
        told = [_put_number(writing, sheet.id, number) for number in numbers]
        told.append(date_phrase("", recorded(facts.get("exposed"))) or "undated")
        add_wordings(writing, "sheet", sheet.id, wordings or {}, said_by)
        told += [_hold(writing, sheet, view_id) for view_id in view_ids]
        if makes_view:
            view, words = put_view(writing, shows, view_facts, view_wordings or {}, said_by)
            _hold(writing, sheet, view.id)
            told.append(words)
        if sheet.fate not in ("exposed", None):
            told.append(sheet.fate)
        writing.say(f"added a sheet, {join_phrases(*told)} ({format_reference('sheet', sheet.id)})")
        return sheet.id


def correct_sheet(
    archive: Archive,
    sheet_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[SheetFacts],
) -> None:
    """
    Correct what is given of a sheet; a doubtful value that is replaced keeps its wording.

    Raises:
        RefusedError: a sheet that holds a view cannot be blank; nothing given differs.
    """
    with at_desk(archive, "sheets correct", desk) as writing:
        what, changed = _correct(writing, sheet_id, facts, wordings, said_by)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def correct_sheets(
    archive: Archive,
    sheet_ids: Sequence[int],
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[SheetFacts],
) -> int:
    """
    Correct what is given of several sheets in one deed, and return how many were changed; the others said so already.

    Raises:
        SeveralRefusedError: some cannot be corrected so, and which and why. Nothing was changed.
        RefusedError: all of them say so already.
    """
    refused: list[tuple[str, str]] = []
    changed: list[int] = []
    check_facts(Sheet, facts)  # what no sheet can be is refused once
    with at_desk(archive, "sheets correct", desk) as writing:
        for sheet_id in dict.fromkeys(sheet_ids):
            try:
                _correct(writing, sheet_id, facts, wordings, said_by)
            except UnchangedError:
                continue
            except (RefusedError, NotFoundError) as exc:
                refused.append((format_reference("sheet", sheet_id), str(exc)))
            else:
                changed.append(sheet_id)
        if refused:
            raise SeveralRefusedError(refused, len(sheet_ids))
        refuse_no_change([format_reference("sheet", sheet_id) for sheet_id in changed], "Each of these sheets")
        writing.say(_said_of_several(writing, changed, facts, wordings or {}))
    return len(changed)


def _said_of_several(writing: Writing, sheet_ids: Sequence[int], facts: SheetFacts, wordings: Wordings) -> str:
    """Return the daybook's words for several sheets: what is said of them now, and which they are."""
    given: dict[str, Any] = dict(facts)
    told = [
        f"{in_words(field)} "
        + (wordings[cited].as_written if (cited := wording_field(field)) in wordings
           else told_value(writing, given[field], _TABLES.get(field)))
        for field in given
    ]  # fmt: skip
    references = [format_reference("sheet", sheet_id) for sheet_id in sheet_ids]
    listed = ", ".join(references[:_FEW]) + (", ..." if len(references) > _FEW else "")
    count = "1 sheet" if len(references) == 1 else f"{len(references):,} sheets"
    return f"corrected {count} ({listed}): {join_phrases(*told)}"


def _correct(
    writing: Writing, sheet_id: int, facts: SheetFacts, wordings: Wordings | None, said_by: SaidBy
) -> tuple[str, list[str]]:
    """Correct a sheet within a deed under way; return what it is called, and what was changed, a phrase each."""
    sheet = get_record(writing.session, Sheet, sheet_id)
    what = f"the sheet {called(writing, 'sheet', sheet_id)}"
    if facts.get("fate") == "blank" and sheet.views:
        raise RefusedError(f"{what} holds a view, so it is not blank. Say what became of it another way.")
    if facts.get("copied_from_id") == sheet_id:
        raise RefusedError(f"{what} cannot be its own copy.")
    changed = correct_record(writing, sheet, facts, wordings=wordings, said_by=said_by, tables=_TABLES)
    refuse_no_change(changed, what)
    if "format" in facts:
        from catalog.actions._scan_records import work_out_ppi_again  # late: it knows how scans are read

        work_out_ppi_again(writing, sheet_id)
    return what, changed


def add_number(archive: Archive, sheet_id: int, number: Number, *, desk: Desk = AT_DESK) -> int:
    """
    Add a number that is written for a sheet, and return the number's own id. Several sheets may carry one number.

    Raises:
        RefusedError: the sheet has it already, written there and under that scheme; or it is empty.
    """
    with at_desk(archive, "sheets number", desk) as writing:
        get_record(writing.session, Sheet, sheet_id)
        what = called(writing, "sheet", sheet_id)
        told = _put_number(writing, sheet_id, number)
        writing.say(f"added the number {told} to the sheet {what}")
        found = writing.session.scalars(select(SheetNumber.id).where(SheetNumber.sheet_id == sheet_id)).all()
        return max(found)


def correct_number(
    archive: Archive,
    sheet_id: int,
    number_id: int,
    *,
    text: str | None = None,
    scheme: str | None = None,
    written_on: str | None = None,
    desk: Desk = AT_DESK,
) -> None:
    """Correct what is given of a number of a sheet, by the number's own id."""
    with at_desk(archive, "sheets correct-number", desk) as writing:
        sheet = get_record(writing.session, Sheet, sheet_id)
        what = called(writing, "sheet", sheet_id)
        number = next((each for each in sheet.numbers if each.id == number_id), None)
        if number is None:
            raise NotFoundError(f"The sheet {what} has no such number.")
        given = {"text": text, "scheme": scheme, "written_on": written_on}
        facts: dict[str, Any] = {field: value.strip() for field, value in given.items() if value is not None}
        if not facts.get("text", number.text):
            raise RefusedError("A number cannot be empty.")
        changed = []
        for field, value in facts.items():
            old = getattr(number, field)
            if old != value:
                changed.append(f"{field.replace('_', ' ')} {value or 'nothing'} (was {old or 'nothing'})")
                setattr(number, field, value)
        number.folded = fold(number.text)
        refuse_no_change(changed, f"The number of the sheet {what}")
        writing.say(f"corrected a number of the sheet {what}: {join_phrases(*changed)}")


def add_sheet_view(archive: Archive, sheet_id: int, view_id: int, *, desk: Desk = AT_DESK) -> int:
    """
    Add a view that a sheet holds (a double exposure has two), and return the link's own id.

    Raises:
        RefusedError: the sheet is blank, or holds that view already.
    """
    with at_desk(archive, "sheets holds", desk) as writing:
        sheet = get_record(writing.session, Sheet, sheet_id)
        what = called(writing, "sheet", sheet_id)
        told = _hold(writing, sheet, view_id)
        writing.say(f"the sheet {what} holds {told}")
        found = writing.session.scalars(
            select(SheetView.id).where(SheetView.sheet_id == sheet_id, SheetView.view_id == view_id)
        )
        return found.one()


def _put_number(writing: Writing, sheet_id: int, number: Number) -> str:
    """Add a number and return how a sentence says it, with the other sheets that carry it."""
    text, scheme, written_on = number.text.strip(), number.scheme.strip(), number.written_on.strip()
    if not text:
        raise RefusedError("A number cannot be empty.")
    same = select(SheetNumber).where(SheetNumber.folded == fold(text)).order_by(SheetNumber.sheet_id)
    others = []
    for other in writing.session.scalars(same):
        if other.sheet_id != sheet_id:
            others.append(format_reference("sheet", other.sheet_id))
        elif (other.text, other.scheme, other.written_on) == (text, scheme, written_on):
            raise RefusedError(f"{format_reference('sheet', sheet_id)} has the number {text} already.")
    writing.session.add(
        SheetNumber(sheet_id=sheet_id, text=text, folded=fold(text), scheme=scheme, written_on=written_on)
    )
    writing.session.flush()
    where = join_phrases(scheme, f"on the {written_on}" if written_on else None)
    shared = f" [also {', '.join(dict.fromkeys(others))}]" if others else ""
    return text + (f" ({where})" if where else "") + shared


def _hold(writing: Writing, sheet: Sheet, view_id: int) -> str:
    """Let a sheet hold a view, and return how a sentence says it."""
    get_record(writing.session, View, view_id)
    if sheet.fate == "blank":
        raise RefusedError("A blank sheet shows nothing: it cannot hold a view.")
    found = writing.session.scalars(
        select(SheetView).where(SheetView.sheet_id == sheet.id, SheetView.view_id == view_id)
    ).first()
    if found is not None:
        raise RefusedError(f"{format_reference('sheet', sheet.id)} holds {format_reference('view', view_id)} already.")
    writing.session.add(SheetView(sheet_id=sheet.id, view_id=view_id))
    writing.session.flush()
    share_doubtful_side(writing, view_id, sheet.id)
    return f"the view {called(writing, 'view', view_id)}"
