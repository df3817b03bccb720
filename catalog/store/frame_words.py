"""A found frame in words that keep its doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalog.store.find import FoundFrame


def shown_words(frame: FoundFrame) -> str:
    """Return what a frame shows, in words that keep its doubt."""
    from catalog.rules.doubt import hedged

    parts = [
        " ".join(filter(None, (hedged(s.name, s.certainty), s.elevation, s.part if s.part != "elevation" else None)))
        for s in frame.subjects
    ]
    words = "; ".join(dict.fromkeys(parts or frame.titles))
    return words if frame.fate == "exposed" else f"{words} ({frame.fate})" if words else f"({frame.fate})"


def lens_words(frame: FoundFrame, *, in_full: bool = False) -> str:
    """Return the lens by its focal length, or ``in_full`` by its name; as written where that is doubtful."""
    written = [as_written for field, as_written in frame.doubts if field == "lens"]
    if written:
        return written[-1]
    return f"{frame.focal_length_mm:g} mm" if frame.focal_length_mm and not in_full else frame.lens_name or ""


def film_words(frame: FoundFrame) -> str:
    """Return the film; as written where that is doubtful."""
    written = [as_written for field, as_written in frame.doubts if field == "film"]
    return written[-1] if written else frame.film_name or ""


def count_words(certainly: int, possibly: int) -> str:
    """
    Return how many frames were found, and how surely.

    >>> count_words(8, 12), count_words(1, 0)
    ('20 frames: 8 certainly, 12 possibly.', '1 frame, certainly.')
    """
    total = certainly + possibly
    if not total:
        return "Nothing found."
    words = f"{total} frame{'s' * (total != 1)}"
    if certainly and possibly:
        return f"{words}: {certainly} certainly, {possibly} possibly."
    return f"{words}, {'all ' * (total > 1)}{'certainly' if certainly else 'possibly'}."
