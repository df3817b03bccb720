"""A first mapping: what columns are, and what a person should be asked."""

from __future__ import annotations

import pytest

from catalog.errors import IntakeError
from catalog.intake.cards import read_card_file
from catalog.intake.guess import guess_mapping
from catalog.intake.mapping import format_mapping, parse_mapping
from catalog.intake.tables import read_table
from tests.intake.card_files import SAMPLE, THE_VALLEY


def guessed(folder, text, known=THE_VALLEY):
    path = folder / "cards.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return guess_mapping(read_table(path), known)


def fields(mapping):
    return {heading: use.field for heading, use in mapping.columns.items()}


@pytest.mark.parametrize("name", ["cards.csv", "cards.xlsx"])
def test_the_columns_of_the_sample_are_told(name):
    mapping, questions = guess_mapping(read_table(SAMPLE / name), THE_VALLEY)

    assert fields(mapping) == {
        "Neg. no": "number", "Box": "box", "Village": "village", "Building": "building", "Side": "elevation",
        "Date": "date", "Lens": "lens", "Film": "film", "Taken from": "taken_from", "Lab docket": "docket",
        "Status": "fate", "Remarks": "remarks", "Tk.": "note",
    }  # fmt: skip
    assert mapping.columns["Village"].carry
    assert not mapping.columns["Building"].carry
    assert mapping.heading_row == 4
    assert "##-##" in mapping.number_patterns
    assert mapping.century is None
    assert any("century" in question for question in questions)


def test_the_guess_can_be_used_as_it_is_written():
    table = read_table(SAMPLE / "cards.csv")
    mapping, questions = guess_mapping(table, THE_VALLEY)

    file = read_card_file(SAMPLE / "cards.csv", parse_mapping(format_mapping(mapping, questions)), THE_VALLEY)

    assert len(file.cards) == 61


def test_columns_with_headings_of_no_help_are_told_by_their_look_and_asked_about(tmp_path):
    rows = [f"78-{n:02},Osk,Osk Mill,N,{n} Aug 1978,150,f/22,1/60" for n in range(1, 20)]

    mapping, questions = guessed(tmp_path, "\n".join(["Number,b,c,d,When,f2,g,h", *rows]))

    assert fields(mapping) == {
        "Number": "number", "b": "village", "c": "building", "d": "elevation", "When": "date", "f2": "lens",
        "g": "aperture", "h": "shutter",
    }  # fmt: skip
    assert sum("looks like" in question for question in questions) == 6


def test_two_villages_of_one_name_are_asked_about(tmp_path):
    mapping, questions = guessed(tmp_path, "Neg no,Village\n78-14,Priors Lode\n78-15,Osk\n")

    assert any(
        "'Priors Lode' is several: Priors Lode (L7, Wennshire) or Priors Lode (L8, Crayshire)" in q for q in questions
    )
    assert mapping.places == {"Priors Lode": ""}


def test_a_name_nearly_known_is_asked_about_and_not_taken(tmp_path):
    mapping, questions = guessed(tmp_path, "Neg no,Village,Building\n78-14,Osk,Osk Mil\n")

    assert any("'Osk Mil' (1 card) is not known. Is it Osk Mill (B1, Osk)?" in question for question in questions)
    assert mapping.buildings == {"Osk Mil": ""}


def test_names_far_from_all_known_are_listed(tmp_path):
    _, questions = guessed(tmp_path, "Neg no,Village\n78-14,Cray Bridge\n")

    assert "places not known, to be added unless settled here: Cray Bridge." in questions


def test_a_table_without_a_number_asks_for_it(tmp_path):
    _, questions = guessed(tmp_path, "Village,Remarks\nOsk,x\nOsk,y\n")

    assert any("no column looks like the number" in question for question in questions)


def test_without_headings_nothing_is_guessed(tmp_path):
    with pytest.raises(IntakeError, match="no headings"):
        guessed(tmp_path, "78-14,Osk\n78-15,Osk\n")
