"""What a person types at the desk, as facts: names resolved, dates read, doubt kept apart from the plain value."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Self

from catalog.errors import AmbiguousNameError, NotFoundError, NumberWordsError, RefusedError
from catalog.rules.doubt import DoubtfulWords, parse_doubt
from catalog.rules.fields import EVENT, FIELDS, MEASURE, RECORD, SIDE, STATE, WHO, YES_NO, Field

if TYPE_CHECKING:
    import sqlite3

    from catalog.model import RecordedDate
    from catalog.store.archive import Archive


class Typed:
    """The facts a command was given, by field, and the doubtful words among them."""

    def __init__(self, archive: Archive) -> None:
        self.archive = archive
        self.facts: dict[str, Any] = {}
        self.wordings: dict[str, DoubtfulWords] = {}

    def plain(self, **options: Any) -> Self:
        """Take options as they are; those not given say nothing, an empty text says "none"."""
        for field, value in options.items():
            if value is not None:
                self.facts[field] = None if value == "" else value
        return self

    def dates(self, *, event: bool = True, meant: str | None = None, **options: str | None) -> Self:
        """Take dates in words or EDTF; ``meant`` is the date that was chosen where the words may mean several."""
        for field, text in options.items():
            if text is not None:
                self.facts[field] = typed_date(self.archive, text, event=event, meant=meant)
        return self

    def record(self, field: str, text: str | None, table: str, cited: str | None = None) -> Self:
        """
        Take a record by reference or name; ``"Osk?"`` is kept as Osk with its doubt, ``"90 or 120"`` as doubt alone.

        ``cited`` is the field as wordings name it, otherwise ``field`` without its ``_id``.
        """
        if text is None:
            return self
        if not text.strip():
            self.facts[field] = None
            return self
        with self.archive.reading() as connection:
            self.facts[field], words = resolve_doubtful(connection, text, table)
        if words is not None:
            self.wordings[cited or field.removesuffix("_id")] = words
        return self

    def measure(self, field: str, text: str | None, read: Callable[[str], float] | None = None) -> Self:
        """Take a number, with its doubt: ``"8?"`` is 8 and doubtful, ``"8 or 11"`` is no number, only doubt."""
        if text is None:
            return self
        if not text.strip():
            self.facts[field] = None
            return self
        words = parse_doubt(text)
        values = [_number(field, reading, read or _plain_number) for reading in words.readings]
        self.facts[field] = values[0] if len(values) == 1 else None
        if words.is_doubtful:
            self.wordings[field] = words
        return self

    def fields(self, table: str, **options: str | None) -> Self:
        """Take the fields of a table (``catalog.rules.fields``) as options; those not given say nothing."""
        for field in FIELDS[table]:
            text = options[field.name]
            if text is not None:
                self.field(field, text)
        return self

    def field(self, field: Field, text: str, meant: str | None = None) -> Self:
        """
        Take what was typed for a field; an empty text says "none".

        ``meant`` is the date that was chosen where the words may mean several.
        """
        if field.sort in (EVENT, STATE):
            return self.dates(event=field.sort == EVENT, meant=meant, **{field.name: text})
        if field.sort == RECORD:
            return self.record(field.name, text, field.of)
        if field.sort == MEASURE:
            return self.measure(field.name, text, _READ.get(field.of))
        if field.sort == WHO:
            self.facts |= {field.name: None, f"{field.name}_id": None, **self._who(field, text.strip())}
        elif field.sort == SIDE:
            self.facts[field.name], words = typed_elevation(text)
            if words is not None:
                self.wordings[field.name] = words
        elif field.choices:
            self._chosen(field, text.strip())
        else:
            self.plain(**{field.name: text if text.strip() else ""})
        return self

    def _chosen(self, field: Field, text: str) -> None:
        """Take one of a few words, in whatever case."""
        word = next((word for word in field.choices if word.casefold() == text.casefold()), text)
        if field.sort != YES_NO:
            self.plain(**{field.name: word})
        elif word in field.choices:
            self.facts[field.name] = word == "yes"
        else:
            raise RefusedError(f"{field.label} {text!r} is none of: {', '.join(field.choices)}.")

    def _who(self, field: Field, text: str) -> dict[str, Any]:
        """Return a person where the words are just a person's name, otherwise the words."""
        if not text:
            return {}
        try:
            with self.archive.reading() as connection:
                return {f"{field.name}_id": resolve_plain(connection, text, field.of)}
        except NotFoundError:
            return {field.name: text}


def _plain_number(text: str) -> float:
    return float(text.replace(",", "."))


def read_seconds(text: str) -> float:
    """
    Return a shutter time in seconds.

    >>> read_seconds("1/4"), read_seconds("2 s")
    (0.25, 2.0)
    """
    match = re.fullmatch(r"(?:(\d+)\s*/\s*)?(\d+(?:[.,]\d+)?)\s*(?:s|sec|seconds?)?", text.strip())
    if match is None or not float(match[2].replace(",", ".")):
        raise ValueError(text)
    value = _plain_number(match[2])
    return int(match[1]) / value if match[1] else value


