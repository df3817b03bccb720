"""Visits: adding and correcting days in the field."""

from __future__ import annotations

from typing import TypedDict, Unpack

from catalog.actions.corrections import (
    DESK_SAYS,
    SaidBy,
    Wordings,
    add_wordings,
    correct_record,
    refuse_no_change,
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
)
from catalog.actions.facts import check_facts
from catalog.model import Place, Visit
from catalog.rules.references import format_reference
from catalog.store.archive import Archive


class VisitFacts(TypedDict, total=False):
    """What may be said of a visit."""

    date: Date
    place_id: int | None
    light: str | None
    weather: str | None
    company: str | None
    said: str | None


def add_visit(
    archive: Archive,
    *,
    date: Date = None,
    place_id: int | None = None,
    light: str | None = None,
    weather: str | None = None,
    company: str | None = None,
    said: str | None = None,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """Add a day (or doubtful date) in the field and return its id. A field ``place`` may be worded."""
    facts = {"place_id": place_id, "light": light, "weather": weather, "company": company, "said": said}
    with at_desk(archive, "visits add", desk) as writing:
        where = get_record(writing.session, Place, place_id).name if place_id is not None else None
        visit = Visit(date=recorded(date), **check_facts(Visit, facts))
        writing.session.add(visit)
        writing.session.flush()
        add_wordings(writing, "visit", visit.id, wordings or {}, said_by)
        told = join_phrases(date_phrase("", visit.date) or "undated", where)
        writing.say(f"added a visit, {told} ({format_reference('visit', visit.id)})")
        return visit.id


def correct_visit(
    archive: Archive,
    visit_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[VisitFacts],
) -> None:
    """Correct what is given of a visit."""
    with at_desk(archive, "visits correct", desk) as writing:
        visit = get_record(writing.session, Visit, visit_id)
        what = f"the visit {called(writing, 'visit', visit_id)}"
        changed = correct_record(
            writing, visit, facts, wordings=wordings, said_by=said_by, tables={"place_id": "place"}
        )
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")
