"""The words of captions: titles, sides of buildings, and one caption for a scan of several sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Final

from catalog.outputs.sidecar_captions import (
    BuildingShown,
    FrameCaption,
    PlaceNamed,
    is_certain,
    lens_words,
    public_words,
    words_of,
)
from catalog.rules.doubt import CERTAIN

_QUARTERS: Final = {"N": "north", "E": "east", "S": "south", "W": "west"}
_FATES: Final = {"blank": "Blank sheet.", "doubly exposed": "Double exposure.", "fogged": "Fogged."}
"""Fates that explain a picture; others (with lab, not returned) are the desk's own business."""


def side_words(compass: str | None, part: str | None, certainty: str = CERTAIN) -> str:
    """
    Return which side or part of a building is shown, in words.

    >>> side_words("NE", "elevation"), side_words(None, "interior"), side_words("NNW", "detail")
    ('north-east elevation', 'interior', 'detail of the north-north-west side')
    """
    side = "-".join(_compass_words(compass)) if compass else ""
    if not side:
        return "" if part in (None, "elevation") else part or ""
    if part in (None, "elevation"):
        words = f"{side} elevation"
    else:
        words = f"{part}, {side} side" if part == "interior" else f"{part} of the {side} side"
    return words_of(words, certainty)


def _compass_words(point: str) -> list[str]:
    """Return a point of the compass in words: ``NNE`` is north-north-east."""
    words = [_QUARTERS[letter] for letter in point]
    return words if len(words) < 3 else [words[0], f"{words[1]}-{words[2]}"]


def title_of(buildings: Sequence[BuildingShown], places: Sequence[PlaceNamed], fate: str) -> str:
    """Return a title made of what is shown, doubt and all."""
    names = [words_of(_with_side(building), building.certainty) for building in buildings]
    names = names or [words_of(place.name, place.certainty) for place in places]
    return " and ".join(dict.fromkeys(names)) or _FATES.get(fate, "").rstrip(".")


def _with_side(building: BuildingShown) -> str:
    return f"{building.name}, {building.elevation}" if building.elevation else building.name


def what_is_sure(buildings: Sequence[BuildingShown], places: Sequence[PlaceNamed], fate: str) -> str:
    """Return a line of what is certain: buildings with their sides, places with what they lie in."""
    shown = [_with_side(building) for building in buildings if is_certain(building.certainty)]
    where = [", ".join((p.name, *(above for above, _ in p.within))) for p in places if is_certain(p.certainty)]
    said = (" and ".join(shown), "; ".join(where))
    return " ".join((*(f"{words}." for words in said if words), *filter(None, (_FATES.get(fate),))))


# ---- a scan of several sheets

_TOGETHER: Final = ("numbers", "places", "buildings", "keywords", "doubts", "editions")


def join_captions(captions: Sequence[FrameCaption]) -> FrameCaption:
    """
    Return one caption for a scan of several sheets: each sheet's facts in words, and plainly only what all share.

    A field that differs between the sheets, or is in doubt on one of them, is stated of none.
    """
    first = captions[0]
    if len(captions) == 1:
        return first
    empty = FrameCaption(reference="; ".join(caption.reference for caption in captions))
    shared = {
        field.name: getattr(first, field.name)
        for field in fields(FrameCaption)
        if field.name != "reference" and all(getattr(c, field.name) == getattr(first, field.name) for c in captions)
    }
    together = {
        name: tuple(dict.fromkeys(item for caption in captions for item in getattr(caption, name)))
        for name in _TOGETHER
    }
    in_words = {
        "title": "; ".join(dict.fromkeys(caption.title for caption in captions if caption.title)),
        "source": "; ".join(_usual_number(caption) for caption in captions),
        "description": "\n".join(_in_words(caption) for caption in captions),
        "doubts_told": True,
    }
    return replace(empty, **{**shared, **together, **in_words})


def _usual_number(caption: FrameCaption) -> str:
    return caption.numbers[0].number if caption.numbers else caption.reference


def _in_words(caption: FrameCaption) -> str:
    """Return everything a caption says of one sheet, on a line."""
    lens = "" if caption.lens is None or caption.doubts_about("lens") else f"Lens: {lens_words(caption.lens)}."
    date = caption.exposed
    exposed = f"Exposed: {date.words}." if date and date.plain and not caption.doubts_about("exposed") else ""
    title = "" if not caption.title or caption.description.startswith(caption.title) else f"{caption.title}."
    said = (title, *public_words(caption).splitlines(), exposed, lens)
    return f"{_usual_number(caption)}: {' '.join(filter(None, said))}"
