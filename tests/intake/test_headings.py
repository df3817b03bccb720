"""Headings, blocks, ditto marks and what is carried down. Cases E08 and E11."""

from __future__ import annotations

import pytest

from catalog.errors import IntakeError
from catalog.intake.headings import lay_out
from catalog.intake.tables import read_table
from tests.intake.card_files import read_text


def laid_out(folder, text, **more):
    path = folder / "cards.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return lay_out(read_table(path), **more)


def skipped(file):
    return [(skip.row, skip.kind) for skip in file.skipped]


def villages(file):
    return [card.village.name if card.village else None for card in file.cards]


def test_e11_headings_are_found_below_titles_and_again_in_the_middle(tmp_path):
    rows = ["THORNWICK NEGATIVES,,", "typed 2003,,", ",,", "Neg,Village,Remarks"]
    rows += [f"78-{number:02},Osk," for number in range(1, 36)]
    rows += ["Neg,Village,Remarks", "79-01,Osk,", "", "79-02,Osk,"]

    file = read_text(tmp_path, "\n".join(rows))

    assert file.heading_row == 4
    assert len(file.cards) == 37
    assert skipped(file) == [
        (1, "title"), (2, "title"), (3, "blank"), (4, "headings"), (40, "headings again"), (42, "blank"),
    ]  # fmt: skip
    assert file.cards[-1].row == 43


def test_the_heading_row_can_be_named(tmp_path):
    layout = laid_out(tmp_path, "a,b\nNeg,Village\n78-14,Osk\n", heading_row=1)

    assert layout.headings == ("a", "b")
    with pytest.raises(IntakeError, match="row 9 should hold the headings"):
        laid_out(tmp_path, "a,b\nNeg,Village\n", heading_row=9)


def test_a_table_without_headings_is_refused_with_what_to_do(tmp_path):
    with pytest.raises(IntakeError, match="heading_row"):
        laid_out(tmp_path, "78-14,Osk\n78-15,Osk\n")
    with pytest.raises(IntakeError, match=r"\[columns\]"):
        read_text(tmp_path, "Negative,Ort\n78-14,Osk\n")


def test_columns_without_a_heading_or_with_the_same_one_keep_apart(tmp_path):
    layout = laid_out(tmp_path, "Neg,Remarks,,Remarks\n78-14,a,b,c,d\n")

    assert layout.headings == ("Neg", "Remarks", "column C", "Remarks (D)", "column E")


@pytest.mark.parametrize("mark", ['""""', "''", "〃", "do.", "Do.", "ditto", "DITTO", '"-""-"', "- do. -", "dto."])
def test_a_ditto_mark_repeats_the_cell_above_and_is_marked_as_carried(tmp_path, mark):
    file = read_text(tmp_path, f"Neg,Building,Lens\n78-14,Osk Mill,90\n78-15,{mark},120\n78-16,{mark},150\n")

    card = file.cards[2]
    assert card.subjects[0].named.reference == "B1"
    assert [(carried.field, carried.from_row) for carried in card.carried] == [("building", 2)]
    assert card.facts["lens"] == 150


@pytest.mark.parametrize("break_row", [",,", "HALDING,,", "Neg,Building,Lens"])
def test_a_ditto_mark_reaches_across_no_break(tmp_path, break_row):
    file = read_text(tmp_path, f"Neg,Building,Lens\n78-14,Osk Mill,90\n{break_row}\n78-15,do.,120\n")

    card = file.cards[1]
    assert card.subjects == ()
    assert "a break stands above it" in str(card.troubles[0])
    assert card.cells["Building"] == "do."


def test_a_ditto_mark_below_an_empty_cell_stands_for_nothing(tmp_path):
    file = read_text(tmp_path, "Neg,Building,Lens\n78-14,,90\n78-15,do.,120\n")

    assert file.cards[1].subjects == ()
    assert str(file.cards[1].troubles[0]).startswith("row 3, \"Building\": 'do.' is a ditto mark, but the cell above")


def test_a_village_typed_once_per_block_is_carried_down_the_block_only(tmp_path):
    text = "Neg,Village,Lens\n78-14,Osk,90\n78-15,,90\n,,\n78-16,,90\n78-17,Tarn End,90\n78-18,,90\n"

    file = read_text(tmp_path, text)

    assert villages(file) == ["Osk", "Osk", None, "Tarn End", "Tarn End"]
    assert [card.carried[0].from_row for card in file.cards if card.carried] == [2, 6]
    assert str(file.cards[2].troubles[0]) == (
        "row 5, \"Village\": '' is empty, and nothing stands above it in this block. Type the value itself."
    )


def test_a_village_on_a_line_of_its_own_opens_its_block(tmp_path):
    file = read_text(tmp_path, "Neg,Village,Lens\n,Osk,\n78-14,,90\n78-15,,90\n,Tarn End,\n78-16,,90\n")

    assert villages(file) == ["Osk", "Osk", "Tarn End"]
    assert file.cards[0].carried[0].from_row == 2
    assert file.cards[0].section == "Osk"


def test_a_section_row_parts_two_blocks_and_is_kept_with_its_cards(tmp_path):
    file = read_text(tmp_path, "Neg,Village,Lens\n78-14,Osk,90\nBox 3,,\n78-15,,120\n")

    assert [card.section for card in file.cards] == [None, "Box 3"]
    assert villages(file) == ["Osk", None]


def test_a_lone_remark_is_no_section_and_no_card_but_is_not_lost(tmp_path):
    file = read_text(tmp_path, "Neg,Village,Remarks\n78-14,Osk,first half of a remark\n,,and the second\n")

    assert [row.row for row in file.unreadable] == [3]
    assert file.unreadable[0].cells == {"Remarks": "and the second"}


def test_dittos_follow_dittos_and_carried_cells(tmp_path):
    file = read_text(tmp_path, "Neg,Village,Date\n78-14,Osk,1978\n78-15,,do.\n78-16,do.,do.\n")

    assert villages(file) == ["Osk"] * 3
    assert [card.exposed.text for card in file.cards] == ["1978"] * 3
    assert [(one.field, one.from_row) for one in file.cards[2].carried] == [("village", 2), ("date", 2)]
