"""Parts that several documents share: whom they are for, the edition's promise, prints listed with their sums."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from catalog.errors import RefusedError
from catalog.outputs.document_facts import Amendment, Party, PrintLine
from catalog.outputs.document_pages import Column, Pages
from catalog.rules.counting import counted
from catalog.rules.money import Money, totals

_LINE_COLUMNS: Final = (
    Column("Print", 10),
    Column("Number", 14),
    Column("Title", 60),
    Column("Condition", 37),
)


def set_address(pages: Pages, to: Party) -> None:
    """Set the address, then the title."""
    pages.address(to.name, to.address)
    pages.title()


def set_promise(pages: Pages, statement: str, dated: str, amendments: Sequence[Amendment]) -> None:
    """Set the statement of the edition, if there is one, and what was amended since."""
    if not statement:
        return
    pages.subtitle("Statement of the edition" + (f", {dated}" if dated else ""))
    pages.paragraph(statement, field="the edition's statement", style="quote")
    for amendment in amendments:
        changed = f" ({amendment.changed})" if amendment.changed else ""
        when = amendment.date or "on a day not recorded"
        pages.paragraph(f"Amended {when}{changed}: {amendment.words}", field="the amendment")


def set_terms(pages: Pages, sentences: Sequence[str]) -> None:
    """Set the terms, a paragraph each."""
    for sentence in sentences:
        pages.paragraph(sentence, field="the terms")


def set_prints(pages: Pages, lines: Sequence[PrintLine], heading: str, amounts: Sequence[Money | None]) -> None:
    """Set the prints that are handed over, each with its condition and an amount, and their sum."""
    columns = (*_LINE_COLUMNS, Column(heading, 23, is_amount=True))
    rows = [
        (line.reference, line.number, described(line), line.condition or "not recorded", amount_words(money))
        for line, money in zip(lines, amounts, strict=True)
    ]
    pages.table(columns, rows, totals=_sum_lines([money for money in amounts if money is not None]))


def value_totals(lines: Sequence[PrintLine]) -> list[tuple[str, str]]:
    """Return the sums of the values in words, one a currency."""
    return _sum_lines([line.value for line in lines if line.value is not None])


def _sum_lines(amounts: Sequence[Money]) -> list[tuple[str, str]]:
    return [("Together", str(each)) for each in totals(amounts)]


def sums_of_values(lines: Sequence[PrintLine]) -> tuple[Money, ...]:
    """Return the sums of the values, one a currency."""
    return totals(line.value for line in lines if line.value is not None)


def amount_words(money: Money | None) -> str:
    """Return an amount in words."""
    return "not recorded" if money is None else str(money)


def described(line: PrintLine) -> str:
    """Return a print in words for a table: its title and date, then what it is made of."""
    first = joined(line.title, line.date)
    image, sheet = (size.replace(" ", "\u00a0") for size in (line.image_size, line.paper_size))
    second = joined(
        line.process, line.paper, image and f"image\u00a0{image}", sheet and f"sheet\u00a0{sheet}",
        f"marked {line.markings}" if line.markings else "",
    )  # fmt: skip
    return f"{first}\n{second}" if second else first


def joined(*parts: str) -> str:
    """Join what is not empty by commas."""
    return ", ".join(part for part in parts if part)


def over_two(first: str, second: str) -> str:
    """Return words over two lines of a table's cell, or over one where there is no second."""
    return f"{first}\n{second}" if second else first


def since_words(line: PrintLine) -> str:
    """Return since when a print is there, and below it whether it was signed for."""
    is_theirs = bool(line.owner) and line.owner == line.custodian  # what is their own they need not sign for
    return over_two(line.since or "not recorded", line.signed_for or ("" if is_theirs else "not signed for"))


def count_words(lines: Sequence[PrintLine]) -> str:
    """Return how many prints these are, in words."""
    return counted(len(lines), "print")


def refuse_empty(reference: str, lines: Sequence[PrintLine]) -> None:
    """
    See that there is a print to list.

    Raises:
        RefusedError: there is none.
    """
    if not lines:
        raise RefusedError(f"{reference}: there is no print to list. Nothing was issued.")
