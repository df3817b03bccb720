"""Visits, standpoints, lenses, persons, sources, questions and drives, each whole."""

from __future__ import annotations

from catalog.store._show_reader import Fact, Line, Reader, Section, name_of
from catalog.store._show_scans import sheet_lines


def read_visit(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a visit and the sheets exposed on it."""
    columns = reader.columns()
    facts = [Fact("date", reader.date(columns, "date"))]
    place = name_of(reader, "place", columns["place_id"])
    facts += [Fact("place", place)] if place else []
    facts += reader.facts(
        columns, ("light", "light"), ("weather", "weather"), ("company", "company"), ("said", "what was said")
    )
    return facts, [("sheets", sheet_lines(reader, _OF_VIEWS.format(column="visit_id")))]


_OF_VIEWS = "SELECT sv.sheet_id FROM view v JOIN sheet_view sv ON sv.view_id = v.id WHERE v.{column} = :id"


def read_standpoint(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a standpoint and every sheet exposed from it."""
    columns = reader.columns()
    facts = reader.facts(columns, ("words", "where"))
    place = name_of(reader, "place", columns["place_id"])
    facts += [Fact("place", place)] if place else []
    facts += reader.facts(
        columns, ("latitude_deg", "latitude"), ("longitude_deg", "longitude"), ("height_m", "height m"),
        ("alignments", "alignments"),
    )  # fmt: skip
    return facts, [("sheets", sheet_lines(reader, _OF_VIEWS.format(column="standpoint_id")))]


def read_kit(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a lens, a camera or a film, and the sheets exposed with it."""
    columns = reader.columns()
    kind = str(columns["kind"])
    facts = reader.facts(columns, ("name", "name"), ("maker", "maker"))
    own = reader.columns(kind)
    own.pop("id", None)
    facts.insert(1, Fact("kind", "film" if kind == "film_stock" else kind))
    facts += [
        Fact(name.replace("_", " "), value) for name, value in own.items() if isinstance(value, str | float | int)
    ]
    for name in ("known_from", "known_until"):
        date = reader.date(columns, name)
        facts += [] if date.is_empty else [Fact(name.replace("_", " "), date)]
    column = {"lens": "lens_id", "camera": "camera_id", "film_stock": "film_id"}[kind]
    return facts, [("sheets", sheet_lines(reader, f"SELECT id FROM sheet WHERE {column} = :id"))]


def read_person(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a person or firm, and what is told of them; address and contact are private and stay away."""
    facts = reader.facts(reader.columns(), ("name", "name"), ("kind", "kind"), ("role", "role"))
    did = [
        Line(f"{name}: {text}", f"B{building}")
        for building, name, text in reader.rows(
            "SELECT b.id, b.name, c.text FROM chronicle_entry c JOIN building b ON b.id = c.building_id"
            " WHERE c.doer_id = :id ORDER BY c.date_earliest"
        )
    ]
    asked = [
        Line(text, f"Q{question}", marks=("open",) if answer is None else ())
        for question, text, answer in reader.rows(
            "SELECT id, text, answer FROM open_question WHERE ask_id = :id ORDER BY id"
        )
    ]
    lab = sheet_lines(reader, "SELECT id FROM sheet WHERE lab_id = :id")
    return facts, [("did", did), ("to ask", asked), ("sheets as lab", lab)]


def read_source(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a source and the statements that rest on it."""
    columns = reader.columns()
    facts = reader.facts(columns, ("title", "title"), ("kind", "kind"), ("author", "author"), ("kept_at", "kept at"))
    published = reader.date(columns, "published")
    facts += [] if published.is_empty else [Fact("published", published)]
    entries = [
        Line(f"{name}: {text}", f"B{building}")
        for building, name, text in reader.rows(
            "SELECT b.id, b.name, c.text FROM chronicle_entry c JOIN building b ON b.id = c.building_id"
            " WHERE c.source_id = :id ORDER BY c.date_earliest"
        )
    ]
    return facts, [("what rests on it", entries)]


def read_question(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return an open question, whom to ask, and its answer."""
    columns = reader.columns()
    facts = reader.facts(columns, ("text", "question"), ("ask", "ask"), ("asked_at", "asked"))
    person = name_of(reader, "person", columns["ask_id"])
    facts += [Fact("whom to ask", person)] if person else []
    about, about_id = columns["about"], columns["about_id"]
    if isinstance(about, str):
        words = name_of(reader, about, about_id)
        facts += [Fact("about", words)] if words else []
    return facts + reader.facts(columns, ("answer", "answer"), ("settled_at", "settled")), []


def read_drive(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a drive and how many files lie on it."""
    facts = reader.facts(
        reader.columns(), ("name", "name"), ("last_path", "last seen in"), ("last_seen_at", "last seen"),
        ("marker", "marker"),
    )  # fmt: skip
    count = reader.rows("SELECT count(*) FROM file WHERE drive_id = :id")[0][0]
    return [*facts, Fact("files", count)], []


READERS = {
    "visit": read_visit,
    "standpoint": read_standpoint,
    "kit": read_kit,
    "person": read_person,
    "source": read_source,
    "open_question": read_question,
    "drive": read_drive,
}
