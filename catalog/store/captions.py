"""What sidecars are made of, as rows: scans with their sheets, and the gazette of places and buildings."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, field

from catalog.rules.print_numbers import NUMBERED, SERIES_WORDS
from catalog.rules.spans import Boundary, FrameTime, Span, span_between
from catalog.store.wordings import IN_FORCE, in_doubt


@dataclass(frozen=True, slots=True)
class ScanToCaption:
    """A scan matched to one sheet, where its file is, and the plain columns of both."""

    scan_id: int
    sheet_id: int
    drive_id: int | None
    path: str
    raw_path: bytes | None
    device_maker: str | None
    device_model: str | None
    scanned_edtf: str | None
    exposed_edtf: str | None
    exposed_words: str | None
    exposed_earliest: int | None
    exposed_latest: int | None
    exposed_doubt: str
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
    region: str | None
    sha256: str = ""
    picture_sha256: str | None = None
    kind: str = ""
    recorded_ppi: float | None = None
    worked_out_ppi: float | None = None
    holder_side: str | None = None
    extension_mm: float | None = None
    camera_name: str | None = None
    camera_maker: str | None = None
    widest_f_number: float | None = None
    film_iso: float | None = None

    @property
    def time(self) -> FrameTime:
        """When the sheet was exposed."""
        return FrameTime(self.exposed_edtf is not None, self.exposed_earliest, self.exposed_latest, self.exposed_doubt)


_SCANS = """
    SELECT c.id, s.id, f.drive_id, f.path, f.raw_path, c.device_maker, c.device_model, c.scanned_edtf,
        s.exposed_edtf, s.exposed_words, s.exposed_earliest, s.exposed_latest, s.exposed_doubt,
        s.medium, s.base, s.format, s.aperture_f, s.shutter_s, s.filter,
        s.rise_mm, s.shift_mm, s.tilt_deg, s.swing_deg, coalesce(s.development, r.development), s.fate,
        lk.name, lk.maker, l.focal_length_mm, fk.name, fs.tones, fs.base, sp.region,
        f.sha256, f.picture_sha256, c.kind, c.recorded_ppi, c.worked_out_ppi,
        s.holder_side, s.extension_mm, ck.name, ck.maker, l.widest_f_number, fs.iso
    FROM json_each(:scans) wanted
    CROSS JOIN scan c ON c.id = wanted.value JOIN file f ON f.id = c.file_id
    JOIN scan_part sp ON sp.scan_id = c.id JOIN sheet s ON s.id = sp.sheet_id
    LEFT JOIN roll r ON r.id = s.roll_id
    LEFT JOIN lens l ON l.id = s.lens_id LEFT JOIN kit lk ON lk.id = s.lens_id
    LEFT JOIN film_stock fs ON fs.id = coalesce(s.film_id, r.film_id)
    LEFT JOIN kit fk ON fk.id = coalesce(s.film_id, r.film_id)
    LEFT JOIN kit ck ON ck.id = coalesce(s.camera_id, r.camera_id)
    ORDER BY wanted.key, sp.id
"""
_SCANS_OF = """
    SELECT DISTINCT c.id FROM json_each(:sheets) wanted
    JOIN scan_part sp ON sp.sheet_id = wanted.value JOIN scan c ON c.id = sp.scan_id JOIN file f ON f.id = c.file_id
    ORDER BY f.drive_id, f.path
