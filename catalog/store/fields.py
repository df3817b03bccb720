"""What stands in each field of a record that can be written, as it was written: what the writing card shows."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from catalog.errors import CatalogError, NotFoundError
from catalog.rules.doubt import hedged, parse_doubt
from catalog.rules.fields import (
    EVENT,
    FIELDS,
    MEASURE,
    PARTS_OF,
    RECORD,
    SIDE,
    STATE,
    SUBJECT,
    WHO,
    YES_NO,
    Field,
    Part,
)
from catalog.rules.references import WORDS, format_reference
from catalog.store.names import describe, resolve
from catalog.store.wordings import IN_FORCE

_KIT = ("lens", "camera", "film_stock")
# Records that a person would rather name by their reference than by words.
_BY_REFERENCE = ("visit", "view", "edit_version")
# How a part's fields are cited by the wordings of its record, where those say how it was put.
_CITED = {
    ("building_site", "place_id"): "site", ("place_parent", "parent_id"): "within",
    ("view_subject", "elevation"): "elevation",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class WrittenField:
    """
    A place on a card where something is, or can be, written.

    ``row_id`` is ``None`` where it makes a new row of ``table``. ``owner`` is the record it belongs to, itself or
    another. ``text`` is what stands there, as it was written; ``held`` what the catalogue holds for it, to tell
    whether another changed it. ``points_to`` is the reference of the record that it names.
    """

    heading: str
    field: Field
    table: str
    row_id: int | None
    owner: tuple[str, int]
    text: str = ""
    held: tuple[Any, ...] = ()
    points_to: str | None = None
    is_first: bool = True
    """Whether it is the first field of its row."""
    label: str = ""

    @property
    def is_doubtful(self) -> bool:
        """Whether what stands there says itself that it is not sure."""
        if self.field.sort in (EVENT, STATE):
            return any(sign in (self.held[0] or "") for sign in "~?%[") if self.held else False
        is_name = self.field.sort in (RECORD, MEASURE, SIDE, SUBJECT)
        return is_name and bool(self.text) and parse_doubt(self.text).is_doubtful

    @property
    def key(self) -> str:
        """What tells it from every other field of the card."""
        return f"{self.table}/{self.row_id or f'of {self.owner[1]}'}/{self.field.name}"


def read_fields(connection: sqlite3.Connection, table: str, record_id: int) -> tuple[WrittenField, ...]:
    """
    Return every field that can be written on the card of a record, in the order of the card.

    Raises:
        NotFoundError: it is not there.
    """
    if describe(connection, table, record_id) is None:
        raise NotFoundError(f"There is no {WORDS[table]} {format_reference(table, record_id)}.")
    reader = _Reader(connection)
    found = list(reader.parts(table, record_id)) if table == "sheet" else []
    found += reader.own(table, record_id)
    if table == "sheet":
        found += reader.views(record_id)
    else:
        found += reader.parts(table, record_id)
    return (*found, *reader.notes(table, record_id))


def read_field(connection: sqlite3.Connection, asked: WrittenField) -> WrittenField:
    """
    Return a field as it stands now.

    Raises:
        NotFoundError: what it was written on is gone.
    """
    if asked.row_id is None:
        return asked
    fields = read_row_fields(connection, asked.table, [asked.row_id], asked.field)
    if asked.row_id not in fields:
        raise NotFoundError("What this line was about is no longer there: another tiebeam took it out.")
    return fields[asked.row_id]


def read_row_fields(
    connection: sqlite3.Connection, table: str, ids: Sequence[int], field: Field
) -> dict[int, WrittenField]:
    """Return one field of several rows of a table, by their ids; rows that are not there are left out."""
    reader = _Reader(connection)
    found = {}
    for row_id in ids:
        row = reader.row(table, row_id)
        if row is not None:
            owner = reader.owner_of(table, row)
            found[row_id] = reader.field("", field, table, row, owner, reader.doubts_of(table, owner))
    return found


def read_sheets_texts(connection: sqlite3.Connection, ids: Sequence[int]) -> dict[str, Counter[str]]:
    """Return, for each field of a sheet, how often which text stands in it on these sheets."""
    reader = _Reader(connection)
    texts: dict[str, Counter[str]] = {field.name: Counter() for field in FIELDS["sheet"]}
    for sheet_id in ids:
        for one in reader.own("sheet", sheet_id):
            texts[one.field.name][one.text] += 1
    return texts


class _Reader:
    """Reads fields over one connection."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._known: dict[tuple[str, int], str] = {}
        """What a person would type for the records that were asked for already."""

    # -- rows --------------------------------------------------------------------------------------------------

    def _rows(self, statement: str, *parameters: object) -> list[dict[str, Any]]:
        cursor = self._connection.execute(statement, parameters)
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor]

    def row(self, table: str, row_id: int) -> dict[str, Any] | None:
        """Return a row by column; that of a lens, camera or film with what all kit has."""
        join = f" JOIN {table} USING (id)" if table in _KIT else ""
        rows = self._rows(f"SELECT * FROM {'kit' if table in _KIT else table}{join} WHERE id = ?", row_id)
        return rows[0] if rows else None

    def owner_of(self, table: str, row: Mapping[str, Any]) -> tuple[str, int]:
        """Return the record that a row belongs to: another, or itself."""
        if table == "note":
            return row["about"], row["about_id"]
        for owner, parts in PARTS_OF.items():
            for part in parts:
                if part.table == table:
                    return owner, row[part.owner_column]
        return ("kit" if table in _KIT else table), row["id"]

    def doubts_of(self, table: str, owner: tuple[str, int]) -> dict[str, str]:
        """
        Return how each doubtful field of a row was put.

        A wording cites the record, not the part: of several parts it cannot be told which one it is about.
        """
        for part in PARTS_OF.get(owner[0], ()):
            if part.table == table:
                (count,) = self._connection.execute(
                    f"SELECT count(*) FROM {table} WHERE {part.owner_column} = ?", (owner[1],)
                ).fetchone()
                return self._doubts(*owner) if count == 1 else {}
        return self._doubts(*owner)

    def _doubts(self, table: str, record_id: int) -> dict[str, str]:
        return dict(
            self._connection.execute(
                "SELECT w.field, w.as_written FROM wording w WHERE w.about = ? AND w.about_id = ?"
                f" AND {IN_FORCE} ORDER BY w.id",
                (table, record_id),
            )
        )

    # -- groups ------------------------------------------------------------------------------------------------

    def own(self, table: str, record_id: int, heading: str = "") -> Iterator[WrittenField]:
        """Yield the fields of a record itself."""
        named = table
        if table == "kit":
            named = self._connection.execute("SELECT kind FROM kit WHERE id = ?", (record_id,)).fetchone()[0]
        row = self.row(named, record_id) if named in FIELDS else None
        if row is not None:
            doubts = self._doubts(table, record_id)
            for field in FIELDS[named]:
                yield self.field(heading or field.group, field, named, row, (table, record_id), doubts)

    def parts(self, table: str, record_id: int, heading: str = "") -> Iterator[WrittenField]:
        """Yield the fields of what belongs to a record, and after each sort a line for one more."""
        for part in PARTS_OF.get(table, ()):
            rows = self._rows(
                f"SELECT * FROM {part.table} WHERE {part.owner_column} = ? ORDER BY {_order(part)}", record_id
            )
            doubts = self.doubts_of(part.table, (table, record_id)) if rows else {}
            for row in rows:
                yield from self._part(heading or part.heading, part.table, row, (table, record_id), doubts)
            yield self._another(heading or part.heading, part.table, (table, record_id), part.another)

    def _part(
        self, heading: str, table: str, row: Mapping[str, Any], owner: tuple[str, int], doubts: Mapping[str, str]
    ) -> Iterator[WrittenField]:
        for number, field in enumerate(FIELDS[table]):
            yield self.field(heading, field, table, row, owner, doubts, is_first=not number)

    @staticmethod
    def _another(heading: str, table: str, owner: tuple[str, int], label: str) -> WrittenField:
        return WrittenField(heading, FIELDS[table][0], table, None, owner, label=label)

    def views(self, sheet_id: int) -> Iterator[WrittenField]:
        """Yield the fields of the views that a sheet holds, and a line for one more."""
        rows = self._connection.execute("SELECT view_id FROM sheet_view WHERE sheet_id = ? ORDER BY id", (sheet_id,))
        for (view_id,) in rows.fetchall():
            heading = f"view V{view_id}"
            yield from self.parts("view", view_id, heading)
            yield from self.own("view", view_id, heading)
        yield self._another("views", "sheet_view", ("sheet", sheet_id), "holds also")

    def notes(self, table: str, record_id: int) -> Iterator[WrittenField]:
        """Yield the notes about a record, and a line for one more."""
        for row in self._rows("SELECT * FROM note WHERE about = ? AND about_id = ? ORDER BY id", table, record_id):
            yield from self._part("notes", "note", row, (table, record_id), {})
        yield self._another("notes", "note", (table, record_id), "another note")

    # -- one field ---------------------------------------------------------------------------------------------

    def field(
        self, heading: str, field: Field, table: str, row: Mapping[str, Any], owner: tuple[str, int],
        doubts: Mapping[str, str], *, is_first: bool = True,
    ) -> WrittenField:  # fmt: skip
        """Return a field of a row."""
        is_own = table == owner[0] or owner[0] == "kit"
        cited = _CITED.get((table, field.name)) or (field.name.removesuffix("_id").removeprefix("is_"))
        doubt = doubts.get(cited) if is_own or (table, field.name) in _CITED else None
        text, held, points_to = self._value(field, row, doubt)
        return WrittenField(
            heading, field, table, row["id"], owner, text, held, points_to, is_first, field.label
        )  # fmt: skip

    def _value(
        self, field: Field, row: Mapping[str, Any], doubt: str | None
    ) -> tuple[str, tuple[Any, ...], str | None]:
        """Return a field's text as written, what the catalogue holds for it, and the record it names."""
        if field.sort in (EVENT, STATE):
            name = field.name.rstrip("_")
            edtf, words = row[f"{name}_edtf"], row[f"{name}_words"]
            return words or edtf or "", (edtf, words), None
        if field.sort == SUBJECT:
            return self._subject(row)
        if field.sort == WHO:
            person = row[f"{field.name}_id"]
            return row[field.name] or self._named("person", person), (row[field.name], person), _referred(
                "person", person
            )  # fmt: skip
        value = row[field.name]
        certainty = row.get(f"{field.name.removesuffix('_id')}_certainty", "certain")
        held: tuple[Any, ...] = (value, doubt, certainty)
        if field.sort == RECORD:
            words = hedged(self._named(field.of, value), certainty) if value is not None else ""
            return doubt or words, held, _referred(field.of, value)
        if field.sort == SIDE:
            return doubt or value or "", held, None
        if field.sort == YES_NO:
            return "" if value is None else "yes" if value else "no", held, None
        if field.sort == MEASURE:
            return doubt or measure_text(value, field.of), held, None
        return "" if value is None else str(value), held, None

    def _subject(self, row: Mapping[str, Any]) -> tuple[str, tuple[Any, ...], str | None]:
        building, place, certainty = row["building_id"], row["place_id"], row["certainty"]
        table, record_id = ("building", building) if building is not None else ("place", place)
        words = hedged(self._named(table, record_id), certainty)
        return words, (building, place, certainty), _referred(table, record_id)

    def _named(self, table: str, record_id: int | None) -> str:
        """Return what a person would type for a record: its name where that is enough, else its reference."""
        if record_id is None:
            return ""
        if (table, record_id) not in self._known:
            self._known[table, record_id] = self._to_type(table, record_id)
        return self._known[table, record_id]

    def _to_type(self, table: str, record_id: int) -> str:
        reference = format_reference("kit" if table in _KIT else table, record_id)
        if table in _BY_REFERENCE:
            return reference
        name = self._name(table, record_id)
        try:
            is_enough = bool(name) and resolve(self._connection, name, table) == record_id
        except CatalogError:
            is_enough = False
        return name if is_enough else reference

    def _name(self, table: str, record_id: int) -> str:
        if table == "sheet":
            statement = "SELECT text FROM sheet_number WHERE sheet_id = ? ORDER BY id LIMIT 1"
        else:
            column = {"standpoint": "words", "source": "title"}.get(table, "name")
            statement = f"SELECT {column} FROM {'kit' if table in _KIT else table} WHERE id = ?"
        row = self._connection.execute(statement, (record_id,)).fetchone()
        return row[0] or "" if row else ""


def _order(part: Part) -> str:
    if part.table == "chronicle_entry":
        return "coalesce(date_earliest, date_latest, 1e15), id"
    return "is_principal DESC, id" if part.table == "view_subject" else "id"


def _referred(table: str, record_id: int | None) -> str | None:
    return None if record_id is None else format_reference("kit" if table in _KIT else table, record_id)


def measure_text(value: float | None, kind: str = "") -> str:
    """
    Return a number as a person would type it; ``kind`` is ``seconds`` for a shutter time.

    >>> measure_text(1 / 30, "seconds"), measure_text(22.0), measure_text(None)
    ('1/30', '22', '')
    """
    if value is None:
        return ""
    if kind == "seconds" and 0 < value < 1 and abs(1 / value - round(1 / value)) < 1e-6:
        return f"1/{round(1 / value)}"
    return f"{value:.12g}"
