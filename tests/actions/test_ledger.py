"""The ledger at the desk: written once, never altered, corrected by a further entry; refusals say who has it."""

from __future__ import annotations

import sqlite3

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.desk import Desk
from catalog.actions.ledger import EntryFacts, Subject, correct_entry, write_in_ledger
from catalog.actions.prints import pull_prints, replace_print
from catalog.errors import LedgerError, NotFoundError, RefusedError, UndoError
from catalog.store.check import check_archive, mend_search
from catalog.store.ledger import list_entries, read_standing
from catalog.store.prints import prints_held_by, prints_out
from tests.builders import Listener, dated, rows
from tests.editions import a_buyer, a_gallery, an_edition, pull, write
from tests.store.archives import raw, tables


def state_of(archive, print_id):
    return rows(archive, "SELECT state, custodian_id, owner_id FROM print_standing WHERE print_id = ?", print_id)[0]


def kinds(archive, print_id):
    return rows(archive, "SELECT kind FROM ledger_entry WHERE print_id = ? ORDER BY id", print_id)


@pytest.fixture
def sold(archive):
    """A print consigned in 2013 and sold from there in 2014: the print, the gallery, the buyer."""
    print_id, gallery, buyer = pull(archive, an_edition(archive).run_id), a_gallery(archive), a_buyer(archive)
    write(archive, "consigned", print_id, person_id=gallery, on="May 2013", until="May 2014", price="700 EUR")
    write(archive, "sold", print_id, person_id=buyer, on="2014", price="700 EUR")
    return print_id, gallery, buyer


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE ledger_entry SET price_minor = 1",
        "UPDATE ledger_entry SET words = 'x' WHERE id = 1",
        "DELETE FROM ledger_entry",
        "DELETE FROM ledger_entry WHERE id = 2",
        "INSERT OR REPLACE INTO ledger_entry (id, print_id, kind, written_at) VALUES (2, 1, 'sold', 'now')",
        "UPDATE OR REPLACE ledger_entry SET id = 1 WHERE id = 2",
        "INSERT INTO ledger_entry (print_id, kind, corrects_id, written_at) VALUES (1, 'corrected', 77, 'now')",
        "INSERT INTO ledger_entry (print_id, kind, corrects_id, written_at) VALUES (1, 'corrected', 1, 'now')",
        "INSERT INTO ledger_entry (kind, written_at) VALUES ('sold', 'now')",
        "INSERT INTO ledger_entry (print_id, print_number_id, kind, written_at) VALUES (1, 1, 'sold', 'now')",
        "INSERT INTO ledger_entry (print_number_id, kind, written_at) VALUES (1, 'sold', 'now')",
    ],
)
def test_the_database_itself_keeps_the_ledger_from_any_other_program(archive, sold, statement):
    bare = sqlite3.connect(archive.catalogue, isolation_level=None)
    before = bare.execute("SELECT * FROM ledger_entry").fetchall()

    with pytest.raises(sqlite3.IntegrityError):
        bare.execute(statement)

    assert bare.execute("SELECT * FROM ledger_entry").fetchall() == before


def test_a_sold_print_is_not_consigned_and_the_refusal_names_who_has_it(archive, sold):
    print_id, gallery, buyer = sold

    with pytest.raises(LedgerError) as refusal:
        write(archive, "consigned", print_id, person_id=gallery)

    assert str(refusal.value) == (
        f"E1 1/15 (P{print_id}) cannot be consigned: it is sold to Wilf Arkle (N{buyer}) since 2014. "
        "Write down first that it was bought back, if it was. Nothing was changed."
    )
    assert refusal.value.print_id == print_id


def test_a_print_bought_back_is_consigned_again(archive, sold):
    print_id, gallery, _ = sold

    write(archive, "bought back", print_id, on="2015", price="500 EUR")
    write(archive, "consigned", print_id, person_id=gallery, on="2016")

    assert state_of(archive, print_id) == ("consigned", gallery, None)


