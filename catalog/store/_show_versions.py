"""An edit version with its descent: sheet, scan, version, and what it was made into."""

from __future__ import annotations

from catalog.store._show_reader import DateValue, Fact, Line, Reader, Section, name_of
from catalog.store._show_scans import scan_lines, sheet_lines
from catalog.store.names import describe
from catalog.store.record_words import steps_words
from catalog.store.versions import (
    DESCENT,
    SourceRow,
    VersionRow,
    get_version,
    replacements,
    version_sources,
)


def version_words(row: VersionRow) -> str:
    """Return a version as a list names it: what it is for, and how it was made."""
    return row.purpose or steps_words(row.steps) or row.note or "made elsewhere"


def version_lines(reader: Reader, statement: str, **parameters: object) -> list[Line]:
    """Return the versions whose ids a statement gives, each as a line."""
    replaced = replacements(reader.connection)
    lines = []
    for (version_id,) in reader.rows(f"SELECT id FROM ({statement}) ORDER BY id", **parameters):
        row = get_version(reader.connection, version_id)
        assert row is not None
        lines.append(_version_line(row, replaced.get(version_id, [])))
    return lines


def _version_line(row: VersionRow, replaced_by: list[int]) -> Line:
    marks = [steps_words(row.steps)] if row.steps is not None and row.purpose else []
    if row.path is not None:
        marks += [row.path, f"on {row.drive_name}" if row.drive_name else None]
        marks += [f"{row.width_px} x {row.height_px} pixels" if row.width_px else None]
        marks += [f"{row.bits} bit {row.colour or ''}".strip() if row.bits else None]
        marks += [f"profile: {row.profile or 'none'}", row.damage or (row.state if row.state != "present" else None)]
    else:
        marks.append("not written" if row.steps is not None else "no file")
    marks += [f"replaces W{row.replaces_id}"] if row.replaces_id else []
    marks += [f"replaced by {', '.join(f'W{one}' for one in replaced_by)}"] if replaced_by else []
    made = DateValue(row.made_edtf, row.made_words, row.made_earliest, row.made_latest, "")
    return Line(
        version_words(row), row.reference, None if made.is_empty else made, marks=tuple(mark for mark in marks if mark)
    )


def read_version(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a version's facts and steps, its file, and its descent from the sheet on."""
    columns = reader.columns()
    row = get_version(reader.connection, reader.id)
    assert row is not None
    facts = reader.facts(columns, ("purpose", "purpose"))
    words = steps_words(row.steps)
    facts += [Fact("steps", words)] if words else []
    made = reader.date(columns, "made")
    facts += [] if made.is_empty else [Fact("made", made)]
    facts += reader.facts(columns, ("made_with", "made with"))
    replaced = name_of(reader, "edit_version", row.replaces_id)
    facts += [Fact("replaces", replaced)] if replaced else []
    later = replacements(reader.connection).get(reader.id, [])
    facts += [Fact("replaced by", ", ".join(f"W{one}" for one in later))] if later else []
    facts += _file_facts(reader, row, columns)
    facts += reader.facts(columns, ("note", "note"), ("facts", "remarks"))
    below = "SELECT version_id AS id FROM version_source WHERE source_version_id = :id"
    return facts, [
        ("sheets", sheet_lines(reader, _SHEETS)),
        ("descent", _descent(reader, row)),
        ("versions made from it", version_lines(reader, below)),
        ("prints", _prints(reader)),
    ]


_SHEETS = f"""WITH RECURSIVE {DESCENT.format(only="WHERE id = :id")}
    SELECT coalesce(s.sheet_id, p.sheet_id) FROM descent JOIN version_source s ON s.version_id = descent.from_id
    LEFT JOIN scan_part p ON p.scan_id = s.scan_id"""


def _file_facts(reader: Reader, row: VersionRow, columns: dict[str, object]) -> list[Fact]:
    if row.file_id is None:
        return [Fact("file", f"not written; write it with: tiebeam versions write W{row.id}")] if row.steps else []
    file = {"path": row.path, "drive": row.drive_name, "state": row.state, "damage": row.damage, "sha256": row.sha256}
    facts = reader.facts(
        dict(file), ("path", "path"), ("drive", "drive"), ("state", "state"), ("damage", "damage"), ("sha256", "sha256")
    )
    facts += reader.facts(
        columns, ("kind", "kind"), ("width_px", "width px"), ("height_px", "height px"), ("bits", "bits"),
        ("channels", "channels"), ("colour", "colour"), ("recorded_ppi", "ppi"),
    )  # fmt: skip
    return [*facts, Fact("profile", row.profile or "none")]


def _descent(reader: Reader, row: VersionRow) -> list[Line]:
    """Return what a version comes from, the sheet first and itself last, each once."""
    lines: dict[str, Line] = {}
    seen: set[int] = set()

    def walk(version: VersionRow) -> None:
        seen.add(version.id)
        for source in version_sources(reader.connection, version.id):
            _source_lines(reader, source, lines)
            earlier = get_version(reader.connection, source.source_version_id or 0)
            if earlier is not None and earlier.id not in seen:
                walk(earlier)
        replaced_by = replacements(reader.connection).get(version.id, [])
        lines.setdefault(version.reference, _version_line(version, replaced_by))

    walk(row)
    return list(lines.values())


def _prints(reader: Reader) -> list[Line]:
    """Return the prints made from a version."""
    rows = reader.rows("SELECT id FROM print WHERE version_id = :id ORDER BY id")
    return [Line(describe(reader.connection, "print", one) or "", f"P{one}") for (one,) in rows]


def _source_lines(reader: Reader, source: SourceRow, lines: dict[str, Line]) -> None:
    if source.scan_id is not None:
        sheets = "SELECT sheet_id FROM scan_part WHERE scan_id = :scan"
        found = sheet_lines(reader, sheets, scan=source.scan_id)
        found += scan_lines(reader, "SELECT :scan AS scan_id, NULL AS region", scan=source.scan_id)
    elif source.sheet_id is not None:
        found = [
            Line(line.words, line.reference, line.date, marks=(*line.marks, "the scan is not known"))
            for line in sheet_lines(reader, "SELECT :sheet", sheet=source.sheet_id)
        ]
    else:
        found = []
    for line in found:
        lines.setdefault(str(line.reference), line)


READERS = {"edit_version": read_version}
