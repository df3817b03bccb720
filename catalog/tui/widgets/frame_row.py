"""A found frame as one line of a list: number, date, what it shows, lens; a ``?`` where it is only possibly one."""

from __future__ import annotations

from functools import lru_cache

from catalog.dates import edtf_in_words
from catalog.store.find import FoundFrame
from catalog.store.frame_words import lens_words, shown_words
from catalog.tui.widgets.paper import Row, cut

_DATE, _NUMBER, _LENS = 22, 12, 9
_SHOWS_MOST = 70
"""Wider than this the eye loses the line."""


@lru_cache(maxsize=32768)
def date_told(edtf: str | None) -> str:
    """Return a date in words; those that a thread has told before cost the screen nothing."""
    return edtf_in_words(edtf)


def frame_row(frame: FoundFrame, width: int) -> Row:
    """Return the line of a frame; narrow, the lens is left to the frame's own card."""
    number = ", ".join(dict.fromkeys(text for text, _ in frame.numbers)) or f"S{frame.id}"
    is_possible = frame.certainty == "possibly"
    has_lens = width >= 70
    date = _DATE if width >= 60 else 14
    shows = min(width - 2 - _NUMBER - 1 - date - 1 - (_LENS if has_lens else 0), _SHOWS_MOST)
    ink = "doubt" if is_possible else "ink"
    row: Row = (
        ("? " if is_possible else "  ", "doubt"), (cut(number, _NUMBER), "strong"), (" ", "ink"),
        (cut(date_told(frame.exposed_edtf), date), ink if frame.exposed_edtf else "faint"), (" ", "ink"),
        (cut(shown_words(frame), max(shows, 4)), ink),
    )  # fmt: skip
    return (*row, (cut(lens_words(frame), _LENS).rstrip().rjust(_LENS), "faint")) if has_lens else row
