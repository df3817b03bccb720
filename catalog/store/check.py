"""What ``tiebeam check`` looks at: whether the catalogue is sound, and says the same thing everywhere."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from catalog.dates import parse_edtf
from catalog.errors import ArchiveError, EdtfError
from catalog.rules.folding import fold
from catalog.store.archive import FOLDERS, Archive
from catalog.store.connections import as_archive_error, connect
from catalog.store.daybook import name_record
from catalog.store.document_files import FOLDER, document_faults
from catalog.store.interrupted import is_alive
from catalog.store.ledger import life_faults, number_faults, rebuild_standings, standing_faults
from catalog.store.schema import schema_objects
from catalog.store.search import rebuild_search, stale_entries

_MANY = 20
"""How many findings of one kind are listed before the rest is only counted."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that is not as it should be: in one line, what and what to do."""

    kind: str
    words: str


def check_archive(archive: Archive) -> list[Finding]:
    """
    Look the catalogue over and return what is wrong; an empty list says that it is sound.

    Raises:
        ArchiveError: it cannot be read at all, or is of another schema.
    """
    with archive.reading() as connection:
        found = [*_pages(connection), *_schema(connection)]
        for kind, look in _CHECKS.items():
            found += _at_most(kind, look(connection))
        found += _at_most("document", document_faults(connection, archive.folder / FOLDER))
    found += _search_words(archive)
    found += [Finding("folder", f"{archive.folder / name} is not there.") for name in _missing(archive.folder)]
    return found


def _missing(folder: Path) -> list[str]:
    return [name for name in FOLDERS if not (folder / name).is_dir()]


def _at_most(kind: str, words: Iterator[str]) -> Iterator[Finding]:
    count = 0
    for count, sentence in enumerate(words, start=1):
        if count <= _MANY:
            yield Finding(kind, sentence)
    if count > _MANY:
        yield Finding(kind, f"... and {count - _MANY:,} more of this kind.")


def _pages(connection: sqlite3.Connection) -> Iterator[Finding]:
    for (words,) in connection.execute("PRAGMA integrity_check(20)").fetchall():
        if words != "ok":
            yield Finding("damage", f"{words}. Restore the newest sound file of backups/.")


def _schema(connection: sqlite3.Connection) -> Iterator[Finding]:
    """Compare tables, indexes and triggers with those of a catalogue made now."""
    from catalog.store.upgrade import fresh_schema

    wanted, here = fresh_schema(), schema_objects(connection)
    for kind, name in sorted(wanted.keys() - here.keys()):
        yield Finding("schema", f"The {kind} {name} is not there. Restore the newest sound file of backups/.")
    for kind, name in sorted(here.keys() & wanted.keys()):
        if here[kind, name] != wanted[kind, name]:
            yield Finding("schema", f"The {kind} {name} was altered by hand. Restore the newest sound backup.")


def _links(connection: sqlite3.Connection) -> Iterator[str]:
    for table, row_id, parent, _ in connection.execute("PRAGMA foreign_key_check").fetchall():
        yield f"{name_record(connection, table, row_id)} points to a {parent} that is not there."


def _said_of_nothing(connection: sqlite3.Connection) -> Iterator[str]:
    for said in ("note", "wording", "open_question"):
        for (about,) in connection.execute(f"SELECT DISTINCT about FROM {said} WHERE about IS NOT NULL").fetchall():
            gone = connection.execute(
                f'SELECT id FROM {said} WHERE about = ? AND about_id NOT IN (SELECT id FROM "{about}")',
                (about,),
            )
            for (said_id,) in gone.fetchall():
                yield f"{said.replace('_', ' ')} {said_id} is about a {about} that is not there."


def _kit(connection: sqlite3.Connection) -> Iterator[str]:
    for table in ("lens", "camera", "film_stock"):
        bare = connection.execute(
            f"SELECT id, name FROM kit WHERE kind = ? AND id NOT IN (SELECT id FROM {table})", (table,)
        )
        for kit_id, name in bare.fetchall():
            yield f"K{kit_id} ({name}) is a {table.replace('_', ' ')} without its particulars."


def _versions(connection: sqlite3.Connection) -> Iterator[str]:
    """Read every version's tone steps, and see that each version says what it was made from."""
    from catalog.errors import ToneStepError
    from catalog.imaging.tone_steps import parse_steps

    for version_id, steps in connection.execute("SELECT id, steps FROM edit_version WHERE steps IS NOT NULL"):
        try:
            parse_steps(steps)
        except ToneStepError as exc:
            yield f"W{version_id}: its {exc}. Restore the newest sound file of backups/, or make the version anew."
    bare = "SELECT id FROM edit_version WHERE id NOT IN (SELECT version_id FROM version_source)"
    for (version_id,) in connection.execute(bare):
        again = f"tiebeam versions correct W{version_id} --from SCAN"
        yield f"W{version_id} does not say what it was made from. Run: {again}"


def _search(connection: sqlite3.Connection) -> Iterator[str]:
    for table, record_id in stale_entries(connection):
        name = name_record(connection, table, record_id)
        yield f"{name} is not found by its own words. Run: tiebeam check --mend"


