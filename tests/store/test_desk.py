"""What waits on the desk: which records, in what order, and what is said of each."""

from __future__ import annotations

from datetime import date

import pytest

from catalog.actions.documents import void_document
from catalog.actions.kit import add_film
from catalog.actions.ledger import EntryFacts, Subject, write_in_ledger
from catalog.actions.questions import answer_question, ask_question
from catalog.actions.sheets import correct_sheet
from catalog.rules.film_risk import Risk
from catalog.store.archive import Archive, open_archive
from catalog.store.desk import KINDS, WaitingRow, drives_away, has_scans, read_pile, waiting_rows
from tests.asking import Valley
from tests.builders import a_sheet, dated, rows
from tests.editions import a_buyer, a_gallery, a_scan_of, an_edition, pull, write
from tests.store.archives import fill_small, raw

TODAY = date(2026, 11, 25).toordinal()


def waiting(archive: Archive, kind: str, *, is_private: bool = False) -> list[WaitingRow]:
    """Return everything that waits of a kind; each of it must still be there."""
    with archive.reading() as connection:
        pile = read_pile(connection, kind, TODAY)
        found = waiting_rows(connection, pile, 0, len(pile), is_private=is_private)
    assert None not in found
    return [row for row in found if row is not None]


def test_nothing_waits_in_an_empty_archive(archive):
    assert {kind: waiting(archive, kind) for kind in KINDS} == {kind: [] for kind in KINDS}
    with archive.reading() as connection:
        assert drives_away(connection) == ()
        assert not has_scans(connection)


def test_the_worst_at_risk_of_the_sheets_not_scanned_come_first(archive):
    acetate = add_film(archive, name="Grayline 125", base="acetate")
    nitrate = add_film(archive, name="Old Pan", base="nitrate")
    wanted = {
        "last": a_sheet(archive, "08-11", "2008"),
        "acetate": a_sheet(archive, "78-14", "1978", film_id=acetate),
        "vinegar": a_sheet(archive, "79-21", "1979", film_id=acetate, condition="smells of vinegar"),
        "nitrate": a_sheet(archive, "X1", film_id=nitrate),
        "old": a_sheet(archive, "38-02", "1938"),
        "older acetate": a_sheet(archive, "74-02", "1974", film_id=acetate),
    }

    with archive.reading() as connection:
        pile = read_pile(connection, "unscanned", TODAY)

    order = ["nitrate", "old", "vinegar", "older acetate", "acetate", "last"]
    assert list(pile.ids) == [wanted[name] for name in order]
    assert pile.risks[:2] == (Risk.NITRATE, Risk.PERHAPS_NITRATE)
    assert [row.remark for row in waiting(archive, "unscanned")][:3] == [
        "nitrate", "may be nitrate: old, base not known", "acetate, decaying; smells of vinegar",
    ]  # fmt: skip


@pytest.mark.parametrize("fate", ["blank", "fogged", "not returned", "lost at lab", "destroyed", "with lab"])
def test_a_sheet_with_nothing_to_scan_does_not_wait_for_it(archive, fate):
    sheet_id = a_sheet(archive, fate=fate)

    assert waiting(archive, "unscanned") == []
    assert [row.reference for row in waiting(archive, "lab")] == ([f"S{sheet_id}"] if fate == "with lab" else [])


def test_a_sheet_that_has_a_scan_does_not_wait(archive):
    sheet_id = a_sheet(archive)
    a_scan_of(archive, sheet_id)

    assert waiting(archive, "unscanned") == []


def test_a_base_written_for_the_sheet_counts_before_that_of_its_film(archive):
    a_sheet(archive, film_id=add_film(archive, name="Grayline 125", base="acetate"), base="polyester")

    assert [row.remark for row in waiting(archive, "unscanned")] == ["polyester"]


def test_words_of_a_card_wait_until_their_field_is_corrected(tmp_path, sample):
    from tests.sample import copy_sample

    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))
    (before,) = [row for row in waiting(archive, "words") if row.reference == "S37"]
    assert before.words == "date “31/4/1982”"
    assert before.remark == "cards.xlsx, row 44"

    correct_sheet(archive, 37, exposed=dated("30 April 1982"))

    assert "S37" not in [row.reference for row in waiting(archive, "words")]


def test_a_question_waits_until_it_is_answered(archive):
    ask_question(archive, text="Who built it?", ask="the county archive")
    question = rows(archive, "SELECT id FROM open_question")[0]
    assert [(row.reference, row.words, row.remark) for row in waiting(archive, "questions")] == [
        ("Q1", "Who built it?", "ask the county archive")
    ]

    answer_question(archive, question, answer="Josiah Brundle")

    assert waiting(archive, "questions") == []


