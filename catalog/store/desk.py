"""The desk to read: what waits for the person, how many of each kind, and each of them as a line."""

from __future__ import annotations

import sqlite3
from array import array
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from catalog.dates import edtf_in_words, parse_edtf
from catalog.rules.film_risk import NITRATE_UNTIL, Film, Risk, film_risk
from catalog.rules.ledger import standing
from catalog.rules.references import TABLES, format_reference
from catalog.store.drives import drive_rows, files_on, sight_drives
from catalog.store.find import FoundFrame
from catalog.store.frame_runs import FrameRun, frames_of
from catalog.store.frame_words import shown_words
from catalog.store.ledger import read_number_entries
from catalog.store.wordings import IN_FORCE


@dataclass(frozen=True, slots=True)
class WaitingRow:
    """
    One thing that waits. ``reference`` is the record that opens, ``None`` for what has no card of its own.

    ``command`` settles it, where a command does and no card.
    """

    reference: str | None
    label: str
    words: str
    remark: str = ""
    command: str = ""


@dataclass(frozen=True, slots=True)
class Pile:
    """
    What waits of one kind: the ids of its records in the order to take them up.

    Of ``promises`` an id below nought is that of a print number, which has no print yet.
    """

    kind: str
    ids: Sequence[int]
    risks: tuple[Risk, ...] = ()
    """Of sheets that are not scanned: how many kinds of risk there are among them, the worst first."""

    def __len__(self) -> int:
        return len(self.ids)


# -- which records wait --------------------------------------------------------------------------------------------

_WORDS = f"""
    SELECT w.id FROM wording w WHERE w.card_row_id IS NOT NULL AND w.about = 'sheet' AND {IN_FORCE}
    ORDER BY w.about_id, w.id
"""
PILES = {
    "words": _WORDS,
    "questions": "SELECT id FROM open_question WHERE answer IS NULL ORDER BY id",
    "strays": "SELECT c.id FROM scan c WHERE NOT EXISTS (SELECT 1 FROM scan_part p WHERE p.scan_id = c.id)"
    " ORDER BY c.id",
    "damaged": "SELECT c.id FROM scan c JOIN file f ON f.id = c.file_id WHERE f.state <> 'present'"
    " ORDER BY f.state, c.id",
    "lab": "SELECT id FROM sheet WHERE fate = 'with lab' ORDER BY coalesce(fate_date_earliest, exposed_earliest), id",
    "overdue": "SELECT print_id FROM print_standing WHERE is_out = 1 AND due_latest < :today AND owner_id IS NULL"
    " ORDER BY due_latest, print_id",
    "pages": "SELECT a.id FROM document a WHERE a.state = 'voided' AND EXISTS (SELECT 1 FROM document_line l"
    " WHERE l.document_id = a.id AND NOT EXISTS (SELECT 1 FROM document_line m JOIN document b ON b.id = m.document_id"
    " WHERE m.print_id = l.print_id AND b.kind = a.kind AND b.id > a.id AND b.state = 'issued')) ORDER BY a.id",
    "deeds": "SELECT id FROM deed d WHERE state = 'interrupted' AND undone_by_id IS NULL"
    " AND NOT EXISTS (SELECT 1 FROM deed e WHERE e.kind = d.kind AND e.id > d.id AND e.state = 'done'"
    " AND e.undoes_id IS d.undoes_id) ORDER BY id",
}
"""The records of each kind that one statement finds; ``:today`` is a day as columns count them."""
UNSCANNED = """
    SELECT s.id, coalesce(s.base, f.base, g.base) AS base, s.medium, coalesce(f.tones, g.tones) AS tones, s.condition,
        s.exposed_earliest, s.exposed_latest
    FROM sheet s LEFT JOIN film_stock f ON f.id = s.film_id LEFT JOIN roll r ON r.id = s.roll_id
    LEFT JOIN film_stock g ON g.id = r.film_id
    WHERE s.fate IN ('exposed', 'doubly exposed')
        AND NOT EXISTS (SELECT 1 FROM scan_part p WHERE p.sheet_id = s.id)
"""
HELD = """
    SELECT print_id, held_until FROM print_standing WHERE hold = 'promised' OR (hold = 'reserved' AND held_until IS NOT
    NULL)
"""
HELD_BEFORE = """
    SELECT n.id FROM print_number n WHERE EXISTS (SELECT 1 FROM ledger_entry e WHERE e.print_number_id = n.id)
        AND NOT EXISTS (SELECT 1 FROM print p WHERE p.print_number_id = n.id AND p.life <> 'void') ORDER BY n.id
"""