def test_all_prints_of_a_deed_or_none(archive):
    run, gallery = an_edition(archive).run_id, a_gallery(archive)
    first, second = pull_prints(archive, run, count=2).print_ids
    write(archive, "lent", second, person_id=gallery)

    with pytest.raises(LedgerError, match=f"P{second}"):
        write_in_ledger(
            archive, "consigned", [Subject(first), Subject(second)], EntryFacts(person_id=gallery)
        )  # fmt: skip

    assert kinds(archive, first) == ["pulled"]


def test_an_entry_that_lacks_something_or_says_too_much_is_refused(archive):
    print_id = pull(archive, an_edition(archive).run_id)

    for kind, facts, words in (
        ("consigned", {}, "needs a person"),
        ("damaged", {}, "needs words that say why"),
        ("returned", {"price": "5 EUR"}, "has no use for a price"),
        ("consigned", {"person_id": 99}, "There is no person N99"),
        ("pulled", {}, "no entry written by itself"),
        ("mislaid", {}, "no entry written by itself"),
    ):
        with pytest.raises((RefusedError, NotFoundError), match=words):
            write(archive, kind, print_id, **facts)
    assert kinds(archive, print_id) == ["pulled"]


def test_an_offer_below_the_last_sale_warns_and_is_done(archive, sold):
    run = rows(archive, "SELECT id FROM run")[0]
    second, gallery = pull(archive, run), sold[1]

    written = write(archive, "consigned", second, person_id=gallery, price="650 EUR")

    assert written.warnings == (f"E1 2/15 (P{second}): 650.00 EUR is below the last sale of this run, 700.00 EUR.",)
    assert state_of(archive, second)[0] == "consigned"


# ---- promises


def test_a_number_is_promised_before_it_is_pulled_and_not_given_to_another(archive):
    run, buyer, other = an_edition(archive).run_id, a_buyer(archive), a_buyer(archive, "Nan Orrell")
    place = Subject(place=(run, "numbered", 2))

    write_in_ledger(archive, "promised", [place], EntryFacts(person_id=buyer, date=dated("2012")))
    with pytest.raises(LedgerError, match=rf"E1 2/15 is promised to Wilf Arkle .N{buyer}. since 2012"):
        write_in_ledger(archive, "promised", [place], EntryFacts(person_id=other))

    assert pull_prints(archive, run, count=2).written == ("1/15", "3/15")
    second = pull(archive, run, 2)
    with pytest.raises(LedgerError, match="is promised to Wilf Arkle"):
        write(archive, "sold", second, person_id=other)
    write(archive, "sold", second, person_id=buyer)
    assert rows(archive, "SELECT hold FROM print_standing WHERE print_id = ?", second) == [None]


def test_a_promise_released_frees_the_number(archive):
    run, buyer = an_edition(archive).run_id, a_buyer(archive)
    place = Subject(place=(run, "numbered", 1))
    write_in_ledger(archive, "promised", [place], EntryFacts(person_id=buyer))

    write_in_ledger(archive, "released", [place], EntryFacts(words="gave it up"))

    assert pull_prints(archive, run).written == ("1/15",)


def test_a_replacement_takes_over_what_was_promised(archive):
    first, buyer = pull(archive, an_edition(archive).run_id), a_buyer(archive)
    write(archive, "promised", first, person_id=buyer)
    write(archive, "destroyed", first, words="fire")

    second = replace_print(archive, first, proof="report")

    assert rows(archive, "SELECT hold, held_for_id FROM print_standing WHERE print_id = ?", second) == [
        ("promised", buyer)
    ]
    promise = rows(archive, "SELECT id FROM ledger_entry WHERE kind = 'promised'")[0]
    correct_entry(archive, promise, why="it was 2/15")
    assert rows(archive, "SELECT hold FROM print_standing") == [None, None]
    assert check_archive(archive) == []


# ---- corrections and undo


