"""Sizes of prints, and how fine the film was seen."""

from __future__ import annotations

import pytest

from catalog.rules.print_sizes import film_resolution, print_sizes


# Arithmetic of a 4x5 sheet at 2400 to the inch: 9600 x 12000; 32 x 40 in at 300, 26.67 x 33.33 at 360.
@pytest.mark.parametrize(("ppi", "width_in", "height_in"), [(240, 40, 50), (300, 32, 40), (360, 26.667, 33.333)])
def test_a_sheet_prints_at_the_size_its_pixels_give(ppi, width_in, height_in):
    (size,) = (size for size in print_sizes(9600, 12000) if size.ppi == ppi)

    assert (size.width_in, size.height_in) == pytest.approx((width_in, height_in), abs=1e-3)
    assert size.width_mm == pytest.approx(width_in * 25.4, abs=0.02)


# An opening of 95 x 120 mm at 2400: 8976 x 11339 px, 29.92 x 37.80 in at 300.
def test_an_opening_prints_smaller_than_its_sheet():
    size = print_sizes(8976, 11339)[1]

    assert (round(size.width_in, 2), round(size.height_in, 2)) == (29.92, 37.80)


def test_two_pixels_hold_a_line_pair():
    found = film_resolution(2400, None)

    assert found.pixels_per_mm == pytest.approx(94.488, abs=1e-3)
    assert found.line_pairs_per_mm == pytest.approx(47.244, abs=1e-3)


def test_what_the_file_records_counts_before_what_the_film_gives():
    assert (film_resolution(300, 2400).ppi, film_resolution(300, 2400).is_worked_out) == (300, False)


def test_a_resolution_that_nobody_recorded_is_worked_out_and_says_so():
    # Case B08.
    assert film_resolution(None, 2400).is_worked_out
    assert film_resolution(None, None) is None
