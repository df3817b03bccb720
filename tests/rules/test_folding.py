"""Names compare as a reader would compare them: cases E03 and H03."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.rules.folding import fold


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("St. John’s", "St John's"),  # E03
        ("St.John's", "st john's"),
        ("ÉGLISE", "église"),  # H03
        ("ÉGLISE", "eglise"),
        ("E\u0301glise", "\u00c9glise"),
        ("Łódź", "lodz"),
        ("Großer Øst", "GROSSER OST"),
        ("Meth. Ch.", "meth ch"),
        ("B.R.", "br"),
        ("78–14", "78-14"),
        ("Wennmouth\u00a0Ferry  House", "Wennmouth Ferry House"),
        ("“Oske”", '"Oske"'),
        ("Ǿre", "ore"),
    ],
)
def test_two_spellings_of_one_name_fold_alike(one, other):
    assert fold(one) == fold(other)


@pytest.mark.parametrize(
    ("one", "other"), [("78.14", "7814"), ("Osk", "Oske"), ("78-14", "78 14"), ("S.4.1", "S41"), ("教会", "")]
)
def test_different_names_stay_different(one, other):
    assert fold(one) != fold(other)


@given(st.text(max_size=40))
def test_folding_twice_changes_nothing(text):
    assert fold(fold(text)) == fold(text)
