"""Brings ``valley.toml`` into an archive: what Ida Thornwick knows apart from her cards. All of it is invented."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from catalog import clock
from catalog.dates import parse_edtf
from catalog.model import (
    Building,
    BuildingName,
    BuildingSite,
    Camera,
    ChronicleEntry,
    Elevation,
    FilmStock,
    Kit,
    Lens,
    Note,
    OpenQuestion,
    Person,
    Place,
    PlaceName,
    PlaceParent,
    RecordedDate,
    Sheet,
    SheetNumber,
    SheetView,
    Source,
    Standpoint,
    View,
    Visit,
)
from catalog.store.archive import Archive
from catalog.store.writing import Writing, deed

HERE = Path(__file__).parent
Table = dict[str, Any]


def date(value: str | None, words: str | None = None) -> RecordedDate:
    """Return a date of the valley file as the catalogue keeps it."""
    return RecordedDate.of(parse_edtf(value) if value else None, words)


class Valley:
    """The valley file and, by slug, the records that came of it."""

    def __init__(self, writing: Writing) -> None:
        self.writing = writing
        self.found: Table = tomllib.loads((HERE / "valley.toml").read_text("utf-8"))
        self.ids: dict[tuple[str, str], int] = {}

    def records(self, kind: str) -> list[tuple[str, Table]]:
        """Return the records of one kind with their slugs."""
        return list(self.found.get(kind, {}).items())

    def id_of(self, kind: str, slug: str | None) -> int | None:
        """Return the id of the record that a slug names."""
        return None if slug is None else self.ids[kind, slug]

    def add(self, kind: str, slug: str, record: Any) -> int:
        """Add a record under its slug and return its id."""
        self.writing.session.add(record)
        self.writing.session.flush()
        record_id = record.id
        assert isinstance(record_id, int)
        self.ids[kind, slug] = record_id
        return record_id

    def note(self, about: str, about_id: int, text: str | None) -> None:
        """Add a note where there is one to add."""
        if text:
            self.writing.session.add(Note(about=about, about_id=about_id, text=text, noted_at=clock.timestamp()))

    def span(self, one: Table) -> Table:
        """Return ``from`` and ``until`` and the source of something that held for a while."""
        return {
            "from_": date(one.get("from")),
            "until": date(one.get("until")),
            "source_id": self.id_of("source", one.get("source")),
        }


def load_valley(archive: Archive) -> None:
    """Add the places, buildings, lenses, standpoints, persons and sources of the valley, as one deed."""
    with deed(archive, "demo", "brought in the Wenn valley") as writing:
        valley = Valley(writing)
        _persons_and_sources(valley)
        _places(valley)
        _buildings(valley)
        _kit(valley)
        _standpoints(valley)


def _persons_and_sources(valley: Valley) -> None:
    for slug, one in valley.records("person"):
        valley.add(
            "person", slug, Person(**{k: one.get(k) for k in ("name", "role", "address", "contact")}, kind=one["kind"])
        )
    for slug, one in valley.records("source"):
        wanted = {k: one.get(k) for k in ("title", "kind", "author", "kept_at")}
        valley.add("source", slug, Source(**wanted, published=date(one.get("published"))))


def _places(valley: Valley) -> None:
    for slug, one in valley.records("place"):
        wanted = {k: one.get(k) for k in ("name", "kind", "latitude_deg", "longitude_deg")}
        place_id = valley.add("place", slug, Place(**wanted))
        valley.note("place", place_id, one.get("note"))
        for name in one.get("names", ()):
            valley.writing.session.add(
                PlaceName(place_id=place_id, name=name["name"], note=name.get("note"), **valley.span(name))
            )
    for slug, one in valley.records("place"):
        for parent in one.get("parents", ()):
            place_id, parent_id = valley.ids["place", slug], valley.ids["place", parent["place"]]
            valley.writing.session.add(PlaceParent(place_id=place_id, parent_id=parent_id, **valley.span(parent)))


def _buildings(valley: Valley) -> None:
    session = valley.writing.session
    for slug, one in valley.records("building"):
        building_id = valley.add("building", slug, Building(**{k: one.get(k) for k in ("name", "kind", "identifier")}))
        valley.note("building", building_id, one.get("note"))
        for name in one.get("names", ()):
            session.add(BuildingName(building_id=building_id, name=name["name"], **valley.span(name)))
        for site in one.get("sites", ()):
            where = {k: site.get(k) for k in ("words", "latitude_deg", "longitude_deg")}
            place_id = valley.ids["place", site["place"]]
            session.add(BuildingSite(building_id=building_id, place_id=place_id, **where, **valley.span(site)))
        for side in one.get("elevations", ()):
            wanted = {k: side.get(k) for k in ("compass", "name", "bearing_deg")}
            dates = {"from_": date(side.get("from")), "until": date(side.get("until"))}
            session.add(Elevation(building_id=building_id, **wanted, **dates))
        for entry in one.get("chronicle", ()):
            session.add(
                ChronicleEntry(
                    building_id=building_id,
                    kind=entry["kind"],
                    text=entry.get("text") or entry["kind"],
                    date=date(entry.get("date"), entry.get("words")),
                    doer=entry.get("doer"),
                    doer_id=valley.id_of("person", entry.get("doer_person")),
                    source_id=valley.id_of("source", entry.get("source")),
                )
            )


def _kit(valley: Valley) -> None:
    kinds: dict[str, tuple[type[Any], tuple[str, ...]]] = {
        "lens": (Lens, ("focal_length_mm", "widest_f_number", "coverage_deg")),
        "camera": (Camera, ("format", "opening_width_mm", "opening_height_mm")),
        "film_stock": (FilmStock, ("tones", "iso", "base")),
    }
    for kind, (mapped, columns) in kinds.items():
        for slug, one in valley.records(kind):
            known = {name: date(one.get(name)) for name in ("known_from", "known_until")}
            kit_id = valley.add(kind, slug, Kit(kind=kind, name=one["name"], maker=one.get("maker"), **known))
            valley.writing.session.add(mapped(id=kit_id, **{k: one.get(k) for k in columns}))


def _standpoints(valley: Valley) -> None:
    for slug, one in valley.records("standpoint"):
        wanted = {k: one.get(k) for k in ("words", "latitude_deg", "longitude_deg", "height_m", "alignments")}
        valley.add("standpoint", slug, Standpoint(**wanted, place_id=valley.id_of("place", one.get("place"))))


def load_field_work(archive: Archive) -> None:
    """Add the visits and the open questions, once the cards have brought the sheets; as one deed."""
    with deed(archive, "demo", "brought in the field notebooks") as writing:
        valley = Valley(writing)
        valley.ids = _slugs_in(writing, valley)
        for slug, one in valley.records("visit"):
            wanted = {k: one.get(k) for k in ("light", "weather", "company", "said")}
            place_id = valley.id_of("place", one.get("place"))
            visit_id = valley.add("visit", slug, Visit(date=date(one.get("date")), place_id=place_id, **wanted))
            for sheet_id in (_sheet(writing, number) for number in one.get("sheets", ())):
                for view in _views(writing, sheet_id):
                    view.visit_id = view.visit_id or visit_id
        for _slug, one in valley.records("question"):
            writing.session.add(_question(valley, one))


def _question(valley: Valley, one: Table) -> OpenQuestion:
    about: tuple[str, int] | None = None
    for kind in ("place", "building"):
        if kind in one.get("about", {}):
            about = (kind, valley.ids[kind, one["about"][kind]])
    number = one.get("about", {}).get("sheet")
    sheet_id = _sheet(valley.writing, number) if number else None
    if sheet_id is not None:
        about = ("sheet", sheet_id)
    return OpenQuestion(
        about=about[0] if about else None, about_id=about[1] if about else None, text=one["text"], ask=one.get("ask"),
        ask_id=valley.id_of("person", one.get("ask_person")), asked_at=one.get("asked") or clock.timestamp(),
        answer=one.get("answer"), settled_at=one.get("settled"),
    )  # fmt: skip


def _slugs_in(writing: Writing, valley: Valley) -> dict[tuple[str, str], int]:
    """Return the ids of what ``load_valley`` added, by slug: a record is told by its name and its order of adding."""
    ids: dict[tuple[str, str], int] = {}
    for kind, mapped in (("place", Place), ("building", Building), ("person", Person)):
        given = sorted(record.id for record in writing.session.query(mapped).all())
        for (slug, _), record_id in zip(valley.records(kind), given, strict=False):
            ids[kind, slug] = record_id
    return ids


def _sheet(writing: Writing, number: str) -> int | None:
    """Return the sheet that a number means among the yearly ones."""
    rows = writing.session.query(SheetNumber).filter_by(text=number, scheme="yearly").order_by(SheetNumber.id).all()
    return rows[0].sheet_id if rows else None


def _views(writing: Writing, sheet_id: int | None) -> list[View]:
    if sheet_id is None:
        return []
    links = writing.session.query(SheetView).filter_by(sheet_id=sheet_id).all()
    assert writing.session.get(Sheet, sheet_id) is not None
    return [writing.session.get_one(View, link.view_id) for link in links]
