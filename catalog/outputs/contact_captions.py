"""The caption of a frame on a contact sheet: number, date, buildings, places; every doubt in words, nothing private."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.outputs.caption_words import title_of
from catalog.outputs.sidecar_captions import BuildingShown, FrameCaption, words_of

__all__ = ["ContactCaption", "contact_caption"]

_BUILDING_DOUBTS = ("building", "shows", "title")


@dataclass(frozen=True, slots=True)
class ContactCaption:
    """What stands under a picture: the number first, the date beside it, then what is shown, a line each."""

    number: str
    date: str
    lines: tuple[str, ...]


def contact_caption(caption: FrameCaption, fate: str, region: str | None = None) -> ContactCaption:
    """
    Return the caption of a frame, from the caption that its sidecar has.

    A frame without a number goes by its reference. ``region`` is the part of the sheet that its picture shows.
    """
    numbers = [words_of(one.number, one.certainty) for one in caption.numbers]
    date = caption.exposed.words if caption.exposed else "undated"
    shown = _buildings(caption)
    places = " and ".join(dict.fromkeys(words_of(place.name, place.certainty) for place in caption.places))
    lines = [shown] if shown else []
    # A title that a person gave says more than names; one that is made of names says them again.
    made_up = title_of(caption.buildings, caption.places, fate)
    if caption.title and caption.title != made_up:
        lines.insert(0, caption.title)
    if places and not (len(lines) == 1 and lines[0] == places):
        lines.append(places)
    lines = lines or [*_as_written(caption)]
    if fate != "exposed":
        lines.append(f"({fate})")
    if region:
        lines.append(f"part of the sheet: {region}")
    return ContactCaption("; ".join(numbers) or caption.reference, date, tuple(lines))


def _buildings(caption: FrameCaption) -> str:
    return "; ".join(dict.fromkeys(words_of(_with_side(one), one.certainty) for one in caption.buildings))


def _with_side(building: BuildingShown) -> str:
    return f"{building.name}, {building.elevation}" if building.elevation else building.name


def _as_written(caption: FrameCaption) -> list[str]:
    """Return how a doubtful subject was put, where no building or place could be made of it."""
    said = (doubt.as_written for doubt in caption.doubts if doubt.field in (*_BUILDING_DOUBTS, "place"))
    return [f"“{words}”" for words in dict.fromkeys(filter(None, said))]
