"""Standpoints: adding and correcting where the camera stood."""

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
from catalog.actions.desk import AT_DESK, Desk, at_desk, called, get_record, join_phrases
from catalog.actions.facts import check_facts
from catalog.model import Place, Standpoint
from catalog.rules.references import format_reference
from catalog.store.archive import Archive


class StandpointFacts(TypedDict, total=False):
    """What may be said of a standpoint."""

    words: str
    place_id: int | None
    latitude_deg: float | None
    longitude_deg: float | None
    height_m: float | None
    alignments: str | None


def add_standpoint(
    archive: Archive,
    *,
    words: str,
    place_id: int | None = None,
    latitude_deg: float | None = None,
    longitude_deg: float | None = None,
    height_m: float | None = None,
    alignments: str | None = None,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """Add a standpoint and return its id. ``height_m`` is of the lens above ground. A ``place`` may be worded."""
    facts = {
        "words": words, "place_id": place_id, "latitude_deg": latitude_deg, "longitude_deg": longitude_deg,
        "height_m": height_m, "alignments": alignments,
    }  # fmt: skip
    with at_desk(archive, "standpoints add", desk) as writing:
        where = get_record(writing.session, Place, place_id).name if place_id is not None else None
        standpoint = Standpoint(**check_facts(Standpoint, facts))
        writing.session.add(standpoint)
        writing.session.flush()
        add_wordings(writing, "standpoint", standpoint.id, wordings or {}, said_by)
        told = join_phrases(standpoint.words, where)
        writing.say(f"added the standpoint {told} ({format_reference('standpoint', standpoint.id)})")
        return standpoint.id


def correct_standpoint(
    archive: Archive,
    standpoint_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[StandpointFacts],
) -> None:
    """Correct what is given of a standpoint."""
    with at_desk(archive, "standpoints correct", desk) as writing:
        standpoint = get_record(writing.session, Standpoint, standpoint_id)
        what = called(writing, "standpoint", standpoint_id)
        changed = correct_record(
            writing, standpoint, facts, wordings=wordings, said_by=said_by, tables={"place_id": "place"}
        )
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")
