"""Scans and sheets, each as the line that stands for it under another record."""

from __future__ import annotations

from catalog.store._show_reader import DateValue, Line, Reader


def scan_lines(reader: Reader, statement: str, **parameters: object) -> list[Line]:
    """Return the scans that a statement gives (id, region), each as a line."""
    lines = []
    files = reader.files(f"SELECT scan_id FROM ({statement})", **parameters)
    for scan_id, region in reader.rows(statement, **parameters):
        row = reader.connection.execute(
            """SELECT f.path, d.name, c.width_px, c.height_px, c.bits, c.colour, c.recorded_ppi, c.worked_out_ppi,
                c.profile, f.state, f.damage, c.is_reversed, c.scanned_edtf, c.scanned_words, c.scanned_earliest,
                c.scanned_latest, c.scanned_doubt
            FROM scan c JOIN file f ON f.id = c.file_id LEFT JOIN drive d ON d.id = f.drive_id WHERE c.id = ?""",
            (scan_id,),
        ).fetchone()
        path, drive, width, height, bits, colour, recorded, worked_out, profile, state, damage, is_reversed = row[:12]
        scanned = DateValue(*row[12:])
        marks = [region] if region else []
        marks += [f"on {drive}"] if drive else []
        marks += [f"{width} x {height} pixels"] if width else []
        marks += [f"{bits} bit {colour}"] if bits else []
        marks += [ppi_words(recorded, worked_out)]
        marks += [f"profile: {profile or 'none'}"]
        marks += ["reversed"] if is_reversed else []
        marks += [damage] if damage else [state] if state != "present" else []
        lines.append(
            Line(path, f"C{scan_id}", None if scanned.is_empty else scanned, marks=tuple(marks), scan=files[scan_id])
        )
    return lines


def ppi_words(recorded: float | None, worked_out: float | None) -> str:
    """Return a scan's resolution in words: as recorded, or worked out from the size of the film."""
    if recorded:
        return f"{recorded:g} ppi"
    return f"ppi not recorded; about {worked_out:.0f} from the film's size" if worked_out else "ppi not recorded"


def sheet_lines(reader: Reader, statement: str, **parameters: object) -> list[Line]:
    """Return the sheets whose ids a statement gives, in order of date, each as a line."""
    return [
        Line(numbers or "no number", f"S{sheet}", DateValue(*date), marks=(film,) if film else ())
        for sheet, numbers, film, *date in reader.rows(
            f"""SELECT s.id, (SELECT group_concat(text, ', ') FROM (SELECT DISTINCT n.text
            FROM sheet_number n WHERE n.sheet_id = s.id ORDER BY n.id)), k.name,
            s.exposed_edtf, s.exposed_words, s.exposed_earliest, s.exposed_latest, s.exposed_doubt
            FROM sheet s LEFT JOIN kit k ON k.id = s.film_id WHERE s.id IN ({statement})
            ORDER BY coalesce(s.exposed_earliest, s.exposed_latest, 1e15), s.id""",
            **parameters,
        )
    ]
