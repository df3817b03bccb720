"""Old ledgers of prints read into the catalogue: every rule asked row by row, nothing doubled, nothing guessed."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.edition_amendments import amend_edition
from catalog.actions.editions import set_edition_state
from catalog.actions.ledger import correct_entry
from catalog.rules.editions import EACH, SizePlan
from catalog.rules.money import Money, totals
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from tests.builders import dated, rows
from tests.editions import a_buyer, a_gallery, an_edition, pull, write
from tests.old_ledgers import Ledger, a_ledger, line, outcomes, the_row
from tests.store.archives import raw, tables

SOLD = {"No": "7/15", "Pulled": "May 2011", "Signed": "yes", "Sold_to": "Wilf Arkle", "Sold": "May 2013",
        "Price": "£450.00"}  # fmt: skip


@pytest.fixture
def mill(archive: Archive) -> Archive:
    """An archive with one edition, E1, of fifteen and two artist's proofs."""
    an_edition(archive)
    return archive


def _kinds(archive: Archive, print_id: int = 1) -> list[str]:
    return rows(archive, "SELECT kind FROM ledger_entry WHERE print_id = ? ORDER BY id", print_id)


def _of_e1(archive: Archive, folder: Path, *rows_said: dict[str, str], more: str = "") -> Ledger:
    return a_ledger(archive, folder, *(line(Title="E1", **said) for said in rows_said), more=more)


# ---- what becomes of a row


def test_a_sold_print_is_pulled_signed_and_sold_with_its_buyer_added(mill: Archive, tmp_path: Path):
    done = _of_e1(mill, tmp_path / "in", SOLD).read()

    assert (outcomes(done), done.persons) == (["new"], ("Wilf Arkle",))
    assert _kinds(mill) == ["pulled", "signed", "sold"]
    assert rows(mill, "SELECT written FROM print_number") == ["7/15"]
    assert rows(mill, "SELECT date_edtf, date_words, price_minor, currency FROM ledger_entry WHERE kind = 'sold'") == [
        ("2013-05", "May 2013", 45000, "GBP")
    ]
    assert rows(mill, "SELECT state FROM print_standing") == ["sold"]
    assert check_archive(mill) == []


def test_a_print_consigned_and_come_back_is_in_the_drawer_it_lies_in(mill: Archive, tmp_path: Path):
    said = {"No": "3", "Gallery": "Wennmouth Gallery", "Consigned": "2012", "Due": "2013", "Back": "2014",
            "Where": "drawer 3"}  # fmt: skip

    _of_e1(mill, tmp_path / "in", said).read()

    assert _kinds(mill) == ["pulled", "consigned", "returned", "drawer"]
    assert rows(mill, "SELECT state, place FROM print_standing") == [("in hand", "drawer 3")]
    assert rows(mill, "SELECT kind FROM person WHERE name = 'Wennmouth Gallery'") == ["firm"]


def test_three_sales_at_ten_cents_are_thirty_cents_exactly(mill: Archive, tmp_path: Path):
    said = [{**SOLD, "No": f"{n}/15", "Price": "0.10"} for n in (1, 2, 3)]

    _of_e1(mill, tmp_path / "in", *said, more='[money]\ncurrency = "EUR"').read()

    paid = rows(mill, "SELECT price_minor, currency FROM ledger_entry WHERE price_minor IS NOT NULL")
    assert totals(Money(*each) for each in paid) == (Money(30, "EUR"),)


