"""Old ledgers with a row for each happening: the rows of one print are put together, in their order."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.actions.old_ledgers import LedgerRead, read_old_ledger
from catalog.errors import IntakeError
from catalog.intake.ledger_guess import guess_ledger_mapping
from catalog.intake.ledger_mapping import parse_ledger_mapping
from catalog.intake.ledger_rows import OldLedger
from catalog.intake.old_ledgers import read_old_ledger as read_file
from catalog.intake.tables import read_table
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from tests.builders import done, rows, run
from tests.editions import an_edition, pull
from tests.old_ledgers import outcomes, the_row
from tests.store.archives import tables

HEADINGS = "Date,Title,No,What,With,Where,Amount,Due,Paper,Remarks"
MAPPING = """
version = 1
[columns]
Date = "when"
Title = "edition"
No = "number"
What = "what"
With = "who"
Where = "where"
Amount = "price"
Due = "due"
Paper = "paper"
Remarks = "note"
"""
STORY = (
    "May 2011,E1,7/15,printed,,,,,cotton,",
    "June 2011,E1,8/15,printed,,,,,,",
    "2012,E1,7/15,on consignment,Wennmouth Gallery,,£400,2013,,",
    "2014,E1,7/15,came back,,,,,,",
    "May 2014,E1,7/15,condition report,,,,,,soft corner",
    ",E1,8/15,put away,,drawer 3,,,,",
    "2015,E1,7/15,sold,Wilf Arkle,,£450,,,",
)


@pytest.fixture
def mill(archive: Archive) -> Archive:
    """An archive with one edition, E1, of fifteen and two artist's proofs."""
    an_edition(archive)
    return archive


def _file(folder: Path, *lines: str, more: str = "") -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / "book.csv"
    path.write_text("\n".join([HEADINGS, *lines, ""]), "utf-8")
    path.with_suffix(".toml").write_text(MAPPING + more, "utf-8")
    return path


def _taken_apart(archive: Archive, path: Path) -> OldLedger:
    mapping = parse_ledger_mapping(path.with_suffix(".toml").read_text("utf-8"))
    with archive.reading() as connection:
        return read_file(path, mapping, connection)


def _read(archive: Archive, path: Path) -> LedgerRead:
    return read_old_ledger(archive, _taken_apart(archive, path))


def _kinds(archive: Archive, print_id: int = 1) -> list[str]:
    return rows(archive, "SELECT kind FROM ledger_entry WHERE print_id = ? ORDER BY id", print_id)


def _asked(archive: Archive, path: Path) -> list[str]:
    return [str(question) for each in _taken_apart(archive, path).prints for question in each.questions]


# ---- what becomes of the rows


def test_the_rows_of_a_number_are_the_ledger_of_one_print(mill: Archive, tmp_path: Path):
    read = _read(mill, _file(tmp_path / "in", *STORY))

    assert outcomes(read) == ["new", "new"]
    assert _kinds(mill) == ["pulled", "consigned", "returned", "condition report", "sold"]
    assert _kinds(mill, 2) == ["pulled", "drawer"]
    assert rows(mill, "SELECT state, place, value_minor FROM print_standing ORDER BY print_id") == [
        ("sold", None, 45000), ("in hand", "drawer 3", None),
    ]  # fmt: skip
    assert rows(mill, "SELECT words FROM ledger_entry WHERE kind = 'condition report'") == [
        "condition report: soft corner"
    ]
    assert rows(mill, "SELECT due_edtf, price_minor FROM ledger_entry WHERE kind = 'consigned'") == [("2013", 40000)]
    assert rows(mill, "SELECT pulled_edtf, paper FROM print WHERE id = 1") == [("2011-05", "cotton")]
    assert check_archive(mill) == []


def test_every_row_is_kept_with_its_print(mill: Archive, tmp_path: Path):
    _read(mill, _file(tmp_path / "in", *STORY))

    assert rows(mill, 'SELECT print_id, "row" FROM card_row ORDER BY "row"') == [
        (1, 2), (2, 3), (1, 4), (1, 5), (1, 6), (2, 7), (1, 8),
    ]  # fmt: skip
    shown = done(mill, "prints", "show", "P1", "--private")
    assert "book.csv, row 8" in shown
    assert "With: Wilf Arkle" in shown


def test_read_again_nothing_is_doubled_and_a_new_row_is_added(mill: Archive, tmp_path: Path):
    _read(mill, _file(tmp_path / "in", *STORY[:-1]))
    before = tables(mill)

    assert outcomes(_read(mill, _file(tmp_path / "in", *STORY[:-1]))) == ["here", "here"]
    assert tables(mill) == before
    assert outcomes(_read(mill, _file(tmp_path / "in", *STORY))) == ["changed", "here"]
    assert _kinds(mill)[-1] == "sold"


def test_a_row_that_stands_twice_is_taken_once(mill: Archive, tmp_path: Path):
    read = _read(mill, _file(tmp_path / "in", *STORY, STORY[-1]))

    assert outcomes(read) == ["new", "new"]
    assert _kinds(mill).count("sold") == 1
    assert "says the same as row 8. It is taken once." in str(read.rows[0].old.troubles[0])


def test_dates_outrank_the_order_of_rows(mill: Archive, tmp_path: Path):
    _read(mill, _file(tmp_path / "in", *reversed(STORY)))

    number = rows(mill, "SELECT p.id FROM print p JOIN print_number n ON n.id = p.print_number_id WHERE ordinal = 7")[0]
    # "2014" and "May 2014" do not tell which came first: there the rows do.
    assert _kinds(mill, number) == ["pulled", "consigned", "condition report", "returned", "sold"]


