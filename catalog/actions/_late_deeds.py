"""Deeds over many files that leave no daybook entry when there turns out to be nothing to do."""

from __future__ import annotations

import shlex
from collections.abc import Iterable
from contextlib import AbstractContextManager
from pathlib import Path

from catalog.store.archive import Archive
from catalog.store.files import shown_path
from catalog.store.writing import FileDeed, OnWait, Writing, begin_file_deed


class LateDeed:
    """
    A deed over many files that begins with the first thing to write.

    Left by an error or an interruption, its daybook entry stays open: the next opening says what is left.
    """

    def __init__(self, archive: Archive, kind: str, arguments: str, on_wait: OnWait | None) -> None:
        self._archive, self._kind, self._on_wait = archive, kind, on_wait
        self._command = f"tiebeam {kind} {arguments}".strip()
        self.begun: FileDeed | None = None

    @property
    def left_to_do(self) -> str:
        """What to tell the person when the deed is cut short."""
        return f"What it had not reached is done by: {self._command}"

    def __enter__(self) -> LateDeed:
        return self

    def __exit__(self, *_: object) -> None:
        if self.begun is not None:
            self.begun.close()

    def step(self) -> AbstractContextManager[Writing]:
        """Do the part of the deed that belongs to one file, as one transaction."""
        return self.begin().step()

    def begin(self) -> FileDeed:
        """Begin the daybook entry if it is not yet, and return the deed."""
        if self.begun is None:
            self.begun = begin_file_deed(
                self._archive,
                self._kind,
                self._command,
                left_to_do=self.left_to_do,
                on_wait=self._on_wait,
            )
        return self.begun

    def finish(self, words: str) -> None:
        """Close the daybook entry, if one was begun."""
        if self.begun is not None:
            self.begun.finish(words)


def said_paths(paths: Iterable[Path]) -> str:
    """Return paths as a command line says them, wherever it is typed."""
    return shlex.join(shown_path(path.absolute()) for path in paths)
