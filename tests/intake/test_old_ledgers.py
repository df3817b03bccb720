"""Old ledgers as proposals: what each cell means, what is asked, and that nothing doubtful becomes a fact."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.actions.edition_amendments import amend_edition
from catalog.errors import IntakeError
from catalog.intake.guess import guess_mapping
from catalog.intake.ledger_guess import guess_ledger_mapping
from catalog.intake.ledger_mapping import format_ledger_mapping, parse_ledger_mapping
from catalog.intake.ledger_rows import told
from catalog.intake.number_formats import parse_number_format, show_number
from catalog.intake.old_ledgers import read_old_ledger
from catalog.intake.tables import read_table
from catalog.rules.money import Money
from catalog.store.archive import Archive
from tests.editions import a_buyer, an_edition
from tests.old_ledgers import HEADINGS, MAPPING, Ledger, a_ledger, line, the_print
from tests.store.archives import filled


@pytest.fixture
def mill(archive: Archive) -> Archive:
    """An archive with one edition, E1, of fifteen and two artist's proofs."""
    return filled(archive, _open_edition)


def _open_edition(archive: Archive) -> None:
    an_edition(archive, title="Osk Mill, clad")


def _row(archive: Archive, folder: Path, more: str = "", **said: str) -> Ledger:
    return a_ledger(archive, folder / "in", line(**{"Title": "E1", **said}), more=more)


def _asked(ledger: Ledger) -> list[str]:
    return [str(question) for question in the_print(ledger).questions]


# ---- numbers


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("7/15", "E1 7/15"), ("7 of 15", "E1 7/15"), ("7", "E1 7/15"), ("No. 7", "E1 7/15"), ("#7/15", "E1 7/15"),
        ("AP II/II", "E1 AP II/II"), ("A.P. 2", "E1 AP II/II"), ("7/15 (sold)", "E1 7/15"),
    ],
)  # fmt: skip
def test_a_number_is_read_however_it_is_put(mill: Archive, tmp_path: Path, written: str, name: str):
    assert the_print(_row(mill, tmp_path, No=written)).name == name


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("7?", "is put in doubt"), ("7 or 8", "is put in doubt"), ("seven", "is no print number"),
        ("7/25", "is out of 25, but E1 is limited to 15"), ("AP III/III", "is out of 3, but E1 declares 2"),
        ("AP", "is no print number"),
    ],
)  # fmt: skip
def test_a_number_that_is_not_plain_is_asked_about(mill: Archive, tmp_path: Path, written: str, reason: str):
    found = the_print(_row(mill, tmp_path, No=written))

    assert found.place is None
    assert reason in str(found.questions[0])


def test_a_proof_without_a_figure_is_probably_the_only_one_declared(archive: Archive, tmp_path: Path):
    an_edition(archive, proofs=[("AP", 1), ("PP", 2)])

    only, one_of_two = (the_print(_row(archive, tmp_path, No=written)) for written in ("AP", "PP"))

    assert (only.name, only.questions) == ("E1 AP I/I", ())
    assert [(doubt.field, doubt.as_written, doubt.certainty) for doubt in only.doubts] == [("number", "AP", "probable")]
    assert one_of_two.place is None
    assert "is no print number: E1 declares 2 printer's proofs" in str(one_of_two.questions[0])


def test_a_proof_without_a_figure_is_asked_about_where_there_were_two_once(archive: Archive, tmp_path: Path):
    edition = an_edition(archive)
    amend_edition(archive, edition.id, words="One proof alone.", proofs=[("AP", 1)])

    assert the_print(_row(archive, tmp_path, No="AP")).place is None


def test_a_doubtful_number_is_settled_in_the_mapping_file(mill: Archive, tmp_path: Path):
    settled = the_print(_row(mill, tmp_path, '[numbers]\n"7?" = "7/15"', No="7?"))
    without = the_print(_row(mill, tmp_path, '[numbers]\n"7?" = ""', No="7?"))

    assert (settled.name, settled.questions) == ("E1 7/15", ())
    assert (without.name, without.questions) == ("no number", ())


def test_a_number_that_names_no_edition_is_what_stands_on_the_print(mill: Archive, tmp_path: Path):
    found = the_print(_row(mill, tmp_path, Title="S1", No="12/50", Notes="crease"))

    assert (found.place, found.facts["markings"], found.facts["sheet_id"]) == (None, "12/50", 1)
    assert "no edition is named" in str(found.troubles[0])
    assert "If it is of E1, name the edition" in str(found.troubles[0])


