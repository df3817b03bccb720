"""A sheet with its descent to every scan and edit version; a scan; a view; a roll."""

from __future__ import annotations

from catalog.rules.doubt import hedged
from catalog.store._show_reader import DateValue, Fact, Line, Reader, Section, name_of
from catalog.store._show_scans import ppi_words, scan_lines, sheet_lines
from catalog.store._show_versions import version_lines
from catalog.store.versions import VERSIONS_OF_SCAN, VERSIONS_OF_SHEET, find_reading

_SHEET_FIELDS = (
    ("frame", "frame"), ("medium", "medium"), ("base", "base"), ("format", "format"), ("holder_side", "holder side"),
    ("aperture_f", "aperture f/"), ("shutter_s", "shutter s"), ("filter", "filter"), ("rise_mm", "rise mm"),
    ("shift_mm", "shift mm"), ("tilt_deg", "tilt deg"), ("swing_deg", "swing deg"), ("extension_mm", "extension mm"),
    ("development", "development"), ("docket", "docket"), ("box", "box"), ("sleeve", "sleeve"), ("fate", "fate"),
    ("condition", "condition"),
)  # fmt: skip
_SHEET_NAMES = (
    ("lens_id", "lens", "lens"), ("camera_id", "camera", "camera"), ("film_id", "film", "film_stock"),
    ("lab_id", "lab", "person"), ("roll_id", "roll", "roll"), ("copied_from_id", "copied from", "sheet"),
)  # fmt: skip


