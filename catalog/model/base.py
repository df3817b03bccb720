"""What every mapped class shares: strict tables, named constraints, yes-or-no columns, dates."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from sqlalchemy import REAL, CheckConstraint, Integer, LargeBinary, MetaData, Text, types
from sqlalchemy.orm import Composite, DeclarativeBase, composite, mapped_column

from catalog.dates import EdtfDate, format_words, parse_edtf

__all__ = ["Base", "RecordedDate", "YesNo", "dated", "one_of", "strict"]


class YesNo(types.TypeDecorator[bool]):
    """A yes or no kept as 1 or 0: STRICT tables know no BOOLEAN."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: bool | None, dialect: Any) -> int | None:
        """Return the value as SQLite keeps it."""
        return None if value is None else int(value)

    def process_result_value(self, value: int | None, dialect: Any) -> bool | None:
        """Return the value as Python knows it."""
        return None if value is None else bool(value)


class Base(DeclarativeBase):
    """The root of the mapped classes."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    # Design section 10: column types are INTEGER, TEXT, BLOB, REAL; STRICT refuses VARCHAR and FLOAT.
    type_annotation_map = {str: Text, int: Integer, float: REAL, bytes: LargeBinary, bool: YesNo}  # noqa: RUF012


def strict(*constraints: Any, gives_ids: bool = True) -> tuple[Any, ...]:
    """
    Return table arguments for a STRICT table.

    One that ``gives_ids`` never gives an id twice, not even after its row was removed: people cite records by
    it, and the daybook names rows by it, for as long as the archive lasts.
    """
    return (*constraints, {"sqlite_strict": True, "sqlite_autoincrement": gives_ids})


def one_of(column: str, *values: str, nullable: bool = False) -> CheckConstraint:
    """Return a check that ``column`` holds one of the words given."""
    null = f"{column} IS NULL OR " if nullable else ""
    return CheckConstraint(null + _any_of(column, *values), name=f"{column}_known")


def _any_of(column: str, *values: str) -> str:
    """Return the SQL of ``column IN (values)``, spelled out: SQLite makes a table of a list for every row added."""
    return " OR ".join(f"{column} = '{value}'" for value in values)


@dataclass(frozen=True)
class RecordedDate:
    """
    A date as the catalogue keeps it: EDTF, the words as written, and its days for searching.

    ``edtf`` is ``None`` for an undated record; ``words`` may then still say "n.d.".
    ``earliest`` and ``latest`` are days as ``date.toordinal`` counts them; ``None`` is no bound.
    ``doubt`` is ``~``, ``?``, ``%``, ``s`` (a season) or empty.
    """

    edtf: str | None = None
    words: str | None = None
    earliest: int | None = None
    latest: int | None = None
    doubt: str = ""

    @classmethod
    def of(cls, date: EdtfDate | None, words: str | None = None) -> RecordedDate:
        """Return ``date`` with the words it was given in."""
        if date is None:
            return cls(words=words or None)
        return cls(date.text, words or None, date.earliest, date.latest, date.doubt)

    @property
    def date(self) -> EdtfDate | None:
        """The date as a value, or ``None`` when undated."""
        return None if self.edtf is None else parse_edtf(self.edtf)

    def in_words(self) -> str:
        """Return the date as a caption says it."""
        return format_words(self.date)


def dated(name: str) -> Composite[RecordedDate]:
    """Return the five columns of one date: ``NAME_edtf``, ``_words``, ``_earliest``, ``_latest``, ``_doubt``."""
    return composite(
        RecordedDate,
        mapped_column(f"{name}_edtf", Text),
        mapped_column(f"{name}_words", Text),
        mapped_column(f"{name}_earliest", Integer),
        mapped_column(f"{name}_latest", Integer),
        mapped_column(f"{name}_doubt", Text, nullable=False, server_default="", default=""),
    )


def date_check(name: str) -> CheckConstraint:
    """Return the check that a date's days do not invert and its mark of doubt is a known one."""
    return CheckConstraint(
        f"({name}_earliest IS NULL OR {name}_latest IS NULL OR {name}_earliest <= {name}_latest)"
        f" AND ({_any_of(f'{name}_doubt', '', '~', '?', '%', 's')})",
        name=f"{name}_sane",
    )


_WORD = re.compile(r"(?<=[a-z])(?=[A-Z])")


def table_name(class_name: str) -> str:
    """
    Return the table that a class is mapped to.

    >>> table_name("ChronicleEntry")
    'chronicle_entry'
    """
    return _WORD.sub("_", class_name).lower()
