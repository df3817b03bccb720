"""EDTF dates: grammar, value, bounds, plain words in and out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from catalog.dates.captions import edtf_in_words, format_words
    from catalog.dates.certainty import Window, fall, truncated_iso
    from catalog.dates.days import calendar_day, iso_day, ordinal
    from catalog.dates.grammar import format_edtf, parse_edtf
    from catalog.dates.value import Certainty, EdtfDate, before, sort_key
    from catalog.dates.words import parse_words

__all__ = [
    "Certainty", "EdtfDate", "Window", "before", "calendar_day", "edtf_in_words", "fall", "format_edtf",
    "format_words", "iso_day", "ordinal", "parse_edtf", "parse_words", "sort_key", "truncated_iso",
]  # fmt: skip

_FROM = {
    "captions": ("edtf_in_words", "format_words"),
    "certainty": ("Window", "fall", "truncated_iso"),
    "days": ("calendar_day", "iso_day", "ordinal"),
    "grammar": ("format_edtf", "parse_edtf"),
    "value": ("Certainty", "EdtfDate", "before", "sort_key"),
    "words": ("parse_words",),
}
_FILE_OF = {name: file for file, names in _FROM.items() for name in names}


def __getattr__(name: str) -> Any:
    """Return a name when it is first asked for: a question without years needs no grammar of words."""
    if name not in _FILE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(f"{__name__}.{_FILE_OF[name]}"), name)
    globals()[name] = value
    return value
