"""Words for a side of a building."""

import pytest

from catalog.rules.compass import COMPASS, parse_elevation


@pytest.mark.parametrize("point", COMPASS)
def test_every_point_of_the_compass_is_read_in_either_case(point):
    assert parse_elevation(point) == point
    assert parse_elevation(point.lower()) == point


# Forms in common use on cards and drawings; chosen here, from no list.
@pytest.mark.parametrize(
    ("words", "point"),
    [
        ("North", "N"), ("north front", "N"), ("the north elevation", "N"), ("N. elev.", "N"), ("N.E.", "NE"),
        ("north-east", "NE"), ("North East front", "NE"), ("southwestern end", "SW"), ("west gable", "W"),
        ("façade facing SSE", "SSE"), ("north-north-west", "NNW"), ("looking east", "E"),
    ],
)  # fmt: skip
def test_a_side_is_read_however_it_is_put(words, point):
    assert parse_elevation(words) == point


@pytest.mark.parametrize("words", ["", "front", "EN", "N & E", "N/E", "north, east", "N or E", "news", "left side"])
def test_words_that_name_no_side_or_two_are_not_guessed(words):
    assert parse_elevation(words) is None
