"""Editions: the earlier promise is shown and asked about; rules change only by a dated amendment."""

from __future__ import annotations

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.edition_amendments import add_size, amend_edition, set_price
from catalog.actions.editions import set_edition_state
from catalog.actions.ledger import EntryFacts, Subject, write_in_ledger
from catalog.actions.prints import pull_prints, replace_print
from catalog.errors import EarlierPromiseError, RefusedError
from catalog.rules.editions import ACROSS, EACH, SizePlan
from catalog.rules.money import Money
from catalog.store.editions import editions_of, find_edition, list_editions, list_numbers, list_runs
from tests.builders import a_sheet, dated, rows
from tests.editions import STATEMENT, a_buyer, a_view, an_edition, pull, write
from tests.store.archives import tables

NEW_RULE = "From 1 June 2015 the edition is given up; prints carry a serial number alone."


def test_an_edition_keeps_its_statement_word_for_word(archive):
    edition = an_edition(archive, published_in="list of spring 2011")

    assert rows(archive, "SELECT statement, stated_edtf, published_in, sizes_count FROM edition") == [
        (STATEMENT, "2011-03", "list of spring 2011", "across sizes")
    ]
    assert rows(archive, "SELECT state, since_edtf FROM edition_state") == [("open", "2011-03")]
    assert edition.warnings == ()


# Case J04: must be stated when the edition is opened.
def test_j04_how_sizes_count_must_be_said(archive):
    view = a_view(archive)
    before = tables(archive)

    with pytest.raises(RefusedError, match="Say how sizes count"):
        an_edition(archive, view=view, sizes_count=None)

    assert tables(archive) == before


def test_a_second_edition_of_a_view_shows_the_earlier_promise_and_asks(archive):
    first = an_edition(archive, process="pigment")
    view = (first.view_id, first.sheet_id)

    with pytest.raises(EarlierPromiseError) as question:
        an_edition(archive, view=view, process="silver gelatin", crop="square")
    second = an_edition(archive, view=view, process="silver gelatin", knowing=frozenset({first.id}))

    said = str(question.value)
    assert "with another process and another crop" in said
    assert f"E{first.id} (March 2011): {STATEMENT}" in said
    assert said.endswith(f"--knowing E{first.id}")
    # Directive 2006/112/EC, Annex IX A(7): 30 copies, all sizes together (check_values.md section 6).
    assert "34 copies of the view are allowed (30 numbered, 4 proofs" in second.warnings[0]


def test_a_sheet_that_does_not_hold_the_view_is_refused(archive):
    view_id, _ = a_view(archive)
    stranger = a_sheet(archive, "78-99")

    with pytest.raises(RefusedError, match=f"S{stranger} does not hold the view"):
        an_edition(archive, view=(view_id, stranger))


def test_a_size_added_asks_first_and_counts_as_was_said(archive):
    across = an_edition(archive)
    known = frozenset({across.id})

    with pytest.raises(EarlierPromiseError, match="A size is to be added to"):
        add_size(archive, across.id, SizePlan("large"), words="A large size is added.")
    add_size(archive, across.id, SizePlan("large"), words="A large size is added.", made=dated("2013"), knowing=known)

    assert rows(archive, "SELECT run_id, name FROM size ORDER BY id") == [
        (across.run_id, "small"),
        (across.run_id, "large"),
    ]
    assert rows(archive, "SELECT words, made_edtf, changed FROM edition_amendment") == [
        ("A large size is added.", "2013", "size large added")
    ]
    with pytest.raises(RefusedError, match="has a size 'Large' already"):
        add_size(archive, across.id, SizePlan("Large"), words="x", knowing=known)
    with pytest.raises(RefusedError, match="has no limit of its own"):
        add_size(archive, across.id, SizePlan("huge"), words="x", limit=5, knowing=known)


def test_a_size_of_an_edition_with_a_run_each_gets_a_run(archive):
    each = an_edition(archive, limit=5, sizes_count=EACH)

    add_size(archive, each.id, SizePlan("large"), words="five large ones", limit=3, knowing=frozenset({each.id}))

    assert rows(archive, "SELECT limit_count FROM run ORDER BY id") == [5, 3]