def read_pile(connection: sqlite3.Connection, kind: str, today: int) -> Pile:
    """Return what waits of a kind; ``today`` is the day on the wall, as columns count days."""
    if kind == "unscanned":
        return _unscanned(connection)
    if kind == "promises":
        return Pile(kind, _promises(connection, today))
    found = connection.execute(PILES[kind], {"today": today})
    return Pile(kind, array("q", (row[0] for row in found)))


def count_pile(connection: sqlite3.Connection, kind: str, today: int) -> tuple[int, tuple[Risk, ...]]:
    """Return how many wait of a kind, and the risks of sheets that are not scanned, the worst first."""
    if kind != "unscanned":
        return len(read_pile(connection, kind, today)), ()
    found = _by_risk(connection, "count(*)", "GROUP BY 1 ORDER BY 1").fetchall()
    return sum(count for _, count in found), tuple(Risk(risk) for risk, _ in found)


def _unscanned(connection: sqlite3.Connection) -> Pile:
    """Return the sheets without a scan, the worst at risk first, then the oldest; undated ones last of their kind."""
    day = "coalesce(exposed_earliest, exposed_latest)"
    ids, risks = array("q"), set()
    for risk, sheet in _by_risk(connection, "id", f"ORDER BY 1, {day} IS NULL, {day}, id"):
        ids.append(sheet)
        risks.add(risk)
    return Pile("unscanned", ids, tuple(Risk(risk) for risk in sorted(risks)))


def _by_risk(connection: sqlite3.Connection, columns: str, order: str) -> sqlite3.Cursor:
    """Read the sheets without a scan with their risk before ``columns``; SQLite sorts, so that no row is kept here."""
    # Of a million sheets few differ in what their risk depends on; the day matters only where no base is known.
    connection.create_function("film_risk", 5, _risk, deterministic=True)
    day = f"CASE WHEN base IS NULL THEN min(exposed_earliest, {NITRATE_UNTIL + 1}) END"
    asked = f"base, medium, tones, condition, {day}"
    return connection.execute(f"SELECT film_risk({asked}), {columns} FROM ({UNSCANNED}) {order}")


@lru_cache(maxsize=4096)
def _risk(base: str | None, medium: str | None, tones: str | None, condition: str | None, earliest: int | None) -> int:
    return int(film_risk(Film(base, medium, tones, condition, earliest)))


def _promises(connection: sqlite3.Connection, today: int) -> array[int]:
    """Return the promises that are past their day, longest first, then those without a day; reservations run out."""
    found: list[tuple[bool, int, int]] = []
    held = [(number, until, True) for number, until in connection.execute(HELD)]
    for (number_id,) in connection.execute(HELD_BEFORE).fetchall():
        hold = standing(read_number_entries(connection, number_id)).hold
        if hold is not None and (hold.kind == "promised" or hold.until_edtf):
            held.append((-number_id, hold.until_edtf, False))
    for record_id, until, _ in held:
        last = parse_edtf(until).latest if until else None
        if until is None or (last is not None and last < today):
            found.append((until is None, last or 0, record_id))
    return array("q", (record_id for *_, record_id in sorted(found)))


# -- each as a line ------------------------------------------------------------------------------------------------


def waiting_rows(
    connection: sqlite3.Connection, pile: Pile, first: int, count: int, *, is_private: bool = False
) -> tuple[WaitingRow | None, ...]:
    """
    Return a stretch of a pile as lines; ``None`` stands for what is no longer there.

    Persons appear by reference; by name only when private.
    """
    ids = list(pile.ids[first : first + count])
    told = _LINES[pile.kind](connection, ids, is_private)
    return tuple(told.get(record_id) for record_id in ids)


def _listed(connection: sqlite3.Connection, statement: str, ids: Sequence[int]) -> Iterator[tuple[Any, ...]]:
    """Yield the rows of a statement for these ids, given to it as a JSON list."""
    return connection.execute(statement, (str(list(ids)),))


