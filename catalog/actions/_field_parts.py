"""Writing what belongs to a record in rows of its own: numbers, names, sites, chronicle entries, notes ..."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from catalog.actions import buildings, notes, places
from catalog.actions.desk import Desk
from catalog.actions.sheets import Number, add_number, add_sheet_view, correct_number
from catalog.actions.typed import Typed, resolve_plain, typed_subject
from catalog.actions.views import Shown, add_subject, correct_subject
from catalog.errors import ChoiceNeededError, NotFoundError, RefusedError
from catalog.rules.doubt import DoubtfulWords
from catalog.rules.fields import FIELDS, Field
from catalog.store.archive import Archive
from catalog.store.fields import WrittenField


def refuse_doubt(typed: Typed, text: str) -> None:
    """Refuse words of doubt about a field that keeps none."""
    if typed.wordings:
        raise RefusedError(
            f"{text.strip()!r} is in doubt, and no doubt is kept of this field. Ask it with: tiebeam questions add"
        )


def _write_number(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    if asked.row_id is None:
        add_number(archive, asked.owner[1], Number(text), desk=desk)
    else:
        correct_number(archive, asked.owner[1], asked.row_id, **{asked.field.name: text}, desk=desk)


def _write_held_view(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    with archive.reading() as connection:
        view_id = resolve_plain(connection, text, "view")
    add_sheet_view(archive, asked.owner[1], view_id, desk=desk)


def _write_subject(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    view_id = asked.owner[1]
    if asked.field.name != "subject":
        typed = Typed(archive).field(asked.field, text)
        assert asked.row_id is not None
        correct_subject(
            archive, view_id, asked.row_id, **typed.facts, elevation_words=typed.wordings.get("elevation"), desk=desk
        )
        return
    if not text.strip():
        raise RefusedError("What a view shows cannot be nothing. Say how sure it is, or what it shows instead.")
    found = typed_subject(archive, text)
    if len(found) > 1:
        raise RefusedError(f"{text.strip()!r} is several; write each one, with its doubt, on a line of its own.")
    table, record_id, certainty, words = found[0]
    facts: dict[str, Any] = {f"{table}_id": record_id, "certainty": certainty}
    if asked.row_id is None:
        add_subject(archive, view_id, Shown(**facts, words=words), desk=desk)
    else:
        correct_subject(archive, view_id, asked.row_id, **facts, words=words, desk=desk)


def _plain_part(archive: Archive, asked: WrittenField, text: str, meant: str | None) -> dict[str, Any]:
    """Return the fact of a part that keeps no doubt."""
    typed = Typed(archive).field(asked.field, text, meant)
    refuse_doubt(typed, text)
    return typed.facts


def _kept(archive: Archive, asked: WrittenField, column: str) -> Any:
    """Return what a part's row holds in a column."""
    with archive.reading() as connection:
        row = connection.execute(f"SELECT {column} FROM {asked.table} WHERE id = ?", (asked.row_id,)).fetchone()
    if row is None:
        raise NotFoundError("What this line was about is no longer there: another tiebeam took it out.")
    return row[0]


def _write_building_name(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    facts = _plain_part(archive, asked, text, meant)
    if asked.row_id is None:
        buildings.add_building_name(archive, asked.owner[1], **facts, desk=desk)
    else:
        named = _kept(archive, asked, "name")
        buildings.correct_building_name(archive, asked.owner[1], named, **facts, desk=desk)


def _write_place_name(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    facts = _plain_part(archive, asked, text, meant)
    if asked.row_id is None:
        places.add_place_name(archive, asked.owner[1], **facts, desk=desk)
    else:
        places.correct_place_name(archive, asked.owner[1], _kept(archive, asked, "name"), **facts, desk=desk)


def _one_place(typed: Typed, field: Field, text: str) -> None:
    if field.of == "place" and typed.facts.get(field.name) is None:
        raise RefusedError(f"This is one place; {text.strip()!r} names none, or several.")


def _reworded(typed: Typed, field: str) -> dict[str, DoubtfulWords]:
    """Return the doubtful words, if any, under the name by which the record's wordings cite them."""
    return {field: next(iter(typed.wordings.values()))} if typed.wordings else {}


def _write_site(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    typed = Typed(archive).field(asked.field, text, meant)
    _one_place(typed, asked.field, text)
    if asked.row_id is None:
        words = _reworded(typed, "site")
        buildings.add_building_site(archive, asked.owner[1], **typed.facts, wordings=words, desk=desk)
    else:
        buildings.correct_building_site(
            archive, asked.owner[1], asked.row_id, **typed.facts, wordings=typed.wordings, desk=desk
        )  # fmt: skip


def _write_parent(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    typed = Typed(archive).field(asked.field, text, meant)
    _one_place(typed, asked.field, text)
    words = _reworded(typed, "within")
    if asked.row_id is None:
        places.add_place_parent(archive, asked.owner[1], **typed.facts, wordings=words, desk=desk)
    else:
        within = _kept(archive, asked, "parent_id")
        places.correct_place_parent(archive, asked.owner[1], within, **typed.facts, wordings=words, desk=desk)


def _write_elevation(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    facts = _plain_part(archive, asked, text, meant)
    if asked.row_id is None:
        if facts["compass"] is None:
            raise RefusedError("A side needs the point of the compass it faces.")
        buildings.add_elevation(archive, asked.owner[1], **facts, desk=desk)
    else:
        buildings.correct_elevation(archive, asked.owner[1], asked.row_id, **facts, desk=desk)


def _write_entry(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    if asked.row_id is None:
        kinds = next(field.choices for field in FIELDS["chronicle_entry"] if field.name == "kind")
        if not text.strip():
            raise RefusedError("An entry of a chronicle needs something said.")
        if meant is None:
            raise ChoiceNeededError("What sort of thing happened?", kinds)
        buildings.add_chronicle_entry(archive, asked.owner[1], kind=meant, text=text, desk=desk)
    else:
        facts = _plain_part(archive, asked, text, meant)
        buildings.correct_chronicle_entry(archive, asked.owner[1], asked.row_id, **facts, desk=desk)


def _write_note(archive: Archive, asked: WrittenField, text: str, meant: str | None, desk: Desk) -> None:
    if asked.row_id is None:
        notes.add_note(archive, about=asked.owner[0], about_id=asked.owner[1], text=text, desk=desk)
    elif asked.field.name == "text":
        notes.correct_note(archive, asked.row_id, text=text, desk=desk)
    else:
        notes.correct_note(archive, asked.row_id, **_plain_part(archive, asked, text, meant), desk=desk)


WRITE_PART: dict[str, Callable[[Archive, WrittenField, str, str | None, Desk], None]] = {
    "sheet_number": _write_number,
    "sheet_view": _write_held_view,
    "view_subject": _write_subject,
    "building_name": _write_building_name,
    "building_site": _write_site,
    "elevation": _write_elevation,
    "chronicle_entry": _write_entry,
    "place_name": _write_place_name,
    "place_parent": _write_parent,
    "note": _write_note,
}
"""What writes a field of a part, or makes a new one where there is none yet."""
