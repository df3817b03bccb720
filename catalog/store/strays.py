"""Strays: the scans that belong to no sheet yet, each with the sheets it may be of, likeliest first."""

from __future__ import annotations

import sqlite3
from array import array
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalog.rules.references import format_reference
from catalog.rules.scan_names import NumberIndex, check_pattern, match_name, number_key
from catalog.rules.stray_candidates import (
    BY_SUBJECT,
    BY_SUBJECT_AND_YEAR,
    TAKEN_OFF,
    StrayWords,
    Suggestion,
    best_of,
    in_order,
    keys_within,
    names_said,
    suggested_by_numbers,
    year_said,
)
from catalog.store.archive import Archive
from catalog.store.find import FoundFrame, Question
from catalog.store.frame_runs import FrameRun, read_run
from catalog.store.two_frames import frames_by_id, run_of

MOST_CANDIDATES = 40
_OF_ONE_SUBJECT = 20
"""So many sheets of a building that a name mentions are proposed; the rest are found by asking."""


@dataclass(frozen=True, slots=True)
class StrayRow:
    """A scan that waits for a sheet. The field names are the columns' own."""

    id: int
    path: str
    drive_name: str | None
    state: str
    damage: str | None
    scanned_edtf: str | None
    scanned_words: str | None
    description: str | None
    is_taken_off: int
    """Whether a person took it off a sheet, so that its name no longer decides."""

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return format_reference("scan", self.id)

    @property
    def name(self) -> str:
        """The file's name alone."""
        return self.path.rpartition("/")[2]

    @property
    def said(self) -> StrayWords:
        """What its file says of itself."""
        return StrayWords(self.name, self.path.rpartition("/")[0], self.description or "")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A sheet that a stray may be of, and why; the frame tells what it shows and when."""

    frame: FoundFrame
    why: str
    was_taken_off: bool = False

    @property
    def scans(self) -> tuple[int, ...]:
        """The scans that the sheet has already."""
        return tuple(scan.id for scan in self.frame.scans)


_IDS = """
    SELECT c.id FROM scan c WHERE NOT EXISTS (SELECT 1 FROM scan_part p WHERE p.scan_id = c.id) ORDER BY c.id
"""
_TAKEN_OFF = """
    FROM deed_change h JOIN deed e ON e.id = h.deed_id
    WHERE h.record_table = 'scan_part' AND h.change = 'removed' AND e.kind = 'scans unmatch'
    AND e.undone_by_id IS NULL AND json_extract(h.before, '$.scan_id') = {scan}
"""
_ROWS = f"""
    SELECT c.id, f.path, d.name, f.state, f.damage, c.scanned_edtf, c.scanned_words, c.description,
        EXISTS (SELECT 1 {_TAKEN_OFF.format(scan="c.id")})
    FROM scan c JOIN file f ON f.id = c.file_id LEFT JOIN drive d ON d.id = f.drive_id
    WHERE c.id IN (SELECT value FROM json_each(?))
