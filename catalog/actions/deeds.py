"""Deeds taken back: what a deed changed is replayed backwards, as a deed of its own."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from catalog.actions._ledger_undo import stays, take_back_kept
from catalog.actions.file_undo import (
    MAKE_AGAIN,
    FileToPutBack,
    are_bytes_kept,
    bytes_to_keep,
    files_to_put_back,
    put_back,
)
from catalog.errors import UndoError
from catalog.store.archive import Archive
from catalog.store.daybook import ChangeRow, DeedRow, changes_of, files_of, get_deed, name_record
from catalog.store.rows import KEYS, change_row, insert_row, read_row, remove_row
from catalog.store.schema import SCHEMA_HEAD
from catalog.store.writing import FileDeed, OnWait, Writing, begin_file_deed, deed

_BATCH = 100


@dataclass(frozen=True, slots=True)
class Undoing:
    """
    What an undo takes back. ``undo_id`` is the new deed, ``None`` on a dry run.

    ``is_final``: it took pictures away of which no copy is kept, so that it cannot itself be undone.
    """

    deed: DeedRow
    undo_id: int | None
    words: str
    records: int
    files: int
    is_final: bool = False


class _Rehearsed(Exception):  # noqa: N818 - no fault: the way out of a dry run
    pass


def undo_deed(
    archive: Archive, deed_id: int | None = None, *, dry_run: bool = False, on_wait: OnWait | None = None
) -> Undoing:
    """
    Take back a deed: the one named, else the newest not yet undone. Naming an undo does its deed again.

    What is removed or changed by it is kept in the daybook whole, so that an undo can itself be undone.

    Raises:
        UndoError: there is none, or something stands in the way; the message says what. Nothing was changed.
        NotFoundError: the daybook has no such deed.
    """
    with archive.reading() as connection:
        target = _as_done_again(connection, find_deed_to_undo(connection, deed_id))
        _refuse_if_touched_since(connection, target)
        files = files_to_put_back(files_of(connection, target.id), target.id)
        words, kind = _words(connection, target), _first_kind(connection, target)
    if not files or dry_run:
        undo_id, records = _undo_records(archive, target, words, on_wait, dry_run=dry_run)
        return Undoing(target, undo_id, words, records, len(files))
    # The records first as a rehearsal: what stands in the way must be known before a file is touched.
    _undo_records(archive, target, words, on_wait, dry_run=True)
    undo_id, records = _undo_with_files(archive, target, words, kind, files, on_wait)
    return Undoing(target, undo_id, words, records, len(files), is_final=not are_bytes_kept(kind))


def find_deed_to_undo(connection: sqlite3.Connection, deed_id: int | None) -> DeedRow:
    """
    Return the deed that is to be undone, if its own state allows it.

    Raises:
        UndoError: there is none, it is under way, undone already, or older than the schema.
        NotFoundError: the daybook has no such deed.
    """
    if deed_id is None:
        deed_id = _newest(connection)
    target = get_deed(connection, deed_id)
    if target.state == "under way":
        raise UndoError(f"Deed {target.id} ({target.kind}) is still under way. Wait until it is done.")
    if target.undone_by_id is not None:
        again = f"To do it again: tiebeam undo {target.undone_by_id}"
        if target.files and not are_bytes_kept(_first_kind(connection, target)):
            again = MAKE_AGAIN
        raise UndoError(f"Deed {target.id} ({target.kind}) was undone by deed {target.undone_by_id} already. {again}")
    if target.schema != SCHEMA_HEAD:
        raise UndoError(
            f"Deed {target.id} ({target.kind}) was done before the catalogue was upgraded "
            f"(schema {target.schema}, now {SCHEMA_HEAD}) and can no longer be undone; correct by hand."
        )
    if not target.records and not target.files:
        raise UndoError(f"Deed {target.id} ({target.kind}) changed nothing, so there is nothing to take back.")
    return target


# What an undo did again of what is never removed is other rows than the first time: it is those that are taken back.
_DONE_AGAIN = """
    SELECT again.id FROM deed undoing JOIN deed again ON again.undoes_id = undoing.id
    WHERE undoing.undoes_id = ? AND again.undone_by_id IS NULL
        AND EXISTS (SELECT 1 FROM deed_change WHERE deed_id = again.id AND record_table = 'ledger_entry')