# Case J06: 30 of 250 sold, then serial numbers only. Old fractions stay as sold, the new rule is dated.
def test_j06_an_edition_given_up_midway_keeps_the_old_numbers_as_they_were_written(archive):
    edition = an_edition(archive, limit=250)
    pull_prints(archive, edition.run_id, count=3)

    amend_edition(archive, edition.id, words=NEW_RULE, made=dated("June 2015"), is_open_now=True, numbering="serial")
    later = pull_prints(archive, edition.run_id)

    assert later.written == ("4",)
    assert rows(archive, "SELECT written FROM print_number ORDER BY id") == ["1/250", "2/250", "3/250", "4"]
    assert rows(archive, "SELECT words, made_edtf, changed FROM edition_amendment") == [
        (NEW_RULE, "2015-06", "limit 250 to none; serial numbers from now on")
    ]
    assert rows(archive, "SELECT statement FROM edition") == [STATEMENT]


def test_a_limit_below_what_was_given_is_refused(archive):
    edition = an_edition(archive)
    pull(archive, edition.run_id, 7)
    pull_prints(archive, edition.run_id, series="AP", count=2)

    with pytest.raises(RefusedError, match="Number 7 was given already: the limit cannot be 6"):
        amend_edition(archive, edition.id, words="six", limit=6)
    with pytest.raises(RefusedError, match="2 AP were numbered already"):
        amend_edition(archive, edition.id, words="fewer", proofs=[("AP", 1)])
    amend_edition(archive, edition.id, words="more proofs", proofs=[("AP", 3), ("PP", 1)])
    assert pull_prints(archive, edition.run_id, series="AP").written == ("AP III/III",)


def test_an_amendment_is_taken_back_while_nothing_rests_on_it(archive):
    edition = an_edition(archive)

    amend_edition(archive, edition.id, words="ten", limit=10)
    undo_deed(archive)

    assert rows(archive, "SELECT limit_count, amendment_id FROM run") == [(15, None)]
    assert rows(archive, "SELECT count(*) FROM edition_amendment") == [0]


def test_closing_is_refused_while_promises_are_open_and_says_to_whom(archive):
    edition, buyer = an_edition(archive), a_buyer(archive)
    pulled = pull(archive, edition.run_id)
    write(archive, "reserved", pulled, person_id=buyer, until="2030")
    place = Subject(place=(edition.run_id, "numbered", 9))
    write_in_ledger(archive, "promised", [place], EntryFacts(person_id=buyer))

    with pytest.raises(RefusedError) as refusal:
        set_edition_state(archive, edition.id, "closed")
    write(archive, "sold", pulled, person_id=buyer)
    write_in_ledger(archive, "released", [place])
    set_edition_state(archive, edition.id, "closed", since=dated("2020"))

    assert f"1/15 reserved to Wilf Arkle (N{buyer}); 9/15 promised to Wilf Arkle" in str(refusal.value)
    with pytest.raises(RefusedError, match="E1 is closed"):
        pull(archive, edition.run_id)
    with pytest.raises(RefusedError, match="E1 is closed"):
        write_in_ledger(archive, "promised", [Subject(place=(edition.run_id, "numbered", 12))],
                        EntryFacts(person_id=buyer))  # fmt: skip
    with pytest.raises(RefusedError, match="for good"):
        set_edition_state(archive, edition.id, "open")
    with pytest.raises(RefusedError, match="for good"):
        amend_edition(archive, edition.id, words="more", limit=20)


def test_a_reservation_that_has_run_out_does_not_keep_an_edition_open(archive):
    edition, buyer = an_edition(archive), a_buyer(archive)
    write(archive, "reserved", pull(archive, edition.run_id), person_id=buyer, on="May 2013", until="June 2013")

    set_edition_state(archive, edition.id, "closed")

    assert rows(archive, "SELECT state FROM edition_state ORDER BY id") == ["open", "closed"]


def test_no_size_is_added_to_an_edition_that_was_closed(archive):
    edition = an_edition(archive)
    set_edition_state(archive, edition.id, "closed")

    with pytest.raises(RefusedError, match="closed, for good"):
        add_size(archive, edition.id, SizePlan("large"), words="Also large.", knowing=frozenset({edition.id}))


def test_a_size_with_a_run_of_its_own_says_how_many_it_will_have(archive):
    edition = an_edition(archive, sizes_count=EACH)
    knowing = frozenset({edition.id})

    with pytest.raises(RefusedError, match="Say --limit N"):
        add_size(archive, edition.id, SizePlan("large"), words="Also large.", knowing=knowing)
    with pytest.raises(RefusedError, match="0 prints is none"):
        add_size(archive, edition.id, SizePlan("large"), words="Also large.", limit=0, knowing=knowing)

    assert rows(archive, "SELECT count(*) FROM run") == [1]


def test_more_proofs_count_towards_the_limit_of_thirty(archive):
    edition = an_edition(archive, limit=28, proofs=[])

    amended = amend_edition(archive, edition.id, words="Three artist's proofs.", proofs=[("AP", 3)])

    assert edition.warnings == ()
    assert "31 copies of the view are allowed (28 numbered, 3 proofs" in amended.warnings[0]


