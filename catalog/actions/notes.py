"""Notes, and wordings of doubt: what is said of a record, in the words it was said in."""

from __future__ import annotations

from typing import TypedDict, Unpack

from catalog import clock
from catalog.actions.corrections import DESK_SAYS, SaidBy, keep_wording
from catalog.actions.desk import AT_DESK, Desk, at_desk, called, require_records
from catalog.errors import RefusedError
from catalog.model import Note, Person, Source
from catalog.rules.doubt import DoubtfulWords
from catalog.rules.vocabulary import CERTAINTIES
from catalog.store.archive import Archive

_KINDS = {"source_id": Source, "said_by_id": Person}


class NoteFacts(TypedDict, total=False):
    """What may be said of a note."""

    text: str
    heading: str | None
    said_by_id: int | None
    source_id: int | None


def kept_text(text: str) -> str:
    """
    Return a text as notes keep it: exactly as given, but for a vertical tab, which becomes a line break.

    Old database programs end a line within a field with one; XML has no such character (case C05).

    >>> kept_text("moved\\x0bto new site [sic]")
    'moved\\nto new site [sic]'

    Raises:
        RefusedError: nothing is said, or it holds a character that no text has.
    """
    text = text.replace("\x0b", "\n")
    if not text.strip():
        raise RefusedError("A note needs something said.")
    if "\0" in text:
        raise RefusedError("A note cannot hold the character NUL. Take it out; nothing was changed.")
    return text


def add_note(
    archive: Archive,
    *,
    about: str,
    about_id: int,
    text: str,
    heading: str | None = None,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """Add a note about a record (``about`` is its table), text kept exactly, and return the note's own id."""
    with at_desk(archive, "notes add", desk) as writing:
        what = called(writing, about, about_id)
        require_records(writing.session, {"source_id": said_by.source_id, "said_by_id": said_by.person_id}, _KINDS)
        note = Note(
            about=about, about_id=about_id, text=kept_text(text), heading=heading or None,
            said_by_id=said_by.person_id, source_id=said_by.source_id, noted_at=clock.timestamp(),
        )  # fmt: skip
        writing.session.add(note)
        writing.session.flush()
        writing.say(f"added note {note.id} about {what}: {_beginning(note.text)}")
        return note.id


def correct_note(archive: Archive, note_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[NoteFacts]) -> None:
    """Correct what is given of a note, by its own number."""
    with at_desk(archive, "notes correct", desk) as writing:
        note = get_record_by_number(writing.session.get(Note, note_id), note_id)
        require_records(writing.session, facts, _KINDS)
        given = {**facts, **({"text": kept_text(facts["text"])} if "text" in facts else {})}
        changed = [field for field, value in given.items() if getattr(note, field) != value]
        if not changed:
            raise RefusedError(f"Note {note_id} says so already, or nothing to correct was given.")
        for field in changed:
            setattr(note, field, given[field])
        writing.say(f"corrected note {note_id} about {called(writing, note.about, note.about_id)}")


def get_record_by_number(note: Note | None, note_id: int) -> Note:
    """Return the note, or refuse by its number."""
    if note is None:
        raise RefusedError(f"There is no note {note_id}. See: tiebeam notes list")
    return note


def add_wording(
    archive: Archive,
    *,
    about: str,
    about_id: int,
    field: str,
    words: DoubtfulWords,
    said_by: SaidBy = DESK_SAYS,
    desk: Desk = AT_DESK,
) -> int:
    """
    Add how a fact of a record was put, how certain it is and who says so; return the wording's own id.

    A ``certain`` one settles the doubts about that field that came before it; none is taken away.

    Raises:
        RefusedError: no field, no words, or a certainty that is none.
    """
    if words.certainty not in CERTAINTIES:
        raise RefusedError(f"A wording is {', '.join(CERTAINTIES)}; {words.certainty!r} is none of them.")
    if not field.strip() or not words.as_written.strip():
        raise RefusedError("A wording needs the field it is about and the words themselves.")
    with at_desk(archive, "notes doubt", desk) as writing:
        what = called(writing, about, about_id)
        require_records(writing.session, {"source_id": said_by.source_id, "said_by_id": said_by.person_id}, _KINDS)
        wording = keep_wording(writing, about, about_id, field.strip(), words, said_by)
        writing.session.flush()
        writing.say(f"{what}: {wording.field} put as {wording.as_written!r}, {wording.certainty}")
        return wording.id


def _beginning(text: str, length: int = 60) -> str:
    line = " / ".join(text.splitlines())
    return line if len(line) <= length else line[: length - 1] + "…"
