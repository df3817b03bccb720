"""What is done or asked about one print looks at that print alone, however many there are."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.documents import issue_certificate, issue_consignment_note, issue_held_by, issue_invoice
from catalog.actions.editions import set_edition_state
from catalog.actions.ledger import EntryFacts, Subject, correct_entry, write_in_ledger
from catalog.actions.print_facts import Signature, sign_print
from catalog.actions.prints import pull_prints, replace_print
from catalog.rules.money import Money
from catalog.store.archive import Archive
from catalog.store.documents import list_documents
from catalog.store.ledger import list_entries, read_standing
from catalog.store.print_names import resolve_print
from catalog.store.prints import find_print, prints_held_by, prints_out
from catalog.store.show import read_record
from tests.builders import rows
from tests.editions import a_buyer, a_gallery, an_edition, pull, write
from tests.store.archives import an_archive, raw

_MANY = re.compile(r"\b(print|print_number|ledger_entry|print_standing|card_row)\b(?:\s+(?:AS\s+)?([a-z]\w*))?")
_PRICE = Money(60000, "EUR")


@pytest.fixture
def archive(tmp_path):
    return an_archive(tmp_path / "wenn")


class Heard(list[str]):
    """Statements that were run on any connection opened while listening."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        super().__init__()
        connect = sqlite3.connect

        def listened(*args, **kept):  # type: ignore[no-untyped-def]
            connection = connect(*args, **kept)
            connection.set_trace_callback(self.append)
            return connection

        monkeypatch.setattr(sqlite3, "connect", listened)


def scans(archive: Archive, statements: list[str]) -> list[str]:
    """Return the statements that go through every print, number, entry or standing there is."""
    found = []
    with closing(raw(archive)) as connection:
        for statement in dict.fromkeys(statements):
            if not re.match(r"\s*(SELECT|WITH|INSERT|UPDATE|DELETE)\b", statement) or "sqlite_master" in statement:
                continue
            names = {name for match in _MANY.finditer(statement) for name in match.groups() if name}
            plan = [row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {statement}")]
            found += [f"{step}: {statement}" for step in plan if step.startswith("SCAN") and step.split()[1] in names]
    return found


def test_a_plan_that_goes_through_everything_is_recognised(archive):
    assert scans(archive, ["SELECT p.id FROM print p WHERE p.paper = 'cotton'"])
    assert not scans(archive, ["SELECT p.id FROM print p WHERE p.id = 4"])


def test_no_deed_on_one_print_goes_through_all_of_them(archive, monkeypatch):
    run, gallery, buyer = an_edition(archive), a_gallery(archive), a_buyer(archive)
    sold, spoiled, promised = pull(archive, run.run_id), pull(archive, run.run_id), Subject(place=(run.run_id, "AP", 1))
    heard = Heard(monkeypatch)

    sign_print(archive, sold, Signature("verso"))
    write(archive, "consigned", sold, person_id=gallery, price="500 EUR")
    issue_consignment_note(archive, gallery)
    issue_held_by(archive, gallery)
    undo_deed(archive)
    write(archive, "sold", sold, person_id=buyer, price="600 EUR")
    issue_invoice(archive, buyer)
    issue_certificate(archive, sold)
    write(archive, "destroyed", spoiled, words="cut up")
    new = replace_print(archive, spoiled, proof="the corner")
    write_in_ledger(archive, "promised", [promised], EntryFacts(person_id=buyer, price=_PRICE))
    write_in_ledger(archive, "released", [promised])
    correct_entry(archive, rows(archive, "SELECT max(id) FROM ledger_entry")[0], why="they still want it")
    pull_prints(archive, run.run_id, series="AP", ordinal=1)
    undo_deed(archive)
    write_in_ledger(archive, "released", [promised])
    set_edition_state(archive, run.id, "closed")

    assert find_print_state(archive, new) == "in hand"
    assert len(heard) > 300
    assert scans(archive, heard) == []


def find_print_state(archive: Archive, print_id: int) -> str:
    with archive.reading() as connection:
        row = find_print(connection, print_id)
    assert row is not None
    return row.state


def test_no_question_about_one_print_or_person_goes_through_all_of_them(archive, monkeypatch):
    run, gallery = an_edition(archive), a_gallery(archive)
    print_id = pull(archive, run.run_id)
    write(archive, "consigned", print_id, person_id=gallery)
    heard = Heard(monkeypatch)

    with archive.reading() as connection:
        for typed in ("P1", "E1 1/15", "M1 1", "1/15"):
            assert resolve_print(connection, typed) == print_id
        for table, record_id in (("print", print_id), ("print_number", 1), ("edition", run.id), ("person", gallery)):
            assert list_entries(connection, table, record_id)
        for table, record_id in (("print", print_id), ("edition", run.id), ("run", run.run_id), ("person", gallery),
                                 ("view", run.view_id), ("sheet", run.sheet_id)):  # fmt: skip
            assert read_record(connection, table, record_id, 730)
        assert read_standing(connection, print_id).state == "consigned"
        assert list(prints_held_by(connection, gallery))
        assert list(prints_out(connection, overdue_on=1)) == []
        assert list_documents(connection, print_id=print_id) == []

    assert len(heard) > 60
    assert scans(archive, heard) == []
