"""Places: adding and correcting them, their other names, and what they belonged to."""

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
from catalog.actions.facts import check_facts, check_order
from catalog.errors import NotFoundError, RefusedError
from catalog.model import Place, PlaceName, PlaceParent
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.writing import Writing


class PlaceFacts(TypedDict, total=False):
    """What may be said of a place itself."""

    name: str
    kind: str | None
    latitude_deg: float | None
    longitude_deg: float | None


class PlaceNameFacts(TypedDict, total=False):
    """What may be said of another name of a place."""

    name: str
    from_: Date
    until: Date
    note: str | None
    source_id: int | None


class BelongingFacts(TypedDict, total=False):
    """What may be said of a place's belonging to another."""

    parent_id: int
    from_: Date
    until: Date
    source_id: int | None


def add_place(
    archive: Archive,
    *,
    name: str,
    kind: str | None = None,
    latitude_deg: float | None = None,
    longitude_deg: float | None = None,
    parent_id: int | None = None,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add a place, within ``parent_id`` if that is known, and return its id. A field ``within`` may be worded.

    Raises:
        RefusedError: a rule forbids it.
        NotFoundError: there is no such parent.
    """
    facts = {"name": name, "kind": kind, "latitude_deg": latitude_deg, "longitude_deg": longitude_deg}
    with at_desk(archive, "places add", desk) as writing:
        place = Place(**check_facts(Place, facts))
        writing.session.add(place)
        writing.session.flush()
        within = None
        if parent_id is not None:
            within = f"in {get_record(writing.session, Place, parent_id).name}"
            writing.session.add(PlaceParent(place_id=place.id, parent_id=parent_id))
        add_wordings(writing, "place", place.id, wordings or {}, said_by)
        told = join_phrases(place.name, place.kind, within)
        writing.say(f"added {told} ({format_reference('place', place.id)})")
        return place.id


def correct_place(
    archive: Archive,
    place_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[PlaceFacts],
) -> None:
    """
    Correct what is given of a place.

    A name that was used is better added with ``add_place_name``: correcting ``name`` mends a slip.
    """
    with at_desk(archive, "places correct", desk) as writing:
        place = get_record(writing.session, Place, place_id)
        what = called(writing, "place", place_id)
        changed = correct_record(writing, place, facts, wordings=wordings, said_by=said_by)
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def add_place_name(
    archive: Archive,
    place_id: int,
    *,
    name: str,
    from_: Date = None,
    until: Date = None,
    note: str | None = None,
    source_id: int | None = None,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add another name that a place had, and while when, and return the name's own id.

    Raises:
        RefusedError: the place has that name already, or it would end before it begins.
    """
    begins, ends = recorded(from_), recorded(until)
    check_order(begins, ends)
    with at_desk(archive, "places name", desk) as writing:
        place = get_record(writing.session, Place, place_id)
        facts = check_facts(PlaceName, {"name": name, "note": note})
        if facts["name"] in {place.name, *(other.name for other in place.names)}:
            raise RefusedError(f"{called(writing, 'place', place_id)} has the name {facts['name']!r} already.")
        other = PlaceName(place_id=place_id, from_=begins, until=ends, source_id=source_id, **facts)
        writing.session.add(other)
        writing.session.flush()
        dates = join_phrases(date_phrase("from", begins), date_phrase("until", ends))
        writing.say(f"added the name {other.name} to {called(writing, 'place', place_id)}{', ' * bool(dates)}{dates}")
        return other.id


def correct_place_name(
    archive: Archive, place_id: int, named: str, *, desk: Desk = AT_DESK, **facts: Unpack[PlaceNameFacts]
) -> None:
    """Correct what is given of the other name ``named`` of a place."""
    with at_desk(archive, "places correct-name", desk) as writing:
        place = get_record(writing.session, Place, place_id)
        what = called(writing, "place", place_id)
        found = next((each for each in place.names if each.name == named), None)
        if found is None:
            raise NotFoundError(f"{what} has no other name {named!r}; it has: {_listed(place)}.")
        changed = correct_record(
            writing,
            found,
            facts,
            about=("place", place_id),
            prefix=f"name {found.name} ",
            tables={"source_id": "source"},
        )
        check_order(found.from_, found.until)
        refuse_no_change(changed, f"The name {named} of {what}")
        writing.say(f"corrected the name {named} of {what}: {join_phrases(*changed)}")


def _listed(place: Place) -> str:
    return ", ".join(each.name for each in place.names) or "none"


def add_place_parent(
    archive: Archive,
    place_id: int,
    *,
    parent_id: int,
    from_: Date = None,
    until: Date = None,
    source_id: int | None = None,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add what a place belonged to, and while when, and return that belonging's own id.

    Raises:
        RefusedError: it would lie, however far up, within itself; or end before it begins.
    """
    begins, ends = recorded(from_), recorded(until)
    check_order(begins, ends)
    with at_desk(archive, "places within", desk) as writing:
        for each in (place_id, parent_id):
            get_record(writing.session, Place, each)
        _refuse_circle(writing, place_id, parent_id)
        belonging = PlaceParent(place_id=place_id, parent_id=parent_id, from_=begins, until=ends, source_id=source_id)
        what = called(writing, "place", place_id)
        writing.session.add(belonging)
        add_wordings(writing, "place", place_id, wordings or {}, said_by)
        writing.session.flush()
        dates = join_phrases(date_phrase("from", begins), date_phrase("until", ends))
        writing.say(join_phrases(f"{what} belonged to {called(writing, 'place', parent_id)}", dates))
        return belonging.id


def correct_place_parent(
    archive: Archive,
    place_id: int,
    within_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[BelongingFacts],
) -> None:
    """Correct what is given of a place's belonging to ``within_id``."""
    with at_desk(archive, "places correct-within", desk) as writing:
        place = get_record(writing.session, Place, place_id)
        what = f"{called(writing, 'place', place_id)} within {called(writing, 'place', within_id)}"
        found = [each for each in place.parents if each.parent_id == within_id]
        if not found:
            raise NotFoundError(f"No record says {what}. Add it with: tiebeam places within")
        if len(found) > 1:
            raise RefusedError(f"{len(found)} entries say {what}. Undo one of them, then add it anew.")
        if "parent_id" in facts:
            _refuse_circle(writing, place_id, facts["parent_id"])
        changed = correct_record(
            writing, found[0], facts, wordings=wordings, said_by=said_by, about=("place", place_id), prefix="within ",
            cites={"parent_id": "within"}, tables={"parent_id": "place", "source_id": "source"},
        )  # fmt: skip
        check_order(found[0].from_, found[0].until)
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def _refuse_circle(writing: Writing, place_id: int, parent_id: int) -> None:
    """Refuse a parent that lies within the place itself; the database would, in fewer words."""
    row = writing.raw.execute(
        """
        WITH RECURSIVE above(id) AS (
            VALUES (:parent) UNION SELECT parent_id FROM place_parent JOIN above ON place_parent.place_id = above.id
        )
        SELECT 1 FROM above WHERE id = :place
        """,
        {"parent": parent_id, "place": place_id},
    ).fetchone()
    if row:
        inner, outer = called(writing, "place", parent_id), called(writing, "place", place_id)
        if inner == outer:
            raise RefusedError(f"{outer} cannot belong to itself.")
        raise RefusedError(f"{inner} lies within {outer} already, so {outer} cannot belong to it.")
