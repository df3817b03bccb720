"""``tiebeam find``: what it prints on a terminal, as JSON and as comma-separated values."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from catalog.cli.common import csv_cell, display_width, fit, narrowed, one_line, print_table, wrapped
from catalog.store.frame_words import count_words
from tests.asking import Valley
from tests.scanned_sample import scanned_sample, status

MANUAL = Path(__file__).parent.parent.parent / "docs" / "manual" / "json.md"


@pytest.fixture
def valley(tmp_path: Path) -> Valley:
    valley = Valley(tmp_path / "wenn")
    valley.place("Osk")
    valley.building("Osk Mill", ("Osk", "1790~", None))
    return valley


@pytest.fixture(autouse=True, scope="module")
def _made_beforehand() -> None:
    """Make the sample before any test listens: making it says what was registered."""
    scanned_sample()


def sample(*arguments: str) -> int:
    return status("find", *arguments, "--archive", str(scanned_sample().folder))


def test_the_village_query_lists_frames_by_date_and_says_how_sure_each_is(capsys: pytest.CaptureFixture[str]):
    assert sample("--place", "Osk", "--years", "1975/1990") == 0
    lines = capsys.readouterr().out.splitlines()

    assert lines[0].split() == ["sheet", "number", "date", "answers", "shows", "lens", "scans"]
    assert re.match(r"S5 +78-14 +about 1978 +possibly +Osk Mill S +150 mm +-$", lines[4])
    assert re.match(r"S8 +78-17 +1978 or 1979 +certainly +possibly Osk Mill W; Osk +90 or 120 +1$", lines[7])
    assert lines[-3:] == [
        "20 frames: 8 certainly, 12 possibly.",
        "3 undated beside these; --undated lists them.",
        '"About" reaches 2 years either way.',
    ]


def test_undated_frames_are_listed_last_when_no_years_are_asked(capsys: pytest.CaptureFixture[str]):
    sample("--place", "Osk")
    lines = capsys.readouterr().out.splitlines()

    assert [re.split(r"\s{2,}", line)[2] for line in lines[-5:-2]] == ["undated"] * 3
    assert lines[-1] == "3 of them undated, listed last."


def test_the_weigh_house_is_in_each_village_while_it_stood_there(capsys: pytest.CaptureFixture[str]):
    sample("--place", "Low Halding", "--building", "Weigh-house", "--json")
    before = json.loads(capsys.readouterr().out)
    sample("--place", "Halding", "--building", "Weigh-house", "--json")
    after = json.loads(capsys.readouterr().out)

    assert [item["numbers"][0]["text"] for item in before["items"]] == ["78-30", "79-09", "79-10"]
    assert [item["numbers"][0]["text"] for item in after["items"]] == ["79-40", "80-12"]


@pytest.mark.parametrize(
    ("arguments", "left", "said"),
    [
        (("--place", "Priors Lode"), 3, "Priors Lode, village in Crayshire"),
        (("--place", "Oskk"), 3, "Did you mean Osk"),
        (("--years", "1978-9"), 3, "may mean"),
        (("--years", "before the war"), 3, "before the war"),
        (("--years", "n.d."), 3, "--undated asks for undated sheets"),
        (("--lens", "300"), 3, "No lens of 300 mm is known"),
        (("--elevation", "up"), 3, "no side of a building"),
        (("--building", "B99"), 3, "No building answers to 'B99'"),
        (("--nonsense",), 2, "No such option"),
    ],
)
def test_what_cannot_be_asked_is_said_in_a_line_or_two(
    arguments: tuple[str, ...], left: int, said: str, capsys: pytest.CaptureFixture[str]
):
    assert sample(*arguments) == left

    printed = capsys.readouterr()
    assert said in printed.err
    assert "Traceback" not in printed.err
    assert printed.out == ""


def test_nothing_found_is_no_failure(capsys: pytest.CaptureFixture[str]):
    assert sample("windmill") == 0
    assert capsys.readouterr().out == "Nothing found.\n"


def test_how_many_and_how_sure_is_one_short_sentence():
    said = [count_words(*counts) for counts in ((8, 12), (27, 0), (0, 2), (1, 0), (0, 1), (0, 0))]

    assert said == [
        "20 frames: 8 certainly, 12 possibly.", "27 frames, all certainly.", "2 frames, all possibly.",
        "1 frame, certainly.", "1 frame, possibly.", "Nothing found.",
    ]  # fmt: skip


# Design section 10: the shape of --json is kept by a test.
def test_json_has_the_documented_shape(valley: Valley, capsys: pytest.CaptureFixture[str]):
    valley.lens(90, "90 mm wide")
    valley.film("Ostrane Pan 100")
    valley.frame(
        "78-17", "[1978,1979]", ("Osk Mill", "W", "possible"), "Osk", lens_id=valley.ids["90 mm wide"],
        film_id=valley.ids["Ostrane Pan 100"], title="Mill from the far bank",
    )  # fmt: skip
    valley.doubt("78-17", "lens", "90 or 120", ("90", "120"))
    valley.frame("X3", None, "Osk Mill")
    valley.drive("Blue", "/nowhere/blue")
    valley.scan("78-17", "scans/78-17.tif", drive="Blue")
    capsys.readouterr()

    valley.tiebeam("find", "--place", "Osk", "--years", "1975/1990", "--json")

    document = json.loads(capsys.readouterr().out)
    assert document == {
        "items": [
            {
                "reference": "S1",
                "numbers": [{"text": "78-17", "scheme": "yearly"}],
                "titles": ["Mill from the far bank"],
                "date": {"edtf": "[1978,1979]", "words": "1978 or 1979", "earliest": "1978-01-01",
                         "latest": "1979-12-31"},
                "date_as_written": None,
                "certainty": "certainly",
                "fate": "exposed",
                "buildings": [
                    {"reference": "B1", "name": "Osk Mill", "elevation": "W", "part": None, "certainty": "possible",
                     "is_principal": False}
                ],
                "places": [
                    {"reference": "L1", "name": "Osk", "elevation": None, "part": None, "certainty": "certain",
                     "is_principal": False}
                ],
                "lens": "90 mm wide",
                "focal_length_mm": 90.0,
                "film": "Ostrane Pan 100",
                "doubts": [{"field": "lens", "as_written": "90 or 120"}],
                "scans": [{"reference": "C1", "path": "/nowhere/blue/scans/78-17.tif"}],
            }
        ],
        "count": 1,
        "undated": 1,
        "away": 1,
    }  # fmt: skip
    told = MANUAL.read_text("utf-8")
    for name in (*document, *document["items"][0], *document["items"][0]["buildings"][0]):
        assert f"`{name}`" in told, f"docs/manual/json.md does not tell of {name}"


def test_an_open_or_missing_date_has_nulls(valley: Valley, capsys: pytest.CaptureFixture[str]):
    valley.frame("1", "../1985", "Osk Mill")
    valley.frame("2", None, "Osk Mill")
    valley.frame("3", "Y-12000", "Osk Mill")
    capsys.readouterr()

    valley.tiebeam("find", "--json")

    dates = [item["date"] for item in json.loads(capsys.readouterr().out)["items"]]
    assert dates[0]["earliest"] == "Y-12000-01-01"
    assert dates[1] == {"edtf": "../1985", "words": "by 1985", "earliest": None, "latest": "1985-12-31"}
    assert dates[2] is None


def test_f03_a_path_that_is_not_utf8_has_its_bytes_beside_it(valley: Valley, capsys: pytest.CaptureFixture[str]):
    valley.frame("78-14", "1978", "Osk Mill")
    valley.scan("78-14", "scans/\\xc9glise.tif", raw=b"scans/\xc9glise.tif")
    capsys.readouterr()

    valley.tiebeam("find", "--json")

    scan = json.loads(capsys.readouterr().out)["items"][0]["scans"][0]
    assert scan["path"].endswith("/scans/\\xc9glise.tif")
    assert bytes.fromhex(scan["path_bytes"]) == os.fsencode(valley.archive.folder) + b"/scans/\xc9glise.tif"


def test_csv_reads_back_and_holds_no_formula(valley: Valley, capsys: pytest.CaptureFixture[str]):
    valley.frame('=HYPERLINK("x")', "1978~", "Osk Mill")
    valley.frame("-1+1|cmd", "1979", "Osk Mill")
    valley.frame("教会; é", "1980", "Osk Mill")
    capsys.readouterr()

    valley.tiebeam("find", "--csv")

    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [row["numbers"] for row in rows] == ['\'=HYPERLINK("x")', "'-1+1|cmd", "教会; é"]
    assert (rows[0]["date"], rows[0]["edtf"], rows[0]["certainty"]) == ("about 1978", "1978~", "certainly")


# OWASP, "CSV Injection": = + - @ tab and carriage return begin a formula, and so do their wide forms.
@pytest.mark.parametrize("text", ["=1+1", "+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "＝1", "-cmd"])
def test_a_cell_that_would_be_run_gets_an_apostrophe(text: str):
    assert csv_cell(text) == "'" + text


@pytest.mark.parametrize("value", ["78-14", "-2.95", -3, "1978~", "", None, "a=b"])
def test_other_cells_are_left_as_they_are(value: object):
    assert csv_cell(value) == ("" if value is None else str(value))


class TestColumns:
    """H06: columns stay straight whatever the letters."""

    ROWS = (
        ("S1", "教会", "about 1978"), ("S2", "E\u0301glise", "½ stop"), ("S3", "⛪ chapel", "n.d."),
        ("S4", "👨‍👩‍👧 company", "x"), ("S5", "Łódź", "[sic]"),
    )  # fmt: skip

    def test_h06_columns_are_straight(self, capsys: pytest.CaptureFixture[str]):
        print_table(("sheet", "title", "date"), self.ROWS, width=80)

        lines = capsys.readouterr().out.splitlines()
        starts = [display_width(line[: line.index(row[2])]) for line, row in zip(lines[1:], self.ROWS, strict=True)]
        assert len(set(starts)) == 1

    def test_a_long_cell_goes_on_below_itself_and_loses_nothing(self, capsys: pytest.CaptureFixture[str]):
        title = "教会の塔と " * 6 + "Wennmouth Quay Weigh-house"

        print_table(("sheet", "title", "date"), [("S1", title, "17 September 1979")], width=40)

        lines = capsys.readouterr().out.splitlines()
        assert max(map(display_width, lines)) <= 40
        told = "".join("".join(lines[1:]).split())
        assert sorted(told) == sorted("".join(("S1", title, "17 September 1979")).replace(" ", ""))

    def test_a_word_too_long_for_its_column_is_broken_between_whole_letters(self):
        assert wrapped("E\u0301" * 5, 3) == ["E\u0301E\u0301E\u0301", "E\u0301E\u0301"]
        assert wrapped("教会教会", 5) == ["教会", "教会"]
        assert wrapped("", 5) == [""]

    def test_words_are_kept_whole_while_another_column_can_give_way(self):
        assert narrowed([9, 40, 30], [9, 8, 8], 60) == [9, 23, 24]
        assert narrowed([20, 20], [20, 10], 32) == [20, 10]
        assert narrowed([20, 20], [20, 20], 32) == [15, 15]

    def test_control_characters_and_turned_writing_are_shown_not_obeyed(self):
        assert one_line("a\x1b[31mb\u202ec") == "a\\x1b[31mb\\u202ec"
        assert one_line("two\nlines\x0bthree") == "two / lines / three"
        assert one_line("no\u00a0break\tstop") == "no break stop"

    def test_a_cut_text_says_so(self):
        assert fit("教会教会", 6) == "教会… "

    def test_on_a_terminal_of_80_columns_nothing_is_wider(self, valley: Valley):
        pty = pytest.importorskip("pty", reason="no pseudo-terminals on this system")
        valley.frame("78-14", "1978-09-17~", ("Osk Mill", "E", "probable"), "Osk")
        valley.frame(
            "教会-E\u0301", "1979", "Osk", title="a title nobody would ever put on one line of a card, would they"
        )
        code = "from catalog.cli.main import run; run()"

        ours, theirs = pty.openpty()
        import fcntl
        import struct
        import termios

        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        environment = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "LINES")}
        done = subprocess.run(
            [sys.executable, "-c", code, "find", "--archive", str(valley.archive.folder)], stdout=theirs, check=True,
            env=environment, cwd=Path(__file__).parent.parent.parent,
        )  # fmt: skip
        os.close(theirs)
        printed = b""
        while chunk := _read(ours):
            printed += chunk

        lines = printed.decode().splitlines()
        assert done.returncode == 0
        assert max(map(display_width, lines)) <= 80
        assert [line.split()[0] for line in lines if line.startswith("S")] == ["S1", "S2"]


def _read(terminal: int) -> bytes:
    """Read from a terminal whose other end may be closed."""
    try:
        return os.read(terminal, 65536)
    except OSError:  # Linux reports a closed other end as an error, not as the end
        return b""


def test_what_a_killed_process_left_is_said_beside_the_answer(valley: Valley, capsys: pytest.CaptureFixture[str]):
    with sqlite3.connect(valley.archive.catalogue) as connection:
        connection.execute(
            "INSERT INTO deed (kind, words, at, state, schema, process, left_to_do) VALUES"
            " ('cards read', 'reading', '2026-11-25T09:30:00Z', 'under way', '0001', '', 'Run it again.')"
        )
    capsys.readouterr()

    statuses = [valley.tiebeam("find", "mill"), valley.tiebeam("find", "mill")]

    assert statuses == [0, 0]
    assert re.fullmatch(r"Deed \d+ \(cards read\) was cut short\. Run it again\.\n", capsys.readouterr().err)