_OF = "IN (SELECT value FROM json_each(?))"
LINE_STATEMENTS = {
    "words": 'SELECT w.id, w.about_id, w.field, w.as_written, w.certainty, f.name, r."row" FROM wording w'
    f" JOIN card_row r ON r.id = w.card_row_id JOIN card_file f ON f.id = r.card_file_id WHERE w.id {_OF}",
    "questions": "SELECT q.id, q.about, q.about_id, q.text, q.ask, q.ask_id, p.name FROM open_question q"
    f" LEFT JOIN person p ON p.id = q.ask_id WHERE q.id {_OF}",
    "strays": "SELECT c.id, f.path, d.name, f.state, f.damage FROM scan c JOIN file f ON f.id = c.file_id"
    f" LEFT JOIN drive d ON d.id = f.drive_id WHERE c.id {_OF}",
    "sheets": "SELECT s.id, coalesce(s.base, f.base, g.base), s.medium, coalesce(f.tones, g.tones), s.condition,"
    " s.exposed_earliest, s.lab_id, p.name, s.fate_date_edtf FROM sheet s LEFT JOIN film_stock f ON f.id = s.film_id"
    " LEFT JOIN roll r ON r.id = s.roll_id LEFT JOIN film_stock g ON g.id = r.film_id"
    f" LEFT JOIN person p ON p.id = s.lab_id WHERE s.id {_OF}",
    "prints": "SELECT t.print_id, r.edition_id, n.written, t.state, t.custodian_id, c.name, t.due, t.hold,"
    " t.held_for_id, w.name, t.held_until FROM print_standing t JOIN print p ON p.id = t.print_id"
    " LEFT JOIN print_number n ON n.id = p.print_number_id LEFT JOIN run r ON r.id = n.run_id"
    " LEFT JOIN person c ON c.id = t.custodian_id LEFT JOIN person w ON w.id = t.held_for_id"
    f" WHERE t.print_id {_OF}",
    "numbers": "SELECT n.id, r.edition_id, n.written FROM print_number n JOIN run r ON r.id = n.run_id"
    f" WHERE n.id {_OF}",
    "pages": f"SELECT id, kind, substr(voided_at, 1, 10), voided_because FROM document WHERE id {_OF}",
    "deeds": f"SELECT id, kind, words, at, left_to_do FROM deed WHERE id {_OF}",
}
_FIELDS = {
    "exposed": "date", "aperture_f": "aperture", "shutter_s": "shutter", "holder_side": "holder",
    "taken_from": "taken from",
}  # fmt: skip


