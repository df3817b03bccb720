"""The rows that lists print."""

import pytest

from catalog.rules.doubt import parse_doubt
from catalog.store.lists import STATEMENTS, PersonRow, SheetRow, list_rows
from catalog.store.parts import PART_STATEMENTS, list_parts
from tests.builders import a_lens, a_mill, a_sheet
from tests.store.archives import fill_small

EVERYTHING = {"private": True, "about": None, "about_id": None, "open": False}


@pytest.mark.parametrize("kind", STATEMENTS, ids=lambda kind: kind.__name__)
def test_every_list_reads_an_archive_with_a_row_in_every_table(archive, kind):
    fill_small(archive)

    with archive.reading() as connection:
        found = list(list_rows(connection, kind, **EVERYTHING))

    assert found
    assert all(isinstance(row, kind) for row in found)


@pytest.mark.parametrize("table", PART_STATEMENTS)
def test_every_part_of_a_record_is_told_with_its_number(archive, table):
    fill_small(archive)
    owner = {"sheet_number": "sheet_id", "view_subject": "view_id"}.get(table, "building_id")

    with archive.reading() as connection:
        number, owner_id = connection.execute(f"SELECT id, {owner} FROM {table}").fetchone()
        parts = dict(list_parts(connection, table, owner_id))

    assert parts[number]


def test_addresses_are_read_only_when_asked_for(archive):
    from catalog.actions.persons import add_person

    add_person(archive, name="A. Fenner", address="1 Mill Lane", contact="0123")

    with archive.reading() as connection:
        plain, private = (next(list_rows(connection, PersonRow, private=asked)) for asked in (False, True))

    assert (plain.address, plain.contact) == (None, None)
    assert (private.address, private.contact) == ("1 Mill Lane", "0123")


def test_a_doubtful_lens_is_listed_with_its_doubt_until_that_is_settled(archive):
    from catalog.actions.sheets import correct_sheet

    lens = a_lens(archive)
    sheet = a_sheet(archive, shows=a_mill(archive), lens_id=lens, wordings={"lens": parse_doubt("90?")})

    def listed():
        with archive.reading() as connection:
            row = next(list_rows(connection, SheetRow))
        return row.lens, row.lens_doubt

    assert listed() == ("90 mm", "90?")
    correct_sheet(archive, sheet, lens_id=lens)
    assert listed() == ("90 mm", None)
