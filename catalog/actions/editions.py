"""Editions: opening, amending, holding, closing and withdrawing them; sizes and prices."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import select

from catalog import clock
from catalog.actions._ledger_desk import who
from catalog.actions._print_sources import promises_of
from catalog.actions.desk import AT_DESK, Date, Desk, at_desk, called, get_record, join_phrases, recorded
from catalog.actions.facts import check_facts
from catalog.errors import EarlierPromiseError, RefusedError
from catalog.model import (
    Edition,
    EditionSheet,
    EditionState,
    ProofAllowance,
    Run,
    Sheet,
    Size,
    View,
)
from catalog.rules.editions import (
    CLOSED,
    EACH,
    HELD,
    OPEN,
    PLANNED,
    WITHDRAWN,
    RunPlan,
    SizePlan,
    art_limit_warning,
    check_step,
    copies_in_words,
    plan_runs,
)
from catalog.rules.ledger import Hold, standing
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.ledger import read_number_entries, read_standing
from catalog.store.writing import Writing


@dataclass(frozen=True, slots=True)
class Opened:
    """An edition that was opened, amended or given a size, and what to warn of."""

    edition_id: int
    warnings: tuple[str, ...] = ()


def open_edition(
    archive: Archive,
    view_id: int,
    *,
    statement: str,
    sizes: Sequence[SizePlan],
    sizes_count: str | None,
    limit: int | None,
    sheet_ids: Sequence[int],
    proofs: Sequence[tuple[str, int]] = (),
    title: str | None = None,
    stated: Date = None,
    published_in: str | None = None,
    process: str | None = None,
    crop: str | None = None,
    is_planned: bool = False,
    since: Date = None,
    knowing: frozenset[int] = frozenset(),
    desk: Desk = AT_DESK,
) -> Opened:
    """
    Open an edition of a view, or with ``is_planned`` write its plan down, and return it.

    ``statement`` is kept word for word. ``limit`` is ``None`` for an open edition. ``since`` is when it was
    opened, otherwise the day of its statement.

    Raises:
        RefusedError: how sizes count was not said, or a sheet does not hold the view.
        EarlierPromiseError: the view has an edition that ``knowing`` does not name; the person is asked.
    """
    runs = plan_runs(sizes, limit=limit, sizes_count=sizes_count, proofs=proofs)
    with at_desk(archive, "editions open", desk) as writing:
        get_record(writing.session, View, view_id)
        _ask_about_earlier(writing, view_id, knowing, _difference(writing, view_id, process, crop))
        _refuse_other_view(writing, view_id, sheet_ids)
        facts = {"statement": statement, "title": title, "published_in": published_in, "process": process, "crop": crop}
        edition = Edition(
            view_id=view_id, sizes_count=sizes_count or EACH, stated=recorded(stated), **check_facts(Edition, facts)
        )  # fmt: skip
        writing.session.add(edition)
        writing.session.flush()
        for sheet_id in dict.fromkeys(sheet_ids):
            writing.session.add(EditionSheet(edition_id=edition.id, sheet_id=sheet_id))
        for run in runs:
            add_run(writing, edition.id, run)
        _add_state(writing, edition.id, PLANNED if is_planned else OPEN, since if since is not None else stated)
        writing.session.flush()
        promise = copies_in_words([run.limit for run in runs], proofs)
        writing.say(
            f"{'planned' if is_planned else 'opened'} an edition, {promise}: {called(writing, 'edition', edition.id)}"
        )
        return Opened(edition.id, art_warnings(writing, view_id))


def add_run(writing: Writing, edition_id: int, plan: RunPlan, amendment_id: int | None = None) -> int:
    """Add a run with its sizes and the proofs declared for it, and return its id."""
    run = Run(edition_id=edition_id, limit_count=plan.limit, amendment_id=amendment_id)
    writing.session.add(run)
    writing.session.flush()
    for size in plan.sizes:
        writing.session.add(Size(run_id=run.id, **check_facts(Size, size_facts(size))))
    for kind, count in plan.proofs:
        writing.session.add(ProofAllowance(run_id=run.id, kind=kind, allowed=count, amendment_id=amendment_id))
    return run.id


def size_facts(size: SizePlan) -> dict[str, str | None]:
    """Return a planned size as its row has it."""
    return {"name": size.name, "image": size.image, "paper": size.paper}


def _add_state(writing: Writing, edition_id: int, state: str, since: Date, words: str | None = None) -> None:
    writing.session.add(
        EditionState(edition_id=edition_id, state=state, since=recorded(since), words=words, noted_at=clock.timestamp())
    )


# ---- earlier promises


def _editions_of(writing: Writing, view_id: int) -> list[Edition]:
    return list(writing.session.scalars(select(Edition).where(Edition.view_id == view_id).order_by(Edition.id)))


def _difference(writing: Writing, view_id: int, process: str | None, crop: str | None) -> str:
    """Return what is new about another edition of a view, as the question puts it."""
    earlier = _editions_of(writing, view_id)
    if not earlier:
        return ""
    others = [
        word
        for word, given, known in (
            ("process", process, {edition.process for edition in earlier}),
            ("crop", crop, {edition.crop for edition in earlier}),
        )
        if given not in known
    ]
    kind = f"with another {' and another '.join(others)}" if others else "with the same process and crop"
    return f"This view has an edition already; this would be one more, {kind}."


def _ask_about_earlier(writing: Writing, view_id: int, knowing: frozenset[int], what: str) -> None:
    unknown = [edition.id for edition in _editions_of(writing, view_id) if edition.id not in knowing]
    if unknown:
        raise EarlierPromiseError(what, promises_of(writing.raw, unknown))


def _refuse_other_view(writing: Writing, view_id: int, sheet_ids: Sequence[int]) -> None:
    if not sheet_ids:
        raise RefusedError("Name the sheets the edition is printed from. Nothing was changed.")
    for sheet_id in sheet_ids:
        sheet = get_record(writing.session, Sheet, sheet_id)
        if view_id not in {each.view_id for each in sheet.views}:
            view = called(writing, "view", view_id)
            raise RefusedError(
                f"{format_reference('sheet', sheet_id)} does not hold the view {view}. Nothing was changed."
            )


def art_warnings(writing: Writing, view_id: int) -> tuple[str, ...]:
    """Return what to warn of when the copies of a view are counted as the EU counts them."""
    writing.session.flush()
    limits, proofs = limits_of_view(writing, view_id)
    warning = art_limit_warning(limits, proofs)
    return (warning,) if warning else ()


def limits_of_view(writing: Writing, view_id: int) -> tuple[list[int | None], int]:
    """
    Return how many copies of a view its runs allow, and how many proofs beside them.

    Of an edition that ended, only the numbers that were given count: there can be no more.
    """
    rows = writing.raw.execute(_COPIES, (view_id,)).fetchall()
    return [row[0] for row in rows], sum(row[1] for row in rows)


_COPIES = """
    SELECT CASE WHEN state IN ('closed', 'withdrawn')
            THEN (SELECT count(*) FROM print_number WHERE run_id = run AND series = 'numbered') ELSE limit_count END,
        CASE WHEN state IN ('closed', 'withdrawn')
            THEN (SELECT count(*) FROM print_number WHERE run_id = run AND series <> 'numbered')
            ELSE (SELECT ifnull(sum(allowed), 0) FROM proof_allowance WHERE run_id = run) END
    FROM (SELECT r.id AS run, r.limit_count, (SELECT state FROM edition_state WHERE edition_id = e.id
            ORDER BY id DESC LIMIT 1) AS state
        FROM run r JOIN edition e ON e.id = r.edition_id WHERE e.view_id = ?)
