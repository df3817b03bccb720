"""The rows of an edition's card: what was promised, what is left, and its ledger a window at a time."""

from __future__ import annotations

import pytest

from catalog.actions.edition_amendments import amend_edition, set_price
from catalog.actions.editions import set_edition_state
from catalog.actions.ledger import EntryFacts, Subject, write_in_ledger
from catalog.actions.prints import replace_print
from catalog.errors import NotFoundError
from catalog.model import RecordedDate
from catalog.rules.editions import EACH, SizePlan
from catalog.rules.money import parse_money
from catalog.store.archive import Archive, open_archive
from catalog.store.edition_cards import EditionCard, NumberLine, numbers_of, place_of_print, read_edition_card
from catalog.store.print_cards import read_print_card
from tests.builders import dated
from tests.editions import a_buyer, a_gallery, an_edition, pull, write


def card_of(archive: Archive, edition_id: int, *, is_private: bool = False) -> EditionCard:
    with archive.reading() as connection:
        return read_edition_card(connection, edition_id, is_private=is_private)


def ledger(archive: Archive, edition_id: int, *, is_private: bool = False) -> list[NumberLine]:
    with archive.reading() as connection:
        card = read_edition_card(connection, edition_id, is_private=is_private)
        return list(numbers_of(connection, card, 0, card.lines, is_private=is_private))


def test_every_number_that_may_be_given_has_a_line_though_most_are_not_pulled(archive):
    edition = an_edition(archive, limit=15)
    pull(archive, edition.run_id, 3)

    lines = ledger(archive, edition.id)

    assert [line.written for line in lines] == [*(f"{n}/15" for n in range(1, 16)), "AP I/II", "AP II/II"]
    assert [line.written for line in lines if line.state != "free"] == ["3/15"]


def test_what_is_left_is_what_was_neither_pulled_nor_promised(archive):
    edition = an_edition(archive, limit=5)
    print_id = pull(archive, edition.run_id, 1)
    write(archive, "destroyed", print_id, words="burst pipe")
    write_in_ledger(archive, "promised", [Subject(place=(edition.run_id, "numbered", 4))],
                    EntryFacts(dated("May 2021"), a_buyer(archive)))  # fmt: skip

    numbered, proofs = card_of(archive, edition.id).series

    assert (numbered.declared, numbered.pulled, numbered.promised, numbered.left) == (5, 1, 1, 3)
    assert (proofs.series, proofs.declared, proofs.left) == ("AP", 2, 2)
    assert ledger(archive, edition.id)[3].state == "promised"


def test_a_replacement_stands_on_the_line_of_the_number_it_carries(archive):
    edition = an_edition(archive)
    first = pull(archive, edition.run_id, 1)
    write(archive, "destroyed", first, words="burst pipe")
    again = replace_print(archive, first, proof="signed corner", pulled=RecordedDate())

    line = ledger(archive, edition.id)[0]

    assert (line.print_id, line.replaces_id, line.state) == (again, first, "in hand")


def test_an_open_edition_has_the_lines_that_were_given_and_none_left_to_count(archive):
    edition = an_edition(archive, limit=None, proofs=[])
    pull(archive, edition.run_id, 2)
    pull(archive, edition.run_id, 5)

    (numbered,) = card_of(archive, edition.id).series

    assert (numbered.lines, numbered.left) == (2, None)
    assert [line.written for line in ledger(archive, edition.id)] == ["2", "5"]


def test_each_size_with_a_run_of_its_own_has_its_own_lines(archive):
    sizes = [SizePlan("small"), SizePlan("large")]
    edition = an_edition(archive, limit=3, sizes=sizes, sizes_count=EACH, proofs=[])

    card = card_of(archive, edition.id)

    assert [run.sizes for run in card.runs] == [("small",), ("large",)]
    assert card.lines == 6
    assert card.has_several_sizes
    assert [line.run_id for line in ledger(archive, edition.id)] == [card.runs[0].id] * 3 + [card.runs[1].id] * 3