def test_a_row_that_names_nothing_of_the_catalogue_is_kept_apart(mill: Archive, tmp_path: Path):
    file = _row(mill, tmp_path, Title="Brome Hall", No="1/3").taken_apart()

    assert file.prints == ()
    assert "nothing says what the print shows" in file.unreadable[0].reasons[-1]


def test_a_title_means_what_the_mapping_file_says(mill: Archive, tmp_path: Path):
    by_title = the_print(_row(mill, tmp_path, Title="OSK MILL, clad", No="7"))
    settled = the_print(_row(mill, tmp_path, '[editions]\n"The mill" = "E1"', Title="The mill", No="7"))
    everywhere = the_print(_row(mill, tmp_path, '[editions]\n"" = "E1"', Title="", No="7"))

    assert {each.name for each in (by_title, settled, everywhere)} == {"E1 7/15"}


# ---- money


@pytest.mark.parametrize(
    ("written", "money"),
    [("£450.00", Money(45000, "GBP")), ("EUR 1.200,50", Money(120050, "EUR")), ("0.10 EUR", Money(10, "EUR"))],
)
def test_a_price_with_its_currency_is_read_exactly(mill: Archive, tmp_path: Path, written: str, money: Money):
    found = the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkle", Price=written))

    assert found.events[-1].price == money


@pytest.mark.parametrize("written", ["450", "$450", "450-500 GBP", "c. £450", "swap", "£450 or £500"])
def test_a_price_that_is_not_plain_is_asked_about(mill: Archive, tmp_path: Path, written: str):
    found = the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkle", Price=written))

    assert [question.field for question in found.questions] == ["price"]
    assert found.events[-1].price is None
    assert written not in told(found.questions[0], private=False)


def test_a_price_is_settled_in_the_mapping_file_or_kept_as_words(mill: Archive, tmp_path: Path):
    said = {"No": "7", "Sold_to": "Wilf Arkle", "Price": "450"}

    currency = the_print(_row(mill, tmp_path, '[money]\ncurrency = "USD"', **{**said, "Price": "$450"}))
    reading = the_print(_row(mill, tmp_path, '[money.readings]\n450 = "450 GBP"', **said))
    words = the_print(_row(mill, tmp_path, '[money.readings]\n450 = ""', **said))

    assert [each.events[-1].price for each in (currency, reading, words)] == [
        Money(45000, "USD"), Money(45000, "GBP"), None
    ]  # fmt: skip
    assert words.questions == ()
    assert words.cells["Price"] == "450"


def test_a_gift_is_no_sale(mill: Archive, tmp_path: Path):
    assert the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkle", Price="gift")).events[-1].kind == "given"


# ---- persons


def test_a_name_that_is_nearly_known_or_doubtful_is_asked_about(mill: Archive, tmp_path: Path):
    a_buyer(mill)

    near = the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkel"))
    doubtful = the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkle?"))
    settled = the_print(_row(mill, tmp_path, '[persons]\n"Wilf Arkel" = "N1"', No="7", Sold_to="Wilf Arkel"))
    another = the_print(_row(mill, tmp_path, '[persons]\n"Wilf Arkel" = "Wilf Arkel"', No="7", Sold_to="Wilf Arkel"))

    assert "Is it Wilf Arkle (N1)?" in str(near.questions[0])
    assert "Arkle" not in told(near.questions[0], private=False)
    assert "is put in doubt" in str(doubtful.questions[0])
    assert [each.events[-1].who.person_id for each in (settled, another) if each.events[-1].who] == [1, None]


def test_a_sale_to_nobody_named_is_asked_about(mill: Archive, tmp_path: Path):
    asked = _asked(_row(mill, tmp_path, No="7", Sold="2013"))
    stands_for = the_print(_row(mill, tmp_path, '[persons]\n"" = "buyer not known"', No="7", Sold="2013"))

    assert "is empty, but the print was sold" in asked[0]
    assert stands_for.events[-1].who is not None
    assert stands_for.events[-1].who.name == "buyer not known"


# ---- dates and what happened


def test_an_ambiguous_date_is_asked_about_and_settled(mill: Archive, tmp_path: Path):
    asked = _asked(_row(mill, tmp_path, No="7", Pulled="10/12/2012"))
    settled = the_print(_row(mill, tmp_path, '[dates]\nday_order = "dmy"', No="7", Pulled="10/12/2012"))
    words = the_print(_row(mill, tmp_path, '[dates.readings]\n"10/12/2012" = ""', No="7", Pulled="10/12/2012"))

    assert "2012-12-10" in asked[0]
    assert settled.pulled.exposed is not None
    assert settled.pulled.exposed.text == "2012-12-10"
    assert (words.pulled.exposed, words.pulled.words, words.questions) == (None, "10/12/2012", ())


