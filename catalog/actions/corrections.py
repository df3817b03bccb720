"""Corrections: only what is given changes, and how a doubtful fact was put is never lost."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select

from catalog import clock
from catalog.actions.desk import named, recorded
from catalog.actions.facts import check_facts, in_words
from catalog.errors import UnchangedError
from catalog.model import RecordedDate, Wording
from catalog.rules.doubt import CERTAIN, DoubtfulWords, date_certainty
from catalog.store.wordings import IN_FORCE
from catalog.store.writing import Writing

Wordings = Mapping[str, DoubtfulWords]
"""Fields of a record (``lens``, ``exposed``) and the doubtful words they were given in."""


def wording_field(field: str) -> str:
    """Return a column's name as wordings cite it: ``lens`` for ``lens_id``, ``from`` for ``from_``."""
    return field.strip("_").removesuffix("_id")


@dataclass(frozen=True, slots=True)
class SaidBy:
    """Who or what a statement rests on; neither means the person at the desk."""

    source_id: int | None = None
    person_id: int | None = None


DESK_SAYS = SaidBy()


def add_wordings(writing: Writing, about: str, about_id: int, wordings: Wordings, said_by: SaidBy = DESK_SAYS) -> None:
    """Keep how doubtful facts of a record were put; plain statements leave no wording."""
    for field, words in wordings.items():
        if words.is_doubtful:
            keep_wording(writing, about, about_id, field, words, said_by)


def keep_wording(
    writing: Writing, about: str, about_id: int, field: str, words: DoubtfulWords, said_by: SaidBy = DESK_SAYS
) -> Wording:
    """Add one wording. The newest wording of a field is the one in force; none is ever taken away."""
    # A doubtful side is in no column, so that looking for it needs it here even when it is the only one.
    listed = words.is_doubtful and (len(words.readings) > 1 or field == "elevation")
    wording = Wording(
        about=about, about_id=about_id, field=field, as_written=words.as_written, certainty=words.certainty,
        alternatives=json.dumps(words.readings, ensure_ascii=False) if listed else None,
        source_id=said_by.source_id, said_by_id=said_by.person_id, noted_at=clock.timestamp(),
    )  # fmt: skip
    writing.session.add(wording)
    return wording


def correct_record(
    writing: Writing,
    record: Any,
    facts: Mapping[str, Any],
    *,
    wordings: Wordings | None = None,
    said_by: SaidBy = DESK_SAYS,
    about: tuple[str, int] | None = None,
    tables: Mapping[str, str] | None = None,
    prefix: str = "",
    cites: Mapping[str, str] | None = None,
    private: frozenset[str] = frozenset(),
) -> list[str]:
    """
    Set the facts given and return what was changed, a phrase each; the rest stays as it is.

    Giving plainly what a record holds in doubt settles the doubt.

    A doubtful value that is replaced keeps its wording: one is made from it if there is none yet. Where a
    field has wordings, the new value is worded too, so that the newest says where the matter stands.

    Args:
        about: the record the wordings belong to, if not ``record`` itself.
        tables: of which table a field that ends in ``_id`` is.
        prefix: what goes before a part's field in its wordings, unless ``cites`` says how the field is worded.
        private: fields whose values are not told.
    """
    facts = check_facts(type(record), facts)
    wordings = dict(wordings or {})
    table, record_id = about or (record.__tablename__, record.id)
    changed = []
    for field, value in facts.items():
        old, cited = getattr(record, field), wording_field(field)
        worded = (cites or {}).get(field, prefix + cited)
        if isinstance(old, RecordedDate):
            value = recorded(value)
        words = wordings.pop(worded if worded in wordings else cited, None)
        doubtful = words if words is not None and words.is_doubtful else None
        if _same(old, value) and doubtful is None and not is_in_doubt(writing, table, record_id, worded):
            continue
        name = (tables or {}).get(field)
        before = told_value(writing, old, name)
        _settle_wording(
            writing, table, record_id, worded, old, doubtful or _plainly(writing, value, name),
            replaces=not _same(old, value), said_by=said_by,
        )  # fmt: skip
        setattr(record, field, value)
        after = doubtful.as_written if doubtful else told_value(writing, value, name)
        if field in private:
            changed.append(in_words(field))
        elif after == before:
            changed.append(f"{in_words(field)} {after}, no longer in doubt")
        else:
            changed.append(f"{in_words(field)} {after} (was {before})")
    for cited, words in wordings.items():
        if words.is_doubtful:
            keep_wording(writing, table, record_id, prefix + cited, words, said_by)
            changed.append(f"{cited} {words.as_written}")
    return changed


def refuse_no_change(changed: list[str], what: str) -> None:
    """
    Refuse a correction that changes nothing.

    Raises:
        UnchangedError: nothing was given, or everything given is so already.
    """
    if not changed:
        raise UnchangedError(f"{what} says so already, or nothing to correct was given. Nothing was changed.")


def _settle_wording(
    writing: Writing, table: str, record_id: int, field: str, old: Any, new: DoubtfulWords, *, replaces: bool,
    said_by: SaidBy,
) -> None:  # fmt: skip
    session = writing.session
    kept = session.scalars(
        select(Wording).where(Wording.about == table, Wording.about_id == record_id, Wording.field == field)
    ).all()
    former = _doubtful_date(old) if replaces else None
    if former and former.as_written not in {wording.as_written for wording in kept}:
        keep_wording(writing, table, record_id, field, former)
    if kept or former or new.is_doubtful:
        keep_wording(writing, table, record_id, field, new, said_by)


def is_in_doubt(writing: Writing, table: str, record_id: int, field: str) -> bool:
    """Whether a doubt of this field was put in words and never settled: saying the value plainly settles it."""
    row = writing.raw.execute(
        f"SELECT 1 FROM wording w WHERE w.about = ? AND w.about_id = ? AND w.field = ? AND {IN_FORCE} LIMIT 1",
        (table, record_id, field),
    ).fetchone()
    return row is not None


def _doubtful_date(old: Any) -> DoubtfulWords | None:
    """Return a recorded date as a wording, or ``None`` for a plain date or another kind of value."""
    if not isinstance(old, RecordedDate) or (old.edtf is None and old.words is None):
        return None
    certainty = date_certainty(old.edtf, old.doubt)
    words = old.words or old.edtf or ""
    return None if certainty == CERTAIN else DoubtfulWords(words, certainty, (words,))


def _plainly(writing: Writing, value: Any, table: str | None) -> DoubtfulWords:
    if isinstance(value, RecordedDate):
        words = value.words or value.edtf or "undated"
        return DoubtfulWords(words, date_certainty(value.edtf, value.doubt) if value.edtf else CERTAIN, (words,))
    told = told_value(writing, value, table)
    return DoubtfulWords(told, CERTAIN, (told,))


def told_value(writing: Writing, value: Any, table: str | None) -> str:
    """Return a value as a sentence tells it; ``table`` is the one that an id is of."""
    if value is None:
        return "nothing"
    if isinstance(value, RecordedDate):
        return value.words or value.edtf or "undated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    return named(writing, table, value) if table else str(value)


def _same(old: Any, value: Any) -> bool:
    empty: tuple[Any, ...] = (None, RecordedDate())
    return old == value or (old in empty and value in empty)
