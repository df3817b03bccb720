"""Amendments of editions: dated changes of rule, a size added, and the price list."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select

from catalog import clock
from catalog.actions._print_sources import promises_of
from catalog.actions.desk import AT_DESK, Date, Desk, at_desk, called, get_record, recorded
from catalog.actions.editions import Opened, add_run, art_warnings, current_state, size_facts
from catalog.actions.facts import check_facts
from catalog.errors import EarlierPromiseError, NotFoundError, RefusedError
from catalog.model import Edition, EditionAmendment, FormerLimit, PriceStep, ProofAllowance, Run, Size
from catalog.rules.editions import CLOSED, EACH, WITHDRAWN, RunPlan, SizePlan, check_proofs, plan_runs
from catalog.rules.money import Money
from catalog.rules.print_numbers import FRACTION, NUMBERED, SERIAL
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.writing import Writing


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
        _refuse_ended(writing, edition_id, what)
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
        is_of_copies = limit is not None or is_open_now or bool(proofs)
        return Opened(edition_id, art_warnings(writing, edition.view_id) if is_of_copies else ())


def _refuse_ended(writing: Writing, edition_id: int, what: str) -> None:
    state = current_state(writing, edition_id)
    if state in (CLOSED, WITHDRAWN):
        raise RefusedError(f"{what} is {state}, for good: its buyers were told so. Nothing was changed.")


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
        _keep_former(writing, amendment_id, run.id, NUMBERED, run.limit_count)
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


def _keep_former(writing: Writing, amendment_id: int, run_id: int, series: str, limit: int | None) -> None:
    """Keep what a run declared until now: it stands on the prints numbered before, and old ledgers have it."""
    if limit is not None:
        writing.session.add(FormerLimit(amendment_id=amendment_id, run_id=run_id, series=series, limit_count=limit))


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
    _keep_former(writing, amendment_id, run_id, kind, before)
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
        RefusedError: the edition has this size, is closed, or ``limit`` does not fit how its sizes count.
    """
    with at_desk(archive, "editions add-size", desk) as writing:
        edition = get_record(writing.session, Edition, edition_id)
        what = called(writing, "edition", edition_id)
        _refuse_ended(writing, edition_id, what)
        runs = _runs_of(writing, edition_id, None)
        _refuse_known_size(writing, runs, size, what)
        _check_new_limit(edition, runs, size, limit, what)
        if edition_id not in knowing:
            raise EarlierPromiseError(f"A size is to be added to {what}.", promises_of(writing.raw, [edition_id]))
        facts = check_facts(EditionAmendment, {"words": words})
        amendment = EditionAmendment(
            edition_id=edition_id, made=recorded(made), changed=f"size {size.name} added", noted_at=clock.timestamp(),
            **facts,
        )  # fmt: skip
        writing.session.add(amendment)
        writing.session.flush()
        if edition.sizes_count == EACH:
            add_run(writing, edition_id, RunPlan((size,), limit), amendment.id)
        else:
            writing.session.add(Size(run_id=runs[0].id, **check_facts(Size, size_facts(size))))
        writing.say(f"added the size {size.name} to {what}")
        return Opened(edition_id, art_warnings(writing, edition.view_id))


def _check_new_limit(edition: Edition, runs: Sequence[Run], size: SizePlan, limit: int | None, what: str) -> None:
    if edition.sizes_count != EACH:
        if limit is not None:
            raise RefusedError(f"{what} counts all sizes in one run: a new size has no limit of its own.")
        return
    plan_runs([size], limit=limit, sizes_count=EACH)
    if limit is None and any(run.limit_count is not None for run in runs):
        raise RefusedError(
            f"{what} has a run for each size, with a limit. Say --limit N, how many there may be of the new one. "
            "Nothing was changed."
        )


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
            of_size = get_record(writing.session, Size, size_id).run_id
            runs = [run for run in runs if run.id == of_size]
            if not runs:
                raise RefusedError(f"The run named has no such size; it is one of {format_reference('run', of_size)}.")
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
