"""Where pictures and captions of contact sheets stand on paper."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.outputs.contact_layout import PAPERS, Cell, lay_out, opening_mm, wrap

UPRIGHT, WIDE = Cell(95, 120, 3), Cell(120, 95, 3)


# Sizes of paper: ISO 216 and ANSI/ASME Y14.1. Two openings of 95 x 120 across and down are 190 x 240 (arithmetic).
@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_four_upright_sheets_go_on_a_page_at_their_own_size(paper, size):
    page = lay_out([UPRIGHT] * 4, PAPERS[paper])

    assert (PAPERS[paper].width_mm, PAPERS[paper].height_mm) == size
    assert len(page) == 1
    assert [placed.bottom_mm - placed.top_mm for placed in page[0]] == pytest.approx([120.0] * 4)
    assert page[0][0].left_mm == pytest.approx(size[0] - page[0][1].left_mm - 95)


def test_wide_sheets_at_their_own_size_stand_one_below_the_other():
    pages = lay_out([WIDE] * 5, PAPERS["a4"])

    assert [len(page) for page in pages] == [2, 2, 1]
    assert {round(placed.left_mm, 3) for page in pages for placed in page} == {45.0}


def test_a_row_that_is_not_full_begins_where_a_full_one_does():
    (page,) = lay_out([Cell(58, 46, 2)] * 4, PAPERS["a4"])

    assert page[3].left_mm == page[0].left_mm
    assert page[3].top_mm > page[0].bottom_mm


def test_pictures_of_a_row_stand_on_one_line():
    (page,) = lay_out([Cell(58, 46, 1), Cell(58, 72, 1)], PAPERS["a4"])

    assert page[0].bottom_mm == page[1].bottom_mm


@given(
    cells=st.lists(st.builds(Cell, st.floats(15, 195), st.floats(15, 230), st.integers(1, 7)), min_size=1, max_size=40),
    paper=st.sampled_from(sorted(PAPERS)),
)
def test_nothing_leaves_the_paper_lies_on_another_or_is_out_of_order(cells, paper):
    sheet = PAPERS[paper]

    pages = lay_out(cells, sheet)

    assert [placed.index for page in pages for placed in page] == list(range(len(cells)))
    for page in pages:
        boxes = []
        for placed in page:
            cell = cells[placed.index]
            foot = placed.bottom_mm + cell.caption_mm
            assert placed.left_mm >= sheet.side_mm - 0.1
            assert placed.left_mm + cell.width_mm <= sheet.width_mm - sheet.side_mm + 0.1
            assert placed.top_mm >= sheet.top_mm - 0.1
            assert foot <= max(sheet.height_mm - sheet.foot_mm, sheet.top_mm + cell.height_mm + cell.caption_mm) + 0.1
            boxes.append((placed.left_mm, placed.top_mm, placed.left_mm + cell.width_mm, foot))
        for count, one in enumerate(boxes):
            for other in boxes[count + 1 :]:
                apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
                assert apart


@pytest.mark.parametrize(
    ("name", "opening"), [("4x5", (95, 120)), ("6x9", (56, 84)), ("5x7", (127, 177.8)), (None, None), ("?", None)]
)
def test_a_format_has_an_opening(name, opening):
    found = opening_mm(name)

    assert found == (opening if opening is None else pytest.approx(opening))


@given(st.text(st.characters(codec="utf-8"), max_size=80), st.integers(1, 30))
def test_no_letter_is_lost_when_a_text_is_broken_into_lines(text, room):
    lines = wrap(text, room, len)

    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(len(line) <= room for line in lines)