"""


# ---- states


def set_edition_state(
    archive: Archive,
    edition_id: int,
    state: str,
    *,
    since: Date = None,
    words: str | None = None,
    knowing: frozenset[int] = frozenset(),
    desk: Desk = AT_DESK,
) -> Opened:
    """
    Open, hold, close or withdraw an edition.

    Raises:
        RefusedError: its state does not allow it, or promises are open when it is to be closed or withdrawn.
        EarlierPromiseError: opening a planned one, when the view has others that ``knowing`` does not name.
    """
    verb = {OPEN: "open", HELD: "hold", CLOSED: "close", WITHDRAWN: "withdraw"}[state]
    with at_desk(archive, f"editions {verb}", desk) as writing:
        edition = get_record(writing.session, Edition, edition_id)
        what = called(writing, "edition", edition_id)
        now = current_state(writing, edition_id)
        check_step(now, state, what)
        if state in (CLOSED, WITHDRAWN):
            _refuse_open_promises(writing, edition_id, what, verb)
        if now == PLANNED and state == OPEN:
            _ask_about_earlier(
                writing, edition.view_id, knowing | {edition_id}, "This view has another edition already."
            )  # fmt: skip
        _add_state(writing, edition_id, state, since, words)
        date = recorded(since)
        writing.say(join_phrases(f"edition {state}: {what}", date.words or date.edtf, words))
        return Opened(edition_id, art_warnings(writing, edition.view_id) if state == OPEN else ())


def current_state(writing: Writing, edition_id: int) -> str:
    """Return the state an edition is in."""
    row = writing.raw.execute(
        "SELECT state FROM edition_state WHERE edition_id = ? ORDER BY id DESC LIMIT 1", (edition_id,)
    ).fetchone()
    return row[0] if row else PLANNED


def _refuse_open_promises(writing: Writing, edition_id: int, what: str, verb: str) -> None:
    told = []
    for written, hold in _holds(writing.raw, edition_id):
        if not hold.is_over(clock.today().toordinal()):
            told.append(f"{written} {hold.kind} to {who(writing.raw, hold.person_id)}")
    if told:
        raise RefusedError(
            f"{what} cannot be {'closed' if verb == 'close' else 'withdrawn'} while promises are open: "
            f"{'; '.join(told)}. Keep them or release them first; nothing was changed."
        )


_HELD_PRINTS = """
    SELECT n.written, p.id FROM run r CROSS JOIN print_number n ON n.run_id = r.id
    CROSS JOIN print p ON p.print_number_id = n.id CROSS JOIN print_standing t ON t.print_id = p.id
    WHERE r.edition_id = ? AND t.hold IS NOT NULL AND t.state NOT IN ('replaced', 'never made') ORDER BY n.id
"""
_HELD_NUMBERS = """
    SELECT DISTINCT n.written, n.id FROM run r CROSS JOIN print_number n ON n.run_id = r.id
    CROSS JOIN ledger_entry e ON e.print_number_id = n.id
    WHERE r.edition_id = ? AND NOT EXISTS (SELECT 1 FROM print WHERE print_number_id = n.id AND life <> 'void')
    ORDER BY n.id
"""


def _holds(connection: sqlite3.Connection, edition_id: int) -> Iterator[tuple[str, Hold]]:
    """Yield the promises and reservations of an edition, on prints and on numbers not pulled yet."""
    for written, print_id in connection.execute(_HELD_PRINTS, (edition_id,)).fetchall():
        hold = read_standing(connection, print_id).hold
        if hold is not None:
            yield written, hold
    for written, number_id in connection.execute(_HELD_NUMBERS, (edition_id,)).fetchall():
        hold = standing(read_number_entries(connection, number_id)).hold
        if hold is not None:
            yield written, hold