"""


def scans_of_sheets(connection: sqlite3.Connection, sheet_ids: Iterable[int]) -> list[int]:
    """Return the scans that show any of these sheets, those of one folder together."""
    return [row[0] for row in connection.execute(_SCANS_OF, {"sheets": _listed(sheet_ids)})]


def scans_to_caption(connection: sqlite3.Connection, scan_ids: Iterable[int]) -> list[ScanToCaption]:
    """Return these scans in their order; one that shows several sheets comes once for each, one after the other."""
    return [ScanToCaption(*row) for row in connection.execute(_SCANS, {"scans": _listed(scan_ids)})]


def _listed(ids: Iterable[int]) -> str:
    return f"[{','.join(str(int(record_id)) for record_id in ids)}]"


# ---- places and buildings

Position = tuple[float, float]
"""Latitude and longitude in degrees, south and west negative."""


@dataclass(frozen=True, slots=True)
class Held:
    """Something that held for a while, of a record: a name, or the id of a site's or a parent's place."""

    value: str | int
    span: Span
    is_unsure: bool = False
    """Whether it is in doubt that it held at all."""
    has_beginning: bool = False
    has_end: bool = False
    position: Position | None = None
    """Where a site is, if that is known."""


@dataclass(frozen=True, slots=True)
class Raising:
    """The first raising of a building: when, and who did it."""

    edtf: str | None
    words: str | None
    doer: str | None


@dataclass(frozen=True, slots=True)
class Happening:
    """An entry of a building's chronicle: when, and what happened."""

    edtf: str | None
    text: str


@dataclass(frozen=True, slots=True)
class Gazette:
    """Every place and building by id, with what it was called, where it stood and what it belonged to, and when."""

    about_days: int
    place_names: dict[int, str]
    place_kinds: dict[int, str | None]
    former_places: dict[int, list[Held]]
    parents: dict[int, list[Held]]
    building_names: dict[int, str]
    identifiers: dict[int, str]
    """Numbers in registers that are not in doubt."""
    former_buildings: dict[int, list[Held]]
    sites: dict[int, list[Held]]
    raisings: dict[int, Raising]
    private: tuple[str, ...]
    """Names, addresses and contacts of persons and firms, as they are written."""
    positions: dict[int, Position] = field(default_factory=dict)
    """Where places are, as far as that is known."""
    chronicles: dict[int, list[Happening]] = field(default_factory=dict)


_ENDS = "from_edtf, from_earliest, from_latest, from_doubt, until_edtf, until_earliest, until_latest, until_doubt"


def read_gazette(connection: sqlite3.Connection, about_days: int) -> Gazette:
    """Return the places and buildings, small enough to hold whole."""

    def held(table: str, of: str, value: str, doubt: str = "0", where: str = "NULL, NULL") -> dict[int, list[Held]]:
        found: dict[int, list[Held]] = {}
        for record_id, what, is_unsure, latitude, longitude, *ends in connection.execute(
            f"SELECT {of}, {value}, {doubt}, {where}, {_ENDS} FROM {table} ORDER BY id"
        ):
            span = span_between(Boundary(*ends[:4]), Boundary(*ends[4:]), about_days)
            position = _position(latitude, longitude)
            one = Held(what, span, bool(is_unsure), ends[0] is not None, ends[4] is not None, position)
            found.setdefault(record_id, []).append(one)
        return found

    sure_number = f"identifier IS NOT NULL AND NOT {in_doubt('building', 'building.id', 'identifier')}"
    return Gazette(
        about_days,
        dict(connection.execute("SELECT id, name FROM place")),
        dict(connection.execute("SELECT id, kind FROM place")),
        held("place_name", "place_id", "name"),
        held("place_parent", "place_id", "parent_id", in_doubt("place", "place_parent.place_id", "within")),
        dict(connection.execute("SELECT id, name FROM building")),
        dict(connection.execute(f"SELECT id, identifier FROM building WHERE {sure_number}")),
        held("building_name", "building_id", "name"),
        held(
            "building_site", "building_id", "place_id", in_doubt("building", "building_site.building_id", "site"),
            _WHERE,
        ),
        _raisings(connection),
        tuple(
            said
            for row in connection.execute("SELECT name, address, contact FROM person")
            for said in row
            if said
        ),
        {
            place: position
            for place, *where in connection.execute(f"SELECT id, {_WHERE} FROM place")
            if (position := _position(*where)) is not None
        },
        _chronicles(connection),
    )  # fmt: skip


_WHERE = "latitude_deg, longitude_deg"


def _position(latitude_deg: float | None, longitude_deg: float | None) -> Position | None:
    return None if latitude_deg is None or longitude_deg is None else (latitude_deg, longitude_deg)


