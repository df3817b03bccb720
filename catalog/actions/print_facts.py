"""What is said of a print itself: paper, inks, sources, signature. What happened to it is in the ledger."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any, TypedDict, Unpack

from catalog.actions._ledger_desk import (
    UNDATED,
    EntryFacts,
    Subject,
    at_ledger,
    subject_words,
    write_entry,
)
from catalog.actions._print_runs import run_of_number
from catalog.actions._print_sources import check_new_sources
from catalog.actions.desk import AT_DESK, Desk, join_phrases
from catalog.errors import NotFoundError, RefusedError
from catalog.model import RecordedDate
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
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
        now = facts_of_print(deed.raw, print_id)
        check_new_sources(deed, run_of_number(deed.raw, now["print_number_id"]), now, dict(facts), knowing)
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
    now = facts_of_print(deed.raw, print_id)
    check_new_sources(deed, run_of_number(deed.raw, now["print_number_id"]), now, facts, frozenset())
    return describe_within(deed, print_id, **facts)


_FACTS = (
    "print_number_id", "sheet_id", "view_id", "size_id", "version_id", "scan_id", "process", "image_size",
    "paper_size", "paper", "inks", "printer", "profile", "rendering_intent",
)  # fmt: skip


def facts_of_print(connection: sqlite3.Connection, print_id: int) -> dict[str, Any]:
    """Return what is said of a print that one in its place shares, if nothing else is said."""
    row = connection.execute(f"SELECT {', '.join(_FACTS)} FROM print WHERE id = ?", (print_id,)).fetchone()
    return dict(zip(_FACTS, row, strict=True))
