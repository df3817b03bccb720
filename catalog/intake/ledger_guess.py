"""A first mapping for an old ledger of prints nobody has described yet, and the questions it leaves open."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from catalog.intake.blocks import DITTO_MARKS
from catalog.intake.headings import Layout, lay_out
from catalog.intake.ledger_fields import DATES, FIELD_OF, HAPPENING, NAMED, NOT_BESIDE_WHAT, PERSONS, WHATS
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.old_ledgers import read_ledger_rows
from catalog.intake.proposals import UnreadableRow
from catalog.intake.table_mapping import ColumnUse
from catalog.intake.tables import Table
from catalog.rules.folding import fold
from catalog.rules.print_numbers import parse_number

_SAMPLE = 2_000
_MOST_QUESTIONS = 40
_SHORT_YEAR = re.compile(r"(?:^|[-/. '])\d{2}\??$")


@dataclass(frozen=True, slots=True)
class _Column:
    heading: str
    texts: tuple[str, ...]


def guess_ledger_mapping(table: Table, connection: sqlite3.Connection) -> tuple[LedgerMapping, tuple[str, ...]]:
    """
    Return a mapping for a table, and what a person should look at before it is trusted.

    Columns are told by the words of their headings, and by print numbers standing in them. What the rows would ask
    is asked here already, each question once.

    Raises:
        IntakeError: no headings can be found.
    """
    layout = lay_out(table, words=FIELD_OF)
    columns = _columns(layout)
    uses = _uses(columns)
    mapping = LedgerMapping(
        columns=uses,
        encoding=table.encoding if table.kind == "csv" else None,
        delimiter=table.delimiter if table.kind == "csv" else None,
        sheet=table.sheet,
        heading_row=layout.heading_row,
    )
    questions = _about_columns(columns, uses)
    file = read_ledger_rows(table, mapping, connection)
    asked = Counter(
        (question.heading, question.found, question.reason, question.remedy)
        for each in file.prints
        for question in (*each.questions, *each.troubles)
    )
    for (heading, found, reason, remedy), count in asked.most_common(_MOST_QUESTIONS):
        joint = "" if reason.startswith(",") else " "
        questions.append(f"{heading!r}: {found!r} ({count}){joint}{reason}. {remedy}".rstrip())
    titles = dict.fromkeys(
        trouble.found
        for each in file.prints
        for trouble in each.troubles
        if trouble.field in ("edition", "title") and trouble.kind == "unknown name"
    )
    for (heading, title), count in _titles_of_nothing(file.unreadable, uses).most_common(_MOST_QUESTIONS):
        titles[title] = None
        questions.append(
            f"{heading!r}: {title!r} ({count}) names no edition or view of the catalogue. "
            "If it does, say which under [editions]."
        )
    return replace(mapping, editions=dict.fromkeys(titles, "")), tuple(questions)


def _titles_of_nothing(rows: Sequence[UnreadableRow], uses: dict[str, ColumnUse]) -> Counter[tuple[str, str]]:
    """Return the titles, with their columns, of rows that nothing else says the subject of."""
    named = [heading for heading, use in uses.items() if use.field in ("edition", "title")]
    return Counter(
        (heading, row.cells[heading]) for row in rows for heading in named if row.cells.get(heading)
    )  # fmt: skip


def _columns(layout: Layout) -> list[_Column]:
    rows = [card.row for card in layout.cards[:_SAMPLE]]
    return [
        _Column(heading, tuple(
            row.texts[place] for row in rows
            if place < len(row.texts) and row.texts[place] and row.texts[place] not in DITTO_MARKS
        ))
        for place, heading in enumerate(layout.headings)
    ]  # fmt: skip


def _uses(columns: Sequence[_Column]) -> dict[str, ColumnUse]:
    """Return what each column is, each field once; what is left over is kept as notes."""
    found: dict[str, str] = {}
    for column in columns:
        field = FIELD_OF.get(fold(column.heading)) or _by_words(column.heading)
        if field == "edition" and _share_of_numbers(column) > 0.6:
            field = "number"  # "Edition" heads the numbers as often as the titles
        if field is not None and (field not in found.values() or field in ("note", "private")):
            found[column.heading] = field
    _by_happening(columns, found)
    return {
        column.heading: ColumnUse(found.get(column.heading, "note"))
        for column in columns
        if column.texts or not column.heading.startswith("column ")
    }


def _by_happening(columns: Sequence[_Column], found: dict[str, str]) -> None:
    """Where a column says what happened, row by row, take the others for when and with whom it did."""
    what = next((each for each in columns if fold(each.heading) in HAPPENING["what"] and _tells_happenings(each)), None)
    if what is None:
        return
    found[what.heading] = "what"
    for field in ("when", "who"):
        named = next((c.heading for c in columns if fold(c.heading) in HAPPENING[field] and c is not what), None)
        own = next((heading for heading, each in found.items() if each in _TOLD_BY[field]), None)
        if named or own:
            found[named or own or ""] = field
    for heading, field in found.items():
        if field in NOT_BESIDE_WHAT:
            found[heading] = "note"


_TOLD_BY = {"when": frozenset(DATES) - {"due", "when"}, "who": frozenset(PERSONS)}


def _tells_happenings(column: _Column) -> bool:
    """Return whether most cells of a column begin with a word for what happens to a print."""
    told = sum(any(re.match(rf"{re.escape(word)}\b", fold(text)) for word in WHATS) for text in column.texts)
    return told * 2 > len(column.texts)


def _by_words(heading: str) -> str | None:
    """Return the field whose known heading is a part of this one (``Price (net)``)."""
    words = f" {re.sub(r'[^0-9a-z/#]+', ' ', fold(heading))} "
    hits = [
        (len(name), field) for field, names in NAMED.items() for name in names if len(name) > 3 and f" {name} " in words
    ]
    return max(hits)[1] if hits else None


def _share_of_numbers(column: _Column) -> float:
    return sum("/" in text and parse_number(text) is not None for text in column.texts) / max(len(column.texts), 1)


def _about_columns(columns: Sequence[_Column], uses: dict[str, ColumnUse]) -> list[str]:
    questions = []
    fields = {use.field for use in uses.values()}
    if not fields & {"edition", "title", "sheet"}:
        questions.append('no column names the edition or the sheet: say it for all rows under [editions]: "" = "E1".')
    if "number" not in fields:
        questions.append("no column looks like the print number; say under [columns] which it is.")
    for column in columns:
        use = uses.get(column.heading)
        short = [text for text in column.texts if _SHORT_YEAR.search(text)]
        if use is not None and use.field in DATES and short:
            questions.append(
                f"column {column.heading!r} has years of two digits ({short[0]!r}): say under [dates] which century "
                "they are in, like 1900 or 2000."
            )
    return questions
