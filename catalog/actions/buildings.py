"""Buildings: adding and correcting them, their names, sites, elevations and chronicle."""

from __future__ import annotations

from collections.abc import Mapping
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
from catalog.model import (
    Building,
    BuildingName,
    BuildingSite,
    ChronicleEntry,
    Elevation,
    Person,
    Place,
    RecordedDate,
    Source,
)
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.writing import Writing


class BuildingFacts(TypedDict, total=False):
    """What may be said of a building itself."""

    name: str
    kind: str | None
    identifier: str | None


class BuildingNameFacts(TypedDict, total=False):
    """What may be said of another name of a building."""

    name: str
    from_: Date
    until: Date
    source_id: int | None


class SiteFacts(TypedDict, total=False):
    """What may be said of a site of a building."""

    place_id: int
    words: str | None
    latitude_deg: float | None
    longitude_deg: float | None
    from_: Date
    until: Date
    source_id: int | None


class ElevationFacts(TypedDict, total=False):
    """What may be said of an elevation."""

    compass: str
    name: str | None
    bearing_deg: float | None
    from_: Date
    until: Date


class ChronicleFacts(TypedDict, total=False):
    """What may be said of something that happened to a building."""

    kind: str
    date: Date
    text: str
    doer: str | None
    doer_id: int | None
    source_id: int | None


_TABLES = {"place_id": "place", "source_id": "source", "doer_id": "person"}


