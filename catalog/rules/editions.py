"""Editions: how sizes count, in what state an edition is, what a law counts, what a print costs as the run sells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalog.errors import RefusedError
from catalog.rules.money import Money
from catalog.rules.print_numbers import PROOFS, format_series

PLANNED, OPEN, HELD, CLOSED, WITHDRAWN = "planned", "open", "held", "closed", "withdrawn"
EDITION_STATES = (PLANNED, OPEN, HELD, CLOSED, WITHDRAWN)
ACROSS, EACH = "across sizes", "each size"
SIZES_COUNT = (ACROSS, EACH)
SIZES_COUNT_WORDS = {
    ACROSS: "one run, all sizes counted together",
    EACH: "a run of its own for each size",
}
"""How sizes count."""

_MAY_BECOME = {
    PLANNED: (OPEN, WITHDRAWN),
    OPEN: (HELD, CLOSED, WITHDRAWN),
    HELD: (OPEN, CLOSED, WITHDRAWN),
    CLOSED: (),
    WITHDRAWN: (),
}
EU_LIMIT = 30
"""
Copies of a photograph, all sizes and mounts together, beyond which it is no work of art for value added tax.

Source: Council Directive 2006/112/EC, Annex IX, part A, point 7; Court of Justice, C-145/18, 5 September 2019.
"""


@dataclass(frozen=True, slots=True)
class SizePlan:
    """A size as an edition declares it. Measures are words as the statement has them (``40 x 50 cm``)."""

    name: str
    image: str | None = None
    paper: str | None = None


@dataclass(frozen=True, slots=True)
class RunPlan:
    """What one limit counts: its sizes, the limit (``None`` is open), and the proofs declared by kind."""

    sizes: tuple[SizePlan, ...]
    limit: int | None
    proofs: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class PriceStep:
    """From how many prints sold on a price holds."""

    from_sold: int
    price: Money


def plan_runs(
    sizes: Sequence[SizePlan], *, limit: int | None, sizes_count: str | None, proofs: Sequence[tuple[str, int]] = ()
) -> tuple[RunPlan, ...]:
    """
    Return the runs that an edition has, by how its sizes count.

    Raises:
        RefusedError: it was not said how sizes count, a number is not one, a size or a kind of proof is named twice.
    """
    if sizes_count not in SIZES_COUNT:
        raise RefusedError(
            "Say how sizes count: one run across sizes, or a run for each size. "
            "Buyers will be told so; nothing was changed."
        )
    if limit is not None and limit < 1:
        raise RefusedError(f"An edition of {limit} prints is none. Leave the limit out for an open edition.")
    if not sizes:
        raise RefusedError("An edition needs at least one size.")
    _refuse_twice([size.name.casefold() for size in sizes], "size")
    _refuse_twice([kind for kind, _ in proofs], "kind of proof")
    for kind, count in proofs:
        check_proofs(kind, count)
    if sizes_count == ACROSS:
        return (RunPlan(tuple(sizes), limit, tuple(proofs)),)
    return tuple(RunPlan((size,), limit, tuple(proofs)) for size in sizes)


def check_proofs(kind: str, count: int) -> None:
    """
    See that an allowance of proofs can be declared.

    Raises:
        RefusedError: the kind is none of the trade's, or the count is no number of prints.
    """
    if kind not in PROOFS:
        raise RefusedError(f"{kind!r} is no kind of proof. There are: {', '.join(PROOFS)}.")
    if count < 0:
        raise RefusedError(f"{count} is no number of proofs.")


def _refuse_twice(names: Sequence[str], what: str) -> None:
    twice = next((name for i, name in enumerate(names) if name in names[:i]), None)
    if twice is not None:
        raise RefusedError(f"The {what} {twice!r} is named twice. Nothing was changed.")


def check_step(state: str, to: str, what: str) -> None:
    """
    See that an edition may pass from one state to another.

    Raises:
        RefusedError: it may not.
    """
    if to in _MAY_BECOME[state]:
        return
    if state == to:
        raise RefusedError(f"{what} is {state} already. Nothing was changed.")
    if not _MAY_BECOME[state]:
        raise RefusedError(f"{what} is {state}, for good: its buyers were told so. Nothing was changed.")
    raise RefusedError(f"{what} is {state} and cannot become {to}. Nothing was changed.")


def check_pulling(state: str, what: str) -> None:
    """
    See that prints may be pulled for an edition in this state.

    Raises:
        RefusedError: it is not open.
    """
    if state == OPEN:
        return
    then = {PLANNED: "Open it first.", HELD: "Open it again first."}.get(state, "No print of it can be made any more.")
    raise RefusedError(f"{what} is {state}. {then} Nothing was changed.")


def check_promising(state: str, what: str) -> None:
    """
    See that a number of an edition may be promised before it is pulled.

    Raises:
        RefusedError: no print of it can be made any more.
    """
    if state in (CLOSED, WITHDRAWN):
        raise RefusedError(f"{what} is {state}. No print of it can be made any more. Nothing was changed.")


def copies_in_words(limits: Sequence[int | None], proofs: Sequence[tuple[str, int]]) -> str:
    """
    Return what a run or several promise, in words.

    >>> copies_in_words([15], [("AP", 2)])
    "15 and 2 artist's proofs"
    """
    total = "an open number" if None in limits else str(sum(limit or 0 for limit in limits))
    said = [format_series(kind, count) for kind, count in proofs if count]
    return " and ".join([total, *([", ".join(said)] if said else [])])


def art_limit_warning(limits: Sequence[int | None], proofs: int) -> str | None:
    """
    Return a warning if the copies of one picture, all sizes and proofs counted, pass what the EU calls a work of art.

    ``limits`` are those of every run of every edition of the view.
    """
    if None in limits:
        return (
            f"An open edition counts as more than {EU_LIMIT} copies: under EU rules on value added tax a photograph "
            "is a work of art only up to that, all sizes and mounts together."
        )
    numbered = sum(limit or 0 for limit in limits)
    if numbered + proofs <= EU_LIMIT:
        return None
    return (
        f"With this, {numbered + proofs} copies of the view are allowed ({numbered} numbered, {proofs} proofs, all "
        f"sizes together); under EU rules on value added tax a photograph is a work of art only up to {EU_LIMIT}."
    )


def price_now(steps: Sequence[PriceStep], sold: int) -> Money | None:
    """
    Return what the next print costs when ``sold`` were sold already, or ``None`` where no price was set.

    >>> steps = [PriceStep(0, Money(60000, "EUR")), PriceStep(5, Money(80000, "EUR"))]
    >>> str(price_now(steps, 4)), str(price_now(steps, 5))
    ('600.00 EUR', '800.00 EUR')
    """
    reached = [step for step in steps if step.from_sold <= sold]
    return max(reached, key=lambda step: step.from_sold).price if reached else None


def offer_warning(offer: Money | None, last_sale: Money | None, what: str) -> str | None:
    """Return a warning if a print is offered or sold below the last sale of its run; currencies are not compared."""
    if offer is None or last_sale is None or offer.currency != last_sale.currency or offer.minor >= last_sale.minor:
        return None
    return f"{what}: {offer} is below the last sale of this run, {last_sale}."