def test_the_limit_of_thirty_counts_what_an_edition_withdrawn_left_behind(archive):
    withdrawn = an_edition(archive, limit=25)
    for _ in range(3):
        pull(archive, withdrawn.run_id)
    set_edition_state(archive, withdrawn.id, "withdrawn")

    view, knowing = (withdrawn.view_id, withdrawn.sheet_id), frozenset({withdrawn.id})
    within = an_edition(archive, limit=27, view=view, proofs=[], knowing=knowing)
    set_edition_state(archive, within.id, "withdrawn")
    beyond = an_edition(archive, limit=28, view=view, proofs=[], knowing=knowing | {within.id})

    assert within.warnings == ()
    assert "31 copies of the view" in beyond.warnings[0]


def test_a_held_edition_is_opened_again(archive):
    edition = an_edition(archive)

    set_edition_state(archive, edition.id, "held", words="no paper")
    with pytest.raises(RefusedError, match=r"E1 is held\. Open it again first"):
        pull(archive, edition.run_id)
    set_edition_state(archive, edition.id, "open")

    assert pull_prints(archive, edition.run_id).written == ("1/15",)


def test_a_planned_edition_gives_no_numbers_until_it_is_opened(archive):
    edition = an_edition(archive, is_planned=True)

    with pytest.raises(RefusedError, match=r"E1 is planned\. Open it first"):
        pull(archive, edition.run_id)
    set_edition_state(archive, edition.id, "open", since=dated("2012"))

    assert rows(archive, "SELECT state FROM edition_state ORDER BY id") == ["planned", "open"]


def test_the_price_rises_as_the_run_sells(archive):
    edition, buyer = an_edition(archive), a_buyer(archive)
    set_price(archive, edition.id, Money(60000, "EUR"))
    set_price(archive, edition.id, Money(80000, "EUR"), from_sold=1)

    def price():
        with archive.reading() as connection:
            return str(list_runs(connection, edition.id)[0].price)

    before = price()
    write(archive, "sold", pull(archive, edition.run_id), person_id=buyer, price="600 EUR")

    assert (before, price()) == ("600.00 EUR", "800.00 EUR")
    set_price(archive, edition.id, None, from_sold=1)
    assert price() == "600.00 EUR"
    with pytest.raises(RefusedError, match="has no price from 1 sold on"):
        set_price(archive, edition.id, None, from_sold=1)


def test_an_edition_tells_what_became_of_every_number(archive):
    edition, buyer = an_edition(archive, sizes_count=ACROSS), a_buyer(archive)
    sold, spoiled, _ = pull_prints(archive, edition.run_id, count=3).print_ids
    write(archive, "sold", sold, person_id=buyer)
    write(archive, "spoiled", spoiled, words="ink smeared")
    write_in_ledger(archive, "promised", [Subject(place=(edition.run_id, "AP", None))], EntryFacts(person_id=buyer))

    with archive.reading() as connection:
        row = find_edition(connection, edition.id)
        told = [(number.written, number.state, number.custodian_id) for number in list_numbers(connection, edition.id)]
        of_sheet = editions_of(connection, "sheet", edition.sheet_id)

    assert told == [
        ("1/15", "sold", buyer), ("2/15", "spoiled", None), ("3/15", "in hand", None), ("AP I/II", "promised", None),
    ]  # fmt: skip
    assert row is not None
    assert (row.limit, row.given, row.sold, row.out, row.state) == (15, 3, 1, 0, "open")
    assert of_sheet == [row]


def test_an_open_edition_has_no_limit(archive):
    edition = an_edition(archive, limit=None)

    with archive.reading() as connection:
        row = find_edition(connection, edition.id)

    assert row is not None
    assert row.limit is None
    assert "open edition counts as more than 30" in edition.warnings[0]


def test_a_number_sold_as_a_replacement_counts_as_sold(archive):
    edition = an_edition(archive)
    set_price(archive, edition.id, Money(60000, "EUR"))
    set_price(archive, edition.id, Money(80000, "EUR"), from_sold=1)
    first = pull(archive, edition.run_id)
    write(archive, "spoiled", first, words="a crease")
    again = replace_print(archive, first, proof="the two halves")
    write(archive, "sold", again, person_id=a_buyer(archive), price="600 EUR")

    with archive.reading() as connection:
        (listed,), (run,) = list_editions(connection), list_runs(connection, edition.id)

    assert (listed.given, listed.sold, run.sold, str(run.price)) == (1, 1, 1, "800.00 EUR")
