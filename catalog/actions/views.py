"""Views: adding and correcting them, and what each shows, with how sure that is."""

from __future__ import annotations

import json
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
    is_in_doubt,
    keep_wording,
    refuse_no_change,
)
from catalog.actions.desk import AT_DESK, Desk, at_desk, called, get_record, join_phrases, require_records
from catalog.actions.facts import check_facts
from catalog.errors import NotFoundError, RefusedError
from catalog.model import Building, Place, SheetView, Standpoint, View, ViewSubject, Visit
from catalog.rules.doubt import CERTAIN, DoubtfulWords
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.wordings import IN_FORCE
from catalog.store.writing import Writing

_TABLES = {"standpoint_id": "standpoint", "visit_id": "visit", "building_id": "building", "place_id": "place"}
_KINDS = {"standpoint_id": Standpoint, "visit_id": Visit}


@dataclass(frozen=True, slots=True)
class Shown:
    """
    What a view shows: a building or a place, which side or part, and how sure that is.

    ``words`` is how the subject was put where it is doubtful ("Osk Mill?"), ``elevation_words`` how the side was.
    ``is_principal`` left open makes the first subject of a view its principal one.
    """

    building_id: int | None = None
    place_id: int | None = None
    elevation: str | None = None
    part: str | None = None
    certainty: str = CERTAIN
    is_principal: bool | None = None
    words: DoubtfulWords | None = None
    elevation_words: DoubtfulWords | None = None


class ViewFacts(TypedDict, total=False):
    """What may be said of a view itself."""

    title: str | None
    standpoint_id: int | None
    standpoint_certainty: str
    visit_id: int | None


class ShownFacts(TypedDict, total=False):
    """What may be corrected of what a view shows."""

    building_id: int | None
    place_id: int | None
    elevation: str | None
    part: str | None
    certainty: str
    is_principal: bool


def add_view(
    archive: Archive,
    *,
    shows: Sequence[Shown] = (),
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[ViewFacts],
) -> int:
    """Add a view with what it shows, and return its id. Fields ``standpoint`` and ``visit`` may be worded."""
    with at_desk(archive, "views add", desk) as writing:
        view, told = put_view(writing, shows, dict(facts), wordings or {}, said_by)
        writing.say(f"added the view {told} ({format_reference('view', view.id)})")
        return view.id


def put_view(
    writing: Writing, shows: Sequence[Shown], facts: dict[str, Any], wordings: Wordings, said_by: SaidBy
) -> tuple[View, str]:
    """Add a view within a deed under way; return it, with how a sentence says it."""
    require_records(writing.session, facts, _KINDS)
    view = View(**check_facts(View, facts))
    writing.session.add(view)
    writing.session.flush()
    add_wordings(writing, "view", view.id, wordings, said_by)
    told = [put_subject(writing, view.id, shown, said_by)[1] for shown in shows]
    said = f"{view.title}: " * bool(view.title and told) + " and ".join(told)
    return view, said or view.title or "without a title"


def correct_view(
    archive: Archive,
    view_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[ViewFacts],
) -> None:
    """Correct what is given of a view itself; what it shows is corrected with ``correct_subject``."""
    with at_desk(archive, "views correct", desk) as writing:
        view = get_record(writing.session, View, view_id)
        what = f"the view {called(writing, 'view', view_id)}"
        changed = correct_record(writing, view, facts, wordings=wordings, said_by=said_by, tables=_TABLES)
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def add_subject(
    archive: Archive, view_id: int, shown: Shown, *, said_by: SaidBy = DESK_SAYS, desk: Desk = AT_DESK
) -> int:
    """
    Add a building or place that a view shows, and return the subject's own id.

    Raises:
        RefusedError: the view shows just that already.
    """
    with at_desk(archive, "views shows", desk) as writing:
        get_record(writing.session, View, view_id)
        what = called(writing, "view", view_id)
        subject, told = put_subject(writing, view_id, shown, said_by)
        writing.say(f"the view {what} shows {told}")
        return subject.id


def correct_subject(
    archive: Archive,
    view_id: int,
    subject_id: int,
    *,
    words: DoubtfulWords | None = None,
    elevation_words: DoubtfulWords | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[ShownFacts],
) -> None:
    """
    Correct what is given of something a view shows.

    A doubtful identity that is settled, or replaced, keeps its wording, and the new one is worded beside it.
    """
    with at_desk(archive, "views correct-shown", desk) as writing:
        subject = writing.session.get(ViewSubject, subject_id)
        what = f"the view {called(writing, 'view', view_id)}"
        if subject is None or subject.view_id != view_id:
            raise NotFoundError(f"{what} shows nothing numbered {subject_id}.")
        given: dict[str, Any] = dict(facts)
        if given.get("building_id") is not None:
            given["place_id"] = None
        elif given.get("place_id") is not None:
            given["building_id"] = None
        if given.get("is_principal"):
            _make_room_for_principal(writing, view_id, subject.id)
        before = _name(writing, subject)
        was_doubtful = subject.certainty != CERTAIN
        side = {"elevation": elevation_words} if elevation_words else None
        changed = correct_record(
            writing, subject, given, wordings=side, said_by=said_by, about=("view", view_id), tables=_TABLES
        )
        refuse_no_change(changed, what)
        after = _name(writing, subject)
        if was_doubtful or (words is not None and words.is_doubtful) or before != after:
            _keep_identity(writing, view_id, before, after, subject.certainty, words, said_by)
        if was_doubtful and subject.certainty == CERTAIN:
            fields = ("building",) if subject.building_id is not None else ("village", "place")
            _settle_on_sheets(writing, view_id, fields, after, said_by)
        if elevation_words is not None:
            for sheet_id in _sheets_of(writing, view_id):
                keep_wording(writing, "sheet", sheet_id, "elevation", elevation_words, said_by)
        elif "elevation" in given:
            _settle_on_sheets(writing, view_id, ("elevation",), subject.elevation or "no side", said_by)
        writing.say(f"corrected what {what} shows: {join_phrases(*changed)}")


