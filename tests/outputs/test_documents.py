"""Documents that leave the house, read back by another library (pypdf)."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from catalog import clock
from catalog.errors import FontError, LettersError, RefusedError
from catalog.outputs.document_facts import LetterPaper, Party
from catalog.outputs.documents import make_document
from catalog.rules.disclosure import NO_ADVICE, choose_list
from catalog.rules.money import Money
from tests.outputs import document_examples as examples

ROOT = Path(__file__).parents[2]


def made(document: Any, letter_paper: LetterPaper = examples.HOUSE) -> PdfReader:
    with clock.fixed():
        return PdfReader(BytesIO(make_document(document, letter_paper)))


def text_of(document: Any, letter_paper: LetterPaper = examples.HOUSE) -> str:
    pages = [page.extract_text() for page in made(document, letter_paper).pages]
    return "\n".join(line.strip() for page in pages for line in page.replace("\u00a0", " ").splitlines())


def words_of(document: Any) -> str:
    return " ".join(text_of(document).split())


@pytest.mark.parametrize("kind", examples.ALL)
def test_a_document_says_what_it_always_said(golden: Callable[[str, bytes], None], kind: str):
    golden(f"documents/{kind}.txt", (text_of(examples.ALL[kind]()) + "\n").encode())


@pytest.mark.parametrize("kind", examples.ALL)
def test_a_document_has_heading_reference_date_and_page_number(kind: str):
    said = words_of(examples.ALL[kind]())

    assert said.startswith("Ida Thornwick")
    reference = examples.ALL[kind]().reference
    assert f"{reference} · 25 November 2026" in said
    assert said.count("Page 1 of 1") == 1


@pytest.mark.parametrize("kind", examples.ALL)
def test_the_same_facts_give_the_same_bytes_in_another_process(kind: str):
    code = (
        "import sys, hashlib; from catalog import clock; from tests.outputs import document_examples as e;"
        "from catalog.outputs.documents import make_document\n"
        "with clock.fixed(): print(hashlib.sha256(make_document(e.ALL[sys.argv[1]](), e.HOUSE)).hexdigest())"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", code, kind],
            cwd=ROOT,
            env={"PYTHONHASHSEED": seed, "PATH": "", "TZ": zone},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    }

    assert len(runs) == 1


@pytest.mark.parametrize("kind", examples.ALL)
def test_every_typeface_is_embedded(kind: str):
    # ISO 32000-2:2020 §9.9: an embedded TrueType program stands in FontFile2 of the font's descriptor.
    fonts = [
        font.get_object() for page in made(examples.ALL[kind]()).pages for font in page["/Resources"]["/Font"].values()
    ]

    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"].get_object() for font in fonts)


def test_the_page_says_when_it_was_made_and_not_for_whom():
    with clock.fixed(datetime(2026, 11, 25, 9, 30, tzinfo=UTC)):
        info = PdfReader(BytesIO(make_document(examples.invoice(), examples.HOUSE))).metadata

    assert info is not None
    assert info.creation_date == datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
    assert (info.title, info.author) == ("Invoice A15", "Ida Thornwick")
    assert "Łódź" not in str(info)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_paper_is_the_one_of_the_settings(paper: str, size: tuple[int, int]):
    box = made(examples.certificate(), replace(examples.HOUSE, paper=paper)).pages[0].mediabox

    assert (round(box.width), round(box.height)) == size


# ---- letters, case I01


def test_a_collector_of_another_alphabet_reads_their_own_name():  # case I01
    said = text_of(examples.invoice())

    assert "Церковь Łódź" in said


def test_a_name_that_cannot_be_set_is_refused_by_name():  # case I01
    document = replace(examples.invoice(), to=Party("教会"))

    with pytest.raises(LettersError, match=r"the recipient's name: .* has no letter for 教"):
        make_document(document, examples.HOUSE)


def test_markup_in_a_name_is_printed_not_followed():
    name = 'Mill & <b>Sons</b> <img src="http://thornwick.example/x.png"/> &amp;'

    said = words_of(replace(examples.invoice(), to=Party(name)))

    assert name in said


def test_a_typeface_that_is_not_there_is_named(tmp_path: Path):
    with pytest.raises(FontError, match=r"mine\.ttf"):
        make_document(examples.certificate(), replace(examples.HOUSE, font=tmp_path / "mine.ttf"))


# ---- certificates


def test_a_certificate_says_every_item_doubt_included():
    document = examples.certificate()

    said = words_of(document)

    for each in document.answers:
        assert f"{each.item.label} {each.words}" in said
    assert "2012 or 2013" in said
    assert "Unnumbered prints not known" in said


@pytest.mark.parametrize("law", ["california", "georgia", "illinois", "none"])
def test_a_certificate_names_the_text_it_follows_and_is_no_advice(law: str):
    said = words_of(examples.certificate(law))

    assert choose_list(law).cites in said
    assert NO_ADVICE in said


# ---- consignment and loan


@pytest.mark.parametrize("sentences", range(10, 40, 3))
def test_what_a_certificate_follows_stands_under_its_signature_wherever_the_page_ends(sentences: int):
    statement = "Fifteen prints and no more, on matt cotton paper, in one size. " * sentences

    pages = [page.extract_text() for page in made(replace(examples.certificate(), statement=statement)).pages]

    assert "Place and date" in pages[-1]
    assert "California Civil Code" in pages[-1]
    assert NO_ADVICE[:40] in " ".join(pages[-1].split())


def test_the_lines_must_be_the_prints_delivered():
    note = replace(examples.consignment_note(), delivered=("P88", "P99"))

    with pytest.raises(RefusedError) as refused:
        make_document(note, examples.HOUSE)

    assert str(refused.value) == (
        "A13: P91 is listed but was not delivered; P99 was delivered but is not listed. Nothing was issued."
    )


def test_a_print_listed_twice_is_refused():
    note = examples.consignment_note()

    with pytest.raises(RefusedError, match="P88 is listed twice"):
        make_document(replace(note, lines=(*note.lines, examples.OSK_MILL)), examples.HOUSE)


def test_forty_lines_run_over_two_pages_with_headings_whole_rows_and_one_sum():
    note = examples.consignment_note(40)
    short = tuple(replace(line, title="Osk Mill", condition="none", paper_size="") for line in note.lines)

    reader = made(replace(note, lines=short))

    pages = [page.extract_text().replace("\u00a0", " ") for page in reader.pages]
    assert len(pages) == 2
    assert all(page.count("Condition") == 1 and f"Page {n} of 2" in page for n, page in enumerate(pages, 1))
    for page in pages:  # no row is parted between its lines
        assert page.count("pigment print") == len(re.findall(r"\d+/50", page))
    together = "\n".join(pages)
    assert together.count("Together") == 1
    assert "27,010.00 EUR" in pages[-1]
    assert re.findall(r"\b(\d+)/50", together) == [str(n) for n in range(1, 41)]
    assert "40/50" in pages[-1]  # the sum and the signatures are never alone


@pytest.mark.parametrize("count", range(14, 24))
def test_wherever_the_page_ends_rows_stay_whole_and_the_sum_has_a_row_with_it(count: int):
    note = examples.consignment_note(count)

    pages = [page.extract_text() for page in made(note).pages]

    for page in pages:
        assert page.count("pigment print") == len(re.findall(r"\d+/50", page))
        assert page.count("Condition") in (0, 1)
    last = next(page for page in pages if "Together" in page)
    assert f"{count}/50" in last


def test_a_long_report_of_condition_loses_no_word():
    words = [f"spot{n}" for n in range(1200)]
    lines = (replace(examples.OSK_MILL, condition=" ".join(words)), examples.WEIGH_HOUSE)

    said = set(text_of(replace(examples.consignment_note(), lines=lines)).split())

    assert set(words) <= said


def test_a_text_that_fits_no_page_ends_in_words():
    with pytest.raises(RefusedError, match="Consignment note A13: a text is too long for its place"):
        make_document(replace(examples.consignment_note(), to=Party("mill " * 5000)), examples.HOUSE)


# ---- invoices


def test_an_invoice_adds_the_tax_exactly():
    said = words_of(examples.invoice())

    # 600.00 + 750.50 = 1,350.50; a fifth of it 270.10
    assert "Without tax 1,350.50 EUR VAT 20 % 270.10 EUR To pay 1,620.60 EUR" in said


def test_an_invoice_says_when_each_print_was_sold():
    said = words_of(examples.invoice())

    assert "3 May 2021 600.00 EUR" in said


def test_an_invoice_with_prices_that_contain_the_tax_says_how_much():
    said = words_of(examples.invoice(included=True))

    # 1,350.50 / 1.2 = 1,125.4166..; its fifth 225.0833.. is 225.08
    assert "To pay 1,350.50 EUR Contains VAT 20 % 225.08 EUR" in said


def test_a_commission_is_taken_off_before_the_tax():
    said = words_of(replace(examples.invoice(), commission=Money(540_20, "EUR")))

    assert "Less commission -540.20 EUR Without tax 810.30 EUR VAT 20 % 162.06 EUR To pay 972.36 EUR" in said


def test_an_invoice_without_a_price_names_the_print():
    lines = (replace(examples.OSK_MILL, price=None),)

    with pytest.raises(RefusedError, match="A15: no price for P88"):
        make_document(replace(examples.invoice(), lines=lines), examples.HOUSE)


def test_an_invoice_in_two_currencies_is_refused():
    lines = (examples.OSK_MILL, replace(examples.WEIGH_HOUSE, price=Money(1, "GBP")))

    with pytest.raises(RefusedError, match="this one has EUR and GBP"):
        make_document(replace(examples.invoice(), lines=lines), examples.HOUSE)


# ---- who has what


def test_the_yearly_letter_has_four_boxes_to_tick_for_each_print():
    page = made(examples.letter()).pages[0]

    boxes = [operands for operands, operator in page.get_contents().operations if operator == b"re"]
    assert len([box for box in boxes if abs(float(box[2]) - float(box[3])) < 0.01]) == 8


def test_a_list_of_insurance_sums_by_place_and_currency_and_counts_what_has_no_value():
    said = words_of(examples.insurance_list())

    assert "Galerie Žďár, Halding" in said
    assert "Place not recorded" in said
    assert "Without a value 1" in said
    assert "Value in EUR 800.00 EUR Value in GBP 450.00 GBP" in said


def test_a_place_that_runs_over_a_page_is_named_again_and_none_begins_a_page_for_its_own_sake():
    few = tuple(replace(line, place="Drawer 4") for line in examples.many_lines(2))
    many = tuple(replace(line, place="Galerie Žďár, Halding") for line in examples.many_lines(30))

    reader = made(replace(examples.insurance_list(), lines=(*few, *many)))

    pages = [page.extract_text() for page in reader.pages]
    assert "Drawer 4" in pages[0]
    assert all("Galerie Žďár, Halding" in page for page in pages)
    assert all(page.count("Value\n") >= 1 for page in pages)


def test_what_an_owner_has_they_are_not_asked_to_have_signed_for():
    owner = examples.GALLERY.name
    theirs = replace(examples.OSK_MILL, owner=owner, custodian=owner, signed_for="")
    lent = replace(theirs, owner="Ida Thornwick")

    assert "not signed for" not in words_of(replace(examples.letter(), lines=(theirs,)))
    assert "not signed for" in words_of(replace(examples.letter(), lines=(lent,)))


def test_an_old_print_is_told_by_what_is_on_its_back():
    old = replace(examples.OSK_MILL, number="", markings="IT 79 in pencil, a stamp of the lab")

    assert "marked IT 79 in pencil, a stamp of the lab" in words_of(replace(examples.letter(), lines=(old,)))


def test_the_list_a_gallery_signs_tells_owner_value_and_since_when():  # case J10
    said = words_of(examples.held_by())

    for fact in ("Ida Thornwick", "Łódź county museum", "3 May 2021 A9", "not signed for", "800.00 EUR", "Page 1 of 1"):
        assert fact in said


@pytest.mark.parametrize("kind", ["consignment-note", "loan-form", "invoice", "letter", "insurance-list", "held-by"])
def test_a_document_of_no_print_is_refused(kind: str):
    document: Any = replace(examples.ALL[kind](), lines=())
    if hasattr(document, "delivered"):
        document = replace(document, delivered=())

    with pytest.raises(RefusedError, match="there is no print to list"):
        make_document(document, examples.HOUSE)


def test_the_statement_of_an_edition_tells_what_became_of_every_number():  # cases J02, J06
    document = examples.edition_statement()

    said = words_of(document)

    assert document.statement in said
    assert "Amended 3 May 2020 (limit 15 to none; serial numbers from now on): Those sold keep" in said
    for fate in document.runs[0].fates:
        assert f"{fate.number} {fate.reference}".strip() in said
        assert fate.fate in said
