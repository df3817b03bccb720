"""The name of an index picture: what it depends on, and what it does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from catalog.rules.index_pictures import PictureRecipe, index_picture_name, is_index_picture_name

CONTENT = "3f" * 32
PLAIN = PictureRecipe(long_side_px=1200)


def test_the_same_picture_made_in_the_same_way_has_the_same_name():
    assert index_picture_name(CONTENT, PLAIN) == index_picture_name(CONTENT, PictureRecipe(long_side_px=1200))


@pytest.mark.parametrize(
    "change",
    [
        {"long_side_px": 1024}, {"polarity": "negative"}, {"polarity": "positive"}, {"is_reversed": True},
        {"is_reversed": False}, {"orientation": 6}, {"white_is_zero": True}, {"profile": "Grey"}, {"steps": "[]"},
    ],
    ids=str,
)  # fmt: skip
def test_whatever_changes_the_look_of_a_picture_changes_its_name(change):
    assert index_picture_name(CONTENT, replace(PLAIN, **change)) != index_picture_name(CONTENT, PLAIN)


def test_another_picture_has_another_name():
    assert index_picture_name("40" * 32, PLAIN) != index_picture_name(CONTENT, PLAIN)


def test_the_program_knows_the_names_it_gave_and_no_others():
    given = str(index_picture_name(CONTENT, PLAIN))

    assert is_index_picture_name(given)
    assert not any(map(is_index_picture_name, ("3f/holiday.jpg", f"../{given}", given.upper(), f"x/{given}")))