def _words(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    return {
        i: WaitingRow(
            format_reference("sheet", sheet), format_reference("sheet", sheet),
            f"{_FIELDS.get(field, field)} “{written}”",
            ", ".join(filter(None, (certainty if certainty != "possible" else "", f"{name}, row {row}"))),
        )
        for i, sheet, field, written, certainty, name, row in _listed(connection, LINE_STATEMENTS["words"], ids)
    }  # fmt: skip


def _questions(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    return {
        i: WaitingRow(
            format_reference("open_question", i), format_reference("open_question", i), text,
            ", ".join(filter(None, (
                f"about {format_reference(about, about_id)}" if about in TABLES else "",
                f"ask {ask or name}" if ask or ask_id else "nobody named to ask",
            ))),
        )
        for i, about, about_id, text, ask, ask_id, name in _listed(connection, LINE_STATEMENTS["questions"], ids)
    }  # fmt: skip


def _scans(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    rows = {}
    for i, path, drive, state, damage in _listed(connection, LINE_STATEMENTS["strays"], ids):
        folder, _, name = path.rpartition("/")
        told = [f"{state}: {damage}" if damage else state if state != "present" else "", f"on {drive}" if drive else "",
                f"in {folder}" if folder else ""]  # fmt: skip
        reference = format_reference("scan", i)
        rows[i] = WaitingRow(reference, reference, name, ", ".join(filter(None, told)))
    return rows


def _sheets(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    """Return sheets with their numbers and what they show, and how much they are at risk."""
    run = FrameRun(ids, bytearray(len(ids)))
    shown = {frame.id: frame for frame in frames_of(connection, run, 0, len(ids)) if frame is not None}
    rows = {}
    for i, base, medium, tones, condition, earliest, *_ in _listed(connection, LINE_STATEMENTS["sheets"], ids):
        risk = film_risk(Film(base, medium, tones, condition, earliest if base is None else None))
        kind = base if risk is Risk.LASTING and base else risk.words
        remark = f"{kind}; {condition}" if condition else kind
        rows[i] = WaitingRow(format_reference("sheet", i), _number(shown.get(i), i), _shows(shown.get(i)), remark)
    return rows


def _number(frame: FoundFrame | None, sheet_id: int) -> str:
    numbers = dict.fromkeys(text for text, _ in frame.numbers) if frame is not None else {}
    return ", ".join(numbers) or format_reference("sheet", sheet_id)


def _shows(frame: FoundFrame | None) -> str:
    if frame is None:
        return ""
    when = edtf_in_words(frame.exposed_edtf) if frame.exposed_edtf else "undated"
    return ", ".join(filter(None, (shown_words(frame), when)))


def _at_lab(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    run = FrameRun(ids, bytearray(len(ids)))
    shown = {frame.id: frame for frame in frames_of(connection, run, 0, len(ids)) if frame is not None}
    return {
        i: WaitingRow(
            format_reference("sheet", i), _number(shown.get(i), i), _shows(shown.get(i)),
            ", ".join(filter(None, (lab, f"since {edtf_in_words(since)}" if since else ""))),
        )
        for i, *_, lab, since in _listed(connection, LINE_STATEMENTS["sheets"], ids)
    }  # fmt: skip


def _who(person_id: int | None, name: str | None, is_private: bool) -> str:
    if person_id is None:
        return "the house"
    reference = format_reference("person", person_id)
    return f"{name} ({reference})" if is_private and name else reference


def _prints(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    rows = {}
    for i, edition, written, state, custodian_id, custodian, due, *_ in _listed(
        connection, LINE_STATEMENTS["prints"], ids
    ):
        reference = format_reference("print", i)
        named = f"{format_reference('edition', edition)} {written}" if edition else "print without a number"
        rows[i] = WaitingRow(
            reference, reference, f"{named}: {state}, with {_who(custodian_id, custodian, is_private)}",
            f"due {edtf_in_words(due)}",
        )  # fmt: skip
    return rows


def _held(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    rows = {}
    prints = [i for i in ids if i > 0]
    for i, edition, written, *_, hold, held_for_id, held_for, until in _listed(
        connection, LINE_STATEMENTS["prints"], prints
    ):
        reference = format_reference("print", i)
        named = f"{format_reference('edition', edition)} {written}" if edition else "print without a number"
        rows[i] = _promise(reference, reference, named, hold, _who(held_for_id, held_for, is_private), None, until)
    for n, edition, written in _listed(connection, LINE_STATEMENTS["numbers"], [-i for i in ids if i < 0]):
        held = standing(read_number_entries(connection, n)).hold
        if held is None:
            continue
        person = connection.execute("SELECT name FROM person WHERE id = ?", (held.person_id,)).fetchone()
        who = _who(held.person_id, person[0] if person else None, is_private)
        reference = format_reference("edition", edition)
        named = f"{reference} {written}, not pulled yet"
        rows[-n] = _promise(reference, reference, named, held.kind, who, held.since_edtf, held.until_edtf)
    return rows


def _promise(
    reference: str, label: str, named: str, hold: str, who: str, since: str | None, until: str | None
) -> WaitingRow:
    begun = f" since {edtf_in_words(since)}" if since else ""
    day = f"until {edtf_in_words(until)}: the day has passed" if until else "no day was set"
    return WaitingRow(reference, label, f"{named}: {hold} to {who}{begun}", day)


def _pages(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    return {
        i: WaitingRow(format_reference("document", i), format_reference("document", i), f"{kind}, voided {day}",
                      because if is_private and because else "")
        for i, kind, day, because in _listed(connection, LINE_STATEMENTS["pages"], ids)
    }  # fmt: skip


def _deeds(connection: sqlite3.Connection, ids: Sequence[int], is_private: bool) -> dict[int, WaitingRow]:
    return {
        i: WaitingRow(
            None, f"deed {i}", f"{kind}: {words}", at[:10],
            (left or "").removeprefix("Run: ") or f"To take back what it did: tiebeam undo {i}",
        )
        for i, kind, words, at, left in _listed(connection, LINE_STATEMENTS["deeds"], ids)
    }  # fmt: skip


_LINES: dict[str, Callable[[sqlite3.Connection, Sequence[int], bool], dict[int, WaitingRow]]] = {
    "words": _words,
    "questions": _questions,
    "strays": _scans,
    "damaged": _scans,
    "unscanned": _sheets,
    "lab": _at_lab,
    "overdue": _prints,
    "promises": _held,
    "pages": _pages,
    "deeds": _deeds,
}
KINDS = tuple(_LINES)
"""The kinds of things that the catalogue alone knows to wait."""


# -- what only the disks know --------------------------------------------------------------------------------------


def drives_away(connection: sqlite3.Connection) -> tuple[WaitingRow, ...]:
    """Return the drives that are not here now, or that two folders claim to be; it looks at the disks."""
    rows, files = drive_rows(connection), files_on(connection)
    found = []
    for sighting in sight_drives(rows).values():
        drive = sighting.drive
        if sighting.folder is not None:
            continue
        count = files.get(drive.id, 0)
        last = f"last seen {drive.last_seen_at[:10]} at {drive.last_path}"
        if sighting.is_unclear:
            alike = ", ".join(str(folder) for folder in sighting.others)
            last = f"{alike} carry its marker. Say which: tiebeam drives locate {drive.name} FOLDER"
        words = f"{drive.name}: {'1 file' if count == 1 else f'{count:,} files'} on it"
        found.append(WaitingRow(drive.reference, drive.reference, words, last))
    return tuple(found)


def has_scans(connection: sqlite3.Connection) -> bool:
    """Return True if any scan is registered: else there is no sidecar to look at."""
    return connection.execute("SELECT 1 FROM scan LIMIT 1").fetchone() is not None
