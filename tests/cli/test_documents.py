"""Documents by the commands: what is said, shown, kept, refused."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from catalog.actions.ledger import correct_entry
from catalog.actions.persons import add_person
from catalog.store.archive import Archive
from catalog.store.print_names import resolve_print
from tests.builders import a_mill, a_sheet, done, rows, run
from tests.editions import a_buyer, a_gallery, a_view, an_edition, pull, write
from tests.store.archives import filled

MANUAL = Path(__file__).parents[2] / "docs" / "manual"


@pytest.fixture
def consigned(archive: Archive) -> Archive:
    """An archive whose P1, 7/15, is consigned, and whose P2, 1/15, was sold."""
    return filled(archive, _consign)


def _consign(archive: Archive) -> None:
    edition = an_edition(archive)
    first, second = pull(archive, edition.run_id, 7), pull(archive, edition.run_id)
    write(archive, "consigned", first, person_id=a_gallery(archive), on="May 2021", price="600 EUR")
    write(archive, "sold", second, person_id=a_buyer(archive), price="650 EUR")


def test_each_kind_is_issued_kept_and_listed(consigned: Archive):
    for words in (
        ["certificate", "E1 7/15"],
        ["consignment-note", "Wennmouth Gallery", "--commission", "40 %"],
        ["invoice", "Wilf Arkle", "P2"],
        ["letter", "Wennmouth Gallery", "--answer-by", "15 January"],
        ["held-by", "Wennmouth Gallery"],
        ["insurance-list"],
        ["edition-statement", "E1"],
    ):
        assert "It is in documents" in done(consigned, "documents", *words)

    document = json.loads(done(consigned, "documents", "list", "--json"))

    assert document["count"] == 7
    assert [item["kind"] for item in document["items"]] == [
        "certificate", "consignment note", "invoice", "yearly letter", "prints held", "insurance list",
        "edition statement",
    ]  # fmt: skip
    assert all((consigned.folder / "documents" / item["file"]).is_file() for item in document["items"])


def test_a_loan_form_is_issued_for_what_is_lent(archive: Archive):
    print_id = pull(archive, an_edition(archive).run_id)
    write(archive, "lent", print_id, person_id=add_person(archive, name="Wennshire Museum"))

    told = done(archive, "documents", "loan-form", "Wennshire Museum", "--purpose", "exhibition", "--until", "1 May")

    assert told.splitlines() == ["Issued A1, loan form, P1.", "It is in documents/A1-loan-form.pdf."]


def test_a_missing_item_is_refused_in_a_line_or_two(consigned: Archive):  # case J08
    said = run(consigned, "documents", "certificate", "P1", "--law", "california")

    assert said.status == 3
    assert "no certificate under the law of California, which asks for: signature, medium and process" in said.err
    assert len(said.err.strip().splitlines()) <= 2


def test_items_are_answered_by_hand(consigned: Archive):
    answers = [
        "--say", "signature=signed by hand", "--say", "process=pigment print", "--not-known", "material",
        "--say", "posthumous: no", "--say", "master_fate=neither",  # as the settings write it, and as the help does
    ]  # fmt: skip

    assert run(consigned, "documents", "certificate", "P1", "--law", "california", *answers).status == 0


def test_below_the_threshold_nothing_is_asked(consigned: Archive):
    told = run(consigned, "documents", "certificate", "P1", "--law", "california", "--price", "99.99 USD")

    assert told.status == 0


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["certificate", "P9"], 3, "No print answers to 'P9'"),
        (["certificate", "P1", "--law", "france"], 3, "is no law that a certificate can follow"),
        (["certificate", "P1", "--say", "posthumous"], 2, "write ITEM=WORDS"),
        (["certificate", "P1", "--say", "hue=grey"], 3, "'hue' is no item of a certificate"),
        (["certificate", "P1", "--price", "many"], 3, "is no amount of money"),
        (["invoice", "Wilf Arkle", "P1"], 3, "P1: not sold to N"),
        (["consignment-note", "Wilf Arkle"], 3, "there is no print to list"),
        (["edition-statement", "E9"], 3, "No edition answers to 'E9'"),
        (["show", "A9"], 3, "No document answers to 'A9'"),
        (["again", "A9"], 3, "No document answers to 'A9'"),
        (["void", "A9"], 2, "--because"),
    ],
)
def test_what_cannot_be_is_said_in_words(consigned: Archive, words: list[str], status: int, says: str):
    said = run(consigned, "documents", *words)

    assert (said.status, says in said.err) == (status, True), said.err
    assert rows(consigned, "SELECT count(*) FROM document") == [0]


def test_persons_are_named_in_no_list_unless_asked(consigned: Archive):
    done(consigned, "documents", "consignment-note", "Wennmouth Gallery")

    for words in (["list"], ["list", "--json"], ["list", "--csv"], ["show", "A1"], ["show", "A1", "--json"]):
        told = done(consigned, "documents", *words)
        assert "Wennmouth" not in told
        assert "600" not in told
        if "--csv" not in words:
            assert "N1" in told
    assert "Wennmouth Gallery" in done(consigned, "documents", "list", "--private")
    assert "Wennmouth Gallery" in done(consigned, "documents", "show", "A1", "--private")


def test_neither_show_nor_the_daybook_tell_to_whom_a_document_went(consigned: Archive):
    done(consigned, "documents", "consignment-note", "Wennmouth Gallery")
    (deed,) = rows(consigned, "SELECT id FROM deed WHERE kind = 'documents consignment-note'")

    shown = done(consigned, "show", "A1")
    told = [shown, *(done(consigned, *words) for words in (
        ["show", "A1", "--json"], ["daybook", str(deed)], ["daybook", str(deed), "--json"], ["undo", "--dry-run"]
    ))]  # fmt: skip

    assert "addressed to  N1" in shown
    assert "P1" in shown
    for words in told:
        assert "Wennmouth" not in words
        assert "600" not in words


def test_documents_are_listed_by_print_and_by_person(consigned: Archive):
    done(consigned, "documents", "consignment-note", "Wennmouth Gallery")
    done(consigned, "documents", "invoice", "Wilf Arkle")

    by_print = json.loads(done(consigned, "documents", "list", "--print", "1/15", "--json"))
    by_person = list(csv.DictReader(io.StringIO(done(consigned, "documents", "list", "--person", "N1", "--csv"))))

    assert [item["reference"] for item in by_print["items"]] == ["A2"]
    assert [item["reference"] for item in by_person] == ["A1"]
    assert by_person[0]["prints"] == "P1"


def test_a_document_is_had_again_unchanged(consigned: Archive, tmp_path: Path):
    done(consigned, "documents", "certificate", "P1")
    kept = consigned.folder / "documents" / "A1-certificate.pdf"
    copy = tmp_path / "copy.pdf"

    told = done(consigned, "documents", "again", "A1", "--output", str(copy))

    assert told == f"A1, as it was issued: {copy}.\n"
    assert copy.read_bytes() == kept.read_bytes()
    assert run(consigned, "documents", "again", "A1", "--output", str(copy)).status == 3
    kept.write_bytes(kept.read_bytes() + b"\n")
    said = run(consigned, "documents", "again", "A1")
    assert said.status == 3
    assert "was changed since it was issued" in said.err


def test_a_voided_document_is_told_as_such(consigned: Archive):
    done(consigned, "documents", "certificate", "P1")

    done(consigned, "documents", "void", "A1", "--because", "wrong date")

    assert "voided" in done(consigned, "documents", "list")
    assert "wrong date" in done(consigned, "documents", "show", "A1")
    assert "It was voided on" in done(consigned, "documents", "again", "A1")


def test_a_rehearsal_says_what_would_be_issued(consigned: Archive):
    told = done(consigned, "documents", "insurance-list", "--dry-run")

    assert told == "Nothing was changed. This would be done: issued A1, insurance list, P1.\n"
    assert list((consigned.folder / "documents").iterdir()) == []


def test_no_documents_say_how_to_begin(archive: Archive):
    assert "tiebeam documents certificate PRINT" in done(archive, "documents", "list")
    assert json.loads(done(archive, "documents", "list", "--json")) == {"items": [], "count": 0}


def test_the_shape_of_json_is_told_in_the_manual(consigned: Archive):
    done(consigned, "documents", "certificate", "P1")
    told = (MANUAL / "json.md").read_text("utf-8")

    for name in json.loads(done(consigned, "documents", "show", "A1", "--private", "--json")):
        assert f"`{name}`" in told, f"docs/manual/json.md does not tell of {name}"


def test_every_verb_stands_in_the_manual():
    from catalog.cli.documents import documents

    told = (MANUAL / "documents.md").read_text("utf-8")

    for verb in documents.commands:
        assert f"tiebeam documents {verb}" in told, verb


# ---- prints as they are typed


def test_a_print_is_named_by_reference_or_by_edition_and_number(archive: Archive):
    view, other = a_view(archive), a_sheet(archive, "79-10", shows=a_mill(archive, "Brome Hall"))
    first = an_edition(archive, view=view)
    second = an_edition(
        archive, 20, (rows(archive, "SELECT view_id FROM sheet_view WHERE sheet_id = ?", other)[0], other)
    )
    one, two = pull(archive, first.run_id, 7), pull(archive, second.run_id, 7)

    with archive.reading() as connection:
        named = {
            text: resolve_print(connection, text)
            for text in ("P1", "p2", f"E{first.id} 7/15", f"E{second.id} 7", f"M{second.run_id} 7", "7/15", "7/20")
        }

    assert named == {
        "P1": one, "p2": two, f"E{first.id} 7/15": one, f"E{second.id} 7": two, f"M{second.run_id} 7": two,
        "7/15": one, "7/20": two,
    }  # fmt: skip
    said = run(archive, "documents", "certificate", "7")
    assert said.status == 3
    assert "'7' is 2 prints" in said.err


def test_a_print_that_was_never_made_answers_to_no_number(archive: Archive):
    pull(archive, an_edition(archive).run_id, 7)
    (entry,) = rows(archive, "SELECT id FROM ledger_entry")
    correct_entry(archive, entry, why="typing error")

    assert "No print answers" in run(archive, "documents", "certificate", "7/15").err


def test_an_entry_of_the_ledger_names_the_document_that_goes_with_it(consigned: Archive):
    done(consigned, "documents", "letter", "Wilf Arkle")

    done(consigned, "prints", "report", "P2", "--words", "as new, they say", "--document", "A1")

    entries = json.loads(done(consigned, "ledger", "P2", "--json"))["items"]
    assert [entry["document_reference"] for entry in entries] == [None, None, "A1"]
    refused = run(consigned, "prints", "report", "P2", "--words", "x", "--document", "A9")
    assert refused.status == 3