def test_a_print_of_the_catalogue_gets_what_it_lacks(mill: Archive, tmp_path: Path):
    pull(mill, 1, 7, on="May 2011")

    assert outcomes(_read(mill, _file(tmp_path / "in", *STORY))) == ["matched", "new"]
    assert _kinds(mill) == ["pulled", "consigned", "returned", "condition report", "sold"]


def test_a_replacement_has_the_rows_behind_it(mill: Archive, tmp_path: Path):
    lines = [
        "2011,E1,7/15,printed,,,,,,", "2012,E1,7/15,\"destroyed, fire at the framer's\",,,,,,",
        "2013,E1,7/15,replacement,,,,,,the signed corner came back", "2014,E1,7/15,signed,,,,,,",
    ]  # fmt: skip

    read = _read(mill, _file(tmp_path / "in", *lines))

    assert outcomes(read) == ["new", "new"]
    assert _kinds(mill) == ["pulled", "destroyed", "replaced"]
    assert _kinds(mill, 2) == ["pulled", "signed"]
    assert outcomes(_read(mill, _file(tmp_path / "in", *lines))) == ["here", "here"]


def test_a_sale_bought_back_and_sold_again_is_read_as_it_went(mill: Archive, tmp_path: Path):
    lines = [
        "2012,E1,7/15,sold,Wilf Arkle,,£450,,,", "2014,E1,7/15,bought back,Wilf Arkle,,£500,,,",
        "2016,E1,7/15,sold,Bridie Hallow,,£600,,,",
    ]  # fmt: skip

    _read(mill, _file(tmp_path / "in", *lines))

    assert _kinds(mill) == ["pulled", "sold", "bought back", "sold"]


def test_an_impossible_story_is_refused_whole_with_all_its_rows(mill: Archive, tmp_path: Path):
    path = _file(tmp_path / "in", *STORY, "2016,E1,7/15,lost,,,,,,", "2017,E1,7/15,consigned,Wennmouth Gallery,,,,,")

    outcome = run(mill, "prints", "read", str(path))

    assert "left out: row 2: E1 7/15" in outcome.out
    assert "rows 3 and 7: new: E1 8/15" in outcome.out
    rejects = path.with_name("book not read.csv").read_text("utf-8-sig").splitlines()
    assert [row.partition(",")[0] for row in rejects] == ["row", "2", "4", "5", "6", "8", "9", "10"]
    assert "Wilf" not in outcome.out


# ---- what is asked


@pytest.mark.parametrize(("line", "reason"), [
    ("2016,E1,7/15,gone,,,,,,", "'gone' is nothing known here that happens to a print"),
    ("2016,E1,7/15,,,,,,,", "is empty: nothing says what happened"),
    ("2016,E1,7/15,lent,,,,,,", "is empty, but the print was lent"),
    ("2016,E1,8/15,put away,,,,,,", "is empty, but what happened is 'drawer'"),
    ("2016,E1,7/15,printed,,,,,,", "'7/15' is pulled a second time: row 2 says so too"),
    ("2016,E1,7/15,signed,,,,,baryta,", "'baryta' is not what row 2 says"),
    ("2016,E1,,sold,Wilf Arkle,,£1,,,", "'' is no number of an edition"),
    ("10/12/16,E1,7/15,signed,,,,,,", "may mean"),
])  # fmt: skip
def test_a_row_that_is_not_plain_holds_its_print_back(mill: Archive, tmp_path: Path, line: str, reason: str):
    path = _file(tmp_path / "in", STORY[0], line)

    assert any(reason in question for question in _asked(mill, path))
    assert "held" in outcomes(_read(mill, path))


def test_what_words_mean_is_said_in_the_mapping_file(mill: Archive, tmp_path: Path):
    more = '[what]\n"gone" = "lost"\n"paid" = ""\n'
    lines = ["2012,E1,7/15,gone astray,,,,,,", "2013,E1,7/15,paid,,,,,,by instalments"]

    read = _read(mill, _file(tmp_path / "in", *lines, more=more))

    assert the_row(read).outcome == "new"
    assert _kinds(mill) == ["pulled", "lost"]
    assert rows(mill, "SELECT text FROM note WHERE about = 'print' ORDER BY id") == ["by instalments", "paid", "2013"]


def test_a_print_without_a_number_can_be_pulled_and_no_more(mill: Archive, tmp_path: Path):
    read = _read(mill, _file(tmp_path / "in", "2011,E1,,printed,,,,,,work print", "2012,E1,,signed,,,,,,"))

    assert outcomes(read) == ["new", "held"]


@pytest.mark.parametrize(("more", "fault"), [
    ('Sold = "sold_to"', "sold_to has no place beside a column 'what'"),
    ('Extra = "who"', None),
])  # fmt: skip
def test_a_mapping_is_of_one_kind_of_ledger(more: str, fault: str | None):
    columns = MAPPING if fault else '[columns]\nNo = "number"'

    with pytest.raises(IntakeError, match=fault or "who needs a column 'what'"):
        parse_ledger_mapping(f"{columns}\n{more}")


def test_a_first_mapping_sees_that_a_column_says_what_happened(mill: Archive, tmp_path: Path):
    path = tmp_path / "book.csv"
    path.write_text(
        "\n".join(
            [
                "Date,Edition,No,Event,Buyer,Price,Notes",
                *(f"{n},E1,{n - 2000}/15,sold,Wilf Arkle,£450," for n in range(2001, 2006)),
            ]
        ),
        "utf-8",
    )

    with mill.reading() as connection:
        mapping, _ = guess_ledger_mapping(read_table(path), connection)

    assert {heading: use.field for heading, use in mapping.columns.items()} == {
        "Date": "when", "Edition": "edition", "No": "number", "Event": "what", "Buyer": "who", "Price": "price",
        "Notes": "note",
    }  # fmt: skip