def test_the_number_written_on_a_print_stays_as_it_is_after_an_amendment(archive):
    edition = an_edition(archive, limit=3, proofs=[])
    pull(archive, edition.run_id, 1)
    amend_edition(archive, edition.id, words="Serial numbers, and five in all.", made=dated("2014"), limit=5,
                  numbering="serial")  # fmt: skip

    assert [line.written for line in ledger(archive, edition.id)] == ["1/3", "2", "3", "4", "5"]
    assert card_of(archive, edition.id).amendments[0].words == "Serial numbers, and five in all."


def test_no_name_and_no_price_is_among_the_rows_unless_asked_for(archive):
    edition = an_edition(archive)
    set_price(archive, edition.id, parse_money("600 EUR"))
    print_id = pull(archive, edition.run_id, 1)
    gallery = a_gallery(archive)
    write(archive, "consigned", print_id, person_id=gallery, price="600 EUR", on="2012-04", until="2013")

    shut, opened = ledger(archive, edition.id)[0], ledger(archive, edition.id, is_private=True)[0]

    assert (shut.custodian_id, shut.custodian, shut.value) == (gallery, None, None)
    assert opened.custodian == "Wennmouth Gallery"
    assert str(opened.value) == "600.00 EUR"
    assert card_of(archive, edition.id).prices == ()
    assert card_of(archive, edition.id).has_prices
    assert len(card_of(archive, edition.id, is_private=True).prices) == 1


def test_a_window_of_the_ledger_is_the_same_stretch_of_the_whole(archive):
    edition = an_edition(archive, limit=9)
    for ordinal in (1, 4, 9):
        pull(archive, edition.run_id, ordinal)
    whole = ledger(archive, edition.id)

    with archive.reading() as connection:
        card = read_edition_card(connection, edition.id)
        for first in range(len(whole) + 1):
            for count in (1, 3, 20):
                assert list(numbers_of(connection, card, first, count)) == whole[first : first + count]


def test_a_long_run_reads_no_more_than_the_window_it_shows(archive):
    edition = an_edition(archive, limit=5000, proofs=[])
    with archive.reading() as connection:
        card = read_edition_card(connection, edition.id)
        asked: list[str] = []
        connection.set_trace_callback(asked.append)

        lines = numbers_of(connection, card, 4000, 256)

    assert [line.written for line in lines][::255] == ["4001/5000", "4256/5000"]
    assert len(asked) == 1
    assert "BETWEEN 4001 AND 4256" in asked[0]


def test_a_print_is_found_again_on_its_line(sample):
    archive = open_archive(sample)
    with archive.reading() as connection:
        for (edition_id,) in connection.execute("SELECT id FROM edition").fetchall():
            card = read_edition_card(connection, edition_id)
            lines = numbers_of(connection, card, 0, card.lines)
            for place, line in enumerate(lines):
                if line.print_id is not None:
                    assert place_of_print(connection, card, line.print_id) == place


def test_how_an_edition_went_is_kept_with_its_reasons(archive):
    edition = an_edition(archive)
    set_edition_state(archive, edition.id, "closed", since=dated("2019"), words="the plate is worn")

    states = card_of(archive, edition.id).states

    assert [(step.state, step.words) for step in states] == [("open", None), ("closed", "the plate is worn")]


def test_an_edition_that_is_not_there_is_said_so(archive):
    with pytest.raises(NotFoundError, match=r"There is no edition E7\."), archive.reading() as connection:
        read_edition_card(connection, 7)


def test_a_print_leads_on_to_its_sheet_and_its_edition(sample):
    with open_archive(sample).reading() as connection:
        card = read_print_card(connection, 8, 730)

    assert {way.table: way.reference for way in card.ways} == {"sheet": "S7", "print": "P4", "edition": "E1"}
    assert card.written == "3/15"


def test_a_print_that_is_not_there_is_said_so(archive):
    with pytest.raises(NotFoundError, match=r"There is no print P7\."), archive.reading() as connection:
        read_print_card(connection, 7, 730)
