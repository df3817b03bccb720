"""Rolls: adding and correcting them."""

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
from catalog.actions.desk import AT_DESK, Desk, at_desk, called, get_record, join_phrases, require_records
from catalog.actions.facts import check_facts
from catalog.model import Camera, FilmStock, Roll
from catalog.rules.references import format_reference
from catalog.store.archive import Archive


class RollFacts(TypedDict, total=False):
    """What may be said of a roll."""

    name: str | None
    film_id: int | None
    camera_id: int | None
    docket: str | None
    development: str | None


def add_roll(
    archive: Archive,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[RollFacts],
) -> int:
    """Add a roll and return its id. Fields ``film`` and ``camera`` may be worded."""
    with at_desk(archive, "rolls add", desk) as writing:
        require_records(writing.session, facts, {"film_id": FilmStock, "camera_id": Camera})
        roll = Roll(**check_facts(Roll, facts))
        writing.session.add(roll)
        writing.session.flush()
        add_wordings(writing, "roll", roll.id, wordings or {}, said_by)
        told = join_phrases(roll.name or "without a name", f"docket {roll.docket}" if roll.docket else None)
        writing.say(f"added a roll, {told} ({format_reference('roll', roll.id)})")
        return roll.id


def correct_roll(
    archive: Archive,
    roll_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[RollFacts],
) -> None:
    """Correct what is given of a roll."""
    with at_desk(archive, "rolls correct", desk) as writing:
        roll = get_record(writing.session, Roll, roll_id)
        what = f"the roll {called(writing, 'roll', roll_id)}"
        changed = correct_record(
            writing, roll, facts, wordings=wordings, said_by=said_by,
            tables={"film_id": "film_stock", "camera_id": "camera"},
        )  # fmt: skip
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")
