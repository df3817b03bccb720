"""The file of a mapping: where it is kept, how it begins, written never over a person's answers."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from catalog.errors import IntakeError
from catalog.passing_files import give_name, write_passing


def begin_document(words: str, questions: Sequence[str]) -> Any:
    """Return a TOML document that says what it is, then what the person should answer first."""
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment(words))
    for question in questions:
        for line in question.splitlines():
            document.add(tomlkit.comment(f"ASK: {line}"))
    document.add("version", tomlkit.item(1))
    return document


def add_columns(document: Any, columns: Mapping[str, Any]) -> None:
    """Add the table of columns, by their headings; it may be empty."""
    import tomlkit

    table = tomlkit.table()
    for heading, item in columns.items():
        table.add(heading, item)
    document.add("columns", table)


def add_table(document: Any, key: str, values: dict[str, Any], *, keep_empty: bool = False) -> None:
    """Add a table of what is stated, if anything is."""
    import tomlkit

    stated = {
        name: value for name, value in values.items() if value not in (None, [], {}) and (value != "" or keep_empty)
    }
    if stated:
        table = tomlkit.table()
        for name, value in stated.items():
            table.add(name, value)
        document.add(key, table)


def write_mapping_text(path: Path, text: str) -> None:
    """
    Write a mapping file whole or not at all.

    Raises:
        IntakeError: there is one already, which may hold a person's answers; or the folder cannot be written
        to.
    """
    taken = IntakeError(f"{path.name}: there is a mapping file already; edit it, or move it away first.")
    if os.path.lexists(path):
        raise taken
    try:
        passing = write_passing(path.parent, text.encode("utf-8"))
        try:
            give_name(passing, path)
        finally:
            passing.unlink(missing_ok=True)
    except FileExistsError:
        raise taken from None
    except OSError as exc:
        raise IntakeError(f"{path}: the mapping file cannot be written ({exc.strerror or exc}).") from exc


def mapping_path(path: Path) -> Path:
    """Return where the mapping of a card index is kept: beside it, with the extension ``.toml``."""
    return path.with_suffix(".toml")