"""


def _as_done_again(connection: sqlite3.Connection, target: DeedRow) -> DeedRow:
    """Return the deed that did a deed of the ledger again, where it was taken back and done again; else itself."""
    while (found := connection.execute(_DONE_AGAIN, (target.id,)).fetchone()) is not None:
        target = get_deed(connection, found[0])
    return target


def _newest(connection: sqlite3.Connection) -> int:
    found = connection.execute(
        "SELECT id FROM deed d WHERE undoes_id IS NULL AND undone_by_id IS NULL AND (state = 'under way'"
        " OR EXISTS (SELECT 1 FROM deed_change WHERE deed_id = d.id)"
        " OR EXISTS (SELECT 1 FROM deed_file WHERE deed_id = d.id AND state = 'done'))"
        " ORDER BY id DESC LIMIT 1"
    ).fetchone()
    if found is None:
        raise UndoError("There is no deed left to undo.")
    deed_id: int = found[0]
    return deed_id


def _words(connection: sqlite3.Connection, target: DeedRow) -> str:
    if target.undoes_id is None:
        return f"took back deed {target.id} ({target.kind}): {target.words}"
    before = get_deed(connection, target.undoes_id)
    if before.undoes_id is None:
        return f"did deed {before.id} ({before.kind}) again: {before.words}"
    return f"took back deed {target.id}, which {target.words}"


def _first_kind(connection: sqlite3.Connection, target: DeedRow) -> str:
    while target.undoes_id is not None:
        target = get_deed(connection, target.undoes_id)
    return target.kind


def _undo_records(
    archive: Archive, target: DeedRow, words: str, on_wait: OnWait | None, *, dry_run: bool
) -> tuple[int | None, int]:
    records = 0
    try:
        with deed(archive, "undo", words, on_wait=on_wait, undoes=target.id) as writing:
            records = take_back(writing, target)
            if dry_run:
                raise _Rehearsed
        return writing.deed.id, records
    except _Rehearsed:
        return None, records


def _undo_with_files(
    archive: Archive,
    target: DeedRow,
    words: str,
    kind: str,
    files: list[FileToPutBack],
    on_wait: OnWait | None,
) -> tuple[int, int]:
    again = f"Run: tiebeam undo {target.id}"
    undoing = begin_file_deed(archive, "undo", words, left_to_do=again, on_wait=on_wait, undoes=target.id)
    slices = [files[start : start + _BATCH] for start in range(0, len(files), _BATCH)]
    failed = [fault for some in slices for fault in _put_back_some(undoing, kind, some)]
    if failed:
        undoing.break_off(f"{words} (not finished)", again)
        raise UndoError(
            f"{len(failed)} of {len(files)} files could not be put back, first {failed[0].rstrip('.')}. "
            f"The catalogue is as it was. Mend that, then run: tiebeam undo {target.id}"
        )
    with undoing.step() as writing:
        records = take_back(writing, target)
        writing.deed.state, writing.deed.process, writing.deed.left_to_do = "done", None, None
    return undoing.deed_id, records


def _put_back_some(undoing: FileDeed, kind: str, files: list[FileToPutBack]) -> list[str]:
    intended = undoing.intend(
        (
            str(file.path),
            bytes_to_keep(kind, file),
            file.written_sha256,
            file.former_sha256,
        )
        for file in files
    )
    faults = [put_back(kind, file) for file in files]
    undoing.settle_files(
        (file_id, "not done" if fault else "done", fault) for file_id, fault in zip(intended, faults, strict=True)
    )
    return [fault for fault in faults if fault]


# ---- records


def take_back(writing: Writing, target: DeedRow) -> int:
    """
    Replay a deed's changes backwards, inside the open deed ``writing``, and return how many there were.

    Raises:
        UndoError: later deeds stand in the way; the transaction must not be committed then.
    """
    connection = writing.raw
    target = find_deed_to_undo(connection, target.id)  # again, now that nobody else can write
    _refuse_if_touched_since(connection, target)
    count = _replay(writing, target)
    _refuse_broken_links(writing, target)
    _mark_undone(connection, target.id, writing.deed.id)
    return count


def _mark_undone(connection: sqlite3.Connection, deed_id: int | None, undo_id: int) -> None:
    """Mark a deed as undone; what it had undone stands again, and so on down the chain."""
    undone_by: int | None = undo_id
    while deed_id is not None:
        connection.execute("UPDATE deed SET undone_by_id = ? WHERE id = ?", (undone_by, deed_id))
        undone_by = deed_id if undone_by is None else None
        deed_id = connection.execute("SELECT undoes_id FROM deed WHERE id = ?", (deed_id,)).fetchone()[0]


def _replay(writing: Writing, target: DeedRow) -> int:
    pending, count = list(changes_of(writing.raw, target.id, backwards=True)), 0
    while pending:
        aside: list[ChangeRow] = []
        held: set[tuple[str, int]] = set()
        refusal: sqlite3.IntegrityError | None = None
        for change in pending:
            record = (change.record_table, change.record_id)
            if record not in held:
                try:
                    _take_back_one(writing, target, change)
                    count += 1
                    continue
                except sqlite3.IntegrityError as exc:  # what it needs, or what is in its way, may come further on
                    refusal = exc
            held.add(record)
            aside.append(change)
        if refusal is not None and len(aside) == len(pending):
            raise _refused(writing, target, aside[0], str(refusal)) from refusal
        pending = aside
    return count


def _take_back_one(writing: Writing, target: DeedRow, change: ChangeRow) -> None:
    connection, table, record_id = writing.raw, change.record_table, change.record_id
    now = read_row(connection, table, record_id)
    if (now is None) != (change.change == "removed"):
        raise UndoError(
            f"Deed {target.id} cannot be undone: {name_record(connection, table, record_id)} is not as the "
            "daybook left it. Nothing was changed; run: tiebeam check"
        )
    if change.change == "added" and stays(target, table):
        take_back_kept(writing, target, change)
    elif change.change == "added":
        remove_row(connection, table, record_id)
        writing.record_change(table, record_id, "removed", now, None)
    elif change.change == "removed":
        insert_row(connection, table, change.before)
        writing.record_change(table, record_id, "added", None, None)
    else:
        change_row(connection, table, record_id, change.before)
        former = {column: (now or {})[column] for column in change.before}
        writing.record_change(table, record_id, "changed", former, change.before)
        writing.touch(table, record_id, now)


# ---- what stands in the way

# A deed that stands: not undone, and no undo of a deed later than the one in question: those cancel out.
_STANDS = "d.undone_by_id IS NULL AND (d.undoes_id IS NULL OR d.undoes_id < :target)"


def _refuse_if_touched_since(connection: sqlite3.Connection, target: DeedRow) -> None:
    # By the order of the changes, not of the deeds: a deed over many files may go on while others are done.
    found = connection.execute(
        f"""
        SELECT d.id, d.kind, c.change, c.record_table, c.record_id
        FROM (SELECT record_table, record_id, min(id) AS first FROM deed_change
            WHERE deed_id = :target GROUP BY record_table, record_id) mine
        JOIN deed_change c ON c.record_table = mine.record_table AND c.record_id = mine.record_id
            AND c.id > mine.first
        JOIN deed d ON d.id = c.deed_id
        WHERE c.deed_id <> :target AND {_STANDS}
        ORDER BY c.id DESC LIMIT 1
        """,
        {"target": target.id},
    ).fetchone()
    if found is not None:
        raise _in_the_way(connection, target, found)


def _in_the_way(
    connection: sqlite3.Connection, target: DeedRow, found: tuple[int, str, str, str, int], why: str = ""
) -> UndoError:
    deed_id, kind, change, table, record_id = found
    return UndoError(
        f"Deed {target.id} ({target.kind}) cannot be undone: deed {deed_id} ({kind}) {change} "
        f"{name_record(connection, table, record_id)} since{why}; undo that first. Nothing was changed."
    )


def _last_touch(
    writing: Writing, target: DeedRow, table: str, record_id: int, change: str = "%"
) -> tuple[int, str, str, str, int] | None:
    """Return the newest standing deed that changed a row, the undo at hand and its target aside."""
    found: tuple[int, str, str, str, int] | None = writing.raw.execute(
        f"""
        SELECT d.id, d.kind, c.change, c.record_table, c.record_id
        FROM deed_change c JOIN deed d ON d.id = c.deed_id
        WHERE c.record_table = :table AND c.record_id = :id AND c.change LIKE :change
            AND d.id NOT IN (:undo, :target) AND {_STANDS} ORDER BY c.id DESC LIMIT 1
        """,
        {"table": table, "id": record_id, "change": change, "undo": writing.deed.id, "target": target.id},
    ).fetchone()
    return found


def _refuse_broken_links(writing: Writing, target: DeedRow) -> None:
    """See that no row the undo brought back points to nothing, and that nothing points to a row it removed."""
    connection, touched = writing.raw, set(writing.touched)
    for child, column, parent in _links(connection):
        key, parent_key = KEYS.get(child, "id"), KEYS.get(parent, "id")
        pointing = f"""
            SELECT "{key}", "{column}" FROM "{child}" c
            WHERE NOT EXISTS (SELECT 1 FROM "{parent}" p WHERE p."{parent_key}" = c."{column}") AND "{column}" IN
        """
        undone = "SELECT record_id FROM deed_change WHERE deed_id = :undo AND record_table = :table"
        broken = None
        if parent in touched:
            removed = {"undo": writing.deed.id, "table": parent}
            broken = connection.execute(f"{pointing} ({undone}) LIMIT 1", removed).fetchone()
        if broken is None and child in touched:
            back = f'SELECT "{column}" FROM "{child}" WHERE "{key}" IN ({undone})'
            broken = connection.execute(
                f"{pointing} ({back}) LIMIT 1", {"undo": writing.deed.id, "table": child}
            ).fetchone()
        if broken is not None:
            raise _broken_link(writing, target, (child, broken[0]), (parent, broken[1]))


def _links(connection: sqlite3.Connection) -> list[tuple[str, str, str]]:
    """Return (table, column, table pointed to) of every link of the catalogue."""
    return connection.execute(
        'SELECT m.name, f."from", f."table" FROM sqlite_master m JOIN pragma_foreign_key_list(m.name) f'
        " WHERE m.type = 'table' AND m.name NOT LIKE 'deed%'"
    ).fetchall()


def _broken_link(writing: Writing, target: DeedRow, child: tuple[str, int], parent: tuple[str, int]) -> UndoError:
    connection, pointed_to = writing.raw, name_record(writing.raw, *parent)
    removed = _last_touch(writing, target, *parent, change="removed")
    if removed is not None:
        return _in_the_way(connection, target, removed)
    pointing = _last_touch(writing, target, *child)
    if pointing is not None:
        return _in_the_way(connection, target, pointing, f", which belongs to {pointed_to}")
    return UndoError(
        f"Deed {target.id} ({target.kind}) cannot be undone: {name_record(connection, *child)} still belongs "
        f"to {pointed_to}. Nothing was changed."
    )


def _refused(writing: Writing, target: DeedRow, change: ChangeRow, said: str) -> UndoError:
    """Return why the database refuses to have a change taken back, naming the deed in the way if found."""
    connection = writing.raw
    for table, record_id in _suspects(connection, change, said):
        found = _last_touch(writing, target, table, record_id)
        if found is not None:
            return _in_the_way(connection, target, found)
    name = name_record(connection, change.record_table, change.record_id)
    return UndoError(
        f"Deed {target.id} ({target.kind}) cannot be undone: the catalogue refuses {name} as it was "
        f"({said}). Nothing was changed."
    )


def _suspects(connection: sqlite3.Connection, change: ChangeRow, said: str) -> Iterator[tuple[str, int]]:
    """Yield rows that may be in the way: what a row is about, what is said of it, a twin of it."""
    row = {**(read_row(connection, change.record_table, change.record_id) or {}), **change.before}
    if change.change == "added":
        for table in ("note", "wording", "open_question"):
            about = connection.execute(
                f"SELECT id FROM {table} WHERE about = ? AND about_id = ?",
                (change.record_table, change.record_id),
            )
            for (said_id,) in about.fetchall():
                yield table, said_id
    elif row.get("about"):
        yield row["about"], row["about_id"]
    elif change.record_table in ("lens", "camera", "film_stock"):
        yield "kit", change.record_id
    if said.startswith("UNIQUE constraint failed: ") and "index '" not in said:
        columns = [column.rpartition(".")[2] for column in said.partition(": ")[2].split(", ")]
        key = KEYS.get(change.record_table, "id")
        alike = " AND ".join(f'"{column}" IS ?' for column in columns)
        twins = connection.execute(
            f'SELECT "{key}" FROM "{change.record_table}" WHERE {alike}',
            [row.get(column) for column in columns],
        )
        for (twin_id,) in twins.fetchall():
            yield change.record_table, twin_id
