"""How a deed is done at the desk: for good or as a rehearsal, told to whom, about which records."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from catalog.dates import EdtfDate
from catalog.errors import NotFoundError, RefusedError
from catalog.model import Base, RecordedDate
from catalog.rules.references import WORDS, format_reference
from catalog.store.archive import Archive
from catalog.store.deed_records import TouchedRecord, changes_of_deed, touched_records
from catalog.store.names import describe
from catalog.store.writing import OnWait, Writing, deed

R = TypeVar("R", bound=Base)

Date = EdtfDate | RecordedDate | None
"""A date as an action takes it: plain, or with the words it was given in; ``None`` is not known."""


@dataclass(frozen=True, slots=True)
class Done:
    """What a deed did, or would have done: in the daybook's words, and the records it touched."""

    words: str
    records: tuple[TouchedRecord, ...]


@dataclass(frozen=True, slots=True)
class Desk:
    """
    How a deed is to be done, and who hears of it.

    On a ``dry_run`` everything is done, every rule is asked, and nothing is kept. Once the deed is done ``say`` is
    given the daybook's words, and ``tell`` the records as well. ``first`` is called before anything is written, when
    nobody else can write any more: it may refuse.
    """

    dry_run: bool = False
    say: Callable[[str], None] | None = None
    on_wait: OnWait | None = None
    first: Callable[[Writing], None] | None = None
    tell: Callable[[Done], None] | None = None

    def hear(self, done: Done) -> None:
        """Let those hear who want to."""
        if self.say:
            self.say(done.words)
        if self.tell:
            self.tell(done)


AT_DESK = Desk()


class NotKept(Exception):  # noqa: N818 - no fault: the way out of a dry run
    """A rehearsal is over: nothing of the deed is kept."""


@contextmanager
def rehearsed_or_kept() -> Iterator[None]:
    """
    Let a rehearsed deed end with nothing kept (``NotKept``).

    Raises:
        RefusedError: what was typed holds bytes that are no text.
    """
    try:
        yield
    except NotKept:
        pass
    except UnicodeEncodeError as exc:
        raise RefusedError(f"{exc.object!r} holds bytes that are not text. Type it anew; nothing was changed.") from exc


@contextmanager
def at_desk(archive: Archive, kind: str, desk: Desk) -> Iterator[Writing]:
    """
    Do one deed by hand; ``Writing.say`` gives its words.

    Raises:
        RefusedError: a rule forbids it, or it holds bytes that are no text. Nothing is changed.
    """
    done = Done("", ())
    with rehearsed_or_kept(), deed(archive, kind, kind, on_wait=desk.on_wait) as writing:
        if desk.first:
            desk.first(writing)
        yield writing
        if desk.tell or desk.dry_run:
            writing.session.flush()
        changes = changes_of_deed(writing.raw, writing.deed.id) if desk.tell else ()
        done = Done(writing.deed.words, touched_records(writing.raw, changes))
        if desk.dry_run:
            raise NotKept
    desk.hear(done)


_KIT = ("lens", "camera", "film_stock")


def reference_of(table: str, record_id: int) -> str:
    """Return the reference of a record; lenses, cameras and films share theirs."""
    return format_reference("kit" if table in _KIT else table, record_id)


def get_record(session: Session, kind: type[R], record_id: int) -> R:
    """
    Return a record by its id.

    Raises:
        NotFoundError: there is none.
    """
    record = session.get(kind, record_id)
    if record is None:
        table = kind.__tablename__
        word = WORDS.get(table, table.replace("_", " "))
        raise NotFoundError(f"There is no {word} {reference_of(table, record_id)}. Nothing was changed.")
    return record


def called(writing: Writing, table: str, record_id: int) -> str:
    """Return a record as a sentence names it: ``Osk, village (L4)``."""
    words = describe(writing.raw, table, record_id)
    reference = reference_of(table, record_id)
    if words is None:
        raise NotFoundError(f"There is no {WORDS.get(table, table)} {reference}. Nothing was changed.")
    return f"{words} ({reference})"


def named(writing: Writing, table: str, record_id: int) -> str:
    """
    Return a record's own name, as a wording puts it.

    Raises:
        NotFoundError: it is not there.
    """
    called(writing, table, record_id)
    column = {"standpoint": "words", "source": "title"}.get(table, "name")
    if table in ("sheet", "visit", "view", "edit_version"):
        return called(writing, table, record_id)
    row = writing.raw.execute(
        f"SELECT {column} FROM {'kit' if table in _KIT else table} WHERE id = ?", (record_id,)
    ).fetchone()
    return row[0] or reference_of(table, record_id)


def join_phrases(*phrases: str | None) -> str:
    """Return the phrases that say something, with commas between."""
    return ", ".join(phrase for phrase in phrases if phrase)


def date_phrase(word: str, date: RecordedDate | None) -> str | None:
    """Return a date as a phrase of the daybook (``from c. 1790``), or ``None`` when there is none."""
    if date is None or (date.edtf is None and not date.words):
        return None
    return f"{word} {date.words or date.edtf}".strip()


def recorded(date: Date) -> RecordedDate:
    """Return a date as records keep it."""
    return date if isinstance(date, RecordedDate) else RecordedDate.of(date)


def require_records(session: Session, facts: Mapping[str, Any], kinds: Mapping[str, type[Base]]) -> None:
    """
    Look up every record that ``facts`` point to; ``kinds`` says what each field points to.

    Raises:
        NotFoundError: one of them is not there.
    """
    for field, kind in kinds.items():
        if facts.get(field) is not None:
            get_record(session, kind, facts[field])
