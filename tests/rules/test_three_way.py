"""What two sides made of a value they once shared."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.rules.three_way import Change, combine, compare_three, merge_sets

A_VALUE = st.sampled_from([None, "a", "b", "c"])
SOME_WORDS = st.lists(st.sampled_from("abcdef"), unique=True)


# The whole table, worked out by hand: what both once said, what we say, what they say.
@pytest.mark.parametrize(
    ("base", "ours", "theirs", "expected"),
    [
        ("mill", "mill", "mill", Change.SAME),
        (None, None, None, Change.SAME),
        ("mill", "weir", "mill", Change.OURS),
        ("mill", None, "mill", Change.OURS),
        (None, "mill", None, Change.OURS),
        ("mill", "mill", "weir", Change.THEIRS),
        ("mill", "mill", None, Change.THEIRS),
        (None, None, "mill", Change.THEIRS),
        ("mill", "weir", "weir", Change.ALIKE),
        ("mill", None, None, Change.ALIKE),
        (None, "mill", "mill", Change.ALIKE),
        ("mill", "weir", "barn", Change.CONFLICT),
        ("mill", None, "barn", Change.CONFLICT),
        ("mill", "weir", None, Change.CONFLICT),
        (None, "weir", "barn", Change.CONFLICT),
    ],
)
def test_every_change_on_either_side_has_its_name(base, ours, theirs, expected):
    assert compare_three(base, ours, theirs) is expected


@given(base=A_VALUE, ours=A_VALUE, theirs=A_VALUE)
def test_the_two_sides_are_treated_alike(base, ours, theirs):
    mirrored = {Change.OURS: Change.THEIRS, Change.THEIRS: Change.OURS}
    one, other = compare_three(base, ours, theirs), compare_three(base, theirs, ours)

    assert other is mirrored.get(one, one)


def test_a_conflict_in_one_part_is_a_conflict_of_the_whole():
    assert combine([Change.OURS, Change.CONFLICT, Change.THEIRS]) is Change.CONFLICT
    assert combine([]) is Change.SAME


@given(base=SOME_WORDS, ours=SOME_WORDS, theirs=SOME_WORDS)
def test_what_either_side_added_to_a_list_stays_and_what_either_took_away_goes(base, ours, theirs):
    merged = merge_sets(base, ours, theirs)

    added = {word for word in (*ours, *theirs) if word not in base}
    taken = {word for word in base if word not in ours or word not in theirs}
    assert added <= set(merged)
    assert not taken & set(merged)
    assert set(merged) <= {*base, *ours, *theirs}


@given(base=SOME_WORDS, theirs=SOME_WORDS)
def test_a_list_we_did_not_touch_is_theirs_as_it_stands(base, theirs):
    assert merge_sets(base, base, theirs) == theirs
