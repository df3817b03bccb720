"""Sizes of film. Inches are exact (25.4 mm); roll film sizes are from common practice."""

from __future__ import annotations

import pytest

from catalog.rules.film_formats import film_size_mm


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("4x5", (101.6, 127.0)),
        ("5x4", (101.6, 127.0)),
        ("4 × 5 in", (101.6, 127.0)),
        ("4x5 inch", (101.6, 127.0)),
        ("8x10", (203.2, 254.0)),
        ("6x9", (56.0, 84.0)),
        ("6x9 cm", (56.0, 84.0)),
        ("13x18", (130.0, 180.0)),
        ("9x12 cm", (90.0, 120.0)),
        ("90 x 120 mm", (90.0, 120.0)),
        ("half plate", (120.65, 165.1)),
        ("4¾ x 6½ in", (120.65, 165.1)),
        ("35 mm", (24.0, 36.0)),
    ],
)
def test_a_format_has_a_size(name, size):
    assert film_size_mm(name) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("name", [None, "", "large", "3x7", "0x0 mm"])
def test_a_format_that_says_no_size_has_none(name):
    assert film_size_mm(name) is None
