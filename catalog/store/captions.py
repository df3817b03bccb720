"""What a sidecar is made of, as rows: each scan of a sheet with everything the catalogue may tell strangers."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from catalog.store.wordings import IN_FORCE, in_doubt


@dataclass(frozen=True, slots=True)
class ScanToCaption:
    """A scan matched to one sheet, where its file is, and the plain columns of both."""

    scan_id: int
    sheet_id: int
    drive_id: int | None
    path: str
    raw_path: bytes | None
    state: str
    device_maker: str | None
    device_model: str | None
    scanned_edtf: str | None
    polarity: str | None
    exposed_edtf: str | None
    exposed_words: str | None
    medium: str | None
    base: str | None
    format: str | None
    aperture_f: float | None
    shutter_s: float | None
    filter: str | None
    rise_mm: float | None
    shift_mm: float | None
    tilt_deg: float | None
    swing_deg: float | None
    development: str | None
    fate: str
    lens_name: str | None
    lens_maker: str | None
    focal_length_mm: float | None
    film_name: str | None
    film_tones: str | None
    film_base: str | None


_SCANS = """
    SELECT c.id, s.id, f.drive_id, f.path, f.raw_path, f.state, c.device_maker, c.device_model, c.scanned_edtf,
        c.polarity, s.exposed_edtf, s.exposed_words, s.medium, s.base, s.format, s.aperture_f, s.shutter_s, s.filter,
        s.rise_mm, s.shift_mm, s.tilt_deg, s.swing_deg, s.development, s.fate, lk.name, lk.maker, l.focal_length_mm,
        fk.name, fs.tones, fs.base
    FROM scan c JOIN file f ON f.id = c.file_id JOIN scan_part sp ON sp.scan_id = c.id JOIN sheet s ON s.id = sp.sheet_id
    LEFT JOIN lens l ON l.id = s.lens_id LEFT JOIN kit lk ON lk.id = s.lens_id
    LEFT JOIN film_stock fs ON fs.id = s.film_id LEFT JOIN kit fk ON fk.id = s.film_id
    WHERE s.id IN ({ids}) ORDER BY f.drive_id, f.path, s.id
