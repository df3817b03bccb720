"""What belongs to a record and has no reference of its own, each with its number and a line of words."""

from __future__ import annotations

import sqlite3

_DATES = (
    "coalesce(', from ' || coalesce({t}.from_words, {t}.from_edtf), '')"
    " || coalesce(', until ' || coalesce({t}.until_words, {t}.until_edtf), '')"
)

PART_STATEMENTS = {
    "chronicle_entry": """
        SELECT id, coalesce(date_words, date_edtf, 'undated') || ', ' || kind || ': ' || text
        FROM chronicle_entry WHERE building_id = ? ORDER BY coalesce(date_earliest, date_latest), id
    """,
    "building_site": f"""
        SELECT s.id, p.name || {_DATES.format(t="s")}
        FROM building_site s JOIN place p ON p.id = s.place_id WHERE s.building_id = ? ORDER BY s.id
    """,
    "elevation": f"""
        SELECT e.id, e.compass || coalesce(', ' || e.name, '') || {_DATES.format(t="e")}
        FROM elevation e WHERE e.building_id = ? ORDER BY e.id
    """,
    "sheet_number": """
        SELECT id, text || CASE WHEN scheme <> '' THEN ' (' || scheme || ')' ELSE '' END
            || CASE WHEN written_on <> '' THEN ' on the ' || written_on ELSE '' END
        FROM sheet_number WHERE sheet_id = ? ORDER BY id
    """,
    "view_subject": """
        SELECT vs.id, coalesce(b.name, p.name)
            || CASE WHEN vs.certainty = 'certain' THEN '' ELSE ' (' || vs.certainty || ')' END
            || coalesce(', ' || vs.elevation, '') || coalesce(', ' || vs.part, '')
        FROM view_subject vs LEFT JOIN building b ON b.id = vs.building_id LEFT JOIN place p ON p.id = vs.place_id
        WHERE vs.view_id = ? ORDER BY vs.is_principal DESC, vs.id
    """,
}


def list_parts(connection: sqlite3.Connection, table: str, owner_id: int) -> list[tuple[int, str]]:
    """Return (number, words) of each row of ``table`` that belongs to a record."""
    return connection.execute(PART_STATEMENTS[table], (owner_id,)).fetchall()