def _chronicles(connection: sqlite3.Connection) -> dict[int, list[Happening]]:
    """Return what happened to each building, the earliest first and the undated last."""
    found: dict[int, list[Happening]] = {}
    for building, *happening in connection.execute(
        "SELECT building_id, date_edtf, text FROM chronicle_entry"
        " ORDER BY building_id, coalesce(date_earliest, date_latest) NULLS LAST, id"
    ):
        found.setdefault(building, []).append(Happening(*happening))
    return found


def _raisings(connection: sqlite3.Connection) -> dict[int, Raising]:
    """Return the first raising of each building; an undated one only where no dated one is known."""
    found: dict[int, Raising] = {}
    for building, *raising in connection.execute(
        "SELECT c.building_id, c.date_edtf, c.date_words, coalesce(c.doer, p.name) FROM chronicle_entry c"
        " LEFT JOIN person p ON p.id = c.doer_id WHERE c.kind = 'raised'"
        " ORDER BY coalesce(c.date_earliest, c.date_latest) NULLS LAST, c.id"
    ):
        found.setdefault(building, Raising(*raising))
    return found


# ---- what belongs to sheets beside their columns


@dataclass(frozen=True, slots=True)
class ShownSubject:
    """A building or place that a sheet shows, and the title of its view; neither where the view names none."""

    title: str | None
    building_id: int | None
    place_id: int | None
    elevation: str | None
    part: str | None
    certainty: str | None
    view_id: int = 0
    is_principal: bool = False


@dataclass(frozen=True, slots=True)
class StoodAt:
    """Where the camera stood; ``is_placed`` when it is not in doubt which place that is in."""

    words: str
    place_id: int | None
    certainty: str
    is_placed: bool
    latitude_deg: float | None = None
    longitude_deg: float | None = None

    @property
    def position(self) -> Position | None:
        """Where that is, if it is known."""
        return _position(self.latitude_deg, self.longitude_deg)


@dataclass(frozen=True, slots=True)
class PrintOfSheet:
    """A print made of a sheet, as far as it may be told: of its edition, never of its price or whose it is."""

    edition: str
    statement: str
    run: str
    number: str
    process: str
    paper: str
    size: str


@dataclass(frozen=True, slots=True)
class WordedDoubt:
    """How a doubtful fact of a sheet, or of a view it holds, was put."""

    field: str
    as_written: str
    certainty: str
    alternatives: str | None


@dataclass(frozen=True, slots=True)
class SaidOfSheets:
    """What belongs to sheets beside their columns, by sheet."""

    numbers: dict[int, list[tuple[str, str, str]]]
    """Text, scheme, where it is written."""
    subjects: dict[int, list[ShownSubject]]
    standpoints: dict[int, list[StoodAt]]
    notes: dict[int, list[tuple[str, str]]]
    """Heading and text; notes without a heading are not among them."""
    doubts: dict[int, list[WordedDoubt]]
    prints: dict[int, list[PrintOfSheet]] = field(default_factory=dict)
    """The prints that carry a number of an edition; those that came to their end are not among them."""