def add_building(
    archive: Archive,
    *,
    name: str,
    kind: str | None = None,
    identifier: str | None = None,
    place_id: int | None = None,
    site_words: str | None = None,
    latitude_deg: float | None = None,
    longitude_deg: float | None = None,
    from_: Date = None,
    until: Date = None,
    source_id: int | None = None,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add a building, standing at ``place_id`` from and until the dates given, and return its id.

    A field ``site`` may be worded.

    Raises:
        RefusedError: a rule forbids it: facts of a site without its place, for one.
    """
    begins, ends = recorded(from_), recorded(until)
    site = {
        "words": site_words,
        "latitude_deg": latitude_deg,
        "longitude_deg": longitude_deg,
        "source_id": source_id,
    }
    if place_id is None and (begins != recorded(None) or ends != recorded(None) or any(site.values())):
        raise RefusedError("Dates, a position or a source of a site need the place it is in. Name the place too.")
    with at_desk(archive, "buildings add", desk) as writing:
        building = Building(**check_facts(Building, {"name": name, "kind": kind, "identifier": identifier}))
        writing.session.add(building)
        writing.session.flush()
        phrase = None
        if place_id is not None:
            phrase = _put_site(writing, building.id, place_id, begins, ends, site)[1]
        add_wordings(writing, "building", building.id, wordings or {}, said_by)
        told = join_phrases(building.name, building.kind, phrase)
        writing.say(f"added {told} ({format_reference('building', building.id)})")
        return building.id


def correct_building(
    archive: Archive, building_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[BuildingFacts]
) -> None:
    """Correct what is given of a building. A name it once had is added with ``add_building_name`` instead."""
    with at_desk(archive, "buildings correct", desk) as writing:
        building = get_record(writing.session, Building, building_id)
        what = called(writing, "building", building_id)
        changed = correct_record(writing, building, facts)
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def add_building_name(
    archive: Archive,
    building_id: int,
    *,
    name: str,
    from_: Date = None,
    until: Date = None,
    source_id: int | None = None,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add another name that a building had, and while when, and return the name's own id.

    Raises:
        RefusedError: it has that name already, or it would end before it begins.
    """
    begins, ends = recorded(from_), recorded(until)
    check_order(begins, ends)
    with at_desk(archive, "buildings name", desk) as writing:
        building = get_record(writing.session, Building, building_id)
        what = called(writing, "building", building_id)
        facts = check_facts(BuildingName, {"name": name})
        if facts["name"] in {building.name, *(other.name for other in building.names)}:
            raise RefusedError(f"{what} has the name {facts['name']!r} already.")
        _require_source(writing, source_id)
        other = BuildingName(building_id=building_id, from_=begins, until=ends, source_id=source_id, **facts)
        writing.session.add(other)
        writing.session.flush()
        writing.say(join_phrases(f"added the name {other.name} to {what}", _while(begins, ends)))
        return other.id


def correct_building_name(
    archive: Archive,
    building_id: int,
    named: str,
    *,
    desk: Desk = AT_DESK,
    **facts: Unpack[BuildingNameFacts],
) -> None:
    """Correct what is given of the other name ``named`` of a building."""
    with at_desk(archive, "buildings correct-name", desk) as writing:
        building = get_record(writing.session, Building, building_id)
        what = called(writing, "building", building_id)
        found = next((each for each in building.names if each.name == named), None)
        if found is None:
            listed = ", ".join(each.name for each in building.names) or "none"
            raise NotFoundError(f"{what} has no other name {named!r}; it has: {listed}.")
        changed = correct_record(
            writing, found, facts, about=("building", building_id), prefix=f"name {named} ", tables=_TABLES
        )
        check_order(found.from_, found.until)
        refuse_no_change(changed, f"The name {named} of {what}")
        writing.say(f"corrected the name {named} of {what}: {join_phrases(*changed)}")


def add_building_site(
    archive: Archive,
    building_id: int,
    *,
    place_id: int,
    from_: Date = None,
    until: Date = None,
    words: str | None = None,
    latitude_deg: float | None = None,
    longitude_deg: float | None = None,
    source_id: int | None = None,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add where a building stood, and while when, and return the site's own id. A field ``site`` may be worded.

    Raises:
        RefusedError: it would end before it begins.
    """
    begins, ends = recorded(from_), recorded(until)
    site = {
        "words": words,
        "latitude_deg": latitude_deg,
        "longitude_deg": longitude_deg,
        "source_id": source_id,
    }
    with at_desk(archive, "buildings site", desk) as writing:
        get_record(writing.session, Building, building_id)
        what = called(writing, "building", building_id)
        made, phrase = _put_site(writing, building_id, place_id, begins, ends, site)
        add_wordings(writing, "building", building_id, wordings or {}, said_by)
        writing.say(f"{what} stood {phrase}")
        return made.id


def correct_building_site(
    archive: Archive,
    building_id: int,
    site_id: int,
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
    **facts: Unpack[SiteFacts],
) -> None:
    """Correct what is given of a site of a building, by the site's own id."""
    with at_desk(archive, "buildings correct-site", desk) as writing:
        building = get_record(writing.session, Building, building_id)
        what = called(writing, "building", building_id)
        found = next((each for each in building.sites if each.id == site_id), None)
        if found is None:
            raise NotFoundError(f"{what} has no site {site_id}.")
        if "place_id" in facts:
            get_record(writing.session, Place, facts["place_id"])
        changed = correct_record(
            writing, found, facts, wordings=wordings, said_by=said_by, about=("building", building_id),
            prefix="site ", cites={"place_id": "site"}, tables=_TABLES,
        )  # fmt: skip
        check_order(found.from_, found.until)
        refuse_no_change(changed, f"The site of {what}")
        writing.say(f"corrected a site of {what}: {join_phrases(*changed)}")


def add_elevation(
    archive: Archive,
    building_id: int,
    *,
    compass: str,
    name: str | None = None,
    bearing_deg: float | None = None,
    from_: Date = None,
    until: Date = None,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add a side of a building by the point of the compass it faced (``N`` ... ``NNW``), and return its own id.

    A building that was turned has the side twice, each while it faced so.
    """
    begins, ends = recorded(from_), recorded(until)
    check_order(begins, ends)
    with at_desk(archive, "buildings elevation", desk) as writing:
        get_record(writing.session, Building, building_id)
        facts = check_facts(Elevation, {"compass": compass, "name": name, "bearing_deg": bearing_deg})
        made = Elevation(building_id=building_id, from_=begins, until=ends, **facts)
        writing.session.add(made)
        writing.session.flush()
        told = join_phrases(f"{made.compass} elevation", made.name, _while(begins, ends))
        writing.say(f"added the {told} to {called(writing, 'building', building_id)}")
        return made.id


def correct_elevation(
    archive: Archive,
    building_id: int,
    elevation_id: int,
    *,
    desk: Desk = AT_DESK,
    **facts: Unpack[ElevationFacts],
) -> None:
    """Correct what is given of an elevation of a building, by the elevation's own id."""
    with at_desk(archive, "buildings correct-elevation", desk) as writing:
        building = get_record(writing.session, Building, building_id)
        what = called(writing, "building", building_id)
        found = next((each for each in building.elevations if each.id == elevation_id), None)
        if found is None:
            raise NotFoundError(f"{what} has no elevation {elevation_id}.")
        prefix = f"elevation {found.compass} "
        changed = correct_record(writing, found, facts, about=("building", building_id), prefix=prefix)
        check_order(found.from_, found.until)
        refuse_no_change(changed, f"That elevation of {what}")
        writing.say(f"corrected an elevation of {what}: {join_phrases(*changed)}")


def add_chronicle_entry(
    archive: Archive,
    building_id: int,
    *,
    kind: str,
    text: str,
    date: Date = None,
    doer: str | None = None,
    doer_id: int | None = None,
    source_id: int | None = None,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add something that happened to a building, and return the entry's own id.

    ``doer`` keeps who did it in words ("by a pupil of ..."), ``doer_id`` the person where that is known.
    """
    facts = {"kind": kind, "text": text, "doer": doer, "doer_id": doer_id, "source_id": source_id}
    with at_desk(archive, "buildings chronicle", desk) as writing:
        get_record(writing.session, Building, building_id)
        _require_source(writing, source_id)
        if doer_id is not None:
            get_record(writing.session, Person, doer_id)
        entry = ChronicleEntry(building_id=building_id, date=recorded(date), **check_facts(ChronicleEntry, facts))
        writing.session.add(entry)
        writing.session.flush()
        told = join_phrases(date_phrase("", entry.date) or "undated", f"{entry.kind}: {entry.text}")
        writing.say(f"added to the chronicle of {called(writing, 'building', building_id)}: {told}")
        return entry.id


def correct_chronicle_entry(
    archive: Archive,
    building_id: int,
    entry_id: int,
    *,
    desk: Desk = AT_DESK,
    **facts: Unpack[ChronicleFacts],
) -> None:
    """Correct what is given of an entry of a building's chronicle, by the entry's own id."""
    with at_desk(archive, "buildings correct-chronicle", desk) as writing:
        get_record(writing.session, Building, building_id)
        what = called(writing, "building", building_id)
        entry = writing.session.get(ChronicleEntry, entry_id)
        if entry is None or entry.building_id != building_id:
            raise NotFoundError(f"The chronicle of {what} has no entry {entry_id}.")
        _require_source(writing, facts.get("source_id"))
        changed = correct_record(
            writing,
            entry,
            facts,
            about=("building", building_id),
            prefix=f"chronicle {entry_id} ",
            tables=_TABLES,
        )
        refuse_no_change(changed, f"That entry of the chronicle of {what}")
        writing.say(f"corrected the chronicle of {what}: {join_phrases(*changed)}")


def _put_site(
    writing: Writing,
    building_id: int,
    place_id: int,
    begins: RecordedDate,
    ends: RecordedDate,
    site: Mapping[str, object],
) -> tuple[BuildingSite, str]:
    """Add a site and return it, with how a sentence says it."""
    check_order(begins, ends)
    where = get_record(writing.session, Place, place_id).name
    _require_source(writing, site["source_id"])
    made = BuildingSite(
        building_id=building_id,
        place_id=place_id,
        from_=begins,
        until=ends,
        **check_facts(BuildingSite, site),
    )
    writing.session.add(made)
    writing.session.flush()
    return made, join_phrases(f"at {where}", made.words, _while(begins, ends))


def _require_source(writing: Writing, source_id: object) -> None:
    if isinstance(source_id, int):
        get_record(writing.session, Source, source_id)


def _while(begins: RecordedDate, ends: RecordedDate) -> str:
    return join_phrases(date_phrase("from", begins), date_phrase("until", ends))
