"""Writing: one deed is one transaction, and the daybook keeps what each deed changed (``store.recording``)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Engine

from catalog import clock
from catalog.errors import ArchiveError, RefusedError
from catalog.model import Deed, DeedFile
from catalog.store.archive import Archive
from catalog.store.files import shown_path
from catalog.store.interrupted import encode_path, this_process
from catalog.store.locking import OnWait
from catalog.store.recording import Writing, recording
from catalog.store.schema import SCHEMA_HEAD
from catalog.store.sessions import lasting_engine, open_session

_done_here: set[tuple[Path, int]] = set()


def was_done_here(archive: Archive, deed_id: int) -> bool:
    """Return True if a deed was done by this process, since it began."""
    return (archive.catalogue, deed_id) in _done_here


@contextmanager
def deed(
    archive: Archive, kind: str, words: str, *, on_wait: OnWait | None = None, undoes: int | None = None
) -> Iterator[Writing]:
    """
    Do one deed: one transaction, one daybook entry with everything it changed.

    ``kind`` is the command's noun and verb, ``words`` what the daybook says; see also ``Writing.say``.
    A deed that ``undoes`` another must see to links itself (``catalog.actions.deeds``).
    Raises what ``open_session`` raises.
    """
    with open_session(archive, on_wait, undoing=undoes is not None) as session:
        entry = Deed(kind=kind, words=words, at=clock.timestamp(), state="done", schema=SCHEMA_HEAD, undoes_id=undoes)
        session.add(entry)
        session.flush()
        deed_id = entry.id  # the deed may expire what the session holds, and then it cannot be asked any more
        with recording(Writing(session, entry)) as writing:
            yield writing
    _done_here.add((archive.catalogue, deed_id))


@dataclass
class FileDeed:
    """A deed over many files: one daybook entry, one transaction a file. ``begin_file_deed`` begins it."""

    archive: Archive
    deed_id: int
    on_wait: OnWait | None = None
    is_undo: bool = False
    _kept: Engine | None = field(default=None, init=False, repr=False)

    @contextmanager
    def step(self) -> Iterator[Writing]:
        """
        Do the part of the deed that belongs to one file, as one transaction.

        The connection stays open from step to step (opening one, and letting its statements be put together
        anew, takes longer than writing a file's rows); ``finish``, ``break_off`` or ``close`` closes it.
        """
        if self._kept is None:
            self._kept = lasting_engine(self.archive, undoing=self.is_undo)
        with open_session(self.archive, self.on_wait, self._kept) as session:
            entry = session.get_one(Deed, self.deed_id)
            with recording(Writing(session, entry)) as writing:
                yield writing

    def settle_files(self, settled: Iterable[tuple[int, str, str | None]]) -> None:
        """Write down what became of files: id, ``done`` or ``not done``, and why."""
        with open_session(self.archive, self.on_wait) as session:
            for file_id, state, reason in settled:
                entry = session.get_one(DeedFile, file_id)
                entry.state, entry.reason = state, reason

    def break_off(self, words: str, left_to_do: str) -> None:
        """Close the daybook entry of a deed that could not be finished, with what is left to do."""
        self.close()
        with open_session(self.archive, self.on_wait) as session:
            entry = session.get_one(Deed, self.deed_id)
            entry.words, entry.state, entry.process = shown_path(words), "interrupted", None
            entry.left_to_do = shown_path(left_to_do)

    def close(self) -> None:
        """Close the connection that the steps shared; the daybook entry stays as it is."""
        if self._kept is not None:
            self._kept.dispose()
            self._kept = None

    def finish(self, words: str) -> None:
        """Close the daybook entry: the deed is done."""
        self.close()
        with open_session(self.archive, self.on_wait) as session:
            entry = session.get_one(Deed, self.deed_id)
            entry.words, entry.state, entry.process, entry.left_to_do = shown_path(words), "done", None, None

    def intend(self, files: Iterable[tuple[str, bytes | None, str | None, str | None]]) -> list[int]:
        """Write down files about to be written: path, former bytes, their digest, the digest to come."""
        with open_session(self.archive, self.on_wait) as session:
            entries = [
                DeedFile(
                    deed_id=self.deed_id,
                    path=encode_path(path),
                    state="intended",
                    before=before,
                    before_sha256=old,
                    after_sha256=new,
                )
                for path, before, old, new in files
            ]
            session.add_all(entries)
            session.flush()
            return [entry.id for entry in entries]


def begin_file_deed(
    archive: Archive,
    kind: str,
    words: str,
    *,
    left_to_do: str,
    on_wait: OnWait | None = None,
    undoes: int | None = None,
) -> FileDeed:
    """
    Begin a deed over many files.

    ``left_to_do`` is what to tell the person at the next opening if the deed is cut short. Names of files that are
    no text are shown with escapes in both.
    """
    with open_session(archive, on_wait) as session:
        entry = Deed(
            kind=kind, words=shown_path(words), at=clock.timestamp(), state="under way", schema=SCHEMA_HEAD,
            process=this_process(), left_to_do=shown_path(left_to_do), undoes_id=undoes,
        )  # fmt: skip
        session.add(entry)
        session.flush()
    _done_here.add((archive.catalogue, entry.id))
    return FileDeed(archive, entry.id, on_wait, is_undo=undoes is not None)


def require_text(*texts: str | None) -> None:
    """Raise ``RefusedError`` if one of these, typed on a terminal, holds bytes that are not text."""
    for text in filter(None, texts):
        if not text.isascii() and any("\ud800" <= letter <= "\udfff" for letter in text):
            raise RefusedError(f"{text!r} holds bytes that are not text. Type it anew; nothing was changed.")


def require(condition: object, message: str) -> None:
    """Raise ``RefusedError`` with ``message`` unless ``condition`` holds."""
    if not condition:
        raise RefusedError(message)


__all__ = [
    "ArchiveError",
    "FileDeed",
    "OnWait",
    "Writing",
    "begin_file_deed",
    "deed",
    "open_session",
    "require",
    "require_text",
]
