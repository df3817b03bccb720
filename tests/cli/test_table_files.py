"""The rows left out of somebody's table get a file of their own, and no file of theirs is written over."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.cli._table_files import unreadable_words, write_rejects
from catalog.errors import IntakeError
from catalog.intake.proposals import UnreadableRow

ROWS = [UnreadableRow(3, {"Neg": "78-14"}, ("no number",))]
OTHERS = [UnreadableRow(4, {"Neg": "78-15"}, ("no number",))]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "cards.csv"
    path.write_text("Neg\n78-14\n", "utf-8")
    return path


def test_a_row_that_cannot_be_read_is_numbered_once():
    row = UnreadableRow(2, {}, ('row 2, "Title": no edition', "no sheet"))

    assert unreadable_words(row) == 'row 2: cannot be read: "Title": no edition; no sheet'


def test_nothing_left_out_writes_nothing(file):
    assert write_rejects([], ["Neg"], file, None) is None
    assert list(file.parent.iterdir()) == [file]


def test_the_same_rows_again_are_in_the_same_file(file):
    first = write_rejects(ROWS, ["Neg"], file, None)

    assert first == file.with_name("cards not read.csv")
    assert write_rejects(ROWS, ["Neg"], file, None) == first
    assert first.read_text("utf-8-sig").splitlines() == ["row,reason,Neg", "3,no number,78-14"]


def test_a_file_that_somebody_mended_stays(file):
    mended = file.with_name("cards not read.csv")
    mended.write_text("row,reason,Neg\n3,,78-14b\n", "utf-8")

    assert write_rejects(ROWS, ["Neg"], file, None) == file.with_name("cards not read 2.csv")
    assert write_rejects(OTHERS, ["Neg"], file, None) == file.with_name("cards not read 3.csv")
    assert mended.read_text("utf-8") == "row,reason,Neg\n3,,78-14b\n"


@pytest.mark.parametrize("name", ["cards.csv", "cards.toml"])
def test_what_is_named_is_never_written_over(file, name):
    target = file.with_name(name)
    target.touch()
    before = target.read_bytes()

    with pytest.raises(IntakeError, match=r"is there already.*Name another with --rejects"):
        write_rejects(ROWS, ["Neg"], file, target)

    assert target.read_bytes() == before
    assert not list(file.parent.glob(".tiebeam-*"))


def test_a_folder_that_is_not_there_is_named(file):
    with pytest.raises(IntakeError, match="cannot be written: No such file or directory"):
        write_rejects(ROWS, ["Neg"], file, file.parent / "nowhere" / "left.csv")
