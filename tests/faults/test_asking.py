"""What is typed to find something is words: rows D and H of the list of troubles."""

from __future__ import annotations

import pytest

from tests.asking import Valley

SAID = (
    "1978-014-03", "St. John’s", "Meth. Ch.", "(moved", "[sic]", "[undated]", "[north elevation]", "[/", "[b +",
    'say "ah"',
    "Église", "E\u0301glise", "ŁÓDŹ", "教会", "100%", "a_b", "NEAR", "AND", "OR NOT", "col:umn", "star*", "^caret",
    "half ½",
    "{curly}", "back\\slash", "'", "--", "$where", "Hill, East",
)  # fmt: skip


@pytest.fixture(scope="module")
def valley(tmp_path_factory: pytest.TempPathFactory) -> Valley:
    """A sheet for each of the words, in its title."""
    valley = Valley(tmp_path_factory.mktemp("asking") / "wenn")
    valley.place("Osk")
    for count, said in enumerate(SAID):
        valley.frame(f"n{count}", "1978", "Osk", title=f"before {said} after")
    valley.frame("1978-014-03", None, "Osk")
    valley.frame("A.1/b", None, "Osk")
    return valley


@pytest.mark.parametrize("said", SAID)
def test_h02_whatever_is_typed_is_looked_for_as_words(valley: Valley, said: str):
    found = valley.found(words=(said,))

    assert f"n{SAID.index(said)}" in found


@pytest.mark.parametrize(
    "typed", ['"', "(", "*", "[", "\\", "%", "' OR 1=1", "a" * 5000, "\x00", "NEAR(", "{x}", ":first", "?1"]
)
def test_h02_nothing_typed_is_ever_an_error(valley: Valley, typed: str, capsys: pytest.CaptureFixture[str]):
    assert valley.tiebeam("find", "--", typed) == 0
    assert valley.tiebeam("find", "--number", typed) == 0
    assert capsys.readouterr().err == ""


def test_h01_a_sheet_number_finds_its_sheet(valley: Valley):
    assert "1978-014-03" in valley.found(words=("1978-014-03",))
    assert list(valley.found(number="1978-014-03")) == ["1978-014-03"]
    assert list(valley.found(number="a.1/B")) == ["A.1/b"]


@pytest.mark.parametrize("typed", ["église", "ÉGLISE", "eglise", "E\u0301GLISE"])
def test_h03_case_and_accents_make_no_difference_beyond_ascii(valley: Valley, typed: str):
    assert set(valley.found(words=(typed,))) == {
        f"n{SAID.index('Église')}",
        f"n{SAID.index(chr(69) + chr(0x301) + 'glise')}",
    }


def test_h03_other_letters_fold_too(valley: Valley):
    assert list(valley.found(words=("lodz",))) == [f"n{SAID.index('ŁÓDŹ')}"]


def test_h04_brackets_stand_in_the_table_as_typed(valley: Valley, capsys: pytest.CaptureFixture[str]):
    valley.tiebeam("find", "--csv")

    printed = capsys.readouterr().out
    assert valley.tiebeam("show", "n4") == 0
    page = capsys.readouterr().out
    assert "before [sic] after" in page
    assert printed.count("\n") == len(SAID) + 3


def test_d09_an_undated_sheet_is_missing_from_no_list(valley: Valley, capsys: pytest.CaptureFixture[str]):
    valley.tiebeam("find", "--place", "Osk", "--years", "1978")

    assert "2 undated beside these; --undated lists them." in capsys.readouterr().out
    assert list(valley.found(place="Osk"))[-2:] == ["1978-014-03", "A.1/b"]
    assert list(valley.found(undated=True)) == ["1978-014-03", "A.1/b"]
