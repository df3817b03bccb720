"""Sheets by hand."""

import pytest

from catalog.actions.corrections import SaidBy
from catalog.actions.desk import Desk
from catalog.actions.persons import add_person
from catalog.actions.sheets import (
    Number,
    add_number,
    add_sheet,
    add_sheet_view,
    correct_number,
    correct_sheet,
)
from catalog.actions.views import Shown, add_view
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.doubt import parse_doubt
from tests.builders import Listener, a_lens, a_mill, a_sheet, dated, rows


def test_a_sheet_is_kept_with_its_number_date_and_what_it_shows(archive):
    mill, lens = a_mill(archive), a_lens(archive)

    sheet = add_sheet(
        archive, numbers=[Number("78-14", "yearly", "sleeve")], exposed=dated("c. 1978"), lens_id=lens,
        shows=[Shown(building_id=mill, elevation="E")],
    )  # fmt: skip

    assert rows(archive, "SELECT exposed_edtf, exposed_words, lens_id, fate FROM sheet") == [
        ("1978~", "c. 1978", lens, "exposed")
    ]
    assert rows(archive, "SELECT sheet_id, text, folded, scheme, written_on FROM sheet_number") == [
        (sheet, "78-14", "78-14", "yearly", "sleeve")
    ]
    assert rows(
        archive,
        "SELECT sv.sheet_id, vs.building_id, vs.elevation, vs.certainty, vs.is_principal"
        " FROM sheet_view sv JOIN view_subject vs USING (view_id)",
    ) == [(sheet, mill, "E", "certain", 1)]


def test_numbers_may_collide_and_the_daybook_says_with_which_sheet(archive):
    first, heard = a_sheet(archive, "78-14"), Listener()

    add_sheet(archive, numbers=[Number("78-14", "box")], desk=Desk(say=heard))

    assert f"78-14 (box) [also S{first}]" in heard.heard[0]


def test_the_same_number_in_the_same_place_is_refused_and_elsewhere_is_not(archive):
    sheet = a_sheet(archive, "78-14")

    add_number(archive, sheet, Number("78-14", "yearly", "docket"))
    with pytest.raises(RefusedError, match="has the number 78-14 already"):
        add_number(archive, sheet, Number("78-14", "yearly"))
    with pytest.raises(RefusedError, match="cannot be empty"):
        add_number(archive, sheet, Number("  "))


def test_a_number_is_corrected_and_found_by_its_new_text(archive):
    sheet = a_sheet(archive, "78-14")
    number = rows(archive, "SELECT id FROM sheet_number")[0]

    correct_number(archive, sheet, number, text="78-14 A")

    assert rows(archive, "SELECT text, folded, scheme FROM sheet_number") == [("78-14 A", "78-14 a", "yearly")]
    assert rows(archive, "SELECT text FROM search_entry WHERE record_table = 'sheet'") == ["78-14 A"]


def test_a_doubtful_lens_is_kept_with_its_wording(archive):
    lens = a_lens(archive)

    sheet = a_sheet(archive, lens_id=lens, wordings={"lens": parse_doubt("90?")})

    assert rows(archive, "SELECT about, about_id, field, as_written, certainty FROM wording") == [
        ("sheet", sheet, "lens", "90?", "possible")
    ]


def test_a_choice_of_lenses_is_no_lens_but_its_alternatives(archive):
    a_sheet(archive, lens_id=None, wordings={"lens": parse_doubt("90 or 120")})

    assert rows(archive, "SELECT lens_id FROM sheet") == [None]
    assert rows(archive, "SELECT as_written, alternatives FROM wording") == [("90 or 120", '["90", "120"]')]


def test_a_better_date_keeps_the_doubtful_one_and_who_says_better(archive):
    sheet, keeper = a_sheet(archive, date="c. 1978"), add_person(archive, name="I. Harrow")

    correct_sheet(archive, sheet, exposed=dated("June 1979"), said_by=SaidBy(person_id=keeper))

    assert rows(archive, "SELECT exposed_edtf, exposed_words FROM sheet") == [("1979-06", "June 1979")]
    assert rows(archive, "SELECT field, as_written, certainty, said_by_id FROM wording ORDER BY id") == [
        ("exposed", "c. 1978", "probable", None),
        ("exposed", "June 1979", "certain", keeper),
    ]


def test_words_that_gave_no_date_are_kept_when_one_is_found(archive):
    sheet = a_sheet(archive, date="n.d.")

    correct_sheet(archive, sheet, exposed=dated("1979"))

    assert rows(archive, "SELECT as_written FROM wording ORDER BY id") == ["n.d.", "1979"]


