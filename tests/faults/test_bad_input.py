"""
A walk through what goes wrong at the desk: each time one or two lines, a true status, nothing changed, no traceback.

A list to choose from may be longer: that is its purpose.
"""

from __future__ import annotations

import shlex
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from catalog.store.archive import open_archive
from tests.faults.desk import catalogue_text, leave

ROOT = Path(__file__).parent.parent.parent

# What is typed, the status it leaves with, and words that must be said. {f} is a folder of bad files.
REFUSED = [
    ("show Nowhere", 3, "Nowhere"),
    ("show S9999", 3, "S9999"),
    ("show 78-14", 3, "S55"),  # a number that two sheets carry lists both
    ("show ''", 3, "''"),
    ("find --place Oskk", 3, "Osk"),
    ("find --place 'Priors Lode'", 3, "L11"),  # two villages of one name
    ("find --place S1", 3, "S1"),
    ("find --years 'before the war'", 3, "war"),
    ("find --years 10/12/1979", 3, "1979-12-10"),
    ("find --years 1978-9", 3, "1978"),
    ("find --years n.d.", 3, "--undated"),
    ("find --years 1990/1975", 3, "1990"),
    ("find --lens 85", 3, "85"),
    ("find --lens Biotar", 3, "Biotar"),
    ("find --film Nosuch", 3, "Nosuch"),
    ("find --elevation up", 3, "up"),
    ("find --building 'Osk Mil'", 3, "Osk Mill"),
    ("find --colour red", 2, "--colour"),
    ("finde", 2, "finde"),
    ("places add ''", 3, ""),
    ("places add Osk --in Nowhere", 3, "Nowhere"),
    ("places within Wennshire Osk", 3, "cannot belong"),  # Osk lies in Wennshire already
    ("places add Here --latitude 95", 2, "95"),
    ("buildings add Barn --at Nowhere", 3, "Nowhere"),
    ("buildings chronicle 'Osk Mill' --kind exploded --date 1900 --what x", 2, "exploded"),
    ("buildings chronicle 'Osk Mill' --kind altered --date 31/4/1982 --what x", 3, "30 days"),
    ("sheets add --number 99-01 --date 'Easter'", 3, "Easter"),
    ("sheets add --number 99-01 --aperture f/0", 3, ""),
    ("sheets add --number 99-01 --shutter never", 2, "never"),
    ("sheets add --number 99-01 --shows 'Nosuch Mill'", 3, "Nosuch Mill"),
    ("sheets correct S9999 --box 3", 3, "S9999"),
    ("sheets correct S1", 3, ""),  # nothing to correct
    ("lenses add -- -90", 2, "-90"),
    ("cards read {f}/absent.xlsx --mapping {m}", 3, "absent.xlsx"),
    ("cards read {f}/picture.xlsx --mapping {m}", 3, "picture.xlsx"),
    ("cards read {f}/empty.csv --mapping {m}", 3, "empty.csv"),
    ("cards read {f} --mapping {m}", 3, ""),
    ("cards read {f}/unsure.csv --mapping {m}", 3, "--encoding"),
    ("cards read {f}/unsure.csv --mapping {m} --encoding klingon", 3, "klingon"),
    ("cards read {f}/cards.csv", 3, "tiebeam cards guess"),
    ("cards read {f}/cards.csv --mapping {f}/broken.toml", 3, "broken.toml"),
    ("cards read {f}/cards.csv --mapping {f}/unknown.toml", 3, "colour"),
    ("cards guess {f}/picture.xlsx", 3, "picture.xlsx"),
    ("scans match C99 S1", 3, "C99"),
    ("scans unmatch C99", 3, "C99"),
    ("drives add {f}/absent", 3, "absent"),
    ("drives locate Nosuch {f}", 3, "Nosuch"),
    ("undo 999", 3, "999"),
    ("undo one", 2, "one"),
    ("daybook 999", 3, "999"),
    ("notes add S9999 'a note'", 3, "S9999"),
    ("questions answer Q99 yes", 3, "Q99"),
    ("new {a}", 3, "already"),
    ("demo {f}", 3, "not empty"),
    ("backup --to {f}/cards.csv", 3, "cards.csv"),
    ("--archive {f} find", 3, "tiebeam new"),
]


