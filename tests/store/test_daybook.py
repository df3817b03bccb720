"""The daybook to read: deeds in order, and every row as it was when a deed had changed it."""

from __future__ import annotations

import pytest

from catalog.actions.deeds import undo_deed
from catalog.errors import NotFoundError
from catalog.model import Note, Sheet, SheetNumber
from catalog.rules.references import LETTERS
from catalog.store.daybook import (
    changes_of,
    deeds_of_record,
    get_deed,
    list_deeds,
    name_record,
    row_after,
)
from catalog.store.rows import decode_values, encode_values
from catalog.store.writing import deed
from tests.store.archives import fill_small, tables


def test_deeds_are_listed_in_order_with_what_they_changed(archive):
    fill_small(archive, with_edition=False)

    with archive.reading() as connection:
        deeds = list_deeds(connection)

    assert [(d.id, d.kind, d.state, d.files) for d in deeds] == [
        (1, "cards read", "done", 0), (2, "sheets correct", "done", 0), (3, "sidecars write", "done", 1),
    ]  # fmt: skip
    assert deeds[0].records == sum(len(rows) for rows in tables(archive).values())
    assert deeds[1].records == 1


def test_only_deeds_of_the_time_asked_for_are_listed(small_archive):
    with small_archive.reading() as connection:
        assert list_deeds(connection, "2000-01-01T00:00:00Z") == list_deeds(connection)
        assert list_deeds(connection, "9999-01-01T00:00:00Z") == []


def test_a_number_the_daybook_does_not_have_is_refused(small_archive):
    with small_archive.reading() as connection, pytest.raises(NotFoundError, match="no deed 77"):
        get_deed(connection, 77)


def test_a_row_is_told_as_it_was_after_each_change(archive):
    with deed(archive, "sheets add", "added") as writing:
        writing.session.add(Sheet(box="1"))
    for box in ("2", "3"):
        with deed(archive, "sheets correct", "corrected") as writing:
            sheet = writing.session.get_one(Sheet, 1)
            sheet.box = box
    with deed(archive, "sheets remove", "removed") as writing:
        writing.session.delete(writing.session.get_one(Sheet, 1))
    undo_deed(archive)

    with archive.reading() as connection:
        changes = [next(changes_of(connection, n)) for n in range(1, 6)]
        boxes = [(row_after(connection, change) or {}).get("box") for change in changes]
    assert boxes == ["1", "2", "3", None, "3"]


def test_a_records_deeds_are_those_of_its_parts_and_of_what_is_said_of_it(archive):
    with deed(archive, "sheets add", "1") as writing:
        writing.session.add_all([Sheet(), Sheet()])
    with deed(archive, "sheets correct", "2") as writing:
        writing.session.add(SheetNumber(sheet_id=1, text="78-14", folded="78-14"))
    with deed(archive, "notes add", "3") as writing:
        writing.session.add(Note(about="sheet", about_id=1, text="sluice", noted_at="2026-11-25T09:30:00Z"))
    with deed(archive, "sheets correct", "4") as writing:
        writing.session.delete(writing.session.get_one(SheetNumber, 1))
    with deed(archive, "sheets correct", "5") as writing:
        sheet = writing.session.get_one(Sheet, 2)
        sheet.box = "4"

    with archive.reading() as connection:
        assert [d.id for d in deeds_of_record(connection, "sheet", 1)] == [1, 2, 3, 4]
        assert [d.id for d in deeds_of_record(connection, "sheet", 2)] == [1, 5]


@pytest.mark.parametrize("table", LETTERS.values())
def test_the_deeds_of_any_kind_of_record_can_be_asked_for(small_archive, table):
    with small_archive.reading() as connection:
        deeds_of_record(connection, table, 1)


def test_every_row_has_a_name_in_words(small_archive):
    with small_archive.reading() as connection:
        names = {name_record(connection, c.record_table, c.record_id) for c in changes_of(connection, 1)}

    assert names >= {
        "S1", "B1", "L1", "V1", "T1", "D1", "N1", "R1", "Q1", "O1", "K1", "K2", "K3", "U1", "C1",
        "number '78-14' of S1", "view of S1", "name 'Lower Mill' of B1", "site of B1", "elevation 'E' of B1",
        "chronicle entry of B1", "name 'Oske' of L1", "parent place of L1", "subject of V1", "sheet of C1",
        "sidecar of C1", "note on S1", "wording 'Lens 90?' on S1", "row 4 of card file cards.csv",
        "card file cards.csv", "file 78-14.tif",
    }  # fmt: skip


def test_any_values_are_kept_and_read_back():
    values = {"bytes": b"\x00\xff", "text": "Église ½ [sic]", "real": 0.1, "whole": 2**62, "none": None}

    assert decode_values(encode_values(values)) == values
    assert encode_values(None) is None
    assert decode_values(None) == {}
