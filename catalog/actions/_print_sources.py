"""What a print was made from: one of its edition's sheets, and a scan that is not known to be wrong side up."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Any

from catalog.actions._print_runs import RunNow
from catalog.errors import EarlierPromiseError, NotFoundError, RefusedError
from catalog.model import RecordedDate
from catalog.rules.folding import fold
from catalog.rules.references import format_reference
from catalog.store.plain_writing import PlainDeed
from catalog.store.versions import sides_in_question


def check_source(deed: PlainDeed, run: RunNow | None, facts: dict[str, Any], knowing: frozenset[int]) -> dict[str, Any]:
    """
    Return the facts of a print with its sheet settled, after seeing that it may be made from what they name.

    Where the edition has one sheet alone and none is named, it is that.

    Raises:
        RefusedError: the scan, or one the version was made from, is reversed; the sheet does not show the view.
        EarlierPromiseError: the sheet shows the view, but the edition does not name it; the person is asked.
    """
    connection = deed.raw
    _check_records(connection, facts)
    if run is not None:
        facts["sheet_id"] = _sheet_of(deed, run, facts.get("sheet_id"), knowing)
    _refuse_other_sheet(connection, facts)
    return facts


def check_new_sources(
    deed: PlainDeed, run: RunNow | None, now: dict[str, Any], given: dict[str, Any], knowing: frozenset[int]
) -> None:
    """
    See that a print may be said to be made from what ``given`` names beside what stands of it ``now``.

    Raises:
        RefusedError, EarlierPromiseError: as ``check_source``; what is not named anew is not asked about again.
    """
    named = {name: given[name] for name in SOURCES if given.get(name) is not None}
    if not named:
        return
    _check_records(deed.raw, named)
    if run is not None and "sheet_id" in named:
        _sheet_of(deed, run, named["sheet_id"], knowing)
    _refuse_other_sheet(deed.raw, {name: given.get(name, now.get(name)) for name in SOURCES})


SOURCES = {"sheet_id": "sheet", "view_id": "view", "scan_id": "scan", "version_id": "edit_version"}
"""What a print may be made from: the field, and the table it points to."""


def _check_records(connection: sqlite3.Connection, facts: dict[str, Any]) -> None:
    for name, table in SOURCES.items():
        if facts.get(name) is not None:
            _require(connection, table, facts[name])
    for scan_id in _scans_of(connection, facts):
        refuse_reversed(connection, scan_id)


def ask_about_process(
    connection: sqlite3.Connection, edition_ids: Iterable[int], process: str | None, knowing: frozenset[int],
    pulled: RecordedDate,
) -> None:  # fmt: skip
    """
    Ask when a print is of another process than an edition was promised in, and was not surely pulled before that.

    Raises:
        EarlierPromiseError: it is; ``knowing`` does not name the edition.
    """
    for edition_id in edition_ids:
        promised, since = connection.execute(
            "SELECT process, stated_earliest FROM edition WHERE id = ?", (edition_id,)
        ).fetchone()
        is_before = None not in (pulled.latest, since) and not pulled.doubt and pulled.latest < since
        if not process or not promised or fold(process) == fold(promised) or edition_id in knowing or is_before:
            continue
        edition = format_reference("edition", edition_id)
        raise EarlierPromiseError(
            f"{edition} was promised as {promised}; this print would be {process}.",
            promises_of(connection, [edition_id]),
        )


def editions_shown(connection: sqlite3.Connection, facts: dict[str, Any]) -> list[int]:
    """Return the editions of what a print shows: of its view, else of the views of its sheet."""
    rows = connection.execute(
        "SELECT id FROM edition WHERE view_id = :view OR (:view IS NULL AND view_id IN"
        " (SELECT view_id FROM sheet_view WHERE sheet_id = :sheet)) ORDER BY id",
        {"view": facts.get("view_id"), "sheet": facts.get("sheet_id")},
    )
    return [row[0] for row in rows]


def _require(connection: sqlite3.Connection, table: str, record_id: int) -> None:
    if connection.execute(f"SELECT 1 FROM {table} WHERE id = ?", (record_id,)).fetchone() is None:
        raise NotFoundError(
            f"There is no {table.replace('_', ' ')} {format_reference(table, record_id)}. Nothing was changed."
        )


_MADE_FROM = """
    SELECT v.steps IS NOT NULL, ifnull((SELECT count(*) FROM json_each(v.steps) WHERE value ->> 'kind' = 'mirror'), 0),
        s.scan_id, s.source_version_id
    FROM edit_version v JOIN version_source s ON s.version_id = v.id WHERE v.id = ?