@pytest.fixture(scope="module")
def bad_files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of files that are not what they are taken for."""
    folder = tmp_path_factory.mktemp("bad")
    (folder / "picture.xlsx").write_bytes(b"\xff\xd8\xff\xe0" + bytes(200))
    (folder / "empty.csv").write_bytes(b"")
    (folder / "unsure.csv").write_bytes(b"Neg. no,Village\r\n78-14,Saint-\x8eloi\r\n")
    (folder / "cards.csv").write_text("Neg. no,Village\n78-14,Osk\n", "utf-8")
    (folder / "broken.toml").write_text("[columns\n", "utf-8")
    (folder / "unknown.toml").write_text('[columns]\n"Neg. no" = "colour"\n', "utf-8")
    return folder


@pytest.mark.parametrize(("typed", "status", "said"), REFUSED, ids=[typed for typed, _, _ in REFUSED])
def test_what_cannot_be_done_is_said_in_a_line_and_changes_nothing(
    typed: str, status: int, said: str, sample: Path, bad_files: Path, capsys: pytest.CaptureFixture[str]
):
    archive = sample
    mapping = ROOT / "sample_archive" / "cards.toml"
    before = catalogue_text(archive)

    left = leave(capsys, archive, typed.format(f=bad_files, m=mapping, a=archive))

    assert left.status == status, left
    assert said in left.err, left
    assert "Traceback" not in left.err + left.out
    if "give one of these" not in left.err and status == 3:
        assert len(left.err.strip().splitlines()) <= 4, left
    assert catalogue_text(archive) == before


def _with_jpeg(folder: Path) -> None:
    (folder / "archive.db").write_bytes(b"\xff\xd8\xff\xe0" + bytes(5000))


def _cut_short(folder: Path) -> None:
    content = (folder / "archive.db").read_bytes()
    (folder / "archive.db").write_bytes(content[: len(content) // 2])


def _emptied(folder: Path) -> None:
    (folder / "archive.db").write_bytes(b"")


def _gone(folder: Path) -> None:
    (folder / "archive.db").unlink()


def _later(folder: Path) -> None:
    connection = sqlite3.connect(folder / "archive.db")
    with connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()


def _bad_settings(folder: Path) -> None:
    (folder / "tiebeam.toml").write_text("[dates]\nabout_years = 'two'\n", "utf-8")


def _unknown_setting(folder: Path) -> None:
    (folder / "tiebeam.toml").write_text("[dates]\nabot_years = 2\n", "utf-8")


def _not_toml(folder: Path) -> None:
    (folder / "tiebeam.toml").write_bytes(b"\xff\xfe\x00")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (_with_jpeg, "archive.db"), (_cut_short, "archive.db"), (_emptied, "archive.db"), (_gone, "archive.db"),
        (_later, "9999"), (_bad_settings, "about_years"), (_unknown_setting, "abot_years"), (_not_toml, "tiebeam.toml"),
    ],
)  # fmt: skip
def test_a_spoiled_archive_is_named_in_a_line_by_every_command(
    spoil: Callable[[Path], None], said: str, sample: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    folder = tmp_path / "spoiled"
    shutil.copytree(sample, folder)
    spoil(folder)

    for typed in ("find osk", "show B1", "places add Newton", "daybook"):
        left = leave(capsys, folder, typed)

        assert left.status == 3, (typed, left)
        assert said in left.err, (typed, left)
        assert "Traceback" not in left.err
        assert len(left.err.strip().splitlines()) <= 2, (typed, left)


def test_a_reader_that_has_enough_ends_the_command_quietly(sample: Path):
    # head closes the pipe after a line; the command ends without a complaint.
    shell = f"{sys.executable} -c 'from catalog.cli.main import run; run()' find --archive {sample} | head -1"
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", shell], capture_output=True, text=True, cwd=ROOT, check=False
    )

    assert done.stderr == ""
    assert done.stdout.count("\n") == 1


def test_the_walk_is_long_enough():
    # Issue A, "Bad input": at least forty such cases.
    assert len(REFUSED) >= 40


def test_a_refusal_leaves_the_archive_whole(sample: Path):
    with open_archive(sample).reading() as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.parametrize("typed", ["[/", "[b +", "[", "]", "[/b]", "\\["])
def test_h05_an_unclosed_bracket_stops_nothing(
    typed: str, sample: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    folder = tmp_path / "archive"
    shutil.copytree(sample, folder)

    noted = leave(capsys, folder, f"notes add S1 {shlex.quote('before ' + typed + ' after')}")
    shown = leave(capsys, folder, "show S1")
    found = leave(capsys, folder, f"find {shlex.quote(typed)}")

    assert (noted.status, shown.status, found.status) == (0, 0, 0)
    assert f"before {typed} after" in shown.out
    assert "Traceback" not in found.err


def test_d07_an_open_ended_range_sorts_and_says_what_it_means(
    sample: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    folder = tmp_path / "archive"
    shutil.copytree(sample, folder)

    leave(capsys, folder, "sheets add --number 70-01 --date ../1985 --shows 'Osk Mill'")
    leave(capsys, folder, "sheets add --number 70-02 --date 1832/.. --shows 'Osk Mill'")
    found = leave(capsys, folder, "find --building 'Osk Mill'")

    assert "by 1985" in found.out
    assert "1832 or later" in found.out
    assert found.out.index("70-02") < found.out.index("74-02") < found.out.index("70-01")