"""
_NAMES = {
    "building": "SELECT id, name FROM building UNION ALL SELECT building_id, name FROM building_name",
    "place": "SELECT id, name FROM place UNION ALL SELECT place_id, name FROM place_name",
}


def stray_ids(connection: sqlite3.Connection) -> Sequence[int]:
    """Return the scans that belong to no sheet, in the order they were registered."""
    return array("q", [row[0] for row in connection.execute(_IDS)])


def stray_rows(connection: sqlite3.Connection, scan_ids: Iterable[int]) -> tuple[StrayRow | None, ...]:
    """Return scans as rows, in the order given; ``None`` stands for one that is gone."""
    ids = list(scan_ids)
    rows = {row[0]: StrayRow(*row) for row in connection.execute(_ROWS, (str(ids),))}
    return tuple(rows.get(scan) for scan in ids)


def sheets_of_scan(connection: sqlite3.Connection, scan_id: int) -> tuple[int, ...]:
    """Return the sheets that a scan shows; a stray shows none."""
    rows = connection.execute("SELECT sheet_id FROM scan_part WHERE scan_id = ? ORDER BY id", (scan_id,))
    return tuple(row[0] for row in rows)


def sheets_taken_off(connection: sqlite3.Connection, scan_id: int) -> tuple[int, ...]:
    """Return the sheets that a person took a scan off."""
    rows = connection.execute(
        f"SELECT DISTINCT json_extract(h.before, '$.sheet_id') {_TAKEN_OFF.format(scan='?')}", (scan_id,)
    )
    return tuple(row[0] for row in rows)


def why_waiting(connection: sqlite3.Connection, archive: Archive, rows: Iterable[StrayRow]) -> dict[int, str]:
    """Return why each of some strays waits, as ``tiebeam scans unmatched`` says it."""
    strays = list(rows)
    pattern = check_pattern(archive.settings.scans_number_pattern)
    index = numbers_within(connection, [row.name for row in strays])
    told = {}
    for row in strays:
        match = match_name(row.name, index, pattern)
        told[row.id] = (
            "a person took it off its sheet" if row.is_taken_off else match.why or "its number has come since"
        )
    return told


_FEW_PARTS = 12


def numbers_within(connection: sqlite3.Connection, texts: Iterable[str]) -> NumberIndex:
    """
    Return the index of those numbers of the archive that stand in one of the texts.

    What it says of these texts is what the index of every number says; that one takes hundreds of megabytes for a
    million sheets.
    """
    wanted = keys_within(texts)
    parts = sorted({part for key in wanted for part in key}, key=lambda part: -len(part))
    statement, values = "SELECT sheet_id, text FROM sheet_number", list(parts)
    if not parts:
        return NumberIndex()
    if len(parts) <= _FEW_PARTS:
        # A number that can stand in the text leaves nothing once the text's parts, and its zeros, are taken out.
        left = "folded"
        for _ in parts:
            left = f"replace({left}, ?, '')"
        statement += f" WHERE replace({left}, '0', '') NOT GLOB '*[a-z1-9]*'"
    else:
        values = []
    rows = connection.execute(f"{statement} ORDER BY sheet_id, id", values)
    return NumberIndex.of((sheet, text) for sheet, text in rows if number_key(text) in wanted)


def candidates_of(connection: sqlite3.Connection, archive: Archive, row: StrayRow) -> tuple[Candidate, ...]:
    """
    Return the sheets that a stray may be of, likeliest first, each with the reason.

    Raises:
        SettingsError: the pattern for numbers in names is none.
    """
    pattern = check_pattern(archive.settings.scans_number_pattern)
    said = row.said
    # The embedded words of a scan may be a whole page; beyond this they say nothing of one sheet.
    index = numbers_within(connection, [said.name, said.embedded[:500]])
    said = StrayWords(said.name, said.folders, said.embedded[:500])
    taken_off = sheets_taken_off(connection, row.id)
    found = suggested_by_numbers(said, index, pattern)
    found += _by_subjects(connection, archive, said)
    found += [Suggestion(sheet, TAKEN_OFF, "it was tied to this sheet before") for sheet in taken_off]
    return _told(connection, best_of(found), taken_off)


def _by_subjects(connection: sqlite3.Connection, archive: Archive, said: StrayWords) -> list[Suggestion]:
    """Return unscanned sheets of the buildings, else of the places, whose names a stray says."""
    year = year_said(said)
    for table in ("building", "place"):
        named = names_said(said, connection.execute(_NAMES[table]))
        found: list[Suggestion] = []
        for record, (name, where) in list(named.items())[:5]:
            verb = "say" if where.endswith("words") else "says"
            asked = {f"{table}_id": record, "is_unscanned": True, "about_days": archive.about_days}
            if year is not None:
                found += [
                    Suggestion(sheet, BY_SUBJECT_AND_YEAR, f"{where} {verb} {name}, and {year} is said")
                    for sheet in _dated(connection, asked, year)
                ]
            run = read_run(connection, Question(**asked))  # type: ignore[arg-type]
            found += [Suggestion(sheet, BY_SUBJECT, f"{where} {verb} {name}") for sheet in run.ids[:_OF_ONE_SUBJECT]]
        if found:
            return found
    return []


def _dated(connection: sqlite3.Connection, asked: Mapping[str, object], year: str) -> Sequence[int]:
    from catalog.dates import parse_edtf

    run = read_run(connection, Question(**asked, years=parse_edtf(year)))  # type: ignore[arg-type]
    return run.ids[:_OF_ONE_SUBJECT]


def _told(
    connection: sqlite3.Connection, found: Sequence[Suggestion], taken_off: Sequence[int]
) -> tuple[Candidate, ...]:
    frames = {frame.id: frame for frame in frames_by_id(connection, [one.sheet for one in found])}
    have_scans = [sheet for sheet, frame in frames.items() if frame.scans]
    ordered = [one for one in in_order(found, scanned=have_scans, taken_off=taken_off) if one.sheet in frames]
    return tuple(Candidate(frames[one.sheet], one.why, one.sheet in taken_off) for one in ordered[:MOST_CANDIDATES])


def find_sheets(connection: sqlite3.Connection, archive: Archive, typed: str) -> FrameRun:
    """Return the sheets that typed words find: a reference, a number, or words, as ``tiebeam find`` reads them."""
    from catalog.rules.references import parse_reference
    from catalog.store.asking import ask

    referred = parse_reference(typed)
    if referred is not None and referred[0] == "sheet" and frames_by_id(connection, [referred[1]]):
        return run_of([referred[1]])
    return read_run(connection, ask(connection, archive, words=(typed,)))
