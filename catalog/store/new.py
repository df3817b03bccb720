"""Making a new archive on the disk."""

from __future__ import annotations

from pathlib import Path

from catalog.errors import ArchiveError
from catalog.store.archive import CATALOGUE_NAME, FOLDERS, Archive
from catalog.store.connections import journal_for
from catalog.store.settings import SETTINGS_NAME, TEMPLATE, quoted, read_settings
from catalog.store.upgrade import make_catalogue


def make_archive(folder: Path, *, name: str = "", photographer: str = "") -> tuple[Archive, str | None]:
    """
    Make an archive in ``folder`` and return it, with a sentence to say about its journal, if any.

    Raises:
        ArchiveError: ``folder`` is a file, or holds an archive already, or cannot be written.
    """
    if folder.exists() and not folder.is_dir():
        raise ArchiveError(f"{folder} is a file. Name a folder for the archive.")
    if (folder / SETTINGS_NAME).exists() or (folder / CATALOGUE_NAME).exists():
        raise ArchiveError(f"{folder} is an archive already. Nothing was changed.")
    try:
        for part in FOLDERS:
            (folder / part).mkdir(parents=True, exist_ok=True)
        journal, sentence = journal_for(folder, "auto")
        make_catalogue(folder / CATALOGUE_NAME, journal)
        notice = f"© {photographer}" if photographer else ""
        text = TEMPLATE.format(
            name=quoted(name or folder.resolve().name), photographer=quoted(photographer), notice=quoted(notice)
        )
        # Last, because its presence is what makes the folder an archive.
        (folder / SETTINGS_NAME).write_text(text, "utf-8")
    except OSError as exc:
        raise ArchiveError(
            f"{folder} cannot be made: {exc.strerror or exc}. Choose a folder you may write to."
        ) from exc
    return Archive(folder.resolve(), read_settings(folder)), sentence
