"""Archives and folders of scans, as the tests of registering need them."""

from __future__ import annotations

import atexit
import hashlib
import os
import shutil
import sqlite3
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

from catalog.cli.main import run
from catalog.model import Sheet, SheetNumber
from catalog.rules.folding import fold
from catalog.store.archive import Archive, open_archive
from catalog.store.new import make_archive
from catalog.store.writing import deed
from tests.picture_files import ASCII, Entry, a_tiff


@lru_cache(maxsize=1)
def _template() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="tiebeam-tests-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    make_archive(folder / "archive")
    return folder / "archive"


def an_archive(folder: Path, settings: str = "") -> Archive:
    """Return a new archive in ``folder``, copied from one the migrations made."""
    shutil.copytree(_template(), folder)
    if settings:
        path = folder / "tiebeam.toml"
        path.write_text(path.read_text("utf-8").replace("[scans]\n", f"[scans]\n{settings}\n"), "utf-8")
    return open_archive(folder)


def a_sheet(archive: Archive, *numbers: str, film_format: str | None = "4x5", scheme: str = "") -> int:
    """Add a sheet with its numbers, and return its id."""
    with deed(archive, "sheets add", "a sheet") as writing:
        sheet = Sheet(format=film_format)
        sheet.numbers = [SheetNumber(text=text, folded=fold(text), scheme=scheme) for text in numbers]
        writing.session.add(sheet)
        writing.session.flush()
        return sheet.id


def a_scan(path: Path, seed: int = 1, *, caption: str = "", entries: tuple[Entry, ...] = (), **layout: Any) -> Path:
    """Write a small TIFF whose picture depends on ``seed`` alone, and return where."""
    width, height = layout.get("width", 8), layout.get("height", 10)
    picture = hashlib.shake_128(bytes([seed])).digest(width * height * layout.get("bits", 16) // 8)
    said = ((270, ASCII, caption.encode() + b"\0"),) if caption else ()
    path.parent.mkdir(parents=True, exist_ok=True)
    content = a_tiff((*said, *entries), picture=picture, **{"width": width, "height": height, **layout})
    path.write_bytes(content)
    return path


def rows(archive: Archive, statement: str, *values: Any) -> list[tuple[Any, ...]]:
    """Return what a statement reads from the catalogue."""
    connection = sqlite3.connect(archive.catalogue)
    try:
        return connection.execute(statement, values).fetchall()
    finally:
        connection.close()


def as_it_is(folder: Path) -> dict[str, tuple[str, int]]:
    """Return the digest and modification time of every file in a folder."""
    return {
        os.fsdecode(path.relative_to(folder)): (
            hashlib.sha256(path.read_bytes()).hexdigest(),
            path.stat().st_mtime_ns,
        )
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def tiebeam(archive: Archive, *arguments: str | Path) -> int:
    """Run a command as a person types it, and return its status."""
    try:
        run(["--archive", str(archive.folder), *(str(argument) for argument in arguments)])
    except SystemExit as left:
        return int(left.code or 0)
    raise AssertionError("a command always leaves with a status")