def _search_words(archive: Archive) -> Iterator[Finding]:
    """Let FTS5 compare its words with the entries; it asks to write for that, though nothing is changed."""
    try:
        connection = connect(archive.catalogue, timeout_s=_PATIENCE_S, writing=True)
    except ArchiveError as exc:
        yield Finding("search", f"The search words were not compared: {exc}")
        return
    try:
        connection.execute("BEGIN")
        connection.execute("INSERT INTO search_words (search_words, rank) VALUES ('integrity-check', 1)")
        connection.execute("ROLLBACK")
    except sqlite3.OperationalError as exc:
        yield Finding("search", f"The search words were not compared: {as_archive_error(exc, archive.catalogue)}")
    except sqlite3.DatabaseError:
        yield Finding("search", "The search words are not those of the records. Run: tiebeam check --mend")
    finally:
        connection.close()


_PATIENCE_S = 1.0


def _numbers(connection: sqlite3.Connection) -> Iterator[str]:
    for sheet_id, text, folded in connection.execute("SELECT sheet_id, text, folded FROM sheet_number"):
        if fold(text) != folded:
            yield f"S{sheet_id}: its number {text!r} would not be found. Correct the number to itself."


def _dates(connection: sqlite3.Connection) -> Iterator[str]:
    """Compare the days kept beside each date with the days that its EDTF text gives now."""
    for table, name in dated_columns(connection):
        columns = f"{name}_edtf, {name}_earliest, {name}_latest, {name}_doubt"
        for edtf, *kept in connection.execute(f'SELECT DISTINCT {columns} FROM "{table}"').fetchall():
            wrong = _date_fault(edtf, tuple(kept))
            if wrong:
                yield f"{_first_with(connection, table, name, edtf, kept)}, {name}: {wrong}"


def dated_columns(connection: sqlite3.Connection) -> list[tuple[str, str]]:
    """Return (table, name) of every date of the catalogue."""
    found = connection.execute(
        "SELECT m.name, c.name FROM sqlite_master m JOIN pragma_table_info(m.name) c"
        " WHERE m.type = 'table' AND c.name LIKE '%\\_edtf' ESCAPE '\\' ORDER BY m.name, c.cid"
    )
    return [(table, column.removesuffix("_edtf")) for table, column in found]


def _date_fault(edtf: str | None, kept: tuple[int | None, int | None, str]) -> str | None:
    if edtf is None:
        return None if kept == (None, None, "") else "an undated record keeps days. Correct its date."
    try:
        date = parse_edtf(edtf)
    except EdtfError as exc:
        return f"{exc}. Correct its date."
    if (date.earliest, date.latest, date.doubt) != kept:
        return f"the days kept beside {edtf} are not its days. Correct the date to itself."
    return None


def _first_with(
    connection: sqlite3.Connection, table: str, name: str, edtf: str | None, kept: list[int | str | None]
) -> str:
    row_id: int = connection.execute(
        f'SELECT id FROM "{table}" WHERE {name}_edtf IS ? AND {name}_earliest IS ? AND {name}_latest IS ?'
        f" AND {name}_doubt IS ? LIMIT 1",
        (edtf, *kept),
    ).fetchone()[0]
    return name_record(connection, table, row_id)


def _deeds(connection: sqlite3.Connection) -> Iterator[str]:
    for deed_id, kind, process in connection.execute("SELECT id, kind, process FROM deed WHERE state = 'under way'"):
        if not is_alive(process):
            yield f"Deed {deed_id} ({kind}) was cut short and is not settled. The next command settles it."
    cut_short = connection.execute(
        "SELECT id, kind, left_to_do FROM deed d WHERE state = 'interrupted' AND undone_by_id IS NULL"
        " AND NOT EXISTS (SELECT 1 FROM deed e WHERE e.kind = d.kind AND e.id > d.id AND e.state = 'done'"
        " AND e.undoes_id IS d.undoes_id)"
    )
    for deed_id, kind, left_to_do in cut_short:
        left = left_to_do or f"To take back what it did: tiebeam undo {deed_id}"
        yield f"Deed {deed_id} ({kind}) was cut short. {left}"
    crossed = connection.execute(
        "SELECT d.id, d.undone_by_id FROM deed d JOIN deed u ON u.id = d.undone_by_id WHERE u.undoes_id IS NOT d.id"
    )
    for deed_id, undone_by in crossed:
        yield f"Deed {deed_id} is marked as undone by deed {undone_by}, which undid another."


def _pending_files(connection: sqlite3.Connection) -> Iterator[str]:
    found = connection.execute(
        "SELECT f.path, d.id, d.kind FROM deed_file f JOIN deed d ON d.id = f.deed_id"
        " WHERE f.state = 'intended' AND d.state <> 'under way'"
    )
    for path, deed_id, kind in found:
        yield f"{path}: deed {deed_id} ({kind}) did not say whether it was written."


_CHECKS: dict[str, Callable[[sqlite3.Connection], Iterator[str]]] = {
    "links": _links,
    "about": _said_of_nothing,
    "kit": _kit,
    "versions": _versions,
    "search": _search,
    "numbers": _numbers,
    "dates": _dates,
    "daybook": _deeds,
    "files": _pending_files,
    "ledger": standing_faults,
    "prints": life_faults,
    "print numbers": number_faults,
}


def mend_search(archive: Archive) -> None:
    """Make every entry of the search words anew from the records, and how each print stands from its ledger."""
    connection = connect(archive.catalogue, timeout_s=archive.settings.catalogue_wait_seconds, writing=True)
    try:
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("INSERT INTO search_words (search_words) VALUES ('rebuild')")
        rebuild_search(connection)
        rebuild_standings(connection)
        connection.execute("COMMIT")
    except sqlite3.DatabaseError as exc:
        raise as_archive_error(exc, archive.catalogue) from exc
    finally:
        connection.close()
