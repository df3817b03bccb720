"""Sources: adding and correcting what statements of fact rest on."""

from __future__ import annotations

from typing import TypedDict, Unpack

from catalog.actions.corrections import correct_record, refuse_no_change
from catalog.actions.desk import (
    AT_DESK,
    Date,
    Desk,
    at_desk,
    called,
    date_phrase,
    get_record,
    join_phrases,
    recorded,
)
from catalog.actions.facts import check_facts
from catalog.model import Source
from catalog.rules.references import format_reference
from catalog.store.archive import Archive


class SourceFacts(TypedDict, total=False):
    """What may be said of a source."""

    title: str
    kind: str | None
    author: str | None
    published: Date
    kept_at: str | None


def add_source(
    archive: Archive,
    *,
    title: str,
    kind: str | None = None,
    author: str | None = None,
    published: Date = None,
    kept_at: str | None = None,
    desk: Desk = AT_DESK,
) -> int:
    """Add a source and return its id."""
    facts = {"title": title, "kind": kind, "author": author, "kept_at": kept_at}
    with at_desk(archive, "sources add", desk) as writing:
        source = Source(published=recorded(published), **check_facts(Source, facts))
        writing.session.add(source)
        writing.session.flush()
        told = join_phrases(source.title, source.kind, source.author, date_phrase("", source.published))
        writing.say(f"added {told} ({format_reference('source', source.id)})")
        return source.id


def correct_source(archive: Archive, source_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[SourceFacts]) -> None:
    """Correct what is given of a source."""
    with at_desk(archive, "sources correct", desk) as writing:
        source = get_record(writing.session, Source, source_id)
        what = called(writing, "source", source_id)
        changed = correct_record(writing, source, facts)
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")