"""


def _scans_of(connection: sqlite3.Connection, facts: dict[str, Any]) -> list[int]:
    """
    Return the scans that must not be reversed: the one named, or those that the version shows as they lie.

    A version that mirrors a reversed scan has put it right; one made elsewhere may have, which is not ours to say.
    """
    if facts.get("version_id") is None:
        return [facts["scan_id"]] if facts.get("scan_id") is not None else []
    found, to_look, seen = [], [(facts["version_id"], False)], set()
    while to_look:
        version_id, is_mirrored = to_look.pop()
        seen.add(version_id)
        for is_ours, mirrors, scan_id, source_id in connection.execute(_MADE_FROM, (version_id,)).fetchall():
            now_mirrored = is_mirrored != bool(mirrors % 2)
            if source_id is not None and source_id not in seen and is_ours:
                to_look.append((source_id, now_mirrored))
            if scan_id is not None and is_ours and not now_mirrored:
                found.append(scan_id)
    return found


def refuse_reversed(connection: sqlite3.Connection, scan_id: int) -> None:
    """
    Refuse a scan that is known to be wrong side up, or that its notch says is, until the person has answered.

    Raises:
        RefusedError: it is, with how to answer.
    """
    (said,) = connection.execute("SELECT is_reversed FROM scan WHERE id = ?", (scan_id,)).fetchone() or (None,)
    reference = format_reference("scan", scan_id)
    if said:
        raise RefusedError(
            f"{reference} was scanned wrong side up: a print from it would be mirrored. Scan the sheet anew, or name a "
            "version that mirrors it. Nothing was changed."
        )
    if sides_in_question(connection, [scan_id]):
        raise RefusedError(
            f"{reference} seems scanned wrong side up, by its notch. Say whether it was before a print is made "
            f"from it: tiebeam scans correct {reference} --reversed, or --not-reversed. Nothing was changed."
        )


def _sheet_of(deed: PlainDeed, run: RunNow, sheet_id: int | None, knowing: frozenset[int]) -> int | None:
    named = [row[0] for row in deed.raw.execute("SELECT sheet_id FROM edition_sheet WHERE edition_id = ?",
                                                (run.edition_id,))]  # fmt: skip
    if sheet_id is None:
        return named[0] if len(named) == 1 else None
    if sheet_id in named:
        return sheet_id
    shows = deed.raw.execute(
        "SELECT 1 FROM sheet_view WHERE sheet_id = ? AND view_id = ?", (sheet_id, run.view_id)
    ).fetchone()
    reference = format_reference("sheet", sheet_id)
    if shows is None:
        view = format_reference("view", run.view_id)
        raise RefusedError(f"{reference} does not hold the view of {run.words} ({view}). Nothing was changed.")
    if run.edition_id not in knowing:
        told = ", ".join(format_reference("sheet", each) for each in named) or "no sheet"
        raise EarlierPromiseError(
            f"{run.words} is printed from {told}; {reference} is another sheet of the same view.",
            promises_of(deed.raw, [run.edition_id]),
        )
    deed.add("edition_sheet", {"edition_id": run.edition_id, "sheet_id": sheet_id})
    return sheet_id


_SHEETS_OF_SCAN = "SELECT sheet_id FROM scan_part WHERE scan_id = ? ORDER BY sheet_id"
_SHEETS_OF_VERSION = """
    WITH RECURSIVE made(id) AS (
        SELECT ? UNION SELECT s.source_version_id FROM made JOIN version_source s ON s.version_id = made.id
        WHERE s.source_version_id IS NOT NULL
    )
    SELECT DISTINCT coalesce(s.sheet_id, p.sheet_id) AS sheet FROM made
    CROSS JOIN version_source s ON s.version_id = made.id LEFT JOIN scan_part p ON p.scan_id = s.scan_id
    WHERE sheet IS NOT NULL ORDER BY sheet
"""


def _refuse_other_sheet(connection: sqlite3.Connection, facts: dict[str, Any]) -> None:
    """Refuse a scan or a version of another sheet; one that is matched to no sheet says nothing against it."""
    if facts.get("sheet_id") is None:
        return
    for name, statement in (("scan_id", _SHEETS_OF_SCAN), ("version_id", _SHEETS_OF_VERSION)):
        if facts.get(name) is None:
            continue
        sheets = [row[0] for row in connection.execute(statement, (facts[name],))]
        if sheets and facts["sheet_id"] not in sheets:
            what, sheet = format_reference(SOURCES[name], facts[name]), format_reference("sheet", facts["sheet_id"])
            of = ", ".join(format_reference("sheet", each) for each in sheets)
            is_scan = name == "scan_id"
            told = f"is a scan of {of}, not of {sheet}" if is_scan else f"was made from {of}, not from {sheet}"
            raise RefusedError(f"{what} {told}. Nothing was changed.")


def promises_of(connection: sqlite3.Connection, edition_ids: list[int]) -> list[tuple[str, str, str]]:
    """Return (reference, when and where it was said, the statement word for word) of editions, amendments with them."""
    found = []
    for edition_id in edition_ids:
        words, edtf, statement, where = connection.execute(
            "SELECT stated_words, stated_edtf, statement, published_in FROM edition WHERE id = ?", (edition_id,)
        ).fetchone()
        said = ", ".join(filter(None, (words or edtf, where)))
        amended = connection.execute(
            "SELECT made_words, made_edtf, words FROM edition_amendment WHERE edition_id = ? ORDER BY id", (edition_id,)
        ).fetchall()
        later = "".join(f" / amended {made or when or ''}: {rule}" for made, when, rule in amended)
        found.append((format_reference("edition", edition_id), said, statement + later))
    return found
