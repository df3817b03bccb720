"""EDTF dates: grammar, value, bounds, plain words in and out."""

from catalog.dates.certainty import Window, fall, truncated_iso
from catalog.dates.days import calendar_day, iso_day, ordinal
from catalog.dates.grammar import format_edtf, parse_edtf
from catalog.dates.value import Certainty, EdtfDate, before, sort_key

__all__ = [
    "Certainty",
    "EdtfDate",
    "Window",
    "before",
    "calendar_day",
    "fall",
    "format_edtf",
    "iso_day",
    "ordinal",
    "parse_edtf",
    "sort_key",
    "truncated_iso",
]