def test_a_correction_stays_beside_what_it_corrects(archive, sold):
    print_id, gallery, _ = sold
    sale = rows(archive, "SELECT id FROM ledger_entry WHERE kind = 'sold'")[0]

    correct_entry(archive, sale, why="the buyer withdrew")

    assert state_of(archive, print_id) == ("consigned", gallery, None)
    assert kinds(archive, print_id) == ["pulled", "consigned", "sold", "corrected"]
    with archive.reading() as connection:
        listed = list_entries(connection, "print", print_id)
    assert [(row.number, row.corrects, row.corrected_by) for row in listed] == [
        (1, None, None), (2, None, None), (3, None, 4), (4, 3, None),
    ]  # fmt: skip
    with pytest.raises(LedgerError, match="corrected already"):
        correct_entry(archive, sale, why="again")
    with pytest.raises(LedgerError, match="a correction is not corrected"):
        correct_entry(archive, sale + 1, why="again")


def test_a_correction_that_others_rest_on_is_refused(archive, sold):
    pulled = rows(archive, "SELECT id FROM ledger_entry WHERE kind = 'pulled'")[0]
    write(archive, "bought back", sold[0])
    sale = rows(archive, "SELECT id FROM ledger_entry WHERE kind = 'sold'")[0]

    with pytest.raises(LedgerError, match=r"entry 4 .bought back. rests on the one to be corrected"):
        correct_entry(archive, sale, why="slip")
    with pytest.raises(LedgerError, match="left the house with Wennmouth Gallery"):
        correct_entry(archive, pulled, why="slip")
    with pytest.raises(LedgerError, match="needs words that say why"):
        correct_entry(archive, rows(archive, "SELECT max(id) FROM ledger_entry")[0], why=" ")


def test_a_pulling_is_not_taken_back_under_a_promise_that_would_go_with_it(archive):
    run, buyer = an_edition(archive).run_id, a_buyer(archive)
    print_id = pull(archive, run)
    pulling = rows(archive, "SELECT max(id) FROM deed")[0]
    write(archive, "promised", print_id, person_id=buyer)

    with pytest.raises(UndoError, match=r"entry 2 .promised. rests on the one to be corrected"):
        undo_deed(archive, pulling)

    write(archive, "released", print_id)
    with pytest.raises(UndoError, match=r"entry 3 .released. rests on the one to be corrected"):
        undo_deed(archive, pulling)
    undo_deed(archive)
    undo_deed(archive)
    undo_deed(archive, pulling)
    assert rows(archive, "SELECT state, hold FROM print_standing") == [("never made", None)]


def test_a_print_stays_replaced_while_its_replacement_carries_the_number(archive):
    first = pull(archive, an_edition(archive).run_id)
    write(archive, "lost", first)
    second = replace_print(archive, first, proof="report")
    end = rows(archive, "SELECT id FROM ledger_entry WHERE kind = 'replaced'")[0]

    with pytest.raises(LedgerError, match=f"was replaced by P{second}, which carries its number now"):
        correct_entry(archive, end, why="it turned up")

    assert rows(archive, "SELECT life FROM print ORDER BY id") == ["ended", "live"]


def test_a_promise_that_a_replacement_gave_up_is_not_corrected_under_it(archive):
    first, buyer = pull(archive, an_edition(archive).run_id), a_buyer(archive)
    write(archive, "promised", first, person_id=buyer)
    promise = rows(archive, "SELECT max(id) FROM ledger_entry")[0]
    write(archive, "spoiled", first, words="a crease")
    second = replace_print(archive, first, proof="the two halves")
    write(archive, "released", second)

    with pytest.raises(LedgerError, match=rf"\(P{second}\): entry 2 .released. rests on the one to be corrected"):
        correct_entry(archive, promise, why="slip")

    assert check_archive(archive) == []


def test_undo_of_a_ledger_deed_writes_a_correction_and_undo_of_that_writes_it_again(archive, sold):
    print_id, gallery, buyer = sold

    undone = undo_deed(archive)
    after_undo = state_of(archive, print_id)
    undo_deed(archive, undone.undo_id)

    assert after_undo == ("consigned", gallery, None)
    assert state_of(archive, print_id) == ("sold", buyer, buyer)
    assert kinds(archive, print_id) == ["pulled", "consigned", "sold", "corrected", "sold"]
    assert rows(archive, "SELECT words FROM ledger_entry WHERE kind = 'corrected'") == ["deed 8 was taken back"]
    assert check_archive(archive) == []


