"""Documents are issued as one deed: the catalogue and the folder agree, undo voids, killed processes leave no half."""

from __future__ import annotations

import json
import multiprocessing
import os
import re
import signal
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from catalog import clock
from catalog.actions import _document_issue
from catalog.actions.deeds import undo_deed
from catalog.actions.desk import Desk
from catalog.actions.documents import (
    issue_certificate,
    issue_consignment_note,
    issue_edition_statement,
    issue_held_by,
    issue_insurance_list,
    issue_invoice,
    issue_letter,
    issue_loan_form,
    read_again,
    void_document,
)
from catalog.actions.edition_amendments import amend_edition
from catalog.actions.ledger import correct_entry
from catalog.actions.persons import add_person
from catalog.actions.print_facts import Signature, sign_print
from catalog.actions.prints import replace_print
from catalog.errors import DisclosureError, DocumentError, LettersError, RefusedError
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from catalog.store.interrupted import settle_interrupted
from tests.builders import Listener, dated, rows
from tests.editions import STATEMENT, a_buyer, a_gallery, an_edition, pull, write
from tests.store.archives import raw

ANSWERS = {"posthumous": "no", "master_fate": "neither; the film is kept", "material": "matt cotton paper"}


def settled(archive: Archive, **settings: Any) -> Archive:
    """The archive as if its settings file said so."""
    return Archive(archive.folder, replace(archive.settings, **settings))


@pytest.fixture
def house(archive: Archive) -> Archive:
    """An archive whose settings name the photographer."""
    return settled(archive, archive_photographer="Ida Thornwick", documents_heading=("Ida Thornwick", "Low Halding"))