def put_subject(writing: Writing, view_id: int, shown: Shown, said_by: SaidBy) -> tuple[ViewSubject, str]:
    """Add a subject of a view and return it, with how a sentence says it."""
    session = writing.session
    if (shown.building_id is None) == (shown.place_id is None):
        raise RefusedError("A view shows a building or a place: name one of the two.")
    require_records(
        session, {"building_id": shown.building_id, "place_id": shown.place_id},
        {"building_id": Building, "place_id": Place},
    )  # fmt: skip
    others = session.scalars(select(ViewSubject).where(ViewSubject.view_id == view_id)).all()
    for other in others:
        if (other.building_id, other.place_id, other.elevation, other.part) == (
            shown.building_id, shown.place_id, shown.elevation, shown.part,
        ):  # fmt: skip
            raise RefusedError(f"The view shows {_name(writing, other)} already. Correct it instead.")
    is_principal = shown.is_principal if shown.is_principal is not None else not others
    if is_principal:
        _make_room_for_principal(writing, view_id, None)
    facts = {"elevation": shown.elevation, "part": shown.part, "certainty": shown.certainty}
    subject = ViewSubject(
        view_id=view_id, building_id=shown.building_id, place_id=shown.place_id, is_principal=is_principal,
        **check_facts(ViewSubject, facts),
    )  # fmt: skip
    session.add(subject)
    session.flush()
    name = _name(writing, subject)
    if shown.certainty != CERTAIN:
        words = shown.words or DoubtfulWords(f"{shown.certainty} {name}", shown.certainty, (name,))
        kept = {"shows": words}
    else:
        kept = {}
    if shown.elevation_words is not None:
        kept["elevation"] = shown.elevation_words
    add_wordings(writing, "view", view_id, kept, said_by)
    if shown.elevation_words is not None:
        for sheet_id in _sheets_of(writing, view_id):
            keep_wording(writing, "sheet", sheet_id, "elevation", shown.elevation_words, said_by)
    side = f"{subject.elevation} elevation" if subject.elevation else None
    doubt = f"{subject.certainty} only" if subject.certainty != CERTAIN else None
    return subject, join_phrases(name, side, subject.part if subject.part != "elevation" else None, doubt)


def _name(writing: Writing, subject: ViewSubject) -> str:
    if subject.building_id is not None:
        return get_record(writing.session, Building, subject.building_id).name
    assert subject.place_id is not None
    return get_record(writing.session, Place, subject.place_id).name


def _make_room_for_principal(writing: Writing, view_id: int, but: int | None) -> None:
    """Let no other subject of the view be the principal one; the index allows one at a time."""
    principals = writing.session.scalars(
        select(ViewSubject).where(ViewSubject.view_id == view_id, ViewSubject.is_principal)
    )
    for subject in principals:
        if subject.id != but:
            subject.is_principal = False
    writing.session.flush()


def _sheets_of(writing: Writing, view_id: int) -> list[int]:
    return list(writing.session.scalars(select(SheetView.sheet_id).where(SheetView.view_id == view_id)))


def _settle_on_sheets(writing: Writing, view_id: int, fields: Sequence[str], settled: str, said_by: SaidBy) -> None:
    """Settle what this view's sheets, or their cards, left in doubt about the same thing."""
    for sheet_id in _sheets_of(writing, view_id):
        for field in fields:
            if is_in_doubt(writing, "sheet", sheet_id, field):
                keep_wording(writing, "sheet", sheet_id, field, DoubtfulWords(settled, CERTAIN, (settled,)), said_by)


def share_doubtful_side(writing: Writing, view_id: int, sheet_id: int) -> None:
    """Word the doubt about a view's side on a sheet that holds it too: frames are looked for by their own doubts."""
    kept = writing.raw.execute(
        "SELECT as_written, certainty, alternatives, source_id, said_by_id FROM wording w"
        f" WHERE w.about = 'view' AND w.about_id = ? AND w.field = 'elevation' AND {IN_FORCE} ORDER BY w.id",
        (view_id,),
    ).fetchall()
    for written, certainty, alternatives, source_id, said_by_id in kept:
        words = DoubtfulWords(written, certainty, tuple(json.loads(alternatives or "[]")))
        keep_wording(writing, "sheet", sheet_id, "elevation", words, SaidBy(source_id, said_by_id))


def _keep_identity(
    writing: Writing,
    view_id: int,
    before: str,
    after: str,
    certainty: str,
    words: DoubtfulWords | None,
    said_by: SaidBy,
) -> None:
    told = words if words is not None and words.is_doubtful else DoubtfulWords(after, certainty, (after,))
    if before != after and (words is None or not words.is_doubtful):
        told = DoubtfulWords(f"{after}, not {before}", certainty, (after,))
    keep_wording(writing, "view", view_id, "shows", told, said_by)
