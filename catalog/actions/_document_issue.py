"""How a document is issued: its page is set aside, the catalogue says that it is issued, the page gets its name."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from pathlib import Path

from catalog import clock
from catalog.actions.desk import AT_DESK, Desk, Done, at_desk
from catalog.dates import edtf_in_words
from catalog.model import Document, DocumentLine
from catalog.outputs import document_facts as facts
from catalog.outputs.documents import make_document
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.document_files import (
    FOLDER,
    document_file_name,
    put_in_place,
    remove_leftovers,
    remove_passing,
    set_aside,
)
from catalog.store.interrupted import this_process
from catalog.store.writing import FileDeed, Writing


@dataclass(frozen=True, slots=True)
class Draft:
    """A document about to be issued: what it says, and what the catalogue keeps of it."""

    page: facts.Document
    kind: str
    prints: tuple[int, ...] = ()
    person_id: int | None = None
    edition_id: int | None = None
    law: str | None = None


@dataclass(frozen=True, slots=True)
class Issued:
    """An issued document; ``path`` is ``None`` on a dry run."""

    id: int
    kind: str
    path: Path | None
    prints: tuple[int, ...]


Drafting = Callable[[sqlite3.Connection, str, str], Draft]
"""Makes a draft from the catalogue, given the reference and the day in words."""


def issue(archive: Archive, verb: str, drafting: Drafting, *, desk: Desk = AT_DESK) -> Issued:
    """
    Issue a document: one deed. Its page is kept in ``documents/`` and can be had again unchanged.

    Raises:
        RefusedError: its facts do not allow it. Nothing was issued.
        LettersError, FontError: it cannot be set. Nothing was issued.
        DocumentError: its page cannot be kept. Nothing was issued.
    """
    path = None
    # What is said is said at the end: a reader that went away must not stop the page on its way.
    heard: list[Done] = []
    with at_desk(archive, f"documents {verb}", replace(desk, say=None, tell=heard.append)) as writing:
        document_id = writing.first_free_id("document")
        reference = format_reference("document", document_id)
        draft = drafting(writing.raw, reference, _today())
        content = make_document(draft.page, letter_paper(archive))
        file_name = document_file_name(reference, draft.kind)
        passing = None if desk.dry_run else _set_aside(archive, writing, file_name, content)
        try:
            _write_down(writing, document_id, draft, file_name, content)
            _say(writing, reference, draft)
        except BaseException:
            if passing is not None:
                remove_passing(passing)
            raise
    if passing is not None:
        path = put_in_place(passing, file_name)
        FileDeed(archive, writing.deed.id, desk.on_wait).finish(writing.deed.words)
    desk.hear(heard[0])
    return Issued(document_id, draft.kind, path, draft.prints)


def _set_aside(archive: Archive, writing: Writing, file_name: str, content: bytes) -> Path:
    folder = archive.folder / FOLDER
    remove_leftovers(writing.raw, folder)
    return set_aside(folder, file_name, content)


def _write_down(writing: Writing, document_id: int, draft: Draft, file_name: str, content: bytes) -> None:
    writing.session.add(
        Document(
            id=document_id,
            kind=draft.kind,
            person_id=draft.person_id,
            edition_id=draft.edition_id,
            law=draft.law,
            file_name=file_name,
            sha256=sha256(content).hexdigest(),
            facts=json.dumps(asdict(draft.page), ensure_ascii=False, default=str),
            issued_at=clock.timestamp(),
        )
    )
    writing.session.flush()
    writing.session.add_all(DocumentLine(document_id=document_id, print_id=print_id) for print_id in draft.prints)
    # Until the page has its name the deed is under way: if this process is killed, the next opening names it.
    writing.deed.state, writing.deed.process = "under way", this_process()
    writing.deed.left_to_do = f"Look for it with: tiebeam documents again {format_reference('document', document_id)}"


def _say(writing: Writing, reference: str, draft: Draft) -> None:
    about = [format_reference("print", print_id) for print_id in draft.prints[:5]]
    more = len(draft.prints) - len(about)
    told = ", ".join(about) + (f" and {more} more" if more else "")
    if draft.edition_id is not None and not told:
        told = format_reference("edition", draft.edition_id)
    writing.say(f"issued {reference}, {draft.kind}" + (f", {told}" if told else ""))


def _today() -> str:
    return edtf_in_words(clock.today().isoformat())


def letter_paper(archive: Archive) -> facts.LetterPaper:
    """Return how the archive's pages look, from its settings."""
    settings = archive.settings
    heading = settings.documents_heading or tuple(filter(None, (settings.archive_photographer,)))
    font = archive.folder / settings.documents_font if settings.documents_font else None
    return facts.LetterPaper(heading=heading, paper=settings.documents_paper, font=font)