def test_an_undo_that_later_entries_stand_against_changes_nothing(archive, sold):
    write(archive, "bought back", sold[0])
    before = tables(archive)
    sale = rows(archive, "SELECT id FROM deed WHERE kind = 'prints sell'")[0]

    with pytest.raises(UndoError, match="rests on the one to be corrected"):
        undo_deed(archive, sale)

    assert tables(archive) == before


# ---- what is kept for speed


def test_check_finds_a_standing_that_is_not_the_ledgers_and_mends_it(archive, sold):
    raw(archive).execute("UPDATE print_standing SET state = 'in hand', custodian_id = NULL")

    found = [finding for finding in check_archive(archive) if finding.kind == "ledger"]
    mend_search(archive)

    assert [finding.words for finding in found] == [
        f"P{sold[0]} is not kept as its ledger says (sold). Run: tiebeam check --mend"
    ]
    assert check_archive(archive) == []


def test_check_finds_a_ledger_that_was_tampered_with(archive, sold):
    connection = raw(archive)
    connection.executescript(
        "DROP TRIGGER ledger_entry_kept; DELETE FROM ledger_entry WHERE kind = 'pulled'"
    )  # fmt: skip
    connection.close()

    kinds_found = {finding.kind for finding in check_archive(archive)}

    assert {"ledger", "schema"} <= kinds_found


# Case J10: gallery closes; everything a holder has, who owns it, value, since when.
def test_j10_everything_a_gallery_holds_with_owner_value_and_since_when(archive):
    run, gallery, buyer = an_edition(archive).run_id, a_gallery(archive), a_buyer(archive)
    ours, theirs, home, lost = pull_prints(archive, run, count=4).print_ids
    write(archive, "consigned", ours, person_id=gallery, on="May 2013", price="700 EUR")
    write(archive, "sold", theirs, person_id=buyer, price="600 EUR")
    write(archive, "lent", theirs, person_id=gallery, on="June 2014", until="2015")
    write(archive, "consigned", lost, person_id=gallery)
    write(archive, "lost", lost)

    with archive.reading() as connection:
        held = [(row.id, row.owner, row.since, str(row.value)) for row in prints_held_by(connection, gallery)]
        out = [row.id for row in prints_out(connection)]

    assert held == [(ours, None, "2013-05", "700.00 EUR"), (theirs, "Wilf Arkle", "2014-06", "600.00 EUR")]
    assert out == [ours]
    assert home not in out


def test_what_is_overdue_is_told_from_what_is_out(archive):
    run, gallery = an_edition(archive).run_id, a_gallery(archive)
    late, later, open_ended = pull_prints(archive, run, count=3).print_ids
    write(archive, "lent", late, person_id=gallery, until="May 2014")
    write(archive, "lent", later, person_id=gallery, until="2040")
    write(archive, "lent", open_ended, person_id=gallery)

    with archive.reading() as connection:
        out = [row.id for row in prints_out(connection)]
        overdue = [row.id for row in prints_out(connection, overdue_on=dated("2026").earliest)]

    assert out == [late, later, open_ended]
    assert overdue == [late]


def test_the_daybook_tells_neither_names_nor_prices(archive, sold):
    heard, print_id = Listener(), sold[0]

    write_in_ledger(archive, "bought back", [Subject(print_id)], EntryFacts(words="scratched"), desk=Desk(say=heard))

    told = " ".join(rows(archive, "SELECT words FROM deed WHERE kind LIKE 'prints %'"))
    assert heard.heard == [f"bought back: E1 1/15 (P{print_id}), scratched"]
    assert "Arkle" not in told
    assert "700" not in told


def test_one_print_standing_is_what_its_entries_say(archive, sold):
    with archive.reading() as connection:
        now = read_standing(connection, sold[0])

    assert (now.state, now.owner_id, now.value_minor, now.currency) == ("sold", sold[2], 70000, "EUR")
