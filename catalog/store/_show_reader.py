"""What reading one record needs: the values it is told in, and what is said of any record alike."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.rules.references import TABLES
from catalog.store.find import FoundScan
from catalog.store.names import describe
from catalog.store.wordings import IN_FORCE


@dataclass(frozen=True, slots=True)
class DateValue:
    """A date as its columns hold it."""

    edtf: str | None
    words: str | None
    earliest: int | None
    latest: int | None
    doubt: str

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all was said of when."""
        return self.edtf is None and not self.words


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing known of a record; ``doubt`` is how it was put where it is not sure, ``None`` where that is all."""

    field: str
    value: str | int | float | DateValue | None
    doubt: str | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """
    Something that belongs to a record. ``reference`` is its own, where it has one; ``marks`` are remarks on it.

    ``date`` is when it was; of what held for a while (``is_span``) it is the beginning, ``until`` the end.
    ``number`` cites an entry within its record. ``scan`` says where the file of a scan lies.
    """

    words: str
    reference: str | None = None
    date: DateValue | None = None
    until: DateValue | None = None
    marks: tuple[str, ...] = ()
    is_span: bool = False
    number: int | None = None
    scan: FoundScan | None = None


Section = tuple[str, Sequence[Line]]


@dataclass(frozen=True, slots=True)
class Reader:
    """What reading one record needs: the connection, which record, and the archive's margin for "about"."""

    connection: sqlite3.Connection
    table: str
    id: int
    about_days: int
    is_private: bool = False
    """Whether names of persons, and prices, were asked for."""

    def rows(self, statement: str, **parameters: object) -> list[tuple]:  # type: ignore[type-arg]
        """Return the rows of a statement about this record; ``:id`` is its id."""
        return self.connection.execute(statement, {"id": self.id, **parameters}).fetchall()

    def columns(self, table: str | None = None, id_column: str = "id") -> dict[str, object]:
        """Return the columns of this record by name."""
        cursor = self.connection.execute(f"SELECT * FROM {table or self.table} WHERE {id_column} = ?", (self.id,))
        row = cursor.fetchone() or ()
        return dict(zip([column[0] for column in cursor.description], row, strict=False))

    def facts(self, columns: dict[str, object], *fields: tuple[str, str]) -> list[Fact]:
        """Return the facts that ``fields`` (column, label) hold, each with its doubt as written."""
        doubts = self.doubts()
        found = []
        for column, label in fields:
            value = columns.get(column)
            doubt = doubts.get(column.removesuffix("_id").removeprefix("is_"))
            if column.startswith(("is_", "white_is_")) and value is not None:
                value = "yes" if value else "no"
            if value is not None or doubt is not None:
                assert value is None or isinstance(value, str | int | float)
                found.append(Fact(label, value, doubt))
        return found

    def doubts(self) -> dict[str, str]:
        """Return how each doubtful field of this record was put."""
        rows = self.rows(
            "SELECT w.field, w.as_written FROM wording w WHERE w.about = :about AND w.about_id = :id"
            f" AND {IN_FORCE} ORDER BY w.id",
            about=self.table,
        )
        return dict(rows)

    def date(self, columns: dict[str, object], name: str) -> DateValue:
        """Return one date of a record's columns."""
        return DateValue(*(columns[f"{name}_{part}"] for part in ("edtf", "words", "earliest", "latest", "doubt")))  # type: ignore[arg-type]

    def files(self, scans: str, **parameters: object) -> dict[int, FoundScan]:
        """Return where the files of scans lie; ``scans`` is a statement that gives their ids."""
        rows = self.rows(
            "SELECT c.id, f.path, f.raw_path, f.drive_id, d.last_path FROM scan c JOIN file f ON f.id = c.file_id"
            f" LEFT JOIN drive d ON d.id = f.drive_id WHERE c.id IN ({scans})",
            **parameters,
        )
        return {row[0]: FoundScan(*row) for row in rows}

    def file_of(self, table: str) -> FoundScan | None:
        """Return where the file of this scan or edit version lies; ``None`` for what has none."""
        if table not in ("scan", "edit_version"):
            return None
        rows = self.rows(
            f"SELECT x.id, f.path, f.raw_path, f.drive_id, d.last_path FROM {table} x JOIN file f ON f.id = x.file_id"
            " LEFT JOIN drive d ON d.id = f.drive_id WHERE x.id = :id"
        )
        return FoundScan(*rows[0]) if rows else None

    def said(self) -> list[Section]:
        """Return the wordings, notes and questions about this record, with where each comes from."""
        wordings = [
            Line(f'{field.replace("_", " ")}: "{as_written}", {certainty}', marks=_origin(row, file, person, source))
            for field, as_written, certainty, row, file, person, source in self.rows(
                "SELECT w.field, w.as_written, w.certainty, r.row, f.name, p.name, s.title FROM wording w"
                " LEFT JOIN card_row r ON r.id = w.card_row_id LEFT JOIN card_file f ON f.id = r.card_file_id"
                " LEFT JOIN person p ON p.id = w.said_by_id LEFT JOIN source s ON s.id = w.source_id"
                " WHERE w.about = :about AND w.about_id = :id ORDER BY w.id",
                about=self.table,
            )
        ]
        notes = [
            Line(f"{heading}: {text}" if heading else text, marks=_origin(row, file, person, source))
            for heading, text, row, file, person, source in self.rows(
                "SELECT n.heading, n.text, r.row, f.name, p.name, s.title FROM note n"
                " LEFT JOIN card_row r ON r.id = n.card_row_id LEFT JOIN card_file f ON f.id = r.card_file_id"
                " LEFT JOIN person p ON p.id = n.said_by_id LEFT JOIN source s ON s.id = n.source_id"
                " WHERE n.about = :about AND n.about_id = :id ORDER BY n.id",
                about=self.table,
            )
        ]
        questions = [
            Line(
                text if answer is None else f"{text} Answer: {answer}",
                f"Q{number}",
                marks=("open",) if answer is None else (),
            )
            for number, text, answer in self.rows(
                "SELECT id, text, answer FROM open_question WHERE about = :about AND about_id = :id ORDER BY id",
                about=self.table,
            )
        ]
        return [("how it was put", wordings), ("notes", notes), ("questions", questions)]


def _origin(row: int | None, file: str | None, person: str | None, source: str | None) -> tuple[str, ...]:
    """Return who or what says so."""
    said = [f"{file}, row {row}"] if row is not None else []
    return tuple(said + [words for words in (person, source) if words])


def name_of(reader: Reader, table: str, record_id: object) -> str | None:
    """Return the name of a lens, a film, a person ... with its reference."""
    if not isinstance(record_id, int):
        return None
    letter_table = "kit" if table in ("lens", "camera", "film_stock") else table
    words = describe(reader.connection, letter_table, record_id)
    if letter_table == "kit" and words:
        words = words.rsplit(", ", 1)[0]
    return f"{words} ({TABLES[letter_table]}{record_id})"
