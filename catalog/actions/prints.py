"""Prints: pulling, signing, replacing and describing them, and giving print numbers."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any, TypedDict, Unpack

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
from catalog.actions._print_runs import RunNow, get_run, give_number, place_of, size_of
from catalog.actions._print_sources import ask_about_process, check_new_sources, check_source, editions_shown
from catalog.actions.desk import AT_DESK, Desk, join_phrases
from catalog.errors import LedgerError, NotFoundError, RefusedError
from catalog.model import RecordedDate
from catalog.rules.editions import check_pulling
from catalog.rules.ledger import standing
from catalog.rules.print_numbers import NUMBERED
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.ledger import read_standing
from catalog.store.plain_writing import PlainDeed


class PrintFacts(TypedDict, total=False):
    """What may be said of a print. ``pulled_by_id`` is ``None`` for the photographer's own hand."""

    sheet_id: int | None
    view_id: int | None
    size_id: int | None
    version_id: int | None
    scan_id: int | None
    process: str | None
    image_size: str | None
    paper_size: str | None
    paper: str | None
    inks: str | None
    printer: str | None
    profile: str | None
    rendering_intent: str | None
    pulled_by_id: int | None
    markings: str | None


@dataclass(frozen=True, slots=True)
class Signature:
    """Where a print is signed and with what; an estate's stamp is not the photographer's hand."""

    where: str | None = None
    with_: str | None = None
    is_estate_stamp: bool | None = None


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


def sign_print(
    archive: Archive,
    print_id: int,
    signature: Signature,
    *,
    date: RecordedDate = UNDATED,
    person_id: int | None = None,
    desk: Desk = AT_DESK,
    connection: sqlite3.Connection | None = None,
) -> None:
    """Write down that a print was signed, where and with what; ``person_id`` is who, if not the photographer."""
    subject = Subject(print_id=print_id)
    with at_ledger(archive, "prints sign", desk, connection) as deed:
        what = subject_words(deed.raw, subject)
        told = write_signed(deed, print_id, signature, date, person_id)
        deed.say(join_phrases(f"signed {what}", told))


def write_signed(
    deed: PlainDeed, print_id: int, signature: Signature, date: RecordedDate, person_id: int | None = None
) -> str:
    """Write within an open deed that a print was signed, and return how, in words."""
    told = join_phrases(
        "estate stamp" if signature.is_estate_stamp else None,
        signature.where,
        f"with {signature.with_}" if signature.with_ else None,
    )
    entry = EntryFacts(date=date, person_id=person_id, words=told or None)
    write_entry(deed, Subject(print_id=print_id), "signed", entry)
    stamp = None if signature.is_estate_stamp is None else int(signature.is_estate_stamp)
    describe_within(deed, print_id, signed_where=signature.where, signed_with=signature.with_, is_estate_stamp=stamp)
    return told


def describe_print(
    archive: Archive,
    print_id: int,
    *,
    knowing: frozenset[int] = frozenset(),
    desk: Desk = AT_DESK,
    **facts: Unpack[PrintFacts],
) -> None:
    """
    Correct what is said of a print itself (paper, inks, markings ...); what happened to it is in the ledger.

    A text that is ``None`` is taken away.

    Raises:
        RefusedError: nothing was given, it says so already, the scan is reversed, or what is named is of another sheet.
        EarlierPromiseError: the sheet is not one of the edition's; the person is asked.
    """
    with at_ledger(archive, "prints correct", desk) as deed:
        what = subject_words(deed.raw, Subject(print_id=print_id))
        now = _first(deed.raw, print_id)
        check_new_sources(deed, _run_of(deed.raw, now["print_number_id"]), now, dict(facts), knowing)
        changed = describe_within(deed, print_id, is_given=True, **facts)
        if not changed:
            raise RefusedError(f"{what} says so already, or nothing to correct was given. Nothing was changed.")
        deed.say(f"corrected {what}: {', '.join(name.removesuffix('_id').replace('_', ' ') for name in changed)}")


def describe_within(deed: PlainDeed, print_id: int, *, is_given: bool = False, **columns: Any) -> list[str]:
    """Set columns of a print and return those that changed; without ``is_given`` a ``None`` leaves what is there."""
    cursor = deed.raw.execute("SELECT * FROM print WHERE id = ?", (print_id,))
    row = cursor.fetchone()
    if row is None:
        raise NotFoundError(f"There is no print {format_reference('print', print_id)}. Nothing was changed.")
    now = dict(zip([column[0] for column in cursor.description], row, strict=True))
    changed = {
        name: value for name, value in columns.items() if now[name] != value and (is_given or value is not None)
    }  # fmt: skip
    if changed:
        settings = ", ".join(f"{name} = :{name}" for name in changed)
        deed.raw.execute(f"UPDATE print SET {settings} WHERE id = :id", {**changed, "id": print_id})
        deed.record_change("print", print_id, "changed", {name: now[name] for name in changed}, changed)
    return list(changed)


def fill_in(deed: PlainDeed, print_id: int, facts: dict[str, Any]) -> list[str]:
    """Set what is not known of a print yet within an open deed, and return what changed; as ``describe_print``."""
    now = _first(deed.raw, print_id)
    check_new_sources(deed, _run_of(deed.raw, now["print_number_id"]), now, facts, frozenset())
    return describe_within(deed, print_id, **facts)


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
    first = _first(deed.raw, print_id)
    # The first must end before another carries its number, and its end names the one that will.
    following = next_id(deed.raw, "print")
    entry = EntryFacts(date=date, words=proof.strip(), replacement_id=following)
    write_entry(deed, Subject(print_id=print_id), "replaced", entry)
    check_new_sources(deed, _run_of(deed.raw, first["print_number_id"]), first, facts, knowing)
    given = check_source(deed, None, {**first, **facts}, frozenset())
    return _make(deed, given.pop("print_number_id"), pulled, {**given, "id": following, "replaces_id": print_id})


_AS_FIRST = (
    "print_number_id", "sheet_id", "view_id", "size_id", "version_id", "scan_id", "process", "image_size",
    "paper_size", "paper", "inks", "printer", "profile", "rendering_intent",
)  # fmt: skip


_EDITION_OF = """
    SELECT r.edition_id FROM print p JOIN print_number n ON n.id = p.print_number_id JOIN run r ON r.id = n.run_id
    WHERE p.id = ?
"""


def _run_of(connection: sqlite3.Connection, number_id: int | None) -> RunNow | None:
    if number_id is None:
        return None
    run_id = connection.execute("SELECT run_id FROM print_number WHERE id = ?", (number_id,)).fetchone()[0]
    return get_run(connection, run_id)


def _first(connection: sqlite3.Connection, print_id: int) -> dict[str, Any]:
    row = connection.execute(f"SELECT {', '.join(_AS_FIRST)} FROM print WHERE id = ?", (print_id,)).fetchone()
    return dict(zip(_AS_FIRST, row, strict=True))


def next_id(connection: sqlite3.Connection, table: str) -> int:
    """Return the id that the next row of a table will have: none is given twice."""
    given = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
    return (given[0] if given else 0) + 1


__all__ = [
    "PrintFacts", "Pulled", "Signature", "describe_print", "describe_within", "fill_in", "next_id", "pull_old_print",
    "pull_prints", "pull_replacement", "pull_unnumbered", "replace_print", "second_refused", "sign_print", "standing",
    "standing_words", "write_down_print", "write_signed",
]  # fmt: skip