def test_a_print_is_overdue_only_while_it_is_ours_and_out(archive):
    edition = an_edition(archive)
    late, sold, early = (pull(archive, edition.run_id, n) for n in (1, 2, 3))
    gallery = a_gallery(archive)
    for print_id, until in ((late, "2013"), (sold, "2013"), (early, "2030")):
        write(archive, "consigned", print_id, person_id=gallery, on="2012-04", until=until)
    write(archive, "sold", sold, person_id=a_buyer(archive), on="2013-05")

    (row,) = waiting(archive, "overdue")

    assert row.reference == f"P{late}"
    assert row.words == f"E1 1/15: consigned, with N{gallery}"
    assert row.remark == "due 2013"
    assert "Wennmouth Gallery" in waiting(archive, "overdue", is_private=True)[0].words


def test_promises_wait_past_their_day_first_and_then_those_without_one(archive):
    edition = an_edition(archive)
    buyer = a_buyer(archive)
    promised, reserved, later = (pull(archive, edition.run_id, n) for n in (1, 2, 3))
    write(archive, "promised", promised, person_id=buyer, on="2015")
    write(archive, "reserved", reserved, person_id=buyer, on="2015", until="2016")
    write(archive, "reserved", later, person_id=buyer, on="2015", until="2030")
    write_in_ledger(archive, "promised", [Subject(place=(edition.run_id, "numbered", 7))],
                    EntryFacts(dated("2014"), buyer, due=dated("2015")))  # fmt: skip

    found = [(row.reference, row.words, row.remark) for row in waiting(archive, "promises")]

    assert found == [
        ("E1", f"E1 7/15, not pulled yet: promised to N{buyer} since 2014", "until 2015: the day has passed"),
        (f"P{reserved}", f"E1 2/15: reserved to N{buyer}", "until 2016: the day has passed"),
        (f"P{promised}", f"E1 1/15: promised to N{buyer}", "no day was set"),
    ]


def test_a_scan_that_is_damaged_says_how(archive):
    valley = Valley(archive.folder.parent / "valley")
    valley.place("Osk")
    valley.frame("78-14", "1978", "Osk")
    valley.scan("78-14", "78-14.tif")
    connection = raw(valley.archive)
    connection.execute("UPDATE file SET state = 'damaged', damage = 'its picture cannot be read'")
    connection.close()

    (row,) = waiting(valley.archive, "damaged")

    assert (row.reference, row.words, row.remark) == ("C1", "78-14.tif", "damaged: its picture cannot be read")


def test_a_drive_that_is_away_says_when_and_where_it_was_seen_last(tmp_path):
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    valley.frame("78-14", "1978", "Osk")
    valley.drive("Blue box", str(tmp_path / "nowhere"))
    valley.scan("78-14", "78-14.tif", drive="Blue box")

    with valley.archive.reading() as connection:
        (row,) = drives_away(connection)

    assert row.reference == "U1"
    assert row.words == "Blue box: 1 file on it"
    assert row.remark.startswith("last seen 2026-11-25 at")


def test_a_page_waits_when_it_was_voided_and_none_took_its_place(archive):
    fill_small(archive)
    assert waiting(archive, "pages") == []

    void_document(archive, 1, because="the wrong size")

    assert [row.reference for row in waiting(archive, "pages")] == ["A1"]
    assert "wrong size" not in waiting(archive, "pages")[0].remark
    assert waiting(archive, "pages", is_private=True)[0].remark == "the wrong size"


def test_a_deed_that_was_cut_short_says_what_is_left_to_do(archive):
    fill_small(archive)
    connection = raw(archive)
    connection.execute("UPDATE deed SET state = 'interrupted', left_to_do = 'Run: tiebeam sidecars write'"
                       " WHERE kind = 'sidecars write'")  # fmt: skip
    connection.close()

    (row,) = waiting(archive, "deeds")

    assert row.reference is None
    assert row.command == "tiebeam sidecars write"


def test_what_went_away_meanwhile_leaves_its_place_empty(archive):
    a_sheet(archive, "78-14")
    a_sheet(archive, "78-15")
    with archive.reading() as connection:
        pile = read_pile(connection, "unscanned", TODAY)
    connection = raw(archive)
    connection.execute("DELETE FROM sheet_number WHERE sheet_id = 1")
    connection.execute("DELETE FROM sheet WHERE id = 1")
    connection.close()

    with archive.reading() as connection:
        first, second = waiting_rows(connection, pile, 0, 2)

    assert first is None
    assert second is not None