def test_the_daybook_names_neither_buyer_nor_price(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", {**SOLD, "Notes": "paid £450 by Wilf Arkle in cash"}).read()

    deed = rows(mill, "SELECT words FROM deed ORDER BY id DESC LIMIT 1")[0]
    assert deed == "read prints.csv: 1 print written down, 1 person added"
    assert rows(mill, "SELECT text FROM note WHERE about = 'print'") == []  # it stays with the row, which is private
    assert "£450 by Wilf Arkle" in rows(mill, "SELECT cells FROM card_row")[0]


def test_every_print_tells_the_file_and_the_row_it_came_from(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", SOLD, {"No": "8/15", "Notes": "crease lower left"}).read()

    kept = rows(mill, "SELECT f.name, r.\"row\", r.print_id FROM card_row r"
                      " JOIN card_file f ON f.id = r.card_file_id ORDER BY r.id")  # fmt: skip
    assert kept == [("prints.csv", 2, 1), ("prints.csv", 3, 2)]
    assert rows(mill, "SELECT text, card_row_id FROM note WHERE about = 'print'") == [("crease lower left", 2)]


# ---- what is refused, while the neighbours are done


# shared/cases.md J01: the same number twice.
def test_j01_a_number_twice_is_refused_with_who_has_the_first(mill: Archive, tmp_path: Path):
    second = {"No": "7/15", "Sold_to": "Bridie Hallow", "Sold": "2015"}

    done = _of_e1(mill, tmp_path / "in", SOLD, second, {"No": "8/15"}).read()

    assert outcomes(done) == ["new", "refused", "new"]
    assert done.rows[1].reason == (
        "E1 7/15 (P1) is there already: it is sold to Wilf Arkle (N1) since May 2013. A number is given once."
    )
    assert "Wilf" not in done.rows[1].public_reason
    assert rows(mill, "SELECT name FROM person") == ["Wilf Arkle"]  # the buyer of the refused row is not added
    assert check_archive(mill) == []


# shared/cases.md J02: a replacement after a fire.
def test_j02_a_replacement_takes_the_number_of_a_print_whose_end_is_written_down(mill: Archive, tmp_path: Path):
    first = {"No": "7/15", "Pulled": "2011", "Status": "destroyed, fire at the framer's"}
    again = {"No": "7/15 (replacement)", "Pulled": "2013", "Notes": "signed corner of the first came back"}

    done = _of_e1(mill, tmp_path / "in", again, first).read()  # in whatever order they stand

    assert outcomes(done) == ["new", "new"]
    assert rows(mill, "SELECT count(*) FROM print_number") == [1]
    assert rows(mill, "SELECT life, replaces_id FROM print ORDER BY id") == [("ended", None), ("live", 1)]
    assert rows(mill, "SELECT words FROM ledger_entry WHERE kind = 'replaced'") == [
        "signed corner of the first came back"
    ]
    assert check_archive(mill) == []


def test_a_replacement_without_the_first_prints_end_is_refused(mill: Archive, tmp_path: Path):
    done = _of_e1(mill, tmp_path / "in", {"No": "7/15"}, {"No": "7/15", "Status": "replacement", "Notes": "x"}).read()

    assert outcomes(done) == ["new", "refused"]
    assert "is there already" in done.rows[1].reason


# shared/cases.md J03: proofs creep.
def test_j03_a_proof_beyond_those_declared_is_refused(mill: Archive, tmp_path: Path):
    done = _of_e1(mill, tmp_path / "in", {"No": "AP I/II"}, {"No": "AP III"}).read()

    assert outcomes(done) == ["new", "refused"]
    assert done.rows[1].reason == ("E1 declares 2 artist's proofs; a number III would be one more than was promised.")


# shared/cases.md J04: how sizes count.
def test_j04_where_each_size_has_a_run_the_size_tells_which(archive: Archive, tmp_path: Path):
    an_edition(archive, sizes=[SizePlan("small", "30 x 40 cm"), SizePlan("large")], sizes_count=EACH, proofs=[])
    said = [{"No": "7/15", "Size": "30x40 cm"}, {"No": "7/15", "Size": "large"}, {"No": "7/15"}]

    done = _of_e1(archive, tmp_path / "in", *said).read()

    assert outcomes(done) == ["new", "new", "held"]
    assert rows(archive, "SELECT run_id FROM print_number ORDER BY id") == [1, 2]


# shared/cases.md J06: an edition abandoned midway; old fractions stay as they stand on the prints.
def test_j06_old_fractions_stay_after_the_edition_went_over_to_serial_numbers(archive: Archive, tmp_path: Path):
    edition = an_edition(archive, limit=250)
    amend_edition(archive, edition.id, words="Serial numbers from now on.", numbering="serial", is_open_now=True)

    done = _of_e1(archive, tmp_path / "in", {"No": "7/250"}, {"No": "31"}, {"No": "8/200"}).read()

    assert outcomes(done) == ["new", "new", "held"]
    assert rows(archive, "SELECT written FROM print_number ORDER BY id") == ["7/250", "31"]


def test_what_one_run_was_limited_to_says_nothing_of_another(archive: Archive, tmp_path: Path):
    sizes = [SizePlan("small"), SizePlan("large")]
    edition = an_edition(archive, limit=40, sizes=sizes, sizes_count=EACH, proofs=[])
    for limit in (10, 20):
        amend_edition(archive, edition.id, words=f"{limit} of the small ones.", limit=limit, run_id=1)
    said = [{"No": "7/10", "Size": "small"}, {"No": "7/10", "Size": "large"}, {"No": "8/40", "Size": "small"}]

    done = _of_e1(archive, tmp_path / "in", *said).read()

    assert outcomes(done) == ["new", "held", "new"]
    assert rows(archive, "SELECT run_id, limit_count FROM former_limit ORDER BY id") == [(1, 40), (1, 10)]


def test_an_amendment_taken_back_leaves_no_former_limit(archive: Archive):
    edition = an_edition(archive)
    amend_edition(archive, edition.id, words="Ten, and three proofs.", limit=10, proofs=[("AP", 3)])
    assert rows(archive, "SELECT series, limit_count FROM former_limit ORDER BY id") == [("numbered", 15), ("AP", 2)]

    undo_deed(archive)

    assert rows(archive, "SELECT count(*) FROM former_limit") == [0]


def test_a_row_is_of_a_sheet_or_of_a_print_and_not_of_both(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", SOLD).read()

    with closing(raw(mill)) as connection, pytest.raises(sqlite3.IntegrityError, match="of_one"):
        connection.execute("UPDATE card_row SET sheet_id = 1")


def test_a_number_beyond_the_run_is_refused(mill: Archive, tmp_path: Path):
    done = _of_e1(mill, tmp_path / "in", {"No": "16"}, {"No": "15"}).read()

    assert outcomes(done) == ["refused", "new"]
    assert done.rows[0].reason == "E1 is limited to 15; there can be no number 16."


def test_an_impossible_sequence_is_refused_whole(mill: Archive, tmp_path: Path):
    said = {**SOLD, "Gallery": "Wennmouth Gallery", "Consigned": "2015", "Back": ""}

    done = _of_e1(mill, tmp_path / "in", said).read()

    assert the_row(done).outcome == "refused"
    assert "cannot be consigned: it is sold to Wilf Arkle" in the_row(done).reason
    assert rows(mill, "SELECT count(*) FROM print") == rows(mill, "SELECT count(*) FROM person") == [0]
    assert rows(mill, "SELECT count(*) FROM deed WHERE kind = 'prints read'") == [0]


def test_a_sold_print_that_came_back_is_refused_with_what_to_write(mill: Archive, tmp_path: Path):
    done = _of_e1(mill, tmp_path / "in", {**SOLD, "Back": "2015"}).read()

    assert the_row(done).reason.endswith("If it came back for good, write it down as bought back.")


def test_a_print_of_a_closed_edition_is_refused(mill: Archive, tmp_path: Path):
    set_edition_state(mill, 1, "closed")

    done = _of_e1(mill, tmp_path / "in", {"No": "7/15"}).read()

    assert the_row(done).reason == "E1 is closed. No print of it can be made any more."


# ---- nothing doubled


def test_read_twice_nothing_is_doubled(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", SOLD, {"No": "", "Neg": "", "Notes": "work print"})
    ledger.read()
    before = tables(mill)

    again = ledger.read()

    assert outcomes(again) == ["here", "here"]
    assert tables(mill) == before


def test_two_work_prints_that_say_the_same_are_two_however_often_they_are_read(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", {"Notes": "work print"}, {"Notes": "work print"})
    ledger.read()

    assert outcomes(ledger.read()) == ["here", "here"]
    assert rows(mill, "SELECT count(*) FROM print") == [2]


def test_one_number_in_two_rows_that_say_the_same_is_one_print(mill: Archive, tmp_path: Path):
    assert outcomes(_of_e1(mill, tmp_path / "in", SOLD, SOLD).read()) == ["new", "repeat"]


def test_a_row_that_tells_of_more_adds_entries_to_its_print(mill: Archive, tmp_path: Path):
    first = {"No": "7/15", "Pulled": "May 2011", "Signed": "yes"}
    _of_e1(mill, tmp_path / "in", first).read()

    done = _of_e1(mill, tmp_path / "in", SOLD).read()

    assert outcomes(done) == ["changed"]
    assert _kinds(mill) == ["pulled", "signed", "sold"]


def test_a_row_that_says_otherwise_alters_no_entry(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", SOLD).read()
    before = tables(mill)

    done = _of_e1(mill, tmp_path / "in", {**SOLD, "Sold": "May 2014"}).read()

    assert the_row(done).outcome == "refused"
    assert the_row(done).reason == (
        "It says otherwise than when it was read (sold), and what stands in a ledger is not altered. "
        "Correct P1 by hand: tiebeam prints correct-entry P1."
    )
    assert tables(mill) == before


def test_an_entry_corrected_by_hand_does_not_come_back(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", SOLD)
    ledger.read()
    correct_entry(mill, 3, why="that was 8/15")

    assert outcomes(ledger.read()) == ["here"]
    assert rows(mill, "SELECT state FROM print_standing") == ["in hand"]


def test_a_row_taken_out_of_the_file_leaves_its_print(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", SOLD, {"No": "8/15"}).read()

    done = _of_e1(mill, tmp_path / "in", {"No": "8/15"}).read()

    assert [each.print_id for each in done.gone] == [1]


# ---- undo


def test_undone_a_reading_frees_only_numbers_that_never_left_the_house(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", SOLD, {"No": "8/15"}).read()

    undo_deed(mill)

    assert rows(mill, "SELECT life FROM print ORDER BY id") == ["live", "void"]
    assert rows(mill, "SELECT state FROM print_standing ORDER BY print_id") == ["in hand", "never made"]
    assert rows(mill, "SELECT text FROM note WHERE about = 'print'")[0].endswith("only that this print was made stands")
    assert check_archive(mill) == []


def test_undone_and_read_again_the_ledger_is_as_after_the_first_reading(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", {**SOLD, "Paper": "coton"}, {"No": "8/15"})
    ledger.read()
    undo_deed(mill)

    done = _of_e1(mill, tmp_path / "in", {**SOLD, "Paper": "cotton"}, {"No": "8/15"}).read()

    assert outcomes(done) == ["changed", "new"]
    standing = rows(mill, "SELECT state, written, paper FROM print_standing s JOIN print p ON p.id = s.print_id JOIN"
                          " print_number n ON n.id = p.print_number_id WHERE life = 'live'")  # fmt: skip
    assert standing == [("sold", "7/15", "cotton"), ("in hand", "8/15", None)]
    assert check_archive(mill) == []


def test_an_undo_taken_back_writes_the_entries_again(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", SOLD, {"No": "8/15"})
    ledger.read()
    undo = undo_deed(mill)
    assert undo.undo_id is not None

    undo_deed(mill, undo.undo_id)

    assert rows(mill, "SELECT state FROM print_standing ORDER BY print_id") == ["sold", "in hand"]
    assert outcomes(ledger.read()) == ["here", "here"]
    assert check_archive(mill) == []


def test_an_undo_leaves_a_print_that_left_the_house_since_where_it_is(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", {"No": "7/15"}).read()
    write(mill, "consigned", 1, person_id=a_gallery(mill))
    deed = rows(mill, "SELECT id FROM deed WHERE kind = 'prints read'")[0]

    undo_deed(mill, deed)

    assert rows(mill, "SELECT state FROM print_standing") == ["consigned"]
    assert check_archive(mill) == []


def test_a_replacement_read_in_is_taken_back_with_the_first_print_and_read_again(mill: Archive, tmp_path: Path):
    first = {"No": "7/15", "Status": "destroyed, fire at the framer's"}
    again = {"No": "7/15", "Status": "replacement", "Notes": "signed corner of the first came back"}
    ledger = _of_e1(mill, tmp_path / "in", first, again)
    ledger.read()

    undo_deed(mill)
    assert rows(mill, "SELECT life FROM print ORDER BY id") == ["void", "void"]
    assert outcomes(ledger.read()) == ["new", "new"]

    assert rows(mill, "SELECT life FROM print ORDER BY id") == ["void", "void", "ended", "live"]
    assert check_archive(mill) == []


# ---- a rehearsal


def test_a_rehearsal_asks_every_rule_and_changes_nothing(mill: Archive, tmp_path: Path):
    pull(mill, 1, 9)
    before = tables(mill)

    done = _of_e1(mill, tmp_path / "in", SOLD, {"No": "9/15"}, {"No": "16"}).rehearsed()

    assert outcomes(done) == ["new", "matched", "refused"]
    assert tables(mill) == before


def test_a_known_buyer_is_not_added_twice(mill: Archive, tmp_path: Path):
    buyer = a_buyer(mill)

    _of_e1(mill, tmp_path / "in", {**SOLD, "Sold_to": "WILF ARKLE"}).read()

    assert rows(mill, "SELECT person_id FROM ledger_entry WHERE kind = 'sold'") == [buyer]
    assert dated("May 2013").edtf == rows(mill, "SELECT since FROM print_standing")[0]