"""


def scans_to_caption(connection: sqlite3.Connection, sheet_ids: Iterable[int]) -> list[ScanToCaption]:
    """Return the scans of these sheets; one that shows several sheets comes once for each."""
    return [ScanToCaption(*row) for row in connection.execute(_SCANS.format(ids=_listed(sheet_ids)))]


def _listed(ids: Iterable[int]) -> str:
    return ",".join(str(int(record_id)) for record_id in ids)


@dataclass(frozen=True, slots=True)
class ShownSubject:
    """A building or place that a sheet shows, and its title."""

    sheet_id: int
    title: str | None
    building_id: int | None
    place_id: int | None
    elevation: str | None
    part: str | None
    certainty: str


@dataclass(frozen=True, slots=True)
class Bounds:
    """Something that held for a while: a name, a site, a belonging. Days as the catalogue counts them."""

    record_id: int
    value: str | int
    lo: int | None
    hi: int | None


@dataclass(frozen=True, slots=True)
class Gazette:
    """Every place and building by id, with what it was called and what it belonged to, and when."""

    place_names: dict[int, str]
    place_kinds: dict[int, str | None]
    former_places: dict[int, list[Bounds]]
    parents: dict[int, list[Bounds]]
    building_names: dict[int, str]
    identifiers: dict[int, str]
    former_buildings: dict[int, list[Bounds]]
    sites: dict[int, list[Bounds]]
    raised: dict[int, tuple[str | None, str | None, str | None]]
    """The first raising of a building: EDTF, words, who did it."""


# Where a place or a building stood is told of its frames only where it is not in doubt.
_BELONGING_IN_DOUBT = in_doubt("place", "place_parent.place_id", "within")
_SITE_IN_DOUBT = in_doubt("building", "building_site.building_id", "site")


def read_gazette(connection: sqlite3.Connection) -> Gazette:
    """Return the places and buildings, small enough to hold whole."""
    raised: dict[int, tuple[str | None, str | None, str | None]] = {}
    for building, edtf, words, doer in connection.execute(
        "SELECT c.building_id, c.date_edtf, c.date_words, coalesce(c.doer, p.name) FROM chronicle_entry c"
        " LEFT JOIN person p ON p.id = c.doer_id WHERE c.kind = 'raised'"
        " ORDER BY coalesce(c.date_earliest, c.date_latest) DESC"
    ):
        raised[building] = (edtf, words, doer)
    return Gazette(
        dict(connection.execute("SELECT id, name FROM place")),
        dict(connection.execute("SELECT id, kind FROM place")),
        _bounds(connection, "SELECT place_id, name, from_earliest, until_latest FROM place_name"),
        _bounds(connection, f"SELECT place_id, parent_id, from_earliest, until_latest FROM place_parent WHERE NOT {_BELONGING_IN_DOUBT}"),
        dict(connection.execute("SELECT id, name FROM building")),
        dict(connection.execute("SELECT id, identifier FROM building WHERE identifier IS NOT NULL")),
        _bounds(connection, "SELECT building_id, name, from_earliest, until_latest FROM building_name"),
        _bounds(connection, f"SELECT building_id, place_id, from_earliest, until_latest FROM building_site WHERE NOT {_SITE_IN_DOUBT}"),
        raised,
    )


def _bounds(connection: sqlite3.Connection, statement: str) -> dict[int, list[Bounds]]:
    found: dict[int, list[Bounds]] = {}
    for row in connection.execute(statement + " ORDER BY id"):
        found.setdefault(row[0], []).append(Bounds(*row))
    return found


@dataclass(frozen=True, slots=True)
class SaidOfSheets:
    """What belongs to sheets beside their columns, by sheet."""

    numbers: dict[int, list[tuple[str, str, str]]]
    subjects: dict[int, list[ShownSubject]]
    standpoints: dict[int, list[tuple[str, int | None, str]]]
    """Words, place, certainty."""
    notes: dict[int, list[tuple[str | None, str]]]
    wordings: dict[int, list[tuple[str, str, str, str | None]]]


def read_said(connection: sqlite3.Connection, sheet_ids: Iterable[int]) -> SaidOfSheets:
    """Return numbers, subjects, standpoints, notes and wordings of these sheets."""
    ids = _listed(sheet_ids)
    subjects: dict[int, list[ShownSubject]] = {}
    for row in connection.execute(
        "SELECT sv.sheet_id, v.title, vs.building_id, vs.place_id, vs.elevation, vs.part, vs.certainty"
        " FROM sheet_view sv JOIN view v ON v.id = sv.view_id LEFT JOIN view_subject vs ON vs.view_id = v.id"
        f" WHERE sv.sheet_id IN ({ids}) ORDER BY sv.id, vs.is_principal DESC, vs.id"
    ):
        subjects.setdefault(row[0], []).append(ShownSubject(*row))
    return SaidOfSheets(
        _grouped(connection, f"SELECT sheet_id, text, scheme, written_on FROM sheet_number WHERE sheet_id IN ({ids}) ORDER BY id"),
        subjects,
        _grouped(
            connection,
            "SELECT sv.sheet_id, t.words, t.place_id, v.standpoint_certainty FROM sheet_view sv"
            " JOIN view v ON v.id = sv.view_id JOIN standpoint t ON t.id = v.standpoint_id"
            f" WHERE sv.sheet_id IN ({ids}) ORDER BY sv.id",
        ),
        _grouped(connection, f"SELECT about_id, heading, text FROM note WHERE about = 'sheet' AND about_id IN ({ids}) ORDER BY id"),
        _grouped(
            connection,
            "SELECT w.about_id, w.field, w.as_written, w.certainty, w.alternatives FROM wording w"
            f" WHERE w.about = 'sheet' AND w.about_id IN ({ids}) AND {IN_FORCE} ORDER BY w.id",
        ),
    )


def _grouped(connection: sqlite3.Connection, statement: str) -> dict:  # type: ignore[type-arg]
    found: dict[int, list[tuple[object, ...]]] = {}
    for key, *rest in connection.execute(statement):
        found.setdefault(key, []).append(tuple(rest))
    return found
