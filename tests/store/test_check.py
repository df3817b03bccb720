"""What ``check`` looks at: each fault it is for is found, and told in one line."""

from __future__ import annotations

import shutil

import pytest

from catalog.errors import ArchiveError
from catalog.store.check import check_archive, mend_search
from tests.store.archives import raw


def test_a_sound_catalogue_gives_no_findings(small_archive):
    assert check_archive(small_archive) == []


@pytest.mark.parametrize(
    ("harm", "kind", "words"),
    [
        ("UPDATE sheet SET lens_id = 999", "links", "S1 points to a lens that is not there."),
        ("DROP TRIGGER sheet_said_of", "schema", "The trigger sheet_said_of is not there."),
        ("DROP INDEX ix_sheet_exposed", "schema", "The index ix_sheet_exposed is not there."),
        ("ALTER TABLE sheet ADD COLUMN mine TEXT", "schema", "The table sheet was altered by hand."),
        ("UPDATE sheet SET exposed_latest = 800000", "dates", "S1, exposed: the days kept beside 1978~"),
        ("UPDATE sheet SET exposed_doubt = ''", "dates", "S1, exposed: the days kept beside 1978~"),
        ("UPDATE sheet SET exposed_edtf = 'c. 1978'", "dates", "S1, exposed: 'c. 1978' is not an EDTF date"),
        ("UPDATE sheet SET fate_date_earliest = 1", "dates", "S1, fate_date: an undated record keeps days."),
        ("UPDATE building SET name = 'Brome Hall'", "search", "B1 is not found by its own words."),
        ("DELETE FROM search_entry WHERE record_table = 'sheet'", "search", "S1 is not found by its own words."),
        ("INSERT INTO search_words (search_words) VALUES ('delete-all')", "search", "The search words are not those"),
        ("UPDATE sheet_number SET folded = 'x'", "numbers", "S1: its number '78-14' would not be found."),
        ("DROP TRIGGER sheet_said_of; DELETE FROM sheet", "about", "note 1 is about a sheet that is not there."),
        ("DELETE FROM lens", "kit", "K1 (90 mm) is a lens without its particulars."),
        ("UPDATE deed SET state = 'interrupted' WHERE id = 3", "daybook", "Deed 3 (sidecars write) was cut short."),
        ("UPDATE deed SET state = 'under way' WHERE id = 3", "daybook", "Deed 3 (sidecars write) was cut short and"),
        ("UPDATE deed SET undone_by_id = 3 WHERE id = 2", "daybook", "Deed 2 is marked as undone by deed 3"),
        (
            "UPDATE deed_file SET state = 'intended'",
            "files",
            "/media/blue/78-14.xmp: deed 3 (sidecars write) did not say",
        ),
    ],
)
def test_harm_is_found_and_told_in_one_line(small_archive, harm, kind, words):
    connection = raw(small_archive)
    connection.executescript(harm)
    connection.close()

    found = [finding for finding in check_archive(small_archive) if finding.kind == kind]

    assert any(finding.words.startswith(words) for finding in found), check_archive(small_archive)
    assert all("\n" not in finding.words for finding in found)


def test_a_rotten_page_is_found(small_archive):
    raw(small_archive).execute("PRAGMA wal_checkpoint(TRUNCATE)")
    root = (
        raw(small_archive).execute("SELECT rootpage FROM sqlite_master WHERE name = 'ix_sheet_exposed'").fetchone()[0]
    )
    data = bytearray(small_archive.catalogue.read_bytes())
    page = int.from_bytes(data[16:18], "big")  # SQLite, "Database File Format", section 1.3.2
    data[(root - 1) * page : root * page] = bytes(page)
    small_archive.catalogue.write_bytes(data)

    try:
        words = [finding.words for finding in check_archive(small_archive)]
    except ArchiveError as exc:
        words = [str(exc)]

    assert any("backups/" in line for line in words)


def test_folders_that_are_gone_are_named(small_archive):
    shutil.rmtree(small_archive.folder / "documents")

    assert [finding.words for finding in check_archive(small_archive)] == [
        f"{small_archive.folder / 'documents'} is not there."
    ]


def test_a_flood_of_findings_is_counted_after_the_first_twenty(small_archive):
    connection = raw(small_archive)
    connection.executemany("INSERT INTO person (name) VALUES (?)", [(f"person {n}",) for n in range(100)])

    found = check_archive(small_archive)

    assert len(found) == 21
    assert found[-1].words == "... and 80 more of this kind."


def test_looking_changes_nothing(small_archive):
    before = list(raw(small_archive).iterdump())

    check_archive(small_archive)

    assert list(raw(small_archive).iterdump()) == before


@pytest.mark.parametrize(
    "harm",
    [
        "DELETE FROM search_entry",
        "UPDATE search_entry SET text = 'x', folded = 'x'",
        "INSERT INTO search_words (search_words) VALUES ('delete-all')",
        "UPDATE building SET name = 'Brome Hall'",
    ],
)
def test_search_words_are_mended(small_archive, harm):
    connection = raw(small_archive)
    connection.executescript(harm)
    connection.close()
    assert check_archive(small_archive) != []

    mend_search(small_archive)

    assert check_archive(small_archive) == []