def test_a_doubtful_date_keeps_its_doubt(mill: Archive, tmp_path: Path):
    found = the_print(_row(mill, tmp_path, No="7", Pulled="c. 2012"))

    assert found.pulled.exposed is not None
    assert (found.pulled.exposed.text, found.pulled.words) == ("2012~", "c. 2012")


def test_what_happened_stands_in_the_order_of_its_dates(mill: Archive, tmp_path: Path):
    consigned = {"Gallery": "Lantern Street", "Consigned": "2012", "Back": "2013"}

    after = the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkle", Sold="2014", **consigned))
    before = the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkle", Sold="2011", **consigned))

    assert [event.kind for event in after.events] == ["consigned", "returned", "sold"]
    assert [event.kind for event in before.events] == ["sold", "consigned", "returned"]  # the ledger refuses it


@pytest.mark.parametrize(
    ("said", "kinds"),
    [
        ({"Signed": "yes"}, ["signed"]), ({"Signed": "no"}, []), ({"Signed": "verso, pencil"}, ["signed"]),
        ({"Status": "available"}, []), ({"Status": "lost"}, ["lost"]), ({"Where": "drawer 3"}, ["drawer"]),
        ({"Sold_to": "-"}, []), ({"Sold_to": "unsold"}, []),
    ],
)  # fmt: skip
def test_a_cell_becomes_an_entry_only_where_it_says_that_something_happened(
    mill: Archive, tmp_path: Path, said: dict[str, str], kinds: list[str]
):
    found = the_print(_row(mill, tmp_path, No="7", **said))

    assert ([event.kind for event in found.events], found.questions) == (kinds, ())


def test_signed_in_doubt_is_kept_as_doubt_alone(mill: Archive, tmp_path: Path):
    found = the_print(_row(mill, tmp_path, No="7", Signed="yes?"))

    assert found.events == ()
    assert [(doubt.field, doubt.as_written) for doubt in found.doubts] == [("signed", "yes?")]


@pytest.mark.parametrize("said", [{"Status": "sort of sold"}, {"Status": "lost?"}, {"Where": "Lantern Street"}])
def test_what_would_have_to_be_guessed_is_asked(mill: Archive, tmp_path: Path, said: dict[str, str]):
    assert len(_asked(_row(mill, tmp_path, No="7", **said))) == 1


def test_a_print_in_the_drawer_that_was_sold_is_pointed_out(mill: Archive, tmp_path: Path):
    found = the_print(_row(mill, tmp_path, No="7", Sold_to="Wilf Arkle", Where="drawer 3"))

    assert [trouble.kind for trouble in found.troubles] == ["inconsistent"]


# ---- kinds of file


def test_a_table_from_the_classic_macintosh_is_read(mill: Archive, tmp_path: Path):
    ledger = _row(mill, tmp_path)
    lines = [
        HEADINGS,
        line(Title="E1", No="7/15", Sold_to="Zoë Thornwick-Älv", Price="450 GBP"),
        line(Title="do.", No="8/15"),
    ]
    ledger.path.write_bytes("\r".join(lines).encode("mac_roman"))

    file = ledger.taken_apart()

    assert file.encoding == "mac_roman"
    assert [each.name for each in file.prints] == ["E1 7/15", "E1 8/15"]  # the ditto mark stands for the title above
    assert file.prints[0].events[-1].who is not None
    assert file.prints[0].events[-1].who.name == "Zoë Thornwick-Älv"


def _workbook(path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["I. Thornwick, prints"])
    sheet.append(["Title", "No", "Pulled", "Sold to", "Sold", "Price"])
    for number, price in (("1/15", 0.1), ("2/15", 450.5), ("3/15", 450.5), ("4/15", 450), ("5/15", 450)):
        sheet.append(["E1", number, None, "Wilf Arkle", None, price])
    sheet.append(["E1", 0.4666666666667, None, None, None, None])
    sheet.merge_cells("A3:A8")
    sheet.merge_cells("F6:F7")
    for cell, code in (("F3", "[$€-407] #,##0.00"), ("F4", '"£"#,##0'), ("F5", "_-[$£-809]* #,##0.00_-"),
                       ("F6", '#,##0.00" EUR"'), ("B8", "# ??/??")):  # fmt: skip
        sheet[cell].number_format = code
    book.save(path)


