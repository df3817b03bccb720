"""An edition as a curator is told of it: every number and what became of it."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Iterator

from catalog.dates import edtf_in_words
from catalog.outputs.document_facts import Amendment, EditionStatement, NumberFate, RunFacts
from catalog.rules.editions import SIZES_COUNT_WORDS
from catalog.rules.print_numbers import NUMBERED, SERIES, format_number, format_series
from catalog.rules.references import format_reference
from catalog.store.document_facts import (
    DocumentEdition,
    DocumentNumber,
    DocumentRun,
    picture_words,
    read_edition,
    read_numbers,
    read_runs,
)

_NOT_PRINTED = "not yet printed"


def edition_statement(
    connection: sqlite3.Connection, edition_id: int, *, reference: str, dated: str, signatory: str
) -> EditionStatement:
    """Return the statement of an edition."""
    edition = read_edition(connection, edition_id)
    name = format_reference("edition", edition_id)
    return EditionStatement(
        reference=reference,
        dated=dated,
        edition=f"{name}, {edition.title}" if edition.title else name,
        picture=picture_words(connection, edition.view_id),
        state=edition.state,
        statement=edition.statement,
        statement_from=_stated(edition.stated_edtf, edition.published_in),
        sizes_count=SIZES_COUNT_WORDS.get(edition.sizes_count, edition.sizes_count),
        amendments=amendments_of(edition),
        runs=tuple(_run(connection, run) for run in read_runs(connection, edition_id)),
        signatory=signatory,
    )


def amendments_of(edition: DocumentEdition) -> tuple[Amendment, ...]:
    """Return the amendments of an edition as its pages tell them."""
    return tuple(
        Amendment(edtf_in_words(made) if made else "", words, changed) for made, words, changed in edition.amendments
    )


def _stated(edtf: str | None, published_in: str | None) -> str:
    said = f"of {edtf_in_words(edtf)}" if edtf else "date not recorded"
    return f"{said}, published in {published_in}" if published_in else said


def _run(connection: sqlite3.Connection, run: DocumentRun) -> RunFacts:
    fates = tuple(_fates(run, read_numbers(connection, run.id)))
    return RunFacts(
        title=f"Run {format_reference('run', run.id)}",
        limit=str(run.limit) if run.limit is not None else "open",
        sizes=run.sizes,
        fates=fates,
        proofs=", ".join(format_series(kind, count) for kind, count in run.proofs),
        counts=tuple(Counter(fate.fate for fate in fates if fate.reference).items()),
    )


def _fates(run: DocumentRun, given: list[DocumentNumber]) -> Iterator[NumberFate]:
    """Yield every number of a run in order; stretches that nobody was given are one line each."""
    declared = {NUMBERED: run.limit, **dict(run.proofs)}
    for series in SERIES:
        rows = [row for row in given if row.series == series]
        limit = declared.get(series)
        expected = 1
        for row in rows:
            yield from _stretch(run, series, expected, row.ordinal - 1, limit)
            yield _fate(row)
            expected = row.ordinal + 1
        if limit is not None and series in declared:
            yield from _stretch(run, series, expected, limit, limit)


def _stretch(run: DocumentRun, series: str, first: int, last: int, of: int | None) -> Iterator[NumberFate]:
    if last < first:
        return
    one, other = (format_number(series, ordinal, of, run.numbering) for ordinal in (first, last))
    yield NumberFate(one if first == last else f"{one} to {other}", _NOT_PRINTED)


def _fate(row: DocumentNumber) -> NumberFate:
    return NumberFate(
        number=row.written,
        fate=row.state or (f"{_NOT_PRINTED}, {row.held}" if row.held in ("promised", "reserved") else _NOT_PRINTED),
        reference=format_reference("print", row.print_id) if row.print_id is not None else "",
        since=edtf_in_words(row.since_edtf) if row.since_edtf else "",
        size=row.size or "",
        words="; ".join(filter(None, _ends(row))),
    )


def _ends(row: DocumentNumber) -> Iterator[str]:
    """Yield how a print came to its end, entry by entry; where it was lost is left out, which may name a person."""
    for kind, edtf, words in json.loads(row.ends):
        if kind == row.state and row.replaced_by_id is None:  # the line itself says which and since when
            yield words or ""
            continue
        named, when = kind, f" {edtf_in_words(edtf)}" if edtf else ""
        if kind == "replaced" and row.replaced_by_id is not None:
            named, when = f"replaced by {format_reference('print', row.replaced_by_id)}", ""
        yield f"{named}{when}" + (f": {words}" if words and kind not in ("lost", "stolen") else "")
