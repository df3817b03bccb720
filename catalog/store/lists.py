"""The rows that ``list`` prints for each noun: plain SQL, frozen rows, field names equal to column names."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import TypeVar

from catalog.store.wordings import IN_FORCE


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """A place with its other names and what it belonged to."""

    id: int
    name: str
    kind: str | None
    within: tuple[str, ...]
    other_names: tuple[str, ...]
    latitude_deg: float | None
    longitude_deg: float | None


@dataclass(frozen=True, slots=True)
class BuildingRow:
    """A building with where it stood."""

    id: int
    name: str
    kind: str | None
    identifier: str | None
    sites: tuple[str, ...]
    other_names: tuple[str, ...]
    chronicle_entries: int
    frames: int


@dataclass(frozen=True, slots=True)
class VisitRow:
    """A day in the field."""

    id: int
    date_edtf: str | None
    date_words: str | None
    date_earliest: int | None
    date_latest: int | None
    place_id: int | None
    place: str | None
    light: str | None
    weather: str | None
    company: str | None
    said: str | None


@dataclass(frozen=True, slots=True)
class StandpointRow:
    """Where the camera stood, and how many views were taken from there."""

    id: int
    words: str
    place_id: int | None
    place: str | None
    latitude_deg: float | None
    longitude_deg: float | None
    height_m: float | None
    alignments: str | None
    views: int


@dataclass(frozen=True, slots=True)
class ViewRow:
    """A view with what it shows and the sheets that hold it."""

    id: int
    title: str | None
    shows: tuple[str, ...]
    standpoint_id: int | None
    standpoint_certainty: str
    visit_id: int | None
    sheets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A sheet with its numbers and what it shows."""

    id: int
    numbers: tuple[str, ...]
    exposed_edtf: str | None
    exposed_words: str | None
    exposed_earliest: int | None
    exposed_latest: int | None
    fate: str
    shows: tuple[str, ...]
    lens: str | None
    lens_doubt: str | None
    film: str | None
    film_doubt: str | None
    box: str | None


@dataclass(frozen=True, slots=True)
class RollRow:
    """A roll and how many sheets lie on it."""

    id: int
    name: str | None
    film: str | None
    camera: str | None
    docket: str | None
    development: str | None
    sheets: int


@dataclass(frozen=True, slots=True)
class LensRow:
    """A lens."""

    id: int
    name: str
    maker: str | None
    focal_length_mm: float
    widest_f_number: float | None
    coverage_deg: float | None


@dataclass(frozen=True, slots=True)
class CameraRow:
    """A camera."""

    id: int
    name: str
    maker: str | None
    format: str | None
    opening_width_mm: float | None
    opening_height_mm: float | None


@dataclass(frozen=True, slots=True)
class FilmRow:
    """A film stock, and while when it is known to have been made."""

    id: int
    name: str
    maker: str | None
    tones: str | None
    iso: float | None
    base: str | None
    known_from_edtf: str | None
    known_from_words: str | None
    known_from_earliest: int | None
    known_from_latest: int | None
    known_until_edtf: str | None
    known_until_words: str | None
    known_until_earliest: int | None
    known_until_latest: int | None


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A person or firm. Address and contact are filled only when asked for by name."""

    id: int
    name: str
    kind: str
    role: str | None
    address: str | None
    contact: str | None


@dataclass(frozen=True, slots=True)
class SourceRow:
    """A source."""

    id: int
    title: str
    kind: str | None
    author: str | None
    published_edtf: str | None
    published_words: str | None
    published_earliest: int | None
    published_latest: int | None
    kept_at: str | None


@dataclass(frozen=True, slots=True)
class NoteRow:
    """A note, or a wording of doubt, about a record."""

    id: int
    sort: str
    about: str
    about_id: int
    heading: str | None
    text: str
    certainty: str | None
    card: str | None
    said_by: str | None
    source: str | None
    noted_at: str


@dataclass(frozen=True, slots=True)
class QuestionRow:
    """Something not known, or no longer."""

    id: int
    about: str | None
    about_id: int | None
    text: str
    ask: str | None
    ask_person: str | None
    asked_at: str
    answer: str | None
    settled_at: str | None


_SHOWS = """
    (SELECT json_group_array(words) FROM (
        SELECT coalesce(b.name, p.name)
            || CASE WHEN vs.certainty = 'certain' THEN '' ELSE ' (' || vs.certainty || ')' END
            || coalesce(', ' || vs.elevation, '') || coalesce(', ' || nullif(vs.part, 'elevation'), '') AS words
        FROM view_subject vs LEFT JOIN building b ON b.id = vs.building_id LEFT JOIN place p ON p.id = vs.place_id
        WHERE {of} ORDER BY vs.is_principal DESC, vs.id))
