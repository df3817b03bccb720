"""Card indexes read into the catalogue: what becomes of each oddity, of the same file again, of an edited one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.kit import add_lens
from catalog.actions.notes import add_note, correct_note
from catalog.actions.places import add_place
from catalog.actions.sheets import Number, add_number, add_sheet_view, correct_number, correct_sheet
from catalog.actions.standpoints import add_standpoint
from catalog.actions.views import correct_subject, correct_view
from catalog.errors import RefusedError
from catalog.store.archive import Archive, open_archive
from tests.builders import a_sheet, a_village, rows
from tests.card_indexes import (
    CARDS,
    Index,
    a_copy,
    a_read_index,
    an_index,
    changes,
    is_found_by_its_words,
)
from tests.store.archives import tables

# ---- the sample index, oddity by oddity (scenario.md, "The old card index")


@pytest.fixture
def valley(sample: Path) -> Archive:
    return open_archive(sample)


def _sheet(archive: Archive, number: str, box: str | None = None) -> int:
    found = rows(
        archive,
        "SELECT s.id FROM sheet s JOIN sheet_number n ON n.sheet_id = s.id WHERE n.text = ?"
        " AND ifnull(?, s.box) IS s.box",
        number,
        box,
    )
    assert len(found) == 1, found
    return found[0]


def _fact(archive: Archive, number: str, column: str) -> object:
    return rows(archive, f"SELECT {column} FROM sheet WHERE id = ?", _sheet(archive, number))[0]


def _wordings(archive: Archive, number: str) -> list[tuple[object, ...]]:
    return rows(
        archive,
        "SELECT field, as_written, certainty, alternatives FROM wording WHERE about = 'sheet' AND about_id = ?",
        _sheet(archive, number),
    )


def _subjects(archive: Archive, number: str) -> list[tuple[object, ...]]:
    return rows(
        archive,
        "SELECT coalesce(b.name, p.name), vs.elevation, vs.certainty, vs.is_principal FROM sheet_view sv"
        " JOIN view_subject vs ON vs.view_id = sv.view_id LEFT JOIN building b ON b.id = vs.building_id"
        " LEFT JOIN place p ON p.id = vs.place_id WHERE sv.sheet_id = ? ORDER BY vs.id",
        _sheet(archive, number),
    )


def test_a_lens_that_may_be_either_is_a_wording_and_no_plain_fact(valley: Archive):
    assert _fact(valley, "78-17", "lens_id") is None
    assert ("lens", "90 or 120", "possible", '["90", "120"]') in _wordings(valley, "78-17")


def test_a_building_in_doubt_is_possible_and_its_village_certain(valley: Archive):
    assert _subjects(valley, "78-17") == [("Osk Mill", "W", "possible", 1), ("Osk", None, "certain", 0)]
    assert ("building", "Osk Mill?", "possible", None) in _wordings(valley, "78-17")


@pytest.mark.parametrize(
    ("number", "edtf", "words"),
    [
        ("82-07", "1982-22", "summer 82"),
        ("79-21", "1979-08?", "Aug 79?"),
        ("93-03", "[1993,1994]", "93 or 94"),
        ("X3", None, "n.d."),
        ("82-19", None, "31/4/1982"),
        ("79-12", "[..1979]", "before 1980"),
    ],
)
def test_a_date_is_kept_as_it_was_put(valley: Archive, number: str, edtf: str | None, words: str):
    assert (_fact(valley, number, "exposed_edtf"), _fact(valley, number, "exposed_words")) == (edtf, words)


def test_a_date_that_cannot_be_right_stays_in_words_and_in_doubt(valley: Archive):
    assert ("exposed", "31/4/1982", "possible", None) in _wordings(valley, "82-19")


def test_the_village_is_carried_down_its_block_and_not_across_the_break(valley: Archive):
    # X4 is the last card under Osk, 79-32 stands under Tarn End; neither names its village itself.
    assert _subjects(valley, "X4")[-1][0] == "Osk"
    assert _subjects(valley, "79-32")[0][0] == "Tarn End Barn"


def test_ditto_marks_give_what_stands_above(valley: Archive):
    assert _fact(valley, "78-15", "docket") == "000412"
    assert _subjects(valley, "78-16") == [("Osk Mill", "S", "certain", 1)]


def test_a_column_nobody_described_stays_as_notes(valley: Archive):
    ticks = rows(valley, "SELECT DISTINCT text FROM note WHERE heading = 'Tk.' ORDER BY text")

    assert ticks == ["/", "//", "?"]


def test_sold_behind_a_number_is_a_note_and_not_part_of_it(valley: Archive):
    notes = rows(valley, "SELECT text FROM note WHERE about = 'sheet' AND about_id = ?", _sheet(valley, "85-14"))

    assert "(sold)" in notes


def test_a_number_of_two_sheets_stays_on_both(valley: Archive):
    assert _sheet(valley, "78-14", "3") != _sheet(valley, "78-14", "78")


def test_e05_a_leading_zero_held_by_the_cell_format_stays(valley: Archive):
    assert _fact(valley, "08-11", "exposed_edtf") == "2008-06-04"
    assert _fact(valley, "74-02", "docket") == "000118"


def test_a_blank_sheet_has_no_view_but_says_what_it_was_meant_to_show(valley: Archive):
    assert _subjects(valley, "82-09") == []
    assert ("shows", "meant to show Osk Mill", "possible", None) in _wordings(valley, "82-09")


def test_a_double_exposure_has_two_views(valley: Archive):
    assert rows(valley, "SELECT count(*) FROM sheet_view WHERE sheet_id = ?", _sheet(valley, "80-05")) == [2]
    assert [name for name, *_ in _subjects(valley, "80-05")] == ["Osk Mill", "Osk Reading Room"]


def test_a_sheet_of_no_building_shows_its_village(valley: Archive):
    assert _subjects(valley, "89-05") == [("Priors Lode", None, "certain", 1)]


def test_j18_a_sheet_that_never_came_back_says_so_with_its_docket(valley: Archive):
    assert (_fact(valley, "86-10", "fate"), _fact(valley, "86-10", "docket")) == ("not returned", "000566")


def test_d09_an_undated_sheet_is_undated_and_not_first(valley: Archive):
    assert rows(valley, "SELECT exposed_earliest, exposed_latest FROM sheet WHERE id = ?", _sheet(valley, "X3")) == [
        (None, None)
    ]


def test_every_sheet_note_and_doubt_remembers_its_file_and_row(valley: Archive):
    from_cards = rows(
        valley,
        "SELECT n.text, r.row FROM sheet_number n JOIN card_row r ON r.sheet_id = n.sheet_id"
        " JOIN card_file f ON f.id = r.card_file_id WHERE f.name = 'cards.xlsx' AND n.text IN ('74-02', '21-01')",
    )

    assert from_cards == [("74-02", 5), ("21-01", 75)]
    assert rows(valley, "SELECT count(*) FROM wording WHERE about = 'sheet' AND card_row_id IS NULL") == [0]
    assert rows(valley, "SELECT count(*) FROM note WHERE about = 'sheet' AND card_row_id IS NULL") == [0]


def test_what_the_cards_brought_is_found_by_its_words(valley: Archive):
    assert is_found_by_its_words(valley)


def test_a_record_the_cards_were_first_to_name_says_on_which_card(valley: Archive):
    said = rows(
        valley,
        "SELECT n.text, r.row FROM note n JOIN standpoint s ON n.about = 'standpoint' AND n.about_id = s.id"
        " JOIN card_row r ON r.id = n.card_row_id WHERE s.words = 'towpath'",
    )

    assert said == [("first named by cards.xlsx, row 66", 66)]


# ---- the same again


def test_e13_the_same_file_again_adds_nothing(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    before = tables(archive, set())

    again = index.read()

    assert again.deed_id is None
    assert {row.outcome for row in again.plan.rows} == {"here"}
    assert tables(archive, set()) == before


def test_the_same_rows_under_another_file_name_add_nothing(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path).renamed("copy of cards.csv")

    again = index.read()

    assert again.deed_id is None
    assert again.plan.also_called == ("cards.csv",)


def test_rows_in_another_order_add_and_change_nothing(archive: Archive, tmp_path: Path):
    cards = "78-14,Osk,Osk Mill,S,1978,,,,,3,,,\n78-14,Osk,Ferry House,S,1991,,,,,78,,,\n79-01,Osk,Barn,,1979,,,,,,,,\n"
    index = a_read_index(archive, tmp_path, cards)

    index.write("".join(reversed(cards.splitlines(keepends=True))))

    assert {row.outcome for row in index.rehearse().rows} == {"here"}


def test_a_card_of_a_number_that_others_have_is_added_beside_them(archive: Archive, tmp_path: Path):
    cards = "78-14,Osk,Osk Mill,S,1978,,,,,3,,,\n78-14,Osk,Ferry House,S,1991,,,,,78,,,\n"
    index = a_read_index(archive, tmp_path, cards)

    done = index.write("78-14,Osk,Granary,N,1983,,,,,5,,,\n" + cards).read()

    assert [row.outcome for row in done.plan.rows] == ["new", "here", "here"]


def test_a_row_typed_twice_is_one_sheet_and_becomes_two_when_they_come_to_differ(archive: Archive, tmp_path: Path):
    line = "78-14,Osk,Osk Mill,S,1978,,,,,3,,,\n"
    index = a_read_index(archive, tmp_path, line * 2)
    assert rows(archive, "SELECT count(*) FROM sheet") == [1]
    assert index.read().deed_id is None

    done = index.write(line + line.replace("Osk Mill,S", "Granary,N")).read()

    assert [row.outcome for row in done.plan.rows] == ["here", "new"]


# ---- an edited file

_EDITS = [
    # What is edited on the card, the fields it changes, and what is then read from the catalogue.
    (("447,,,", "448,,,"), ["docket"], "SELECT docket FROM sheet WHERE id = 3", ["448"]),
    (("Aug 79?", "Sept 79"), ["exposed"], "SELECT exposed_edtf, exposed_words, exposed_doubt FROM sheet WHERE id = 3",
     [("1979-09", "Sept 79", "")]),
    (("79-21,", "79-12,"), ["numbers"], "SELECT id, text FROM sheet_number WHERE sheet_id = 3", [(3, "79-12")]),
    (("79-21,", "79-21; L9,"), ["numbers"], "SELECT text FROM sheet_number WHERE sheet_id = 3", ["79-21", "L9"]),
    (("Could be the granary", "Surely not the granary"), ["note 'Remarks'"],
     "SELECT text FROM note WHERE about = 'sheet' AND about_id = 2", ["Surely not the granary"]),
    (("Boards still on,//", "Boards still on,/"), ["note 'Tk.'"],
     "SELECT text FROM note WHERE about = 'sheet' AND about_id = 1 ORDER BY id", ["Boards still on", "/"]),
    (("90 or 120", "120"), ["lens", "doubt about lens"],
     "SELECT l.focal_length_mm, (SELECT count(*) FROM wording WHERE about_id = 2 AND field = 'lens')"
     " FROM sheet s JOIN lens l ON l.id = s.lens_id WHERE s.id = 2", [(120.0, 0)]),
    (("90 or 120", "90 or 150"), ["doubt about lens"],
     "SELECT as_written, alternatives FROM wording WHERE about_id = 2 AND field = 'lens'",
     [("90 or 150", '["90", "150"]')]),
    (("79-21,,Osk Mill,E", "79-21,,Osk Mill?,E"), ["doubt about building", "shows"],
     "SELECT certainty FROM view_subject WHERE view_id = 3 ORDER BY id", ["possible", "certain"]),
    (("79-21,,Osk Mill,E", "79-21,,Osk Mill,N"), ["shows"],
     "SELECT elevation FROM view_subject WHERE view_id = 3", ["N"]),
    (("Aug 79?,150", "Aug 79?,150?"), ["doubt about lens"],
     "SELECT as_written, certainty FROM wording WHERE about_id = 3", [("150?", "possible")]),
    (("447,,,", "447,blank,,"), ["fate", "doubt about shows", "shows"],
     "SELECT fate, (SELECT count(*) FROM sheet_view WHERE sheet_id = 3) FROM sheet WHERE id = 3", [("blank", 0)]),
    (("512,blank", "512,"), ["fate", "doubt about shows", "shows"],
     "SELECT fate, (SELECT count(*) FROM sheet_view WHERE sheet_id = 5) FROM sheet WHERE id = 5", [("exposed", 1)]),
    (("460,dbl exp", "460,"), ["fate", "shows"], "SELECT count(*) FROM sheet_view WHERE sheet_id = 4", [1]),
    (("X4,,Osk Granary", "X4,,Reading Room"), ["shows"],
     "SELECT b.name FROM view_subject vs JOIN sheet_view sv USING (view_id) JOIN building b ON b.id = vs.building_id"
     " WHERE sv.sheet_id = 6", ["Reading Room"]),
]  # fmt: skip


@pytest.mark.parametrize(("edit", "fields", "statement", "found"), _EDITS, ids=lambda value: str(value)[:40])
def test_an_edited_cell_changes_what_it_says_and_undo_brings_all_back(
    archive: Archive, tmp_path: Path, edit: tuple[str, str], fields: list[str], statement: str, found: list[object]
):
    index = a_read_index(archive, tmp_path)
    before = tables(archive)

    done = index.edit(edit).read()

    assert sorted(label for _, label, _ in changes(done.plan)) == sorted(fields)
    assert done.plan.count("changed") == 1
    assert done.plan.count("here") == 7
    assert rows(archive, statement) == found
    assert is_found_by_its_words(archive)
    assert index.read().deed_id is None
    undo_deed(archive)
    assert tables(archive) == before
    assert is_found_by_its_words(archive)


def test_an_edited_and_renamed_file_is_still_that_index(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path).renamed("cards 2004.csv").edit(("447,,,", "448,,,"))

    first = index.read()
    second = index.edit(("448,,,", "449,,,")).read()

    assert [changes(done.plan) for done in (first, second)] == [[(4, "docket", False)]] * 2
    assert rows(archive, "SELECT count(*) FROM sheet") == [8]


def test_an_edit_taken_back_on_the_card_is_taken_back_in_the_catalogue(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    index.edit(("447,,,", "448,,,")).read()

    index.edit(("448,,,", "447,,,")).read()

    assert rows(archive, "SELECT docket FROM sheet WHERE id = 3") == ["447"]


def test_a_card_renumbered_and_sorted_elsewhere_is_still_that_card(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    line = "79-21,,Osk Mill,E,Aug 79?,150,Pan 400,weir,,447,,,\n"

    done = index.edit((line, ""), ("82-09,", line.replace("79-21", "81-21") + "82-09,")).read()

    assert changes(done.plan) == [(5, "numbers", False)]
    assert done.plan.gone == ()


def test_a_card_renumbered_into_another_one_is_not_taken_for_it(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)

    done = index.edit(
        ("79-21,,Osk Mill,E,Aug 79?,150,Pan 400,weir,,447", "79-30,,Osk Granary,N,1981,90,Pan 100,lane,,501")
    ).read()

    assert done.plan.count("new") == 1
    assert [row.sheet_id for row in done.plan.gone] == [3]


def test_a_row_added_becomes_a_sheet_and_a_row_deleted_leaves_its_sheet(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)

    index.edit(
        ("77-02,Halding", "76-01,Halding,Smithy,E,1976,,,,,,,,\n77-02,Halding"),
        ("79-21,,Osk Mill,E,Aug 79?,150,Pan 400,weir,,447,,,\n", ""),
    )
    done = index.read()

    assert done.plan.count("new") == 1
    assert [(row.key, row.number, row.sheet_id) for row in done.plan.gone] == [("yearly:79-21", 4, 3)]
    assert rows(archive, "SELECT docket FROM sheet WHERE id = 3") == ["447"]


def test_a_view_that_other_sheets_hold_stays_theirs(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    other = a_sheet(archive, "99-01")
    add_sheet_view(archive, other, 3)

    index.edit(("79-21,,Osk Mill,E", "79-21,,Osk Mill,N")).read()

    shown = "SELECT vs.elevation FROM view_subject vs JOIN sheet_view sv USING (view_id) WHERE sv.sheet_id = ?"
    assert (rows(archive, shown, 3), rows(archive, shown, other)) == (["N"], ["E"])


def test_the_visit_of_a_view_outlives_an_edited_card(sample: Path, tmp_path: Path):
    archive = a_copy(tmp_path / "archive", sample)
    index = _sample_as_text(archive, tmp_path)
    visited = rows(
        archive,
        "SELECT v.id, v.visit_id FROM view v JOIN sheet_view sv ON sv.view_id = v.id JOIN sheet_number n"
        " ON n.sheet_id = sv.sheet_id WHERE n.text = '87-03'",
    )
    assert visited[0][1] is not None

    index.edit(("87-03,7,,Osk Mill,S", "87-03,7,,Osk Mill,E")).read()

    assert rows(archive, "SELECT id, visit_id FROM view WHERE id = ?", visited[0][0]) == visited
    assert [side for _, side, *_ in _subjects(archive, "87-03")] == ["E"]


def _sample_as_text(archive: Archive, folder: Path) -> Index:
    sample = Path(__file__).parents[2] / "sample_archive"
    path = folder / "cards.csv"
    path.write_text((sample / "cards.csv").read_text("utf-8"), "utf-8")
    return Index(archive, path, (sample / "cards.toml").read_text("utf-8"))


# ---- what a person corrected since


def test_a_corrected_field_is_kept_and_another_of_the_same_card_changed(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    correct_sheet(archive, 3, docket="450")

    done = index.edit(("weir,,447,,,", "weir,,448,,Wet,")).read()

    assert changes(done.plan) == [(4, "docket", True), (4, "note 'Remarks'", False)]
    assert rows(archive, "SELECT docket FROM sheet WHERE id = 3") == ["450"]
    assert index.read().deed_id is None


def test_what_was_kept_is_asked_about_again_when_its_card_is_edited_again(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    correct_sheet(archive, 3, docket="450")
    index.edit(("weir,,447", "weir,,448")).read()

    done = index.edit(("weir,,448", "weir,,449")).read()

    assert changes(done.plan) == [(4, "docket", True)]


def test_a_card_that_comes_to_say_what_was_corrected_changes_nothing(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    correct_sheet(archive, 3, docket="450")

    assert index.edit(("weir,,447", "weir,,450")).read().deed_id is None


def test_a_doubt_that_was_settled_is_not_brought_back_by_another_edit(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    lens = rows(archive, "SELECT id FROM lens WHERE focal_length_mm = 90")[0]
    correct_sheet(archive, 2, lens_id=lens)
    settled = rows(archive, "SELECT id, as_written, certainty FROM wording WHERE about_id = 2 AND field = 'lens'")

    index.edit(("Osk Mill?,W", "prob. Osk Mill,W"), ("Could be the granary", "Or the granary")).read()

    assert (
        rows(archive, "SELECT id, as_written, certainty FROM wording WHERE about_id = 2 AND field = 'lens'") == settled
    )


def test_a_doubt_that_was_settled_stays_settled_when_the_card_words_it_anew(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    lens = rows(archive, "SELECT id FROM lens WHERE focal_length_mm = 90")[0]
    correct_sheet(archive, 2, lens_id=lens)

    done = index.edit(("90 or 120", "90 or 150")).read()

    assert changes(done.plan) == [(3, "doubt about lens", True)]
    assert rows(archive, "SELECT lens_id FROM sheet WHERE id = 2") == [lens]


def test_a_value_that_was_confirmed_is_not_overruled_by_the_card(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path, CARDS.replace("Aug 79?,150", "Aug 79?,150?"))
    lens = rows(archive, "SELECT lens_id FROM sheet WHERE id = 3")[0]
    correct_sheet(archive, 3, lens_id=lens)  # "150?" said plainly: it is the 150

    done = index.edit(("Aug 79?,150?", "Aug 79?,210?")).read()

    assert {kept for _, _, kept in changes(done.plan)} == {True}
    assert rows(archive, "SELECT lens_id FROM sheet WHERE id = 3") == [lens]


def test_a_subject_that_was_settled_is_kept(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    correct_subject(
        archive, 2, rows(archive, "SELECT min(id) FROM view_subject WHERE view_id = 2")[0], certainty="certain"
    )

    done = index.edit(("Osk Mill?,W", "Osk Granary?,W")).read()

    assert {label for _, label, kept in changes(done.plan) if kept} == {"shows", "doubt about building"}


def test_a_corrected_number_note_or_view_is_kept(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    correct_number(archive, 3, 3, text="79-22")
    correct_note(
        archive, rows(archive, "SELECT id FROM note WHERE text = 'Could be the granary'")[0], text="No granary"
    )
    correct_view(archive, 1, title="The mill from the bridge")

    done = index.edit(
        ("79-21,", "79-23,"),
        ("Could be the granary", "May be the granary"),
        ("78-14,Osk,Osk Mill,S", "78-14,Osk,Osk Mill,E"),
    ).read()

    assert changes(done.plan) == [(2, "shows", True), (3, "note 'Remarks'", True), (4, "numbers", True)]
    assert rows(archive, "SELECT text FROM sheet_number WHERE sheet_id = 3") == ["79-22"]


def test_what_a_person_added_stays_beside_what_the_card_changes(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    add_number(archive, 3, Number("L12", "loose"))
    add_note(archive, about="sheet", about_id=3, text="Seen again in June")

    done = index.edit(("79-21,", "79-12,"), ("447,,,", "447,,Wet,")).read()

    assert {kept for _, _, kept in changes(done.plan)} == {False}
    assert rows(archive, "SELECT text FROM sheet_number WHERE sheet_id = 3") == ["79-12", "L12"]
    assert rows(archive, "SELECT text FROM note WHERE about = 'sheet' AND about_id = 3") == [
        "Seen again in June",
        "Wet",
    ]


def test_a_blank_said_by_the_card_does_not_empty_a_sheet_that_a_person_looked_at(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    correct_view(archive, 3, title="The weir in spate")

    done = index.edit(("447,,,", "447,blank,,")).read()

    assert (4, "fate", True) in changes(done.plan)
    assert rows(archive, "SELECT fate FROM sheet WHERE id = 3") == ["exposed"]


def test_a_name_that_has_come_to_mean_two_still_means_what_it_meant(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    add_lens(archive, focal_length_mm=150, name="the other 150")
    add_place(archive, name="Osk", kind="village")
    weir = rows(archive, "SELECT id, place_id FROM standpoint WHERE words = 'weir'")[0]
    add_standpoint(archive, words="weir, below the sluice", place_id=weir[1])

    done = index.edit(("447,,,", "447,,Wet,")).read()

    assert changes(done.plan) == [(4, "note 'Remarks'", False)]


def test_a_newly_read_date_of_two_meanings_is_a_doubt_until_the_mapping_settles_it(archive: Archive, tmp_path: Path):
    # Case D06: "1978-9" is September 1978, or 1978 to 1979.
    index = an_index(archive, tmp_path, "78-14,Osk,Osk Mill,S,1978-9,,,,,,,,\n")
    index.read()

    assert rows(archive, "SELECT exposed_edtf, exposed_words FROM sheet") == [(None, "1978-9")]
    kept = rows(archive, "SELECT field, alternatives FROM wording")
    assert [(field, sorted(json.loads(listed))) for field, listed in kept] == [
        ("exposed", ["1978-09", "1978-24", "1978/1979", "[1978..1979]"])
    ]


# ---- undo, rehearsal, refusals


def test_undo_of_a_reading_takes_back_every_row_of_it(archive: Archive, tmp_path: Path):
    before = tables(archive)
    a_read_index(archive, tmp_path)

    undo_deed(archive)

    assert tables(archive) == before
    assert is_found_by_its_words(archive)


def test_an_index_that_was_taken_back_can_be_read_again(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    undo_deed(archive)

    assert index.read().plan.count("new") == 8


def test_a_rehearsal_writes_nothing_and_says_what_a_reading_does(archive: Archive, tmp_path: Path):
    index = an_index(archive, tmp_path)
    before = tables(archive, set())

    plan = index.rehearse()

    assert tables(archive, set()) == before
    done = index.read().plan
    assert [row.outcome for row in plan.rows] == [row.outcome for row in done.rows]
    assert plan.added == done.added


def test_villages_and_buildings_nobody_knew_become_records_where_the_card_puts_them(archive: Archive, tmp_path: Path):
    plan = an_index(archive, tmp_path).read().plan

    assert ("place", "Osk") in plan.added
    sites = (
        "SELECT b.name, p.name FROM building_site s JOIN building b ON b.id = s.building_id"
        " JOIN place p ON p.id = s.place_id"
    )
    assert ("Town Mill", "Halding") in rows(archive, sites)


def test_a_village_in_doubt_says_nothing_of_where_a_new_building_stands(archive: Archive, tmp_path: Path):
    an_index(archive, tmp_path, "78-14,Osk?,Lime Kiln,,1978,,,,,,,,\n").read()

    assert rows(archive, "SELECT count(*) FROM building_site") == [0]


def test_a_name_nearly_that_of_a_known_village_is_asked_about_and_not_made_a_record(archive: Archive, tmp_path: Path):
    a_village(archive, "Low Halding")

    plan = an_index(archive, tmp_path, "78-30,Lowe Halding,,,1978,,,,,,,,\n").read().plan

    assert plan.added == ()
    assert "nearly Low Halding" in str(plan.rows[0].card.troubles[0])
    assert rows(archive, "SELECT field, as_written FROM wording") == [("village", "Lowe Halding")]


def test_two_villages_of_one_name_are_asked_about(archive: Archive, tmp_path: Path):
    a_village(archive, "Priors Lode")
    a_village(archive, "Priors Lode")

    plan = an_index(archive, tmp_path, "77-15,Priors Lode,Granary,W,July 77,,,,,,,,\n").read().plan

    assert "2 places of one name" in str(plan.rows[0].card.troubles[0])
    assert rows(archive, "SELECT count(*) FROM place") == [2]


def test_one_number_in_two_columns_is_one_number(archive: Archive, tmp_path: Path):
    mapping = 'version = 1\n[columns]\nNeg = "number"\nRemarks = "old_number"\n'
    index = an_index(archive, tmp_path, "78-14,Osk,,,,,,,,,,78-14,\n", mapping)

    index.read()

    assert rows(archive, "SELECT text FROM sheet_number") == ["78-14"]


def test_another_index_of_the_same_name_is_refused(archive: Archive, tmp_path: Path):
    numbers = [f"{number:02}" for number in range(1, 11)]
    index = a_read_index(archive, tmp_path, "".join(f"{n},Osk,Mill {n},N,1978,90,,weir,,,,,\n" for n in numbers))
    before = tables(archive, set())
    index.write("".join(f"{n},Halding,House {n},S,1991,150,,bridge,,,,,\n" for n in numbers))

    with pytest.raises(RefusedError, match="another"):
        index.read()

    assert tables(archive, set()) == before
    assert index.rehearse().is_unlike
    assert index.read(is_edited=True).plan.count("changed") == 10


def test_a_column_added_to_every_row_is_still_that_index(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)

    index.path.write_text(
        "".join(
            f"{line},{'Scanned' if line.startswith('Neg') else 'no'}\n" if line else "\n"
            for line in index.path.read_text("utf-8").splitlines()
        ),
        "utf-8",
    )
    done = index.read()

    assert not done.plan.is_unlike
    assert {label for _, label, _ in changes(done.plan)} == {"note 'Scanned'"}