def test_saying_plainly_what_was_in_doubt_settles_it(archive):
    lens = a_lens(archive)
    sheet = a_sheet(archive, lens_id=lens, wordings={"lens": parse_doubt("90?")})

    correct_sheet(archive, sheet, lens_id=lens)

    assert rows(archive, "SELECT as_written, certainty FROM wording ORDER BY id") == [
        ("90?", "possible"),
        ("90 mm", "certain"),
    ]
    with pytest.raises(RefusedError, match="says so already"):
        correct_sheet(archive, sheet, lens_id=lens)


def test_a_correction_may_bring_doubt_to_a_plain_fact(archive):
    lens = a_lens(archive)
    sheet = a_sheet(archive, lens_id=lens)

    correct_sheet(archive, sheet, lens_id=lens, wordings={"lens": parse_doubt("90?")})

    assert rows(archive, "SELECT as_written, certainty FROM wording") == [("90?", "possible")]


def test_a_fact_is_taken_away_when_nothing_is_given_for_it(archive):
    sheet = a_sheet(archive, box="4", date="1978")

    correct_sheet(archive, sheet, box=None, exposed=None)

    assert rows(archive, "SELECT box, exposed_edtf, exposed_doubt FROM sheet") == [(None, None, "")]


def test_film_lost_at_the_lab_is_told_with_date_and_docket(archive):
    # Case J18: the job went out, and not all of it came back.
    lab = add_person(archive, name="Cray Laboratory", kind="firm", role="lab")
    sheet = a_sheet(archive, fate="with lab", lab_id=lab, docket="5512", fate_date=dated("1979-06-04"))

    correct_sheet(archive, sheet, fate="lost at lab", fate_date=dated("Aug 1979?"))

    assert rows(archive, "SELECT fate, fate_date_edtf, docket, lab_id FROM sheet") == [
        ("lost at lab", "1979-08?", "5512", lab)
    ]


def test_a_blank_sheet_holds_no_view(archive):
    mill = a_mill(archive)
    view = add_view(archive, shows=[Shown(building_id=mill)])
    blank, held = a_sheet(archive, "1", fate="blank"), a_sheet(archive, "2", shows=mill)

    with pytest.raises(RefusedError, match="blank"):
        add_sheet_view(archive, blank, view)
    with pytest.raises(RefusedError, match="blank"):
        a_sheet(archive, "3", fate="blank", shows=mill)
    with pytest.raises(RefusedError, match="not blank"):
        correct_sheet(archive, held, fate="blank")


def test_a_double_exposure_holds_two_views_and_a_bracket_shares_one(archive):
    mill, hall = a_mill(archive), a_mill(archive, "Brome Hall")
    first = a_sheet(archive, "1", fate="doubly exposed", shows=mill)
    other = add_view(archive, shows=[Shown(building_id=hall)])

    add_sheet_view(archive, first, other)
    add_sheet(archive, numbers=[Number("2")], view_ids=[other])

    assert rows(archive, "SELECT sheet_id, view_id FROM sheet_view ORDER BY id") == [(1, 1), (1, 2), (2, 2)]
    with pytest.raises(RefusedError, match="holds V2 already"):
        add_sheet_view(archive, first, other)


def test_a_sheet_is_no_copy_of_itself(archive):
    sheet = a_sheet(archive)

    with pytest.raises(RefusedError, match="its own copy"):
        correct_sheet(archive, sheet, copied_from_id=sheet)


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"fate": "eaten"}, "fate 'eaten' is none of"),
        ({"medium": "wax"}, "medium 'wax' is none of"),
        ({"aperture_f": 0.0}, "aperture"),
        ({"extension_mm": float("inf")}, "no measure"),
    ],
)
def test_a_fact_that_cannot_be_is_refused_and_nothing_is_kept(archive, facts, said):
    with pytest.raises(RefusedError, match=said):
        a_sheet(archive, **facts)

    assert rows(archive, "SELECT count(*) FROM sheet") == [0]


@pytest.mark.parametrize(
    ("field", "reference"),
    [("lens_id", "K9"), ("film_id", "K9"), ("lab_id", "N9"), ("roll_id", "O9"), ("copied_from_id", "S9")],
)
def test_a_record_that_is_not_there_is_named(archive, field, reference):
    with pytest.raises(NotFoundError, match=reference):
        a_sheet(archive, **{field: 9})