_SHEETS = "SELECT value FROM json_each(:sheets)"
_SAID = {
    "numbers": f"""
        SELECT sheet_id, text, scheme, coalesce(written_on, '') FROM sheet_number
        WHERE sheet_id IN ({_SHEETS}) ORDER BY id""",
    "subjects": f"""
        SELECT sv.sheet_id, v.title, vs.building_id, vs.place_id, vs.elevation, vs.part, vs.certainty,
            sv.view_id, coalesce(vs.is_principal, 0)
        FROM sheet_view sv JOIN view v ON v.id = sv.view_id LEFT JOIN view_subject vs ON vs.view_id = v.id
        WHERE sv.sheet_id IN ({_SHEETS}) ORDER BY sv.id, vs.is_principal DESC, vs.id""",
    "standpoints": f"""
        SELECT sv.sheet_id, t.words, t.place_id, v.standpoint_certainty, NOT {in_doubt("standpoint", "t.id", "place")},
            t.latitude_deg, t.longitude_deg
        FROM sheet_view sv JOIN view v ON v.id = sv.view_id JOIN standpoint t ON t.id = v.standpoint_id
        WHERE sv.sheet_id IN ({_SHEETS}) ORDER BY sv.id""",
    "notes": f"""
        SELECT about_id, heading, text FROM note
        WHERE about = 'sheet' AND heading IS NOT NULL AND about_id IN ({_SHEETS}) ORDER BY id""",
    "doubts": f"""
        SELECT sheet_id, field, as_written, certainty, alternatives FROM (
            SELECT w.about_id AS sheet_id, w.* FROM wording w
            WHERE w.about = 'sheet' AND w.about_id IN ({_SHEETS}) AND {IN_FORCE}
            UNION ALL
            SELECT sv.sheet_id, w.* FROM sheet_view sv JOIN wording w ON w.about = 'view' AND w.about_id = sv.view_id
            WHERE w.field IN ('shows', 'standpoint', 'title') AND sv.sheet_id IN ({_SHEETS}) AND {IN_FORCE}
        ) ORDER BY id""",
    "prints": f"""
        SELECT p.sheet_id, r.edition_id, e.statement, n.series, r.limit_count, n.written,
            coalesce(p.process, e.process, ''), coalesce(p.paper, ''), coalesce(p.image_size, z.image, z.name, ''),
            coalesce(p.paper_size, z.paper, '')
        FROM print p JOIN print_number n ON n.id = p.print_number_id JOIN run r ON r.id = n.run_id
        JOIN edition e ON e.id = r.edition_id LEFT JOIN size z ON z.id = p.size_id
        WHERE p.sheet_id IN ({_SHEETS}) AND p.life = 'live' ORDER BY r.edition_id, r.id, n.series <> 'numbered',
            n.series, n.ordinal""",
}  # fmt: skip


def _print_of_sheet(
    edition_id: int, statement: str, series: str, limit: int | None, number: str,
    process: str, paper: str, image: str, sheet_of_paper: str,
) -> PrintOfSheet:  # fmt: skip
    run = SERIES_WORDS[series] if series != NUMBERED else "open" if limit is None else f"of {limit}"
    size = f"{image} on {sheet_of_paper}" if image and sheet_of_paper else image or sheet_of_paper
    return PrintOfSheet(f"E{edition_id}", statement, run, number, process, paper, size)


def read_said(connection: sqlite3.Connection, sheet_ids: Iterable[int]) -> SaidOfSheets:
    """Return numbers, subjects, standpoints, notes, doubts and prints of these sheets."""
    listed = {"sheets": _listed(sheet_ids)}

    def found(what: str) -> list[tuple[int, tuple[object, ...]]]:
        return [(row[0], row[1:]) for row in connection.execute(_SAID[what], listed)]

    numbers: dict[int, list[tuple[str, str, str]]] = {}
    subjects: dict[int, list[ShownSubject]] = {}
    standpoints: dict[int, list[StoodAt]] = {}
    notes: dict[int, list[tuple[str, str]]] = {}
    doubts: dict[int, list[WordedDoubt]] = {}
    prints: dict[int, list[PrintOfSheet]] = {}
    for sheet, row in found("numbers"):
        numbers.setdefault(sheet, []).append(row)  # type: ignore[arg-type]
    for sheet, row in found("subjects"):
        subjects.setdefault(sheet, []).append(ShownSubject(*row))  # type: ignore[arg-type]
    for sheet, row in found("standpoints"):
        standpoints.setdefault(sheet, []).append(StoodAt(*row))  # type: ignore[arg-type]
    for sheet, row in found("notes"):
        notes.setdefault(sheet, []).append(row)  # type: ignore[arg-type]
    for sheet, row in found("doubts"):
        doubts.setdefault(sheet, []).append(WordedDoubt(*row))  # type: ignore[arg-type]
    for sheet, row in found("prints"):
        prints.setdefault(sheet, []).append(_print_of_sheet(*row))  # type: ignore[arg-type]
    return SaidOfSheets(numbers, subjects, standpoints, notes, doubts, prints)
