"""A building with its chronicle and the frames between the entries; a place with what lies in it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from catalog.rules.chronicle import Days, reach_of, standing_of, stood
from catalog.rules.doubt import hedged
from catalog.store._show_reader import DateValue, Fact, Line, Reader, Section

_DATE = "{0}_edtf, {0}_words, {0}_earliest, {0}_latest, {0}_doubt"
_FROM_UNTIL = f"{_DATE.format('from')}, {_DATE.format('until')}"


def _spanned(words: str, reference: str | None, dates: list[object], *marks: str | None) -> Line:
    """Return a line that held from one date until another; ``dates`` are ten columns."""
    begun, ended = DateValue(*dates[:5]), DateValue(*dates[5:10])  # type: ignore[arg-type]
    return Line(
        words, reference, None if begun.is_empty else begun, None if ended.is_empty else ended,
        tuple(mark for mark in marks if mark), is_span=True,
    )  # fmt: skip


def read_building(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a building: names, sites, sides, and its chronicle with the frames between the entries."""
    facts = reader.facts(reader.columns(), ("name", "name"), ("kind", "kind"), ("identifier", "identifier"))
    names = [
        _spanned(name, None, dates) for name, *dates in reader.rows(
            f"SELECT name, {_FROM_UNTIL} FROM building_name WHERE building_id = :id ORDER BY from_earliest"
        )
    ]  # fmt: skip
    sites = [
        _spanned(f"{name}, {words}" if words else name, f"L{place}", dates)
        for place, name, words, *dates in reader.rows(
            f"SELECT s.place_id, p.name, s.words, {_FROM_UNTIL} FROM building_site s JOIN place p ON p.id = s.place_id"
            " WHERE building_id = :id ORDER BY coalesce(from_earliest, from_latest, -1e15)"
        )
    ]
    sides = [
        _spanned(compass, None, dates, name, f"bearing {bearing:g}°" if bearing is not None else None)
        for compass, name, bearing, *dates in reader.rows(
            f"SELECT compass, name, bearing_deg, {_FROM_UNTIL} FROM elevation WHERE building_id = :id ORDER BY id"
        )
    ]
    return facts, [("other names", names), ("sites", sites), ("elevations", sides), *_chronicle(reader)]


@dataclass(frozen=True, slots=True)
class _Entry:
    """A chronicle entry, and the days it may have happened on."""

    id: int
    kind: str
    text: str
    said_by: tuple[str, ...]
    date: DateValue
    days: Days

    @property
    def line(self) -> Line:
        """The entry as a line; its kind is left out where its words begin with it."""
        words = self.text if self.text.casefold().startswith(self.kind) else f"{self.kind}: {self.text}"
        return Line(words, None, self.date, marks=self.said_by, number=self.id)


def _chronicle(reader: Reader) -> list[Section]:
    """Return the chronicle with the dated frames between its entries, then what is undated."""
    entries = chronicle_entries(reader)
    dated = [entry for entry in entries if entry.date.edtf is not None]
    stood_when = {
        kind: next((entry.days for entry in dated if entry.kind == kind), Days(None, None))
        for kind in ("raised", "razed")
    }
    between: list[list[Line]] = [[] for _ in range(len(dated) + 1)]
    undated: list[Line] = []
    for frame in _frames(reader):
        assert frame.date is not None
        if frame.date.edtf is None:
            undated.append(frame)
            continue
        when = Days(frame.date.earliest, frame.date.latest, reach_of(frame.date.doubt, reader.about_days))
        standing = standing_of(when, [entry.days for entry in dated])
        marks = [_either_side([dated[i] for i in standing.spans])] if standing.spans else []
        if stood(raised=stood_when["raised"], razed=stood_when["razed"], when=when) is False:
            marks.append("dated when it did not stand")
        between[standing.after].append(replace(frame, marks=(*frame.marks, *marks)))
    lines = list(between[0])
    for entry, frames in zip(dated, between[1:], strict=True):
        lines += [entry.line, *frames]
    return [
        ("chronicle", lines), ("undated entries", [entry.line for entry in entries if entry.date.edtf is None]),
        ("undated frames", undated),
    ]  # fmt: skip


