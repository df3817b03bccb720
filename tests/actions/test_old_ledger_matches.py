"""A row of an old ledger tells of a print that is in the catalogue by hand: what is lacking is added, once."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.print_facts import describe_print
from catalog.actions.prints import replace_print
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from tests.builders import rows
from tests.editions import a_buyer, a_gallery, an_edition, pull, write
from tests.old_ledgers import Ledger, a_ledger, line, outcomes, the_row
from tests.store.archives import tables

SOLD = {"No": "7/15", "Pulled": "May 2011", "Signed": "yes", "Sold_to": "Wilf Arkle", "Sold": "May 2013",
        "Price": "£450.00"}  # fmt: skip
OTHERWISE = "P1 is in the catalogue, and the row says otherwise: "


@pytest.fixture
def mill(archive: Archive) -> Archive:
    """An archive with one edition, E1, and one print of it that was written down by hand: P1, 7/15, of May 2011."""
    an_edition(archive)
    pull(archive, 1, 7, on="May 2011")
    return archive


def _of_e1(archive: Archive, folder: Path, *rows_said: dict[str, str], name: str = "prints.csv") -> Ledger:
    return a_ledger(archive, folder, *(line(Title="E1", **said) for said in rows_said), name=name)


def _kinds(archive: Archive, print_id: int = 1) -> list[str]:
    return rows(archive, "SELECT kind FROM ledger_entry WHERE print_id = ? ORDER BY id", print_id)


# ---- what is added


def test_what_the_ledger_lacks_is_added_and_nothing_is_doubled(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", {**SOLD, "Paper": "cotton"})
    rehearsed = the_row(ledger.rehearsed())

    done = the_row(ledger.read())

    assert (done.outcome, done.print_id) == ("matched", 1)
    assert [event.kind for event in rehearsed.events] == [event.kind for event in done.events] == ["signed", "sold"]
    assert rehearsed.facts == ("paper",)
    assert _kinds(mill) == ["pulled", "signed", "sold"]
    assert rows(mill, "SELECT paper FROM print") == ["cotton"]
    assert outcomes(ledger.read()) == ["here"]
    assert check_archive(mill) == []


def test_what_stands_there_already_is_only_matched(mill: Archive, tmp_path: Path):
    write(mill, "signed", 1)
    write(mill, "sold", 1, person_id=a_buyer(mill), on="2013-05-14", price="450 GBP")

    done = the_row(_of_e1(mill, tmp_path / "in", SOLD).read())

    assert (done.outcome, done.events, done.stays) == ("matched", (), ())
    assert _kinds(mill) == ["pulled", "signed", "sold"]
    assert rows(mill, "SELECT print_id FROM card_row") == [1]


def test_a_matched_row_that_tells_of_more_adds_it_to_the_print(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", {"No": "7/15"}).read()

    done = _of_e1(mill, tmp_path / "in", SOLD).read()

    assert outcomes(done) == ["refused"]  # it says another day of pulling than it did
    assert outcomes(_of_e1(mill, tmp_path / "in", {**SOLD, "Pulled": ""}).read()) == ["changed"]
    assert _kinds(mill) == ["pulled", "signed", "sold"]


def test_what_was_written_by_hand_since_is_not_written_again(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", {"No": "7/15", "Pulled": "May 2011"}).read()
    write(mill, "sold", 1, person_id=a_buyer(mill), on="2013-05", price="450 GBP")

    done = the_row(_of_e1(mill, tmp_path / "in", SOLD).read())

    assert [event.kind for event in done.events] == ["signed"]
    assert _kinds(mill) == ["pulled", "sold", "signed"]


def test_a_note_of_the_row_is_written_on_the_print_once(mill: Archive, tmp_path: Path):
    said = {"No": "7/15", "Notes": "crease lower left"}
    _of_e1(mill, tmp_path / "in", said).read()

    _of_e1(mill, tmp_path / "in", {**said, "Signed": "yes"}, name="other.csv").read()

    assert rows(mill, "SELECT text FROM note WHERE about = 'print'") == ["crease lower left"]


def test_a_print_read_from_one_book_is_found_in_another(mill: Archive, tmp_path: Path):
    _of_e1(mill, tmp_path / "in", {**SOLD, "No": "8/15"}).read()

    done = _of_e1(mill, tmp_path / "in", {"No": "8/15", "Sold_to": "wilf arkle", "Sold": "2013"}, name="two.csv").read()

    assert outcomes(done) == ["matched"]
    assert _kinds(mill, 2) == ["pulled", "signed", "sold"]


def test_a_second_row_of_the_number_is_refused_as_ever(mill: Archive, tmp_path: Path):
    done = _of_e1(mill, tmp_path / "in", {"No": "7/15"}, {"No": "7/15", "Signed": "yes"}).read()

    assert outcomes(done) == ["matched", "refused"]
    assert "A number is given once" in done.rows[1].reason


def test_each_row_of_a_replaced_print_finds_its_own(mill: Archive, tmp_path: Path):
    write(mill, "destroyed", 1, words="fire", on="2012")
    replace_print(mill, 1, proof="the corner")
    first = {"No": "7/15", "Status": "destroyed, fire at the framer's"}
    again = {"No": "7/15", "Status": "replacement", "Signed": "yes"}

    done = _of_e1(mill, tmp_path / "in", first, again).read()

    assert [(row.outcome, row.print_id) for row in done.rows] == [("matched", 1), ("matched", 2)]
    assert _kinds(mill) == ["pulled", "destroyed", "replaced"]
    assert _kinds(mill, 2) == ["pulled", "signed"]


# ---- what stays with the row


def test_what_an_entry_lacks_stays_with_the_row_and_is_told(mill: Archive, tmp_path: Path):
    write(mill, "sold", 1, person_id=a_buyer(mill))

    done = the_row(_of_e1(mill, tmp_path / "in", SOLD).read())

    assert done.stays == ("the date of entry 2 (sold)", "the price of entry 2 (sold)")
    assert _kinds(mill) == ["pulled", "sold", "signed"]


@pytest.mark.parametrize("said", [
    {"Gallery": "Wennmouth Gallery", "Consigned": "2012", "Back": "2013"}, {"Where": "drawer 3"},
    {"Gallery": "Wennmouth Gallery"},
])  # fmt: skip
def test_where_a_print_was_before_stays_with_the_row(mill: Archive, tmp_path: Path, said: dict[str, str]):
    write(mill, "sold", 1, person_id=a_buyer(mill), on="May 2014")

    done = the_row(_of_e1(mill, tmp_path / "in", {"No": "7/15", **said}).read())

    assert done.outcome == "matched"
    assert done.stays
    assert all("not surely after entry 2 (sold May 2014)" in words for words in done.stays)
    assert _kinds(mill) == ["pulled", "sold"]
    assert rows(mill, "SELECT count(*) FROM person") == [1]  # nobody is added who is named by no entry


def test_a_return_without_a_day_follows_the_consignment_it_stands_behind(mill: Archive, tmp_path: Path):
    gallery = a_gallery(mill)
    write(mill, "consigned", 1, person_id=gallery, on="2012-03")
    named = rows(mill, "SELECT name FROM person WHERE id = ?", gallery)[0]

    _of_e1(mill, tmp_path / "in", {"No": "7/15", "Gallery": named, "Consigned": "2012", "Back": "yes"}).read()

    assert _kinds(mill) == ["pulled", "consigned", "returned"]


# ---- contradictions


@pytest.mark.parametrize(("said", "told"), [
    ({**SOLD, "Price": "£500"}, "entry 3 (sold May 2013) has another price"),
    ({**SOLD, "Sold": "May 2014"}, "entry 3 (sold May 2013) has another date"),
    ({**SOLD, "Pulled": "2012"}, "it was pulled May 2011"),
    ({**SOLD, "Paper": "baryta"}, "its paper is another"),
    ({**SOLD, "Pulled": "2012", "Paper": "baryta"}, "it was pulled May 2011; its paper is another"),
])  # fmt: skip
def test_a_row_that_contradicts_the_catalogue_is_refused_in_words(
    mill: Archive, tmp_path: Path, said: dict[str, str], told: str
):
    write(mill, "signed", 1)
    write(mill, "sold", 1, person_id=a_buyer(mill), on="2013-05", price="450 GBP")
    describe_print(mill, 1, paper="cotton")
    before = tables(mill)

    done = the_row(_of_e1(mill, tmp_path / "in", said).read())

    assert done.outcome == "refused"
    assert done.reason.startswith(f"{OTHERWISE}{told}. Mend the row, or correct P1 by hand")
    assert tables(mill) == before


def test_a_sale_to_another_is_refused_with_whose_it_is(mill: Archive, tmp_path: Path):
    write(mill, "sold", 1, person_id=a_buyer(mill), on="2013-05")

    done = the_row(_of_e1(mill, tmp_path / "in", {**SOLD, "Sold_to": "Bridie Hallow"}).read())

    assert done.outcome == "refused"
    assert "it belongs to Wilf Arkle (N1) since May 2013" in done.reason
    assert "Wilf" not in done.public_reason
    assert rows(mill, "SELECT count(*) FROM person") == [1]


@pytest.mark.parametrize(("sold", "told"), [
    ("2012", "it was sold 2012, and entry 2 (consigned June 2013) came after that"),
    ("", "when it was sold is not said, and entry 2 (consigned June 2013) stands there"),
])  # fmt: skip
def test_a_sale_before_a_consignment_is_refused(mill: Archive, tmp_path: Path, sold: str, told: str):
    write(mill, "consigned", 1, person_id=a_gallery(mill), on="June 2013")

    done = the_row(_of_e1(mill, tmp_path / "in", {**SOLD, "Sold": sold}).read())

    assert done.reason.startswith(f"{OTHERWISE}{told}.")


def test_a_date_in_doubt_does_not_contradict_one_beside_it(mill: Archive, tmp_path: Path):
    done = _of_e1(mill, tmp_path / "in", {"No": "7/15", "Pulled": "c. 2012"}).read()

    assert outcomes(done) == ["matched"]


# ---- undo


def test_taken_back_the_print_is_as_it_was_and_can_be_matched_again(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", {**SOLD, "Paper": "cotton"})
    ledger.read()

    undo_deed(mill)

    assert rows(mill, "SELECT life, paper FROM print") == [("live", None)]
    assert rows(mill, "SELECT state, is_signed FROM print_standing") == [("in hand", 0)]
    assert outcomes(ledger.read()) == ["matched"]
    assert rows(mill, "SELECT state, paper FROM print_standing JOIN print ON id = print_id") == [("sold", "cotton")]
    assert check_archive(mill) == []


def test_what_was_written_by_hand_after_an_undo_is_not_doubled(mill: Archive, tmp_path: Path):
    ledger = _of_e1(mill, tmp_path / "in", {**SOLD, "No": "8/15"})
    ledger.read()
    undo_deed(mill)
    write(mill, "signed", 2)

    done = ledger.read()

    assert outcomes(done) == ["changed"]
    assert rows(mill, "SELECT count(*) FROM ledger_entry e WHERE print_id = 2 AND kind = 'signed' AND NOT EXISTS"
                      " (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id)") == [1]  # fmt: skip
