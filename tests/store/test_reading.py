"""Every statement by which the store reads, run over the sample archive."""

from __future__ import annotations

import importlib
import pkgutil
import re
import sqlite3
import string
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import pytest

import catalog.store
from catalog.dates import parse_edtf
from catalog.store.find import Question, frame_statement
from tests.scanned_sample import scanned_sample


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from _texts(one)
    elif isinstance(value, (list, tuple, set)):
        for one in value:
            yield from _texts(one)


def reading_statements() -> list[tuple[str, str]]:
    """Return each statement kept as a constant in the store, with the file it is in; one kept twice comes once."""
    found: dict[str, str] = {}
    for module in pkgutil.iter_modules(catalog.store.__path__):
        names = vars(importlib.import_module(f"catalog.store.{module.name}"))
        for text in _texts({name: value for name, value in names.items() if not name.startswith("__")}):
            if text.lstrip().upper().startswith(("SELECT ", "SELECT\n", "WITH ")):
                found.setdefault(text, module.name)
    return sorted((file, text) for text, file in found.items())


_FRAMES = (
    "SELECT id, NULL AS subject, 1 AS sure, exposed_edtf, exposed_earliest, exposed_latest, exposed_doubt FROM sheet"
)
_BLANKS = {
    "table": "sheet",
    "column": "visit_id",
    "ids": "1, 2, 3",
    "frames": _FRAMES,
    "which": "p.id = ?1",
    "runs": "r.id = 1",
}


def run_whole(connection: sqlite3.Connection, statement: str) -> list[Any]:
    """Run a statement with ids that are there and nothing else asked, whatever way it takes its parameters."""
    names = {name for _, name, _, _ in string.Formatter().parse(statement) if name is not None}
    blanks = _BLANKS | ({"column": "scan_id"} if "FROM version_source" in statement else {})
    text = statement.format(**{name: blanks[name] for name in names})
    numbered = re.findall(r"\?(\d+)", text)
    if numbered:
        return connection.execute(text, ("[1, 2, 3]",) * max(map(int, numbered))).fetchall()
    if "?" in text:
        return connection.execute(text, (1,) * text.count("?")).fetchall()
    return connection.execute(text, defaultdict(lambda: 1)).fetchall()


def test_the_store_keeps_its_statements_where_this_test_finds_them():
    files = {file for file, _ in reading_statements()}

    assert {"_find_words", "captions", "daybook", "drives", "files", "find", "lists", "names", "scans"} - files <= {
        "drives"
    }
    assert len(reading_statements()) > 60


@pytest.mark.parametrize(("file", "statement"), reading_statements(), ids=lambda part: str(part)[:60])
def test_a_reading_statement_runs_over_the_sample_archive(file: str, statement: str):
    with scanned_sample().reading() as connection:
        run_whole(connection, statement)


_PARTS: dict[str, dict[str, Any]] = {
    "place": {"place_id": 4},
    "taken": {"taken_from_id": 4},
    "building": {"building_id": 1},
    "years": {"years": parse_edtf("1975/1990")},
    "open": {"years": parse_edtf("../1990")},
    "lens": {"lens_ids": (1,), "lens_doubts": ('["90", "120"]',)},
    "film": {"film_ids": (8,)},
    "side": {"elevation": "S", "elevation_doubts": ('["S", "E"]',)},
    "number": {"number": "78-14"},
    "unscanned": {"is_unscanned": True},
    "undated": {"is_undated": True},
}


@pytest.mark.parametrize("one", _PARTS)
@pytest.mark.parametrize("other", _PARTS)
def test_any_two_parts_of_a_question_make_a_statement_that_narrows(one: str, other: str):
    if _PARTS[one].keys() & _PARTS[other].keys():
        return  # one question cannot ask for two of a kind

    with scanned_sample().reading() as connection:
        both, alone = ([row[0] for row in connection.execute(*frame_statement(Question(**parts)))]
                       for parts in (_PARTS[one] | _PARTS[other], _PARTS[one]))  # fmt: skip

    assert set(both) <= set(alone)
