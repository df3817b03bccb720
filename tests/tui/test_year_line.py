"""The ruler: decades below each other, doubt told apart, what happened to a building where it stands."""

from __future__ import annotations

from catalog.store.year_lines import ChronicleMark, DecadeCount, YearLine
from catalog.tui.widgets.paper import Row, row_width
from catalog.tui.widgets.year_line import MARKS, Legend, Ruler, RulerHead, Scale, YearLineItem


def words(row: Row) -> str:
    return "".join(part for part, _ in row)


def a_line(*counts: tuple[int, int, int], undated: int = 0, loose: int = 0) -> YearLine:
    return YearLine(tuple(DecadeCount(*count) for count in counts), undated, loose, 99)


def test_counts_stand_below_their_decade():
    line = a_line((1970, 2, 5), (1990, 1, 0), undated=3)
    scale = Scale.of([line])

    (head,) = RulerHead(scale).rows(75)
    (row,) = YearLineItem("Osk Mill", "", line, scale).rows(75)

    first = words(head).index("1970s")
    assert "2+5?" in words(row)[first - 1 : first + 12]
    third = words(head).index("1990s")
    assert words(row)[third - 1 : third + 12].strip(" │") == "1"
    assert words(row).rstrip().endswith("3")


def test_every_row_has_the_width_of_the_ruler():
    line = a_line((1970, 12, 345), (2020, 123_456, 1_234_567), loose=4)
    for width in (40, 60, 75, 100, 156):
        ruler = Ruler.on(Scale.of([line]), width)
        cells = words(ruler.counts(line))
        assert ruler.cells * ruler.cell + 1 <= width
        assert cells.count("│") == ruler.cells + 1


def test_decades_that_do_not_fit_are_drawn_together():
    line = a_line((1850, 1, 0), (2020, 1, 0))

    ruler = Ruler.on(Scale.of([line]), 75)

    assert ruler.step in (20, 50)
    assert words(ruler.counts(line)).count("1") == 2


def test_a_mark_stands_in_its_year_and_a_doubtful_one_over_all_its_years():
    line = a_line((1970, 1, 0), (1980, 1, 0))
    marks = (ChronicleMark("raised", 1790.0, 1791.0, False), ChronicleMark("clad", 1978.0, 1983.0, True),
             ChronicleMark("moved", 1970.1, 1970.2, False))  # fmt: skip

    ruler = Ruler.on(Scale.of([line]), 75)
    drawn = words(ruler.marks(marks))

    assert drawn[: ruler.label].strip() == "R ‹"
    zero = ruler.label
    per_year = ruler.cells * ruler.cell / 20
    assert abs(drawn.index("M") - zero) <= 1
    assert abs(drawn.index("C") - (zero + round(10.5 * per_year))) <= 1
    assert drawn.count("┄") >= round(5 * per_year) - 2
    assert "C?" in drawn


def test_marks_of_one_year_stand_beside_each_other():
    line = a_line((1980, 1, 0))
    marks = tuple(ChronicleMark(kind, 1985.0, 1986.0, False) for kind in ("burned", "razed", "moved"))

    drawn = words(Ruler.on(Scale.of([line]), 75).marks(marks))

    assert all(MARKS[mark.kind] in drawn for mark in marks)


def test_every_kind_of_entry_has_a_letter_of_its_own():
    from catalog.rules.vocabulary import CHRONICLE_KINDS

    assert set(MARKS) == set(CHRONICLE_KINDS)
    assert len(set(MARKS.values())) == len(MARKS)


def test_the_legend_explains_what_stands_on_the_card_and_nothing_else():
    legend = Legend.of([a_line((1970, 1, 0))], [ChronicleMark("burned", 1988.0, 1988.1, False)])

    said = " ".join(words(row) for row in legend.rows(75))

    assert said == "B burned."


def test_a_card_without_a_dated_frame_has_no_ruler_and_still_its_counts():
    line = a_line(undated=2)
    scale = Scale.of([line])

    assert RulerHead(scale).rows(75) == []
    (row,) = YearLineItem("X", "", line, scale).rows(75)
    assert words(row).rstrip().endswith("2")
    assert row_width(row) <= 75
