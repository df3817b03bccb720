"""Trouble with typed words: cases H01, H02, H03 and E03, as a person types them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from catalog.model import Note, Sheet, SheetNumber
from catalog.rules.folding import fold
from catalog.store.writing import deed
from tests.cli.command_runs import tiebeam
from tests.store.archives import an_archive

NUMBERS = ["1978-014-03", "1978-014-04", "78-14"]
NOTES = [
    "St. John's, east end",
    "St. John’s, west end",
    "Meth. Ch. (moved 1979)",
    '6" gauge [sic]',
    "ÉGLISE du Bas",
    "eglise",
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An archive of nine sheets: the first three with numbers, the others with notes."""
    archive = an_archive(tmp_path / "archive")
    with deed(archive, "sheets add", "added") as writing:
        sheets = [Sheet() for _ in range(9)]
        writing.session.add_all(sheets)
        writing.session.flush()
        for sheet, number in zip(sheets, NUMBERS, strict=False):
            writing.session.add(SheetNumber(sheet_id=sheet.id, text=number, folded=fold(number)))
        for sheet, note in zip(sheets[3:], NOTES, strict=True):
            writing.session.add(Note(about="sheet", about_id=sheet.id, text=note, noted_at="2026-11-25T09:30:00Z"))
    return archive.folder


@pytest.mark.parametrize(
    ("typed", "references"),
    [
        (["1978-014-03"], {"S1"}),  # H01: was "no such column: 014"
        (["1978-014"], {"S1", "S2"}),
        (["St. John's"], {"S4", "S5"}),  # H02, E03
        (["St.", "John’s"], {"S4", "S5"}),
        (["Meth. Ch."], {"S6"}),
        (["(moved"], {"S6"}),
        (['"'], {"S7"}),
        (["[sic]"], {"S7"}),
        (["église"], {"S8", "S9"}),  # H03
        (["ÉGLISE"], {"S8", "S9"}),
        (["eglise"], {"S8", "S9"}),
        (["nowhere"], set()),
    ],
)
def test_h01_h02_h03_e03_typed_words_find_what_a_reader_would_call_the_same(folder, capsys, typed, references):
    said = tiebeam(capsys, "find", "--archive", folder, "--json", "--", *typed)

    assert said.status == 0
    assert {item["reference"] for item in json.loads(said.out)["items"]} == references


@pytest.mark.parametrize(
    "typed", ['"', "'", "(", "AND", "NOT", "*", "-", "^x", "a:b", "NEAR(", "[/", "\\", "%", "\t", "教"]
)
def test_h02_nothing_typed_is_syntax(folder, capsys, typed):
    said = tiebeam(capsys, "find", "--archive", folder, "--", typed)

    assert said.status == 0
    assert said.err == ""