def _either_side(entries: list[_Entry]) -> str:
    """Return which entries a frame may come before or after, by their numbers."""
    return "may be before or after " + " and ".join(f"{entry.id}." for entry in entries)


def chronicle_entries(reader: Reader) -> list[_Entry]:
    """Return the entries of a building's chronicle in order of date, the undated last."""
    rows = reader.rows(
        f"""SELECT c.id, c.kind, c.text, coalesce(c.doer, p.name), s.title, {_DATE.format("c.date")}
        FROM chronicle_entry c LEFT JOIN person p ON p.id = c.doer_id LEFT JOIN source s ON s.id = c.source_id
        WHERE c.building_id = :id ORDER BY coalesce(c.date_earliest, c.date_latest, 1e15), c.id"""
    )
    found = []
    for number, kind, text, doer, source, *columns in rows:
        date = DateValue(*columns)
        said_by = tuple(words for words in (f"by {doer}" if doer else "", source or "") if words)
        days = Days(date.earliest, date.latest, reach_of(date.doubt, reader.about_days))
        found.append(_Entry(number, kind, text, said_by, date, days))
    return found


def _frames(reader: Reader) -> list[Line]:
    """Return a line for each sheet that shows the building, with every side of it that it shows."""
    found: dict[int, Line] = {}
    for sheet, numbers, side, part, certainty, *date in reader.rows(
        """SELECT s.id, (SELECT group_concat(text, ', ') FROM (SELECT DISTINCT n.text FROM sheet_number n
            WHERE n.sheet_id = s.id ORDER BY n.id)), vs.elevation, vs.part, vs.certainty, s.exposed_edtf,
            s.exposed_words, s.exposed_earliest, s.exposed_latest, s.exposed_doubt
        FROM view_subject vs JOIN sheet_view sv ON sv.view_id = vs.view_id JOIN sheet s ON s.id = sv.sheet_id
        WHERE vs.building_id = :id ORDER BY coalesce(s.exposed_earliest, s.exposed_latest, 1e15), s.id, vs.id"""
    ):
        shows = " ".join(filter(None, (side, part if part != "elevation" or not side else None)))
        marks = tuple(filter(None, (shows, "" if certainty == "certain" else f"{hedged('this building', certainty)}")))
        known = found.get(sheet)
        line = known or Line(numbers or "no number", f"S{sheet}", DateValue(*date))
        found[sheet] = replace(line, marks=tuple(dict.fromkeys((*line.marks, *marks))))
    return list(found.values())


def read_place(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a place: its names, what it belonged to, what belonged to it, and its buildings while they stood there."""
    columns = reader.columns()
    facts = reader.facts(
        columns, ("name", "name"), ("kind", "kind"), ("latitude_deg", "latitude"), ("longitude_deg", "longitude")
    )
    names = [
        _spanned(name, None, dates, note)
        for name, note, *dates in reader.rows(
            f"SELECT name, note, {_FROM_UNTIL} FROM place_name WHERE place_id = :id ORDER BY from_earliest"
        )
    ]
    above = _relatives(reader, "parent_id", "place_id")
    below = _relatives(reader, "place_id", "parent_id")
    buildings = [
        _spanned(name, f"B{building}", dates, words)
        for building, name, words, *dates in reader.rows(
            f"SELECT b.id, b.name, s.words, {_FROM_UNTIL} FROM building_site s JOIN building b ON b.id = s.building_id"
            " WHERE s.place_id = :id ORDER BY b.name"
        )
    ]
    return facts, [("other names", names), ("belonged to", above), ("below it", below), ("buildings", buildings)]


def _relatives(reader: Reader, column: str, through: str) -> list[Line]:
    return [
        _spanned(name, f"L{place}", dates)
        for place, name, *dates in reader.rows(
            f"SELECT q.id, q.name, {_FROM_UNTIL} FROM place_parent pp JOIN place q ON q.id = pp.{column}"
            f" WHERE pp.{through} = :id ORDER BY q.name"
        )
    ]


READERS = {"building": read_building, "place": read_place}
