"""``tiebeam prints resale-right``: what a resale may owe the artist by the published bands, for information."""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING, Any

import click

from catalog.cli._print_words import typed_money
from catalog.cli.common import archive_option, json_option, print_json, print_table
from catalog.errors import RefusedError
from catalog.rules.money import Money, format_money

if TYPE_CHECKING:
    from catalog.dates import EdtfDate
    from catalog.rules.resale_right import Royalty
    from catalog.store.archive import Archive

NO_ADVICE = (
    "For information, and no legal advice: whether a resale owes anything depends on who sells, through whom and "
    "where. Where it matters, ask a lawyer."
)


@click.command("resale-right")
@click.argument("price", metavar="PRICE")
@click.option("--sold", metavar="DATE", help="When it was resold.")
@click.option("--bought", metavar="DATE", help="When the seller had it from the artist.")
@click.option("--threshold", metavar="AMOUNT", help="The lowest price that owes anything, where a state has its own.")
@archive_option
@json_option
def resale_right(
    archive: Archive, *, price: str, sold: str | None, bought: str | None, threshold: str | None, as_json: bool
) -> None:
    """Tell what a resale at PRICE (without tax; EUR or GBP) gives by the published bands. For information only."""
    from catalog.rules.resale_right import EU, UK, resale_royalty

    money, least = typed_money(archive, price), typed_money(archive, threshold)
    laws = {law.currency: law for law in (EU, UK)}
    if money is None or money.currency not in laws:
        raise RefusedError(f"Bands are known in {' and '.join(laws)}; turn {price!r} into one of them first.")
    if least is not None and least.currency != money.currency:
        raise RefusedError(f"The threshold is in {least.currency}, the price in {money.currency}.")
    found = resale_royalty(
        money.minor, laws[money.currency], sold=_date(archive, sold), bought_from_artist=_date(archive, bought),
        threshold_minor=None if least is None else least.minor,
    )  # fmt: skip
    if as_json:
        print_json(_item(found))
    else:
        _tell(found)


def _date(archive: Archive, text: str | None) -> EdtfDate | None:
    from catalog.cli.typed_dates import typed_date
    from catalog.dates import parse_edtf

    recorded = typed_date(archive, text) if text else None
    return None if recorded is None or recorded.edtf is None else parse_edtf(recorded.edtf)


def _item(found: Royalty) -> dict[str, Any]:
    return {
        "law": found.law.name,
        "cites": found.law.cites,
        "currency": found.law.currency,
        "price_minor": found.price_minor,
        "amount_minor": found.amount_minor,
        "is_owed": found.is_owed,
        "reason": found.reason,
        "bands": [{"price_minor": part.price_minor, "rate_per_10000": part.rate_per_10000} for part in found.parts],
        "note": NO_ADVICE,
    }


def _tell(found: Royalty) -> None:
    law = found.law
    price, amount = Money(found.price_minor, law.currency), Money(found.amount_minor, law.currency)
    click.echo(f"{law.name}, {law.cites}: a resale at {price} gives {amount} ({found.reason}).")
    if not found.parts and law.currency == "EUR":
        click.echo("A member state may have a lower threshold of its own: say it with --threshold.")
    print_table(
        ["part", "rate", "gives"],
        [
            [format_money(part.price_minor, law.currency), f"{part.rate_per_10000 / 100:g} %",
             format_money(floor(part.amount_minor + Fraction(1, 2)), law.currency)]
            for part in found.parts
        ],
    )  # fmt: skip
    click.echo(NO_ADVICE)