def test_a_workbook_tells_its_currency_by_the_format_of_its_cells(mill: Archive, tmp_path: Path):
    path = tmp_path / "prints.xlsx"
    _workbook(path)
    with mill.reading() as connection:
        file = read_old_ledger(path, parse_ledger_mapping(MAPPING), connection)

    prices = [each.events[-1].price if each.events else None for each in file.prints]
    reasons = [" ".join(question.reason for question in each.questions) for each in file.prints]
    assert len(file.prints) == 6  # one title, merged over six rows
    assert (prices[0], prices[2]) == (Money(10, "EUR"), Money(45050, "GBP"))
    assert reasons[1] == "is what the cell shows, but it holds 450.5"
    assert reasons[3] == reasons[4] == "stands in a cell merged over several rows: for each, or for all together?"
    assert "is a fraction the spreadsheet may have reduced" in reasons[5]


# ECMA-376-1:2016 §18.8.31: "[$€-407]" shows the sign; a language alone ("[$-409]") shows nothing.
def test_the_sign_of_a_currency_in_a_number_format_is_shown():
    assert show_number(1200.5, parse_number_format("[$€-407] #,##0.00")) == "€ 1,200.50"
    assert show_number(1200.5, parse_number_format("[$-409]#,##0.00")) == "1,200.50"


# ---- the mapping file


def test_every_fault_of_a_mapping_file_is_named_at_once():
    text = '[columns]\nNo = "numbr"\n[money]\ncurrency = "pounds"\n[numbers]\n"7?" = "seven"\n[status]\nx = "gone"\n'

    with pytest.raises(IntakeError) as raised:
        parse_ledger_mapping(text)

    assert len(str(raised.value).splitlines()) == 4


def test_a_first_mapping_tells_the_columns_and_asks_what_the_rows_would_ask(mill: Archive, tmp_path: Path):
    path = tmp_path / "old.csv"
    path.write_text("Edition,Title,Buyer,Sale date,Sale price,Whereabouts,Frame\n"
                    '7/15,"Osk Mill, clad",Wilf Arkle,3/4/13,450,drawer 3,oak\n', "utf-8")  # fmt: skip
    with mill.reading() as connection:
        mapping, questions = guess_ledger_mapping(read_table(path), connection)

    assert {heading: use.field for heading, use in mapping.columns.items()} == {
        "Edition": "number", "Title": "title", "Buyer": "sold_to", "Sale date": "sold", "Sale price": "price",
        "Whereabouts": "where", "Frame": "sheet",
    }  # fmt: skip
    assert any("names no currency" in question for question in questions)
    assert any("century" in question for question in questions)
    again = parse_ledger_mapping(format_ledger_mapping(mapping, questions))
    assert again.columns == mapping.columns


def test_a_first_mapping_asks_about_a_title_that_alone_says_what_a_row_is_of(mill: Archive, tmp_path: Path):
    path = tmp_path / "old.csv"
    path.write_text("Title,No,Buyer\nThe Hall,5/25,Wilf Arkle\nThe Hall,6/25,Wilf Arkle\n", "utf-8")

    with mill.reading() as connection:
        mapping, questions = guess_ledger_mapping(read_table(path), connection)

    assert [one for one in questions if "'The Hall' (2) names no edition" in one and "[editions]" in one]
    assert "The Hall" in mapping.editions


def test_a_card_index_is_guessed_as_before(tmp_path: Path):
    path = tmp_path / "cards.csv"
    path.write_text("Neg. no,Village,Date\n78-14,Osk,1978\n", "utf-8")

    assert guess_mapping(read_table(path))[0].columns["Village"].field == "village"


# ---- whatever stands in a cell

CELLS = st.one_of(
    st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=12),
    st.sampled_from(["7/15", "E1", "N1", "N999999999999999999999", "9" * 5000, "AP", "?", "do.", "7/0", "£1", "1/1/12",
                     "sold", "destroyed", "=1+1", "Wilf Arkle", "2012", "n.d.", "yes", "E99999999999999999999 7/15"]),
)  # fmt: skip


# A row mostly has few cells, so that it comes as far as the rules of the ledger.
ROW = {
    **dict.fromkeys(HEADINGS.split(","), st.just("") | st.just("") | st.just("") | CELLS),
    "Title": st.just("E1") | CELLS,
}


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.fixed_dictionaries(ROW), min_size=1, max_size=4))
def test_no_row_stops_its_neighbours(mill: Archive, tmp_path: Path, said: list[dict[str, str]]):
    lines = [line(**{heading.replace(" ", "_"): text for heading, text in each.items()}) for each in said]
    ledger = a_ledger(mill, tmp_path / "in", *lines, line(Title="E1", No="15/15"))

    done = ledger.rehearsed()

    numbers = [(row.old.name, row.outcome) for row in done.rows]
    taken = [name for name, outcome in numbers if outcome == "new"]
    assert numbers[-1][0] == "E1 15/15"
    assert len([name for name in taken if name != "no number"]) == len({name for name in taken if name != "no number"})
