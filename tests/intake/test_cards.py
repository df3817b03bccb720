"""Rows become cards: doubt is kept, troubles are named, nothing is lost."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.intake.cards import harmless, read_card_file, read_cards, unreadable_rows_csv
from catalog.intake.known import Known
from catalog.intake.mapping import parse_mapping, read_mapping
from catalog.intake.proposals import CardNote, CardNumber, Doubt, Subject
from catalog.intake.tables import Row, Table
from tests.intake.card_files import (
    COLUMNS,
    SAMPLE,
    THE_VALLEY,
    a_building,
    a_place,
    read_text,
    sample_known,
    the_card,
    workbook,
)

CENTURY = "[dates]\ncentury = 1900\n"


def troubles(card):
    return [str(trouble) for trouble in card.troubles]


def sides(card):
    return [
        (subject.named.reference, subject.elevation, subject.certainty, subject.is_principal)
        for subject in card.subjects
    ]


# --- numbers


def test_a_number_is_text_as_it_stands(tmp_path):
    card = the_card(tmp_path, "0078,Osk", headings="Neg,Village")

    assert card.numbers == (CardNumber("0078"),)


def test_what_stands_in_brackets_behind_a_number_is_a_note(tmp_path):
    card = the_card(tmp_path, "85-14 (sold),Osk", headings="Neg,Village")

    assert card.numbers == (CardNumber("85-14"),)
    assert CardNote("Neg", "(sold)") in card.notes


@pytest.mark.parametrize(
    "cell", ["78-14; 78-15", "78-14 & 78-15", '"78-14, 78-15"', "78-14 and 78-15", '"78-14\n78-15"']
)
def test_several_numbers_in_a_cell_are_all_kept(tmp_path, cell):
    card = the_card(tmp_path, f"{cell},Osk", headings="Neg,Village")

    assert [number.text for number in card.numbers] == ["78-14", "78-15"]


def test_a_doubtful_number_keeps_its_doubt(tmp_path):
    card = the_card(tmp_path, "78-14?,Osk", headings="Neg,Village")

    assert card.numbers == (CardNumber("78-14"),)
    assert card.doubts == (Doubt("number", "78-14?", "possible"),)


def test_a_number_that_may_be_either_is_left_open(tmp_path):
    card = the_card(tmp_path, "78-14 or 78-41,Osk", headings="Neg,Village")

    assert card.numbers == ()
    assert card.doubts[0].alternatives == ("78-14", "78-41")


@pytest.mark.parametrize("cell", ["n.n.", "-", "?", "none"])
def test_a_card_without_a_number_is_still_a_card(tmp_path, cell):
    card = the_card(tmp_path, f"{cell},Osk", headings="Neg,Village")

    assert card.numbers == ()
    assert card.village.reference == "L2"


def test_numbers_carry_the_scheme_of_their_column_or_their_row(tmp_path):
    more = '"Box no" = {field = "old_number", scheme = "box"}\n"Series" = "scheme"\n'
    more += '[numbers]\nscheme = "yearly"\n'
    file = read_text(tmp_path, "Neg,Box no,Series,Village\n78-14,3/14,,Osk\n78-14,,box,Osk\n", more)

    assert file.cards[0].numbers == (CardNumber("78-14", "yearly"), CardNumber("3/14", "box", is_old=True))
    assert file.cards[1].numbers == (CardNumber("78-14", "box"),)
    assert [card.key for card in file.cards] == ["yearly:78-14", "box:78-14"]


def test_a_number_unlike_the_others_is_kept_and_pointed_out(tmp_path):
    card = the_card(tmp_path, "7814,Osk", '[numbers]\npatterns = ["##-##", "X#"]\n', headings="Neg,Village")

    assert card.numbers == (CardNumber("7814"),)
    assert troubles(card) == ["row 2, \"Neg\": '7814' does not look like ##-## or X#. It is kept as it stands."]


def test_a_number_the_spreadsheet_took_for_a_date_is_asked_about(tmp_path):
    # Typing 78-12 into a spreadsheet gives December 1978.
    path = tmp_path / "cards.xlsx"
    workbook(path, [["Neg", "Village"], [date(1978, 12, 1), "Osk"]], formats={"A2": "mmm-yy"})

    card = read_card_file(path, parse_mapping(COLUMNS), THE_VALLEY).cards[0]

    assert card.numbers == ()
    assert "78-12" in card.doubts[0].alternatives
    assert "the spreadsheet took the number for one" in troubles(card)[0]
    assert CardNote("Neg", "Dec-78") in card.notes


def test_one_number_on_two_different_cards_is_reported_and_both_are_kept(tmp_path):
    file = read_text(tmp_path, "Neg,Village,Date\n78-14,Osk,1978\n78-14,Wennmouth,1991\n")

    assert [card.key for card in file.cards] == ["78-14", "78-14#2"]
    assert "stands in row 2 as well, and the two differ (Village, Date)" in troubles(file.cards[1])[0]
    assert file.cards[1].repeats is None


def test_a_row_typed_twice_is_known_as_a_repeat(tmp_path):
    file = read_text(tmp_path, "Neg,Village,Date\n78-14,Osk,1978\n78-15,Osk,1978\n78-14,Osk,1978\n")

    assert [card.repeats for card in file.cards] == [None, None, 2]
    assert file.cards[2].troubles == ()


# --- names


@pytest.mark.parametrize(
    ("village", "reference"),
    [
        ("Osk", "L2"),
        ("OSK", "L2"),
        ("Oske", "L2"),
        ("Osk St. Mary", "L2"),
        ("  Tarn   End", "L3"),
        ("Priors Lode by Cray", "L8"),
    ],
)
def test_a_village_is_known_by_every_name_it_had(tmp_path, village, reference):
    card = the_card(tmp_path, f"78-14,{village}", headings="Neg,Village")

    assert card.village.reference == reference


def test_a_village_that_is_not_known_stays_words(tmp_path):
    file = read_text(tmp_path, "Neg,Village\n78-14,Upper Cray\n78-15,Upper Cray\n")

    assert (file.cards[0].village.reference, file.cards[0].village.name) == (None, "Upper Cray")
    assert [(one.kind, one.name, one.cards) for one in file.unknown_names] == [("place", "Upper Cray", 2)]
    assert file.cards[0].troubles == ()


def test_a_name_that_is_nearly_a_known_one_is_never_taken_for_it(tmp_path):
    file = read_text(tmp_path, "Neg,Village,Building\n78-14,Osk,Osk Mil\n")

    subject = file.cards[0].subjects[0]
    assert subject.named.reference is None
    assert "nearly Osk Mill (B1)" in troubles(file.cards[0])[0]
    assert file.unknown_names[0].near == (("B1", "Osk Mill"),)


def test_two_villages_of_one_name_are_asked_about(tmp_path):
    card = the_card(tmp_path, "78-14,Priors Lode", headings="Neg,Village")

    assert card.village.reference is None
    assert "Priors Lode (L7, Wennshire); Priors Lode (L8, Crayshire)" in troubles(card)[0]
    assert "[places]" in troubles(card)[0]


@pytest.mark.parametrize("answer", ["L7", "l7", "Priors Lode, Wennshire"])
def test_the_mapping_file_settles_which_village_is_meant(tmp_path, answer):
    card = the_card(tmp_path, "78-14,Priors Lode", f'[places]\n"Priors Lode" = "{answer}"\n', headings="Neg,Village")

    assert card.village.reference == "L7"
    assert card.troubles == ()


def test_an_answer_of_nothing_keeps_the_words(tmp_path):
    card = the_card(tmp_path, "78-14,Priors Lode", '[places]\n"Priors Lode" = ""\n', headings="Neg,Village")

    assert (card.village.reference, card.village.name, card.troubles) == (None, "Priors Lode", ())


def test_a_building_that_stands_in_one_of_two_villages_tells_which(tmp_path):
    card = the_card(tmp_path, "78-14,Priors Lode,Granary", headings="Neg,Village,Building")

    assert (card.village.reference, card.subjects[0].named.reference) == ("L7", "B4")
    assert card.troubles == ()


def test_a_doubtful_building_does_not_tell_which_village_is_meant(tmp_path):
    card = the_card(tmp_path, "78-14,Priors Lode,Granary?", headings="Neg,Village,Building")

    assert card.village.reference is None


def test_a_building_in_a_village_it_never_stood_in_is_inconsistent(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,Brome Hall", headings="Neg,Village,Building")

    assert card.troubles[0].kind == "inconsistent"
    assert troubles(card)[0].startswith(
        "row 2, \"Building\": 'Brome Hall' is Brome Hall (B2), which stands in Nether Brome (L4), not in Osk (L2)"
    )


@pytest.mark.parametrize("village", ["Low Halding", "Halding"])
def test_a_building_that_was_moved_belongs_to_each_of_its_villages(tmp_path, village):
    card = the_card(tmp_path, f"78-14,{village},Weigh-house", headings="Neg,Village,Building")

    assert (card.subjects[0].named.reference, card.troubles) == ("B3", ())


def test_a_building_of_a_hamlet_is_in_the_parish_too(tmp_path):
    assert the_card(tmp_path, "78-14,Osk,Tarn End Mill", headings="Neg,Village,Building").troubles == ()


def test_a_building_named_without_its_village_is_found_in_it(tmp_path):
    assert the_card(tmp_path, "78-14,Osk,Mill", headings="Neg,Village,Building").subjects[0].named.reference == "B1"


def test_abbreviations_of_the_mapping_file_are_spelled_out_and_what_was_written_is_kept(tmp_path):
    more = '[abbreviations.words]\n"T. End" = "Tarn End"\n"Fy." = "Ferry"\n'
    file = read_text(tmp_path, "Neg,Village,Building\n1,Wennmouth,Wennmouth Fy. Ho.\n2,T. End,T. End Mill\n", more)

    named = [card.subjects[0].named for card in file.cards]
    assert [(one.reference, one.name, one.written) for one in named] == [
        ("B5", "Wennmouth Ferry House", "Wennmouth Fy. Ho."), ("B6", "Tarn End Mill", "T. End Mill"),
    ]  # fmt: skip


def test_a_card_without_a_building_shows_its_village(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,", headings="Neg,Village,Building")

    assert card.subjects == (Subject(card.village, is_place=True, is_principal=True),)


def test_names_of_places_that_belong_to_each_other_in_a_ring_end(tmp_path):
    ring = Known(
        (a_place("L1", "Osk", parents=["L2"]), a_place("L2", "Brome", parents=["L1"])),
        (a_building("B1", "Mill", sites=["L9"]),),
    )

    assert (
        "which stands in L9"
        in troubles(the_card(tmp_path, "1,Osk,Mill", headings="Neg,Village,Building", known=ring))[0]
    )


# --- doubt


@pytest.mark.parametrize(
    ("cell", "certainty"),
    [
        ("Osk Mill?", "possible"),
        ("prob. Osk Mill", "probable"),
        ("probably Osk Mill", "probable"),
        ("Osk Mill (?)", "possible"),
        ("perhaps Osk Mill", "possible"),
    ],
)
def test_a_doubtful_building_keeps_its_doubt(tmp_path, cell, certainty):
    card = the_card(tmp_path, f"78-14,Osk,{cell}", headings="Neg,Village,Building")

    assert (card.subjects[0].named.reference, card.subjects[0].certainty) == ("B1", certainty)
    assert Doubt("building", cell, certainty) in card.doubts


def test_one_building_or_another_is_two_possible_subjects_and_neither_is_principal(tmp_path):
    card = the_card(tmp_path, "78-14,,Osk Mill or Brome Hall", headings="Neg,Village,Building")

    assert sides(card) == [("B1", None, "possible", False), ("B2", None, "possible", False)]
    assert card.doubts == (Doubt("building", "Osk Mill or Brome Hall", "possible", ("Osk Mill", "Brome Hall")),)


def test_a_side_in_doubt_leaves_the_building_certain(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,Osk Mill,N or NE", headings="Neg,Village,Building,Side")

    assert sides(card) == [
        ("B1", None, "certain", True),
        ("B1", "N", "possible", False),
        ("B1", "NE", "possible", False),
    ]
    assert Doubt("elevation", "N or NE", "possible", ("N", "NE")) in card.doubts


def test_two_sides_are_both_shown(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,Osk Mill,N & E", headings="Neg,Village,Building,Side")

    assert sides(card) == [("B1", "N", "certain", True), ("B1", "E", "certain", False)]


def test_a_double_exposure_shows_two_buildings_each_with_its_side(tmp_path):
    card = the_card(tmp_path, "78-14,,Osk Mill; Brome Hall,N; E", headings="Neg,Village,Building,Side")

    assert sides(card) == [("B1", "N", "certain", True), ("B2", "E", "certain", False)]


@pytest.mark.parametrize(("cell", "part"), [("int.", "interior"), ("det.", "detail"), ("interior", "interior")])
def test_a_part_in_the_column_of_sides_is_understood(tmp_path, cell, part):
    card = the_card(tmp_path, f"78-14,Osk,Osk Mill,{cell}", headings="Neg,Village,Building,Side")

    assert (card.subjects[0].part, card.subjects[0].elevation) == (part, None)


def test_a_side_that_is_none_is_kept_as_a_note_and_named(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,Osk Mill,riverside", headings="Neg,Village,Building,Side")

    assert CardNote("elevation", "riverside") in card.notes
    assert "is no point of the compass" in troubles(card)[0]


def test_a_village_in_doubt_stays_in_doubt(tmp_path):
    file = read_text(tmp_path, "Neg,Village\n1,Osk?\n2,Osk or Tarn End\n")

    one, two = file.cards
    assert (one.subjects[0].certainty, one.village.reference) == ("possible", "L2")
    assert two.village.reference is None
    assert [(s.named.reference, s.certainty) for s in two.subjects] == [
        ("L2", "possible"),
        ("L3", "possible"),
    ]


@pytest.mark.parametrize(
    ("cell", "lens", "alternatives"),
    [
        ("90", 90, ()),
        ("90 mm", 90, ()),
        ("15cm", 150, ()),
        ("90?", 90, ()),
        ("90 or 120", None, ("90", "120")),
        ("90/120", None, ("90", "120")),
        ("?", None, ()),
    ],
)
def test_a_lens_is_read_and_its_doubt_kept(tmp_path, cell, lens, alternatives):
    card = the_card(tmp_path, f"78-14,Osk,{cell}", headings="Neg,Village,Lens")

    assert card.facts.get("lens") == lens
    doubts = [doubt for doubt in card.doubts if doubt.field == "lens"]
    assert bool(doubts) == (not cell[-1].isalnum() or lens is None)
    assert [doubt.alternatives for doubt in doubts if doubt.alternatives] == ([alternatives] if alternatives else [])


def test_a_lens_nobody_had_is_pointed_out(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,900", '[lenses]\n90 = 90\n"W.A." = 90\n', headings="Neg,Village,Lens")

    assert troubles(card) == [
        "row 2, \"Lens\": '900' is none of the lenses in the mapping file (90). It is kept; look at the card."
    ]


@pytest.mark.parametrize(
    ("cell", "seconds"),
    [
        ("1/60", 1 / 60),
        ("1/2 s", 0.5),
        ("2s", 2),
        ("2 sec.", 2),
        ("1 min", 60),
        ("0.5", 0.5),
        ("60", None),
        ("B", None),
        ("0", None),
        ("1/0", None),
    ],
)
def test_an_exposure_time_is_read_and_a_bare_number_is_not_guessed_at(tmp_path, cell, seconds):
    card = the_card(tmp_path, f"78-14,Osk,{cell}", headings="Neg,Village,Exp")

    assert card.facts.get("shutter") == (pytest.approx(seconds) if seconds else None)
    assert seconds or CardNote("Exp", cell) in card.notes or card.doubts[0].alternatives == ("1/60 s", "60 s")


def test_a_bare_exposure_is_settled_by_the_mapping_file(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,60", '[shutter]\nbare = "fraction"\n', headings="Neg,Village,Exp")

    assert card.facts["shutter"] == pytest.approx(1 / 60)


@pytest.mark.parametrize(
    ("cell", "stop"), [("f/22", 22), ("22", 22), ("F 5.6", 5.6), ("f/16-22", None), ("wide open", None)]
)
def test_an_aperture_is_read_or_its_words_are_kept(tmp_path, cell, stop):
    card = the_card(tmp_path, f"78-14,Osk,{cell}", headings="Neg,Village,Stop")

    assert card.facts.get("aperture") == stop
    assert stop or card.doubts or card.notes


@pytest.mark.parametrize(
    ("cell", "fate"),
    [
        ("blank", "blank"),
        ("dbl exp", "doubly exposed"),
        ("Not returned", "not returned"),
        ("lost at lab", "lost at lab"),
        ("eaten by mice", None),
    ],
)
def test_the_fate_of_a_sheet_is_read_by_the_table(tmp_path, cell, fate):
    card = the_card(tmp_path, f"78-14,Osk,{cell}", headings="Neg,Village,Fate")

    assert card.facts.get("fate") == fate
    assert fate or CardNote("Fate", cell) in card.notes


def test_a_doubtful_film_keeps_its_doubt(tmp_path):
    card = the_card(
        tmp_path,
        "78-14,Osk,Pan 100?",
        '[abbreviations.words]\n"Pan 100" = "Ostrane Pan 100"\n',
        headings="Neg,Village,Film",
    )

    assert card.facts["film"] == "Ostrane Pan 100"
    assert card.doubts == (Doubt("film", "Pan 100?", "possible"),)


# --- dates: the forms themselves are tested with catalog.dates


@pytest.mark.parametrize(
    ("cell", "edtf"),
    [
        ("c. 1978", "1978~"),
        ("Aug 79?", "1979-08?"),
        ("summer 82", "1982-22"),
        ("78 or 79", "[1978,1979]"),
        ("n.d.", None),
        ("14/6/1987", "1987-06-14"),
    ],
)
def test_a_date_is_read_with_its_doubt_and_its_words_are_kept(tmp_path, cell, edtf):
    card = the_card(tmp_path, f"78-14,Osk,{cell}", CENTURY, headings="Neg,Village,Date")

    assert (card.exposed.text if card.exposed else None) == edtf
    assert card.exposed_words == cell
    assert card.troubles == ()


def test_a_date_that_cannot_be_right_is_named_and_its_words_kept(tmp_path):
    card = the_card(tmp_path, "82-19,Osk,31/4/1982", headings="Neg,Village,Date")

    assert (card.exposed, card.exposed_words) == (None, "31/4/1982")
    assert troubles(card)[0].startswith("row 2, \"Date\": '31/4/1982', but April has 30 days.")


def test_d06_a_date_of_two_meanings_is_asked_about_and_can_be_settled(tmp_path):
    asked = the_card(tmp_path, "78-14,Osk,1978-9", headings="Neg,Village,Date")
    settled = the_card(
        tmp_path,
        "78-14,Osk,1978-9",
        '[dates.readings]\n"1978-9" = "1978/1979"\n',
        headings="Neg,Village,Date",
    )

    assert asked.exposed is None
    assert {"1978-09", "1978/1979"} <= set(asked.doubts[0].alternatives) | {"1978/1979"}
    assert "[dates.readings]" in troubles(asked)[0]
    assert (settled.exposed.text, settled.exposed_words) == ("1978/1979", "1978-9")


@pytest.mark.parametrize(("order", "edtf"), [("dmy", "1979-12-10"), ("mdy", "1979-10-12")])
def test_the_order_of_day_and_month_is_never_guessed_but_may_be_stated(tmp_path, order, edtf):
    asked = the_card(tmp_path, "78-14,Osk,10/12/1979", headings="Neg,Village,Date")
    stated = the_card(
        tmp_path, "78-14,Osk,10/12/1979", f'[dates]\nday_order = "{order}"\n', headings="Neg,Village,Date"
    )

    assert asked.exposed is None
    assert "day_order" in troubles(asked)[0]
    assert stated.exposed.text == edtf


def test_a_date_cell_counts_only_as_far_as_it_shows(tmp_path):
    path = tmp_path / "cards.xlsx"
    rows = [["Neg", "Village", "Date"], *([n, "Osk", date(1979, 8, 1)] for n in ("1", "2", "3"))]
    workbook(path, rows, formats={"C2": "mmm yy", "C3": "d mmm", "C4": "d/m/yyyy"})

    cards = read_card_file(path, parse_mapping(COLUMNS), THE_VALLEY).cards

    assert [card.exposed.text if card.exposed else None for card in cards] == ["1979-08", None, "1979-08-01"]
    assert "the spreadsheet added 1979" in troubles(cards[1])[0]


def test_a_date_left_as_a_bare_number_is_explained(tmp_path):
    path = tmp_path / "cards.xlsx"
    workbook(path, [["Neg", "Village", "Date"], ["1", "Osk", 29068]])

    card = read_card_file(path, parse_mapping(COLUMNS), THE_VALLEY).cards[0]

    assert card.exposed is None
    assert "1979-08-01" in troubles(card)[0]


# --- nothing is lost


def test_columns_nobody_described_are_kept_as_notes(tmp_path):
    card = the_card(tmp_path, "78-14,Osk,//,fine light,over", headings="Neg,Village,Tk.,Weather")

    assert card.notes == (
        CardNote("Tk.", "//"),
        CardNote("Weather", "fine light"),
        CardNote("column E", "over"),
    )


def test_a_column_the_file_lacks_is_remarked(tmp_path):
    file = read_text(tmp_path, "Neg,Village\n78-14,Osk\n")

    assert "the mapping file has a column 'Lens' that this file has not." in file.remarks


def test_one_bad_row_stops_no_other(tmp_path):
    file = read_text(
        tmp_path,
        "Neg,Village,Date,Lens\n78-14,Osk,1978,90\n,,,90\n78-16,Osk,31/4/1982,90\n78-17,Osk,1979,90\n",
    )

    assert [card.row for card in file.cards] == [2, 4, 5]
    assert [row.row for row in file.unreadable] == [3]
    assert "nothing to make a sheet of" in file.unreadable[0].reasons[-1]


def test_rows_that_cannot_be_read_are_written_with_the_reason_and_without_formulas(tmp_path):
    file = read_text(tmp_path, 'Neg,Village,Lens,Remarks\n,,90,"=HYPERLINK(""http://x"")"\n78-14,Osk,,\n')

    written = unreadable_rows_csv(file.unreadable, file.headings)

    assert written.splitlines()[0] == "row,reason,Neg,Village,Lens,Remarks"
    assert written.splitlines()[1].startswith("2,")
    assert ",90,\"'=HYPERLINK(" in written


@pytest.mark.parametrize("text", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "|calc", "%0a"])
def test_what_a_spreadsheet_would_run_is_made_harmless(text):
    assert harmless(text) == "'" + text


def test_a_digest_stays_with_what_a_row_says(tmp_path):
    before = read_text(tmp_path, "Neg,Village,Lens\n78-14,Osk,90\n78-15,,90\n").cards
    moved = read_text(tmp_path, "a title,,,\nNeg,Lens,New,Village\n78-14,90,,Osk\n78-15,90,,\n").cards
    edited = read_text(tmp_path, "Neg,Village,Lens\n78-14,Osk,90\n78-15,,120\n").cards

    assert [card.digest for card in moved] == [card.digest for card in before]
    assert edited[0].digest == before[0].digest
    assert edited[1].digest != before[1].digest
    assert [card.key for card in edited] == [card.key for card in before]


def test_a_village_corrected_at_the_head_of_a_block_changes_every_row_of_it(tmp_path):
    before = read_text(tmp_path, "Neg,Village\n78-14,Osk\n78-15,\n").cards
    after = read_text(tmp_path, "Neg,Village\n78-14,Tarn End\n78-15,\n").cards

    assert before[1].digest != after[1].digest


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(*[st.text(st.characters(blacklist_categories=("Cs",)), max_size=14) for _ in range(9)]),
        min_size=1,
        max_size=6,
    )
)
def test_whatever_stands_in_the_cells_no_row_vanishes_and_none_stops_the_others(lines):
    headings = ("Neg", "Village", "Building", "Side", "Date", "Lens", "Exp", "Stop", "Remarks")
    rows = [Row(1, headings)]
    for number, line in enumerate(lines, 2):
        rows.append(Row(number, tuple(text.strip() for text in line)))
    table = Table(name="cards.csv", kind="csv", sha256="", rows=tuple(row for row in rows if any(row.texts)))

    file = read_cards(table, parse_mapping(COLUMNS), THE_VALLEY)

    seen = (
        [card.row for card in file.cards] + [row.row for row in file.unreadable] + [skip.row for skip in file.skipped]
    )
    assert sorted(seen) == [row.number for row in table.rows]
    for card in file.cards:
        said = {text for row in table.rows if row.number == card.row for text in row.texts if text}
        assert set(card.cells.values()) == said


# --- the sample archive's own card index


@pytest.mark.parametrize("name", ["cards.csv", "cards.xlsx"])
def test_the_sample_card_index_is_understood_but_for_the_row_that_cannot_be_right(name):
    file = read_card_file(SAMPLE / name, read_mapping(SAMPLE / "cards.toml"), sample_known())

    assert file.unreadable == ()
    assert len(file.cards) == 61
    assert {trouble.row for card in file.cards for trouble in card.troubles if trouble.field == "date"} == {44}
    numbers = [number.text for card in file.cards for number in card.numbers]
    assert numbers.count("78-14") == 2
    assert "08-11" in numbers
    assert {str(card.facts.get("docket")) for card in file.cards} >= {"000118", "000790"}
    assert {skip.kind for skip in file.skipped} >= {"title", "headings", "headings again", "blank"}


def test_the_sample_says_the_same_as_a_text_and_as_a_workbook():
    mapping, known = read_mapping(SAMPLE / "cards.toml"), sample_known()

    text = read_card_file(SAMPLE / "cards.csv", mapping, known)
    book = read_card_file(SAMPLE / "cards.xlsx", mapping, known)

    assert [card.digest for card in text.cards] == [card.digest for card in book.cards]