def said_by(archive: Archive, document_id: int) -> str:
    pages = PdfReader(BytesIO(read_again(archive, document_id))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u00a0", " ").split())


def folder_of(archive: Archive) -> list[str]:
    return sorted(path.name for path in (archive.folder / "documents").iterdir())


def agrees(archive: Archive) -> bool:
    """Whether documents/ holds what the catalogue calls issued, each whole, and nothing else."""
    listed = rows(archive, "SELECT id, file_name FROM document")
    return folder_of(archive) == sorted(name for _, name in listed) and all(read_again(archive, i) for i, _ in listed)


def a_signed_print(archive: Archive) -> int:
    print_id = pull(archive, an_edition(archive).run_id, 7, process="pigment print", paper="matt cotton")
    sign_print(archive, print_id, Signature("on the verso", "pencil"))
    return print_id


# ---- certificates


def test_a_certificate_says_what_the_catalogue_knows(house: Archive):
    print_id = a_signed_print(house)

    issued = issue_certificate(house, print_id, law="california", said=ANSWERS)

    said = said_by(house, issued.id)
    for words in (
        "Certificate P1, 7/15 A1", "Artist Ida Thornwick", "Osk Mill, 1978", "Number of this print 7/15",
        "Year printed March 2012", "Medium and process pigment print", "signed in pencil on the verso", STATEMENT,
        "Signed prints 1 of the 1 made", "Proofs 2 artist's proofs", "California Civil Code", "no legal advice",
    ):  # fmt: skip
        assert words in said
    assert folder_of(house) == ["A1-certificate.pdf"]


def test_a_certificate_without_its_facts_is_refused_and_nothing_is_kept(house: Archive):  # case J08
    print_id = pull(house, an_edition(house).run_id)

    with pytest.raises(DisclosureError) as refused:
        issue_certificate(house, print_id, law="california")

    assert [item for item, _ in refused.value.missing] == [
        "signature", "process", "material", "posthumous", "master_fate"
    ]  # fmt: skip
    assert folder_of(house) == []
    assert rows(house, "SELECT count(*) FROM document") == [0]
    assert rows(house, "SELECT count(*) FROM deed WHERE kind LIKE 'documents%'") == [0]


def test_what_nobody_knows_is_said_item_by_item(house: Archive):
    print_id = pull(house, an_edition(house).run_id)
    unknown = dict.fromkeys(("signature", "process", "material", "posthumous", "master_fate"), "not known")

    issued = issue_certificate(house, print_id, law="california", said=unknown)

    assert said_by(house, issued.id).count("not known") == 5


def test_the_settings_answer_for_every_certificate(house: Archive):
    print_id = a_signed_print(house)
    told = settled(
        house, archive_photographer="Ida Thornwick", documents_law="california",
        documents_say=("posthumous: no", "master_fate: neither"),
    )  # fmt: skip

    issued = issue_certificate(told, print_id)

    assert "Master cancelled, altered or destroyed neither" in said_by(told, issued.id)


def test_an_answer_to_no_item_is_refused(house: Archive):
    with pytest.raises(RefusedError, match="'colour' is no item"):
        issue_certificate(house, a_signed_print(house), said={"colour": "grey"})


def test_a_destroyed_print_gets_no_certificate(house: Archive):
    print_id = a_signed_print(house)
    write(house, "destroyed", print_id, words="fire")

    with pytest.raises(RefusedError, match=f"P{print_id} is destroyed"):
        issue_certificate(house, print_id)


# ---- lines are the prints delivered


def test_a_consignment_note_lists_what_was_delivered_once(house: Archive):
    run, gallery = an_edition(house).run_id, a_gallery(house)
    first, second = (pull(house, run) for _ in range(2))
    for print_id in (first, second):
        write(house, "consigned", print_id, person_id=gallery, on="May 2021", until="May 2022", price="600 EUR")

    with pytest.raises(RefusedError, match=f"P{second} was delivered but is not listed"):
        issue_consignment_note(house, gallery, [first])
    issued = issue_consignment_note(house, gallery, commission="40 %")

    assert issued.prints == (first, second)
    said = said_by(house, issued.id)
    assert "Together 1,200.00 EUR" in said
    assert "To be returned by May 2022" in said
    assert "Wennmouth Gallery 1 Quay, Wennmouth" in said
    with pytest.raises(RefusedError, match="no print to list"):
        issue_consignment_note(house, gallery)  # both are on a note by now
    with pytest.raises(RefusedError, match=f"P{first} is on A1 already.*documents void A1 --because"):
        issue_consignment_note(house, gallery, [first])


def test_a_voided_note_frees_its_prints_for_another(house: Archive):
    gallery = a_gallery(house)
    print_id = pull(house, an_edition(house).run_id)
    write(house, "consigned", print_id, person_id=gallery)
    first = issue_consignment_note(house, gallery)

    void_document(house, first.id, because="wrong address")

    assert issue_consignment_note(house, gallery).prints == (print_id,)
    assert folder_of(house) == ["A1-consignment-note.pdf", "A2-consignment-note.pdf"]


def test_a_loan_form_says_from_when_until_when(house: Archive):
    museum = add_person(house, name="Wennshire Museum")
    print_id = pull(house, an_edition(house).run_id)
    write(house, "lent", print_id, person_id=museum, on="June 2021?", until="about 2023", price="900 EUR")

    said = said_by(house, issue_loan_form(house, museum, purpose="exhibition").id)

    assert "From probably June 2021" in said
    assert "Until about 2023" in said
    assert "900.00 EUR" in said


# ---- invoices, letters, lists


def test_an_invoice_has_the_price_paid_and_lists_a_sale_once(house: Archive):
    buyer = a_buyer(house)
    print_id = pull(house, an_edition(house).run_id)
    write(house, "sold", print_id, person_id=buyer, price="650.50 EUR", on="June 2021")

    issued = issue_invoice(settled(house, documents_tax=("VAT 20 %",)), buyer)

    said = said_by(house, issued.id)
    assert "To pay 780.60 EUR" in said  # 650.50 and a fifth of it, 130.10
    assert "June 2021 650.50 EUR" in said
    with pytest.raises(RefusedError, match="on an invoice already"):
        issue_invoice(house, buyer, [print_id])


def test_an_invoice_for_what_was_not_sold_to_them_is_refused(house: Archive):
    print_id = pull(house, an_edition(house).run_id)

    with pytest.raises(RefusedError, match=f"P{print_id}: not sold to N"):
        issue_invoice(house, a_buyer(house), [print_id])


def test_a_gallery_signs_for_what_it_holds_with_the_note_it_signed(house: Archive):  # case J10
    gallery = a_gallery(house)
    print_id = pull(house, an_edition(house).run_id)
    write(house, "consigned", print_id, person_id=gallery, on="3 May 2021", price="600 EUR")
    issue_consignment_note(house, gallery)

    said = said_by(house, issue_held_by(house, gallery).id)

    assert "A1 of " in said
    for words in ("Ida Thornwick", "3 May 2021", "600.00 EUR", "Page 1 of 1"):
        assert words in said


def test_the_yearly_letter_lists_what_the_ledger_says_they_have(house: Archive):
    run, gallery = an_edition(house).run_id, a_gallery(house)
    there, back = (pull(house, run) for _ in range(2))
    for print_id in (there, back):
        write(house, "consigned", print_id, person_id=gallery)
    write(house, "returned", back)

    assert issue_letter(house, gallery).prints == (there,)


def test_the_insurance_list_has_the_houses_own_prints_wherever_they_are(house: Archive):
    run, gallery = an_edition(house).run_id, a_gallery(house)
    at_home, away, sold, lost = (pull(house, run) for _ in range(4))
    write(house, "drawer", at_home, place="drawer 4")
    write(house, "consigned", away, person_id=gallery, price="600 EUR")
    write(house, "sold", sold, person_id=a_buyer(house), price="700 EUR")
    write(house, "lost", lost)

    issued = issue_insurance_list(house)

    assert sorted(issued.prints) == [at_home, away]
    said = said_by(house, issued.id)
    assert "drawer 4" in said
    assert "Without a value 1 Value in EUR 600.00 EUR" in said


def test_the_edition_statement_tells_every_number_and_names_no_buyer(house: Archive):
    edition = an_edition(house)
    first, seventh = pull(house, edition.run_id), pull(house, edition.run_id, 7)
    write(house, "sold", first, person_id=a_buyer(house), price="700 EUR")
    write(house, "destroyed", seventh, words="fire at the framer's", on="May 2021")
    again = replace_print(house, seventh, proof="the corner with the signature")

    said = said_by(house, issue_edition_statement(house, edition.id).id)

    for words in (
        f"1/15 P{first} small sold", "2/15 to 6/15 not yet printed", f"7/15 P{seventh}", f"7/15 P{again}",
        "destroyed May 2021: fire at the framer's",
        f"replaced by P{again}: the corner with the signature", "8/15 to 15/15 not yet printed",
        "AP I/II to AP II/II not yet printed", STATEMENT,
    ):  # fmt: skip
        assert words in said
    assert "Arkle" not in said
    assert "700" not in said


def test_j06_a_print_numbered_as_one_of_fifteen_is_told_so_after_the_limit_was_given_up(house: Archive):
    edition = an_edition(house)
    print_id = pull(house, edition.run_id, process="pigment print", paper="matt cotton")
    sign_print(house, print_id, Signature("on the verso", "pencil"))
    amend_edition(house, edition.id, words="No limit any more.", made=dated("May 2020"), is_open_now=True)

    said = said_by(house, issue_certificate(house, print_id, law="california", said=ANSWERS).id)

    assert "15 when it was numbered; since it was amended, an open number" in said
    assert "Amended May 2020 (limit 15 to none): No limit any more." in said


def test_a_certificate_says_how_large_picture_and_sheet_are(house: Archive):
    said = said_by(house, issue_certificate(house, a_signed_print(house)).id)

    assert "Size image 30 x 40 cm, sheet 40 x 50 cm" in said


def test_an_insurance_list_ends_with_what_lies_nobody_knows_where(house: Archive):
    run = an_edition(house).run_id
    pull(house, run)
    write(house, "drawer", pull(house, run), place="Drawer 4")

    said = said_by(house, issue_insurance_list(house).id)

    assert said.index("Drawer 4") < said.index("Place not recorded")


def test_an_insurance_list_has_the_dearest_of_a_place_first(house: Archive):
    run, gallery = an_edition(house).run_id, a_gallery(house)
    for price in ("600 EUR", None, "900 EUR"):
        write(house, "consigned", pull(house, run), person_id=gallery, price=price)

    said = said_by(house, issue_insurance_list(house).id)

    assert re.findall(r"P(\d) \d/15", said) == ["3", "1", "2"]


# ---- one deed, one page


def test_the_facts_are_kept_as_they_were_issued(house: Archive):
    issued = issue_certificate(house, a_signed_print(house))

    (kept,) = rows(house, "SELECT facts FROM document")

    assert json.loads(kept)["line"]["number"] == "7/15"
    assert rows(house, "SELECT print_id FROM document_line WHERE document_id = ?", issued.id) == list(issued.prints)


def test_a_rehearsal_keeps_nothing_and_gives_no_reference_away(house: Archive):
    print_id, listener = a_signed_print(house), Listener()

    rehearsed = issue_certificate(house, print_id, desk=Desk(dry_run=True, say=listener))

    assert rehearsed.path is None
    assert listener.heard == [f"issued A1, certificate, P{print_id}"]
    assert folder_of(house) == []
    assert issue_certificate(house, print_id).id == 1


def test_undoing_a_document_voids_it_and_its_page_stays(house: Archive):
    issued = issue_certificate(house, a_signed_print(house))
    page = read_again(house, issued.id)

    undone = undo_deed(house)

    assert rows(house, "SELECT state, voided_because FROM document")[0][0] == "voided"
    assert read_again(house, issued.id) == page
    undo_deed(house, undone.undo_id)
    assert rows(house, "SELECT state FROM document") == ["issued"]


def test_correcting_an_entry_voids_the_documents_that_tell_of_it(house: Archive):
    gallery, buyer = a_gallery(house), a_buyer(house)
    print_id = a_signed_print(house)
    write(house, "consigned", print_id, person_id=gallery)
    note, letter = issue_consignment_note(house, gallery), issue_letter(house, gallery)
    certificate = issue_certificate(house, print_id)
    write(house, "sold", print_id, person_id=buyer, price="600 EUR")
    invoice = issue_invoice(house, buyer)
    sold = rows(house, "SELECT id FROM ledger_entry WHERE kind = 'sold'")[0]
    said = Listener()

    correct_entry(house, sold, why="the buyer stepped back", desk=Desk(say=said))

    states = dict(rows(house, "SELECT id, state FROM document"))
    assert states == {note.id: "issued", letter.id: "issued", certificate.id: "issued", invoice.id: "voided"}
    assert said.heard[0].endswith(f"the buyer stepped back, voided A{invoice.id}")
    why = "entry 4 of P1 (sold), which it tells of, was corrected"
    assert rows(house, "SELECT voided_because FROM document WHERE state = 'voided'") == [why]
    write(house, "sold", print_id, person_id=buyer, price="550 EUR")
    assert issue_invoice(house, buyer).prints == (print_id,)
    assert check_archive(house) == []


def test_undoing_a_consignment_voids_its_note_and_no_list(house: Archive):
    gallery = a_gallery(house)
    write(house, "consigned", pull(house, an_edition(house).run_id), person_id=gallery)
    consigned = rows(house, "SELECT max(id) FROM deed")[0]
    issue_consignment_note(house, gallery)
    issue_held_by(house, gallery)

    undone = undo_deed(house, consigned)

    assert rows(house, "SELECT kind, state FROM document") == [
        ("consignment note", "voided"),
        ("prints held", "issued"),
    ]
    assert agrees(house)
    undo_deed(house, undone.undo_id)
    assert rows(house, "SELECT state FROM print_standing") == ["consigned"]


def test_a_signature_taken_back_voids_the_certificate_that_tells_of_it(house: Archive):
    issue_certificate(house, a_signed_print(house))
    signed = rows(house, "SELECT id FROM ledger_entry WHERE kind = 'signed'")[0]

    correct_entry(house, signed, why="that was another print")

    assert rows(house, "SELECT state FROM document") == ["voided"]


def test_a_delivery_done_again_has_its_note_again_and_is_not_listed_twice(house: Archive):
    gallery, print_id = a_gallery(house), pull(house, an_edition(house).run_id)
    with clock.fixed(datetime(2026, 11, 25, 9, 30, tzinfo=UTC)):
        write(house, "consigned", print_id, person_id=gallery)
        issue_consignment_note(house, gallery)
    entry = rows(house, "SELECT max(id) FROM ledger_entry")[0]
    with clock.fixed(datetime(2026, 11, 26, 9, 30, tzinfo=UTC)):
        correct_entry(house, entry, why="slip")
        undo_deed(house)

        with pytest.raises(RefusedError, match="no print to list"):
            issue_consignment_note(house, gallery)

    assert rows(house, "SELECT state FROM document") == ["issued"]


def test_a_document_is_voided_once_and_with_a_reason(house: Archive):
    issued = issue_certificate(house, a_signed_print(house))

    with pytest.raises(RefusedError, match="Say why"):
        void_document(house, issued.id, because=" ")
    void_document(house, issued.id, because="typing error")
    with pytest.raises(RefusedError, match="A1 was voided already"):
        void_document(house, issued.id, because="again")


def test_the_catalogue_itself_refuses_to_alter_an_issued_document(house: Archive):
    issue_certificate(house, a_signed_print(house))

    for statement in ("UPDATE document SET facts = '{}'", "DELETE FROM document", "DELETE FROM document_line"):
        connection = raw(house)
        with pytest.raises(sqlite3.IntegrityError, match="voided, not"):
            connection.execute(statement)
        connection.close()


def test_a_letter_that_cannot_be_set_leaves_nothing_behind(house: Archive):  # case I01
    collector = add_person(house, name="教会")
    print_id = pull(house, an_edition(house).run_id)
    write(house, "consigned", print_id, person_id=collector)

    with pytest.raises(LettersError, match="教"):
        issue_letter(house, collector)

    assert folder_of(house) == []
    assert rows(house, "SELECT count(*) FROM document") == [0]


def test_a_page_that_was_there_already_is_never_written_over(house: Archive):
    # As after an older catalogue was put back: its next reference was given before.
    print_id, old = a_signed_print(house), house.folder / "documents" / "A1-certificate.pdf"
    old.write_bytes(b"%PDF-1.4 issued long ago")

    with pytest.raises(DocumentError, match="another file has this name"):
        issue_certificate(house, print_id)

    assert old.read_bytes() == b"%PDF-1.4 issued long ago"
    assert rows(house, "SELECT count(*) FROM document") == [0]
    assert folder_of(house) == ["A1-certificate.pdf"]


def test_check_names_a_page_that_was_changed_one_that_is_gone_and_one_that_nobody_issued(house: Archive):
    print_id = a_signed_print(house)
    changed, gone = (issue_certificate(house, print_id).path for _ in range(2))
    assert changed is not None
    assert gone is not None
    assert check_archive(house) == []

    changed.write_bytes(b"%PDF-1.4 altered")
    gone.unlink()
    gone.with_name("A9-invoice.pdf").write_bytes(b"%PDF-1.4 found somewhere")

    assert [(found.kind, found.words.partition(" (")[0]) for found in check_archive(house)] == [
        ("document", "A1-certificate.pdf: was changed since it was issued"),
        ("document", "A2-certificate.pdf: is not in documents any more; bring it back from a backup."),
        ("document", "A9-invoice.pdf in documents is no document of this catalogue; put it aside."),
    ]


# ---- killed processes


def _die(*_: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _issue_and_die(archive: Archive, where: str, print_id: int) -> None:
    setattr(_document_issue, where, _die)
    issue_certificate(archive, print_id)


@pytest.mark.parametrize(
    ("where", "is_issued"), [("_write_down", False), ("_say", False), ("put_in_place", True), ("FileDeed", True)]
)
def test_a_killed_process_leaves_a_whole_document_or_none(house: Archive, where: str, is_issued: bool):
    print_id = a_signed_print(house)
    child = multiprocessing.get_context("fork").Process(target=_issue_and_die, args=(house, where, print_id))
    child.start()
    child.join()

    left = settle_interrupted(house)

    assert child.exitcode == -signal.SIGKILL
    assert left == []
    assert rows(house, "SELECT count(*) FROM document") == [int(is_issued)]
    assert rows(house, "SELECT count(*) FROM deed WHERE state <> 'done'") == [0]
    issue_certificate(house, print_id)
    assert agrees(house)
    assert check_archive(house) == []


def _issue_some(archive: Archive, print_id: int, count: int) -> None:
    for _ in range(count):
        issue_certificate(archive, print_id)


def test_four_processes_issue_at_once_and_no_reference_comes_twice(house: Archive):
    print_id = a_signed_print(house)
    context = multiprocessing.get_context("fork")
    working = [context.Process(target=_issue_some, args=(house, print_id, 4)) for _ in range(4)]
    for process in working:
        process.start()
    for process in working:
        process.join()

    assert [process.exitcode for process in working] == [0] * 4
    assert rows(house, "SELECT id FROM document ORDER BY id") == list(range(1, 17))
    assert agrees(house)
