"""Pixels to the inch, recorded and worked out."""

from __future__ import annotations

import math

import pytest

from catalog.imaging.resolution import recorded_ppi, worked_out_ppi

SHEET_4X5 = (101.6, 127.0)  # four by five inches of 25.4 mm


@pytest.mark.parametrize(
    ("resolution", "unit", "ppi"),
    [
        (2400.0, 2, 2400.0),
        (944.88, 3, 2400.0),  # TIFF 6.0, tag 296: 3 is the centimetre; 2.54 cm an inch by definition
        (1.0, 1, None),  # case B08, as tifffile writes it
        (1.0, 2, None),
        (0.0, 2, None),
        (300.0, 1, None),
        (300.0, None, None),
        (300.0, 9, None),
        (None, 2, None),
        (math.nan, 2, None),
        (math.inf, 2, None),
        (-300.0, 2, None),
        (4e9, 2, None),
    ],
)
def test_a_recorded_resolution_is_believed_only_with_its_unit(resolution, unit, ppi):
    assert recorded_ppi(resolution, unit) == ppi


@pytest.mark.parametrize(
    ("width", "height", "ppi"),
    [
        (9600, 12000, 2400.0),
        (12000, 9600, 2400.0),  # the scan lies on its side
        (12800, 16000, 3200.0),
        (9700, 12050, 2410.0),  # a little rebate
        (9600, 9600, None),  # part of the sheet
        (12000, 3000, None),
        (0, 100, None),
    ],
)
def test_pixels_and_the_size_of_the_sheet_give_the_resolution(width, height, ppi):
    assert worked_out_ppi(width, height, SHEET_4X5) == ppi
