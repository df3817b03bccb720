"""
What a resale may owe the artist: the published bands, for information only.

This is no legal advice: whether a sale owes anything at all depends on who sells, through whom, and where.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from catalog.dates.days import calendar_day, month_length, ordinal
from catalog.dates.value import EdtfDate
from catalog.errors import RefusedError
from catalog.rules.money import format_money


@dataclass(frozen=True, slots=True)
class ResaleLaw:
    """
    One law's bands. Amounts are whole minor units (cents, pence) of ``currency``.

    A band is (upper end, hundredths of a percent); the last has no upper end. ``threshold_minor`` is the lowest
    price that owes anything; ``exempt_up_to_minor`` is the highest price that owes nothing when the seller had
    the work from the artist not ``exempt_years`` ago, ``None`` where no such rule is known here.
    """

    name: str
    cites: str
    currency: str
    threshold_minor: int
    cap_minor: int
    bands: tuple[tuple[int | None, int], ...]
    years_after_death: int
    exempt_up_to_minor: int | None = None
    exempt_years: int = 3


@dataclass(frozen=True, slots=True)
class BandPart:
    """What one band adds: the part of the price that falls in it, its rate, and the exact amount of both."""

    price_minor: int
    rate_per_10000: int
    amount_minor: Fraction


@dataclass(frozen=True, slots=True)
class Royalty:
    """
    What the bands give for one resale.

    ``amount_minor`` is rounded to the nearest minor unit, half up; ``exact_minor`` is before rounding.
    ``is_owed`` is ``None`` when the dates cannot settle an exemption; the amount is then what would be owed.
    """

    law: ResaleLaw
    price_minor: int
    amount_minor: int
    exact_minor: Fraction
    parts: tuple[BandPart, ...]
    is_owed: bool | None
    reason: str


# Directive 2001/84/EC art. 4; the UK's bands are the same figures in pounds.
_BANDS: Final = ((50_000_00, 400), (200_000_00, 300), (350_000_00, 100), (500_000_00, 50), (None, 25))
EU: Final = ResaleLaw(
    name="European Union",
    cites="Directive 2001/84/EC",
    currency="EUR",
    # From memory: a member state sets its own threshold, at most 3,000 euros (art. 3), and may take 5 % first (art. 4).
    threshold_minor=3_000_00,
    cap_minor=12_500_00,
    bands=_BANDS,
    years_after_death=70,
)
UK: Final = ResaleLaw(
    name="United Kingdom",
    cites="Artist's Resale Right Regulations 2006 as amended by SI 2023/1285",
    currency="GBP",
    threshold_minor=1_000_00,
    cap_minor=12_500_00,
    bands=_BANDS,
    years_after_death=70,
    exempt_up_to_minor=10_000_00,
)
_POUNDS_SINCE: Final = ordinal(2024, 4, 1)  # SI 2023/1285; before, prices were reckoned in euros


def resale_royalty(
    price_minor: int,
    law: ResaleLaw,
    *,
    sold: EdtfDate | None = None,
    bought_from_artist: EdtfDate | None = None,
    threshold_minor: int | None = None,
) -> Royalty:
    """
    Return what a resale at ``price_minor`` (without tax) gives by the bands of ``law``.

    ``bought_from_artist`` is when the seller had the work from the artist; ``threshold_minor`` is a member
    state's own, where it is lower than the law's.

    Raises:
        RefusedError: the price is negative, or a sale in pounds may be older than the bands in pounds.

    Source: check values in tests/rules/test_resale_right.py; docs/standards/resale-right.md.
    """
    if price_minor < 0:
        raise RefusedError(f"A resale at {price_minor} minor units is no price; give what was paid.")
    _check_sale(law, sold)
    threshold = law.threshold_minor if threshold_minor is None else threshold_minor
    parts = _parts(price_minor, law)
    exact = min(sum((part.amount_minor for part in parts), Fraction(0)), Fraction(law.cap_minor))
    if price_minor < threshold:
        return Royalty(law, price_minor, 0, Fraction(0), (), False, f"below the threshold of {_money(threshold, law)}")
    exempt = _is_exempt(price_minor, law, sold, bought_from_artist)
    if exempt:
        why = f"bought from the artist within {law.exempt_years} years, and not above {_limit(law)}"
        return Royalty(law, price_minor, 0, Fraction(0), (), False, why)
    amount = (exact + Fraction(1, 2)).__floor__()
    if exempt is None:
        why = f"nothing, if it was bought from the artist within {law.exempt_years} years; the dates do not settle it"
        return Royalty(law, price_minor, amount, exact, parts, None, why)
    capped = f"the most that is owed, {_money(law.cap_minor, law)}" if exact == law.cap_minor else "by the bands"
    return Royalty(law, price_minor, amount, exact, parts, True, capped)


def _parts(price_minor: int, law: ResaleLaw) -> tuple[BandPart, ...]:
    found, lower = [], 0
    for upper, rate in law.bands:
        within = (price_minor if upper is None else min(price_minor, upper)) - lower
        if within <= 0:
            break
        found.append(BandPart(within, rate, Fraction(within * rate, 10_000)))
        lower += within
    return tuple(found)


def _check_sale(law: ResaleLaw, sold: EdtfDate | None) -> None:
    if law.currency == "GBP" and sold is not None and (sold.earliest is None or sold.earliest < _POUNDS_SINCE):
        raise RefusedError(
            f"A sale of {sold.text} in the United Kingdom may be older than 1 April 2024, when the bands were in "
            "euros. Turn the price into euros at the rate of that day and ask with the European Union's bands."
        )


def _is_exempt(
    price_minor: int, law: ResaleLaw, sold: EdtfDate | None, bought_from_artist: EdtfDate | None
) -> bool | None:
    """Return True if the seller had it from the artist lately enough, None if the dates cannot say."""
    if law.exempt_up_to_minor is None or price_minor > law.exempt_up_to_minor or bought_from_artist is None:
        return False
    bought, sale = bought_from_artist, sold
    if sale is None or None in (bought.earliest, bought.latest, sale.earliest, sale.latest):
        return None
    assert bought.earliest is not None
    assert bought.latest is not None
    assert sale.earliest is not None
    assert sale.latest is not None
    if bought.doubt or sale.doubt:
        return None
    if sale.latest < _years_later(bought.earliest, law.exempt_years):
        return True
    if sale.earliest >= _years_later(bought.latest, law.exempt_years):
        return False
    return None


def _years_later(day: int, years: int) -> int:
    year, month, number = calendar_day(day)
    return ordinal(year + years, month, min(number, month_length(year + years, month)))


def _money(minor: int, law: ResaleLaw) -> str:
    return format_money(minor, law.currency)


def _limit(law: ResaleLaw) -> str:
    return _money(law.exempt_up_to_minor or 0, law)