def read_aperture(text: str) -> float:
    """Return an f-number: ``f/22``, ``f22`` and ``22`` are one."""
    return _plain_number(re.sub(r"^\s*f\s*/?\s*", "", text, flags=re.IGNORECASE))


_READ: dict[str, Callable[[str], float]] = {"seconds": read_seconds, "aperture": read_aperture}
"""How a number is read that is not typed plainly."""


def _number(field: str, text: str, read: Callable[[str], float]) -> float:
    try:
        return read(text)
    except (ValueError, ZeroDivisionError) as exc:
        raise NumberWordsError(text, field.split("_")[0]) from exc


def typed_date(archive: Archive, text: str, *, event: bool = True, meant: str | None = None) -> RecordedDate:
    """
    Return a typed date with its words; an empty text is no date at all.

    ``event`` says whether it dates one happening ("before 1975" is then one day before it) or a state. The century
    of a two-digit year comes from the archive's settings. ``meant`` is the EDTF date that was chosen where the words
    may mean several; the words are kept as they were typed.

    Raises:
        DateWordsError: the words say no date that can be kept, or may mean several.
    """
    from catalog.dates import parse_edtf, parse_words
    from catalog.model import RecordedDate

    if not text.strip():
        return RecordedDate()
    if meant is not None:
        return RecordedDate.of(parse_edtf(meant), text.strip())
    return RecordedDate.of(parse_words(text, century=archive.settings.dates_century, event=event), text.strip())


def resolve_doubtful(connection: sqlite3.Connection, text: str, table: str) -> tuple[int | None, DoubtfulWords | None]:
    """
    Return the record that ``text`` means and, where it is doubtful, how it was put.

    Several possibilities ("Osk or Halding") give no record, only the words.

    Raises:
        NotFoundError, AmbiguousNameError: as ``catalog.store.names.resolve``.
    """
    words = parse_doubt(text)
    try:
        return resolve_plain(connection, text, table), None
    except NotFoundError:
        if not words.is_doubtful or not words.readings:
            raise
    found = [resolve_plain(connection, reading, table) for reading in words.readings]
    return (found[0] if len(found) == 1 else None), words


def resolve_plain(connection: sqlite3.Connection, text: str, table: str) -> int:
    """Return the record that ``text`` means; a lens also by its focal length (``90``, ``90 mm``)."""
    from catalog.store.names import candidates, resolve

    try:
        return resolve(connection, text, table)
    except NotFoundError:
        length = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(?:mm)?\s*", text) if table == "lens" else None
        if length is None:
            raise
    rows = connection.execute("SELECT id FROM lens WHERE focal_length_mm = ?", (_plain_number(length[1]),)).fetchall()
    if not rows:
        raise NotFoundError(f"No lens answers to {text!r}. Add it with: tiebeam lenses add {length[1]}")
    if len(rows) > 1:
        raise AmbiguousNameError(text, candidates(connection, "lens", [row[0] for row in rows]), "lenses")
    return int(rows[0][0])


def typed_subject(archive: Archive, text: str) -> list[tuple[str, int, str, DoubtfulWords | None]]:
    """
    Return what a view is said to show: (``building`` or ``place``, id, certainty, words where doubtful).

    ``"Osk Mill or Brome Hall"`` gives both, each only possible.
    """
    words = parse_doubt(text)
    with archive.reading() as connection:
        try:
            return [(*_building_or_place(connection, text), "certain", None)]
        except NotFoundError:
            if not words.is_doubtful or not words.readings:
                raise
        return [(*_building_or_place(connection, reading), words.certainty, words) for reading in words.readings]


def _building_or_place(connection: sqlite3.Connection, text: str) -> tuple[str, int]:
    from catalog.rules.references import parse_reference
    from catalog.store.names import candidates, find_by_name, near_names, resolve

    referred = parse_reference(text)
    if referred is not None and referred[0] in ("building", "place"):
        return referred[0], resolve(connection, text, referred[0])
    found = [(table, i) for table in ("building", "place") for i in find_by_name(connection, text, table)]
    if len(found) == 1:
        return found[0]
    if found:
        listed = [line for table, i in found for line in candidates(connection, table, [i])]
        raise AmbiguousNameError(text, listed, "buildings and places")
    near = [name for table in ("building", "place") for name in near_names(connection, text, table)]
    hint = f" Did you mean {' or '.join(near[:3])}?" if near else ""
    raise NotFoundError(f"No building or place answers to {text!r}.{hint}")


def typed_elevation(text: str | None) -> tuple[str | None, DoubtfulWords | None]:
    """
    Return the point of the compass a side is said to face, or ``None`` and how it was put where that is in doubt.

    Raises:
        RefusedError: the words say no point of the compass.
    """
    from catalog.rules.compass import COMPASS, parse_elevation

    if text is None or not text.strip():
        return None, None
    words = parse_doubt(text)
    sides = []
    for reading in words.readings:
        side = parse_elevation(reading)
        if side is None:
            raise RefusedError(f"{reading!r} is no side by the compass. Say one of: {', '.join(COMPASS)}.")
        sides.append(side)
    if not words.is_doubtful:
        return sides[0], None
    kept = DoubtfulWords(words.as_written, words.certainty, tuple(sides))
    return None, kept