def read_sheet(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a sheet's facts, its numbers, what it shows, and its scans."""
    columns = reader.columns()
    doubts = reader.doubts()
    exposed = reader.date(columns, "exposed")
    facts = [Fact("exposed", exposed, doubts.get("exposed"))]
    for column, label, table in _SHEET_NAMES:
        words = name_of(reader, table, columns[column])
        doubt = doubts.get(label)
        if words or doubt:
            facts.append(Fact(label, words, doubt))
    facts += reader.facts(columns, *_SHEET_FIELDS)
    fate_date = reader.date(columns, "fate_date")
    if not fate_date.is_empty:
        facts.append(Fact("fate since", fate_date))
    return facts, [
        ("numbers", _numbers(reader)),
        ("shows", _subjects(reader, "SELECT view_id FROM sheet_view WHERE sheet_id = :id")),
        ("taken from", _standpoints(reader)),
        ("scans", scan_lines(reader, "SELECT scan_id, region FROM scan_part WHERE sheet_id = :id ORDER BY scan_id")),
        ("edit versions", version_lines(reader, VERSIONS_OF_SHEET)),
        ("same view", _sheets_of_views(reader)),
        ("same standpoint", _revisits(reader)),
        ("card", _cards(reader)),
    ]


def _numbers(reader: Reader) -> list[Line]:
    return [
        Line(text, marks=tuple(words for words in (scheme, f"on the {where}" if where else "") if words))
        for text, scheme, where in reader.rows(
            "SELECT text, scheme, written_on FROM sheet_number WHERE sheet_id = :id ORDER BY id"
        )
    ]


def _subjects(reader: Reader, views: str) -> list[Line]:
    rows = reader.rows(
        f"""SELECT v.id, v.title, vs.building_id, vs.place_id, coalesce(b.name, p.name), vs.elevation, vs.part,
            vs.certainty, vs.is_principal FROM view v LEFT JOIN view_subject vs ON vs.view_id = v.id
            LEFT JOIN building b ON b.id = vs.building_id LEFT JOIN place p ON p.id = vs.place_id
            WHERE v.id IN ({views}) ORDER BY v.id, vs.is_principal DESC, vs.id"""
    )
    lines = []
    for view, title, building, place, name, elevation, part, certainty, principal in rows:
        if name is None:
            lines.append(Line(title or "nothing named", f"V{view}"))
            continue
        said = " ".join(filter(None, (hedged(name, certainty), elevation, part)))
        marks = (*((title,) if title else ()), *(("principal",) if principal else ()))
        lines.append(Line(said, f"B{building}" if building else f"L{place}", marks=marks))
    return lines


def _standpoints(reader: Reader) -> list[Line]:
    rows = reader.rows(
        """SELECT t.id, t.words, p.name, v.standpoint_certainty FROM sheet_view sv JOIN view v ON v.id = sv.view_id
        JOIN standpoint t ON t.id = v.standpoint_id LEFT JOIN place p ON p.id = t.place_id
        WHERE sv.sheet_id = :id GROUP BY t.id"""
    )
    lines = [
        Line(hedged(words, certainty), f"T{t}", marks=(place,) if place else ()) for t, words, place, certainty in rows
    ]
    visits = reader.rows(
        """SELECT d.id, p.name, d.date_edtf, d.date_words, d.date_earliest, d.date_latest, d.date_doubt
        FROM sheet_view sv JOIN view v ON v.id = sv.view_id JOIN visit d ON d.id = v.visit_id
        LEFT JOIN place p ON p.id = d.place_id WHERE sv.sheet_id = :id GROUP BY d.id"""
    )
    return lines + [
        Line(f"visit to {place}" if place else "visit", f"D{d}", DateValue(*date)) for d, place, *date in visits
    ]


def _sheets_of_views(reader: Reader) -> list[Line]:
    return sheet_lines(
        reader,
        "SELECT o.sheet_id FROM sheet_view sv JOIN sheet_view o ON o.view_id = sv.view_id"
        " WHERE sv.sheet_id = :id AND o.sheet_id <> :id",
    )


def _revisits(reader: Reader) -> list[Line]:
    return sheet_lines(
        reader,
        "SELECT o.sheet_id FROM sheet_view sv JOIN view v ON v.id = sv.view_id"
        " JOIN view w ON w.standpoint_id = v.standpoint_id AND w.id <> v.id JOIN sheet_view o ON o.view_id = w.id"
        " WHERE sv.sheet_id = :id AND o.sheet_id <> :id",
    )


def _cards(reader: Reader) -> list[Line]:
    return [
        Line(f"{name}, row {row}", marks=(f"read {at[:10]}",))
        for name, row, at in reader.rows(
            "SELECT f.name, r.row, f.read_at FROM card_row r JOIN card_file f ON f.id = r.card_file_id"
            " WHERE r.sheet_id = :id ORDER BY r.id"
        )
    ]


def read_scan(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a scan's facts as its header gave them, where the file is, and the sheets it shows."""
    columns = reader.columns()
    file = dict(zip(
        ("path", "size_bytes", "sha256", "picture_sha256", "state", "damage", "drive", "last_checked_at",
         "last_good_at"),
        reader.rows(
            "SELECT f.path, f.size_bytes, f.sha256, f.picture_sha256, f.state, f.damage, d.name, f.last_checked_at,"
            " f.last_good_at FROM scan c JOIN file f ON f.id = c.file_id LEFT JOIN drive d ON d.id = f.drive_id"
            " WHERE c.id = :id"
        )[0],
        strict=True,
    ))  # fmt: skip
    facts = reader.facts(
        file, ("path", "path"), ("drive", "drive"), ("state", "state"), ("damage", "damage"), ("size_bytes", "bytes"),
        ("sha256", "sha256"), ("picture_sha256", "picture sha256"), ("last_checked_at", "last checked"),
        ("last_good_at", "last good"),
    )  # fmt: skip
    scanned = reader.date(columns, "scanned")
    if not scanned.is_empty:
        facts.append(Fact("scanned", scanned))
    facts += reader.facts(
        columns, ("kind", "kind"), ("device_maker", "scanner maker"), ("device_model", "scanner"),
        ("software", "software"), ("width_px", "width px"), ("height_px", "height px"), ("bits", "bits"),
        ("channels", "channels"), ("extra_channels", "extra channels"), ("colour", "colour"),
        ("compression", "compression"),
    )  # fmt: skip
    recorded, worked_out, profile = columns["recorded_ppi"], columns["worked_out_ppi"], columns["profile"]
    assert recorded is None or isinstance(recorded, float)
    assert worked_out is None or isinstance(worked_out, float)
    facts += [Fact("resolution", ppi_words(recorded, worked_out)), Fact("profile", str(profile or "none"))]
    facts += reader.facts(
        columns, ("white_is_zero", "white is zero"), ("orientation", "orientation"), ("polarity", "polarity"),
        ("is_reversed", "reversed"), ("pages", "pages"), ("description", "description"), ("facts", "remarks"),
    )  # fmt: skip
    sheets = sheet_lines(reader, "SELECT sheet_id FROM scan_part WHERE scan_id = :id")
    facts += _measured(reader)
    return facts, [
        ("sheets", sheets or [Line("matched to no sheet yet: tiebeam scans match")]),
        ("edit versions", version_lines(reader, VERSIONS_OF_SCAN)),
    ]


def _measured(reader: Reader) -> list[Fact]:
    """Return what was measured in a scan's pixels and the header cannot say."""
    row = find_reading(reader.connection, reader.id)
    if row is None:
        return []
    side = {None: "not known", 0: "right side up", 1: "seems reversed"}[row.is_reversed]
    facts = [Fact("side as measured", f"{side}: {row.evidence}" if row.evidence else side)]
    return facts if row.density_range is None else [*facts, Fact("density range", round(row.density_range, 2))]


def read_view(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a view: what it shows, from where, and the sheets that hold it."""
    columns = reader.columns()
    facts = reader.facts(columns, ("title", "title"))
    for column, label in (("standpoint_id", "standpoint"), ("visit_id", "visit")):
        words = name_of(reader, label, columns[column])
        if words:
            facts.append(Fact(label, words))
    return facts, [
        ("shows", _subjects(reader, "SELECT :id")),
        ("sheets", sheet_lines(reader, "SELECT sheet_id FROM sheet_view WHERE view_id = :id")),
    ]


def read_roll(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a roll and its sheets."""
    columns = reader.columns()
    facts = reader.facts(columns, ("name", "name"), ("docket", "docket"), ("development", "development"))
    for column, table in (("film_id", "film_stock"), ("camera_id", "camera")):
        words = name_of(reader, table, columns[column])
        if words:
            facts.append(Fact(column.removesuffix("_id"), words))
    return facts, [("sheets", sheet_lines(reader, "SELECT id FROM sheet WHERE roll_id = :id"))]


READERS = {"sheet": read_sheet, "scan": read_scan, "view": read_view, "roll": read_roll}
