"""Strays as rows, and the sheets each may be of."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.rules.scan_names import NumberIndex, match_name
from catalog.store.strays import candidates_of, find_sheets, numbers_within, stray_ids, stray_rows, why_waiting
from tests.asking import Valley
from tests.scan_archives import a_scan, a_sheet, an_archive, rows, tiebeam


def stray(archive, scan_id):
    with archive.reading() as connection:
        row = stray_rows(connection, [scan_id])[0]
        assert row is not None
        return [(one.frame.id, one.why) for one in candidates_of(connection, archive, row)]


def test_strays_are_what_the_command_lists(tmp_path, capsys):
    archive = an_archive(tmp_path / "wenn")
    a_sheet(archive, "78-14")
    a_sheet(archive, "78-14", scheme="box")
    a_sheet(archive, "82-07")
    for seed, name in enumerate(("78-14.tif", "82-07.tif", "stray.tif", "88-9.tif")):
        a_scan(archive.folder / "scans" / name, seed)
    tiebeam(archive, "scans", "add", archive.folder / "scans")
    tiebeam(archive, "scans", "unmatch", "82-07.tif")
    capsys.readouterr()
    import json

    tiebeam(archive, "scans", "unmatched", "--json")
    listed = json.loads(capsys.readouterr().out)["items"]
    with archive.reading() as connection:
        ids = stray_ids(connection)
        told = [row for row in stray_rows(connection, ids) if row is not None]
        whys = why_waiting(connection, archive, told)

    assert [(row.reference, row.path, whys[row.id]) for row in told] == [
        (item["reference"], item["path"], item["why"]) for item in listed
    ]


def test_the_sheet_it_was_taken_off_comes_last_and_says_so(tmp_path):
    archive = an_archive(tmp_path / "wenn")
    first = a_sheet(archive, "82-07")
    a_scan(archive.folder / "82-07.tif")
    tiebeam(archive, "scans", "add", archive.folder / "82-07.tif")
    tiebeam(archive, "scans", "unmatch", "C1")

    with archive.reading() as connection:
        row = stray_rows(connection, [1])[0]
        assert row is not None
        (one,) = candidates_of(connection, archive, row)

    assert (one.frame.id, one.was_taken_off) == (first, True)


def test_a_building_that_the_folder_names_suggests_its_unscanned_sheets_of_that_year(tmp_path):
    valley = Valley(tmp_path / "wenn")
    valley.place("Osk")
    valley.building("Osk Mill", ("Osk", None, None))
    valley.frame("74-01", "1974", "Osk Mill")
    in_1982 = valley.frame("82-07", "1982-06", "Osk Mill")
    valley.frame("82-08", "1982", "Osk Mill")
    valley.scan("82-08", "82-08.tif")
    valley.frame("82-09", "1982", "Osk")
    a_scan(valley.archive.folder / "osk mill" / "north 1982.tif", 3)
    tiebeam(valley.archive, "scans", "add", valley.archive.folder / "osk mill")

    found = stray(valley.archive, 2)

    assert found[0] == (in_1982, "its folder says Osk Mill, and 1982 is said")
    assert found[1:] == [(valley.ids["74-01"], "its folder says Osk Mill")]


def test_embedded_words_are_read_too(tmp_path):
    archive = an_archive(tmp_path / "wenn")
    sheet = a_sheet(archive, "82-07")
    a_scan(archive.folder / "x.tif", caption="Sheet 82-7 [verso]. Oske")
    tiebeam(archive, "scans", "add", archive.folder / "x.tif")

    assert stray(archive, 1) == [(sheet, "its embedded words hold 82-7")]


WORD = st.text("0179aB", min_size=1, max_size=3)
NUMBERS = st.lists(st.lists(WORD, min_size=1, max_size=3).map("-".join), max_size=8)
NAMES = st.lists(st.tuples(WORD, st.sampled_from("-_. ")).map("".join), min_size=1, max_size=5).map("".join)


@settings(max_examples=60, deadline=None)
@given(NUMBERS, st.lists(NAMES, min_size=1, max_size=4))
def test_the_numbers_within_a_name_say_what_all_numbers_say(numbers, names):
    import sqlite3

    from catalog.rules.folding import fold

    connection = sqlite3.connect(":memory:")
    connection.execute("CREATE TABLE sheet_number (id INTEGER PRIMARY KEY, sheet_id, text, folded)")
    pairs = list(enumerate(numbers, 1))
    connection.executemany(
        "INSERT INTO sheet_number (sheet_id, text, folded) VALUES (?, ?, ?)", [(i, n, fold(n)) for i, n in pairs]
    )
    whole = NumberIndex.of(pairs)

    for among in ([name] for name in names):
        few = numbers_within(connection, among)
        assert match_name(among[0] + ".tif", few) == match_name(among[0] + ".tif", whole)
    together = numbers_within(connection, names)
    assert [match_name(n + ".tif", together) for n in names] == [match_name(n + ".tif", whole) for n in names]
    connection.close()


def test_a_sheet_is_found_by_reference_number_or_words(tmp_path):
    valley = Valley(tmp_path / "wenn")
    valley.place("Osk")
    sheet = valley.frame("82-07", "1982", "Osk", title="the [north] gable")
    with valley.archive.reading() as connection:
        found = {typed: list(find_sheets(connection, valley.archive, typed).ids)
                 for typed in (f"s{sheet}", "82-07", "gable [north]", "S99", "[/")}  # fmt: skip

    assert found == {f"s{sheet}": [sheet], "82-07": [sheet], "gable [north]": [sheet], "S99": [], "[/": []}


def test_one_deed_ties_a_scan_to_two_sheets_and_one_undo_takes_it_back(tmp_path):
    from catalog.actions.deeds import undo_deed
    from catalog.actions.scan_matches import match_scan_to_sheets

    archive = an_archive(tmp_path / "wenn")
    one, other = a_sheet(archive, "82-07"), a_sheet(archive, "82-08")
    a_scan(archive.folder / "x.tif")
    tiebeam(archive, "scans", "add", archive.folder / "x.tif")

    match_scan_to_sheets(archive, 1, {one: None, other: "left half"})

    assert rows(archive, "SELECT sheet_id, region, matched_by FROM scan_part ORDER BY id") == [
        (one, None, "hand"), (other, "left half", "hand"),
    ]  # fmt: skip
    undo_deed(archive)
    assert rows(archive, "SELECT * FROM scan_part") == []
