"""EDTF dates: grammar, value, bounds, plain words in and out."""

from catalog.dates.captions import format_words
from catalog.dates.certainty import Window, fall, truncated_iso
from catalog.dates.days import calendar_day, iso_day, ordinal
from catalog.dates.grammar import format_edtf, parse_edtf
from catalog.dates.value import Certainty, EdtfDate, before, sort_key
from catalog.dates.words import parse_words

__all__ = [
    "Certainty",
    "EdtfDate",
    "Window",
    "before",
    "calendar_day",
    "fall",
    "format_edtf",
    "format_words",
    "iso_day",
    "ordinal",
    "parse_edtf",
    "parse_words",
    "sort_key",
    "truncated_iso",
]