"""
_DOUBT = f"""
    (SELECT w.as_written FROM wording w WHERE w.about = 'sheet' AND w.about_id = s.id AND w.field = '{{field}}'
        AND {IN_FORCE} ORDER BY w.id DESC LIMIT 1)
"""

STATEMENTS: dict[type, str] = {
    PlaceRow: """
        SELECT p.id, p.name, p.kind, p.latitude_deg, p.longitude_deg,
            (SELECT json_group_array(q.name) FROM place_parent pp JOIN place q ON q.id = pp.parent_id
                WHERE pp.place_id = p.id) AS within,
            (SELECT json_group_array(n.name) FROM place_name n WHERE n.place_id = p.id) AS other_names
        FROM place p ORDER BY p.id
    """,
    BuildingRow: """
        SELECT b.id, b.name, b.kind, b.identifier,
            (SELECT json_group_array(q.name) FROM (SELECT p.name FROM building_site s JOIN place p ON p.id = s.place_id
                WHERE s.building_id = b.id ORDER BY coalesce(s.from_earliest, -1e15), s.id) q) AS sites,
            (SELECT json_group_array(n.name) FROM building_name n WHERE n.building_id = b.id) AS other_names,
            (SELECT count(*) FROM chronicle_entry c WHERE c.building_id = b.id) AS chronicle_entries,
            (SELECT count(DISTINCT sv.sheet_id) FROM view_subject vs JOIN sheet_view sv ON sv.view_id = vs.view_id
                WHERE vs.building_id = b.id) AS frames
        FROM building b ORDER BY b.id
    """,
    VisitRow: """
        SELECT v.id, v.date_edtf, v.date_words, v.date_earliest, v.date_latest, v.place_id, p.name AS place,
            v.light, v.weather, v.company, v.said
        FROM visit v LEFT JOIN place p ON p.id = v.place_id
        ORDER BY coalesce(v.date_earliest, v.date_latest) IS NULL, coalesce(v.date_earliest, v.date_latest), v.id
    """,
    StandpointRow: """
        SELECT t.id, t.words, t.place_id, p.name AS place, t.latitude_deg, t.longitude_deg, t.height_m, t.alignments,
            (SELECT count(*) FROM view v WHERE v.standpoint_id = t.id) AS views
        FROM standpoint t LEFT JOIN place p ON p.id = t.place_id ORDER BY t.id
    """,
    ViewRow: f"""
        SELECT v.id, v.title, v.standpoint_id, v.standpoint_certainty, v.visit_id,
            {_SHOWS.format(of="vs.view_id = v.id")} AS shows,
            (SELECT json_group_array('S' || sv.sheet_id) FROM sheet_view sv WHERE sv.view_id = v.id) AS sheets
        FROM view v ORDER BY v.id
    """,
    SheetRow: f"""
        SELECT s.id, s.exposed_edtf, s.exposed_words, s.exposed_earliest, s.exposed_latest, s.fate, s.box,
            lk.name AS lens, {_DOUBT.format(field="lens")} AS lens_doubt,
            fk.name AS film, {_DOUBT.format(field="film")} AS film_doubt,
            (SELECT json_group_array(n.text) FROM sheet_number n WHERE n.sheet_id = s.id) AS numbers,
            {_SHOWS.format(of="vs.view_id IN (SELECT sv.view_id FROM sheet_view sv WHERE sv.sheet_id = s.id)")} AS shows
        FROM sheet s LEFT JOIN kit lk ON lk.id = s.lens_id LEFT JOIN kit fk ON fk.id = s.film_id ORDER BY s.id
    """,
    RollRow: """
        SELECT r.id, r.name, fk.name AS film, ck.name AS camera, r.docket, r.development,
            (SELECT count(*) FROM sheet s WHERE s.roll_id = r.id) AS sheets
        FROM roll r LEFT JOIN kit fk ON fk.id = r.film_id LEFT JOIN kit ck ON ck.id = r.camera_id ORDER BY r.id
    """,
    LensRow: """
        SELECT k.id, k.name, k.maker, l.focal_length_mm, l.widest_f_number, l.coverage_deg
        FROM lens l JOIN kit k ON k.id = l.id ORDER BY l.focal_length_mm, k.id
    """,
    CameraRow: """
        SELECT k.id, k.name, k.maker, c.format, c.opening_width_mm, c.opening_height_mm
        FROM camera c JOIN kit k ON k.id = c.id ORDER BY k.id
    """,
    FilmRow: """
        SELECT k.id, k.name, k.maker, f.tones, f.iso, f.base, k.known_from_edtf, k.known_from_words,
            k.known_from_earliest, k.known_from_latest, k.known_until_edtf, k.known_until_words,
            k.known_until_earliest, k.known_until_latest
        FROM film_stock f JOIN kit k ON k.id = f.id ORDER BY k.id
    """,
    PersonRow: """
        SELECT id, name, kind, role, CASE WHEN :private THEN address END AS address,
            CASE WHEN :private THEN contact END AS contact
        FROM person ORDER BY id
    """,
    SourceRow: """
        SELECT id, title, kind, author, published_edtf, published_words, published_earliest, published_latest, kept_at
        FROM source ORDER BY id
    """,
    NoteRow: """
        SELECT n.id, 'note' AS sort, n.about, n.about_id, n.heading, n.text, NULL AS certainty,
            f.name || ', row ' || r."row" AS card, p.name AS said_by, s.title AS source, n.noted_at
        FROM note n LEFT JOIN card_row r ON r.id = n.card_row_id LEFT JOIN card_file f ON f.id = r.card_file_id
        LEFT JOIN person p ON p.id = n.said_by_id LEFT JOIN source s ON s.id = n.source_id
        WHERE :about IS NULL OR (n.about = :about AND n.about_id = :about_id)
        UNION ALL
        SELECT w.id, 'wording', w.about, w.about_id, w.field, w.as_written, w.certainty,
            f.name || ', row ' || r."row", p.name, s.title, w.noted_at
        FROM wording w LEFT JOIN card_row r ON r.id = w.card_row_id LEFT JOIN card_file f ON f.id = r.card_file_id
        LEFT JOIN person p ON p.id = w.said_by_id LEFT JOIN source s ON s.id = w.source_id
        WHERE :about IS NULL OR (w.about = :about AND w.about_id = :about_id)
        ORDER BY 2, 1
    """,
    QuestionRow: """
        SELECT q.id, q.about, q.about_id, q.text, q.ask, p.name AS ask_person, q.asked_at, q.answer, q.settled_at
        FROM open_question q LEFT JOIN person p ON p.id = q.ask_id
        WHERE NOT :open OR q.answer IS NULL ORDER BY q.id
    """,
}
"""What each list reads. A field that is a tuple arrives as a JSON list."""

Row = TypeVar("Row")


def list_rows(connection: sqlite3.Connection, kind: type[Row], **parameters: object) -> Iterator[Row]:
    """Yield the rows of a noun. Persons take ``private``, notes ``about`` and ``about_id``, questions ``open``."""
    cursor = connection.execute(STATEMENTS[kind], parameters)
    names = [column[0] for column in cursor.description]
    lists = {field.name for field in fields(kind) if str(field.type).startswith("tuple")}  # type: ignore[arg-type]
    for row in cursor:
        values = dict(zip(names, row, strict=True))
        for name in lists:
            values[name] = tuple(json.loads(values[name]))
        yield kind(**values)
