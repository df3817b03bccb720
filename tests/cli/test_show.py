"""``tiebeam show``, over the sample archive and at the edges."""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path

import pytest

from catalog.cli.common import display_width
from catalog.rules.references import format_reference
from catalog.store.record_words import line_words, span_words
from catalog.store.show import SHOWN, DateValue, Line
from tests.asking import Valley, on
from tests.scanned_sample import scanned_sample, status


def a_date(edtf: str | None, words: str | None = None) -> DateValue:
    date = on(edtf, words)
    return DateValue(date.edtf, date.words, date.earliest, date.latest, date.doubt)


def everything() -> list[str]:
    with sqlite3.connect(scanned_sample().catalogue) as connection:
        return [format_reference(table, i) for table in SHOWN for (i,) in connection.execute(f"SELECT id FROM {table}")]


def test_everything_in_the_sample_archive_can_be_shown(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("catalog.cli.show.terminal_width", lambda: 80)
    references = everything()
    capsys.readouterr()

    for reference in references:
        assert status("show", reference, "--archive", str(scanned_sample().folder)) == 0
        printed = capsys.readouterr().out
        assert printed.startswith(f"{reference}  ")
        assert max(map(display_width, printed.splitlines())) <= 80
        assert "None" not in printed
        assert not re.search(r"\d{4}-2[1-4]\b", printed.split("\n", 1)[0])  # a title says "summer 1974", not 1974-22

    assert len({reference[0] for reference in references}) >= 11  # the sample has no rolls and no drives
    assert len(references) > 200


def test_everything_in_the_sample_archive_is_one_json_item(capsys: pytest.CaptureFixture[str]):
    references = everything()
    capsys.readouterr()

    for reference in references:
        assert status("show", reference, "--json", "--archive", str(scanned_sample().folder)) == 0
        document = json.loads(capsys.readouterr().out)
        assert (document["count"], document["items"][0]["reference"]) == (1, reference)


def test_a_number_two_sheets_carry_lists_both_and_exits_3(capsys: pytest.CaptureFixture[str]):
    left = status("show", "78-14", "--archive", str(scanned_sample().folder))

    said = capsys.readouterr().err
    assert left == 3
    assert "tiebeam: '78-14' is 2 sheets; give one of these references:" in said
    assert "about 1978" in said
    assert "Ferry House" in said


def test_two_villages_of_one_name_are_listed_and_exit_3(capsys: pytest.CaptureFixture[str]):
    assert status("show", "Priors Lode", "--archive", str(scanned_sample().folder)) == 3
    said = capsys.readouterr().err

    assert said.count("Priors Lode, village in") == 2


def test_the_page_of_the_mill_says_what_the_frames_cut_across(capsys: pytest.CaptureFixture[str]):
    assert status("show", "Osk Mill", "--archive", str(scanned_sample().folder)) == 0
    page = capsys.readouterr().out

    assert re.search(
        r"^  S5 +78-14; about 1978 \(written \"c\. 1978\"\); S; may be before or after 5\.$", page, re.MULTILINE
    )
    assert re.search(
        r"^  5\. +between 1978 and 1982: Clad in sheet metal over the boards; by Dobbet & Son", page, re.MULTILINE
    )
    assert page.index("  S20 ") > page.index("1996: restored")


def test_a_scan_carries_its_path(capsys: pytest.CaptureFixture[str]):
    folder = scanned_sample().folder
    status("show", "82-07", "--json", "--archive", str(folder))
    sheet = json.loads(capsys.readouterr().out)["items"][0]
    paths = [scan["path"] for scan in sheet["scans"]]
    status("show", sheet["scans"][0]["reference"], "--json", "--archive", str(folder))
    scan = json.loads(capsys.readouterr().out)["items"][0]

    assert sorted(map(Path, paths)) == [folder / "scans" / "82-07 again.tif", folder / "scans" / "82-07.tif"]
    assert all(Path(path).is_file() for path in paths)
    assert scan["path"] == paths[0]


@pytest.mark.parametrize(
    ("begun", "ended", "words"),
    [
        ("1722", "1979-06", "from 1722 until June 1979"),
        ("[..1842]", None, "from 1842 or earlier"),
        (None, "../1842", "until 1842 or earlier"),
        ("1840/1850", None, "from some time between 1840 and 1850"),
        ("[1840..1850]", "1900~", "from some time between 1840 and 1850 until about 1900"),
        ("1832/..", None, "from 1832 or later"),
        ("1790~", "1980?", "from about 1790 until probably 1980"),
        ("[1957,1958]", None, "from 1957 or 1958"),
    ],
)
def test_how_long_something_held_reads_as_a_sentence_does(begun: str | None, ended: str | None, words: str):
    assert span_words(a_date(begun) if begun else None, a_date(ended) if ended else None) == words


def test_words_as_written_stand_beside_the_date_they_were_read_as():
    line = Line("Osk St Mary", date=a_date("1863", "63"), until=a_date(None, "when the line closed"), is_span=True)

    assert line_words(line) == (
        'Osk St Mary; from 1863 (written "63") until a time not known (written "when the line closed")'
    )


def test_h04_brackets_are_shown_as_they_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    valley = Valley(tmp_path / "wenn")
    valley.place("Osk")
    sheet = valley.frame("78-14", "1978", "Osk", title="[north elevation]")
    valley.note("sheet", sheet, "left of the door [sic], [illegible] (moved")
    capsys.readouterr()

    valley.tiebeam("show", "78-14")

    page = capsys.readouterr().out
    assert "[north elevation]" in page
    assert "left of the door [sic], [illegible] (moved" in page
