"""Search: what is typed is words, exact spellings come first, and the words follow the records."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.model import Building, Note, Sheet, SheetNumber, SheetView, View
from catalog.rules.folding import fold
from catalog.store.archive import Archive
from catalog.store.search import rebuild_search, refresh_search, search_entries, stale_entries
from catalog.store.writing import deed
from tests.store.archives import an_archive, raw

NOTED = "2026-11-25T09:30:00Z"
KEPT = [
    "1978-014-03", "1978-014", "St. John's", "St. John’s", "Meth. Ch.", "(moved 1979)", '6" gauge', "[sic]", "ÉGLISE",
    "eglise", "Łódź", "Straße", "教会の北側", "Церковь", "100%", "a_b", "c++", "AND", "NEAR(x)", "church*", "Osk Mill",
    "OSK", "--", "½ plate", "E\u0301glise du Bas",
]  # fmt: skip


@pytest.fixture(scope="module")
def worded() -> Iterator[Archive]:
    """An archive with a building named by each of the words above: building n is KEPT[n - 1]."""
    with tempfile.TemporaryDirectory() as folder:
        archive = an_archive(Path(folder) / "archive")
        with deed(archive, "buildings add", "added") as writing:
            writing.session.add_all([Building(name=name) for name in KEPT])
        yield archive


def found(archive: Archive, word: str) -> list[str]:
    """Return the names found by one word, in order."""
    with archive.reading() as connection:
        return [KEPT[record_id - 1] for _, record_id, _ in search_entries(connection, word)]


@pytest.mark.parametrize("name", KEPT)
def test_whatever_is_written_is_found_as_written_and_first(worded, name):
    # Cases H01, H02, H03, E03.
    assert found(worded, name)[0] == name


@pytest.mark.parametrize(
    ("word", "names"),
    [
        ("1978-014-03", ["1978-014-03"]),  # H01: not "no such column: 014"
        ("1978-014", ["1978-014", "1978-014-03"]),
        ("St. John's", ["St. John's", "St. John’s"]),  # H02, E03
        ("St. John’s", ["St. John’s", "St. John's"]),
        ("john's", ["St. John's", "St. John’s"]),
        ("Meth.", ["Meth. Ch."]),
        ('"', ['6" gauge']),
        ("(moved", ["(moved 1979)"]),
        ("[sic]", ["[sic]"]),
        ("église", ["ÉGLISE", "eglise", "E\u0301glise du Bas"]),  # H03
        ("ÉGLISE", ["ÉGLISE", "eglise", "E\u0301glise du Bas"]),
        ("eglise", ["eglise", "ÉGLISE", "E\u0301glise du Bas"]),  # exact first
        ("strasse", ["Straße"]),
        ("lodz", ["Łódź"]),
        ("ЦЕРКОВЬ", ["Церковь"]),
        ("教会", ["教会の北側"]),
        ("北側", ["教会の北側"]),
        ("*", ["church*"]),
        ("churc", ["church*"]),
        ("AND", ["AND"]),
        ("osk", ["Osk Mill", "OSK"]),
        ("OSK", ["OSK", "Osk Mill"]),
        ("_", ["a_b"]),
        ("", []),
        ("  ", []),
        ("nowhere", []),
    ],
)
def test_words_find_what_a_reader_would_call_the_same(worded, word, names):
    assert found(worded, word) == names


@given(st.text(max_size=30))
@settings(max_examples=300, deadline=None)
def test_no_typed_text_is_an_error(worded, typed):
    with worded.reading() as connection:
        for word in (typed, *typed.split()):
            search_entries(connection, word)


@given(st.text(alphabet="\"'()[]{}*^:-+.,;!?%_~\\/|&<>=@#$\0\t\n NEAROT", max_size=12))
@settings(max_examples=300, deadline=None)
def test_nothing_typed_is_syntax(worded, typed):
    with worded.reading() as connection:
        search_entries(connection, typed)


def test_bytes_that_are_no_text_find_nothing_and_are_no_error(worded):
    # What a terminal sends that is not UTF-8 comes as surrogates (PEP 383).
    assert found(worded, b"\xc9glise".decode("utf-8", "surrogateescape")) == []


@given(st.text(min_size=1, max_size=20).filter(lambda text: text.strip()))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_that_can_be_kept_is_found_by_itself(archive_in_memory, text):
    connection = archive_in_memory
    connection.execute("DELETE FROM building")
    connection.execute("INSERT INTO building (id, name) VALUES (1, ?)", (text,))
    refresh_search(connection, {"building": {1}})

    if fold(text):
        assert ("building", 1) in [row[:2] for row in search_entries(connection, text)]


@pytest.fixture
def archive_in_memory(archive):
    connection = raw(archive)
    connection.execute("PRAGMA synchronous = OFF")
    connection.execute("BEGIN")
    return connection


def test_only_the_tables_asked_for_are_searched(small_archive):
    with small_archive.reading() as connection:
        assert search_entries(connection, "sluice", ["sheet"]) == [("sheet", 1, True)]
        assert search_entries(connection, "sluice", ["no_such_table"]) == []
        assert len(search_entries(connection, "sluice")) == 2
        assert len(search_entries(connection, "sluice", limit=1)) == 1


# ---- the words follow the records


def test_a_note_moved_to_another_record_is_no_longer_found_under_the_first(archive):
    with deed(archive, "sheets add", "added") as writing:
        writing.session.add_all([Sheet(), Sheet()])
        writing.session.flush()
        writing.session.add(Note(about="sheet", about_id=1, text="sluice", noted_at=NOTED))
    with deed(archive, "notes correct", "moved") as writing:
        note = writing.session.get_one(Note, 1)
        note.about_id = 2

    with archive.reading() as connection:
        assert search_entries(connection, "sluice") == [("sheet", 2, True)]
        assert stale_entries(connection) == []


def test_a_removed_number_is_no_longer_found(archive):
    with deed(archive, "sheets add", "added") as writing:
        sheet = Sheet(box="box four")
        sheet.numbers.append(SheetNumber(text="78-14", folded="78-14"))
        writing.session.add(sheet)
    with deed(archive, "sheets correct", "removed the number") as writing:
        number = writing.session.get_one(SheetNumber, 1)
        writing.session.delete(number)

    with archive.reading() as connection:
        assert search_entries(connection, "78-14") == []
        assert [row[:2] for row in search_entries(connection, "four")] == [("sheet", 1)]


def test_a_sheet_is_found_by_the_title_its_view_has_now(archive):
    with deed(archive, "sheets add", "added") as writing:
        writing.session.add_all([Sheet(), View(title="the weir")])
        writing.session.flush()
        writing.session.add(SheetView(sheet_id=1, view_id=1))
    with deed(archive, "views correct", "renamed") as writing:
        view = writing.session.get_one(View, 1)
        view.title = "the sluice"

    with archive.reading() as connection:
        assert search_entries(connection, "weir") == []
        assert [row[:2] for row in search_entries(connection, "sluice")] == [("sheet", 1)]


def test_words_made_anew_are_the_same_words(small_archive):
    connection = raw(small_archive)
    before = connection.execute("SELECT record_table, record_id, text FROM search_entry ORDER BY 1, 2").fetchall()

    rebuild_search(connection)

    after = connection.execute("SELECT record_table, record_id, text FROM search_entry ORDER BY 1, 2").fetchall()
    assert after == before
    assert len(before) > 10


def test_words_that_no_longer_fit_are_told(small_archive):
    connection = raw(small_archive)
    connection.execute("UPDATE building SET name = 'Brome Hall'")
    connection.execute("INSERT INTO person (name) VALUES ('A. Builder')")
    connection.execute("DELETE FROM source")

    assert stale_entries(connection) == [("building", 1), ("person", 2), ("source", 1)]
