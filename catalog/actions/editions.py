"""Editions: opening, amending, holding, closing and withdrawing them; sizes and prices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select

from catalog import clock
from catalog.actions._print_sources import promises_of
from catalog.actions.desk import AT_DESK, Date, Desk, at_desk, called, get_record, join_phrases, recorded
from catalog.actions.facts import check_facts
from catalog.errors import EarlierPromiseError, NotFoundError, RefusedError
from catalog.model import (
    Edition,
    EditionAmendment,
    EditionSheet,
    EditionState,
    PriceStep,
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
    check_proofs,
    check_step,
    copies_in_words,
    plan_runs,
)
from catalog.rules.ledger import standing
from catalog.rules.money import Money
from catalog.rules.print_numbers import FRACTION, SERIAL
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.ledger import read_number_entries
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
            _add_run(writing, edition.id, run)
        _add_state(writing, edition.id, PLANNED if is_planned else OPEN, since if since is not None else stated)
        writing.session.flush()
        promise = copies_in_words([run.limit for run in runs], proofs)
        writing.say(
            f"{'planned' if is_planned else 'opened'} an edition, {promise}: {called(writing, 'edition', edition.id)}"
        )
        return Opened(edition.id, _warnings(writing, view_id))


def _add_run(writing: Writing, edition_id: int, plan: RunPlan, amendment_id: int | None = None) -> int:
    run = Run(edition_id=edition_id, limit_count=plan.limit, amendment_id=amendment_id)
    writing.session.add(run)
    writing.session.flush()
    for size in plan.sizes:
        writing.session.add(Size(run_id=run.id, **check_facts(Size, _size_facts(size))))
    for kind, count in plan.proofs:
        writing.session.add(ProofAllowance(run_id=run.id, kind=kind, allowed=count, amendment_id=amendment_id))
    return run.id


def _size_facts(size: SizePlan) -> dict[str, str | None]:
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


def _warnings(writing: Writing, view_id: int) -> tuple[str, ...]:
    writing.session.flush()
    limits, proofs = limits_of_view(writing, view_id)
    warning = art_limit_warning(limits, proofs)
    return (warning,) if warning else ()


def limits_of_view(writing: Writing, view_id: int) -> tuple[list[int | None], int]:
    """Return the limits of every run of a view, withdrawn ones aside, and how many proofs were declared with them."""
    rows = writing.raw.execute(
        "SELECT r.limit_count, (SELECT ifnull(sum(allowed), 0) FROM proof_allowance WHERE run_id = r.id) FROM run r"
        " JOIN edition e ON e.id = r.edition_id WHERE e.view_id = ? AND (SELECT state FROM edition_state"
        " WHERE edition_id = e.id ORDER BY id DESC LIMIT 1) IS NOT 'withdrawn'",
        (view_id,),
    ).fetchall()
    return [row[0] for row in rows], sum(row[1] for row in rows)


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
        return Opened(edition_id, _warnings(writing, edition.view_id) if state == OPEN else ())


def current_state(writing: Writing, edition_id: int) -> str:
    """Return the state an edition is in."""
    row = writing.raw.execute(
        "SELECT state FROM edition_state WHERE edition_id = ? ORDER BY id DESC LIMIT 1", (edition_id,)
    ).fetchone()
    return row[0] if row else PLANNED


def _refuse_open_promises(writing: Writing, edition_id: int, what: str, verb: str) -> None:
    held = writing.raw.execute(
        "SELECT n.written, t.hold, w.name, w.id FROM print_standing t JOIN print p ON p.id = t.print_id"
        " JOIN print_number n ON n.id = p.print_number_id JOIN run r ON r.id = n.run_id"
        " JOIN person w ON w.id = t.held_for_id WHERE r.edition_id = ? AND t.hold IS NOT NULL ORDER BY n.id",
        (edition_id,),
    ).fetchall()
    numbers = writing.raw.execute(
        "SELECT DISTINCT n.id, n.written FROM ledger_entry e JOIN print_number n ON n.id = e.print_number_id"
        " JOIN run r ON r.id = n.run_id WHERE r.edition_id = ? AND NOT EXISTS"
        " (SELECT 1 FROM print WHERE print_number_id = n.id AND life <> 'void') ORDER BY n.id",
        (edition_id,),
    ).fetchall()
    told = [f"{written} {hold} to {name} (N{person})" for written, hold, name, person in held]
    for number_id, written in numbers:
        hold = standing(read_number_entries(writing.raw, number_id)).hold
        if hold is not None:
            name = called(writing, "person", hold.person_id) if hold.person_id else "somebody"
            told.append(f"{written} {hold.kind} to {name}")
    if told:
        raise RefusedError(
            f"{what} cannot be {'closed' if verb == 'close' else 'withdrawn'} while promises are open: "
            f"{'; '.join(told)}. Keep them or release them first; nothing was changed."
        )


# ---- changes of rule


def amend_edition(
    archive: Archive,
    edition_id: int,
    *,
    words: str,
    made: Date = None,
    published_in: str | None = None,
    limit: int | None = None,
    is_open_now: bool = False,
    numbering: str | None = None,
    proofs: Sequence[tuple[str, int]] = (),
    run_id: int | None = None,
    desk: Desk = AT_DESK,
) -> Opened:
    """
    Amend an edition: a dated change of rule in its exact words. Prints numbered before keep what is written on them.

    Args:
        limit: the new limit; ``is_open_now`` gives the limit up instead.
        numbering: ``serial`` from now on, or ``fraction`` again.
        proofs: kinds and how many are declared from now on.
        run_id: which run, if not all.

    Raises:
        RefusedError: more numbers were given than the new limit, or nothing was said.
    """
    with at_desk(archive, "editions amend", desk) as writing:
        edition = get_record(writing.session, Edition, edition_id)
        what = called(writing, "edition", edition_id)
        if current_state(writing, edition_id) in (CLOSED, WITHDRAWN):
            raise RefusedError(f"{what} is {current_state(writing, edition_id)}, for good. Nothing was changed.")
        facts = check_facts(EditionAmendment, {"words": words, "published_in": published_in})
        amendment = EditionAmendment(
            edition_id=edition_id, made=recorded(made), changed="", noted_at=clock.timestamp(), **facts
        )  # fmt: skip
        writing.session.add(amendment)
        writing.session.flush()
        changed = []
        for run in _runs_of(writing, edition_id, run_id):
            changed += _amend_run(writing, run, amendment.id, limit, is_open_now, numbering, proofs)
        amendment.changed = "; ".join(dict.fromkeys(changed)) or "the statement"
        writing.session.flush()
        writing.say(f"amended {what}: {amendment.changed}")
        return Opened(edition_id, _warnings(writing, edition.view_id) if limit is not None or is_open_now else ())


def _runs_of(writing: Writing, edition_id: int, run_id: int | None) -> list[Run]:
    runs = list(writing.session.scalars(select(Run).where(Run.edition_id == edition_id).order_by(Run.id)))
    if run_id is None:
        return runs
    chosen = [run for run in runs if run.id == run_id]
    if not chosen:
        raise NotFoundError(f"{format_reference('edition', edition_id)} has no run {format_reference('run', run_id)}.")
    return chosen


def _amend_run(
    writing: Writing, run: Run, amendment_id: int, limit: int | None, is_open_now: bool, numbering: str | None,
    proofs: Sequence[tuple[str, int]],
) -> list[str]:  # fmt: skip
    changed = []
    if (limit is not None and limit != run.limit_count) or (is_open_now and run.limit_count is not None):
        given = writing.raw.execute(
            "SELECT max(ordinal) FROM print_number WHERE run_id = ? AND series = 'numbered'", (run.id,)
        ).fetchone()[0]
        if limit is not None and (limit < 1 or limit < (given or 0)):
            raise RefusedError(
                f"Number {given or 1} was given already: the limit cannot be {limit}. Nothing was changed."
            )
        changed.append(f"limit {_limit_words(run.limit_count)} to {_limit_words(limit)}")
        run.limit_count = limit
        run.amendment_id = amendment_id
    if numbering is not None and numbering != run.numbering:
        changed.append(
            "serial numbers from now on" if numbering == SERIAL else "numbers written with their limit again"
        )
        run.numbering = numbering if numbering == SERIAL else FRACTION
        run.amendment_id = amendment_id
    for kind, count in proofs:
        changed += _amend_proofs(writing, run.id, amendment_id, kind, count)
    return changed


def _limit_words(limit: int | None) -> str:
    return "none" if limit is None else str(limit)


def _amend_proofs(writing: Writing, run_id: int, amendment_id: int, kind: str, count: int) -> list[str]:
    check_proofs(kind, count)
    given = writing.raw.execute(
        "SELECT max(ordinal) FROM print_number WHERE run_id = ? AND series = ?", (run_id, kind)
    ).fetchone()[0]
    if count < (given or 0):
        raise RefusedError(f"{given} {kind} were numbered already; {count} cannot be declared. Nothing was changed.")
    known = writing.session.scalar(
        select(ProofAllowance).where(ProofAllowance.run_id == run_id, ProofAllowance.kind == kind)
    )
    if known is None:
        writing.session.add(ProofAllowance(run_id=run_id, kind=kind, allowed=count, amendment_id=amendment_id))
        return [f"{count} {kind} declared"]
    if known.allowed == count:
        return []
    before, known.allowed, known.amendment_id = known.allowed, count, amendment_id
    return [f"{kind} {before} to {count}"]


def add_size(
    archive: Archive,
    edition_id: int,
    size: SizePlan,
    *,
    words: str,
    made: Date = None,
    limit: int | None = None,
    knowing: frozenset[int] = frozenset(),
    desk: Desk = AT_DESK,
) -> Opened:
    """
    Add a size to an edition, by an amendment in its exact words.

    Where each size has a run of its own, the new one gets one with ``limit``; where one run counts all sizes, the
    promise stays as it is.

    Raises:
        EarlierPromiseError: what was promised is shown first, unless ``knowing`` names the edition.
        RefusedError: the edition has this size, or ``limit`` does not fit how its sizes count.
    """
    with at_desk(archive, "editions add-size", desk) as writing:
        edition = get_record(writing.session, Edition, edition_id)
        what = called(writing, "edition", edition_id)
        if edition_id not in knowing:
            raise EarlierPromiseError(f"A size is to be added to {what}.", promises_of(writing.raw, [edition_id]))
        runs = _runs_of(writing, edition_id, None)
        _refuse_known_size(writing, runs, size, what)
        if edition.sizes_count != EACH and limit is not None:
            raise RefusedError(f"{what} counts all sizes in one run: a new size has no limit of its own.")
        facts = check_facts(EditionAmendment, {"words": words})
        amendment = EditionAmendment(
            edition_id=edition_id, made=recorded(made), changed=f"size {size.name} added", noted_at=clock.timestamp(),
            **facts,
        )  # fmt: skip
        writing.session.add(amendment)
        writing.session.flush()
        if edition.sizes_count == EACH:
            _add_run(writing, edition_id, RunPlan((size,), limit), amendment.id)
        else:
            writing.session.add(Size(run_id=runs[0].id, **check_facts(Size, _size_facts(size))))
        writing.say(f"added the size {size.name} to {what}")
        return Opened(edition_id, _warnings(writing, edition.view_id))


def _refuse_known_size(writing: Writing, runs: Sequence[Run], size: SizePlan, what: str) -> None:
    names = writing.session.scalars(select(Size.name).where(Size.run_id.in_([run.id for run in runs])))
    if size.name.strip().casefold() in {name.casefold() for name in names}:
        raise RefusedError(f"{what} has a size {size.name!r} already. Nothing was changed.")


def set_price(
    archive: Archive,
    edition_id: int,
    price: Money | None,
    *,
    from_sold: int = 0,
    run_id: int | None = None,
    size_id: int | None = None,
    desk: Desk = AT_DESK,
) -> None:
    """
    Set what a print costs from so many sold on; a price that is ``None`` takes that step out of the list.

    Raises:
        RefusedError: there is no such step to take out.
    """
    with at_desk(archive, "editions price", desk) as writing:
        what = called(writing, "edition", edition_id)
        runs = _runs_of(writing, edition_id, run_id)
        if size_id is not None:
            runs = [run for run in runs if run.id == get_record(writing.session, Size, size_id).run_id]
        for run in runs:
            step = writing.session.scalar(
                select(PriceStep).where(
                    PriceStep.run_id == run.id,
                    PriceStep.size_id.is_(size_id) if size_id is None else PriceStep.size_id == size_id,
                    PriceStep.from_sold == from_sold,
                )
            )
            _set_step(writing, run.id, size_id, from_sold, step, price, what)
        told = str(price) if price else "no price"
        writing.say(f"price list of {what}: {told} from {from_sold} sold on")


def _set_step(
    writing: Writing, run_id: int, size_id: int | None, from_sold: int, step: PriceStep | None, price: Money | None,
    what: str,
) -> None:  # fmt: skip
    if price is None:
        if step is None:
            raise RefusedError(f"{what} has no price from {from_sold} sold on. Nothing was changed.")
        writing.session.delete(step)
    elif step is None:
        writing.session.add(
            PriceStep(
                run_id=run_id, size_id=size_id, from_sold=from_sold, price_minor=price.minor, currency=price.currency
            )
        )
    else:
        step.price_minor, step.currency = price.minor, price.currency
