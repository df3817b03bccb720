"""Prints: pulling and replacing them, and giving print numbers."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any, Unpack

from catalog.actions._ledger_desk import (
    UNDATED,
    EntryFacts,
    Subject,
    at_ledger,
    date_columns,
    subject_words,
    who,
    write_entry,
)
from catalog.actions._print_runs import RunNow, get_run, give_number, place_of, run_of_number, size_of
from catalog.actions._print_sources import ask_about_process, check_new_sources, check_source, editions_shown
from catalog.actions.desk import AT_DESK, Desk
from catalog.actions.print_facts import PrintFacts, facts_of_print
from catalog.errors import LedgerError, RefusedError
from catalog.model import RecordedDate
from catalog.rules.editions import check_pulling
from catalog.rules.ledger import standing
from catalog.rules.print_numbers import NUMBERED
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.ledger import read_standing
from catalog.store.plain_writing import PlainDeed


@dataclass(frozen=True, slots=True)
class Pulled:
    """The prints that were pulled, and what is written on each."""

    print_ids: tuple[int, ...]
    written: tuple[str, ...]


def pull_prints(
    archive: Archive,
    run_id: int,
    *,
    series: str = NUMBERED,
    ordinal: int | None = None,
    count: int = 1,
    pulled: RecordedDate = UNDATED,
    knowing: frozenset[int] = frozenset(),
    desk: Desk = AT_DESK,
    connection: sqlite3.Connection | None = None,
    **facts: Unpack[PrintFacts],
) -> Pulled:
    """
    Pull prints of a run: each gets the number named, else the lowest that is neither given nor promised.

    Args:
        ordinal: the number, for one print alone.
        knowing: editions whose earlier promise the person has seen (another sheet of the same view asks first, and
            another process than the one that was promised).

    Raises:
        LedgerError: the number has a print, or the edition is not open.
        RefusedError: the run is full, the scan is reversed.
        EarlierPromiseError: the sheet is not one of the edition's, or the process not its own; the person is asked.
    """
    if count < 1 or (ordinal is not None and count > 1):
        raise RefusedError("Pull one print at least, and one only where its number is named. Nothing was changed.")
    with at_ledger(archive, "prints pull", desk, connection) as deed:
        run = get_run(deed.raw, run_id)
        given = _checked(deed, run, dict(facts), knowing)
        ask_about_process(deed.raw, [run.edition_id], facts.get("process"), knowing, pulled)
        made = [_pull_one(deed, run, place_of(deed.raw, run, series, ordinal), pulled, given) for _ in range(count)]
        deed.say(f"pulled {', '.join(f'{run.words} {written} (P{print_id})' for print_id, written in made)}")
    return Pulled(tuple(print_id for print_id, _ in made), tuple(written for _, written in made))


def _checked(deed: PlainDeed, run: RunNow, facts: dict[str, Any], knowing: frozenset[int]) -> dict[str, Any]:
    check_pulling(run.state, run.words)
    given = check_source(deed, run, facts, knowing)
    return {**given, "size_id": size_of(deed.raw, run, facts.get("size_id"))}


def pull_old_print(
    deed: PlainDeed, run_id: int, series: str, ordinal: int, pulled: RecordedDate, facts: dict[str, Any],
    *, as_written: str | None = None,
) -> int:  # fmt: skip
    """
    Pull the print of one number within an open deed, and return its id; every rule of ``pull_prints`` holds.

    ``as_written`` is what stands on a print that was numbered by a rule amended since.
    """
    run = get_run(deed.raw, run_id)
    given = _checked(deed, run, dict(facts), frozenset())
    place = place_of(deed.raw, run, series, ordinal)
    return _pull_one(deed, run, place, pulled, given, as_written=as_written)[0]


def _pull_one(
    deed: PlainDeed, run: RunNow, place: tuple[str, int], pulled: RecordedDate, facts: dict[str, Any],
    *, as_written: str | None = None,
) -> tuple[int, str]:  # fmt: skip
    number_id, written, is_new = give_number(deed, run, *place, as_written=as_written)
    if not is_new:
        _refuse_second(deed.raw, number_id)
    return _make(deed, number_id, pulled, facts, is_first=is_new), written


def _make(
    deed: PlainDeed, number_id: int | None, pulled: RecordedDate, facts: dict[str, Any], *, is_first: bool = False
) -> int:
    row = {column: value for column, value in facts.items() if value is not None}
    if number_id is not None:
        row["print_number_id"] = number_id
    print_id = deed.add("print", {**row, **date_columns("pulled", pulled)}, is_searched="markings" in row)
    if "pulled_by_id" in row:
        who(deed.raw, row["pulled_by_id"])
    entry = EntryFacts(date=pulled, person_id=row.get("pulled_by_id"))
    write_entry(deed, Subject(print_id=print_id), "pulled", entry, is_first=is_first)
    return print_id


def _refuse_second(connection: sqlite3.Connection, number_id: int) -> None:
    """Refuse a second print on a number, saying who has the first and since when."""
    row = connection.execute(
        "SELECT id, life FROM print WHERE print_number_id = ? AND life <> 'void' ORDER BY id DESC LIMIT 1", (number_id,)
    ).fetchone()
    if row is None:
        return
    print_id, life = row
    raise second_refused(connection, print_id, is_live=life == "live")


def second_refused(connection: sqlite3.Connection, print_id: int, *, is_live: bool) -> LedgerError:
    """Return the refusal of a number that a print carries already, naming where that one is."""
    what, now = subject_words(connection, Subject(print_id=print_id)), read_standing(connection, print_id)
    where = standing_words(connection, print_id)
    if is_live:
        return LedgerError(f"{what} is there already: it is {where}. A number is given once; nothing was changed.",
                           print_id)  # fmt: skip
    return LedgerError(
        f"{what} is {now.state}; only its replacement can carry its number: "
        f"tiebeam prints replace {format_reference('print', print_id)}. Nothing was changed.",
        print_id,
    )


def standing_words(connection: sqlite3.Connection, print_id: int) -> str:
    """Return where a print is, in words: ``consigned to Wennmouth Gallery (N2) since May 2021``."""
    from catalog.dates import edtf_in_words

    now = read_standing(connection, print_id)
    person = now.owner_id if now.state in ("sold", "given") else now.custodian_id
    to = {"sold": "to", "given": "to", "consigned": "to", "lent": "to", "on show": "with", "lost": "last with",
          "stolen": "last with"}.get(now.state)  # fmt: skip
    since = f"since {edtf_in_words(now.since_edtf)}" if now.since_edtf else "since a day not known"
    state = "in the house" if now.state == "in hand" else now.state
    return " ".join(part for part in (state, f"{to} {who(connection, person)}" if to else "", since) if part)


def pull_unnumbered(
    archive: Archive,
    *,
    pulled: RecordedDate = UNDATED,
    knowing: frozenset[int] = frozenset(),
    desk: Desk = AT_DESK,
    connection: sqlite3.Connection | None = None,
    **facts: Unpack[PrintFacts],
) -> int:
    """
    Write down a print without a number (an old print, a work print) and return its id.

    Raises:
        RefusedError: it is of no sheet and no view, or its scan is reversed.
        EarlierPromiseError: its view has an edition in another process; the person is asked.
    """
    with at_ledger(archive, "prints pull", desk, connection) as deed:
        editions = editions_shown(deed.raw, dict(facts))
        ask_about_process(deed.raw, editions, facts.get("process"), knowing, pulled)
        print_id = write_down_print(deed, pulled, dict(facts))
        deed.say(f"wrote down the {subject_words(deed.raw, Subject(print_id=print_id))}")
    return print_id


def write_down_print(deed: PlainDeed, pulled: RecordedDate, facts: dict[str, Any]) -> int:
    """Write down a print without a number within an open deed, and return its id; as ``pull_unnumbered``."""
    if facts.get("sheet_id") is None and facts.get("view_id") is None:
        raise RefusedError("Say of which sheet or view the print is. Nothing was changed.")
    return _make(deed, None, pulled, check_source(deed, None, facts, frozenset()))


def replace_print(
    archive: Archive,
    print_id: int,
    *,
    proof: str,
    pulled: RecordedDate = UNDATED,
    date: RecordedDate = UNDATED,
    knowing: frozenset[int] = frozenset(),
    desk: Desk = AT_DESK,
    connection: sqlite3.Connection | None = None,
    **facts: Unpack[PrintFacts],
) -> int:
    """
    Pull a print that takes the place and the number of one that came to its end, and return its id.

    ``proof`` says what shows the end of the first: a corner with the signature, a report. What is not said of the
    new print is as with the first.

    Raises:
        LedgerError: the first print's end is not written down.
        EarlierPromiseError: it is of another sheet or process than was promised; the person is asked.
    """
    with at_ledger(archive, "prints replace", desk, connection) as deed:
        what = subject_words(deed.raw, Subject(print_id=print_id))
        new_id = pull_replacement(deed, print_id, proof, pulled, date, dict(facts), knowing)
        editions = deed.raw.execute(_EDITION_OF, (new_id,)).fetchall()
        ask_about_process(deed.raw, [row[0] for row in editions], facts.get("process"), knowing, pulled)
        deed.say(f"replaced {what} by {format_reference('print', new_id)}: {proof.strip()}")
    return new_id


def pull_replacement(
    deed: PlainDeed, print_id: int, proof: str, pulled: RecordedDate, date: RecordedDate, facts: dict[str, Any],
    knowing: frozenset[int] = frozenset(),
) -> int:  # fmt: skip
    """Pull a print in the place of another within an open deed, and return its id; as ``replace_print``."""
    if not proof.strip():
        raise RefusedError("A replacement needs proof of the first print's end, in words. Nothing was changed.")
    first = facts_of_print(deed.raw, print_id)
    # The first must end before another carries its number, and its end names the one that will.
    following = next_id(deed.raw, "print")
    entry = EntryFacts(date=date, words=proof.strip(), replacement_id=following)
    write_entry(deed, Subject(print_id=print_id), "replaced", entry)
    check_new_sources(deed, run_of_number(deed.raw, first["print_number_id"]), first, facts, knowing)
    given = check_source(deed, None, {**first, **facts}, frozenset())
    return _make(deed, given.pop("print_number_id"), pulled, {**given, "id": following, "replaces_id": print_id})


_EDITION_OF = """
    SELECT r.edition_id FROM print p JOIN print_number n ON n.id = p.print_number_id JOIN run r ON r.id = n.run_id
    WHERE p.id = ?
"""


def next_id(connection: sqlite3.Connection, table: str) -> int:
    """Return the id that the next row of a table will have: none is given twice."""
    given = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
    return (given[0] if given else 0) + 1


__all__ = [
    "Pulled", "next_id", "pull_old_print", "pull_prints", "pull_replacement", "pull_unnumbered", "replace_print",
    "second_refused", "standing", "standing_words", "write_down_print",
]  # fmt: skip
